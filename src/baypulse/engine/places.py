"""Where the members of an ensemble that are under way stand, and what their steps are taken in."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from baypulse.engine import gasside, summits
from baypulse.engine import layout as at
from baypulse.engine.parameters import RECORD
from baypulse.engine.rates import FORCES
from baypulse.engine.workspace import AIM, METHOD, STAGES
from baypulse.physics.lane_tables import WORD
from baypulse.physics.lanes import LANES

WORDS = RECORD.itemsize // WORD
"""Numbers in a record."""

FIELDS: Any = RECORD.fields
"""Type and place of each of its fields."""

COUNTS = {
    "volume": "n_volumes", "cross": "n_volumes", "zone": "n_volumes", "opening": "n_openings",
    "surface": "n_surfaces", "skin": "n_terms",
}  # fmt: skip
"""How many entries of an array are in use, by the first word of its name."""

WHOLE = sorted(
    {
        word
        for kind, offset, *_ in FIELDS.values() if kind.base != np.float64
        for word in range(offset // WORD, (offset + kind.itemsize + WORD - 1) // WORD)
    }
)  # fmt: skip
"""Words of a record that hold whole numbers."""

PHASES = 48
"""More than any number that tells the phase of the gas (:mod:`baypulse.engine.side_by_side`)."""

TIME, STEP, GROWTH, EVENTS, WHETHER_LAST, CLOCK = range(6)
"""Of a member's clock: time, step to take [s], how much longer the next may be, events so far,
whether the step reaches the end time; how many numbers these are."""

LENGTH, TAUT, WORST, FASTEST, MEASURES = range(5)
"""Of a step in a lane: its length [s], whether the cord is taut, its error over its length, and
what :func:`baypulse.engine.stiffness.fastest_rate` tells; how many numbers these are."""


class Places(NamedTuple):
    """Where members under way stand, a row each.

    Attributes
    ----------
    member : ndarray of int, shape (places,)
        Which member is in the place; -1 where none is.
    kind : ndarray of int, shape (places,)
        What those have in common whose steps can be taken at once.
    clocks : ndarray, shape (places, CLOCK)
        Of each.
    states, modes, memory, scale, force, rates, before, highs, method, pace, aim : ndarray
        Of each, as of the :class:`baypulse.engine.workspace.Workspace`; of the rates the first.
    """

    member: np.ndarray
    kind: np.ndarray
    clocks: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray
    scale: np.ndarray
    force: np.ndarray
    rates: np.ndarray
    before: np.ndarray
    highs: np.ndarray
    method: np.ndarray
    pace: np.ndarray
    aim: np.ndarray


class Room(NamedTuple):
    """What steps of several members at once are taken in; the last axis has the lanes.

    Attributes
    ----------
    group, inside : ndarray of int, shape (LANES,)
        Places whose members take a step together, and members whose records are in the lanes.
    counts : ndarray of int
        Members of each kind.
    used : ndarray of int
        Which numbers of a record the gas asks for.
    numbers : ndarray, shape (members, WORDS)
        All records.
    words, scale : ndarray
        Records and scales in the lanes.
    states, end, rates, work : ndarray
        States before the step and within it, rates of all stages, table of the gas.
    sizes : ndarray
        Of the states (:func:`measure`).
    measures : ndarray, shape (MEASURES, LANES)
        Of each step.
    modes : ndarray of int
        Of the gas of all of them.
    """

    group: np.ndarray
    inside: np.ndarray
    counts: np.ndarray
    used: np.ndarray
    numbers: np.ndarray
    words: np.ndarray
    scale: np.ndarray
    states: np.ndarray
    end: np.ndarray
    rates: np.ndarray
    work: np.ndarray
    sizes: np.ndarray
    measures: np.ndarray
    modes: np.ndarray


def places_of(record: np.record, count: int) -> Places:
    """Return room for so many members under way."""
    size, pins, whole = int(record["heats_at"]), int(record["n_pins"]), np.int64
    return Places(
        np.empty(count, whole), np.empty(count, whole), np.empty((count, CLOCK)),
        np.empty((count, size)), np.empty((count, at.PINS + pins), whole),
        np.empty((count, at.MEMORY)), np.empty((count, size)), np.empty((count, FORCES)),
        np.empty((count, size)), np.empty((count, int(record["event_count"]))),
        np.empty((count, summits.HIGHS)), np.zeros((count, METHOD), whole), np.empty((count, 1)),
        np.empty((count, AIM)),
    )  # fmt: skip


def room_of(records: np.ndarray) -> Room:
    """Return what steps of several members at once are taken in.

    Parameters
    ----------
    records : ndarray, shape (n,)
        Of the members.

    Raises
    ------
    ValueError
        When a whole number of their records differs: those say what a bay is made of.
    """
    record = records[0]
    plain = np.ascontiguousarray(records).view(np.ndarray)
    whole = plain.view(np.int64).reshape(records.shape[0], WORDS)[:, WHOLE]
    if (whole != whole[0]).any():
        raise ValueError("only shots of one case are run side by side")
    size, volumes = int(record["heats_at"]), int(record["n_volumes"])
    return Room(
        np.zeros(LANES, np.int64), np.empty(LANES, np.int64), np.zeros(2 * PHASES, np.int64),
        used_words(record),
        plain.view(np.float64).reshape(records.shape[0], WORDS),
        aligned(WORDS, LANES), aligned(size, LANES), aligned(size, LANES), aligned(size, LANES),
        aligned(STAGES, size, LANES), aligned(volumes, gasside.WORK, LANES), aligned(size, LANES),
        aligned(MEASURES, LANES), np.zeros(at.PINS + int(record["n_pins"]), np.int64),
    )  # fmt: skip


def aligned(*shape: int) -> np.ndarray:
    """Return room for numbers that begins where a vector register may be filled at once."""
    size = int(np.prod(shape))
    room = np.zeros(size + LANES)
    begin = -(room.ctypes.data // room.itemsize) % LANES
    return room[begin : begin + size].reshape(shape)


def used_words(record: np.record) -> np.ndarray:
    """Return the places of the numbers that the gas may ask a record for."""
    return _used_words(tuple(int(record[count]) for count in COUNTS.values()))


@lru_cache(maxsize=64)
def _used_words(counts: tuple[int, ...]) -> np.ndarray:
    sizes = dict(zip(COUNTS, counts, strict=True))
    places: list[int] = []
    for name, (kind, offset, *_) in FIELDS.items():
        family = name.partition("_")[0]
        if kind.base == np.float64 and family not in ("pin", "brake"):
            size = kind.itemsize // WORD
            if kind.shape:
                size = sizes.get(family, size)
            places += range(offset // WORD, offset // WORD + size)
    return np.array(places)
