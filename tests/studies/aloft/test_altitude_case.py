"""The bay elsewhere: what changes with the altitude, and nothing else."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from fluids import ATMOSPHERE_1976

from baypulse.case import cord_fields, geometry, library, params
from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.run.simulation import simulate
from baypulse.studies.aloft.altitude_case import (
    AIR,
    COLD,
    CORD,
    EFFECTS,
    FREE,
    PINS,
    aloft,
    at_home,
    changes,
    cold_factors,
    fibre_of,
    gauge_aloft,
    gauge_at_home,
    lifted,
)
from report_cases import BENCH, TEXTS, without

MEASURED = BENCH.replace("[pins]\n", '[pins]\nstrength = { value = "140 N", spread = "8 %" }\n')
SITE = '\n[surroundings]\naltitude = "1200 ft"\npressure = "97 kPa abs"\ntemperature = "23 degC"\n'


@cache
def case(text: str) -> Case:
    return reads(text, "bay")


@pytest.mark.parametrize("altitude", [1500.0, 3000.0, 9000.0, 15e3, 35e3])
def test_air_up_there_is_that_of_an_independent_atmosphere(altitude: float) -> None:
    # the package fluids, US Standard Atmosphere 1976, equal to ISO 2533 below 32 km
    there = aloft(case(BENCH + SITE), altitude)
    other = ATMOSPHERE_1976(altitude)
    assert geometry.air(there) == pytest.approx((other.P, other.T), rel=2e-4)


def test_without_any_difference_it_is_the_shot_at_home() -> None:
    home = case(BENCH + SITE)
    here, there = (params.parameters(each) for each in (home, aloft(home, 9000.0, ())))
    for name, value in here._asdict().items():
        assert np.array_equal(value, getattr(there, name)), name


def test_at_the_altitude_of_home_only_the_setting_differs() -> None:
    home = case(BENCH + '\n[surroundings]\naltitude = "430 m"\n')
    effects = set(EFFECTS) - {FREE}
    one, two = (simulate(each).numbers for each in (home, aloft(home, 430.0, effects)))
    assert two.peak_pressure == pytest.approx(one.peak_pressure, rel=1e-12)
    assert two.clear_velocity == pytest.approx(one.clear_velocity, rel=1e-12)
    assert two.cord_load == pytest.approx(one.cord_load, rel=1e-12)


def test_all_differences_together_are_a_case_written_by_hand() -> None:
    # library pins: the reader and the engine correct them by themselves; the cord is aramid
    text = BENCH.replace("tubular nylon 9/16 in", "aramid 1/4 in").replace("1.00 g", "4.00 g")
    by_hand = text + '\n[surroundings]\naltitude = "9 km"\n[setting]\nkind = "flight"\n'
    with pytest.warns(UserWarning, match="loose charge"):
        hand = simulate(reads(by_hand, "hand")).numbers
    found = simulate(aloft(case(text), 9000.0, set(EFFECTS) - {CORD})).numbers
    assert found.peak_pressure == pytest.approx(hand.peak_pressure, rel=1e-9)
    assert found.clear_velocity == pytest.approx(hand.clear_velocity, rel=1e-9)
    assert found.cord_load == pytest.approx(hand.cord_load, rel=1e-9)


def test_measured_pins_are_stronger_in_the_cold_by_the_published_ratio() -> None:
    # Introduction to Rocket Design, App. E: 1.38 times as strong at -25 degC; home at 23 degC,
    # where the data sheet's value holds. -25 degC = 248.15 K is at 288.15 - 6.5 h km.
    height = (288.15 - 248.15) / 6.5e-3
    geometric = 6_356_766.0 * height / (6_356_766.0 - height)
    home = case(MEASURED + SITE)
    strength = geometry.pin_strengths(aloft(home, geometric))
    assert strength == pytest.approx(np.full(3, 1.38 * 140.0), rel=0.005)
    assert geometry.pin_strengths(aloft(home, geometric, {AIR, COLD})) == pytest.approx(140.0)


def test_measured_and_library_pins_are_corrected_alike() -> None:
    home = case(BENCH + SITE)
    own = float(geometry.pin_strengths(home)[0])
    measured = with_value(home, "pins.strength", own)
    for altitude in (3000.0, 9000.0):
        one, two = (geometry.pin_strengths(aloft(each, altitude)) for each in (home, measured))
        assert two == pytest.approx(one, rel=1e-12)


def test_held_pins_stay_as_at_home_until_it_is_their_turn() -> None:
    home = case(BENCH + SITE)
    before, after = (aloft(home, 9000.0, effects) for effects in ({COLD}, {COLD, PINS}))
    assert geometry.pin_strengths(before) == pytest.approx(geometry.pin_strengths(home))
    assert (geometry.pin_strengths(after) > 1.3 * geometry.pin_strengths(before)).all()


def test_measured_burnt_share_is_lowered_as_the_library_line_says() -> None:
    # by hand: 1 at 0.3 bar, 0 at 0.05 bar, straight between; 12 km has 19.40 kPa (ISO 2533, from
    # memory: 1.93994e4 Pa), so (0.193994 - 0.05)/0.25 = 0.576
    home = case(BENCH.replace('mass = "1.00 g"', 'mass = "1.00 g"\nburnable_fraction = "80 %"'))
    there = aloft(home, 12e3)
    assert there.powder is not None
    assert there.powder.burnable_fraction == pytest.approx(0.8 * 0.576, rel=1e-3)
    held = aloft(home, 12e3, {AIR})
    assert held.powder is not None
    assert held.powder.burnable_fraction == 0.8
    assert len(cold_factors(home)) == 2 + 2  # both ends of the line, and both slopes of the cord


def test_closed_reservoir_loses_pressure_as_nitrogen_does() -> None:
    from CoolProp import CoolProp  # loads for two seconds, which only one worker spends

    # nitrogen at constant density by CoolProp (Span et al. 2000), 300 psi gauge filled at 15 degC
    home = case(TEXTS["cold gas"])
    there = lifted(home, 9000.0)
    (p0, T0), (p, T) = geometry.air(home), geometry.air(there)
    gauge = 300.0 * 6894.757
    density = CoolProp.PropsSI("D", "T", T0, "P", gauge + p0, "Nitrogen")
    real = CoolProp.PropsSI("P", "T", T, "D", density, "Nitrogen") - p
    found = gauge_aloft(gauge, home, there)
    # an ideal gas is 1.5 % high: nitrogen of 17 bar at 230 K has a compressibility below 1
    assert found == pytest.approx(real, rel=0.02)
    assert found > real
    fired = aloft(home, 9000.0).cold_gas
    assert fired is not None
    assert fired.pressure == pytest.approx(found, rel=1e-6)
    assert gauge_at_home(found, home, there) == pytest.approx(gauge, rel=1e-12)


def test_cold_cord_by_hand_and_every_cord_has_one_fibre() -> None:
    home = case(BENCH + SITE)
    there = aloft(home, 9000.0)
    assert there.cord is not None
    colder = 229.733 - 296.15  # 9 km by ISO 2533, from memory; 23 degC
    plain = cord_fields.cord_data(home)
    assert there.cord.break_load == pytest.approx(plain.break_load * (1 - 0.002 * colder), rel=1e-4)
    stretch = plain.break_elongation * (1 + 0.0025 * colder)
    assert there.cord.break_elongation == pytest.approx(stretch, rel=1e-4)
    for name in library.names("cords"):
        fits = [fibre for fibre in library.names("fibres") if fibre in name]
        assert len(fits) == 1, name
        assert home.cord is not None
        assert fibre_of(replace(home, cord=replace(home.cord, type=name))) == fits[0]
    assert fibre_of(case(without(BENCH, "cord"))) is None


def test_members_change_each_by_its_own_numbers() -> None:
    home = case(MEASURED + SITE)
    there = lifted(home, 9000.0)
    slope = "library.pin materials.nylon 6/6.temperature_slope"
    values = {
        "pins.strength": np.array([[140.0, 130.0, 150.0], [120.0, 125.0, 135.0]]),
        slope: np.array([-0.008, -0.004]),
    }
    found = changes(home, there, values)
    T = geometry.air(there)[1]
    for row, a in enumerate(values[slope]):
        ratio = 1.0 + a * (T - 296.15)  # home is at the reference temperature
        assert found["pins.strength"][row] == pytest.approx(values["pins.strength"][row] * ratio)
    # without scatter it is the nominal case
    nominal = draws.member_case(there, changes(home, there, {}))
    assert nominal == aloft(home, 9000.0)


def test_home_of_a_shot_in_flight_is_a_clamped_test_at_the_pad() -> None:
    flying = reads(TEXTS["flight"] + '\n[surroundings]\naltitude = "4 km"\n', "flight")
    home = at_home(flying)
    assert (home.setting.kind, home.setting.attitude) == ("clamped", 0.0)
    assert geometry.air(home) == pytest.approx((101_325.0, 288.15))
    pad = reads(
        TEXTS["flight"] + '\n[ascent]\npad_altitude = "900 m"\nburnout_height = "400 m"\n'
        'burnout_speed = "200 m/s"\ndrag_area = "45 cm^2"\n', "pad",
    )  # fmt: skip
    assert at_home(pad).surroundings.altitude == 900.0
    ground = case(BENCH)
    assert at_home(ground) is ground


def test_air_and_attitude_do_not_scatter_up_there() -> None:
    text = BENCH + '\n[surroundings]\ntemperature = { value = "20 degC", spread = "5 K" }\n'
    home = reads(text, "warm")
    assert "surroundings.temperature" in home.spreads
    assert set(lifted(home, 5000.0).spreads) == set(home.spreads) - {"surroundings.temperature"}
    assert math.isclose(geometry.air(lifted(home, 5000.0))[1], 255.676, rel_tol=1e-4)  # ISO 2533


@pytest.mark.parametrize(("typed", "up_there"), [("-15 degC", 225.676), ("30 degC", 255.676)])
def test_cold_day_is_cold_up_there_and_a_warm_one_is_not_counted(
    typed: str, up_there: float
) -> None:
    # ISO 2533 prints 288.15 K at sea level and 255.676 K at 5000 m
    home = reads(BENCH + f'\n[surroundings]\ntemperature = "{typed}"\n', "day")
    assert geometry.air(lifted(home, 5000.0))[1] == pytest.approx(up_there, abs=2e-3)
    assert geometry.pin_strength(lifted(home, 5000.0)) > geometry.pin_strength(home)
