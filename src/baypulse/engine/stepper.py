"""The compiled stepper: Dormand-Prince 5(4), events located inside the loop.

It advances the state within one phase, to the first event or to a given time. The state at an
event is a step of its own, of just the right length, not a point of the interpolant: that costs
a few evaluations and keeps the full order across phases.

References
----------
Dormand & Prince, J. Comp. Appl. Math. 6 (1980) 19-26; step control and interpolant as in
Hairer, Norsett & Wanner, Solving Ordinary Differential Equations I, 2nd ed., II.4 and II.6.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine.events import event_functions
from baypulse.engine.rates import rates
from baypulse.physics.compiled import compiled

STAGES = 7
C = np.array([0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0])
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
E = np.array([71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])
# free interpolant of order 4: y(theta) = y0 + h sum_i k_i (B_i . theta powers)
B = np.array(
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

DONE, EVENT, FULL, STALLED, LOST = 0, 1, 2, 3, 4
"""Outcomes: time reached, event reached, buffer full, step too small, no finite number."""

LONGEST_STEP = 5e-3
"""Longest step [s], so that curves stay curves while the sections coast."""

POINTS = 4
"""Points kept of each step; events are looked for at each of them."""


@compiled
def stage_steps(
    t: float, h: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record,
    work: np.ndarray, force: np.ndarray, k: np.ndarray, out: np.ndarray,
) -> None:  # fmt: skip
    """Take one step of length h from y, whose rates are in k[0]; write the end into out."""
    n = y.shape[0]
    for i in range(1, STAGES):
        for m in range(n):
            total = 0.0
            for j in range(i):
                total += A[i, j] * k[j, m]
            out[m] = y[m] + h * total
        rates(t + C[i] * h, out, modes, memory, P, work, force, k[i])


@compiled
def error_norm(
    h: float, y: np.ndarray, end: np.ndarray, k: np.ndarray, scale: np.ndarray, tolerance: float
) -> float:
    """Return the largest error over its tolerance; NaN stays NaN."""
    worst = 0.0
    for m in range(y.shape[0]):
        if scale[m] == np.inf:
            continue
        total = 0.0
        for i in range(STAGES):
            total += E[i] * k[i, m]
        size = max(abs(y[m]), abs(end[m]), scale[m])
        error = abs(h * total) / (tolerance * size)
        if np.isnan(error):
            return error
        worst = max(worst, error)
    return worst


@compiled
def interpolate(theta: float, h: float, y: np.ndarray, k: np.ndarray, out: np.ndarray) -> None:
    """Write the state at the share theta of a finished step."""
    for m in range(y.shape[0]):
        total = 0.0
        for i in range(STAGES):
            b = theta * (B[i, 0] + theta * (B[i, 1] + theta * (B[i, 2] + theta * B[i, 3])))
            total += b * k[i, m]
        out[m] = y[m] + h * total


@compiled
def crossing(before: np.ndarray, after: np.ndarray) -> int:
    """Return the index of an event whose function became positive, or -1."""
    for n in range(before.shape[0]):
        if before[n] <= 0.0 and after[n] > 0.0:
            return n
    return -1


@compiled
def keep_points(
    t: float, h: float, y: np.ndarray, end: np.ndarray, modes: np.ndarray, memory: np.ndarray,
    P: np.record, work: np.ndarray, force: np.ndarray, k: np.ndarray, k_try: np.ndarray,
    before: np.ndarray, g: np.ndarray, point: np.ndarray, times: np.ndarray, states: np.ndarray,
) -> int:  # fmt: skip
    """Keep the points of a finished step, up to the first that lies past an event.

    Returns its number, from 1, or 0 when there is no event in the step.
    """
    for q in range(1, POINTS + 1):
        theta = q / POINTS
        if q < POINTS:
            interpolate(theta, h, y, k, point)
        else:
            point[:] = end
        rates(t + theta * h, point, modes, memory, P, work, force, k_try[1])
        event_functions(t + theta * h, point, modes, memory, P, work, force, g)
        if crossing(before, g) >= 0:
            return q
        times[q - 1] = t + theta * h
        states[q - 1] = point
    return 0


@compiled
def locate(
    t: float, h: float, low: float, high: float, y: np.ndarray, modes: np.ndarray,
    memory: np.ndarray, P: np.record, work: np.ndarray, force: np.ndarray, k: np.ndarray,
    k_try: np.ndarray, before: np.ndarray, g: np.ndarray, out: np.ndarray,
) -> tuple[float, int]:  # fmt: skip
    """Find the first event between two shares of a step by steps of their own.

    Illinois' form of false position on the event that fires first; whenever an earlier one shows
    up it takes over. The answer lies on the far side of the event, so that it has happened.

    Returns the length of the step that ends there, and the event; ``out`` is the state.
    """
    k_try[0] = k[0]
    stage_steps(t, high * h, y, modes, memory, P, work, force, k_try, out)
    event_functions(t + high * h, out, modes, memory, P, work, force, g)
    event = crossing(before, g)
    if event < 0:
        return -1.0, -1
    g_low, g_high = before[event], g[event]
    side = 0
    finest = 1e-13 * (t / h + 1.0)
    for attempt in range(100):
        if high - low <= finest:
            break
        middle = (low * g_high - high * g_low) / (g_high - g_low)
        # once an end lies on the root, look just beside it: nothing may have fired before
        if high - middle < finest:
            middle = high - finest
        elif middle - low < finest:
            middle = low + finest
        # a root that is flat misleads both, so now and then the middle is taken
        if attempt % 4 == 3 or not low < middle < high:
            middle = 0.5 * (low + high)
        stage_steps(t, middle * h, y, modes, memory, P, work, force, k_try, out)
        event_functions(t + middle * h, out, modes, memory, P, work, force, g)
        found = crossing(before, g)
        if found >= 0 and found != event and not g[event] > 0.0:
            event = found
            g_low = before[event]
            side = 0
        if found >= 0:
            high, g_high = middle, g[event]
            g_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            low, g_low = middle, g[event]
            g_high *= 0.5 if side == -1 else 1.0
            side = -1
    stage_steps(t, high * h, y, modes, memory, P, work, force, k_try, out)
    event_functions(t + high * h, out, modes, memory, P, work, force, g)
    return high * h, event


@compiled
def advance(
    t: float, t_end: float, h: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray,
    P: np.record, tolerance: float, scale: np.ndarray, work: np.ndarray, force: np.ndarray,
    times: np.ndarray, states: np.ndarray, event_count: int,
) -> tuple[int, int, float, int, int]:  # fmt: skip
    """Advance within one phase, to the first event or to t_end.

    Parameters
    ----------
    t, t_end, h : float
        Now, latest end, first step to try [s].
    y : ndarray, shape (n_state,)
        Changed in place to the state reached.
    modes, memory : ndarray
        The phase, not changed.
    P : np.record
        The shot.
    tolerance : float
        Relative tolerance of a step.
    scale : ndarray, shape (n_state,)
        Sizes below which errors are absolute (:func:`baypulse.engine.layout.state_scale`).
    work, force : ndarray
        Tables of the right-hand side, left as at the state reached.
    times, states : ndarray, shapes (n,), (n, n_state)
        Written: the points of each step.
    event_count : int
        Number of event functions.

    Returns
    -------
    outcome, event : int
        DONE, EVENT, FULL, STALLED or LOST; the event, or -1.
    h : float
        Step to try next [s].
    kept, steps : int
        Points written, and steps tried.
    """
    n = y.shape[0]
    k = np.empty((STAGES, n))
    k_try = np.empty((STAGES, n))
    end = np.empty(n)
    middle = np.empty(n)
    g_low = np.empty(event_count)
    g_high = np.empty(event_count)
    kept, steps = 0, 0
    rates(t, y, modes, memory, P, work, force, k[0])
    event_functions(t, y, modes, memory, P, work, force, g_low)
    for found in range(event_count):
        if g_low[found] > 0.0:  # already due when the phase began
            return EVENT, found, h, kept, steps
    while t < t_end:
        if kept + POINTS > times.shape[0]:
            return FULL, -1, h, kept, steps
        if not h > 1e-14 * max(t, 1e-6):
            return STALLED, -1, h, kept, steps
        last = t + h * 1.000001 >= t_end
        if last:
            h = t_end - t
        steps += 1
        stage_steps(t, h, y, modes, memory, P, work, force, k, end)
        error = error_norm(h, y, end, k, scale, tolerance)
        if not error <= 1.0:
            if not np.isfinite(error):
                if h < 1e-12:
                    return LOST, -1, h, kept, steps
                h *= 0.1
            else:
                h *= max(0.2, 0.9 * error**-0.2)
            continue
        past = keep_points(
            t, h, y, end, modes, memory, P, work, force, k, k_try, g_low, g_high, middle,
            times[kept:], states[kept:],
        )  # fmt: skip
        if past > 0:
            h_event, event = locate(
                t, h, (past - 1) / POINTS, past / POINTS, y, modes, memory, P, work, force, k,
                k_try, g_low, g_high, middle,
            )  # fmt: skip
            if event < 0:  # the interpolant saw what the step itself does not: look closer
                h *= 0.5
                continue
            y[:] = middle
            kept += past
            times[kept - 1] = t + h_event
            states[kept - 1] = y
            return EVENT, event, h, kept, steps
        kept += POINTS
        g_low[:] = g_high
        y[:] = end
        k[0] = k[STAGES - 1]
        t = t_end if last else t + h
        h = min(h * min(5.0, 0.9 * max(error, 1e-8) ** -0.2), LONGEST_STEP)
    return DONE, -1, h, kept, steps
