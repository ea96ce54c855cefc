"""Steps of several members at once, in the lanes of one vector register.

What the gas does takes nine tenths of a step. Members whose gas is in the same phase take their
steps together (:mod:`baypulse.physics.lanes`), each as long as its own error allows. What the
bodies do is computed one after the other, as all is that follows a step. No lane depends on what
stands in the others.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine.places import (
    FASTEST,
    FIELDS,
    LENGTH,
    PHASES,
    STEP,
    TAUT,
    WORST,
    Places,
    Room,
)
from baypulse.engine.rates import accelerations, gas_rates
from baypulse.engine.runge_kutta import ERROR, LAST, A, E, copy, motion_sizes
from baypulse.engine.stabilised import (
    HALF,
    LATEST,
    end_stage,
    first_stage,
    keep_dense,
    middle_stage,
    next_stage,
)
from baypulse.engine.stiffness import APART, whole_sizes
from baypulse.engine.workspace import EXPLICIT, KIND, STABILISED, STABILISED_WORK, STAGES, Workspace
from baypulse.physics import cord
from baypulse.physics.choice import where
from baypulse.physics.compiled import compiled
from baypulse.physics.lane_tables import WORD, records_of, table_of
from baypulse.physics.lanes import LANES

MOTION = (at.NOSE_X, at.NOSE_V, at.FRAME_X, at.FRAME_V, at.PACK_X, at.PACK_V)
"""States of the bodies."""

SPENT = PHASES - 1
"""The phase of gas that is over."""

BURNING, SPREADING = (FIELDS[name][1] // WORD for name in ("rate", "flame_rate"))
"""Words of a record: how fast grains burn, and the flame spreads."""


@compiled
def alike(modes: np.ndarray, method: np.ndarray) -> int:
    """Return a number that members have in common whose steps can be taken at once.

    Its rest over :data:`baypulse.engine.places.PHASES` grows as a shot goes on.
    Whether a flame still spreads and grains still burn may differ (:func:`fill_lanes`).
    """
    phase = SPENT
    if modes[at.GAS] != at.SPENT:
        dragged = 1 if modes[at.CONTENTS] == at.DRAGGED else 0
        phase = 4 * (4 * modes[at.GAS] + modes[at.SOURCE]) + 2 * modes[at.AHEAD] + dragged
    return phase + (PHASES if method[KIND] == STABILISED else 0)


@compiled
def _goes_before(p: int, q: int, places: Places, counts: np.ndarray) -> bool:
    """Say whether members like that in place p take a step before those like that in q."""
    one, other = places.kind[p], places.kind[q]
    many, others = min(counts[one], LANES), min(counts[other], LANES)
    full = (many == LANES) - (others == LANES)
    if full != 0:
        return full > 0
    phase, another = one % PHASES, other % PHASES
    if phase != another:
        return phase < another
    if many != others:
        return many > others
    return places.member[p] < places.member[q]


@compiled
def choose(places: Places, room: Room) -> int:
    """Choose members whose next step is taken at once; return how many, the lanes being full."""
    counts, member, kind = room.counts, places.member, places.kind
    size = member.shape[0]
    counts[:] = 0
    for p in range(size):
        if member[p] >= 0:
            counts[kind[p]] += 1
    # full lanes first, and of all the gas that is farthest behind: members that wait for others to
    # catch up go on with them, and few are left alone
    first = -1
    for p in range(size):
        if member[p] >= 0 and (first < 0 or _goes_before(p, first, places, counts)):
            first = p
    found = 0
    for n in range(size):
        p = first + n if first + n < size else first + n - size
        if found < LANES and member[p] >= 0 and kind[p] == kind[first]:
            room.group[found] = p
            found += 1
    for q in range(found, LANES):
        room.group[q] = room.group[0]
    return found


@compiled
def fill_lanes(places: Places, room: Room) -> None:
    """Put the members that were chosen into the lanes.

    As long as any of them burns all are computed so, with no rate where all has burnt.
    """
    copy(places.modes[room.group[0]], room.modes)
    for q in range(LANES):
        p = room.group[q]
        i = places.member[p]
        copy(places.states[p], room.states[:, q])
        copy(places.rates[p], room.rates[0, :, q])
        room.measures[LENGTH, q] = places.clocks[p, STEP]
        room.measures[TAUT, q] = 0.0 if places.modes[p, at.CORD] == cord.SLACK else 1.0
        if room.inside[q] != i:
            room.inside[q] = i
            copy(places.scale[p], room.scale[:, q])
            for n in range(room.used.shape[0]):
                room.words[room.used[n], q] = room.numbers[i, room.used[n]]
        burns = places.modes[p, at.BURN] == at.BURNING
        spreads = burns and places.modes[p, at.FLAME] == at.SPREADING
        room.words[BURNING, q] = room.numbers[i, BURNING] if burns else 0.0
        room.words[SPREADING, q] = room.numbers[i, SPREADING] if spreads else 0.0
        if burns:
            room.modes[at.BURN] = at.BURNING
        if spreads:
            room.modes[at.FLAME] = at.SPREADING


@compiled
def rates_of_all(
    count: int, row: int, places: Places, room: Room, records: np.ndarray, w: Workspace
) -> None:
    """Write the rates of all lanes at the states of ``end``, into a row of the rates."""
    first = room.group[0]
    end, rates = room.end, room.rates[row]
    y, dy = table_of(end), table_of(rates)
    for m in range(rates.shape[0]):
        dy[m] = 0.0
    P = records_of(room.words, records[places.member[first]])
    gas_rates(y, room.modes, P, table_of(room.work), dy)
    dy[at.NOSE_X], dy[at.FRAME_X], dy[at.PACK_X] = y[at.NOSE_V], y[at.FRAME_V], y[at.PACK_V]
    for q in range(count):
        p = room.group[q]
        for m in MOTION:
            w.point[m] = end[m, q]
        for k in range(w.work.shape[0]):
            w.work[k, gasside.P_] = room.work[k, gasside.P_, q]
        rates[at.NOSE_V, q], rates[at.FRAME_V, q], rates[at.PACK_V, q] = accelerations(
            w.point, places.modes[p], places.memory[p], w.work, records[places.member[p]],
            places.force[p],
        )  # fmt: skip


@compiled
def explicit_steps(
    count: int, places: Places, room: Room, records: np.ndarray, w: Workspace
) -> None:
    """Take a step of :func:`baypulse.engine.runge_kutta.stage_steps` in every lane."""
    y, k, end = table_of(room.states), table_of(room.rates), table_of(room.end)
    h = table_of(room.measures)[LENGTH]
    for s in range(1, STAGES):
        for m in range(room.states.shape[0]):
            total = A[s, 0] * k[0, m]
            for r in range(1, s):
                total += A[s, r] * k[r, m]
            end[m] = y[m] + h * total
        rates_of_all(count, s, places, room, records, w)


@compiled
def stabilised_steps(
    count: int, places: Places, room: Room, records: np.ndarray, w: Workspace
) -> None:
    """Take a step of :func:`baypulse.engine.stabilised.stabilised_step` in every lane."""
    y, k, end = table_of(room.states), table_of(room.rates), table_of(room.end)
    h = table_of(room.measures)[LENGTH]
    first_stage(h, y, k, end)
    for i in range(1, STABILISED_WORK):
        if i == HALF:
            middle_stage(h, y, k, end)
        rates_of_all(count, LATEST, places, room, records, w)
        next_stage(i, h, k, end)
    end_stage(h, y, k, end)
    rates_of_all(count, LAST, places, room, records, w)
    keep_dense(y, k)


@compiled
def measure(kind: int, room: Room, first: np.record) -> None:
    """Write the error of every step over its length, and its sign of stiffness.

    As :func:`baypulse.engine.runge_kutta.error_norm` does, and
    :func:`baypulse.engine.stiffness.fastest_rate`.
    """
    y, end, k = table_of(room.states), table_of(room.end), table_of(room.rates)
    scale, size, out = table_of(room.scale), table_of(room.sizes), table_of(room.measures)
    P = records_of(room.words, first)
    n = room.states.shape[0]
    for m in range(n):
        size[m] = max(max(abs(y[m]), abs(end[m])), scale[m])
    motion_sizes(y, end, scale, out[TAUT], P.cord_travel, size)
    worst, wrong = 0.0, 0.0
    for m in range(n):
        if kind == EXPLICIT:
            error = (
                E[0] * k[0, m] + E[2] * k[2, m] + E[3] * k[3, m]
                + E[4] * k[4, m] + E[5] * k[5, m] + E[6] * k[6, m]
            )  # fmt: skip
        else:
            error = k[ERROR, m]
        error = abs(error) / size[m]
        worst = max(worst, error)
        wrong += 0.0 * error  # no number stays none
    out[WORST] = worst + wrong
    if kind != EXPLICIT:
        return
    whole_sizes(room.work.shape[0], end, scale, size)
    none = 0.0 * out[LENGTH]
    above, below = none, none
    for m in range(n):
        apart = (
            APART[0] * k[0, m] + APART[1] * k[1, m] + APART[2] * k[2, m] + APART[3] * k[3, m]
            + APART[4] * k[4, m] + APART[5] * k[5, m]
        )  # fmt: skip
        faster, farther = (k[LAST, m] - k[LAST - 1, m]) / size[m], apart / size[m]
        above += faster * faster
        below += farther * farther
    out[FASTEST] = where(below > 0.0, np.sqrt(above / below), 0.0)


@compiled
def take_lane(q: int, room: Room, w: Workspace) -> None:
    """Leave the step of a lane as one that was taken alone would have been left.

    All but the first and the last of its rates stay in the lane until somebody asks for them
    (:func:`baypulse.engine.runge_kutta.fetch_rates`).
    """
    copy(room.end[:, q], w.end)
    copy(room.rates[0, :, q], w.rates[0])
    copy(room.rates[LAST, :, q], w.rates[LAST])
    for k in range(w.work.shape[0]):
        copy(room.work[k, :, q], w.work[k])
    w.lane[0] = q
