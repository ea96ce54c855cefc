"""The smallest vent against closed forms, and the time in which a vent empties a bay."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from baypulse.case import geometry
from baypulse.case.casefile import read
from baypulse.case.geometry import each
from baypulse.case.model import Case
from baypulse.observed.flight_profile import Profile
from baypulse.physics.atmosphere import standard_atmosphere
from baypulse.studies.vents.bleed import time_constant
from baypulse.studies.vents.compute import WayUp
from baypulse.studies.vents.result import FOUND, NOT_ENOUGH, NOT_NEEDED
from baypulse.studies.vents.vent_members import find_vent, tight

R = 287.05
"""Gas constant of dry air [J/kg/K]; ISO 2533, from memory."""


def bay() -> Case:
    """A tight bay with one vent, on a pad at sea level."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        case = read(Path(__file__).parents[3] / "cases" / "bench-76.toml")
    here = replace(case.surroundings, altitude=0.0, pressure=None, temperature=None)
    return tight(replace(case, surroundings=here))


def steady(speed: float, top: float, *, pull: float | None = None) -> Profile:
    """A climb of one speed [m/s] from sea level to a height [m]."""
    time = np.linspace(0.0, top / speed, 2001)
    altitude = speed * time
    pressure, temperature = each(standard_atmosphere, altitude)
    return Profile(
        source="made up", time=time, altitude=altitude, speed=np.full_like(time, speed),
        pressure=pressure, temperature=temperature,
        pull=None if pull is None else np.full_like(time, pull),
        burnout=0, apogee=time.size - 1, notes=(),
    )  # fmt: skip


def way(profile: Profile) -> tuple[Case, WayUp]:
    case, vent = find_vent(bay())
    return case, WayUp(case, vent, profile)


def test_a_sealed_bay_at_3_km_keeps_the_air_of_the_ground() -> None:
    """Area times 101,325 less 70,121 Pa: ISO 2533 at 0 and 3000 m of altitude.

    The walls keep the air as warm as on the pad, so it keeps its pressure.
    """
    case, up = way(steady(100.0, 3000.0))
    top = up.push(0.0)
    area = 0.25 * math.pi * case.bay.bore**2
    assert top.force == pytest.approx(area * (101325.0 - 70121.2), rel=1e-3)
    assert top.altitude == pytest.approx(3000.0)


def quasi_steady(case: Case, speed: float, lag: float, g: float) -> float:
    """V |dp/dt| / (g R T) = Cd A sqrt(2 rho dp), with |dp/dt| = rho g_0 w, near the ground.

    Derived here, of an incompressible orifice: g is 1 where the walls keep the air warm, 1.4 where
    it has no time to take heat up. It holds where the lag is small against the pressure. Returns
    the diameter [m].
    """
    p, T = 101325.0, 288.15
    rho = p / (R * T)
    flow = float(geometry.free_volume(case).total) / (g * R * T) * rho * 9.80665 * speed
    area = flow / math.sqrt(2.0 * rho * lag) / case.openings[0].discharge
    return math.sqrt(4.0 * area / math.pi)


def smallest(speed: float, lag: float) -> tuple[Case, float]:
    case, up = way(steady(speed, 3000.0))
    found = up.lower(lag * float(geometry.bore_area(case)) / 0.5, 0.5, 0.25 * case.bay.bore)
    assert found.state == FOUND
    return case, found.single


@pytest.mark.parametrize("speed", [15.0, 60.0])
@pytest.mark.parametrize("lag", [150.0, 600.0])
def test_the_smallest_vent_of_a_slow_climb_is_the_quasi_steady_one(
    speed: float, lag: float
) -> None:
    case, found = smallest(speed, lag)
    # the lag takes some metres to settle, up which rho has fallen
    assert found == pytest.approx(quasi_steady(case, speed, lag, 1.0), rel=0.02)


@pytest.mark.parametrize("lag", [150.0, 600.0])
def test_a_fast_climb_needs_no_more_than_warm_air_and_no_less_than_cold(lag: float) -> None:
    case, found = smallest(240.0, lag)
    assert quasi_steady(case, 240.0, lag, 1.4) < found < quasi_steady(case, 240.0, lag, 1.0)


def test_the_smallest_vent_keeps_exactly_the_wanted_share() -> None:
    _, up = way(steady(150.0, 4000.0, pull=3.0))
    hold = 60.0
    found = up.lower(hold, 0.3, 0.02)
    assert up.push(found.single).force == pytest.approx(0.3 * hold, rel=1e-3)
    assert up.push(0.98 * found.single).force > 0.3 * hold
    assert up.push(1.02 * found.single).force < 0.3 * hold


def test_no_vent_is_needed_where_the_sealed_bay_stays_below() -> None:
    _, up = way(steady(150.0, 1000.0))
    sealed = up.push(0.0).force
    assert up.lower(sealed / 0.5 * 1.001, 0.5, 0.02).state == NOT_NEEDED
    assert up.lower(sealed / 0.5 * 0.999, 0.5, 0.02).state == FOUND


def test_no_vent_helps_against_drag() -> None:
    _, up = way(steady(150.0, 1000.0, pull=31.0))
    found = up.lower(60.0, 0.5, 0.02)
    assert found.state == NOT_ENOUGH and math.isinf(found.single)


def test_the_time_constant_is_that_of_choked_isothermal_blowdown() -> None:
    """p falls as exp(-t/tau), tau = V/(Cd A Psi sqrt(R T)).

    Psi = sqrt(g) (2/(g + 1))^((g + 1)/(2 (g - 1))), 0.68473 for 1.4: textbooks of gas dynamics,
    from memory. A litre through a square centimetre of air at 288.15 K.
    """
    psi = 0.684731
    expected = 1e-3 / (1e-4 * psi * math.sqrt(R * 288.15))
    assert time_constant(1e-3, 1e-4, R, 288.15, 1.4) == pytest.approx(expected, rel=1e-5)
