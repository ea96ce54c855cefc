"""Ascents: the profile against closed forms, the force on the joint against the standard."""

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.case import geometry
from baypulse.case.casefile import reads
from baypulse.case.casefile.joint_retention import hold
from baypulse.case.logs import Flight
from baypulse.case.model import Ascent
from baypulse.constants import STANDARD_GRAVITY
from baypulse.engine.slow import Network
from baypulse.errors import RangeWarning
from baypulse.members.parts import StudyError
from baypulse.observed import climb as observed_climb
from baypulse.observed.flight_profile import profile
from baypulse.observed.same_day import at_pad
from baypulse.studies.ascent import compute as study

CASES = Path(__file__).parents[3] / "cases"


def case_with(name="main-98", **changes):
    case = baypulse.load(CASES / f"{name}.toml")
    return replace(case, ascent=replace(case.ascent, **changes))


def logged(time, altitude, name="flight.csv"):
    from baypulse.physics.atmosphere import standard_atmosphere

    pressure = np.array([standard_atmosphere(float(h))[0] for h in altitude])
    return Flight(
        name=name, rows=time.size, time=time, pressure=pressure, altitude=altitude, notes=()
    )


def test_coast_without_drag_is_free_flight():
    # h = v^2/(2 g), t = v/g: textbook
    found = profile(case_with(drag_area=1e-7, fore_drag_area=None))
    v, g = 231.648, STANDARD_GRAVITY
    climbed = found.altitude[found.apogee] - found.altitude[found.burnout]
    assert climbed == pytest.approx(v * v / (2.0 * g), rel=1e-4)
    assert found.time[found.apogee] - found.time[found.burnout] == pytest.approx(v / g, rel=1e-4)


def test_coast_with_drag_in_air_of_one_density():
    # h = m/(2 k) ln(1 + k v^2/(m g)), k = rho Cd A/2: textbook; the air thins by 0.5 % over it
    v, area = 30.0, 0.02
    case = case_with(burnout_speed=v, burnout_height=50.0, drag_area=area, fore_drag_area=None)
    found = profile(case)
    mass = case.nose.mass + case.airframe.mass + case.contents.mass
    middle = 0.5 * (found.burnout + found.apogee)
    rho = found.pressure[int(middle)] / (287.053 * found.temperature[int(middle)])
    k = 0.5 * rho * area
    expected = mass / (2.0 * k) * math.log(1.0 + k * v * v / (mass * STANDARD_GRAVITY))
    climbed = found.altitude[found.apogee] - found.altitude[found.burnout]
    assert climbed == pytest.approx(expected, rel=2e-3)


def test_thrust_reaches_speed_and_height_together():
    found = profile(case_with())
    pad = at_pad(case_with()).surroundings.altitude
    assert found.altitude[found.burnout] - pad == pytest.approx(426.72)
    assert found.speed[found.burnout] == pytest.approx(231.648)
    assert found.time[found.burnout] == pytest.approx(2.0 * 426.72 / 231.648)
    assert (np.diff(found.time) > 0.0).all()


def test_sealed_bay_at_3_km_pulls_with_area_times_the_standard_difference():
    # ISO 2533:1975 prints 101 325 Pa at sea level and 70 121.2 Pa at 3000 m
    case = case_with(pad_altitude=0.0)
    flight = logged(np.linspace(0.0, 30.0, 301), np.linspace(0.0, 3000.0, 301))
    climb = observed_climb.climb(
        case, profile(case, flight), study.sealed(observed_climb.pad_network(case))
    )
    pull = 0.0 if climb.profile.pull is None else climb.profile.pull[-1]
    area = 0.25 * math.pi * case.bay.bore**2
    # the last printed digit is worth 2e-6 of the difference
    assert climb.force[-1] - pull == pytest.approx(area * (101_325.0 - 70_121.2), rel=3e-6)


def test_drag_pulls_in_coast_only_and_most_at_burnout():
    # tension = m_f D/m - D_f just after burnout; practice: the force of drag separation
    case = case_with()
    found = profile(case)
    fore = case.nose.mass
    whole = fore + case.airframe.mass + case.contents.mass
    rho = found.pressure[found.burnout] / (287.053 * found.temperature[found.burnout])
    head = 0.5 * rho * found.speed[found.burnout] ** 2
    expected = fore * head * 46e-4 / whole - head * 5e-4
    assert found.pull[found.burnout] == pytest.approx(expected, rel=1e-5)
    assert (found.pull[: found.burnout] == 0.0).all()
    assert found.pull.argmax() == found.burnout


def test_logged_flight_agrees_with_the_profile_it_was_made_from():
    case = case_with()
    simple = profile(case)
    time = np.arange(-5.0, simple.time[-1], 0.01)
    altitude = np.interp(time, simple.time, simple.altitude)
    noise = np.random.default_rng(7).normal(0.0, 0.3, time.size)
    found = profile(case, logged(time, altitude + noise))
    assert found.speed[found.burnout] == pytest.approx(simple.speed[simple.burnout], rel=0.06)
    assert found.time[found.burnout] == pytest.approx(simple.time[simple.burnout], abs=1.0)
    narrow = observed_climb.pad_network(case)
    narrow = narrow._replace(opening_area=0.05 * narrow.opening_area)
    one = observed_climb.climb(case, simple, narrow).difference
    other = observed_climb.climb(case, found, narrow).difference
    assert other.max() == pytest.approx(one.max(), rel=0.05)


@pytest.mark.parametrize("interval", [0.01, 0.02, 0.03, 0.05, 0.1])
def test_speed_of_a_log_does_not_depend_on_how_it_was_sampled(interval):
    # times as they come from a file, a few of them missing
    time = np.array([float(f"{each:.2f}") for each in np.arange(0.0, 30.0, interval)])
    kept = np.random.default_rng(3).random(time.size) > 0.05
    time = time[kept]
    altitude = 366.0 + np.where(time < 4.0, 25.0 * time**2, 400.0 + 200.0 * (time - 4.0))
    altitude -= np.where(time < 4.0, 0.0, 4.9 * (time - 4.0) ** 2)
    found = profile(case_with(), logged(time, altitude))
    # the mean over a second takes a little off the peak
    assert found.speed[found.burnout] == pytest.approx(200.0, rel=0.03)


def test_more_vent_less_force():
    case = case_with()
    flight = profile(case)
    network = observed_climb.pad_network(case)
    worst = [
        observed_climb.climb(case, flight, network._replace(opening_area=f * network.opening_area))
        .difference.max()
        for f in (0.0, 0.01, 0.03, 0.1, 1.0)
    ]  # fmt: skip
    assert all(a > b for a, b in pairwise(worst))


def test_low_hold_is_below_the_nominal_and_above_friction():
    case = case_with()
    found = study.ascent(case, profile(case))
    assert geometry.static_friction(case) < found.low < found.held
    assert found.margin == pytest.approx(found.low / found.force)
    assert observed_climb.low_hold(case) == pytest.approx(found.low)


def test_pad_of_a_shot_in_flight_is_that_of_its_ascent():
    with pytest.warns(RangeWarning, match="a loose charge in air"):
        case = case_with("thin-54")
    assert at_pad(case).surroundings.altitude == 300.0
    assert at_pad(replace(case, ascent=None)).surroundings.altitude == 0.0
    ground = case_with()
    assert at_pad(ground).surroundings == ground.surroundings


def warm(text, temperature, extra=""):
    """Return a case at another temperature; ``extra`` stands in its [surroundings]."""
    old = next(line for line in text.splitlines() if line.startswith("temperature = "))
    return reads(text.replace(old, f"temperature = {temperature}\n{extra}"))


MAIN = (CASES / "main-98.toml").read_text(encoding="utf-8")
DROGUE = (CASES / "rockets" / "plover-drogue-98.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("pad", ["", 'pad_altitude = "1200 ft"'])
def test_joint_is_as_warm_as_the_case_says(pad):
    text = MAIN.replace("[ascent]", f"[ascent]\n{pad}")
    cases = [warm(text, each) for each in ('"95 degF"', '"20 degF"')]
    found = [study.ascent(case, profile(case)) for case in cases]
    for case, each in zip(cases, found, strict=True):
        # check shows the same pins and friction; no hole tears here
        assert each.held == pytest.approx(geometry.static_hold(case).total, rel=1e-12)
        assert observed_climb.low_hold(case) == pytest.approx(each.low)
    # pins lose 0.8 % of their dry strength at 23 degC per kelvin (Introduction to Rocket Design,
    # App. E, as in the library); friction stays
    pins = [each.held - geometry.static_friction(cases[0]) for each in found]
    slope = [1.0 - 0.008 * (T - 296.15) for T in (308.15, 266.4833)]
    assert pins[0] / pins[1] == pytest.approx(slope[0] / slope[1], rel=1e-5)
    assert found[0].low < 0.8 * found[1].low


@pytest.mark.parametrize(
    ("text", "temperature", "pad", "expected"),
    [
        # ISO 2533: 6.5 K per km of geopotential altitude, of which 2590.8 m are 2589.7 m
        (DROGUE, '"20 degF"', "0 m", 266.4833 + 6.5 * 2.5897),
        (DROGUE, '"48 degF"', "1200 ft", 282.0389 + 6.5 * (2.5897 - 0.36574)),
        # 36.8 K warmer than the standard up there is no air of that altitude: a hot day's pad
        (DROGUE, '"95 degF"', "0 m", 288.15 + 30.0),
        # a pad above the ground test is not taken to be colder than that was
        (MAIN, '"95 degF"', "1500 m", 308.15),
        (MAIN, '"20 degF"', "0 m", 266.4833 + 6.5 * 0.36574),
    ],
)
def test_typed_temperature_goes_to_the_pad(text, temperature, pad, expected):
    if "[ascent]" not in text:
        text += '\n[ascent]\nburnout_height = "400 m"\nburnout_speed = "230 m/s"\n'
        text += 'drag_area = "46 cm^2"\n'
    case = warm(text.replace("[ascent]", f'[ascent]\npad_altitude = "{pad}"'), temperature)
    here = at_pad(case)
    assert geometry.air(here)[1] == pytest.approx(expected, abs=0.01)
    assert observed_climb.pad_network(case).wall_temperature == geometry.air(here)[1]
    assert hold(here) == pytest.approx(study.ascent(case, profile(case)).held)


def test_flight_measured_by_its_pressure_is_at_the_altitude_of_that_pressure():
    # ISO 2533 prints 54 048 Pa and 255.676 K at 5000 m
    case = warm(DROGUE.replace('altitude = "8500 ft"\n', ""), '"255.676 K"',
                'pressure = "54048 Pa abs"')  # fmt: skip
    assert geometry.air(at_pad(case))[1] == pytest.approx(288.15, abs=0.01)


def test_scatter_of_a_temperature_goes_to_the_pad_with_it():
    low_high = 'distribution = "uniform", low = "40 degF", high = "60 degF"'
    flat = at_pad(warm(DROGUE, f'{{ value = "48 degF", {low_high} }}'))
    spread = flat.spreads["surroundings.temperature"]
    ends = [geometry.air(flat)[1] + shift / 1.8 for shift in (-8.0, 12.0)]
    assert (spread.low, spread.high) == pytest.approx(ends)
    normal = warm(DROGUE, '{ value = "48 degF", spread = "5 K" }')
    held = observed_climb.joint_holds(normal, 1)
    assert held.std() > 1.02 * observed_climb.joint_holds(replace(normal, spreads={}), 1).std()


def test_cold_day_pulls_more_and_a_warm_one_no_less():
    # the density of an ideal gas: p/(R T)
    cold, standard, hot = (warm(MAIN, each) for each in ('"20 degF"', '"285.77 K"', '"95 degF"'))
    pulls = [profile(case).pull.max() for case in (cold, standard, hot)]
    T = profile(standard).temperature[profile(standard).burnout]
    assert pulls[0] / pulls[1] == pytest.approx(T / (T - 285.77 + 266.483), rel=1e-3)
    assert pulls[2] == pytest.approx(pulls[1], rel=1e-4)


def test_electronics_bay_lags_behind():
    case = case_with("many-152")
    found = study.ascent(case, profile(case))
    assert found.lag is not None and 0.0 < found.lag < 100.0
    assert study.ascent(case_with(), profile(case_with())).lag is None


def test_no_way_up_is_told():
    case = replace(case_with(), ascent=None)
    with pytest.raises(StudyError, match=r"add \[ascent\] with burnout_height"):
        profile(case)
    flat = logged(np.linspace(0.0, 60.0, 600), np.full(600, 366.0))
    with pytest.raises(StudyError, match="no ascent"):
        profile(case, flat)
    beyond = case_with(burnout_speed=2400.0, burnout_height=40e3, drag_area=1e-4,
                       fore_drag_area=None)  # fmt: skip
    with pytest.raises(StudyError, match="leaves the standard atmosphere"):
        profile(beyond)


def test_network_is_that_of_the_case():
    network = observed_climb.pad_network(case_with("many-152"))
    assert isinstance(network, Network)
    assert network.volume.size == 2
    # wire hole, static ports, vent and the gap of the shoulder
    assert network.opening_area.size == 4


def test_ascent_cannot_scatter_or_be_impossible():
    text = (CASES / "main-98.toml").read_text(encoding="utf-8")
    assert isinstance(baypulse.load(CASES / "main-98.toml").ascent, Ascent)
    from baypulse.errors import CaseError

    for old, new, told in (
        (
            '"760 ft/s"',
            '{ value = "760 ft/s", spread = "5 %" }',
            "a setting, which does not scatter",
        ),
        ('fore_drag_area = "5 cm^2"', 'fore_drag_area = "50 cm^2"', "is more than the 46.0 cm"),
        ('burnout_height = "1400 ft"', 'burnout_height = "14 ft"', "check the units of speed"),
    ):
        with pytest.raises(CaseError, match=told):
            reads(text.replace(old, new), "main-98", "main-98.toml")
