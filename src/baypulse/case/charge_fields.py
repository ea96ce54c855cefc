"""What the core is given of the charge: its products, its burning, its grains."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import geometry, library
from baypulse.case.geometry import Floats, each, first_given
from baypulse.case.materials import PackingData, PowderData
from baypulse.case.model import Case, Powder
from baypulse.physics import gas, powder

LATENT_HEAT = 2.45e6
"""Heat of evaporation of water at 20 degC [J/kg]; steam tables (from memory)."""

SALTS = (1e-6, 0.95)
"""Shares of the products between which salts are reckoned with: some gas, and never a division by
nothing."""

AFTERBURNING_STEP = 1.2
"""Temperature at which all that can burns in the air, over that at which it begins; estimate."""


def burnable_fraction(charge: Powder, data: PowderData, p_ambient: Floats, loose: bool) -> Floats:
    """Return the share of a charge that burns; a loose one burns worse in thin air."""
    if charge.burnable_fraction is not None:
        return charge.burnable_fraction
    if not loose:
        return data.burnable_fraction
    # both ends scatter on their own and may come out crossed
    none = np.minimum(data.thin_air_none, data.thin_air_full)
    full = np.maximum(data.thin_air_full, data.thin_air_none)
    return data.burnable_fraction * each(powder.thin_air_share, p_ambient, none, full)


def charge_fields(case: Case, p_ambient: Floats) -> dict[str, Any]:
    """Return the fields of the charge, powder or cold gas."""
    air = (gas.AIR_R, gas.AIR_C0, gas.AIR_C1)
    if case.powder is None:
        assert case.cold_gas is not None
        data = library.gas(case.cold_gas.gas, case.materials)
        return {
            "gas": (data.gas_constant, data.heat_capacity, data.heat_capacity_slope, *air),
            "condensed_share": 0.0, "condensed_heat": 0.0, "covolume": 0.0, "charge_mass": 0.0,
            "burnable_fraction": 0.0, "specific_energy": 0.0, "specific_volume": 0.0, "r_low": 0.5,
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
    # what the model leaves out makes the charge do more or less; the room that it takes is its own
    agreement = case.bay.model_agreement
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
        "charge_mass": charge.mass * agreement,
        "burnable_fraction": burnable_fraction(charge, grain, p_ambient, case.holder is None),
        "specific_energy": energy * (1.0 - wet) - wet * LATENT_HEAT,
        "specific_volume": 1.0 / (grain.grain_density * agreement),
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
