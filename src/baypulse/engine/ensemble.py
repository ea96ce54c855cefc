"""Whole runs in compiled code, many at once: an ensemble's members, one row of numbers each.

What is left out is what nobody looks at in ten thousand runs: points along the way, and the
diagnostic states. A single run has both, and is one member that goes on a phase at a time, by the
same machine code: it takes ten seconds and more to make.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, fields
from enum import IntEnum
from typing import Any

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine import stepper, summits
from baypulse.engine.event import EventCode, onward_event, pin_of
from baypulse.engine.parameters import unpacked
from baypulse.engine.phases import apply_event
from baypulse.engine.status import MOST_EVENTS, Status
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import WORK, Workspace
from baypulse.physics import fit
from baypulse.physics.compiled import compiled
from baypulse.physics.plain import add_work, compile_core, plain_turn


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
    """At the end of the phase, whose event is left to the caller."""


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
def integrate_member(
    t: float, h: float, until: int, end_time: float, tolerance: float, P: np.record,
    w: Workspace, row: np.ndarray,
) -> tuple[float, float, bool]:  # fmt: skip
    """Go on with a member to its end, or to where it shall come back.

    Returns time and next step, and whether it waits to go on; the row is written otherwise.
    """
    row[RunColumn.STATUS] = RESTLESS
    y, highs = w.state, w.highs
    for _ in range(MOST_EVENTS):
        outcome, event, t, h, kept, steps = stepper.advance(t, end_time, h, tolerance, P, w)
        if until == Until.PHASE:
            w.came[0], w.came[1], w.came[2], w.came[3] = outcome.value, event, kept, steps
            return t, h, True
        row[RunColumn.STEPS] += steps
        if outcome != Outcome.EVENT:
            row[RunColumn.STATUS] = TIME_END
            if outcome != Outcome.DONE:
                row[RunColumn.STATUS] = STALLED if outcome == Outcome.STALLED else LOST
            break
        pulls = event == EventCode.PICKUP or event == EventCode.BRAKE or event == EventCode.TAUT
        if until == Until.CORD and pulls:
            return t, h, True
        over = apply_event(event, y, w.modes, w.memory, P, w.force)
        note_event(event, t, y, w.modes, P, row)
        if over:
            row[RunColumn.STATUS] = FINISHED
            break
        begun = event == EventCode.START or event == EventCode.BURST
        h = min(h, GAS_STEP if begun else NEXT_STEP)
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
    row[RunColumn.BURNT] = y[at.MADE]
    if P.electronics >= 0:
        row[RunColumn.ELECTRONICS_PULSE] = highs[summits.HIGH_ELECTRONICS]
        row[RunColumn.ELECTRONICS_SUCTION] = highs[summits.HIGH_SUCTION]
    return t, h, False


@compiled
def in_place(
    w: Workspace, state: np.ndarray, modes: np.ndarray, memory: np.ndarray, highs: np.ndarray
) -> Workspace:
    """Return a workspace in which a member stands; the rest of it serves all members."""
    return Workspace(
        state, modes, memory, w.scale, w.work, w.force, w.rates, w.trial, w.end, w.point, w.before,
        w.after, w.within, w.times, w.states, highs, w.method, w.pace, w.jacobian, w.factors,
        w.pivots, w.stages, w.solution, w.came,
    )  # fmt: skip


@compiled
def integrate_members(
    records: np.ndarray, begun: bool, until: int, end_time: float, tolerance: float,
    clocks: np.ndarray, waiting: np.ndarray, ys: np.ndarray, modes: np.ndarray,
    memory: np.ndarray, highs: np.ndarray, arrays: tuple, rows: np.ndarray,
) -> None:  # fmt: skip
    """Run members one after another; each row depends on its own record alone.

    What a member is kept in may be one row for all of them, where nobody goes on from it. The
    workspace is handed over as a plain tuple: numba takes longer to look at a named one than a
    short phase takes to run.
    """
    shared = Workspace(*arrays)
    for i in range(records.shape[0]):
        k = min(i, clocks.shape[0] - 1)
        if not begun:
            at.begin(records[i], ys[k], modes[k])
            memory[k, :] = 0.0
            highs[k, :] = 0.0
            rows[i, :] = np.nan
            rows[i, RunColumn.STEPS] = 0.0
            rows[i, RunColumn.PINS_FAILED] = 0.0
            clocks[k, 0], clocks[k, 1] = 0.0, NEXT_STEP
        elif not waiting[k]:
            continue
        w = in_place(shared, ys[k], modes[k], memory[k], highs[k])
        if until != Until.PHASE:  # which goes on as it was
            at.state_scale(records[i], w.scale)
            w.method[:] = 0
        clocks[k, 0], clocks[k, 1], waits = integrate_member(
            clocks[k, 0], clocks[k, 1], until, end_time, tolerance, records[i], w, rows[i]
        )
        waiting[k] = waits


@dataclass(frozen=True)
class Paused:
    """Members at the moment from which the cord acts; what came before does not depend on it.

    Attributes
    ----------
    travel : ndarray, shape (n,)
        At which each waits [m].
    rows : ndarray, shape (n, len(COLUMNS))
        As far as they are known; whole where a member does not wait.
    waiting : ndarray of bool, shape (n,)
        Which members wait; the others came to their end.
    clocks : ndarray, shape (n, 2)
        Time, and the step to try next [s].
    states, modes, memory, highs : ndarray
        Of each.
    """

    travel: np.ndarray
    rows: np.ndarray
    waiting: np.ndarray
    clocks: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray
    highs: np.ndarray


def run_members(records: np.ndarray, end_time: float, tolerance: float) -> np.ndarray:
    """Run the members of an ensemble.

    The interpreter is free meanwhile, so that threads may run one call each.

    Parameters
    ----------
    records : ndarray, shape (n,)
        From :func:`baypulse.engine.parameters.pack_members`; all of one case.
    end_time : float
        Longest time of a run [s].
    tolerance : float
        Relative tolerance of a step.

    Returns
    -------
    ndarray, shape (n, len(COLUMNS))
        A row a member. The same for a record whatever runs before, after or beside it.
    """
    if not records.shape[0]:
        return np.empty((0, len(COLUMNS)))
    # one place for all: nobody goes on from there
    kept = _places(records, 1)
    return _integrated(records, kept, False, Until.END, end_time, tolerance).rows


def run_to_cord(records: np.ndarray, end_time: float, tolerance: float) -> Paused:
    """Run members to where their cord first acts: pulls the contents, a brake, or is taut.

    Parameters
    ----------
    records, end_time, tolerance
        As for :func:`run_members`.
    """
    kept = _places(records, records.shape[0])
    return _integrated(records, kept, False, Until.CORD, end_time, tolerance)


def run_on(records: np.ndarray, paused: Paused, end_time: float, tolerance: float) -> np.ndarray:
    """Go on with paused members, with other cords.

    Parameters
    ----------
    records : ndarray, shape (n,)
        Of the same members; they may differ from those that were paused in what acts from there
        on: cord, brake, and the drag of the contents.
    paused : Paused
        From :func:`run_to_cord`; not changed.
    end_time, tolerance : float
        As for :func:`run_members`.

    Returns
    -------
    ndarray, shape (n, len(COLUMNS))
        As of :func:`run_members`, to the tolerance: the pause ends a step.

    Raises
    ------
    ValueError
        When a cord acts before the member was paused.
    """
    if np.any(_first_pull(records) < paused.travel * (1.0 - 1e-12)):
        raise ValueError("a cord acts before the moment at which its member was paused")
    arrays = {field.name: getattr(paused, field.name).copy() for field in fields(paused)}
    return _integrated(records, Paused(**arrays), True, Until.END, end_time, tolerance).rows


def run_phase(
    t: float, end_time: float, h: float, tolerance: float, record: np.record, w: Workspace
) -> tuple[int, int, float, float, int, int]:
    """Go on with one shot as :func:`baypulse.engine.stepper.advance` does, points and all.

    Parameters
    ----------
    t, end_time, h, tolerance, record, w
        As there.

    Returns
    -------
    outcome, event, t, h, kept, steps
        As there.
    """
    with plain_turn() as plain:
        if plain:
            before = [held.copy() for held in (w.state, w.method, w.pace)]
            # Python refuses some of what compiled code gives no number for
            with suppress(ArithmeticError, ValueError):
                return _plain_phase(t, end_time, h, tolerance, unpacked(record), w)
            for held, value in zip((w.state, w.method, w.pace), before, strict=True):
                held[:] = value
            compile_core()
    records, clocks = np.asarray(record).reshape(1), np.array([[t, h]])
    kept = w.state[None], w.modes[None], w.memory[None], w.highs[None]
    integrate_members(
        records, True, Until.PHASE.value, end_time, tolerance, clocks, np.ones(1, dtype=np.bool_),
        *kept, tuple(w), np.empty((1, len(COLUMNS))),
    )  # fmt: skip
    outcome, event, points, steps = w.came.tolist()
    return outcome, event, *clocks[0].tolist(), points, steps


def _plain_phase(
    t: float, end_time: float, h: float, tolerance: float, P: Any, w: Workspace
) -> tuple[int, int, float, float, int, int]:
    """Go on with one shot in plain Python."""
    before = w.method[WORK]
    found = stepper.advance(t, end_time, h, tolerance, P, w)
    add_work(int(w.method[WORK] - before))
    return found


def join_paused(parts: Sequence[Paused]) -> Paused:
    """Return paused members of several calls as those of one.

    Parameters
    ----------
    parts : sequence of Paused
        At least one, all of one case.
    """
    return Paused(
        *(np.concatenate([getattr(part, each.name) for part in parts]) for each in fields(Paused))
    )


def _first_pull(records: np.ndarray) -> np.ndarray:
    """Return the least travel at which each cord acts [m], shape (n,)."""
    first = np.minimum(records["pickup_travel"], records["cord_travel"])
    braked = records["n_brakes"] > 0
    return np.where(braked, np.minimum(first, records["brake_start"][:, 0]), first)


def _places(records: np.ndarray, places: int) -> Paused:
    """Return room for so many members at once."""
    size, pins = (int(records[name][0]) if records.size else 0 for name in ("heats_at", "n_pins"))
    return Paused(
        _first_pull(records), np.empty((records.shape[0], len(COLUMNS))),
        np.zeros(places, dtype=np.bool_), np.empty((places, 2)), np.empty((places, size)),
        np.empty((places, at.PINS + pins), dtype=np.int64), np.empty((places, at.MEMORY)),
        np.empty((places, summits.HIGHS)),
    )  # fmt: skip


def _integrated(
    records: np.ndarray, kept: Paused, begun: bool, until: Until, end_time: float,
    tolerance: float,
) -> Paused:  # fmt: skip
    """Run members from the spark, or go on with them; what they are kept in is written."""
    if not records.shape[0]:
        return kept
    compile_core()
    shared = stepper.workspace(records[0], int(records["heats_at"][0]), 0)
    integrate_members(
        records, begun, until.value, end_time, tolerance, kept.clocks, kept.waiting, kept.states,
        kept.modes, kept.memory, kept.highs, tuple(shared), kept.rows,
    )  # fmt: skip
    return kept
