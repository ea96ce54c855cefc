"""Numbers that an inert test reads off a bay, as every member has them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from baypulse.case import geometry, library, params, units
from baypulse.case.casefile.keys import value_at
from baypulse.case.model import Case
from baypulse.case.openings import hole_area
from baypulse.constants import AIR_GAS_CONSTANT
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import PLACES, vents
from baypulse.physics import flow, slot
from baypulse.run.pumped_bay import isothermal_time, vessel_of

Array = np.ndarray

PUMPED = units.parse("3 psig", "gauge pressure")
"""Gauge pressure at which the leak-down test begins [Pa]."""

LEFT = units.parse("1.5 psig", "gauge pressure")
"""Gauge pressure at which it ends [Pa]."""

TIGHT = 1e-12
"""Effective area that no leak-down test tells from none [m^2]."""

NOT_LIT = 1e-3
"""Share of a charge below which an igniter is taken for dead."""

NEVER = 1e3
"""Time in which an igniter that is dead would fire [s]."""


@dataclass(frozen=True)
class BayNumber:
    """A number of a bay.

    Attributes
    ----------
    label : str
        In words.
    dimension : str
        One of :data:`baypulse.case.units.DIMENSIONS`.
    read : callable
        From the case that members scatter about, and the same with their values in it, to the true
        value [SI], shape (members,) or ().
    """

    label: str
    dimension: str
    read: Callable[[Case, Case], Any]


def read(name: str, members: CauseEnsemble) -> Array:
    """Return the true value of a number for every member, shape (members,) [SI].

    Parameters
    ----------
    name : str
        One of :data:`READINGS`.
    members : CauseEnsemble
        Of a case that has such a number.
    """
    value = READINGS[name].read(members.case, members.drawn)
    return np.broadcast_to(np.asarray(value, dtype=float), (members.members,)).copy()


def _friction(_: Case, drawn: Case) -> Any:
    return geometry.static_friction(drawn) + drawn.joint.seal_drag


def _hold(case: Case, drawn: Case) -> Any:
    """Return the force that parts the joint slowly: friction, and all pins at once."""
    assert case.pins is not None
    return _friction(case, drawn) + params.slow_pins(drawn).sum(axis=-1)


def _leak_time(case: Case, drawn: Case) -> Any:
    """Return the time of a fall at one temperature, through the gap and the holes together."""
    vessel = vessel_of(case)
    # the places of the causes stand last; the case's own holes are plugged
    holes = sum(hole_area(each.discharge, each.hole_diameter) * each.count
                for each in drawn.openings[-len(PLACES) :])  # fmt: skip
    holes = np.maximum(holes, TIGHT)
    gap, length = drawn.joint.clearance, drawn.joint.shoulder_length
    around = math.pi * drawn.bay.bore * np.asarray(gap)
    p_down, T, g = vessel.pressure, vessel.temperature, vessel.heat_capacity_ratio

    def out(p: float, rho: float) -> Any:
        through = geometry.each(
            slot.slot_flux, p, rho, p_down, g, AIR_GAS_CONSTANT, gap, length, T,
            params.LEAK_DISCHARGE,
        )  # fmt: skip
        return around * through + holes * flow.mass_flux(p, rho, p_down, g)

    # the volume scatters too
    time = isothermal_time(vessel, PUMPED, LEFT, out)
    return time * geometry.free_volume(drawn).total / vessel.volume


def _vents(case: Case, drawn: Case) -> Any:
    """Return the diameter of the single hole that has the area of all vents."""
    squares = [
        drawn.openings[k].count * np.asarray(drawn.openings[k].diameter) ** 2 for k in vents(case)
    ]
    return np.sqrt(sum(squares))


def _grain(_: Case, drawn: Case) -> Any:
    charge = drawn.powder
    assert charge is not None
    data = library.powder(charge.grade, drawn.materials)
    return geometry.first_given(charge.largest_grain, data.largest_grain)


def _ignition(_: Case, drawn: Case) -> Any:
    charge = drawn.powder
    assert charge is not None
    ceiling = 1.0 if charge.burnable_fraction is None else charge.burnable_fraction
    return np.where(np.asarray(ceiling) < NOT_LIT, NEVER, charge.ignition_delay)


def _at(path: str) -> Callable[[Case, Case], Any]:
    """Return what reads a number of the case as it stands there."""
    return lambda _, drawn: value_at(drawn, path)


READINGS: dict[str, BayNumber] = {
    "charge": BayNumber("mass of the charge", "mass", _at("powder.mass")),
    "friction": BayNumber("pull without pins", "force", _friction),
    "hold": BayNumber("pull with pins", "force", _hold),
    "leak-down time": BayNumber("time from 3 to 1.5 psi", "time", _leak_time),
    "vents": BayNumber("all vents as one hole", "length", _vents),
    "free volume": BayNumber(
        "free volume", "volume", lambda _, drawn: geometry.free_volume(drawn).total
    ),
    "extraction force": BayNumber(
        "pull that draws the pack out",
        "force",
        lambda _, drawn: geometry.extraction_force(drawn),
    ),
    "free cord": BayNumber("cord that runs free", "length", _at("cord.length")),
    "pin clearance": BayNumber("play of a pin in its hole", "length", _at("pins.clearance")),
    "moisture": BayNumber("water in the powder", "ratio", _at("powder.moisture")),
    "grain size": BayNumber("largest grains", "length", _grain),
    "holder burst": BayNumber(
        "pressure that opens the holder", "gauge pressure", _at("holder.burst")
    ),
    "reservoir": BayNumber("pressure of the reservoir", "gauge pressure", _at("cold_gas.pressure")),
    "ignition time": BayNumber("time from current to flame", "time", _ignition),
}
"""Every number that a test of the list reads."""
