"""One implicit step for a stiff stretch: its linear system, its six stages, its Jacobian.

Wide holes keep two spaces level within microseconds, thin walls and thin air settle as fast, and
nothing is to be seen of it for seconds. An explicit step may then be no longer than the fastest of
them; a Rosenbrock method solves one linear system instead, and steps as the curves ask.

Sums that the rates keep, such as all mass, each stage keeps as well: where c f = 0, c J = 0 too.
Differences of the rates stand for their derivatives.

References
----------
RODAS, of order 4(3), L-stable and stiffly accurate, with a dense output of order 3: Hairer &
Wanner, Solving Ordinary Differential Equations II, 2nd ed., IV.7. The coefficients are from memory;
tests check the orders that they give.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine.rates import rates
from baypulse.engine.runge_kutta import BEND, ERROR, LAST, RISE, TWIST, copy
from baypulse.engine.workspace import IMPLICIT_STAGES, WORK, Workspace
from baypulse.physics.compiled import compiled

GAMMA = 0.25
"""Share of the step with which each stage is implicit."""

STAGE = np.array(
    [
        [0, 0, 0, 0, 0],
        [1.544, 0, 0, 0, 0],
        [0.9466785280815826, 0.2557011698983284, 0, 0, 0],
        [3.314825187068521, 2.896124015972201, 0.9986419139977817, 0, 0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1],
    ]
)
"""Weights of the earlier stages in the state of each; the end adds the last two whole."""

PULL = np.array(
    [
        [0, 0, 0, 0, 0],
        [-5.6688, 0, 0, 0, 0],
        [-2.430093356833875, -0.2063599157091915, 0, 0, 0],
        [-0.1073529058151375, -9.594562251023355, -20.47028614809616, 0, 0],
        [7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160, 0],
        [
            8.083246795921522,
            -7.981132988064893,
            -31.52159432874371,
            16.31930543123136,
            -6.058818238834054,
        ],
    ]
)
"""Weights of the earlier stages, over the step, on the right of each stage's system."""

BEND_OF = np.array(
    [10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823,
     1.025137723295662]
)  # fmt: skip
"""Weights of the stages in the part of the dense output that goes as theta (1 - theta)."""

TWIST_OF = np.array(
    [-0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386,
     -6.594389125716872]
)  # fmt: skip
"""The same of theta^2 (1 - theta)."""

NUDGE = 1.5e-8
"""Change of a state, over its size, by which the derivatives are taken: the root of rounding."""


@compiled
def size_of(m: int, w: Workspace) -> float:
    """Return the size of a state by which its changes and errors are measured."""
    return max(abs(w.state[m]), w.scale[m])


@compiled
def implicit_work(n: int) -> int:
    """Return the work of an implicit step of n states beside its derivatives."""
    return IMPLICIT_STAGES + n // 2  # the linear system is half as much again


@compiled
def differentiate(t: float, P: np.record, w: Workspace) -> None:
    """Write how the rates change with each state, over the state's size, one row a state.

    The rates at the state must be in the first row of the rates; the tables are overwritten.
    """
    w.method[WORK] += w.jacobian.shape[0]
    copy(w.state, w.point)
    for j in range(w.jacobian.shape[0]):
        change = w.jacobian[j]
        w.point[j] += NUDGE * size_of(j, w)
        step = (w.point[j] - w.state[j]) / size_of(j, w)
        rates(t, w.point, w.modes, w.memory, P, w.work, w.force, change)
        w.point[j] = w.state[j]
        for m in range(change.shape[0]):
            change[m] = (change[m] - w.rates[0, m]) / step
    # in flight the sections share a speed that is far above that of their parting, and nothing
    # depends on where they are together: what one place adds the others take away
    nose, frame, pack = w.jacobian[at.NOSE_X], w.jacobian[at.FRAME_X], w.jacobian[at.PACK_X]
    by_nose = size_of(at.FRAME_X, w) / size_of(at.NOSE_X, w)
    by_pack = size_of(at.FRAME_X, w) / size_of(at.PACK_X, w)
    for m in range(frame.shape[0]):
        frame[m] = -by_nose * nose[m] - by_pack * pack[m]


@compiled
def factorise(lu: np.ndarray, pivots: np.ndarray) -> None:
    """Turn a matrix into its factors L and U, in place, with the rows that were exchanged.

    Compiled code has no memory of its own, which the library's routine asks for.
    """
    n = lu.shape[0]
    for j in range(n):
        best = j
        for i in range(j + 1, n):
            if abs(lu[i, j]) > abs(lu[best, j]):
                best = i
        pivots[j] = best
        if best != j:
            for m in range(n):
                lu[j, m], lu[best, m] = lu[best, m], lu[j, m]
        for i in range(j + 1, n):
            if lu[i, j] != 0.0:
                share = lu[i, j] / lu[j, j]
                lu[i, j] = share
                for m in range(j + 1, n):
                    lu[i, m] -= share * lu[j, m]


@compiled
def solve(lu: np.ndarray, pivots: np.ndarray, x: np.ndarray) -> None:
    """Solve the system of a factorised matrix, in place of its right-hand side."""
    n = lu.shape[0]
    for i in range(n):
        x[i], x[pivots[i]] = x[pivots[i]], x[i]
    for i in range(n):
        for m in range(i):
            x[i] -= lu[i, m] * x[m]
    for i in range(n - 1, -1, -1):
        for m in range(i + 1, n):
            x[i] -= lu[i, m] * x[m]
        x[i] /= lu[i, i]


@compiled
def prepare(h: float, w: Workspace) -> None:
    """Factorise 1/(gamma h) - J, of the states over their sizes."""
    lu = w.factors
    n = lu.shape[0]
    for i in range(n):
        size = size_of(i, w)
        for j in range(n):
            lu[i, j] = -w.jacobian[j, i] / size
        lu[i, i] += 1.0 / (GAMMA * h)
    factorise(lu, w.pivots)


@compiled
def solve_stage(h: float, w: Workspace, u: np.ndarray) -> None:
    """Turn the right-hand side of a stage into the stage, in place.

    Diagnostic states change nothing, so they follow from the others.
    """
    n, size = w.factors.shape[0], u.shape[0]
    x = w.solution
    for m in range(n):
        x[m] = u[m] / size_of(m, w)
    solve(w.factors, w.pivots, x)
    for m in range(n):
        u[m] = x[m] * size_of(m, w)
    for m in range(n, size):
        for j in range(n):
            u[m] += w.jacobian[j, m] * x[j]
        u[m] *= GAMMA * h


@compiled
def implicit_step(
    t: float, h: float, P: np.record, w: Workspace, k: np.ndarray, out: np.ndarray
) -> None:
    """Take one step of length h from the state, whose rates are in k[0]; write the end into out.

    The derivatives must be those of the state (:func:`differentiate`). The tables are left as at
    the end, whose rates are in the last row of k; the rows between hold error and dense output.
    """
    y, u = w.state, w.stages
    n = y.shape[0]
    w.method[WORK] += implicit_work(w.factors.shape[0])
    prepare(h, w)
    copy(k[0], u[0])
    solve_stage(h, w, u[0])
    for i in range(1, 6):
        copy(y, out)
        for j in range(i):
            if STAGE[i, j] != 0.0:
                for m in range(n):
                    out[m] += STAGE[i, j] * u[j, m]
        rates(t + h, out, w.modes, w.memory, P, w.work, w.force, u[i])
        for j in range(i):
            for m in range(n):
                u[i, m] += PULL[i, j] / h * u[j, m]
        solve_stage(h, w, u[i])
    for m in range(n):
        out[m] += u[5, m]
        k[RISE, m] = (out[m] - y[m]) / h
        k[ERROR, m] = u[5, m] / h
        # the row of no weight, too: a step that was thrown away may have left what is no number
        k[BEND, m] = k[TWIST, m] = k[LAST - 1, m] = 0.0
    for j in range(5):
        for m in range(n):
            k[BEND, m] += BEND_OF[j] / h * u[j, m]
            k[TWIST, m] += TWIST_OF[j] / h * u[j, m]
    rates(t + h, out, w.modes, w.memory, P, w.work, w.force, k[LAST])
