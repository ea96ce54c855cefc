"""One stabilised explicit step, for a stretch that is stiff, though not by much.

The quickest of what goes on in a bay dies away: pressures that settle between its spaces, skins
that warm. Where nothing else happens, an ordinary explicit step may be no longer than three of
their time constants, for six evaluations of the rates; this one may be as long as thirteen, for
ten. Its stages are Euler steps of a sixth of the whole one and means of such, so that they stay
where gas can be.

References
----------
The method of order 4, SSPRK(10,4): D. I. Ketcheson, SIAM J. Sci. Comput. 30 (2008) 2113-2136 (from
memory; tests check its order and its stability). The estimate of its error is our own.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine.rates import rates
from baypulse.engine.runge_kutta import BEND, ERROR, LAST, RISE, TWIST
from baypulse.engine.workspace import STABILISED_WORK, Workspace
from baypulse.physics.compiled import compiled

HALF = STABILISED_WORK // 2
"""Stages before and after the mean."""

SUBSTEP = 1 / 6
"""Length of an Euler step, over the whole one."""

LATEST = LAST - 1
"""Row of the rates that has those of the latest stage."""

MEAN = 1 / 15
"""Weight of each rate of the first half in the stage with which the second half begins."""

SHARE = 1e-3
"""Error estimate over h^4 y'''' of a smooth solution: with it the errors of members are as large as
those of ordinary steps of the same tolerance."""

E = SHARE * np.array(
    [4.727834219708548, -65.94409816465065, 61.87919000913046, 55.16257759685455,
     -55.82550366104337, -10.385868097619399, 87.74843200942951, -93.34398827599853,
     -35.013847085810774, 50.99527144999965]
)  # fmt: skip
"""Weights of the rates in the estimate of the error.

Of all that give nothing up to order 3 and the full derivative at order 4, those whose estimate of
what only dies away, E(z), is least at its greatest for -13 < z < 0 (a linear programme): most
others, among them published ones, hold a step short by what it damps out anyway.
"""


@compiled
def first_stage(h: float, y: np.ndarray, k: np.ndarray, out: np.ndarray) -> None:
    """Begin a step of length h, or several side by side: write the state of the second stage."""
    for m in range(y.shape[0]):
        k[RISE, m] = k[0, m]
        k[ERROR, m] = E[0] * k[0, m]
        out[m] = y[m] + h * (SUBSTEP * k[0, m])


@compiled
def middle_stage(h: float, y: np.ndarray, k: np.ndarray, out: np.ndarray) -> None:
    """Write the state with which the second half begins."""
    for m in range(y.shape[0]):
        out[m] = y[m] + h * (MEAN * k[RISE, m])


@compiled
def next_stage(i: int, h: float, k: np.ndarray, out: np.ndarray) -> None:
    """Add the rates of stage i, and write the state of the next."""
    for m in range(out.shape[0]):
        k[RISE, m] += k[LATEST, m]
        k[ERROR, m] += E[i] * k[LATEST, m]
        out[m] += h * (SUBSTEP * k[LATEST, m])


@compiled
def end_stage(h: float, y: np.ndarray, k: np.ndarray, out: np.ndarray) -> None:
    """Write the state at the end."""
    for m in range(y.shape[0]):
        k[RISE, m] /= STABILISED_WORK
        out[m] = y[m] + h * k[RISE, m]


@compiled
def keep_dense(y: np.ndarray, k: np.ndarray) -> None:
    """Write the dense output, with the rates at both ends."""
    for m in range(y.shape[0]):
        k[BEND, m] = k[0, m] - k[RISE, m]
        k[TWIST, m] = 2.0 * k[RISE, m] - k[0, m] - k[LAST, m]


@compiled
def stabilised_step(
    t: float, h: float, P: np.record, w: Workspace, k: np.ndarray, out: np.ndarray
) -> None:
    """Take one step of length h from the state, whose rates are in k[0]; write the end into out.

    The tables are left as at the end, whose rates are in the last row of k; the rows between hold
    its error, and Hermite's cubic as its dense output.
    """
    y = w.state
    first_stage(h, y, k, out)
    for i in range(1, STABILISED_WORK):
        if i == HALF:
            middle_stage(h, y, k, out)
        rates(t, out, w.modes, w.memory, P, w.work, w.force, k[LATEST])
        next_stage(i, h, k, out)
    end_stage(h, y, k, out)
    rates(t + h, out, w.modes, w.memory, P, w.work, w.force, k[LAST])
    keep_dense(y, k)
