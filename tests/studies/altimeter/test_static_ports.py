"""Static ports: their lag against an integration of the gas's balance, and rules of practice."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.integrate import solve_ivp

from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.physics.atmosphere import standard_atmosphere
from baypulse.studies.altimeter.static_ports import (
    COUNTS,
    PortVerdict,
    area_for,
    gust_time,
    lag,
    static_ports,
)
from report_cases import BENCH

R, GAMMA = 287.05287, 1.4  # ISO 2533


def nozzle(p: float, out: float, T: float) -> float:
    """Return the mass flow through 1 m^2: Saint-Venant and Wantzel, unchoked."""
    r = max(out / p, 0.528)
    rise = r ** (2.0 / GAMMA) - r ** ((GAMMA + 1.0) / GAMMA)
    return p * math.sqrt(2.0 * GAMMA / (GAMMA - 1.0) / (R * T) * rise)


@pytest.mark.parametrize("speed", [30.0, 120.0, 340.0])
@pytest.mark.parametrize("diameter", [1.5e-3, 3.0e-3])
def test_lag_is_that_of_the_gas_s_balance(speed: float, diameter: float) -> None:
    """Against scipy's integration with the compressible orifice and ISO 2533's pressures."""
    volume, T, height = 1.0e-3, 270.0, 1500.0
    passed = 0.65 * math.pi * diameter**2 / 4.0

    def fall(t: float, y: list[float]) -> list[float]:
        out = standard_atmosphere(height + speed * t)[0]
        return [-R * T / volume * passed * nozzle(y[0], out, T) if y[0] > out else 0.0]

    end = 1000.0 / speed
    start = standard_atmosphere(height)[0] * 1.0000001
    held = solve_ivp(fall, (0.0, end), [start], method="LSODA", rtol=1e-9, atol=1e-6)
    p, outside_T = standard_atmosphere(height + 1000.0)
    # pressure into metres of the air outside
    behind = (held.y[0, -1] - p) * R * outside_T / (9.80665 * p)
    # the formula has one temperature; the air outside is colder by 3 % here
    assert lag(speed, volume, passed, T) == pytest.approx(behind, rel=0.05, abs=1e-3)


def test_area_for_a_lag_is_its_inverse() -> None:
    area = area_for(3.0, 210.0, 1.3e-3, 280.0)
    assert lag(210.0, 1.3e-3, area, 280.0) == pytest.approx(3.0, rel=1e-12)
    assert lag(210.0, 1.3e-3, 0.0, 280.0) == math.inf
    assert lag(2000.0, 1.3e-3, 1e-8, 280.0) == math.inf


def test_gust_evens_out_as_scipy_has_it() -> None:
    volume, passed, p, T = 1.3e-3, 1.5e-5, 96e3, 283.0
    end = gust_time(100.0, volume, passed, p, T)

    def fall(t: float, y: list[float]) -> list[float]:
        rho = p / (R * T)
        return [-R * T / volume * passed * math.sqrt(2.0 * rho * max(y[0], 0.0))]

    held = solve_ivp(fall, (0.0, 0.9 * end), [100.0], rtol=1e-9, atol=1e-9)
    # the difference falls as the square of the time that is left
    assert held.y[0, -1] == pytest.approx(100.0 * 0.1**2, rel=1e-4)


def bay(ports: str, volume: str = "100 in^3") -> Case:
    text = f'\n[electronics]\nvolume = "{volume}"\n'
    if ports:
        text += (
            f'\n[[openings]]\nname = "ports"\nbetween = "electronics"\nto = "outside"\n{ports}\n'
        )
    return reads(BENCH + text, "ports")


def test_rules_of_practice_are_reckoned_as_they_are_said() -> None:
    """Common practice, no source: 1/4 in for 100 in^3, and in^2 = in^3 / 500."""
    found = static_ports(bay('diameter = "1/4 in"'), 250.0, 30.0, 1.0)
    sparse, ample = found.rules
    assert found.area == pytest.approx(sparse.area, rel=1e-9)
    assert ample.area / 0.0254**2 == pytest.approx(0.2, rel=1e-9)
    assert found.fastest.ports == pytest.approx(sparse.lag, rel=1e-9)
    for rule in found.rules:
        assert {count for count, _ in rule.patterns} == set(COUNTS)
        for count, drill in rule.patterns:
            assert count * math.pi * drill.diameter**2 / 4.0 >= 0.997 * rule.area


@pytest.mark.parametrize(
    ("ports", "verdict"),
    [
        ("", PortVerdict.MISSING),
        ('diameter = "1 mm"', PortVerdict.TOO_SMALL),
        ('diameter = "1/8 in"\ncount = 4', PortVerdict.RIGHT),
        ('diameter = "1/2 in"\ncount = 4', PortVerdict.TOO_LARGE),
    ],
)
def test_verdicts(ports: str, verdict: PortVerdict) -> None:
    assert static_ports(bay(ports), 250.0, 30.0, 1.0).verdict is verdict


def test_climb_is_the_one_said_or_that_of_the_ascent_or_mach_1() -> None:
    case = bay('diameter = "1/4 in"')
    assert static_ports(case, None, 30.0, 1.0).assumed
    assert static_ports(case, None, 30.0, 1.0).climb == pytest.approx(340.0, rel=0.02)
    text = BENCH + '\n[electronics]\nvolume = "600 cm^3"\n\n[ascent]\nburnout_height = "400 m"\n'
    flown = reads(text + 'burnout_speed = "230 m/s"\ndrag_area = "45 cm^2"\n', "flown")
    assert static_ports(flown, None, 30.0, 1.0).climb == pytest.approx(230.0)
    assert static_ports(flown, 99.0, 30.0, 1.0).climb == pytest.approx(99.0)
    warm = replace(flown, surroundings=replace(flown.surroundings, altitude=0.0))
    assert static_ports(warm, None, 30.0, 1.0).temperature > 280.0
