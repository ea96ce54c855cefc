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
from baypulse.engine.rosenbrock import implicit_work
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
def whole_sizes(volumes: int, end: np.ndarray, scale: np.ndarray, out: np.ndarray) -> None:
    """Write the sizes of the states at the end of a step, or of several side by side.

    Of a zone's mass or energy it is that of the larger zone beside it: what goes to and fro in a
    zone that is all but gone would hide the rate of all others.
    """
    for m in range(out.shape[0]):
        out[m] = max(abs(end[m]), scale[m])
    for k in range(volumes):
        i = at.VOLUMES + at.PER_VOLUME * k
        energy = max(out[i + at.U_1], out[i + at.U_2])
        mass = max(max(out[i + at.M_B], out[i + at.M_A1]), out[i + at.M_A2])
        out[i + at.U_1], out[i + at.U_2] = energy, energy
        out[i + at.M_B], out[i + at.M_A1], out[i + at.M_A2] = mass, mass, mass


@compiled
def fastest_rate(w: Workspace) -> float:
    """Return about the fastest rate of what dies away, times the explicit step that has just ended.

    The rates at the last two stages belong to the same time: what they differ by over what their
    states differ by is about the fastest rate. All rates of the step must still be there.
    """
    k, size, faster, farther = w.rates, w.stages[0], w.stages[1], w.stages[2]
    k1, k2, k3, k4, k5, k6, k7 = k[0], k[1], k[2], k[3], k[4], k[5], k[LAST]
    n = w.jacobian.shape[0]
    whole_sizes(w.work.shape[0], w.end, w.scale, size)
    for m in range(n):
        apart = (
            APART[0] * k1[m] + APART[1] * k2[m] + APART[2] * k3[m] + APART[3] * k4[m]
            + APART[4] * k5[m] + APART[5] * k6[m]
        )  # fmt: skip
        faster[m] = ((k7[m] - k6[m]) / size[m]) ** 2
        farther[m] = (apart / size[m]) ** 2
    above, below = 0.0, 0.0
    for m in range(n):
        above += faster[m]
        below += farther[m]
    # both lack the length of the step: the ratio has it
    return math.sqrt(above / below) if below > 0.0 else 0.0


@compiled
def take_ordinary_steps(w: Workspace) -> None:
    """Take ordinary steps again, unless the implicit ones are at work."""
    w.method[SIGNS] = 0
    if w.method[KIND] == STABILISED:
        w.method[KIND] = EXPLICIT


@compiled
def watch_stiffness(h: float, error: float, fastest: float, w: Workspace) -> None:
    """Count a step of length h, and change to the kind of step that gets on faster.

    Its error is over what is allowed: a step beyond 1 was thrown away. The fastest rate is that of
    :func:`fastest_rate`, of an ordinary step that was kept.

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
