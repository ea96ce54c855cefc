"""One step of Dormand and Prince's pair 5(4): its end, its error, and the states within it.

References
----------
Dormand & Prince, J. Comp. Appl. Math. 6 (1980) 19-26; interpolant as in Hairer, Norsett & Wanner,
Solving Ordinary Differential Equations I, 2nd ed., II.6.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine.rates import rates
from baypulse.engine.workspace import EXPLICIT, KIND, STAGES, Workspace
from baypulse.physics import cord
from baypulse.physics.choice import where
from baypulse.physics.compiled import compiled

C = np.array([0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0])
"""Shares of the step at which the rates are taken."""

A = np.array(
    [
        [0, 0, 0, 0, 0, 0],
        [1 / 5, 0, 0, 0, 0, 0],
        [3 / 40, 9 / 40, 0, 0, 0, 0],
        [44 / 45, -56 / 15, 32 / 9, 0, 0, 0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0, 0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0],
        [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
"""Weights of the earlier rates in the state of each stage; the last row is the step."""

E = np.array([71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])
"""Weights of the rates in the estimate of the error."""

EXPLICIT_B = np.array(
    [
        [1, -8048581381 / 2820520608, 8663915743 / 2820520608, -12715105075 / 11282082432],
        [0, 0, 0, 0],
        [0, 131558114200 / 32700410799, -68118460800 / 10900136933, 87487479700 / 32700410799],
        [0, -1754552775 / 470086768, 14199869525 / 1410260304, -10690763975 / 1880347072],
        [
            0,
            127303824393 / 49829197408,
            -318862633887 / 49829197408,
            701980252875 / 199316789632,
        ],
        [0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844],
        [0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423],
    ]
)
"""Free interpolant of order 4: y(theta) = y0 + h sum_i k_i (B_i . powers of theta)."""

BEND, TWIST, ERROR, RISE, LAST = 1, 2, 3, 4, 6
"""What the rows of the rates hold after a step of another kind (:mod:`baypulse.engine.stabilised`,
:mod:`baypulse.engine.rosenbrock`): two parts of its dense output, its error and its rise, over its
length; the last is that of its end."""

OTHER_B = np.zeros((STAGES, 4))
"""Its interpolant in the same form: theta rise + theta (1 - theta) (bend + theta twist)."""
OTHER_B[RISE, 0] = 1.0
OTHER_B[BEND, :2] = 1.0, -1.0
OTHER_B[TWIST, 1:3] = 1.0, -1.0

B = np.stack((EXPLICIT_B, OTHER_B, OTHER_B))
"""Weights of each kind of step."""


@compiled
def copy(source: np.ndarray, target: np.ndarray) -> None:
    """Copy an array, without the memory that an assignment of slices asks for."""
    for m in range(target.shape[0]):
        target[m] = source[m]


@compiled
def fetch_rates(w: Workspace) -> None:
    """Bring all rates of the step into place, if it was taken side by side with others."""
    q = w.lane[0]
    if q >= 0:
        w.lane[0] = -1
        for s in range(1, STAGES - 1):
            for m in range(w.state.shape[0]):
                w.rates[s, m] = w.late[s, m, q]


@compiled
def stage_steps(
    t: float, h: float, P: np.record, w: Workspace, k: np.ndarray, out: np.ndarray
) -> None:
    """Take one step of length h from the state, whose rates are in k[0]; write the end into out.

    The tables are left as at the end, whose rates are in the last row of k. Each sum has a loop
    of its own over the states, which then runs on the vector unit.
    """
    y = w.state
    n = y.shape[0]
    k1, k2, k3, k4, k5, k6 = k[0], k[1], k[2], k[3], k[4], k[5]
    for m in range(n):
        out[m] = y[m] + h * (A[1, 0] * k1[m])
    rates(t + C[1] * h, out, w.modes, w.memory, P, w.work, w.force, k2)
    for m in range(n):
        out[m] = y[m] + h * (A[2, 0] * k1[m] + A[2, 1] * k2[m])
    rates(t + C[2] * h, out, w.modes, w.memory, P, w.work, w.force, k3)
    for m in range(n):
        out[m] = y[m] + h * (A[3, 0] * k1[m] + A[3, 1] * k2[m] + A[3, 2] * k3[m])
    rates(t + C[3] * h, out, w.modes, w.memory, P, w.work, w.force, k4)
    for m in range(n):
        out[m] = y[m] + h * (A[4, 0] * k1[m] + A[4, 1] * k2[m] + A[4, 2] * k3[m] + A[4, 3] * k4[m])
    rates(t + C[4] * h, out, w.modes, w.memory, P, w.work, w.force, k5)
    for m in range(n):
        out[m] = y[m] + h * (
            A[5, 0] * k1[m] + A[5, 1] * k2[m] + A[5, 2] * k3[m] + A[5, 3] * k4[m]
            + A[5, 4] * k5[m]
        )  # fmt: skip
    rates(t + h, out, w.modes, w.memory, P, w.work, w.force, k6)
    for m in range(n):
        out[m] = y[m] + h * (
            A[6, 0] * k1[m] + A[6, 2] * k3[m] + A[6, 3] * k4[m] + A[6, 4] * k5[m]
            + A[6, 5] * k6[m]
        )  # fmt: skip
    rates(t + h, out, w.modes, w.memory, P, w.work, w.force, k[6])


@compiled
def motion_sizes(
    y: np.ndarray, end: np.ndarray, scale: np.ndarray, taut: float, cord_travel: float,
    size: np.ndarray,
) -> None:  # fmt: skip
    """Write the sizes by which errors of the motion are measured, of one step or of several.

    ``taut`` is 1 on a taut cord and 0 otherwise.
    """
    s, s_end = y[at.NOSE_X] - y[at.FRAME_X], end[at.NOSE_X] - end[at.FRAME_X]
    speed = max(abs(y[at.NOSE_V] - y[at.FRAME_V]), abs(end[at.NOSE_V] - end[at.FRAME_V]))
    # contents that move alone are measured by the greater of both motions
    travel = max(max(abs(s), abs(s_end)), abs(end[at.PACK_X] - end[at.FRAME_X]))
    speed = max(speed, abs(end[at.PACK_V] - end[at.FRAME_V]))
    stretch = max(abs(s - cord_travel), abs(s_end - cord_travel))
    parting = where(taut > 0.0, stretch, travel)
    for m in (at.NOSE_X, at.FRAME_X):
        size[m] = max(parting, scale[m])
    size[at.PACK_X] = max(travel, scale[at.PACK_X])
    for m in (at.NOSE_V, at.FRAME_V, at.PACK_V):
        size[m] = max(speed, scale[m])


@compiled
def error_norm(h: float, tolerance: float, P: np.record, w: Workspace) -> float:
    """Return the largest error of a step over its tolerance; NaN stays NaN.

    Errors of the motion are measured by the motion against each other: in flight both sections
    fall together at a speed that says nothing of how they part. On a taut cord their distance is
    measured by its stretch, which gives the load.
    """
    y, end, k, scale = w.state, w.end, w.rates, w.scale
    size, error = w.stages[0], w.stages[1]
    n = y.shape[0]
    # each sum has a loop of its own, as above; the search for the worst is one that cannot have it
    k1, k3, k4, k5, k6, k7 = k[0], k[2], k[3], k[4], k[5], k[6]
    for m in range(n):
        error[m] = (
            E[0] * k1[m] + E[2] * k3[m] + E[3] * k4[m] + E[4] * k5[m] + E[5] * k6[m]
            + E[6] * k7[m]
        )  # fmt: skip
    if w.method[KIND] != EXPLICIT:
        copy(k[ERROR], error)
    for m in range(n):
        size[m] = max(abs(y[m]), abs(end[m]), scale[m])
    taut = 0.0 if w.modes[at.CORD] == cord.SLACK else 1.0
    motion_sizes(y, end, scale, taut, P.cord_travel, size)
    # a diagnostic state has an infinite scale, so that the norm leaves it out
    for m in range(n):
        error[m] = abs(error[m]) / size[m]
    worst = 0.0
    for m in range(n):
        if not error[m] <= worst:
            worst = error[m]
            if np.isnan(worst):
                break
    return h * worst / tolerance


@compiled
def weight(kind: int, i: int, theta: float) -> float:
    """Return the weight of rate i at the share theta of a finished step of a kind."""
    b = B[kind, i]
    return theta * (b[0] + theta * (b[1] + theta * (b[2] + theta * b[3])))


@compiled
def interpolate(theta: float, h: float, w: Workspace, k: np.ndarray, out: np.ndarray) -> None:
    """Write the state at the share theta of a step that was finished with the rates k."""
    y = w.state
    copy(y, out)
    for i in range(STAGES):
        b = h * weight(w.method[KIND], i, theta)
        for m in range(y.shape[0]):
            out[m] += b * k[i, m]


@compiled
def interpolate_one(theta: float, h: float, m: int, w: Workspace, k: np.ndarray) -> float:
    """Return one state at the share theta of a step that was finished with the rates k."""
    value = w.state[m]
    for i in range(STAGES):
        value += h * weight(w.method[KIND], i, theta) * k[i, m]
    return value
