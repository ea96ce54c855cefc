"""A case's slots as holes: what effective area passes as much cold air at a given pressure.

A slot has no effective area of its own: thin ones are laminar, and pass more of a high pressure
than a hole does, less of a low one. So each use says at which pressure.
"""

from __future__ import annotations

import math

from baypulse.case import geometry, openings, params
from baypulse.case.geometry import Floats
from baypulse.case.model import Case, Opening


def gap_area(case: Case, gauge: Floats) -> Floats:
    """Return the effective area of the gap around the closed shoulder [m^2].

    Parameters
    ----------
    case : Case
        A single one, or one with members.
    gauge : float or ndarray
        Gauge pressure in the bay, above 0 [Pa].
    """
    gap = case.joint.clearance
    return math.pi * case.bay.bore * gap * _discharge(
        case, gauge, gap, case.joint.shoulder_length, params.LEAK_DISCHARGE
    )  # fmt: skip


def opening_area(case: Case, opening: Opening, gauge: Floats) -> Floats:
    """Return the effective area of an opening [m^2], of a hole at any pressure.

    Parameters
    ----------
    case : Case
        For the air outside.
    opening : Opening
        One of its openings.
    gauge : float or ndarray
        Gauge pressure on one side of it, above 0 [Pa].
    """
    row = openings.row(opening, 0, 0)
    if opening.gap is None:
        return row.area
    return row.area * _discharge(case, gauge, row.gap, row.length, row.discharge)


def _discharge(case: Case, gauge: Floats, gap: Floats, length: Floats, mouth: Floats) -> Floats:
    p, T = geometry.air(case)
    return openings.equal_discharge(p + gauge, p, T, gap, length, mouth)
