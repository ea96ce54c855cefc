"""Many runs at once: members come into places, take their steps side by side, and leave."""

from __future__ import annotations

import numpy as np

from baypulse.engine.member import READY, Until, to_next_step
from baypulse.engine.one_by_one import (
    Kept,
    after_step,
    come,
    in_place,
    integrate_alone,
    leave,
    lone_step,
)
from baypulse.engine.places import FASTEST, STEP, WORST, Places, Room
from baypulse.engine.runge_kutta import copy
from baypulse.engine.side_by_side import (
    alike,
    choose,
    explicit_steps,
    fill_lanes,
    measure,
    stabilised_steps,
    take_lane,
)
from baypulse.engine.workspace import (
    EXPLICIT,
    EXPLICIT_WORK,
    KIND,
    STABILISED_WORK,
    WORK,
    Workspace,
)
from baypulse.physics.compiled import compiled

FEW = 3
"""Members up to which steps are taken one after the other: that is quicker, and the numbers are the
same."""


@compiled
def settle(p: int, stands: int, places: Places, kept: Kept, w: Workspace) -> bool:
    """Keep a member where it is before its next step, or let it go; say whether it has gone."""
    if stands == READY:
        copy(w.rates[0], places.rates[p])
        places.kind[p] = alike(w.modes, w.method)
        return False
    leave(p, stands, places, kept)
    return True


@compiled
def step_of_group(
    until: int, end_time: float, tolerance: float, records: np.ndarray, shared: Workspace,
    places: Places, room: Room, kept: Kept, rows: np.ndarray,
) -> int:  # fmt: skip
    """Take a step of members that are alike; return how many have left."""
    count = choose(places, room)
    kind = places.method[room.group[0], KIND]
    together = count > FEW
    if together:
        fill_lanes(places, room)
        if kind == EXPLICIT:
            explicit_steps(count, places, room, records, shared)
        else:
            stabilised_steps(count, places, room, records, shared)
        measure(kind, room, records[0])
    left = 0
    for q in range(count):
        p = room.group[q]
        i = places.member[p]
        P, clock, w = records[i], places.clocks[p], in_place(shared, places, p, kept)
        if together:
            w.method[WORK] += EXPLICIT_WORK if kind == EXPLICIT else STABILISED_WORK
            take_lane(q, room, w)
            error = clock[STEP] * room.measures[WORST, q] / tolerance
            fastest = room.measures[FASTEST, q]
            stands = after_step(
                error, fastest, until, end_time, tolerance, True, clock, P, w, rows[i]
            )
        else:
            copy(places.rates[p], w.rates[0])
            stands = lone_step(until, end_time, tolerance, clock, P, w, rows[i])
        if settle(p, stands, places, kept, w):
            left += 1
    return left


@compiled
def integrate_members(
    records: np.ndarray, begun: bool, until: int, end_time: float, tolerance: float,
    stands: tuple, arrays: tuple, held: tuple, lanes: tuple, rows: np.ndarray,
) -> None:  # fmt: skip
    """Run members, several of them side by side; each row depends on its own record alone.

    As :func:`baypulse.engine.one_by_one.integrate_alone`, which this takes the place of where it is
    compiled; ``lanes`` are the fields of :class:`baypulse.engine.places.Room`.
    """
    if until == Until.PHASE or records.shape[0] <= FEW:
        integrate_alone(records, begun, until, end_time, tolerance, stands, arrays, held, rows)
        return
    kept, shared = Kept(*stands), Workspace(*arrays)
    places, room = Places(*held), Room(*lanes)
    coming, under_way = 0, 0
    places.member[:] = -1
    room.inside[:] = -1
    while True:
        for p in range(places.member.shape[0]):
            while places.member[p] < 0 and coming < records.shape[0]:
                i = coming
                coming += 1
                if come(p, i, begun, records[i], places, kept, rows[i]):
                    w = in_place(shared, places, p, kept)
                    stand = to_next_step(
                        True, until, end_time, tolerance, places.clocks[p], records[i], w, rows[i]
                    )
                    under_way += 0 if settle(p, stand, places, kept, w) else 1
        if under_way == 0:
            break
        under_way -= step_of_group(
            until, end_time, tolerance, records, shared, places, room, kept, rows
        )
