"""The same bay elsewhere: on the ground at home, and at apogee, one difference at a time.

At apogee the air is that of the standard atmosphere, colder by as much as a cold day at home is
(a warm one is not counted: cold pins hold more); both sections are free and weightless with
respect to each other, and everything that was measured at home is carried over: powder, pins, cord
and a sealed reservoir are as cold as the air there. Powder whose temperature the case gives keeps
it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from baypulse.case import charge_fields, cord_fields, geometry, library
from baypulse.case.geometry import each
from baypulse.case.model import Case, Setting, Surroundings
from baypulse.members import draws
from baypulse.members.factors import LIBRARY, Factor, scatters
from baypulse.observed.same_day import at_pad, colder
from baypulse.physics import powder
from baypulse.physics.atmosphere import standard_atmosphere

AIR = "air"
"""Thin air in and around the bay."""

BURNING = "burning"
"""Powder that burns worse in thin air."""

COLD = "cold"
"""Cold air, gas and powder."""

PINS = "pins"
"""Cold pins."""

CORD = "cord"
"""A cold cord."""

FREE = "free"
"""Free sections in place of a clamp or a stand."""

EFFECTS = (AIR, BURNING, COLD, PINS, CORD, FREE)
"""What differs up there."""

_LEFT = ("surroundings.", "setting.")
"""Beginnings of the paths that do not scatter up there."""


def at_home(case: Case) -> Case:
    """Return the ground test of a case: itself, unless it is in flight.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Case
        Of a case in flight one with the airframe clamped and level, in the air of the pad: its
        altitude by the case's table of the ascent, else sea level.
    """
    if case.setting.kind != "flight":
        return case
    held = replace(case.setting, kind="clamped", attitude=0.0)
    return replace(at_pad(case), setting=held, spreads=_kept(case))


def aloft(home: Case, altitude: float, effects: Collection[str] = EFFECTS) -> Case:
    """Return a case fired at apogee, with nothing scattering beyond what the file says.

    Parameters
    ----------
    home : Case
        From :func:`at_home`.
    altitude : float
        Of the apogee [m].
    effects : collection of str
        Which of :data:`EFFECTS` are there; without any of them it is fired as at home.

    Returns
    -------
    Case
        Numbers that the cold or the thin air changes are in their places; see :func:`changes` for
        members.
    """
    there = lifted(home, altitude, effects)
    return draws.member_case(there, changes(home, there, {}, effects))


def lifted(home: Case, altitude: float, effects: Collection[str] = EFFECTS) -> Case:
    """Return a case in the air and the setting of an altitude, all else as measured at home.

    Parameters
    ----------
    home, altitude, effects
        As for :func:`aloft`.
    """
    p_home, T_home = geometry.air(home)
    p, T = standard_atmosphere(altitude)
    T += colder(home)
    air = Surroundings(
        altitude=altitude,
        pressure=p if AIR in effects else p_home,
        temperature=T if COLD in effects else T_home,
    )
    free = Setting(kind="flight", attitude=0.0)
    setting = free if FREE in effects else home.setting
    return replace(home, surroundings=air, setting=setting, spreads=_kept(home))


def _kept(case: Case) -> dict[str, Any]:
    return {
        path: spread for path, spread in case.spreads.items() if not path.startswith(_LEFT)
    }  # fmt: skip


def changes(
    home: Case, there: Case, values: Mapping[str, Any], effects: Collection[str] = EFFECTS
) -> dict[str, Any]:
    """Return the numbers that differ up there although nothing at the bay was changed.

    Parameters
    ----------
    home : Case
        From :func:`at_home`.
    there : Case
        From :func:`lifted`.
    values : mapping
        What was drawn, by path (:func:`baypulse.members.draws.values`); empty for a single shot.
    effects : collection of str
        As for :func:`aloft`.

    Returns
    -------
    dict
        By path, floats or arrays of the members.
    """
    below = draws.member_case(home, values)
    above = draws.member_case(there, values)
    return {
        **_burning(below, above, BURNING in effects),
        **_reservoir(below, above),
        **_pins(below, above, PINS in effects),
        **_cord(below, above, CORD in effects),
    }


def cold_factors(home: Case) -> list[Factor]:
    """Return what scatters up there beyond what does by the case: how cold and thin air act.

    Of a number that was measured at home the library's number does not scatter, but what cold or
    thin air does to it does. The columns are of no meaning.

    Parameters
    ----------
    home : Case
        From :func:`at_home`.
    """
    places = []
    charge, pins = home.powder, home.pins
    if charge is not None and charge.burnable_fraction is not None and home.holder is None:
        names = ("thin_air_full", "thin_air_none")
        places += [library.address("powders", charge.grade, name) for name in names]
    if pins is not None and pins.strength is not None:
        places.append(library.address("pin materials", pins.material, "temperature_slope"))
    fibre = fibre_of(home)
    if fibre is not None:
        names = ("strength_slope", "stretch_slope")
        places += [library.address("fibres", fibre, name) for name in names]
    return [
        Factor(LIBRARY + place, place, (LIBRARY + place,), (0,))
        for place in places
        if scatters(home, place)
    ]


def fibre_of(case: Case) -> str | None:
    """Return the library's fibre of a case's cord; None without cord, or where none fits."""
    if case.cord is None:
        return None
    known = library.names("fibres")
    return next((name for name in known if name in case.cord.type), None)


def _burning(below: Case, above: Case, acts: bool) -> dict[str, Any]:
    """Return the burnt share of a charge whose share was measured, or must not change."""
    charge = above.powder
    if charge is None or above.holder is not None:
        return {}
    data = library.powder(charge.grade, above.materials)
    p_below, p_above = geometry.air(below)[0], geometry.air(above)[0]
    if not acts:
        return {
            "powder.burnable_fraction": charge_fields.burnable_fraction(
                charge, data, p_below, loose=True
            )
        }
    if charge.burnable_fraction is None:
        return {}
    none = np.minimum(data.thin_air_none, data.thin_air_full)
    full = np.maximum(data.thin_air_full, data.thin_air_none)
    here, there = (each(powder.thin_air_share, p, none, full) for p in (p_below, p_above))
    share = there / np.maximum(here, 1e-6)
    return {"powder.burnable_fraction": charge.burnable_fraction * np.minimum(share, 1.0)}


def _reservoir(below: Case, above: Case) -> dict[str, Any]:
    """Return the gauge pressure of a reservoir that was filled and closed at home."""
    if above.cold_gas is None:
        return {}
    return {"cold_gas.pressure": gauge_aloft(above.cold_gas.pressure, below, above)}


def gauge_aloft(pressure: Any, home: Case, there: Case) -> Any:
    """Return the gauge pressure aloft of a closed reservoir that was filled at home [Pa].

    An ideal gas at constant volume: (g + p_home) T/T_home - p.

    Parameters
    ----------
    pressure : float or ndarray
        Gauge pressure at home [Pa].
    home, there : Case
        Where it was filled and where it is fired.
    """
    (p0, T0), (p, T) = geometry.air(home), geometry.air(there)
    return (pressure + p0) * T / T0 - p


def gauge_at_home(pressure: float, home: Case, there: Case) -> float:
    """Return the gauge pressure to fill at home for one aloft; inverse of :func:`gauge_aloft`."""
    (p0, T0), (p, T) = geometry.air(home), geometry.air(there)
    return (pressure + p) * T0 / T - p0


def _pins(below: Case, above: Case, act: bool) -> dict[str, Any]:
    """Return the strength of pins that was measured, or must not change with the cold."""
    pins = above.pins
    if pins is None:
        return {}
    if not act:
        return {"pins.strength": geometry.pin_strengths(below)[..., 0]}
    if pins.strength is None:
        return {}
    material = library.pin_material(pins.material, above.materials)
    warmth = [
        np.maximum(
            1.0 + material.temperature_slope * (T - material.reference_temperature), 0.0
        )
        for T in (geometry.air(below)[1], geometry.air(above)[1])
    ]  # fmt: skip
    ratio = warmth[1] / np.maximum(warmth[0], 1e-6)
    if np.ndim(pins.strength) == 2 and np.ndim(ratio) == 1:
        ratio = ratio[:, None]
    return {"pins.strength": pins.strength * ratio}


def _cord(below: Case, above: Case, acts: bool) -> dict[str, Any]:
    """Return load and stretch at break of a cord as cold as the air."""
    fibre = fibre_of(above)
    if fibre is None or not acts:
        return {}
    data = cord_fields.cord_data(above)
    slopes = library.fibre(fibre, above.materials)
    colder = geometry.air(above)[1] - geometry.air(below)[1]

    def factor(slope: Any) -> Any:
        return np.maximum(1.0 + slope * colder, 0.1)

    return {
        "cord.break_load": data.break_load * factor(slopes.strength_slope),
        "cord.break_elongation": data.break_elongation * factor(slopes.stretch_slope),
    }
