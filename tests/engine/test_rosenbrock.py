"""The implicit step: its order, its linear algebra, and whole shots of nothing else."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from baypulse.case.casefile import reads
from baypulse.case.params import parameters
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import pack
from baypulse.engine.rates import rates
from baypulse.engine.rosenbrock import (
    BEND_OF,
    GAMMA,
    PULL,
    STAGE,
    TWIST_OF,
    factorise,
    implicit_step,
    solve,
)
from baypulse.engine.status import Status
from baypulse.engine.stepper import MOST_WORK, workspace
from baypulse.engine.workspace import IMPLICIT, KIND, TRIED, WORK, Workspace
from baypulse.errors import RangeWarning
from pendulum import orders, pendulum
from steps_of_a_shot import error_ratios, prepared
from tools import at_event, run_phase, scipy_advance, shot, watched

THIN_AIR = """
title = "a bay in thin air, kept level with a space beside it by wide holes"
[surroundings]
altitude = "64 km"
[powder]
grade = "3F"
mass = "0.05 g"
[bay]
bore = "50 mm"
tube_length = "1.2 m"
wall = "phenolic card"
wall_thickness = "1.3 mm"
[nose]
mass = "0.6 kg"
[airframe]
mass = "2.8 kg"
[joint]
shoulder_length = "4 mm"
pull_off = "20 N"
clearance = "0.05 mm"
[pins]
count = 4
thread = "#2-56"
[[openings]]
name = "wide"
to = "electronics"
diameter = "20 mm"
count = 4
[electronics]
volume = "20 cm^3"
[cord]
type = "tubular nylon 1/2 in"
length = "6 m"
"""


def step_of(y: np.ndarray, h: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return end, error and middle of a step of the tables, for a pendulum."""
    J = np.array([[0.0, 1.0], [-np.cos(y[0]), -0.6 * abs(y[1])]])
    u: list[np.ndarray] = []
    for i in range(6):
        at_stage = y + sum(STAGE[i, j] * u[j] for j in range(i))
        right = pendulum(at_stage) + sum(PULL[i, j] / h * u[j] for j in range(i))
        u.append(np.linalg.solve(np.eye(2) / (GAMMA * h) - J, right))
    end = at_stage + u[5]
    bend = sum(BEND_OF[j] * u[j] for j in range(5))
    twist = sum(TWIST_OF[j] * u[j] for j in range(5))
    middle = y + 0.5 * (end - y + 0.5 * (bend + 0.5 * twist))
    return end, u[5], middle


def test_the_tables_give_the_orders_that_they_promise() -> None:
    # a step's error goes as h^5, its estimate as h^4, and the error of its dense output as h^4
    assert orders(step_of, 0.1) == pytest.approx([5.0, 4.0, 4.0], abs=0.35)


def test_a_fast_decay_is_gone_after_one_step() -> None:
    # L-stable: R(z) goes to 0 as z goes to minus infinity (Hairer & Wanner II, IV.3)
    for z in (-1e2, -1e4, -1e8):
        u: list[float] = []
        for i in range(6):
            y = 1.0 + sum(STAGE[i, j] * u[j] for j in range(i))
            u.append((z * y + sum(PULL[i, j] * u[j] for j in range(i))) / (1.0 / GAMMA - z))
        assert abs(y + u[5]) < 30.0 / abs(z)


@pytest.mark.parametrize("seed", range(20))
def test_linear_systems_are_solved_as_numpy_solves_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 60))
    matrix, right = rng.normal(size=(n, n)), rng.normal(size=n)
    matrix[0, 0] = 0.0 if n > 1 else 1.0  # which no elimination without exchange gets over
    lu, pivots, x = matrix.copy(), np.empty(n, dtype=np.int64), right.copy()
    factorise(lu, pivots)
    solve(lu, pivots, x)
    assert x == pytest.approx(np.linalg.solve(matrix, right), rel=1e-7, abs=1e-9)


def implicit_advance(
    t: float, t_end: float, h: float, tolerance: float, P: np.record, w: Workspace
) -> tuple[int, int, float, float, int, int]:
    w.method[KIND] = IMPLICIT
    return run_phase(t, t_end, h, tolerance, P, w)


def test_a_step_of_a_shot_has_the_same_orders() -> None:
    P = shot()
    w = prepared(P, run.integrate(P, 1.0, 1e-8).phases[2], IMPLICIT)
    w.rates[1:] = np.nan  # as a step that was thrown away may leave them
    ratio = error_ratios(implicit_step, P, w)
    assert ratio[0] > 16.0  # at least the fourth power, of what is left above rounding
    assert ratio[1] > 8.0
    assert ratio[2] > 8.0


def test_a_shot_of_implicit_steps_is_that_of_another_solver() -> None:
    # scipy's DOP853; every phase, event and diagnostic state goes through the implicit step
    P = shot()
    ours = run.integrate(P, 1.0, 1e-7, implicit_advance)
    theirs = run.integrate(P, 1.0, 1e-9, scipy_advance)
    assert ours.status == Status.FINISHED
    assert [event for _, event in ours.events] == [event for _, event in theirs.events]
    times = np.array([t for t, _ in ours.events])
    assert times == pytest.approx([t for t, _ in theirs.events], rel=2e-6)
    one, two = (at_event(track, EventCode.CLEAR) for track in (ours, theirs))
    assert one[at.NOSE_V] == pytest.approx(two[at.NOSE_V], rel=1e-6)
    assert one[P.balance_at :] == pytest.approx(two[P.balance_at :], rel=1e-4, abs=1e-6)


def test_a_stiff_bay_is_followed_to_its_end() -> None:
    with pytest.warns(RangeWarning, match="nobody has measured"):
        case = reads(THIN_AIR)
    P = parameters(case)
    track, seen = watched(P, 5.0, 1e-6)
    assert track.status.good
    assert seen[0][KIND] != IMPLICIT
    assert seen[-1][KIND] == IMPLICIT
    assert seen[-1][WORK] < MOST_WORK / 2
    # scipy's LSODA (Hindmarsh's stiff formulas) from the same beginning of the last phase
    phase = track.phases[-1]
    record = pack(P)
    w = workspace(record, P.state_size, 0)
    at.state_scale(record, w.scale)

    def slope(_: float, y: np.ndarray) -> np.ndarray:
        dy = np.empty_like(y)
        rates(0.0, y, phase.modes, phase.memory, record, w.work, w.force, dy)
        return dy

    n = w.factors.shape[0]
    theirs = solve_ivp(
        slope, (phase.times[0], phase.times[-1]), phase.states[0][:n], method="LSODA", rtol=1e-9,
        atol=1e-9 * w.scale[:n],
    )  # fmt: skip
    truth = theirs.y[:, -1]
    gap = np.abs(truth - phase.states[-1][:n]) / np.maximum(np.abs(truth), w.scale[:n])
    assert gap.max() < 1e-4


def test_explicit_steps_alone_give_that_bay_up() -> None:
    with pytest.warns(RangeWarning, match="nobody has measured"):
        P = parameters(reads(THIN_AIR))

    def explicit(*given: Any) -> tuple[int, int, float, float, int, int]:
        given[-1].method[TRIED] = -MOST_WORK
        return run_phase(*given)

    # stabilised steps get further than ordinary ones, but no less in vain
    track = run.integrate(P, 22.0, 1e-6, explicit)
    assert track.status == Status.STALLED
    assert track.phases[-1].times[-1] < 21.0
    # with implicit steps it is followed to the end
    assert run.integrate(P, 22.0, 1e-6).status == Status.TIME_END
