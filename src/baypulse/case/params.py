"""From the model of a case to the floats of the core: the one crossing between them.

A single shot and the members of an ensemble cross here by the same formulas: a number of the case
may be an array of shape (members,), and what follows from it is one then.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from baypulse.case import geometry, library, openings
from baypulse.case.charge_fields import charge_fields, grain_sizes
from baypulse.case.cord_fields import cord_fields
from baypulse.case.geometry import Array, Floats, each, first_given, for_each_pin, side_by_side
from baypulse.case.materials import SurfaceData
from baypulse.case.model import Case
from baypulse.case.openings import OpeningRow, hole_area
from baypulse.case.spaces import pack_fields, packed, spaces, void_volume
from baypulse.constants import STANDARD_GRAVITY
from baypulse.engine import layout as at
from baypulse.engine.parameters import (
    ALWAYS,
    ANNULUS,
    FROM_SOURCE,
    LIP,
    NEVER,
    OUTSIDE,
    PAST,
    PER_VOLUME,
    PORES,
    PORES_OUT,
    ROUND,
    SHOULDER,
    SLOT,
    Parameters,
)
from baypulse.engine.slow import Network
from baypulse.physics import gas, heat

SEED = 1e-6
"""Share of a volume's air that starts in the zone that is empty, so that it has a temperature."""

LEAK_DISCHARGE = 0.6
"""Discharge coefficient of the mouth of the gap around the shoulder, and of the opening joint;
estimate, as of a sharp hole."""


CLOTH_FACES = 2.0
"""Exposed cloth, in bore areas, where no area was measured; estimate."""


STILL_CONVECTION = 5.0
"""Heat transfer coefficient of still air at a wall [W/m^2/K]; free convection of gases is 2 to 25
in Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 1.1 (from memory)."""

LEAST_MASS = 1e-4
"""Of contents [kg]: a member that drew less keeps a body."""

BAY = 0
"""Place of the bay among the volumes."""
ELECTRONICS = 1
"""Place of the electronics bay, where there is one."""
BEHIND = "behind the contents"
"""What the space behind the contents is called."""
AHEAD = "ahead of the contents"
"""What the space ahead of them is called."""


def parameters(case: Case) -> Parameters:
    """Turn a case into what the compiled core is given.

    Parameters
    ----------
    case : Case
        Validated case.

    Returns
    -------
    baypulse.engine.parameters.Parameters
        SI floats and arrays; the members, where there are any, are the first axis of each.
    """
    p, T = geometry.air(case)
    fields: dict[str, Any] = {"p_ambient": p, "T_ambient": T}
    fields |= charge_fields(case, p)
    fields |= _volumes(case, fields, p, T)
    fields |= _openings(case)
    fields |= _surfaces(case)
    fields |= _joint(case)
    fields |= _bodies(case)
    fields |= cord_fields(case)
    fields |= pack_fields(case, p, T, LEAK_DISCHARGE)
    return Parameters(**fields)


def pin_tears_wall(case: Case) -> bool:
    """Say whether the tube tears at a pin's hole before that pin shears in a shot.

    Nobody has told us how card or laminate gain with the loading rate, so the hole counts as slow
    here, against a pin that is quick: a warning too many. Of members, an array of shape (members,).
    """
    if case.pins is None:
        return False
    hole = for_each_pin(case.pins.count, bearing_strength(case))
    tears: Any = (hole < geometry.shot_pin_strengths(case)).any(axis=-1)
    return tears if tears.ndim else bool(tears)


def slow_pins(case: Case) -> Array:
    """Return the force at which each pin or its hole gives way in a slow pull [N].

    It is what a pin can be counted on to hold.

    Returns
    -------
    ndarray, shape (pins,) or (members, pins)
        Empty without pins.
    """
    if case.pins is None:
        return np.zeros(0)
    hole = for_each_pin(case.pins.count, bearing_strength(case))
    return np.minimum(geometry.pin_strengths(case), hole)


def shot_pins(case: Case) -> Array:
    """Return the force at which each pin or its hole gives way in a shot [N].

    It is what the gas must break, so a hole is taken to gain with the loading rate as its pin does:
    a hole that stayed slow would let the joint off too lightly.

    Returns
    -------
    ndarray, shape (pins,) or (members, pins)
        Empty without pins.
    """
    slow = slow_pins(case)
    if case.pins is None:
        return slow
    return slow * for_each_pin(case.pins.count, geometry.rate_gain(case))


def bearing_strength(case: Case) -> float:
    """Return the force at which one pin tears its hole: stress, times diameter and wall [N]."""
    assert case.pins is not None
    diameter = library.thread(case.pins.thread, case.materials).major_diameter
    stress = library.wall(case.bay.wall, case.materials).bearing_strength
    return stress * diameter * case.bay.wall_thickness


def _air_in(volume: float, p: float, T: float) -> Array:
    mass = p * volume / (gas.AIR_R * T)
    u = each(gas.specific_energy, T, gas.AIR_C0, gas.AIR_C1)
    seed, rest = SEED * mass, (1.0 - SEED) * mass
    return _states({at.M_A1: seed, at.U_1: seed * u, at.M_A2: rest, at.U_2: rest * u})


def _states(held: dict[int, Any]) -> Array:
    """Return the states of a volume, nothing but what is given."""
    return side_by_side([held.get(n, 0.0) for n in range(PER_VOLUME)])


def _volumes(case: Case, charge: dict[str, Any], p: float, T: float) -> dict[str, Any]:
    grains = charge["charge_mass"] * charge["specific_volume"]
    loose = grains if case.holder is None else 0.0
    names = volume_names(case)
    chamber = _chamber(case)
    ahead, behind = spaces(case)
    volume = [ahead]
    initial = [_air_in(ahead - (loose if chamber == BAY else 0.0), p, T)]
    if case.electronics is not None:
        volume.append(case.electronics.volume)
        initial.append(_air_in(case.electronics.volume, p, T))
    if packed(case):
        pores = void_volume(case)
        volume += [behind, pores]
        initial.append(_air_in(behind - (loose if chamber != BAY else 0.0), p, T))
        initial.append(_air_in(pores, p, T))
    if case.holder is not None:
        volume.append(case.holder.volume)
        initial.append(_air_in(case.holder.volume - grains, p, T))
    if case.cold_gas is not None:
        R, c0, c1 = charge["gas"][:3]
        reservoir = case.cold_gas
        filled_to = reservoir.pressure * case.bay.model_agreement
        mass = (filled_to + p) * reservoir.volume / (R * T)
        volume.append(reservoir.volume)
        energy = mass * each(gas.specific_energy, T, c0, c1)
        seed = _air_in(SEED * reservoir.volume, p, T)
        filled = {at.M_B: mass, at.U_1: energy}
        filled |= {n: seed[..., n] for n in (at.M_A2, at.U_2)}
        initial.append(_states(filled))
    start = np.stack(np.broadcast_arrays(*initial), axis=-2)
    if case.powder is not None:
        start[..., _source(case) if case.holder is not None else chamber, at.GRAINS] = 1.0
    # the tube is stirred over its bore; of any other volume only the size is known
    sections = [
        geometry.bore_area(case) if name in ("bay", BEHIND) else np.cbrt(v) ** 2
        for name, v in zip(names, volume, strict=True)
    ]
    return {
        "volume": side_by_side(volume),
        "cross_section": side_by_side(sections),
        "initial": start,
        "bay": BAY,
        "back": _behind(case),
        "voids": _behind(case) + 1 if packed(case) else OUTSIDE,
        "chamber": chamber,
        "source": _source(case),
        "electronics": OUTSIDE if case.electronics is None else ELECTRONICS,
        "mixing_time": first_given(case.bay.mixing_time),
        "entrainment": case.bay.entrainment,
        "zone_floor": np.maximum(SEED * start[..., at.M_A2], 1e-15),
    }


def _behind(case: Case) -> int:
    """Return the place of the space behind the contents, or OUTSIDE without them."""
    return volume_names(case).index(BEHIND) if packed(case) else OUTSIDE


def _chamber(case: Case) -> int:
    """Return the place of the space that the charge is in."""
    if case.contents is None or not packed(case) or case.contents.charge_side == "ahead":
        return BAY
    return _behind(case)


def _end(case: Case, one: str, other: str) -> int:
    """Return the volume at one end of an opening that the case describes.

    Wires come through the bulkhead, behind the contents; what leads outside is taken to be on the
    side of the charge, where it lets out most.
    """
    if one == "outside":
        return OUTSIDE
    if one == "bay" and packed(case):
        return _behind(case) if other == "electronics" else _chamber(case)
    return volume_names(case).index(one)


def _opening_rows(case: Case) -> list[OpeningRow]:
    """Return every opening."""
    chamber = _chamber(case)
    rows = [
        openings.row(o, _end(case, o.between, o.to), _end(case, o.to, o.between))
        for o in case.openings
    ]
    gap = case.joint.clearance
    around = math.pi * case.bay.bore * gap
    rows.append(
        OpeningRow("clearance", BAY, OUTSIDE, around, SHOULDER, gap, discharge=LEAK_DISCHARGE)
    )
    rows.append(OpeningRow("opened joint", BAY, OUTSIDE, LEAK_DISCHARGE, ANNULUS))
    if case.holder is not None:
        area = hole_area(case.holder.discharge, case.holder.opening)
        rows.append(OpeningRow("holder", _source(case), chamber, area, FROM_SOURCE))
    if case.cold_gas is not None:
        area = hole_area(case.cold_gas.discharge, case.cold_gas.orifice)
        rows.append(OpeningRow("orifice", _source(case), chamber, area, FROM_SOURCE))
    if packed(case):
        bore, back = geometry.bore_area(case), _behind(case)
        gap = library.pack(geometry.tightness(case), case.materials).gap
        around = math.pi * case.bay.bore * gap
        rows += [
            OpeningRow("left tube", back, OUTSIDE, LEAK_DISCHARGE, LIP),
            OpeningRow("past the contents", back, OUTSIDE, around, PAST, gap),
            OpeningRow("round the contents", back, BAY, around, ROUND, gap),
            OpeningRow("into the contents", back, back + 1, bore, PORES),
            OpeningRow("through the contents", back + 1, BAY, bore, PORES),
            OpeningRow("out of the contents", back + 1, OUTSIDE, bore, PORES_OUT),
        ]
    return rows


def _openings(case: Case) -> dict[str, Any]:
    rows = _opening_rows(case)
    _, one, two, areas, kinds, gaps, lengths, discharges = zip(*rows, strict=True)
    return {
        "opening_from": np.array(one, dtype=np.int64),
        "opening_to": np.array(two, dtype=np.int64),
        "opening_area": side_by_side(areas),
        "opening_kind": np.array(kinds, dtype=np.int64),
        "opening_carry": side_by_side([_carried(case, row) for row in rows]),
        "opening_gap": side_by_side(gaps),
        "opening_length": side_by_side(lengths),
        "opening_discharge": side_by_side(discharges),
    }


def _carried(case: Case, row: OpeningRow) -> Floats:
    """Return the grains carried through an opening, over those that the gas would carry.

    What bursts throws out all that is in it. Through a slot, and round the contents, only
    grains go that are thinner than the gap, of a window of sizes even by mass; through cloth, none.
    """
    _, _, _, _, kind, gap, _, _ = row
    if kind == FROM_SOURCE:
        return 1.0
    if case.powder is None or kind in (PORES, PORES_OUT):
        return 0.0
    share = library.packing(case.powder.packing, case.materials).carried_share
    if kind not in (SLOT, SHOULDER, ROUND, PAST):
        return share
    low, high = grain_sizes(case.powder, library.powder(case.powder.grade, case.materials))
    return share * np.clip((gap - low) / (high - low), 0.0, 1.0)


def opening_names(case: Case) -> list[str]:
    """Return a name for each opening of :func:`parameters`, in its order."""
    return [row.name for row in _opening_rows(case)]


def volume_names(case: Case) -> list[str]:
    """Return a name for each volume of :func:`parameters`, in its order."""
    names = ["bay"]
    if case.electronics is not None:
        names.append("electronics")
    if packed(case):
        names += [BEHIND, "voids"]
    if case.holder is not None:
        names.append("holder")
    if case.cold_gas is not None:
        names.append("reservoir")
    return names


def slow_network(case: Case) -> Network:
    """Return the bay, and the electronics bay where there is one, as volumes of still air.

    Holder and reservoir are closed until the shot, and take their space away.

    Parameters
    ----------
    case : Case
        A single one; its air is that in which the walls became as warm as they are.

    Returns
    -------
    baypulse.engine.slow.Network
        Bay first.
    """
    volume = [geometry.free_volume(case).total]
    # wall, ends and cloth of the bay, of which all is as warm as the wall
    wall = [float(_surfaces(case)["surface_area"].sum())]
    if case.electronics is not None:
        volume.append(case.electronics.volume)
        # the least area that a box of this volume has
        wall.append(6.0 * case.electronics.volume ** (2.0 / 3.0))
    # nothing has moved yet: the gap of the shoulder is as long as the shoulder, and in still air
    # the contents divide nothing
    still = _opening_rows(replace(case, contents=None))
    rows = [row for row in still if row.kind in (ALWAYS, SLOT, SHOULDER)]
    length = case.joint.shoulder_length
    slots = [(r.gap, length if r.kind == SHOULDER else r.length, r.discharge) for r in rows]
    return Network(
        volume=np.array(volume, dtype=float),
        opening_from=np.array([row.one for row in rows], dtype=np.int64),
        opening_to=np.array([row.two for row in rows], dtype=np.int64),
        opening_area=np.array([row.area for row in rows], dtype=float),
        opening_slot=np.array(slots, dtype=float),
        wall_area=np.array(wall, dtype=float),
        convection=STILL_CONVECTION,
        wall_temperature=geometry.air(case)[1],
    )


def _source(case: Case) -> int:
    """Return the place of the holder or reservoir, the last volume, or OUTSIDE without one."""
    loose = case.holder is None and case.cold_gas is None
    return OUTSIDE if loose else len(volume_names(case)) - 1


def surface_names(case: Case) -> list[str]:
    """Return a name for each surface of :func:`parameters`, in its order."""
    behind = [f"wall {BEHIND}", "cloth", "cloth behind"]
    return ["wall"] + (behind if packed(case) else [])


def _effusivity(data: SurfaceData) -> float:
    """Return sqrt(k rho c) [J/m^2/K/sqrt(s)]."""
    return np.sqrt(data.conductivity * data.density * data.heat_capacity)


@cache
def _skin() -> tuple[Array, Array, float]:
    """Return the numbers of the semi-infinite solid, which no case changes."""
    return heat.skin_kernel()


def _surfaces(case: Case) -> dict[str, Any]:
    bore = case.bay.bore
    area = geometry.bore_area(case)
    wall = library.wall(case.bay.wall, case.materials)
    surfaces: list[SurfaceData] = [wall]
    if not packed(case):
        # the free volume as a cylinder of the bore: its wall and both its ends
        length = geometry.free_volume(case).total / area
        places, growths = [BAY], [math.pi * bore]
        areas = [math.pi * bore * length + 2.0 * area]
    else:
        assert case.contents is not None
        # a cylinder on either side of the contents, each with one end of wall and one of cloth
        cloth = library.cloth(case.contents.cloth, case.materials)
        exposed = case.contents.exposed_area
        exposed = 0.5 * (CLOTH_FACES * area if exposed is None else exposed)
        surfaces += [wall, cloth, cloth]
        places = [BAY, _behind(case)] * 2
        areas = [math.pi * bore * v / area + area for v in spaces(case)]
        areas += [cloth.exposure * exposed] * 2
        growths = [math.pi * bore] * 2 + [0.0] * 2
    # a clear cold gas does not radiate
    shine = 0.0 if case.powder is None else 1.0
    rates, weights, instant = _skin()
    return {
        "surface_volume": np.array(places, dtype=np.int64),
        "surface_area": side_by_side(areas),
        "surface_growth": side_by_side(growths),
        "surface_emissivity": side_by_side([shine * s.emissivity for s in surfaces]),
        "surface_convection": side_by_side([s.convection for s in surfaces]),
        "surface_effusivity": side_by_side([_effusivity(s) for s in surfaces]),
        "skin_rates": rates,
        "skin_weights": weights,
        "skin_instant": instant,
    }


def _joint(case: Case) -> dict[str, Any]:
    pins = case.pins
    if pins is None:
        held = dict.fromkeys(("pin_strength", "pin_gap", "pin_rise", "pin_fail"), np.zeros(0))
    else:
        held = {
            "pin_strength": shot_pins(case),
            "pin_gap": for_each_pin(pins.count, pins.clearance),
            "pin_rise": for_each_pin(pins.count, pins.rise),
            "pin_fail": for_each_pin(pins.count, pins.failure_travel),
        }
    return held | {
        "bore": case.bay.bore,
        "stroke": case.joint.shoulder_length,
        "friction": geometry.static_friction(case),
        "sliding_ratio": case.joint.sliding_ratio,
        "seal_drag": case.joint.seal_drag,
    }


def _bodies(case: Case) -> dict[str, Any]:
    g = STANDARD_GRAVITY
    across = g * np.cos(case.setting.attitude)
    contents: Floats = 0.0
    if case.contents is not None and packed(case):
        contents = np.maximum(case.contents.mass, LEAST_MASS)
    whole = case.nose.mass + case.airframe.mass + contents
    flight = case.setting.kind == "flight"
    stand = {
        "clamped": NEVER,
        "stand": case.setting.stand_friction * whole * across,
        "flight": 0.0,
    }[case.setting.kind]
    return {
        "nose_mass": case.nose.mass,
        "airframe_mass": case.airframe.mass,
        "contents_mass": contents,
        "along_gravity": g * np.sin(case.setting.attitude),
        "nose_drag": case.nose.drag if flight else 0.0,
        "airframe_drag": case.airframe.drag if flight else 0.0,
        "stand_friction": stand,
        "ground_friction": 0.0 if flight else case.setting.ground_friction * across,
    }
