"""Blowdown through an orifice against the isentropic and the isothermal closed form.

Closed forms: standard gas dynamics (e.g. Shapiro, The Dynamics and Thermodynamics of Compressible
Fluid Flow, vol. 1, 1953, ch. 4; from memory). Dutton & Coverdill, Int. J. Engng Ed. 13 (1997)
123, measured both and found their data between them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from baypulse.engine.parameters import Parameters
from tools import P_STANDARD, PERFECT_AIR, go, hole, vessel

VOLUME, AREA, T_START = 1e-3, 5e-6, 300.0
R = PERFECT_AIR[0]


def choked_constant(g: float) -> float:
    """Return sqrt(g) (2/(g+1))^((g+1)/(2(g-1))); 0.684731 for g = 1.4."""
    return math.sqrt(g) * (2.0 / (g + 1.0)) ** ((g + 1.0) / (2.0 * (g - 1.0)))


def tank(p: float, g: float) -> Parameters:
    air = (R, R / (g - 1.0), 0.0)
    return vessel(VOLUME, p=p, T=T_START, air=air, T_ambient=T_START, **hole(AREA))


def pressure_at(P: Parameters, t: float) -> float:
    _, seen = go(P, t, 1e-10)
    assert seen.times[-1] == pytest.approx(t, rel=1e-12)
    return float(seen.volumes[-1, 0, 0])


def test_the_choked_constant_of_air_is_the_standard_one() -> None:
    assert choked_constant(1.4) == pytest.approx(0.684731, abs=5e-7)


@pytest.mark.parametrize("p_end", [8.0, 4.0, 1.9])
def test_choked_adiabatic_blowdown_follows_the_closed_form(p_end: float) -> None:
    # choking ends at p/p_a = 1.8929
    g, p0, p = 1.4, 10.0 * P_STANDARD, p_end * P_STANDARD
    tau = VOLUME / (AREA * choked_constant(g) * math.sqrt(R * T_START))
    t = tau * 2.0 / (g - 1.0) * ((p0 / p) ** ((g - 1.0) / (2.0 * g)) - 1.0)
    # the engine's orifice law, smoothed near equal pressures, has 1.1e-8 less flow when choked
    assert pressure_at(tank(p0, g), t) == pytest.approx(p, rel=3e-8)


@pytest.mark.parametrize("p_end", [1.5, 1.2, 1.05])
def test_unchoked_adiabatic_blowdown_follows_the_quadrature(p_end: float) -> None:
    g, p0 = 1.4, 1.85 * P_STANDARD

    def seconds_per_pascal(p: float) -> float:
        # dp/dt = -g R T mdot / V, with T along the isentrope of the gas that stays
        T = T_START * (p / p0) ** ((g - 1.0) / g)
        x = P_STANDARD / p
        square = 2.0 * g / (g - 1.0) * (x ** (2.0 / g) - x ** ((g + 1.0) / g))
        mdot = AREA * p / math.sqrt(R * T) * math.sqrt(square)
        return VOLUME / (g * R * T * mdot)

    p = p_end * P_STANDARD
    t = quad(seconds_per_pascal, p, p0, epsrel=1e-12)[0]
    # at 1.05 atm the engine's straightened orifice has 1.1e-6 less flow, so the pressure is
    # at most that share of the whole fall too high
    assert pressure_at(tank(p0, g), t) == pytest.approx(p, rel=1e-6)


@pytest.mark.parametrize("p_end", [5.0, 2.5, 1.7])
def test_a_gas_of_gamma_near_one_blows_down_isothermally(p_end: float) -> None:
    # choking of a gas of gamma 1 ends at p/p_a = sqrt(e) = 1.649
    g, p0, p = 1.00001, 10.0 * P_STANDARD, p_end * P_STANDARD
    tau = VOLUME / (AREA * choked_constant(g) * math.sqrt(R * T_START))
    assert choked_constant(g) == pytest.approx(math.exp(-0.5), rel=1e-5)
    # gamma - 1 = 1e-5 cools the gas by that share for each factor e of pressure
    assert pressure_at(tank(p0, g), tau * math.log(p0 / p)) == pytest.approx(p, rel=1e-4)


@pytest.mark.parametrize("factor", [0.5, 2.0, 10.0])
def test_blowdown_scales_with_volume_over_area(factor: float) -> None:
    # same pressure at the same t Cd A / V
    small = tank(5.0 * P_STANDARD, 1.4)
    large = small._replace(
        volume=small.volume * factor,
        initial=small.initial * factor,
        zone_floor=small.zone_floor * factor,
        opening_area=small.opening_area * factor**2,
    )
    assert pressure_at(large, 0.2 / factor) == pytest.approx(pressure_at(small, 0.2), rel=1e-8)


@pytest.mark.parametrize("g", [1.1, 1.22, 1.4, 5.0 / 3.0])
def test_flow_is_continuous_where_choking_ends(g: float) -> None:
    limit = ((g + 1.0) / 2.0) ** (g / (g - 1.0)) * P_STANDARD
    flows = []
    for p in (limit * (1.0 - 1e-6), limit * (1.0 + 1e-6)):
        _, seen = go(tank(p, g), 1e-9)
        flows.append(seen.flows[-1, 0] / p)
    assert flows[0] == pytest.approx(flows[1], rel=1e-9)
    expected = AREA * choked_constant(g) / math.sqrt(R * T_START)
    assert np.mean(flows) == pytest.approx(expected, rel=1e-8)
