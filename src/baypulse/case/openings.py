"""Openings as the core gets them: holes by an effective area, slots by what can be measured.

Numbers may be arrays of members, as everywhere on the way from the case to the core.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from baypulse.case.geometry import Floats, each
from baypulse.case.model import Opening
from baypulse.engine.parameters import ALWAYS, SLOT
from baypulse.physics import flow, gas, slot


class OpeningRow(NamedTuple):
    """One opening: a name, and its fields of :class:`baypulse.engine.parameters.Parameters`."""

    name: str
    one: int
    two: int
    area: Floats
    kind: int
    gap: Floats = 0.0
    length: Floats = 0.0
    discharge: Floats = 0.0


def hole_area(discharge: Floats, diameter: Floats) -> Floats:
    """Return the effective area of a round hole, Cd pi d^2/4 [m^2]."""
    return discharge * 0.25 * math.pi * diameter**2


def hole_diameter(discharge: Floats, area: Floats) -> Floats:
    """Return the diameter of the round hole that has an effective area [m]."""
    return np.sqrt(4.0 * area / (math.pi * discharge))


def row(opening: Opening, one: int, two: int) -> OpeningRow:
    """Return an opening of a case between two volumes.

    Parameters
    ----------
    opening : Opening
        A hole, or a slot.
    one, two : int
        Places of the volumes, or OUTSIDE.
    """
    if opening.gap is None:
        area = opening.count * hole_area(opening.discharge, opening.hole_diameter)
        return OpeningRow(opening.name, one, two, area, ALWAYS)
    assert opening.width is not None and opening.length is not None
    area = opening.count * opening.width * opening.gap
    size = (opening.gap, opening.length, opening.discharge)
    return OpeningRow(opening.name, one, two, area, SLOT, *size)


def equal_discharge(
    p_up: Floats, p_down: Floats, T: Floats, gap: Floats, length: Floats, discharge: Floats
) -> Floats:
    """Return the discharge coefficient of a hole that passes as much air as a slot of its area.

    It holds at these pressures only: a thin slot passes more of a higher one than a hole does.

    Parameters
    ----------
    p_up, p_down : float
        Absolute pressures [Pa], p_up above p_down.
    T : float
        Of air and slot [K].
    gap, length, discharge : float
        As of :func:`baypulse.physics.slot.slot_flux`.
    """
    g = 1.0 + gas.AIR_R / (gas.AIR_C0 + gas.AIR_C1 * T)
    rho = p_up / (gas.AIR_R * T)
    through = each(slot.slot_flux, p_up, rho, p_down, g, gas.AIR_R, gap, length, T, discharge)
    return through / each(flow.mass_flux, p_up, rho, p_down, g)
