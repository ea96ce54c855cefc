"""Which event a step meets first, and where: the step that ends there.

The state at an event is a step of its own, of just the right length, not a point of the
interpolant: that costs a few evaluations and keeps the full order across phases.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine.any_step import take_step
from baypulse.engine.event import OF_FORCES, EventCode
from baypulse.engine.events import event_functions
from baypulse.engine.rates import rates
from baypulse.engine.runge_kutta import copy, fetch_rates, interpolate
from baypulse.engine.summits import turning
from baypulse.engine.workspace import (
    AT_EVENT,
    HIGH,
    HOW,
    LOW,
    SHARE,
    SLOPE,
    SPENT,
    STAGES,
    WHOLE,
    WORK,
    Workspace,
)
from baypulse.physics.compiled import compiled

POINTS = 3
"""Points kept of each step; events are looked for at each of them. Of a long run
(:data:`baypulse.engine.stepper.LONG_WORK`), whose steps are far shorter than its curves ask for,
only the ends are kept."""

LOCATE_SHARE = 0.1
"""How closely an ensemble's event is located: share of a step, over the tolerance."""

COARSE_SHARE = 1e-4
"""How closely the interpolant locates an event: share of a step."""

NEAR_SHARE = 0.1
"""Share of a step, over the root of the tolerance, up to which a state goes on with the rates at
its end: what bends it is then below a hundredth of the tolerance, of what the step changes."""

CORRECTIONS = 12
"""Corrections of an event's place before it is looked for by halves."""

UNTIMED = (EventCode.PEAK, EventCode.RISE)
"""Events that change no rates, and that no member notes: where no points are kept nobody asks when
they happened, and they are told at the end of a step."""

BY_STATE, BY_TABLES, BY_STEP = range(3)
"""How events are looked at within a step: those that a state tells, at a state of the interpolant;
all of them there; or at the end of a step of its own."""

PASSED = 1.0
"""Function of an event that is not looked for within a step."""


@compiled
def is_finite(values: np.ndarray) -> bool:
    """Say whether none of the values is infinite or not a number."""
    total = 0.0
    for m in range(values.shape[0]):
        total += values[m]
    return bool(np.isfinite(total))


@compiled
def crossing(before: np.ndarray, after: np.ndarray) -> int:
    """Return the index of an event whose function became positive, or -1."""
    for n in range(before.shape[0]):
        if before[n] <= 0.0 and after[n] > 0.0:
            return n
    return -1


@compiled
def pass_over(w: Workspace) -> int:
    """Return an event that has no time and has happened, or -1; let none be sought in the step."""
    for event in UNTIMED:
        if w.before[event] > 0.0:
            return event
    for event in UNTIMED:
        w.before[event] = PASSED
    return -1


@compiled
def keep_points(t: float, h: float, kept: int, P: np.record, w: Workspace) -> int:
    """Keep the points of a finished step, up to the first that lies past an event.

    The tables must be those of the step's end, and so are the event functions where no event is
    found. Returns the event's place, from 1, or 0 when there is none in the step.
    """
    y, end, point, rate = w.state, w.end, w.point, w.trial[1]
    event_functions(t + h, end, w.modes, w.memory, P, w.work, w.force, w.after)
    w.method[WORK] += POINTS
    w.times[kept + POINTS - 1] = t + h
    copy(end, w.states[kept + POINTS - 1])
    for q in range(1, POINTS):
        theta = q / POINTS
        interpolate(theta, h, w, w.rates, point)
        rates(t + theta * h, point, w.modes, w.memory, P, w.work, w.force, rate)
        if not is_finite(rate):
            # a zone that is all but empty may be less than empty between two ends that are not
            for m in range(y.shape[0]):
                point[m] = (1.0 - theta) * y[m] + theta * end[m]
            rates(t + theta * h, point, w.modes, w.memory, P, w.work, w.force, rate)
        event_functions(t + theta * h, point, w.modes, w.memory, P, w.work, w.force, w.within)
        if crossing(w.before, w.within) >= 0:
            return q
        w.times[kept + q - 1] = t + theta * h
        copy(point, w.states[kept + q - 1])
    return POINTS if crossing(w.before, w.after) >= 0 else 0


@compiled
def forces_tell(w: Workspace) -> bool:
    """Say whether an event has happened that pressures or forces tell."""
    for n in range(OF_FORCES.shape[0]):
        if OF_FORCES[n] and w.before[n] <= 0.0 and w.after[n] > 0.0:
            return True
    return False


@compiled
def evaluate(how: int, theta: float, t: float, h: float, P: np.record, w: Workspace) -> None:
    """Write state and event functions at a share of a step, looked at as told.

    The first row of the trial's rates must hold that of the step's. By state, the tables are left,
    and what they would tell reads as it did before the step.
    """
    if how == BY_STEP:
        take_step(t, theta * h, P, w, w.trial, w.point)
    else:
        interpolate(theta, h, w, w.rates, w.point)
    if how == BY_TABLES:
        w.method[WORK] += 1
        rates(t + theta * h, w.point, w.modes, w.memory, P, w.work, w.force, w.trial[1])
    event_functions(t + theta * h, w.point, w.modes, w.memory, P, w.work, w.force, w.after)
    if how == BY_STATE:
        for n in range(OF_FORCES.shape[0]):
            if OF_FORCES[n]:
                w.after[n] = w.before[n]


@compiled
def bracket(
    how: int, finest: float, low: float, high: float, event: int, t: float, h: float,
    P: np.record, w: Workspace,
) -> tuple[float, float, int, float]:  # fmt: skip
    """Narrow the bracket of the first event between two shares of a step.

    Illinois' form of false position on the event that fires first; whenever an earlier one shows
    up it takes over.

    Returns where the chord of the bracket is zero, the bracket's far end, the event, and how
    steeply its function rises there.
    """
    g = w.after
    g_low, g_high = w.before[event], g[event]
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
        evaluate(how, middle, t, h, P, w)
        found = crossing(w.before, g)
        if found >= 0 and found != event and not g[event] > 0.0:
            event = found
            g_low, share_low = w.before[event], 1.0
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
    return (low * g_high - high * g_low) / (g_high - g_low), high, event, slope


@compiled
def follow(share: float, t: float, h: float, P: np.record, w: Workspace) -> None:
    """Write state and event functions a small share of a step beyond one of its own.

    That one's end stands in ``w.end``, its rates in the trial's last row.
    """
    w.method[WORK] += 1
    for m in range(w.point.shape[0]):
        w.point[m] = w.end[m] + share * h * w.trial[STAGES - 1, m]
    rates(t, w.point, w.modes, w.memory, P, w.work, w.force, w.stages[0])
    event_functions(t, w.point, w.modes, w.memory, P, w.work, w.force, w.after)


@compiled
def finest_share(t: float, h: float, tolerance: float, w: Workspace) -> float:
    """Return the share of a step within which an event is located."""
    keeping = w.times.shape[0] > 0
    return max(1e-13 * (t / h + 1.0), 0.0 if keeping else LOCATE_SHARE * tolerance)


@compiled
def close_in(
    taken: bool, theta: float, event: int, slope: float, low: float, high: float, t: float,
    h: float, tolerance: float, P: np.record, w: Workspace,
) -> tuple[float, int]:  # fmt: skip
    """Take the step that ends at an event, from where the interpolant says that it is.

    A step of its own corrects what the interpolant says, by Newton's rule with the interpolant's
    slope, and so near its end the state goes on with the rates there. The first may have been
    taken.

    Returns as :func:`locate` does, -1.0 and -1 where the step is not to be had in this way.
    """
    finest, near = finest_share(t, h, tolerance, w), NEAR_SHARE * np.sqrt(tolerance)
    base = theta if taken else -1.0
    for _ in range(CORRECTIONS):
        if not low < theta < high:
            break
        if not taken and base > 0.0 and abs(theta - base) <= near:
            follow(theta - base, t + theta * h, h, P, w)
        elif not taken:
            evaluate(BY_STEP, theta, t, h, P, w)
            base = theta
            copy(w.point, w.end)
        taken = False
        beyond = w.after[event] / slope
        if 0.0 < beyond <= finest and is_finite(w.point):
            return theta * h, event
        if not abs(beyond) < 0.1 or not is_finite(w.point):
            break
        theta -= beyond
        theta += 0.5 * finest
    return -1.0, -1


@compiled
def by_interpolant(
    how: int, low: float, high: float, event: int, t: float, h: float, tolerance: float,
    P: np.record, w: Workspace,
) -> tuple[float, int, float]:  # fmt: skip
    """Return where the interpolant sees an event first, just beyond it, which, and its slope."""
    finest = finest_share(t, h, tolerance, w)
    coarse = max(finest, COARSE_SHARE)
    theta, _, event, slope = bracket(how, coarse, low, high, event, t, h, P, w)
    return theta + 0.5 * finest, event, slope


@compiled
def approach(
    how: int, low: float, high: float, event: int, t: float, h: float, tolerance: float,
    P: np.record, w: Workspace,
) -> tuple[float, int]:  # fmt: skip
    """Find an event by the interpolant, and take the step that ends there."""
    theta, event, slope = by_interpolant(how, low, high, event, t, h, tolerance, P, w)
    return close_in(False, theta, event, slope, low, high, t, h, tolerance, P, w)


@compiled
def aim(
    t: float, h: float, low: float, high: float, tolerance: float, P: np.record, w: Workspace
) -> bool:
    """Note the step that is to end at the first event between two shares of a step.

    Returns whether there is one; :func:`land` goes on once the step has been taken, and finds out
    where the interpolant has led astray.
    """
    w.aim[SPENT] = float(w.method[WORK])
    event = first_event(high, t, h, P, w)
    if event < 0:
        return False
    how = BY_TABLES if forces_tell(w) else BY_STATE
    theta, event, slope = by_interpolant(how, low, high, event, t, h, tolerance, P, w)
    w.aim[AT_EVENT], w.aim[SHARE], w.aim[WHOLE], w.aim[SLOPE] = float(event), theta, h, slope
    w.aim[LOW], w.aim[HIGH], w.aim[HOW] = low, high, float(how)
    return True


@compiled
def land(t: float, h: float, tolerance: float, P: np.record, w: Workspace) -> tuple[float, int]:
    """Find the event at which a step was to end that has been taken, as :func:`locate` does."""
    theta = w.aim[SHARE]
    fetch_rates(w)
    for s in range(STAGES):
        copy(w.rates[s], w.trial[s])
    copy(w.end, w.point)
    event_functions(t + theta * h, w.point, w.modes, w.memory, P, w.work, w.force, w.after)
    length, event = close_in(
        True, theta, int(w.aim[AT_EVENT]), w.aim[SLOPE], w.aim[LOW], w.aim[HIGH], t, h, tolerance,
        P, w,
    )  # fmt: skip
    if event >= 0 and w.aim[HOW] == BY_STATE and forces_tell(w):
        return -1.0, -1
    return length, event


@compiled
def first_event(high: float, t: float, h: float, P: np.record, w: Workspace) -> int:
    """Return an event that has happened at a share of a step, or -1.

    The event functions must be those of the step's end.
    """
    fetch_rates(w)
    copy(w.rates[0], w.trial[0])
    if high < 1.0:
        evaluate(BY_TABLES, high, t, h, P, w)
    return crossing(w.before, w.after)


@compiled
def locate(
    t: float, h: float, low: float, high: float, tolerance: float, P: np.record, w: Workspace
) -> tuple[float, int]:
    """Find the first event between two shares of a step, and take the step that ends there.

    The answer lies on the far side of the event, so that it has happened.

    Returns the length of the step and the event, or -1.0 and -1 where there is none, or no step
    that ends there; the state is left in ``w.point``, and that at the step's end is lost.
    """
    event = first_event(high, t, h, P, w)
    if event < 0:
        return -1.0, -1
    how = BY_TABLES if forces_tell(w) else BY_STATE
    length, found = approach(how, low, high, event, t, h, tolerance, P, w)
    if how == BY_STATE and found >= 0 and forces_tell(w):
        # what forces tell has come and gone within the step
        evaluate(BY_TABLES, high, t, h, P, w)
        event = crossing(w.before, w.after)
        length, found = approach(BY_TABLES, low, high, event, t, h, tolerance, P, w)
    if found >= 0:
        return length, found
    # a jump, a flat root, or several at once: the slow way
    keeping, finest = w.times.shape[0] > 0, finest_share(t, h, tolerance, w)
    if not keeping:
        evaluate(BY_TABLES, high, t, h, P, w)
        event = crossing(w.before, w.after)
    if not keeping and event >= 0:
        _, theta, event, _ = bracket(BY_TABLES, finest, low, high, event, t, h, P, w)
        evaluate(BY_STEP, theta, t, h, P, w)
        if crossing(w.before, w.after) == event and is_finite(w.point):
            return theta * h, event
    evaluate(BY_STEP, high, t, h, P, w)
    event = crossing(w.before, w.after)
    if event < 0:
        return -1.0, -1
    _, high, event, _ = bracket(BY_STEP, finest, low, high, event, t, h, P, w)
    evaluate(BY_STEP, high, t, h, P, w)
    if not is_finite(w.point):  # a stage of this very step leaves what gas can be
        return -1.0, -1
    return high * h, event


@compiled
def look_for_event(
    t: float, h: float, kept: int, points: int, P: np.record, w: Workspace
) -> tuple[int, float, float]:
    """Look for an event at the points of a finished step, which are kept where points are.

    Returns its place, from 1, or 0 where there is none, and the shares of the step between which it
    lies: anywhere up to where a moving body has turned back, which no point may show.
    """
    if points > 1:
        past = keep_points(t, h, kept, P, w)
    else:
        event_functions(t + h, w.end, w.modes, w.memory, P, w.work, w.force, w.after)
        past = 1 if crossing(w.before, w.after) >= 0 else 0
        if w.times.shape[0] > 0:
            w.times[kept] = t + h
            copy(w.end, w.states[kept])
    low, high = (past - 1) / points, past / points
    turn = turning(h, P, w)
    if turn < (high if past > 0 else 1.0):
        return int(turn * points) + 1, 0.0, turn
    return past, low, high
