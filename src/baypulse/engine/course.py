"""The course of a member: what gauges and a camera would see of it, at both ends of every step.

Between two of its rows pressure and speeds are cubics through values and rates. That is a tenth of
what the points of a single run cost, which show all of it, and that members of an ensemble keep
none of.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine.workspace import NOTED, Workspace
from baypulse.physics.compiled import compiled

(
    TIME, PRESSURE, PRESSURE_RATE, TRAVEL, NOSE_SPEED, FRAME_SPEED, NOSE_GROWTH, FRAME_GROWTH,
    COURSE,
) = range(9)  # fmt: skip
"""Of a row: time [s], gauge pressure where the charge burns [Pa] and its rate [Pa/s], travel [m],
speeds of nose and airframe towards the nose [m/s] and their rates [m/s^2]; how many numbers these
are."""


@compiled
def note_row(t: float, y: np.ndarray, rate: np.ndarray, P: np.record, w: Workspace) -> None:
    """Note a row of the course, where one is kept; tables must be those of the state y."""
    n = w.method[NOTED]
    if n >= w.course.shape[0]:
        return
    row = w.course[n]
    row[TIME], row[TRAVEL] = t, y[at.NOSE_X] - y[at.FRAME_X]
    row[NOSE_SPEED], row[FRAME_SPEED] = y[at.NOSE_V], y[at.FRAME_V]
    row[NOSE_GROWTH], row[FRAME_GROWTH] = rate[at.NOSE_V], rate[at.FRAME_V]
    row[PRESSURE], row[PRESSURE_RATE] = 0.0, 0.0
    if gasside.lives(P.chamber, w.modes, P):
        row[PRESSURE] = w.work[P.chamber, gasside.P_] - P.p_ambient
        row[PRESSURE_RATE] = w.work[P.chamber, gasside.DP]
    w.method[NOTED] = n + 1


@compiled
def is_full(w: Workspace) -> bool:
    """Say whether a course has no room for a step that ends at an event and what begins there."""
    room = w.course.shape[0]
    return room > 0 and w.method[NOTED] + 2 > room
