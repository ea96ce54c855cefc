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

from baypulse import geometry, library, openings
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
from baypulse.geometry import Array, each, first_given, for_each_pin
from baypulse.materials import ClothData, CordData, PackingData, PowderData, WallData
from baypulse.model import Case, Powder
from baypulse.openings import Row, hole_area
from baypulse.physics import gas, heat, powder
from baypulse.spaces import pack_fields, packed, spaces, void_volume

SEED = 1e-6
"""Share of a volume's air that starts in the zone that is empty, so that it has a temperature."""

LEAK_DISCHARGE = 0.6
"""Discharge coefficient of the mouth of the gap around the shoulder, and of the opening joint;
estimate, as of a sharp hole."""

LATENT_HEAT = 2.45e6
"""Heat of evaporation of water at 20 degC [J/kg]; steam tables (from memory)."""

CLOTH_FACES = 2.0
"""Exposed cloth, in bore areas, where no area was measured; estimate."""

SALTS = (1e-6, 0.95)
"""Shares of the products between which salts are reckoned with: some gas, and never a division by
nothing."""

AFTERBURNING_STEP = 1.2
"""Temperature at which all that can burns in the air, over that at which it begins; estimate."""

STILL_CONVECTION = 5.0
"""Heat transfer coefficient of still air at a wall [W/m^2/K]; free convection of gases is 2 to 25
in Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 1.1 (from memory)."""

LEAST_MASS = 1e-4
"""Of contents [kg]: a member that drew less keeps a body."""

BAY, ELECTRONICS = 0, 1
BEHIND, AHEAD = "behind the contents", "ahead of the contents"


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
    fields |= _charge(case, p)
    fields |= _volumes(case, fields, p, T)
    fields |= _openings(case)
    fields |= _surfaces(case)
    fields |= _joint(case)
    fields |= _bodies(case)
    fields |= _cord(case)
    fields |= pack_fields(case, p, T, LEAK_DISCHARGE)
    return Parameters(**fields)


def charge_ceiling(charge: Powder, data: PowderData, p_ambient: float, loose: bool) -> float:
    """Return the share of a charge that burns; a loose one burns worse in thin air."""
    if charge.burnt_ceiling is not None:
        return charge.burnt_ceiling
    if not loose:
        return data.burnt_ceiling
    # both ends scatter on their own and may come out crossed
    none = np.minimum(data.thin_air_none, data.thin_air_full)
    full = np.maximum(data.thin_air_full, data.thin_air_none)
    return data.burnt_ceiling * each(powder.thin_air_share, p_ambient, none, full)


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


def _charge(case: Case, p_ambient: float) -> dict[str, Any]:
    air = (gas.AIR_R, gas.AIR_C0, gas.AIR_C1)
    if case.powder is None:
        assert case.cold_gas is not None
        data = library.gas(case.cold_gas.gas, case.materials)
        return {
            "gas": (data.gas_constant, data.heat_capacity, data.heat_capacity_slope, *air),
            "condensed_share": 0.0, "condensed_heat": 0.0, "covolume": 0.0, "charge_mass": 0.0,
            "burnt_ceiling": 0.0, "powder_energy": 0.0, "grain_volume": 0.0, "r_low": 0.5,
            "r_high": 1.0, "rate": 0.0, "rate_pressure": 1.0, "rate_exponent": 1.0,
            "start_time": case.cold_gas.opening_delay, "flame_rate": 1.0, "flame_exponent": 0.0,
            "bed_area": 1.0, "burst_pressure": 0.0, "deposition": 0.0, "afterburning_heat": 0.0,
            "afterburning_air": 1.0, "afterburning_low": 1.0, "afterburning_high": 2.0,
        }  # fmt: skip
    charge = case.powder
    grain = library.powder(charge.grade, case.materials)
    wet = charge.moisture - grain.reference_moisture
    warmer = geometry.powder_temperature(case) - grain.reference_temperature
    # at constant volume, what the powder holds of heat when it is lit its products hold too
    energy = grain.heat_capacity * grain.explosion_temperature
    energy += grain.powder_heat_capacity * warmer
    # what a kilogram of products has, shared out between gas and salts
    salts = np.clip(grain.condensed_share, *SALTS)
    heat_in_salts = grain.condensed_heat_share
    as_gas = 1.0 - salts
    return {
        "gas": (
            grain.gas_constant / as_gas,
            grain.heat_capacity * (1.0 - heat_in_salts) / as_gas,
            0.0,
            *air,
        ),
        "condensed_share": salts,
        "condensed_heat": grain.heat_capacity * heat_in_salts / salts,
        "covolume": grain.covolume,
        "charge_mass": charge.mass,
        "burnt_ceiling": charge_ceiling(charge, grain, p_ambient, case.holder is None),
        "powder_energy": energy * (1.0 - wet) - wet * LATENT_HEAT,
        "grain_volume": 1.0 / grain.grain_density,
        "start_time": charge.ignition_delay,
        "burst_pressure": 0.0 if case.holder is None else case.holder.burst,
        "deposition": grain.deposition_velocity,
        "afterburning_heat": grain.afterburning_heat * grain.afterburning_efficiency,
        "afterburning_air": grain.afterburning_air,
        "afterburning_low": grain.afterburning_temperature,
        "afterburning_high": grain.afterburning_temperature * AFTERBURNING_STEP,
    } | _burning(charge, grain, library.packing(charge.packing, case.materials), wet, warmer)


def _burning(
    charge: Powder, grain: PowderData, packing: PackingData, wet: float, warmer: float
) -> dict[str, Any]:  # fmt: skip
    """Return how fast the grains burn, and the flame runs over them.

    The law of a strand gives every grain the same speed. That of a bed gives grains of every size
    the same time: what decides there is how gas and flame get about between them.
    """
    low, high = grain_sizes(charge, grain)
    rate, exponent = grain.rate, grain.rate_exponent
    if charge.burning == "bed":
        radius = 0.25 * (low + high)
        # at the pressure to which the strand's law refers
        exponent = grain.bed_exponent
        rate = radius / grain.bed_time * (grain.rate_pressure / grain.bed_pressure) ** exponent
    # a loose heap or a filled cup is about as long as it is wide
    bed = charge.mass / grain.bulk_density
    length = np.cbrt(bed)
    spread: dict[str, Any] = {"flame_exponent": 0.0}
    if charge.flame_spread is not None:
        spread["flame_rate"] = 1.0 / charge.flame_spread
    else:
        spread["flame_rate"] = packing.flame_speed / length
        spread["flame_exponent"] = packing.flame_exponent
    return spread | {
        "r_low": 0.5 * low,
        "r_high": 0.5 * high,
        "rate": rate
        * charge.rate_factor
        * np.exp(grain.rate_temperature_slope * warmer)
        * np.maximum(1.0 - grain.moisture_rate_slope * wet, 0.05),
        "rate_pressure": grain.rate_pressure,
        "rate_exponent": exponent,
        "bed_area": length**2,
    }


def _side_by_side(numbers: Any) -> Array:
    """Return k numbers as an array of shape (k,), or (members, k) when one of them scatters."""
    return np.stack(np.broadcast_arrays(*numbers), axis=-1)


def _air_in(volume: float, p: float, T: float) -> Array:
    mass = p * volume / (gas.AIR_R * T)
    u = each(gas.specific_energy, T, gas.AIR_C0, gas.AIR_C1)
    seed, rest = SEED * mass, (1.0 - SEED) * mass
    return _states({at.M_A1: seed, at.U_1: seed * u, at.M_A2: rest, at.U_2: rest * u})


def _states(held: dict[int, Any]) -> Array:
    """Return the states of a volume, nothing but what is given."""
    return _side_by_side([held.get(n, 0.0) for n in range(PER_VOLUME)])


def _volumes(case: Case, charge: dict[str, Any], p: float, T: float) -> dict[str, Any]:
    grains = charge["charge_mass"] * charge["grain_volume"]
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
        mass = (reservoir.pressure + p) * reservoir.volume / (R * T)
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
        "volume": _side_by_side(volume),
        "cross_section": _side_by_side(sections),
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


def _opening_rows(case: Case) -> list[Row]:
    """Return every opening."""
    chamber = _chamber(case)
    rows = [
        openings.row(o, _end(case, o.between, o.to), _end(case, o.to, o.between))
        for o in case.openings
    ]
    gap = case.joint.clearance
    around = math.pi * case.bay.bore * gap
    rows.append(Row("clearance", BAY, OUTSIDE, around, SHOULDER, gap, discharge=LEAK_DISCHARGE))
    rows.append(Row("opened joint", BAY, OUTSIDE, LEAK_DISCHARGE, ANNULUS))
    if case.holder is not None:
        area = hole_area(case.holder.discharge, case.holder.opening)
        rows.append(Row("holder", _source(case), chamber, area, FROM_SOURCE))
    if case.cold_gas is not None:
        area = hole_area(case.cold_gas.discharge, case.cold_gas.orifice)
        rows.append(Row("orifice", _source(case), chamber, area, FROM_SOURCE))
    if packed(case):
        bore, back = geometry.bore_area(case), _behind(case)
        gap = library.pack(geometry.tightness(case), case.materials).gap
        around = math.pi * case.bay.bore * gap
        rows += [
            Row("left tube", back, OUTSIDE, LEAK_DISCHARGE, LIP),
            Row("past the contents", back, OUTSIDE, around, PAST, gap),
            Row("round the contents", back, BAY, around, ROUND, gap),
            Row("into the contents", back, back + 1, bore, PORES),
            Row("through the contents", back + 1, BAY, bore, PORES),
            Row("out of the contents", back + 1, OUTSIDE, bore, PORES_OUT),
        ]
    return rows


def _openings(case: Case) -> dict[str, Any]:
    rows = _opening_rows(case)
    _, one, two, areas, kinds, gaps, lengths, discharges = zip(*rows, strict=True)
    return {
        "opening_from": np.array(one, dtype=np.int64),
        "opening_to": np.array(two, dtype=np.int64),
        "opening_area": _side_by_side(areas),
        "opening_kind": np.array(kinds, dtype=np.int64),
        "opening_carry": _side_by_side([_carried(case, row) for row in rows]),
        "opening_gap": _side_by_side(gaps),
        "opening_length": _side_by_side(lengths),
        "opening_discharge": _side_by_side(discharges),
    }


def _carried(case: Case, row: Row) -> Any:
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


def grain_sizes(charge: Powder, grain: PowderData) -> tuple[Any, Any]:
    """Return the smallest and the largest grain [m], measured or of the grade."""
    sieves = (
        first_given(charge.smallest_grain, grain.smallest_grain),
        first_given(charge.largest_grain, grain.largest_grain),
    )
    # the two scatter on their own and may come out crossed, and a window of no width would divide
    # by nothing
    low, high = np.minimum(*sieves), np.maximum(*sieves)
    return low, np.maximum(high, 1.001 * low)


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


def _effusivity(data: WallData | ClothData) -> float:
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
    surfaces: list[WallData | ClothData] = [wall]
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
        "surface_area": _side_by_side(areas),
        "surface_growth": _side_by_side(growths),
        "surface_emissivity": _side_by_side([shine * s.emissivity for s in surfaces]),
        "surface_convection": _side_by_side([s.convection for s in surfaces]),
        "surface_effusivity": _side_by_side([_effusivity(s) for s in surfaces]),
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
    contents: Any = 0.0
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


def cord_data(case: Case) -> CordData:
    """Return the data of the case's cord: the library's, with what was measured in its place."""
    cord = case.cord
    assert cord is not None
    measured = {
        name: value
        for name in ("break_load", "break_elongation")
        if (value := getattr(cord, name)) is not None
    }
    return replace(library.cord(cord.type, case.materials), **measured)


def cord_links(case: Case) -> list[tuple[float, str]]:
    """Return the strength [N] and the name of everything that the cord's load goes through."""
    assert case.cord is not None
    knot = library.knot(case.cord.knot, case.materials)
    strength = cord_data(case).break_load * knot.efficiency * case.cord.wear
    links = [(strength, f"cord ({case.cord.knot})")]
    if case.cord.anchor_strength is not None:
        links.append((case.cord.anchor_strength, "anchor"))
    return links


def cord_strength(case: Case) -> tuple[float, str]:
    """Return the strength of the weakest link [N] and its name, of a single shot."""
    return min(cord_links(case))


def _cord(case: Case) -> dict[str, Any]:
    cord = case.cord
    if cord is None:
        return {
            "pickup_travel": NEVER, "cord_travel": NEVER,
            "cord_length": 1.0, "cord_load": 0.0, "cord_strain": 1.0, "cord_exponent": 1.0,
            "cord_damping": 0.0, "cord_set": 0.0,
            **dict.fromkeys(("brake_start", "brake_stop", "brake_force"), np.zeros(0)),
        }  # fmt: skip
    data = cord_data(case)
    taut = taut_travel(case)
    return {
        "pickup_travel": cord.nose_share * taut if packed(case) else NEVER,
        "cord_travel": taut,
        "cord_length": cord.length,
        "cord_load": data.break_load,
        "cord_strain": data.break_elongation,
        "cord_exponent": data.exponent,
        "cord_damping": data.damping_ratio,
        "cord_set": data.permanent_set,
        **_brakes(case, taut),
    }


def earliest_taut(case: Case) -> float:
    """Return the least travel at which the cord may pull: with the shoulder well out [m]."""
    return case.joint.shoulder_length + 0.3 * case.bay.bore


def taut_travel(case: Case) -> float:
    """Return the travel at which the whole cord is taut [m]."""
    assert case.cord is not None
    bay = case.bay
    # the anchors are already as far apart as the faces of the bay; never taut in the tube
    apart = bay.tube_length - bay.coupler_intrusion - case.joint.shoulder_length
    return np.maximum(case.cord.length - apart, earliest_taut(case))


def brake_stages(case: Case) -> tuple[Array, Array, Array]:
    """Return force [N], stroke and length [m] of every stage of the cord's brake.

    Returns
    -------
    tuple of ndarray, each of shape (n_brakes,) or (members, n_brakes)
        In the order in which they tear, the weakest first: all of them feel the same pull.
    """
    rows = [
        (each.force, each.stroke, np.maximum(first_given(each.length, each.stroke), each.stroke))
        for each in case.brakes
        for _ in range(each.count)
    ]
    if not rows:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    columns = np.broadcast_arrays(*(_side_by_side(column) for column in zip(*rows, strict=True)))
    order = np.argsort(columns[0], axis=-1, kind="stable")
    force, stroke, length = (np.take_along_axis(column, order, -1) for column in columns)
    return force, stroke, length


def _brakes(case: Case, taut: float) -> dict[str, Array]:
    force, stroke, length = brake_stages(case)
    if not force.size:
        return {"brake_start": force, "brake_stop": force, "brake_force": force}
    # what the bundles from here on still hold is missing until the whole cord is taut
    held = np.cumsum(length[..., ::-1], axis=-1)[..., ::-1]
    end, least = (np.asarray(edge)[..., None] for edge in (taut, earliest_taut(case)))
    start = np.maximum(end - held, least)
    after = np.maximum(end - (held - length), least)
    return {
        "brake_start": start,
        "brake_stop": np.minimum(start + stroke, after),
        "brake_force": force,
    }
