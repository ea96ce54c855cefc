"""Whole runs in compiled code, many at once: an ensemble's members, one row of numbers each.

What is left out is what nobody looks at in ten thousand runs: points along the way, and the
diagnostic states. A single run has both, and is one member that goes on for some phases at a time,
by the same machine code: it takes ten seconds and more to make.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine import stepper, summits
from baypulse.engine.at_once import FEW, integrate_members
from baypulse.engine.course import COURSE
from baypulse.engine.member import (
    COLUMNS,
    FINISHED,
    GAS_STEP,
    LOST,
    READY,
    RESTLESS,
    STALLED,
    STATUSES,
    TIME_END,
    WAITS,
    RunColumn,
    Until,
)
from baypulse.engine.one_by_one import COUNTS, NOTED_SO_FAR, Kept, integrate_alone
from baypulse.engine.parameters import RECORD, unpacked
from baypulse.engine.places import Places, Room, places_of, room_of
from baypulse.engine.workspace import PHASES, WORK, Workspace
from baypulse.physics.plain import add_work, compile_core, plain_turn
from baypulse.physics.whole_code import takes_whole

__all__ = [
    "COLUMNS", "FINISHED", "GAS_STEP", "LOST", "RESTLESS", "STALLED", "STATUSES", "TIME_END",
    "Paused", "PhasePart", "RunColumn", "Until", "follow_members", "join_paused", "run_members",
    "run_on", "run_phases", "run_to_cord",
]  # fmt: skip

ROWS = 1024
"""Rows of a course that are noted before they are taken away: three times what most shots need."""

PLACES = 64
"""Members under way at once: enough that eight of them are alike."""


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
    clocks, counts, states, modes, memory, highs, courses : ndarray
        Of each (:class:`baypulse.engine.one_by_one.Kept`).
    """

    travel: np.ndarray
    rows: np.ndarray
    waiting: np.ndarray
    clocks: np.ndarray
    counts: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray
    highs: np.ndarray
    courses: np.ndarray


def run_members(
    records: np.ndarray, end_time: float, tolerance: float, until: Until = Until.END
) -> np.ndarray:
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
    until : Until
        Their end, or that they are open.

    Returns
    -------
    ndarray, shape (n, len(COLUMNS))
        A row a member. The same for a record whatever runs before, after or beside it.
    """
    if not records.shape[0]:
        return np.empty((0, len(COLUMNS)))
    # one place for all: nobody goes on from there
    kept = _places(records, 1)
    return _integrated(records, kept, False, until, end_time, tolerance).rows


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


def follow_members(
    records: np.ndarray, end_time: float, tolerance: float, room: int = ROWS
) -> list[np.ndarray]:
    """Run members to their end, and return what is seen of them on the way.

    Parameters
    ----------
    records, end_time, tolerance
        As for :func:`run_members`.
    room : int
        Rows that are noted before they are taken away, at least 3.

    Returns
    -------
    list of ndarray, shape (m, COURSE)
        The course of each (:mod:`baypulse.engine.course`).
    """
    kept = _places(records, records.shape[0], room)
    parts: list[list[np.ndarray]] = [[] for _ in range(records.shape[0])]
    begun = False
    while not begun or kept.waiting.any():
        kept.counts[:, NOTED_SO_FAR] = 0
        _integrated(records, kept, begun, Until.END, end_time, tolerance)
        noted = kept.counts[:, NOTED_SO_FAR]
        for part, course, count in zip(parts, kept.courses, noted, strict=True):
            part.append(course[:count].copy())
        begun = True
    return [np.concatenate(part) for part in parts]


Advance = Callable[..., tuple[int, int, float, float, int, int]]
"""A driver within one phase."""


class PhasePart(NamedTuple):
    """A phase of a run, or as much of it as points had room for.

    Attributes
    ----------
    outcome, event, steps : int
        As of :func:`baypulse.engine.stepper.advance`.
    stands : int
        How the run stands then (:mod:`baypulse.engine.member`): where it waits, its event is left
        to be taken.
    times, states : ndarray, shapes (n,), (n, n_state)
        Its points, from where it began.
    modes, memory : ndarray
        Of all of it.
    """

    outcome: int
    event: int
    steps: int
    stands: int
    times: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray


def run_phases(
    clock: np.ndarray, end_time: float, tolerance: float, record: np.record, w: Workspace,
    most: int = PHASES,
) -> list[PhasePart]:  # fmt: skip
    """Go on with one shot for some phases; compiled code goes over the events between them.

    Parameters
    ----------
    clock : ndarray, shape (2,)
        Time, and the step to try next [s]; changed to those reached.
    end_time, tolerance, record
        As for :func:`baypulse.engine.stepper.advance`.
    w : Workspace
        Its state, modes and memory are changed to those at the end of the last part. Half of
        its room for points is that of one part.
    most : int
        So many phases at most.
    """
    with plain_turn() as plain:
        if plain:
            before = [held.copy() for held in (w.state, w.method, w.pace)]
            # Python refuses some of what compiled code gives no number for
            with suppress(ArithmeticError, ValueError):
                return [_plain_phase(clock, end_time, tolerance, unpacked(record), w)]
            for held, value in zip((w.state, w.method, w.pace), before, strict=True):
                held[:] = value
            compile_core()
    kept = Kept(
        np.empty((most + 1, 2)), np.zeros((1, COUNTS), dtype=np.int64), np.ones(1, dtype=np.bool_),
        np.empty((most, w.state.size)), np.empty((most, w.modes.size), dtype=np.int64),
        np.empty((most, w.memory.size)), w.highs[None], w.course[None],
    )  # fmt: skip
    kept.clocks[0], kept.states[0], kept.modes[0], kept.memory[0] = (
        clock, w.state, w.modes, w.memory,
    )  # fmt: skip
    records = np.asarray(record).reshape(1)
    _integrate(
        records, True, Until.PHASE, end_time, tolerance, kept, w, np.empty((1, len(COLUMNS)))
    )
    found: list[PhasePart] = []
    begins, goes_on = 0, True
    while goes_on:
        k = len(found)
        outcome, event, count, steps, stands = w.came[k].tolist()
        points = slice(begins, begins + count)
        found.append(
            PhasePart(
                outcome, event, steps, stands,
                np.concatenate((kept.clocks[k, :1], w.times[points])),
                np.concatenate((kept.states[k : k + 1], w.states[points])),
                kept.modes[k], kept.memory[k],
            )
        )  # fmt: skip
        begins += count
        goes_on = stands == READY
    clock[:], w.modes[:], w.memory[:] = kept.clocks[k + 1], kept.modes[k], kept.memory[k]
    return found


def _plain_phase(
    clock: np.ndarray, end_time: float, tolerance: float, P: Any, w: Workspace
) -> PhasePart:
    """Go on with one shot in plain Python."""
    room, before = w.times.size // 2, int(w.method[WORK])
    half = w._replace(times=w.times[:room], states=w.states[:room])
    found = one_phase(stepper.advance, clock, end_time, tolerance, P, half)
    add_work(int(w.method[WORK]) - before)
    return found


def one_phase(
    advance: Advance, clock: np.ndarray, end_time: float, tolerance: float, P: Any, w: Workspace
) -> PhasePart:
    """Go on with one shot for one phase, by a driver such as :func:`stepper.advance`.

    Parameters
    ----------
    advance : callable
        With that one's arguments and returns.
    clock, end_time, tolerance, P, w
        As for :func:`run_phases`; how much of the room for points is used is the driver's affair.
    """
    start, begun = clock[:1].copy(), w.state[None].copy()
    outcome, event, clock[0], clock[1], count, steps = advance(
        clock[0], end_time, clock[1], tolerance, P, w
    )
    return PhasePart(
        outcome, event, steps, WAITS, np.concatenate((start, w.times[:count])),
        np.concatenate((begun, w.states[:count])), w.modes.copy(), w.memory.copy(),
    )  # fmt: skip


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


def _places(records: np.ndarray, places: int, rows: int = 0) -> Paused:
    """Return room for so many members at once, and rows of the course of each."""
    size, pins = (int(records[name][0]) if records.size else 0 for name in ("heats_at", "n_pins"))
    return Paused(
        _first_pull(records), np.empty((records.shape[0], len(COLUMNS))),
        np.zeros(places, dtype=np.bool_), np.empty((places, 2)),
        np.zeros((places, COUNTS), dtype=np.int64), np.empty((places, size)),
        np.empty((places, at.PINS + pins), dtype=np.int64), np.empty((places, at.MEMORY)),
        np.empty((places, summits.HIGHS)), np.empty((places, rows, COURSE)),
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
    stands = Kept(*(getattr(kept, name) for name in Kept._fields))
    _integrate(records, begun, until, end_time, tolerance, stands, shared, kept.rows)
    return kept


def _integrate(
    records: np.ndarray, begun: bool, until: Until, end_time: float, tolerance: float,
    stands: Kept, w: Workspace, rows: np.ndarray,
) -> None:  # fmt: skip
    """Hand members to compiled code: to that for many side by side, where it may be had."""
    count = records.shape[0]
    few = count <= FEW  # or a phase of one
    whole = takes_whole(0 if few else count)
    places, room = _nowhere()
    if until != Until.PHASE:
        places = places_of(records[0], 1 if few or not whole else min(PLACES, count))
    given = records, begun, until.value, end_time, tolerance, tuple(stands)
    if not whole:
        integrate_alone(*given, tuple(w), tuple(places), rows)
        return
    if not few:
        room = room_of(records)
    integrate_members(*given, tuple(w._replace(late=room.rates)), tuple(places), tuple(room), rows)


@lru_cache(maxsize=1)
def _nowhere() -> tuple[Places, Room]:
    """Return what is handed over where nobody looks at it."""
    none = np.zeros(1, RECORD)
    return places_of(none[0], 1), room_of(none)
