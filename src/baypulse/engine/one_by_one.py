"""Runs one after the other: a shot with its points, and few members, or all of a first study.

What a first study waits for is that this is compiled. It does without the code for members side by
side (:mod:`baypulse.engine.at_once`), which takes as long again to make and gives the same numbers
to the bit.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine import stepper
from baypulse.engine.any_step import take_step
from baypulse.engine.event import EventCode
from baypulse.engine.member import (
    GAS_STEP,
    NEXT_STEP,
    OVER,
    READY,
    WAITS,
    RunColumn,
    Until,
    judged,
    next_phase,
    to_next_step,
)
from baypulse.engine.phases import apply_event
from baypulse.engine.places import EVENTS, STEP, TIME, Places
from baypulse.engine.runge_kutta import copy
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import AT_EVENT, NOTED, WORK, Workspace
from baypulse.physics.compiled import compiled

EVENT_WORK = 30
"""Evaluations of the rates that take as long as to hand an event over."""

LONGEST_FIRST = 5e-5
"""Longest first step [s] of a phase of which points are kept, which may be faster than the one
before."""


EVENTS_SO_FAR, WORK_SO_FAR, NOTED_SO_FAR, COUNTS = range(4)
"""What is counted of a member, and how many numbers these are."""


class Kept(NamedTuple):
    """Where members stand when they leave; one row for all where nobody goes on from there.

    Attributes
    ----------
    clocks : ndarray, shape (n, 2)
        Time, and the step to try next [s].
    counts : ndarray of int, shape (n, COUNTS)
        Events and work so far, and rows of the course.
    waiting : ndarray of bool, shape (n,)
        Which members wait to go on.
    states, modes, memory, highs : ndarray
        Of each.
    courses : ndarray, shape (n, rows, COURSE)
        What is seen of each (:mod:`baypulse.engine.course`).
    """

    clocks: np.ndarray
    counts: np.ndarray
    waiting: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray
    highs: np.ndarray
    courses: np.ndarray


@compiled
def in_place(shared: Workspace, places: Places, p: int, kept: Kept) -> Workspace:
    """Return a workspace in which the member of a place stands; the rest of it serves all."""
    w, k = shared, min(places.member[p], kept.courses.shape[0] - 1)
    return Workspace(
        places.states[p], places.modes[p], places.memory[p], places.scale[p], w.work,
        places.force[p], w.rates, w.trial, w.end, w.point, places.before[p], w.after, w.within,
        w.times, w.states, places.highs[p], places.method[p], places.pace[p], w.jacobian,
        w.factors, w.pivots, w.stages, w.solution, w.came, w.late, w.lane, places.aim[p],
        kept.courses[k],
    )  # fmt: skip


@compiled
def take_event(
    event: int, clock: np.ndarray, y: np.ndarray, modes: np.ndarray, memory: np.ndarray,
    P: np.record, force: np.ndarray, method: np.ndarray,
) -> int:  # fmt: skip
    """Go into the phase that an event begins, in a run whose points are kept; say how it stands."""
    method[WORK] += EVENT_WORK
    if apply_event(event, y, modes, memory, P, force):
        return OVER
    flows = event == EventCode.START or event == EventCode.BURST or event == EventCode.MERGE
    clock[STEP] = min(clock[STEP], GAS_STEP if flows else LONGEST_FIRST)
    return READY


@compiled
def some_phases(
    end_time: float, tolerance: float, P: np.record, kept: Kept, shared: Workspace
) -> None:
    """Go on with one shot, points and all, for as many phases as there is room for.

    What a phase begins with has a row of ``kept``, and the clock at its end the next one. The state
    is left as it is at the end of the last, which waits for the caller to take its event.
    """
    last, room, points, w = kept.states.shape[0] - 1, shared.times.shape[0] // 2, 0, shared
    for k in range(last + 1):
        copy(kept.states[k], w.state)
        phase = Workspace(
            w.state, kept.modes[k], kept.memory[k], w.scale, w.work, w.force, w.rates, w.trial,
            w.end, w.point, w.before, w.after, w.within, w.times[points : points + room],
            w.states[points : points + room], kept.highs[0], w.method, w.pace, w.jacobian,
            w.factors, w.pivots, w.stages, w.solution, w.came, w.late, w.lane, w.aim,
            w.course,
        )  # fmt: skip
        clock, came = kept.clocks[k + 1], w.came[k]
        outcome, event, clock[TIME], clock[STEP], count, steps = stepper.advance(
            kept.clocks[k, TIME], end_time, kept.clocks[k, STEP], tolerance, P, phase
        )
        points += count
        came[0], came[1], came[2], came[3] = outcome.value, event, count, steps
        came[4] = WAITS
        if outcome != Outcome.EVENT or k == last or points > room:
            return
        copy(w.state, kept.states[k + 1])
        copy(kept.modes[k], kept.modes[k + 1])
        copy(kept.memory[k], kept.memory[k + 1])
        came[4] = take_event(
            event, clock, kept.states[k + 1], kept.modes[k + 1], kept.memory[k + 1], P, w.force,
            w.method,
        )  # fmt: skip
        if came[4] == OVER:
            return


@compiled
def come(
    p: int, i: int, begun: bool, P: np.record, places: Places, kept: Kept, row: np.ndarray
) -> bool:
    """Let a member into a place, from the spark or from where it waits; say whether it goes on."""
    k = min(i, kept.clocks.shape[0] - 1)
    clock, method = places.clocks[p], places.method[p]
    method[:] = 0
    clock[EVENTS] = 0.0
    if not begun:
        at.begin(P, places.states[p], places.modes[p])
        places.memory[p, :] = 0.0
        places.highs[p, :] = 0.0
        row[:] = np.nan
        row[RunColumn.STEPS] = 0.0
        row[RunColumn.PINS_FAILED] = 0.0
        clock[TIME], clock[STEP] = 0.0, NEXT_STEP
    elif kept.waiting[k]:
        copy(kept.states[k], places.states[p])
        copy(kept.modes[k], places.modes[p])
        copy(kept.memory[k], places.memory[p])
        copy(kept.highs[k], places.highs[p])
        clock[TIME], clock[STEP] = kept.clocks[k, 0], kept.clocks[k, 1]
        clock[EVENTS], method[WORK] = (
            kept.counts[k, EVENTS_SO_FAR], kept.counts[k, WORK_SO_FAR]
        )  # fmt: skip
    else:
        return False
    places.aim[p, AT_EVENT] = -1.0
    at.state_scale(P, places.scale[p])
    places.member[p] = i
    return True


@compiled
def leave(p: int, stands: int, places: Places, kept: Kept) -> None:
    """Keep what a member leaves its place with."""
    k = min(places.member[p], kept.clocks.shape[0] - 1)
    places.member[p] = -1
    copy(places.states[p], kept.states[k])
    copy(places.modes[p], kept.modes[k])
    copy(places.memory[p], kept.memory[k])
    copy(places.highs[p], kept.highs[k])
    kept.clocks[k, 0], kept.clocks[k, 1] = places.clocks[p, TIME], places.clocks[p, STEP]
    counts, method = kept.counts[k], places.method[p]
    counts[EVENTS_SO_FAR] = int(places.clocks[p, EVENTS])
    counts[WORK_SO_FAR], counts[NOTED_SO_FAR] = method[WORK], method[NOTED]
    kept.waiting[k] = stands == WAITS


@compiled
def after_step(
    error: float, fastest: float, until: int, end_time: float, tolerance: float, aims: bool,
    clock: np.ndarray, P: np.record, w: Workspace, row: np.ndarray,
) -> int:  # fmt: skip
    """Judge a step and go on to the next ordinary one; say how the member stands.

    With ``aims``, the next one may be that which ends at an event.
    """
    outcome, event = judged(error, fastest, end_time, tolerance, aims, clock, P, w, row)
    w.lane[0] = -1
    if outcome == Outcome.AIMED:
        return READY
    begins, stands = outcome != Outcome.GOING, READY
    if begins:
        stands = next_phase(outcome, event, until, clock, P, w, row)
    if stands == READY:
        stands = to_next_step(begins, until, end_time, tolerance, clock, P, w, row)
    return stands


@compiled
def lone_step(
    until: int, end_time: float, tolerance: float, clock: np.ndarray, P: np.record, w: Workspace,
    row: np.ndarray,
) -> int:  # fmt: skip
    """Take a step of one member and go on to the next; say how it stands."""
    take_step(clock[TIME], clock[STEP], P, w, w.rates, w.end)
    error, fastest = stepper.errors(clock[STEP], tolerance, P, w)
    return after_step(error, fastest, until, end_time, tolerance, False, clock, P, w, row)


@compiled
def run_one(
    until: int, end_time: float, tolerance: float, P: np.record, places: Places, kept: Kept,
    w: Workspace, row: np.ndarray,
) -> None:  # fmt: skip
    """Run a member that has come into the first place, until it leaves."""
    clock = places.clocks[0]
    stands = to_next_step(True, until, end_time, tolerance, clock, P, w, row)
    while stands == READY:
        stands = lone_step(until, end_time, tolerance, clock, P, w, row)
    leave(0, stands, places, kept)


@compiled
def integrate_alone(
    records: np.ndarray, begun: bool, until: int, end_time: float, tolerance: float,
    stands: tuple, arrays: tuple, held: tuple, rows: np.ndarray,
) -> None:  # fmt: skip
    """Run members one after the other.

    ``stands``, ``arrays`` and ``held`` are the fields of :class:`Kept`,
    :class:`baypulse.engine.workspace.Workspace` and :class:`baypulse.engine.places.Places`, as
    plain tuples: numba takes longer to look at named ones than a short phase takes to run.
    """
    kept, shared = Kept(*stands), Workspace(*arrays)
    if until == Until.PHASE:
        some_phases(end_time, tolerance, records[0], kept, shared)
        return
    places = Places(*held)
    for i in range(records.shape[0]):
        if come(0, i, begun, records[i], places, kept, rows[i]):
            w = in_place(shared, places, 0, kept)
            run_one(until, end_time, tolerance, records[i], places, kept, w, rows[i])
