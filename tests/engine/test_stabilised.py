"""The stabilised step: its order, its stability, when it is taken, and whole shots with it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import baypulse
from baypulse.case.params import parameters
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event_search import POINTS
from baypulse.engine.parameters import Parameters, pack
from baypulse.engine.rosenbrock import size_of
from baypulse.engine.runge_kutta import LAST, stage_steps
from baypulse.engine.stabilised import HALF, MEAN, SHARE, SUBSTEP, E, stabilised_step
from baypulse.engine.stiffness import APART, STABLE, fastest_rate
from baypulse.engine.workspace import EXPLICIT, STABILISED, STABILISED_WORK, Workspace
from pendulum import orders, pendulum
from steps_of_a_shot import error_ratios, prepared
from tools import scipy_advance, shot

ROOT = Path(__file__).parents[2]

END = 13.9
"""Where the stability of SSPRK(10,4) ends on the real axis, from Ketcheson (2008), from memory."""


def step_of(f: Callable[[float, Any], Any], y: Any, h: float) -> tuple[Any, Any, Any]:
    """Return end, error estimate and middle of a step of the tables."""
    k = [f(0.0, y)]
    stage, t = y + SUBSTEP * h * k[0], SUBSTEP * h
    for i in range(1, STABILISED_WORK):
        if i == HALF:
            stage, t = y + MEAN * h * sum(k), MEAN * HALF * h
        k.append(f(t, stage))
        stage, t = stage + SUBSTEP * h * k[i], t + SUBSTEP * h
    rise = sum(k) / STABILISED_WORK
    end = y + h * rise
    last = f(h, end)
    middle = y + 0.5 * h * (rise + 0.5 * (k[0] - rise + 0.5 * (2.0 * rise - k[0] - last)))
    return end, h * sum(weight * rate for weight, rate in zip(E, k, strict=True)), middle


def test_the_tables_give_the_orders_that_they_promise() -> None:
    # a step's error goes as h^5, its estimate as h^4, and the error of its dense output as h^4
    found = orders(lambda y, h: step_of(lambda _, z: pendulum(z), y, h), 0.2)
    assert found == pytest.approx([5.0, 4.0, 4.0], abs=0.35)


@pytest.mark.parametrize("power", [0, 1, 2, 3])
def test_the_estimate_is_a_share_of_the_fourth_derivative(power: int) -> None:
    _, error, _ = step_of(lambda t, y: t**power, 0.0, 1.0)
    assert error == pytest.approx(6.0 * SHARE if power == 3 else 0.0, abs=1e-12)
    # of y' = y the trees of order 4 count as one
    h = 1e-2
    assert step_of(lambda _, y: y, 1.0, h)[1] == pytest.approx(SHARE * h**4, rel=0.01 + 6.0 * h)


def test_what_dies_away_dies_away_and_holds_no_step_up() -> None:
    for z in np.linspace(-END, 0.0, 500):
        end, error, _ = step_of(lambda _, y, z=z: z * y, 1.0, 1.0)  # type: ignore[misc]
        assert abs(end) <= 1.0 + 1e-12
        if z > -13.0:
            assert abs(error) < 18.2 * SHARE
    beyond, _, _ = step_of(lambda _, y: -(END + 0.1) * y, 1.0, 1.0)
    assert abs(beyond) > 1.0


def test_the_stages_stay_where_euler_steps_stay() -> None:
    # strong stability (Ketcheson 2008): for h no more than six Euler steps of dy/dt = -y, no stage
    # leaves the range from 0 to 1
    seen: list[float] = []

    def decay(_: float, y: float) -> float:
        seen.append(y)
        return -y

    end, _, _ = step_of(decay, 1.0, 6.0)
    assert min(*seen, end) >= 0.0
    assert max(*seen, end) <= 1.0


def test_a_step_of_a_shot_has_the_same_orders() -> None:
    P = shot()
    w = prepared(P, run.integrate(P, 1.0, 1e-8).phases[2], STABILISED)
    w.rates[1:] = np.nan  # as a step that was thrown away may leave them
    ratio = error_ratios(stabilised_step, P, w)
    assert ratio[0] > 16.0  # at least the fourth power, of what is left above rounding
    assert ratio[1] > 8.0
    assert ratio[2] > 8.0


@pytest.fixture(scope="module")
def leaky() -> Parameters:
    """Return the shot of the shipped case whose motor is not capped."""
    return parameters(baypulse.load(ROOT / "cases" / "drogue-98.toml"))


def fastest_of(w: Workspace) -> float:
    """Return the fastest rate of what dies away, by numpy's eigenvalues of the derivatives."""
    n = w.jacobian.shape[0]
    sizes = np.array([size_of(m, w) for m in range(n)])
    return float(-np.linalg.eigvals(w.jacobian[:, :n].T / sizes[:, None]).real.min())


def test_the_fastest_rate_is_that_of_the_derivatives(leaky: Parameters) -> None:
    # where the pressures have settled
    w = prepared(leaky, run.integrate(leaky, 0.3, 1e-6).phases[-1], EXPLICIT)
    h = 3.0 / fastest_of(w)
    for _ in range(12):  # which leave of the slower ones nothing but their slow change
        stage_steps(0.0, h, pack(leaky), w, w.rates, w.end)
        found = fastest_rate(w)
        w.state[:], w.rates[0] = w.end, w.rates[-1]
    assert found == pytest.approx(3.0, rel=0.15)
    # a zone that is all but gone changes fast for its own size, and hides nothing
    stage_steps(0.0, h, pack(leaky), w, w.rates, w.end)
    found = fastest_rate(w)
    n = w.jacobian.shape[0]
    faster = (w.rates[LAST] - w.rates[5])[:n] / [size_of(m, w) for m in range(n)]
    u_2 = at.VOLUMES + at.PER_VOLUME * leaky.chamber + at.U_2
    w.state[u_2], w.scale[u_2] = 0.0, 1e-3 * w.scale[u_2]
    w.rates[:, u_2] = 0.0
    w.rates[0, u_2] = 10.0 * np.linalg.norm(faster) / found * size_of(u_2, w) / APART[0]
    assert fastest_rate(w) == pytest.approx(found, rel=0.05)


def test_a_leaky_shot_of_stabilised_steps_is_that_of_another_solver(leaky: Parameters) -> None:
    ours = run.integrate(leaky, 0.3, 1e-6)
    phase = ours.phases[-1]
    longest = POINTS * np.diff(phase.times).max()
    assert longest > 2.0 * STABLE / fastest_of(prepared(leaky, phase, EXPLICIT))
    theirs = run.integrate(leaky, 0.3, 1e-9, scipy_advance)
    assert [event for _, event in ours.events] == [event for _, event in theirs.events]
    times = np.array([t for t, _ in ours.events])
    assert times == pytest.approx([t for t, _ in theirs.events], rel=1e-5)
    one, two = (track.phases[-1].states[-1] for track in (ours, theirs))
    scale = np.empty(one.size)
    at.state_scale(pack(leaky), scale)
    n = leaky.heats_at  # beyond are diagnostic states
    gap = np.abs(one - two)[:n] / np.maximum(np.abs(two), scale)[:n]
    assert gap.max() < 1e-4
