"""Free bodies and thin air against closed forms and published bounds."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from baypulse.case import params
from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.engine.parameters import Parameters
from baypulse.run.breakdown import _mixed_pressure
from baypulse.run.simulation import simulate
from baypulse.studies.aloft.altitude_case import AIR, COLD, FREE, aloft
from report_cases import BENCH, TEXTS, without


def lossless(nose: str, airframe: str) -> Case:
    """A clamped bay of cold gas whose work depends on the travel alone: no heat, leak, friction.

    The reservoir empties long before the heavy sections move.
    """
    text = without(without(without(TEXTS["cold gas"], "pins"), "contents"), "cord")
    text = text.partition("[[openings]]")[0] + "[cold_gas]" + text.partition("[cold_gas]")[2]
    text = text.replace('orifice = "5 mm"', 'orifice = "60 mm"')
    text = text.replace('pull_off = { value = "22 N", spread = "20 %" }', 'pull_off = "0.1 N"')
    text = text.replace('"480 g"', nose).replace('"1.9 kg"', airframe)
    case = reads(text, "lossless")
    return replace(case, materials={f"walls.{case.bay.wall}.convection": 0.0})


@pytest.mark.parametrize(("nose", "airframe"), [(80.0, 250.0), (200.0, 120.0), (90.0, 90.0)])
def test_free_bodies_share_the_work_of_clamped_ones_by_momentum(
    nose: float, airframe: float
) -> None:
    # the same work W over the same stroke: clamped W = m v^2/2; free W = mu v^2/2 with the reduced
    # mass mu = m M/(m + M), so v_free/v_clamped = sqrt(1 + m/M), and m v_1 = M v_2
    home = lossless(f'"{nose} kg"', f'"{airframe} kg"')
    clamped, free = (simulate(each) for each in (home, aloft(home, 430.0, {FREE})))
    one, two = clamped.numbers.clear_velocity, free.numbers.clear_velocity
    assert one is not None and two is not None
    assert two / one == pytest.approx(math.sqrt(1.0 + nose / airframe), rel=0.004)
    clear = free.event("clear")
    assert clear is not None
    at = int(np.searchsorted(free.time, clear.time))
    assert nose * free.nose_velocity[at] == pytest.approx(
        -airframe * free.airframe_velocity[at], rel=1e-6
    )


VESSEL = {0.5: (1162.0, 783.0), 1.0: (832.0, 521.0), 2.0: (557.0, 409.0)}
"""Pressure rise times volume over mass of powder [kJ/kg], by kg of powder a cubic metre, at 3 and
at 10 km: full equilibrium of 75/15/10 powder with the air of a rigid, adiabatic bay, afterburning
included, computed with Cantera 3.2 from nasa_gas.yaml and nasa_condensed.yaml (NASA TM-4513)."""

EVACUATED = {0.5: 263.4, 1.0: 267.5, 2.0: 270.5}
"""The same without any air, with graphite for the charcoal; products alone can give no less than
about nine tenths of it, as real closed vessels do."""


def bay_volume(P: Parameters) -> float:
    """Return the volume of the bay on both sides of its contents [m^3]."""
    return float(P.volume[P.bay] + P.volume[P.back])


@pytest.mark.parametrize("density", VESSEL)
def test_sealed_bay_aloft_lies_between_the_bounds_of_equilibrium(density: float) -> None:
    home = reads(BENCH, "bay")
    assert home.powder is not None
    volume = bay_volume(params.parameters(home))
    charge = replace(home.powder, mass=density * volume, burnable_fraction=1.0, moisture=0.005)
    home = replace(home, powder=charge)
    rises = []
    for k, altitude in enumerate((3000.0, 10e3)):
        P = params.parameters(aloft(home, altitude, {AIR, COLD}))
        rise = _mixed_pressure(P, P.charge_mass) * volume / P.charge_mass / 1000.0
        assert 0.85 * EVACUATED[density] < rise < VESSEL[density][k]
        rises.append(rise)
    # less air up there, which makes more pressure of a joule than the dusty products do
    at_home = params.parameters(home)
    rise = _mixed_pressure(at_home, at_home.charge_mass) * volume / at_home.charge_mass / 1000.0
    assert rise > rises[0] > rises[1]


def test_sealed_rise_is_that_of_two_ideal_gases_mixed() -> None:
    # by hand, constant heat capacities: T = (m_b c_b T_b + m_a c_a T_a)/(m_b c_b + m_a c_a) and
    # p V = (m_b R_b + m_a R_a) T, with 10 km of ISO 2533: 26.50 kPa, 223.25 K (from memory)
    home = reads(BENCH, "bay")
    assert home.powder is not None
    P = params.parameters(aloft(home, 10e3, {AIR, COLD}))
    m_b, V = P.charge_mass, bay_volume(P)
    m_a = 26_500.0 * (V - m_b / 1750.0) / (287.05 * 223.25)
    # air from 223 K to the mixture's 1300 K or so: mean 800 J/kg/K (ideal-gas tables, from memory)
    mixed = m_b * 1410.0 + m_a * 800.0
    # the powder is as cold as that air, and takes 900 J/kg/K from the library's 20 degC on
    T_b = 2350.0 - 900.0 / 1410.0 * (293.15 - 223.25)
    T = (m_b * 1410.0 * T_b + m_a * 800.0 * 223.25) / mixed
    p = (m_b * 106.5 + m_a * 287.05) * T / V
    assert _mixed_pressure(P, m_b) == pytest.approx(p - 26_500.0, rel=0.03)
