"""The compiled stepper: steps of one kind or another, to the first event or to a given time.

It advances the state within one phase; :mod:`baypulse.engine.event_search` finds the event.

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
from baypulse.engine.any_step import take_step
from baypulse.engine.course import COURSE, is_full, note_row
from baypulse.engine.event_search import POINTS, aim, land, locate, look_for_event, pass_over
from baypulse.engine.events import event_functions
from baypulse.engine.rates import FORCES, motion_imbalance, rates
from baypulse.engine.rosenbrock import differentiate
from baypulse.engine.runge_kutta import copy, error_norm
from baypulse.engine.summits import HIGHS, begin_highs, note_highs
from baypulse.engine.workspace import (
    AIM,
    AT_EVENT,
    CAME,
    EXPLICIT,
    IMPLICIT,
    IMPLICIT_STAGES,
    KIND,
    METHOD,
    PHASES,
    SHARE,
    SPENT,
    STABILISED,
    STAGES,
    WHOLE,
    WORK,
    Workspace,
)
from baypulse.physics.compiled import compiled
from baypulse.physics.lanes import LANES


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
    GOING = 5
    """Nothing does yet: another step is to be taken."""
    AIMED = 6
    """The next step is to end at an event that the last one went over."""


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

LONG_WORK = 40_000
"""Evaluations of the rates after which a run is a long one."""


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
        came=np.empty((PHASES, CAME), dtype=np.int64),
        late=np.empty((STAGES, 0, LANES)),
        lane=np.full(1, -1),
        aim=np.full(AIM, -1.0),
        course=np.empty((0, COURSE)),
    )


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
    kept, steps = 0, 0
    growth = MOST_GROWTH
    event = begin_phase(t, P, w)
    if event >= 0:
        return Outcome.EVENT, event, t, h, kept, steps
    while True:
        outcome, h, last = before_step(t, t_end, h, kept, w)
        if outcome != Outcome.GOING:
            return outcome, -1, t, h, kept, steps
        steps += 1
        take_step(t, h, P, w, w.rates, w.end)
        error, fastest = errors(h, tolerance, P, w)
        outcome, event, t, h, growth, kept = end_step(
            t, t_end, h, last, error, fastest, growth, tolerance, kept, False, P, w
        )
        if outcome != Outcome.GOING:
            return outcome, event, t, h, kept, steps


@compiled
def begin_phase(t: float, P: np.record, w: Workspace) -> int:
    """Take the rates where a phase begins; return an event that is due already, or -1."""
    rates(t, w.state, w.modes, w.memory, P, w.work, w.force, w.rates[0])
    event_functions(t, w.state, w.modes, w.memory, P, w.work, w.force, w.before)
    for found in range(w.before.shape[0]):
        if w.before[found] > 0.0:
            stiffness.take_ordinary_steps(w)
            return found
    if w.times.shape[0] == 0:
        pass_over(w)
    begin_highs(P, w.work, w.highs)
    note_row(t, w.state, w.rates[0], P, w)
    if w.method[KIND] == IMPLICIT:
        differentiate(t, P, w)
    return -1


@compiled
def before_step(
    t: float, t_end: float, h: float, kept: int, w: Workspace
) -> tuple[Outcome, float, bool]:
    """Say whether another step is to be taken, how long it is, and whether it reaches t_end."""
    if not t < t_end:
        return Outcome.DONE, h, False
    if w.times.shape[0] > 0 and kept + POINTS > w.times.shape[0]:
        return Outcome.FULL, h, False
    if is_full(w):
        return Outcome.FULL, h, False
    if w.method[WORK] > MOST_WORK or not h > 1e-14 * max(t, 1e-6):
        return Outcome.STALLED, h, False
    last = t + h * 1.000001 >= t_end
    return Outcome.GOING, t_end - t if last else h, last


@compiled
def errors(h: float, tolerance: float, P: np.record, w: Workspace) -> tuple[float, float]:
    """Return a step's error over what is allowed, and its sign of stiffness where that is asked."""
    error = error_norm(h, tolerance, P, w)
    if error <= 1.0 and w.state.shape[0] > P.balance_at:
        missing = motion_imbalance(w.state, w.end, w.modes, P)
        error = max(error, missing / max(tolerance, BALANCE_TOLERANCE))
    asked = w.method[KIND] == EXPLICIT and error <= 1.0
    return error, stiffness.fastest_rate(w) if asked else 0.0


@compiled
def note(t: float, h: float, y: np.ndarray, k: np.ndarray, P: np.record, w: Workspace) -> None:
    """Note what a member has reached by a step from the state to y, with the rates k."""
    note_highs(t, h, y, k, P, w)
    note_row(t + h, y, k[STAGES - 1], P, w)


@compiled
def end_step(
    t: float, t_end: float, h: float, last: bool, error: float, fastest: float, growth: float,
    tolerance: float, kept: int, aims: bool, P: np.record, w: Workspace,
) -> tuple[Outcome, int, float, float, float, int]:  # fmt: skip
    """Judge a step that was taken from t: keep it, throw it away, or end it at an event.

    ``error`` is over what is allowed, ``fastest`` as of :func:`stiffness.fastest_rate`; ``last``
    says whether it reaches t_end, ``growth`` how much longer the next one may be, ``aims`` whether
    the step that ends at an event is left to be taken (:func:`end_at_event`).

    Returns
    -------
    outcome, event, t, h, growth, kept
        As of :func:`advance`; the outcome is GOING where another step is to be taken.
    """
    y, end = w.state, w.end
    keeping = w.times.shape[0] > 0
    kind, passed = w.method[KIND], -1
    power = -0.2 if kind == EXPLICIT else -0.25
    thrown = not error <= 1.0
    if not np.isfinite(error):
        if h < 1e-12:
            return Outcome.LOST, -1, t, h, growth, kept
        h *= 0.1
    elif thrown:
        least = SHORTEST_STABILISED if kind == STABILISED else SHORTEST
        h *= max(least, 0.9 * error**power)
    else:
        points = POINTS if keeping and w.method[WORK] < LONG_WORK else 1
        past, low, high = look_for_event(t, h, kept, points, P, w)
        if past > 0:
            if aims and aim(t, h, low, high, tolerance, P, w):
                return Outcome.AIMED, -1, t, w.aim[SHARE] * h, growth, kept
            h_event, event = locate(t, h, low, high, tolerance, P, w)
            if event >= 0:
                if keeping:
                    kept += min(int(h_event / h * points) + 1, past)
                    w.times[kept - 1] = t + h_event
                    copy(w.point, w.states[kept - 1])
                else:
                    note(t, h_event, w.point, w.trial, P, w)
                copy(w.point, y)
                stiffness.take_ordinary_steps(w)
                return Outcome.EVENT, event, t + h_event, h, growth, kept
            # the interpolant saw what no step itself does: look closer
            thrown, error = True, THROWN_AWAY
            h *= 0.5
        else:
            if keeping:
                kept += points
            else:
                note(t, h, end, w.rates, P, w)
            copy(w.after, w.before)
            copy(end, y)
            passed = -1 if keeping else pass_over(w)
            t = t_end if last else t + h
    stiffness.watch_stiffness(h, error, fastest, w)
    if thrown:
        growth = 1.0
    else:
        copy(w.rates[STAGES - 1], w.rates[0])
        h *= min(growth, 0.9 * max(error, 1e-8) ** power)
        growth = MOST_GROWTH
    h = stiffness.next_step(kind, h, w)
    if passed >= 0:
        return Outcome.EVENT, passed, t, h, growth, kept
    if keeping:
        h = min(h, max(LONGEST_STEP, LONGEST_SHARE * t))
    # a step that is tried again begins where the last one did
    if w.method[KIND] == IMPLICIT and not (thrown and kind == IMPLICIT):
        differentiate(t, P, w)
    return Outcome.GOING, -1, t, h, growth, kept


@compiled
def end_at_event(
    t: float, t_end: float, last: bool, growth: float, tolerance: float, P: np.record,
    w: Workspace,
) -> tuple[Outcome, int, float, float, float, int]:  # fmt: skip
    """Judge a step that was to end at an event, as :func:`end_step` would have ended it there.

    Where it does not end there the whole step is taken once more, and all is as if nobody had
    aimed.
    """
    h = w.aim[WHOLE]
    length, event = land(t, h, tolerance, P, w)
    w.aim[AT_EVENT] = -1.0
    if event >= 0:
        note(t, length, w.point, w.trial, P, w)
        copy(w.point, w.state)
        stiffness.take_ordinary_steps(w)
        return Outcome.EVENT, event, t + length, h, growth, 0
    take_step(t, h, P, w, w.rates, w.end)
    error, fastest = errors(h, tolerance, P, w)
    w.method[WORK] = int(w.aim[SPENT])
    return end_step(t, t_end, h, last, error, fastest, growth, tolerance, 0, False, P, w)
