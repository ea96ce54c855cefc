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

from baypulse.engine import layout as at
from baypulse.engine.events import event_functions
from baypulse.engine.rates import brake_force, cord_force, motion_imbalance, rates
from baypulse.engine.summits import (
    HIGH_CORD,
    HIGH_CORD_TIME,
    HIGH_TRAVEL,
    HIGH_VELOCITY,
    begin_highs,
    note_pressures,
    summit,
    turning,
)
from baypulse.physics import cord
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

BOOK_TOLERANCE = 1e-8
"""Share of the parting's energy below which what a step leaves out of the books is rounding."""

LONGEST_STEP, LONGEST_SHARE = 5e-3, 0.02
"""Longest step [s] where points are kept, and over the time reached if that is more, so that curves
stay curves while the sections coast or a slow source fills the bay."""

MOST_STEPS = 100_000
"""Steps within one phase after which it is given up: a bay whose wide holes keep it level with the
outside may ask for more, with nothing left to see."""

POINTS = 3
"""Points kept of each step; events are looked for at each of them."""

LOCATE_SHARE = 0.1
"""How closely an ensemble's event is located: share of a step, over the tolerance."""

CORD_POINTS = 32
"""Points of a step at which the load of the cord is looked at."""

DESK, G_ROWS = 2 * STAGES + 2, 3
"""Rows that :func:`advance` works on: rates of the step, of a trial, its end, and a point; event
functions before, after and within."""


@compiled
def copy(source: np.ndarray, target: np.ndarray) -> None:
    """Copy an array, without the memory that an assignment of slices asks for."""
    for m in range(target.shape[0]):
        target[m] = source[m]


@compiled
def is_finite(values: np.ndarray) -> bool:
    """Say whether none of the values is infinite or not a number."""
    total = 0.0
    for m in range(values.shape[0]):
        total += values[m]
    return bool(np.isfinite(total))


@compiled
def stage_steps(
    t: float, h: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record,
    work: np.ndarray, force: np.ndarray, k: np.ndarray, out: np.ndarray,
) -> None:  # fmt: skip
    """Take one step of length h from y, whose rates are in k[0]; write the end into out.

    The tables are left as at the end, whose rates are in the last row of k. Each sum has a loop
    of its own over the states, which then runs on the vector unit.
    """
    n = y.shape[0]
    k1, k2, k3, k4, k5, k6 = k[0], k[1], k[2], k[3], k[4], k[5]
    for m in range(n):
        out[m] = y[m] + h * (A[1, 0] * k1[m])
    rates(t + C[1] * h, out, modes, memory, P, work, force, k2)
    for m in range(n):
        out[m] = y[m] + h * (A[2, 0] * k1[m] + A[2, 1] * k2[m])
    rates(t + C[2] * h, out, modes, memory, P, work, force, k3)
    for m in range(n):
        out[m] = y[m] + h * (A[3, 0] * k1[m] + A[3, 1] * k2[m] + A[3, 2] * k3[m])
    rates(t + C[3] * h, out, modes, memory, P, work, force, k4)
    for m in range(n):
        out[m] = y[m] + h * (A[4, 0] * k1[m] + A[4, 1] * k2[m] + A[4, 2] * k3[m] + A[4, 3] * k4[m])
    rates(t + C[4] * h, out, modes, memory, P, work, force, k5)
    for m in range(n):
        out[m] = y[m] + h * (
            A[5, 0] * k1[m] + A[5, 1] * k2[m] + A[5, 2] * k3[m] + A[5, 3] * k4[m]
            + A[5, 4] * k5[m]
        )  # fmt: skip
    rates(t + h, out, modes, memory, P, work, force, k6)
    for m in range(n):
        out[m] = y[m] + h * (
            A[6, 0] * k1[m] + A[6, 2] * k3[m] + A[6, 3] * k4[m] + A[6, 4] * k5[m]
            + A[6, 5] * k6[m]
        )  # fmt: skip
    rates(t + h, out, modes, memory, P, work, force, k[6])


@compiled
def error_norm(
    h: float, y: np.ndarray, end: np.ndarray, k: np.ndarray, scale: np.ndarray, tolerance: float,
    modes: np.ndarray, P: np.record,
) -> float:  # fmt: skip
    """Return the largest error over its tolerance; NaN stays NaN.

    Errors of the motion are measured by the motion against each other: in flight both sections
    fall together at a speed that says nothing of how they part. On a taut cord their distance is
    measured by its stretch, which gives the load.
    """
    worst = 0.0
    s, s_end = y[at.NOSE_X] - y[at.FRAME_X], end[at.NOSE_X] - end[at.FRAME_X]
    speed = max(abs(y[at.NOSE_V] - y[at.FRAME_V]), abs(end[at.NOSE_V] - end[at.FRAME_V]))
    # contents that move alone are measured by the greater of both motions
    travel = max(abs(s), abs(s_end), abs(end[at.PACK_X] - end[at.FRAME_X]))
    speed = max(speed, abs(end[at.PACK_V] - end[at.FRAME_V]))
    parting = travel
    if modes[at.CORD] != cord.SLACK:
        parting = max(abs(s - P.cord_travel), abs(s_end - P.cord_travel))
    for m in range(y.shape[0]):
        total = (
            E[0] * k[0, m] + E[2] * k[2, m] + E[3] * k[3, m] + E[4] * k[4, m] + E[5] * k[5, m]
            + E[6] * k[6, m]
        )  # fmt: skip
        # an entry of a book has an infinite scale and no say
        size = max(abs(y[m]), abs(end[m]))
        if m == at.NOSE_X or m == at.FRAME_X:
            size = parting
        elif m == at.PACK_X:
            size = travel
        elif m == at.NOSE_V or m == at.FRAME_V or m == at.PACK_V:
            size = speed
        error = abs(h * total) / (tolerance * max(size, scale[m]))
        if np.isnan(error):
            return error
        worst = max(worst, error)
    return worst


@compiled
def weight(i: int, theta: float) -> float:
    """Return the weight of rate i at the share theta of a finished step."""
    return theta * (B[i, 0] + theta * (B[i, 1] + theta * (B[i, 2] + theta * B[i, 3])))


@compiled
def interpolate(theta: float, h: float, y: np.ndarray, k: np.ndarray, out: np.ndarray) -> None:
    """Write the state at the share theta of a finished step."""
    copy(y, out)
    for i in range(STAGES):
        b = h * weight(i, theta)
        for m in range(y.shape[0]):
            out[m] += b * k[i, m]


@compiled
def interpolate_one(theta: float, h: float, m: int, y: np.ndarray, k: np.ndarray) -> float:
    """Return one state at the share theta of a finished step."""
    value = y[m]
    for i in range(STAGES):
        value += h * weight(i, theta) * k[i, m]
    return value


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
    P: np.record, work: np.ndarray, force: np.ndarray, k: np.ndarray, rate: np.ndarray,
    before: np.ndarray, inside: np.ndarray, g: np.ndarray, point: np.ndarray, times: np.ndarray,
    states: np.ndarray,
) -> int:  # fmt: skip
    """Keep the points of a finished step, up to the first that lies past an event.

    The tables must be those of the step's end, and so are the event functions where no event is
    found. Returns the event's place, from 1, or 0 when there is none in the step.
    """
    event_functions(t + h, end, modes, memory, P, work, force, g)
    times[POINTS - 1] = t + h
    copy(end, states[POINTS - 1])
    for q in range(1, POINTS):
        theta = q / POINTS
        interpolate(theta, h, y, k, point)
        rates(t + theta * h, point, modes, memory, P, work, force, rate)
        if not is_finite(rate):
            # a zone that is all but empty may be less than empty between two ends that are not
            for m in range(y.shape[0]):
                point[m] = (1.0 - theta) * y[m] + theta * end[m]
            rates(t + theta * h, point, modes, memory, P, work, force, rate)
        event_functions(t + theta * h, point, modes, memory, P, work, force, inside)
        if crossing(before, inside) >= 0:
            return q
        times[q - 1] = t + theta * h
        copy(point, states[q - 1])
    return POINTS if crossing(before, g) >= 0 else 0


@compiled
def note_highs(
    t: float, h: float, start: np.ndarray, y: np.ndarray, modes: np.ndarray, memory: np.ndarray,
    P: np.record, work: np.ndarray, k: np.ndarray, highs: np.ndarray,
) -> None:  # fmt: skip
    """Note what is higher than ever within a step from start to y, whose tables are given."""
    highs[HIGH_TRAVEL] = max(highs[HIGH_TRAVEL], y[at.NOSE_X] - y[at.FRAME_X])
    first, last = k[0], k[STAGES - 1]
    speed, _ = summit(
        h, start[at.NOSE_V] - start[at.FRAME_V], first[at.NOSE_V] - first[at.FRAME_V],
        y[at.NOSE_V] - y[at.FRAME_V], last[at.NOSE_V] - last[at.FRAME_V],
    )  # fmt: skip
    highs[HIGH_VELOCITY] = max(highs[HIGH_VELOCITY], speed)
    if modes[at.GAS] != at.SPENT:
        note_pressures(t, h, P, work, highs)
    if modes[at.BRAKE] % 2 == 1 and brake_force(modes, P) > highs[HIGH_CORD]:
        highs[HIGH_CORD], highs[HIGH_CORD_TIME] = brake_force(modes, P), t
    if modes[at.CORD] == cord.LOADING:
        for q in range(1, CORD_POINTS + 1):
            theta = q / CORD_POINTS
            s = interpolate_one(theta, h, at.NOSE_X, start, k)
            s -= interpolate_one(theta, h, at.FRAME_X, start, k)
            w = interpolate_one(theta, h, at.NOSE_V, start, k)
            w -= interpolate_one(theta, h, at.FRAME_V, start, k)
            load = cord_force(s, w, modes, memory, P)
            if load > highs[HIGH_CORD]:
                highs[HIGH_CORD], highs[HIGH_CORD_TIME] = load, t + theta * h


@compiled
def look(
    by_step: bool, theta: float, t: float, h: float, y: np.ndarray, modes: np.ndarray,
    memory: np.ndarray, P: np.record, work: np.ndarray, force: np.ndarray, k: np.ndarray,
    k_try: np.ndarray, g: np.ndarray, out: np.ndarray,
) -> None:  # fmt: skip
    """Write state and event functions at a share of a step: by a step of its own, or interpolated.

    The first row of k_try must hold that of k.
    """
    if by_step:
        stage_steps(t, theta * h, y, modes, memory, P, work, force, k_try, out)
    else:
        interpolate(theta, h, y, k, out)
        rates(t + theta * h, out, modes, memory, P, work, force, k_try[1])
    event_functions(t + theta * h, out, modes, memory, P, work, force, g)


@compiled
def narrow(
    by_step: bool, finest: float, low: float, high: float, g_low: float, g_high: float,
    event: int, t: float, h: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray,
    P: np.record, work: np.ndarray, force: np.ndarray, k: np.ndarray, k_try: np.ndarray,
    before: np.ndarray, g: np.ndarray, out: np.ndarray,
) -> tuple[float, float, int, float]:  # fmt: skip
    """Narrow the bracket of the first event between two shares of a step.

    Illinois' form of false position on the event that fires first; whenever an earlier one shows
    up it takes over.

    Returns the bracket, the event, and how steeply its function rises there.
    """
    side = 0
    slope = (g_high - g_low) / (high - low)
    share_low, share_high = 1.0, 1.0
    for attempt in range(100):
        if high - low <= finest:
            break
        weight_low, weight_high = share_high * g_high, share_low * g_low
        middle = (low * weight_low - high * weight_high) / (weight_low - weight_high)
        # once an end lies on the root, look just beside it: nothing may have fired before
        if high - middle < finest:
            middle = high - finest
        elif middle - low < finest:
            middle = low + finest
        # a root that is flat misleads both, so now and then the middle is taken
        if attempt % 4 == 3 or not low < middle < high:
            middle = 0.5 * (low + high)
        look(by_step, middle, t, h, y, modes, memory, P, work, force, k, k_try, g, out)
        found = crossing(before, g)
        if found >= 0 and found != event and not g[event] > 0.0:
            event = found
            g_low, share_low = before[event], 1.0
            side = 0
        if found >= 0:
            slope = (g_high - g[event]) / (high - middle)
            high, g_high, share_high = middle, g[event], 1.0
            share_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            slope = (g[event] - g_low) / (middle - low)
            low, g_low, share_low = middle, g[event], 1.0
            share_high *= 0.5 if side == -1 else 1.0
            side = -1
    return low, high, event, slope


@compiled
def locate(
    t: float, h: float, low: float, high: float, tolerance: float, y: np.ndarray,
    modes: np.ndarray, memory: np.ndarray, P: np.record, work: np.ndarray, force: np.ndarray,
    k: np.ndarray, k_try: np.ndarray, before: np.ndarray, g: np.ndarray, out: np.ndarray,
) -> tuple[float, int]:  # fmt: skip
    """Find the first event between two shares of a step, and take the step that ends there.

    The interpolant says where; steps of their own correct it, by Newton's rule with the
    interpolant's slope. The answer lies on the far side of the event, so that it has happened.

    Returns the length of the step and the event, or -1.0 and -1 where there is none; ``out`` is
    the state.
    """
    finest = max(1e-13 * (t / h + 1.0), LOCATE_SHARE * tolerance if tolerance > 1e-5 else 0.0)
    coarse = max(finest, 1e-4)
    copy(k[0], k_try[0])
    look(False, high, t, h, y, modes, memory, P, work, force, k, k_try, g, out)
    event = crossing(before, g)
    if event < 0:
        return -1.0, -1
    _, theta, event, slope = narrow(
        False, coarse, low, high, before[event], g[event], event, t, h, y, modes, memory, P,
        work, force, k, k_try, before, g, out,
    )  # fmt: skip
    for _ in range(6):
        theta += 0.5 * finest
        if not low < theta < high:
            break
        look(True, theta, t, h, y, modes, memory, P, work, force, k, k_try, g, out)
        beyond = g[event] / slope
        if 0.0 < beyond <= finest:
            return theta * h, event
        if not abs(beyond) < 0.1:
            break
        theta -= beyond
    # a flat root, or several at once: the slow way
    look(True, high, t, h, y, modes, memory, P, work, force, k, k_try, g, out)
    event = crossing(before, g)
    if event < 0:
        return -1.0, -1
    _, high, event, _ = narrow(
        True, finest, low, high, before[event], g[event], event, t, h, y, modes, memory, P, work,
        force, k, k_try, before, g, out,
    )  # fmt: skip
    look(True, high, t, h, y, modes, memory, P, work, force, k, k_try, g, out)
    return high * h, event


@compiled
def advance(
    t: float, t_end: float, h: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray,
    P: np.record, tolerance: float, scale: np.ndarray, work: np.ndarray, force: np.ndarray,
    times: np.ndarray, states: np.ndarray, desk: np.ndarray, gs: np.ndarray, highs: np.ndarray,
) -> tuple[int, int, float, float, int, int]:  # fmt: skip
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
        Written: the points of each step. With no room at all (n = 0) none are kept, events are
        looked for at the ends of steps, and steps may be of any length: the way of ensembles.
    desk, gs : ndarray, shapes (DESK, n_state), (G_ROWS, n_events)
        Overwritten: what the stepper works on.
    highs : ndarray, shape (HIGHS,)
        Raised where a step reaches more; only where no points are kept.

    Returns
    -------
    outcome, event : int
        DONE, EVENT, FULL, STALLED or LOST; the event, or -1.
    t, h : float
        Time reached, and step to try next [s].
    kept, steps : int
        Points written, and steps tried.
    """
    k, k_try = desk[:STAGES], desk[STAGES : 2 * STAGES]
    end, middle = desk[2 * STAGES], desk[2 * STAGES + 1]
    g_low, g_high = gs[0], gs[1]
    keeping = times.shape[0] > 0
    kept, steps = 0, 0
    rates(t, y, modes, memory, P, work, force, k[0])
    event_functions(t, y, modes, memory, P, work, force, g_low)
    for found in range(g_low.shape[0]):
        if g_low[found] > 0.0:  # already due when the phase began
            return EVENT, found, t, h, kept, steps
    begin_highs(P, work, highs)
    while t < t_end:
        if keeping and kept + POINTS > times.shape[0]:
            return FULL, -1, t, h, kept, steps
        if steps >= MOST_STEPS or not h > 1e-14 * max(t, 1e-6):
            return STALLED, -1, t, h, kept, steps
        last = t + h * 1.000001 >= t_end
        if last:
            h = t_end - t
        steps += 1
        stage_steps(t, h, y, modes, memory, P, work, force, k, end)
        error = error_norm(h, y, end, k, scale, tolerance, modes, P)
        if error <= 1.0 and y.shape[0] > P.books_at:
            error = max(error, motion_imbalance(y, end, modes, P) / max(tolerance, BOOK_TOLERANCE))
        if not error <= 1.0:
            if not np.isfinite(error):
                if h < 1e-12:
                    return LOST, -1, t, h, kept, steps
                h *= 0.1
            else:
                h *= max(0.2, 0.9 * error**-0.2)
            continue
        past, points = 0, 1
        if keeping:
            points = POINTS
            past = keep_points(
                t, h, y, end, modes, memory, P, work, force, k, k_try[1], g_low, gs[2], g_high,
                middle, times[kept:], states[kept:],
            )  # fmt: skip
        else:
            event_functions(t + h, end, modes, memory, P, work, force, g_high)
            past = 1 if crossing(g_low, g_high) >= 0 else 0
        low, high = (past - 1) / points, past / points
        turn = turning(h, y, end, modes, P, k)
        if turn < (high if past > 0 else 1.0):
            low, high, past = 0.0, turn, int(turn * points) + 1
        if past > 0:
            h_event, event = locate(
                t, h, low, high, tolerance, y, modes, memory, P, work, force, k, k_try, g_low,
                g_high, middle,
            )  # fmt: skip
            if event < 0:  # the interpolant saw what the step itself does not: look closer
                h *= 0.5
                continue
            if keeping:
                kept += min(int(h_event / h * POINTS) + 1, past)
                times[kept - 1] = t + h_event
                copy(middle, states[kept - 1])
            else:
                note_highs(t, h_event, y, middle, modes, memory, P, work, k_try, highs)
            copy(middle, y)
            return EVENT, event, t + h_event, h, kept, steps
        if keeping:
            kept += POINTS
        else:
            note_highs(t, h, y, end, modes, memory, P, work, k, highs)
        copy(g_high, g_low)
        copy(end, y)
        copy(k[STAGES - 1], k[0])
        t = t_end if last else t + h
        h *= min(5.0, 0.9 * max(error, 1e-8) ** -0.2)
        if keeping:
            h = min(h, max(LONGEST_STEP, LONGEST_SHARE * t))
    return DONE, -1, t, h, kept, steps
