"""Cold powder: less heat and a slower flame; against tables of heat, and a surface's balance."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

import cantera
import numpy as np
import pytest

import baypulse
from baypulse.case import library, params
from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.members.factors import library_values
from baypulse.run.simulation import simulate
from baypulse.studies.aloft.altitude_case import aloft

CASES = Path(__file__).parents[2] / "cases"
CASE = baypulse.load(CASES / "bench-76.toml")
DATA = library.powder("3F")
COLD, ROOM = 233.15, 293.15
ACTING = {f"powders.3F.{name}" for name in ("powder_heat_capacity", "rate_temperature_slope")}


BED_RATE = 0.25 * (DATA.smallest_grain + DATA.largest_grain) / DATA.bed_time
BED_RATE *= (DATA.rate_pressure / DATA.bed_pressure) ** DATA.bed_exponent
"""A grain of mean size burns through its radius in the time of a bed, here at the pressure of the
strand's law."""


def powder_at(powder: Any, air: Any = 291.15, of: Case = CASE) -> Case:
    """Return the bench case with powder and air of a temperature [K]."""
    assert of.powder is not None
    return replace(
        of,
        powder=replace(of.powder, temperature=powder),
        surroundings=replace(of.surroundings, temperature=air),
    )


# Kopp's rule of mixtures for 75/15/10. Saltpetre 95.39 J/mol/K at 298 K (Carling, Thermochimica
# Acta 60 (1983) 265, as its abstract is quoted); sulphur and, as the least that charcoal can have,
# graphite from the NASA tables that come with cantera; 1000 J/kg/K as the most, from memory
def test_heat_of_the_powder_itself_is_that_of_its_parts() -> None:
    solids = {
        each.name: each.thermo.cp(298.15) / each.molecular_weight
        for each in cantera.Species.list_from_file("nasa_condensed.yaml")
        if each.name in ("S(cr1)", "C(gr)")
    }
    saltpetre = 95.39 / 101.103e-3
    rest = 0.75 * saltpetre + 0.10 * solids["S(cr1)"]
    spread = library.facts("powders", "3F")["powder_heat_capacity"].spread
    least, most = rest + 0.15 * solids["C(gr)"], rest + 0.15 * 1000.0
    assert least < DATA.powder_heat_capacity < most
    assert 2.0 * spread > most - least


# a burning surface takes up rho r c (T_i - T) of heat; with the same heat from the flame the rate
# goes as 1/(T_i - T). Black powder ignites at 427 to 464 degC (published as its flash point)
@pytest.mark.parametrize("temperature", [COLD, 263.15, 313.15])
def test_rate_follows_the_balance_of_heat_at_the_surface(temperature: float) -> None:
    rates = [params.parameters(powder_at(T)).rate for T in (temperature, ROOM)]
    expected = [(T_i - ROOM) / (T_i - temperature) for T_i in (427.0 + 273.15, 464.0 + 273.15)]
    slope = library.facts("powders", "3F")["rate_temperature_slope"]
    apart = slope.spread * abs(temperature - ROOM)
    for each in expected:
        # far within one standard deviation of the library's number
        assert rates[0] / rates[1] == pytest.approx(each, abs=0.5 * apart)
    assert (rates[0] - rates[1]) * (temperature - ROOM) > 0.0
    # 0.1 to 0.9 %/K of solid propellants (Sutton and Biblarz, Rocket Propulsion Elements, ch. 11)
    assert 0.001 < slope.value < 0.009


def test_products_lack_the_heat_that_cold_powder_lacks() -> None:
    # first law at constant volume: the products hold what the powder held
    energies = [params.parameters(powder_at(T)).specific_energy for T in (COLD, ROOM)]
    assert energies[1] - energies[0] == pytest.approx(900.0 * 60.0)
    drop = (energies[1] - energies[0]) / DATA.heat_capacity
    # 60 K of start cost less than 60 K of flame, since products take more heat than powder
    assert 30.0 < drop < 60.0


def test_powder_is_as_cold_as_the_air_unless_the_case_says_so() -> None:
    typed, air = (params.parameters(each) for each in (powder_at(COLD), powder_at(None, COLD)))
    assert (typed.rate, typed.specific_energy) == (air.rate, air.specific_energy)
    assert typed.T_ambient == 291.15 and air.T_ambient == COLD
    text = (CASES / "bench-76.toml").read_text("utf-8")
    read = reads(text.replace('grade = "3F"', 'grade = "3F"\ntemperature = "-40 degC"'))
    assert read.powder is not None and read.powder.temperature == pytest.approx(COLD)
    # at the temperature at which the library's numbers are given nothing changes
    room = params.parameters(powder_at(ROOM))
    assert room.rate == pytest.approx(BED_RATE, rel=1e-15)
    assert room.specific_energy == DATA.heat_capacity * DATA.explosion_temperature


def test_cold_powder_pushes_less_and_its_balance_closes() -> None:
    # with the joint held shut: pins that fail set the peak of a shot, whatever the powder does
    held = replace(CASE, pins=replace(CASE.pins, count=6, strength=2000.0))
    cold, room = simulate(powder_at(COLD, of=held)), simulate(powder_at(ROOM, of=held))
    assert cold.numbers.peak_pressure < 0.97 * room.numbers.peak_pressure
    faster = simulate(powder_at(ROOM)).numbers.greatest_velocity
    assert simulate(powder_at(COLD)).numbers.greatest_velocity < faster
    for result in (cold, room):
        assert abs(result.budget.gas_residual) < 1e-6 * result.budget.total


def test_members_have_temperatures_of_their_own() -> None:
    both = params.parameters(powder_at(np.array([COLD, ROOM])))
    one = [params.parameters(powder_at(T)) for T in (COLD, ROOM)]
    assert both.rate == pytest.approx([each.rate for each in one], rel=1e-15)
    assert both.specific_energy == pytest.approx([each.specific_energy for each in one], rel=1e-15)
    air = params.parameters(powder_at(None, np.array([COLD, ROOM])))
    assert air.rate == pytest.approx(both.rate, rel=1e-15)


def test_how_cold_acts_scatters_only_where_it_acts() -> None:
    assert set(library_values(CASE)) >= ACTING  # 18 degC
    assert not ACTING & set(library_values(powder_at(ROOM)))
    text = (CASES / "bench-76.toml").read_text("utf-8")
    for old, new in (
        ('grade = "3F"', 'grade = "3F"\ntemperature = { value = "20 degC", spread = "5 K" }'),
        ('temperature = "18 degC"', 'temperature = { value = "20 degC", spread = "5 K" }'),
    ):
        assert set(library_values(reads(text.replace(old, new)))) >= ACTING
    warm = reads(
        text.replace('temperature = "18 degC"', 'temperature = {value = "9 degC", spread = "5 K"}')
        .replace('grade = "3F"', 'grade = "3F"\ntemperature = "20 degC"')
    )  # fmt: skip
    assert not ACTING & set(library_values(warm))


def test_powder_is_cold_aloft_unless_it_sits_warm_inside() -> None:
    # ISO 2533: 216.65 K from 11 to 20 km
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        there = [params.parameters(aloft(powder_at(T), 12e3)) for T in (None, ROOM)]
    assert [P.T_ambient for P in there] == pytest.approx([216.65, 216.65])
    assert there[0].rate == pytest.approx(BED_RATE * math.exp(-0.0025 * (ROOM - 216.65)))
    assert there[1].rate == pytest.approx(BED_RATE, rel=1e-15)
    assert there[1].specific_energy > there[0].specific_energy
