"""Which kind of step gets on fastest: ordinary, stabilised, or implicit.

References
----------
The sign of stiffness is that of Hairer & Wanner, Solving Ordinary Differential Equations II, 2nd
ed., IV.2.
"""

from __future__ import annotations

import math

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine.rosenbrock import implicit_work, size_of
from baypulse.engine.runge_kutta import LAST, A
from baypulse.engine.workspace import (
    EXPLICIT,
    EXPLICIT_WORK,
    HINTS,
    IMPLICIT,
    KIND,
    PAUSE,
    SIGNS,
    STABILISED,
    STABILISED_WORK,
    TRIED,
    Workspace,
)
from baypulse.physics.compiled import compiled

APART = A[6] - A[5]
"""Weights of the rates in what the last two stages of an explicit step differ by."""

STABLE = 3.3
"""Step times the fastest rate up to which an explicit step is stable."""

BOUNDARY = 2.5
"""The same from which on it is held up by its stability."""

ENOUGH_SIGNS = 4
"""Signs of stiffness after which stabilised steps take over; a step with a sign counts two, one
without takes one off, since a step at its boundary hovers about it."""

LONGER = 2.5
"""How much longer the first stabilised step is than the last ordinary one."""

PAYS = 1.8
"""How much longer stabilised steps have to be: they cost 1.7 times as much."""

LONGEST = 4.0
"""Longest stabilised step over the ordinary ones before it, which their stability held up: its own
ends at 13.9."""

PATIENCE = 4_000
"""Steps after which a run is asked whether it is stiff: those of a bay have some hundreds."""

ENOUGH_HINTS = 30
"""Hints of stiffness that are believed; a step with a sign, or one that is stabilised, counts two,
one without takes one off. One that had to be shortened counts, too: where all but stands still,
its stages soon leave what gas can be."""

LOST_HINTS = 10
"""Hints that an implicit step takes off which ends in no numbers at all."""

FIRST_PAUSE = 2_000
"""Explicit steps after which a run that left the implicit ones is asked again; twice as many each
time that they did not pay."""

LAST_PAUSE = 8_000
"""The longest such pause."""


@compiled
def whole_size(m: int, w: Workspace) -> float:
    """Return the size of a state; of a zone's mass or energy that of the larger zone beside it.

    What goes to and fro in a zone that is all but gone would hide the rate of all others.
    """
    k, own = divmod(m - at.VOLUMES, at.PER_VOLUME)
    if m < at.VOLUMES or k >= w.work.shape[0]:
        return size_of(m, w)
    i = m - own
    if own == at.U_1 or own == at.U_2:
        return max(size_of(i + at.U_1, w), size_of(i + at.U_2, w))
    if own == at.M_B or own == at.M_A1 or own == at.M_A2:
        gas = max(size_of(i + at.M_B, w), size_of(i + at.M_A1, w))
        return max(gas, size_of(i + at.M_A2, w))
    return size_of(m, w)


@compiled
def fastest_rate(w: Workspace) -> float:
    """Return about the fastest rate of what dies away, times the explicit step that has just ended.

    The rates at the last two stages belong to the same time: what they differ by over what their
    states differ by is about the fastest rate. All rates of the step must still be there.
    """
    k = w.rates
    faster, farther = 0.0, 0.0
    for m in range(w.jacobian.shape[0]):
        weight = 1.0 / whole_size(m, w)
        apart = (
            APART[0] * k[0, m] + APART[1] * k[1, m] + APART[2] * k[2, m] + APART[3] * k[3, m]
            + APART[4] * k[4, m] + APART[5] * k[5, m]
        )  # fmt: skip
        faster += (weight * (k[LAST, m] - k[5, m])) ** 2
        farther += (weight * apart) ** 2
    # both lack the length of the step: the ratio has it
    return math.sqrt(faster / farther) if farther > 0.0 else 0.0


@compiled
def take_ordinary_steps(w: Workspace) -> None:
    """Take ordinary steps again, unless the implicit ones are at work."""
    w.method[SIGNS] = 0
    if w.method[KIND] == STABILISED:
        w.method[KIND] = EXPLICIT


@compiled
def watch_stiffness(h: float, error: float, w: Workspace) -> None:
    """Count a step of length h, and change to the kind of step that gets on faster.

    Its error is over what is allowed: a step beyond 1 was thrown away.

    Stabilised steps take over wherever stability holds the ordinary ones up, as long as they are
    enough longer; implicit ones, which cost far more, once the run proves stiff. These give way for
    a while where they are not as much longer as they cost, and where they leave what gas can be
    however short they are, beside a zone that is all but empty.
    """
    method = w.method
    method[TRIED] += 1
    kind = method[KIND]
    shortened = not error <= 1.0
    sign = kind == STABILISED or shortened
    if kind == EXPLICIT and not shortened:
        fastest = fastest_rate(w)
        sign = fastest > BOUNDARY
        method[SIGNS] = max(method[SIGNS] + (2 if sign else -1), 0)
        if method[SIGNS] >= ENOUGH_SIGNS:
            method[KIND], w.pace[0] = STABILISED, h * min(STABLE / fastest, 1.0)
    elif kind == STABILISED and h < PAYS * w.pace[0]:
        take_ordinary_steps(w)
    if kind == IMPLICIT:
        n = w.jacobian.shape[0]
        pays = h * EXPLICIT_WORK > w.pace[0] * (n + implicit_work(n))
        method[HINTS] += -LOST_HINTS if not np.isfinite(error) else 1 if pays else -1
        method[HINTS] = min(method[HINTS], ENOUGH_HINTS)
        if method[HINTS] <= 0:
            method[PAUSE] = min(max(2 * method[PAUSE], FIRST_PAUSE), LAST_PAUSE)
            method[KIND], method[TRIED], method[HINTS] = EXPLICIT, PATIENCE - method[PAUSE], 0
    elif method[TRIED] >= PATIENCE:
        method[HINTS] = max(method[HINTS] + (2 if sign else -1), 0)
        if method[HINTS] >= ENOUGH_HINTS:
            work = STABILISED_WORK if kind == STABILISED else EXPLICIT_WORK
            method[KIND], w.pace[0] = IMPLICIT, h * EXPLICIT_WORK / work


@compiled
def next_step(kind: int, h: float, w: Workspace) -> float:
    """Return how long the next step shall be, after one of a kind that asks for length h."""
    if w.method[KIND] == kind:
        return min(h, LONGEST * w.pace[0]) if kind == STABILISED else h
    if w.method[KIND] == STABILISED:
        return LONGER * h
    return min(h, w.pace[0]) if kind == STABILISED else h
