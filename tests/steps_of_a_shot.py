"""A shot stopped in the middle, and how the errors of one step from there fall with its length."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp

from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.parameters import Parameters, pack
from baypulse.engine.rates import rates
from baypulse.engine.rosenbrock import differentiate, size_of
from baypulse.engine.runge_kutta import ERROR, interpolate
from baypulse.engine.stepper import workspace
from baypulse.engine.workspace import KIND, Workspace


def prepared(P: Parameters, phase: run.PhasePart, kind: int) -> Workspace:
    """Return a workspace in the state at a phase's end, with rates and derivatives."""
    record = pack(P)
    w = workspace(record, P.state_size, 8)
    at.state_scale(record, w.scale)
    w.state[:], w.modes[:], w.memory[:] = phase.states[-1], phase.modes, phase.memory
    rates(phase.times[-1], w.state, w.modes, w.memory, record, w.work, w.force, w.rates[0])
    differentiate(phase.times[-1], record, w)
    w.method[KIND] = kind
    return w


def error_ratios(step: Callable[..., None], P: Parameters, w: Workspace) -> np.ndarray:
    """Return how a step's errors fall when it is halved: end, estimate and middle, largest of each.

    scipy's DOP853 at 1e-12 is the truth.
    """
    record = pack(P)
    n = w.factors.shape[0]
    sizes = np.array([size_of(m, w) for m in range(n)])

    def slope(_: float, y: np.ndarray) -> np.ndarray:
        dy = np.empty_like(y)
        rates(0.0, y, w.modes, w.memory, record, w.work, w.force, dy)
        return dy

    errors = []
    for h in (2e-4, 1e-4):
        truth = solve_ivp(
            slope, (0.0, h), w.state, method="DOP853", rtol=1e-12, atol=1e-13 * sizes.min(),
            dense_output=True,
        )  # fmt: skip
        step(0.0, h, record, w, w.rates, w.end)
        interpolate(0.5, h, w, w.rates, w.point)
        errors.append(
            [
                np.abs((w.end - truth.y[:, -1])[:n] / sizes).max(),
                np.abs(h * w.rates[ERROR, :n] / sizes).max(),
                np.abs((w.point - truth.sol(h / 2))[:n] / sizes).max(),
            ]
        )
    return np.divide(*errors)
