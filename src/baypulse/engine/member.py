"""One run of an ensemble: its row of numbers, and the way from one step to the next.

Steps themselves are left to be taken, alone or side by side with those of others
(:mod:`baypulse.engine.side_by_side`).
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine import stepper, summits
from baypulse.engine.any_step import take_step
from baypulse.engine.event import EventCode, onward_event, pin_of
from baypulse.engine.phases import apply_event
from baypulse.engine.places import EVENTS, GROWTH, STEP, TIME, WHETHER_LAST
from baypulse.engine.status import MOST_EVENTS, Status
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import AT_EVENT, IMPLICIT, KIND, Workspace
from baypulse.physics import fit
from baypulse.physics.compiled import compiled


class RunColumn(IntEnum):
    """What a run gives, a place in its row each; NaN for what did not happen."""

    STATUS = 0
    """How the run ended, one of the codes below."""
    STEPS = 1
    """Steps tried."""
    PEAK_PRESSURE = 2
    """Highest gauge pressure of the bay [Pa]."""
    PEAK_TIME = 3
    """When that was [s]."""
    BURST_TIME = 4
    """When the holder burst [s]."""
    SLIP_TIME = 5
    """When the joint first slipped [s]."""
    FIRST_PIN_TIME = 6
    """When the first pin failed [s]."""
    LAST_PIN_TIME = 7
    """When the last pin failed [s]."""
    PINS_FAILED = 8
    """How many pins failed."""
    CLEAR_TIME = 9
    """When the shoulder left the tube [s]."""
    CLEAR_VELOCITY = 10
    """Separation velocity then [m/s]."""
    GREATEST_VELOCITY = 11
    """Greatest separation velocity of a shot that separates [m/s]."""
    CONTENTS_TIME = 12
    """When the contents were out of the tube [s]."""
    TAUT_TIME = 13
    """When the cord was taut [s]."""
    CORD_LOAD = 14
    """Highest load of the brake or of the taut cord [N]."""
    CORD_TIME = 15
    """When that was [s]."""
    VELOCITY_AFTER_JERK = 16
    """Speed at which the sections come back [m/s]."""
    GREATEST_TRAVEL = 17
    """Farthest travel of the shoulder [m]."""
    BURNT = 18
    """Share of the charge that burnt."""
    ELECTRONICS_PULSE = 19
    """Highest gauge pressure in the electronics bay [Pa]."""
    ELECTRONICS_SUCTION = 20
    """Deepest pressure in the electronics bay below the outside [Pa]."""


COLUMNS = tuple(column.name.lower() for column in RunColumn)
"""Names of the columns."""

STATUSES = tuple(Status)
"""What the codes of the column ``status`` mean."""

FINISHED = STATUSES.index(Status.FINISHED)
"""Code of a run that came to its end."""

TIME_END = STATUSES.index(Status.TIME_END)
"""Code of a run that reached its end time."""

STALLED = STATUSES.index(Status.STALLED)
"""Code of a run whose steps stayed too small."""

LOST = STATUSES.index(Status.LOST)
"""Code of a run whose state became impossible."""

RESTLESS = STATUSES.index(Status.RESTLESS)
"""Code of a run with too many events."""

NEXT_STEP = 1e-3
"""Longest first step of a phase [s]: a step that is too long is tried again, which costs less than
to grow from a short one as a single run does."""


GAS_STEP = 1e-5
"""The same where gas begins to flow [s]; its first layer is too thin for the estimate of an
error."""


class Until(IntEnum):
    """Where members come back."""

    END = 0
    """At their end."""
    CORD = 1
    """Where their cord first acts, if it does."""
    PHASE = 2
    """After some phases, of one whose points are kept."""
    OPEN = 3
    """Once the joint has separated and the contents, where there are any, are out of the tube; at
    their end where one of both does not happen."""


READY, OVER, WAITS = 0, 1, 2
"""How a member stands: before an ordinary step, at its end, or where it shall come back."""


@compiled
def note_event(
    event: int, t: float, y: np.ndarray, modes: np.ndarray, P: np.record, row: np.ndarray
) -> None:
    """Note an event that has just changed the phase in a member's row."""
    pin = pin_of(event)
    if pin >= 0:
        if event == onward_event(pin) and modes[at.PINS + pin] == fit.FAILING:
            row[RunColumn.PINS_FAILED] += 1.0
            row[RunColumn.LAST_PIN_TIME] = t
            if np.isnan(row[RunColumn.FIRST_PIN_TIME]):
                row[RunColumn.FIRST_PIN_TIME] = t
    elif event == EventCode.BURST:
        row[RunColumn.BURST_TIME] = t
    elif event == EventCode.SLIP and np.isnan(row[RunColumn.SLIP_TIME]):
        row[RunColumn.SLIP_TIME] = t
    elif event == EventCode.CLEAR:
        row[RunColumn.CLEAR_TIME] = t
        row[RunColumn.CLEAR_VELOCITY] = y[at.NOSE_V] - y[at.FRAME_V]
    elif event == EventCode.CONTENTS_OUT:
        row[RunColumn.CONTENTS_TIME] = t
    elif event == EventCode.TAUT:
        row[RunColumn.TAUT_TIME] = t
    elif event == EventCode.CORD_SLACK:
        row[RunColumn.VELOCITY_AFTER_JERK] = y[at.FRAME_V] - y[at.NOSE_V]


@compiled
def is_open(P: np.record, row: np.ndarray) -> bool:
    """Say whether a member's joint has separated, and its contents are out."""
    out = P.contents_mass <= 0.0 or not np.isnan(row[RunColumn.CONTENTS_TIME])
    return out and not np.isnan(row[RunColumn.CLEAR_TIME])


@compiled
def next_phase(
    outcome: Outcome, event: int, until: int, clock: np.ndarray, P: np.record, w: Workspace,
    row: np.ndarray,
) -> int:  # fmt: skip
    """Go on into the next phase of a member, or end it; say how it stands."""
    y = w.state
    if outcome == Outcome.FULL:
        return WAITS
    over = outcome != Outcome.EVENT
    if over:
        row[RunColumn.STATUS] = TIME_END
        if outcome != Outcome.DONE:
            row[RunColumn.STATUS] = STALLED if outcome == Outcome.STALLED else LOST
    else:
        pulls = event == EventCode.PICKUP or event == EventCode.BRAKE or event == EventCode.TAUT
        if until == Until.CORD and pulls:
            return WAITS
        over = apply_event(event, y, w.modes, w.memory, P, w.force)
        note_event(event, clock[TIME], y, w.modes, P, row)
        clock[EVENTS] += 1.0
        over = over or (until == Until.OPEN and is_open(P, row))
        if over:
            row[RunColumn.STATUS] = FINISHED
        elif clock[EVENTS] >= MOST_EVENTS:
            row[RunColumn.STATUS] = RESTLESS
            over = True
        begun = event == EventCode.START or event == EventCode.BURST
        clock[STEP] = min(clock[STEP], GAS_STEP if begun else NEXT_STEP)
    if not over:
        return READY
    finish(P, w, row)
    return OVER


@compiled
def finish(P: np.record, w: Workspace, row: np.ndarray) -> None:
    """Write what a run that has ended has reached at most."""
    highs = w.highs
    row[RunColumn.PEAK_PRESSURE], row[RunColumn.PEAK_TIME] = (
        highs[summits.HIGH_PRESSURE], highs[summits.HIGH_PRESSURE_TIME]
    )  # fmt: skip
    if not np.isnan(row[RunColumn.TAUT_TIME]) or highs[summits.HIGH_CORD] > 0.0:
        row[RunColumn.CORD_LOAD], row[RunColumn.CORD_TIME] = (
            highs[summits.HIGH_CORD],
            highs[summits.HIGH_CORD_TIME],
        )
    if not np.isnan(row[RunColumn.CLEAR_TIME]):
        row[RunColumn.GREATEST_VELOCITY] = highs[summits.HIGH_VELOCITY]
    row[RunColumn.GREATEST_TRAVEL] = highs[summits.HIGH_TRAVEL]
    row[RunColumn.BURNT] = w.state[at.MADE]
    if P.electronics >= 0:
        row[RunColumn.ELECTRONICS_PULSE] = highs[summits.HIGH_ELECTRONICS]
        row[RunColumn.ELECTRONICS_SUCTION] = highs[summits.HIGH_SUCTION]


@compiled
def judged(
    error: float, fastest: float, end_time: float, tolerance: float, aims: bool,
    clock: np.ndarray, P: np.record, w: Workspace, row: np.ndarray,
) -> tuple[Outcome, int]:  # fmt: skip
    """Judge a step that a member has taken; the one that ends at an event may be left to be taken.

    Where it is, this is called again once it has been.
    """
    last = clock[WHETHER_LAST] > 0.0
    if w.aim[AT_EVENT] >= 0.0:
        outcome, event, t, h, growth, _ = stepper.end_at_event(
            clock[TIME], end_time, last, clock[GROWTH], tolerance, P, w
        )
    else:
        row[RunColumn.STEPS] += 1.0
        outcome, event, t, h, growth, _ = stepper.end_step(
            clock[TIME], end_time, clock[STEP], last, error, fastest, clock[GROWTH], tolerance, 0,
            aims, P, w,
        )  # fmt: skip
    clock[TIME], clock[STEP], clock[GROWTH] = t, h, growth
    return outcome, event


@compiled
def to_next_step(
    begins: bool, until: int, end_time: float, tolerance: float, clock: np.ndarray, P: np.record,
    w: Workspace, row: np.ndarray,
) -> int:  # fmt: skip
    """Go on with a member to its next ordinary step, which is left to be taken.

    Returns how it stands.
    """
    while True:
        outcome, event = Outcome.GOING, -1
        if begins:
            clock[GROWTH] = stepper.MOST_GROWTH
            event = stepper.begin_phase(clock[TIME], P, w)
            begins = False
        if event >= 0:
            outcome = Outcome.EVENT
        else:
            outcome, clock[STEP], last = stepper.before_step(
                clock[TIME], end_time, clock[STEP], 0, w
            )
            clock[WHETHER_LAST] = 1.0 if last else 0.0
            if outcome == Outcome.GOING:
                if w.method[KIND] != IMPLICIT:
                    return READY
                take_step(clock[TIME], clock[STEP], P, w, w.rates, w.end)
                error, fastest = stepper.errors(clock[STEP], tolerance, P, w)
                outcome, event = judged(
                    error, fastest, end_time, tolerance, False, clock, P, w, row
                )
        if outcome == Outcome.GOING:
            continue
        stands = next_phase(outcome, event, until, clock, P, w, row)
        if stands != READY:
            return stands
        begins = True
