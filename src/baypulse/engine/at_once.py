"""Many runs at once: members come into places, take their steps side by side, and leave."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine import stepper
from baypulse.engine.any_step import take_step
from baypulse.engine.member import (
    NEXT_STEP,
    READY,
    WAITS,
    RunColumn,
    Until,
    judged,
    next_phase,
    to_next_step,
)
from baypulse.engine.places import EVENTS, FASTEST, STEP, TIME, WORST, Places, Room
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
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import (
    EXPLICIT,
    EXPLICIT_WORK,
    KIND,
    STABILISED_WORK,
    WORK,
    Workspace,
)
from baypulse.physics.compiled import compiled
from baypulse.physics.core_folder import config
from baypulse.physics.lanes import LANES

FEW = LANES if config.DISABLE_JIT else 3
"""Members up to which steps are taken one after the other: that is quicker, and the numbers are the
same. Without a compiler there are no lanes."""


class Kept(NamedTuple):
    """Where members stand when they leave; one row for all where nobody goes on from there.

    Attributes
    ----------
    clocks : ndarray, shape (n, 2)
        Time, and the step to try next [s].
    waiting : ndarray of bool, shape (n,)
        Which members wait to go on.
    states, modes, memory, highs : ndarray
        Of each.
    """

    clocks: np.ndarray
    waiting: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray
    highs: np.ndarray


@compiled
def in_place(shared: Workspace, places: Places, p: int) -> Workspace:
    """Return a workspace in which the member of a place stands; the rest of it serves all."""
    w = shared
    return Workspace(
        places.states[p], places.modes[p], places.memory[p], places.scale[p], w.work,
        places.force[p], w.rates, w.trial, w.end, w.point, places.before[p], w.after, w.within,
        w.times, w.states, places.highs[p], places.method[p], places.pace[p], w.jacobian,
        w.factors, w.pivots, w.stages, w.solution, w.came, w.late, w.lane,
    )  # fmt: skip


@compiled
def one_phase(
    end_time: float, tolerance: float, P: np.record, kept: Kept, shared: Workspace
) -> None:
    """Go on with one shot to the end of its phase, points and all."""
    w = shared
    w = Workspace(
        kept.states[0], kept.modes[0], kept.memory[0], w.scale, w.work, w.force, w.rates, w.trial,
        w.end, w.point, w.before, w.after, w.within, w.times, w.states, kept.highs[0], w.method,
        w.pace, w.jacobian, w.factors, w.pivots, w.stages, w.solution, w.came, w.late, w.lane,
    )  # fmt: skip
    clock = kept.clocks[0]
    outcome, event, clock[0], clock[1], points, steps = stepper.advance(
        clock[0], end_time, clock[1], tolerance, P, w
    )
    w.came[0], w.came[1], w.came[2], w.came[3] = outcome.value, event, points, steps


@compiled
def come(
    p: int, i: int, begun: bool, P: np.record, places: Places, kept: Kept, row: np.ndarray
) -> bool:
    """Let a member into a place, from the spark or from where it waits; say whether it goes on."""
    k = min(i, kept.clocks.shape[0] - 1)
    clock = places.clocks[p]
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
    else:
        return False
    clock[EVENTS] = 0.0
    at.state_scale(P, places.scale[p])
    places.method[p, :] = 0
    places.member[p] = i
    return True


@compiled
def settle(p: int, stands: int, places: Places, kept: Kept, w: Workspace) -> bool:
    """Keep a member where it is before its next step, or let it go; say whether it has gone."""
    if stands == READY:
        copy(w.rates[0], places.rates[p])
        places.kind[p] = alike(w.modes, w.method)
        return False
    k = min(places.member[p], kept.clocks.shape[0] - 1)
    places.member[p] = -1
    copy(places.states[p], kept.states[k])
    copy(places.modes[p], kept.modes[k])
    copy(places.memory[p], kept.memory[k])
    copy(places.highs[p], kept.highs[k])
    kept.clocks[k, 0], kept.clocks[k, 1] = places.clocks[p, TIME], places.clocks[p, STEP]
    kept.waiting[k] = stands == WAITS
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
        P, clock, w = records[i], places.clocks[p], in_place(shared, places, p)
        if together:
            w.method[WORK] += EXPLICIT_WORK if kind == EXPLICIT else STABILISED_WORK
            take_lane(q, room, w)
            error = clock[STEP] * room.measures[WORST, q] / tolerance
            fastest = room.measures[FASTEST, q]
        else:
            copy(places.rates[p], w.rates[0])
            take_step(clock[TIME], clock[STEP], P, w, w.rates, w.end)
            error, fastest = stepper.errors(clock[STEP], tolerance, P, w)
        outcome, event = judged(error, fastest, end_time, tolerance, clock, P, w, rows[i])
        w.lane[0] = -1
        begins, stands = outcome != Outcome.GOING, READY
        if begins:
            stands = next_phase(outcome, event, until, clock, P, w, rows[i])
        if stands == READY:
            stands = to_next_step(begins, until, end_time, tolerance, clock, P, w, rows[i])
        if settle(p, stands, places, kept, w):
            left += 1
    return left


@compiled
def integrate_members(
    records: np.ndarray, begun: bool, until: int, end_time: float, tolerance: float,
    stands: tuple, arrays: tuple, held: tuple, lanes: tuple, rows: np.ndarray,
) -> None:  # fmt: skip
    """Run members, several of them side by side; each row depends on its own record alone.

    ``stands``, ``arrays``, ``held`` and ``lanes`` are the fields of :class:`Kept`,
    :class:`baypulse.engine.workspace.Workspace`, :class:`baypulse.engine.places.Places` and
    :class:`baypulse.engine.places.Room`, as plain tuples: numba takes longer to look at named ones
    than a short phase takes to run.
    """
    kept, shared = Kept(*stands), Workspace(*arrays)
    if until == Until.PHASE:
        one_phase(end_time, tolerance, records[0], kept, shared)
        return
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
                    w = in_place(shared, places, p)
                    stand = to_next_step(
                        True, until, end_time, tolerance, places.clocks[p], records[i], w, rows[i]
                    )
                    under_way += 0 if settle(p, stand, places, kept, w) else 1
        if under_way == 0:
            break
        under_way -= step_of_group(
            until, end_time, tolerance, records, shared, places, room, kept, rows
        )
