"""The compiled stepper: steps of one kind or another, events located inside the loop.

It advances the state within one phase, to the first event or to a given time. The state at an
event is a step of its own, of just the right length, not a point of the interpolant: that costs
a few evaluations and keeps the full order across phases.

References
----------
Step control as in Hairer, Norsett & Wanner, Solving Ordinary Differential Equations I, 2nd ed.,
II.4.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from baypulse.engine import gasside, stiffness
from baypulse.engine import layout as at
from baypulse.engine.events import event_functions
from baypulse.engine.rates import FORCES, motion_imbalance, rates
from baypulse.engine.rosenbrock import differentiate, implicit_step
from baypulse.engine.runge_kutta import copy, error_norm, interpolate, stage_steps
from baypulse.engine.stabilised import stabilised_step
from baypulse.engine.summits import HIGHS, begin_highs, note_highs, turning
from baypulse.engine.workspace import (
    CAME,
    EXPLICIT,
    EXPLICIT_WORK,
    IMPLICIT,
    IMPLICIT_STAGES,
    KIND,
    METHOD,
    STABILISED,
    STABILISED_WORK,
    STAGES,
    WORK,
    Workspace,
)
from baypulse.physics.compiled import compiled


class Outcome(IntEnum):
    """Why the stepper came back."""

    DONE = 0
    """The time is reached."""
    EVENT = 1
    """An event is reached."""
    FULL = 2
    """There is no room for more points."""
    STALLED = 3
    """The step became too small, or the steps too many."""
    LOST = 4
    """No step gives finite numbers."""


BALANCE_TOLERANCE = 1e-8
"""Share of the parting's energy below which what a step leaves out of its balance is rounding."""

LONGEST_STEP = 5e-3
"""Longest step where points are kept [s], so that curves stay curves while the sections coast."""

LONGEST_SHARE = 0.02
"""Longest step over the time reached, if that is more: a slow source may fill the bay for long."""

MOST_WORK = 750_000
"""Evaluations of the rates after which a run is given up, two seconds of work where a bay asks for
some thousands: a joint that creeps in thin air may ask for more. A sealed bay that warms its walls
for two minutes asks for 400,000."""

MOST_GROWTH = 5.0
"""Greatest growth from a step to the next; the one after a step that was tried again is no longer,
since what shortened it may still be ahead."""

SHORTEST, SHORTEST_STABILISED = 0.2, 0.5
"""Least length of a step that is tried again, over the first: what lies beyond the stability of a
stabilised step grows so quickly that its error says no more."""

THROWN_AWAY = 2.0
"""Error over what is allowed that stands for a step that is thrown away for another reason."""

POINTS = 3
"""Points kept of each step; events are looked for at each of them. Of a run that has taken
:data:`LONG_WORK`, whose steps are far shorter than its curves ask for, only the ends are kept."""

LONG_WORK = 40_000
"""Evaluations of the rates after which a run is a long one."""

LOCATE_SHARE = 0.1
"""How closely an ensemble's event is located: share of a step, over the tolerance."""

COARSE_SHARE = 1e-4
"""How closely the interpolant locates an event: share of a step."""

NEAR_SHARE = 0.1
"""Share of a step, over the root of the tolerance, up to which a state goes on with the rates at
its end: what bends it is then below a hundredth of the tolerance, of what the step changes."""

CORRECTIONS = 12
"""Corrections of an event's place before it is looked for by halves."""


def workspace(record: np.record, size: int, room: int) -> Workspace:
    """Return what a shot, or the members of one case, are run in.

    Parameters
    ----------
    record : np.record
        The shot, or any of the members.
    size : int
        Length of the state, with or without its diagnostic states.
    room : int
        How many points can be kept before they have to be taken away; 0 for none at all.
    """
    events, linked = int(record.event_count), int(record.heats_at)
    return Workspace(
        state=np.empty(size),
        modes=np.empty(at.PINS + int(record.n_pins), dtype=np.int64),
        memory=np.zeros(at.MEMORY),
        scale=np.empty(size),
        work=np.empty((int(record.n_volumes), gasside.WORK)),
        force=np.empty(FORCES),
        rates=np.empty((STAGES, size)),
        trial=np.empty((STAGES, size)),
        end=np.empty(size),
        point=np.empty(size),
        before=np.empty(events),
        after=np.empty(events),
        within=np.empty(events),
        times=np.empty(room),
        states=np.empty((room, size)),
        highs=np.zeros(HIGHS),
        method=np.zeros(METHOD, dtype=np.int64),
        pace=np.empty(1),
        jacobian=np.empty((linked, size)),
        factors=np.empty((linked, linked)),
        pivots=np.empty(linked, dtype=np.int64),
        stages=np.empty((IMPLICIT_STAGES, size)),
        solution=np.empty(linked),
        came=np.empty(CAME, dtype=np.int64),
    )


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
def take_step(
    t: float, h: float, P: np.record, w: Workspace, k: np.ndarray, out: np.ndarray
) -> None:
    """Take one step of the kind that is at work, with the rates k; write its end into out."""
    if w.method[KIND] == EXPLICIT:
        w.method[WORK] += EXPLICIT_WORK
        stage_steps(t, h, P, w, k, out)
    elif w.method[KIND] == STABILISED:
        w.method[WORK] += STABILISED_WORK
        stabilised_step(t, h, P, w, k, out)
    else:
        implicit_step(t, h, P, w, k, out)


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
        interpolate(theta, h, w, point)
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
def evaluate(by_step: bool, theta: float, t: float, h: float, P: np.record, w: Workspace) -> None:
    """Write state and event functions at a share of a step: by a step of its own, or interpolated.

    The first row of the trial's rates must hold that of the step's.
    """
    if by_step:
        take_step(t, theta * h, P, w, w.trial, w.point)
    else:
        w.method[WORK] += 1
        interpolate(theta, h, w, w.point)
        rates(t + theta * h, w.point, w.modes, w.memory, P, w.work, w.force, w.trial[1])
    event_functions(t + theta * h, w.point, w.modes, w.memory, P, w.work, w.force, w.after)


@compiled
def bracket(
    by_step: bool, finest: float, low: float, high: float, event: int, t: float, h: float,
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
        evaluate(by_step, middle, t, h, P, w)
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
def locate(
    t: float, h: float, low: float, high: float, tolerance: float, P: np.record, w: Workspace
) -> tuple[float, int]:
    """Find the first event between two shares of a step, and take the step that ends there.

    The interpolant says where; a step of its own corrects it, by Newton's rule with the
    interpolant's slope, and so near its end the state goes on with the rates there. The answer lies
    on the far side of the event, so that it has happened.

    Returns the length of the step and the event, or -1.0 and -1 where there is none, or no step
    that ends there; the state is left in ``w.point``, and that at the step's end is lost.
    """
    keeping = w.times.shape[0] > 0
    finest = max(1e-13 * (t / h + 1.0), 0.0 if keeping else LOCATE_SHARE * tolerance)
    coarse, near = max(finest, COARSE_SHARE), NEAR_SHARE * np.sqrt(tolerance)
    copy(w.rates[0], w.trial[0])
    if high < 1.0:  # the event functions are those of the step's end
        evaluate(False, high, t, h, P, w)
    event = crossing(w.before, w.after)
    if event < 0:
        return -1.0, -1
    theta, _, event, slope = bracket(False, coarse, low, high, event, t, h, P, w)
    base = -1.0
    for _ in range(CORRECTIONS):
        theta += 0.5 * finest
        if not low < theta < high:
            break
        if base > 0.0 and abs(theta - base) <= near:
            follow(theta - base, t + theta * h, h, P, w)
        else:
            evaluate(True, theta, t, h, P, w)
            base = theta
            copy(w.point, w.end)
        beyond = w.after[event] / slope
        if 0.0 < beyond <= finest and is_finite(w.point):
            return theta * h, event
        if not abs(beyond) < 0.1 or not is_finite(w.point):
            break
        theta -= beyond
    # a flat root, or several at once: the slow way
    evaluate(True, high, t, h, P, w)
    event = crossing(w.before, w.after)
    if event < 0:
        return -1.0, -1
    _, high, event, _ = bracket(True, finest, low, high, event, t, h, P, w)
    evaluate(True, high, t, h, P, w)
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


@compiled
def advance(
    t: float, t_end: float, h: float, tolerance: float, P: np.record, w: Workspace
) -> tuple[Outcome, int, float, float, int, int]:
    """Advance within one phase, to the first event or to t_end.

    Parameters
    ----------
    t, t_end, h : float
        Now, latest end, first step to try [s].
    tolerance : float
        Relative tolerance of a step.
    P : np.record
        The shot.
    w : Workspace
        Its state is changed to the one reached and its tables are left as there; the points of
        each step are written from the first place on; modes and memory are not changed.

    Returns
    -------
    outcome : Outcome
        Why it ends.
    event : int
        The event, or -1.
    t, h : float
        Time reached, and step to try next [s].
    kept, steps : int
        Points written, and steps tried.
    """
    y, end = w.state, w.end
    keeping = w.times.shape[0] > 0
    kept, steps = 0, 0
    growth = MOST_GROWTH
    stiffness.take_ordinary_steps(w)
    rates(t, y, w.modes, w.memory, P, w.work, w.force, w.rates[0])
    event_functions(t, y, w.modes, w.memory, P, w.work, w.force, w.before)
    for found in range(w.before.shape[0]):
        if w.before[found] > 0.0:  # already due when the phase began
            return Outcome.EVENT, found, t, h, kept, steps
    begin_highs(P, w.work, w.highs)
    if w.method[KIND] == IMPLICIT:
        differentiate(t, P, w)
    while t < t_end:
        if keeping and kept + POINTS > w.times.shape[0]:
            return Outcome.FULL, -1, t, h, kept, steps
        if w.method[WORK] > MOST_WORK or not h > 1e-14 * max(t, 1e-6):
            return Outcome.STALLED, -1, t, h, kept, steps
        last = t + h * 1.000001 >= t_end
        if last:
            h = t_end - t
        steps += 1
        kind = w.method[KIND]
        power = -0.2 if kind == EXPLICIT else -0.25
        take_step(t, h, P, w, w.rates, end)
        error = error_norm(h, tolerance, P, w)
        if error <= 1.0 and y.shape[0] > P.balance_at:
            missing = motion_imbalance(y, end, w.modes, P)
            error = max(error, missing / max(tolerance, BALANCE_TOLERANCE))
        thrown = not error <= 1.0
        if not np.isfinite(error):
            if h < 1e-12:
                return Outcome.LOST, -1, t, h, kept, steps
            h *= 0.1
        elif thrown:
            least = SHORTEST_STABILISED if kind == STABILISED else SHORTEST
            h *= max(least, 0.9 * error**power)
        else:
            points = POINTS if keeping and w.method[WORK] < LONG_WORK else 1
            past, low, high = look_for_event(t, h, kept, points, P, w)
            if past > 0:
                h_event, event = locate(t, h, low, high, tolerance, P, w)
                if event >= 0:
                    if keeping:
                        kept += min(int(h_event / h * points) + 1, past)
                        w.times[kept - 1] = t + h_event
                        copy(w.point, w.states[kept - 1])
                    else:
                        note_highs(t, h_event, w.point, w.trial, P, w)
                    copy(w.point, y)
                    return Outcome.EVENT, event, t + h_event, h, kept, steps
                # the interpolant saw what no step itself does: look closer
                thrown, error = True, THROWN_AWAY
                h *= 0.5
            else:
                if keeping:
                    kept += points
                else:
                    note_highs(t, h, end, w.rates, P, w)
                copy(w.after, w.before)
                copy(end, y)
                t = t_end if last else t + h
        stiffness.watch_stiffness(h, error, w)
        if thrown:
            growth = 1.0
        else:
            copy(w.rates[STAGES - 1], w.rates[0])
            h *= min(growth, 0.9 * max(error, 1e-8) ** power)
            growth = MOST_GROWTH
        h = stiffness.next_step(kind, h, w)
        if keeping:
            h = min(h, max(LONGEST_STEP, LONGEST_SHARE * t))
        # a step that is tried again begins where the last one did
        if w.method[KIND] == IMPLICIT and not (thrown and kind == IMPLICIT):
            differentiate(t, P, w)
    return Outcome.DONE, -1, t, h, kept, steps
