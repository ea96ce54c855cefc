"""Skin of a wall, and the burning of grains, against closed forms and quadrature."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import erfcx

from baypulse.engine.event import EventCode
from baypulse.physics import heat, powder
from tools import P_STANDARD, PERFECT_AIR, charged, go, moment, surfaces, vessel

T_GAS, T_WALL = 900.0, 293.0


def test_skin_kernel_answers_a_constant_flux_within_a_quarter_of_a_per_cent() -> None:
    # Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed. (1959), sec. 2.9:
    # T - T_0 = 2 q sqrt(t/pi)/e
    rates, weights, instant = heat.skin_kernel()
    t = np.geomspace(0.5e-3, 3.0, 5000)
    answer = ((1.0 - np.exp(-np.outer(t, rates))) / rates) @ weights + instant
    exact = 2.0 * np.sqrt(t / math.pi)
    assert np.max(np.abs(answer / exact - 1.0)) < 2.5e-3


def hot_room(convection: float, effusivity: float, **changes: Any) -> tuple[Any, Any, Any]:
    """Run a room of hot gas too large to cool with one small wall."""
    P = vessel(
        1e4, T=T_GAS, air=PERFECT_AIR, T_ambient=T_WALL,
        **surfaces([(0, 1e-3, 0.0, 0.0, convection, effusivity)]), **changes,
    )  # fmt: skip
    return (P, *go(P, 3.0, 1e-8))


def test_wall_of_the_engine_warms_under_a_constant_flux_like_the_semi_infinite_solid() -> None:
    # a wall so effusive that its skin hardly warms, so that the flux stays constant within 2e-5
    convection, effusivity = 50.0, 4e6
    _, _, seen = hot_room(convection, effusivity)
    q = convection * (T_GAS - T_WALL)
    late = seen.times > 0.5e-3
    exact = 2.0 * q * np.sqrt(seen.times[late] / math.pi) / effusivity
    rise = seen.skins[late, 0] - T_WALL
    assert np.max(np.abs(rise / exact - 1.0)) < 2.5e-3


@pytest.mark.parametrize("effusivity", [200.0, 700.0, 2000.0])
def test_wall_of_the_engine_warms_in_a_hot_stream_like_the_semi_infinite_solid(
    effusivity: float,
) -> None:
    # Carslaw & Jaeger, sec. 2.7: (T - T_0)/(T_g - T_0) = 1 - exp(z^2) erfc(z), z = h sqrt(t)/e
    convection = 300.0
    P, _, seen = hot_room(convection, effusivity)
    late = seen.times > 2e-3
    z = convection * np.sqrt(seen.times[late]) / effusivity
    exact = 1.0 - erfcx(z)
    share = (seen.skins[late, 0] - T_WALL) / (T_GAS - T_WALL)
    assert np.max(np.abs(share / exact - 1.0)) < 2.5e-3
    # heat taken up: integral of h (T_g - T_skin) = h dT e^2/h^2 (exp(z^2) erfc(z) - 1 + 2z/sqrt pi)
    z = convection * math.sqrt(seen.times[-1]) / effusivity
    taken = (T_GAS - T_WALL) * effusivity**2 / convection
    taken *= erfcx(z) - 1.0 + 2.0 * z / math.sqrt(math.pi)
    booked = seen.states[-1, P.heats_at] / 1e-3
    assert booked == pytest.approx(taken, rel=2.5e-3)


def test_radiation_and_convection_cool_a_lumped_gas_as_the_energy_equation_says() -> None:
    # a wall that stays cold: m c_v dT/dt = -A (h (T - T_w)) for the clear cold zone, closed form
    # exponential
    convection, area, volume = 80.0, 0.05, 1e-3
    P = vessel(
        volume, T=T_GAS, air=PERFECT_AIR, T_ambient=T_WALL,
        **surfaces([(0, area, 0.0, 0.0, convection, 1e9)]),
    )  # fmt: skip
    _, seen = go(P, 0.05, 1e-9)
    mass = P_STANDARD * volume / (PERFECT_AIR[0] * T_GAS)
    rate = convection * area / (mass * PERFECT_AIR[1])
    expected = T_WALL + (T_GAS - T_WALL) * np.exp(-rate * seen.times)
    np.testing.assert_allclose(seen.volumes[:, 0, 3], expected, rtol=1e-6)


# --- powder ---------------------------------------------------------------------------------

WINDOWS = [(0.216e-3, 0.4775e-3), (0.1e-3, 0.9e-3), (0.4e-3, 0.4004e-3), (0.74e-3, 0.875e-3)]


def quadrature(depth: float, low: float, high: float) -> float:
    """Mean over radii of what a sphere has lost: 1 - (1 - e/r)^3, all of it when e > r."""

    def lost(radius: float) -> float:
        return 1.0 - (1.0 - min(depth / radius, 1.0)) ** 3

    middle = min(max(depth, low), high)
    parts = [quad(lost, low, middle, epsabs=1e-16)[0], quad(lost, middle, high, epsabs=1e-16)[0]]
    return sum(parts) / (high - low)


@pytest.mark.parametrize(("low", "high"), WINDOWS)
@pytest.mark.parametrize("share", [0.0, 0.01, 0.3, 0.6, 0.95, 1.0, 1.5])
def test_burnt_fraction_is_the_mean_over_the_sieve_window(
    low: float, high: float, share: float
) -> None:
    depth = share * high
    expected = quadrature(depth, low, high)
    assert powder.burnt_fraction(depth, low, high) == pytest.approx(expected, abs=1e-11)


@pytest.mark.parametrize(("low", "high"), WINDOWS)
@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.95])
def test_burnt_slope_is_the_derivative(low: float, high: float, share: float) -> None:
    # by quadrature of the derivative itself: 3 (1 - e/r)^2 / r over the grains still burning
    depth = share * high
    start = max(low, depth)
    integral = quad(lambda r: 3.0 * (1.0 - depth / r) ** 2 / r, start, high, epsabs=1e-15)[0]
    expected = integral / (high - low)
    assert powder.burnt_slope(depth, low, high) == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("exponent", [0.0, 0.24, 0.5])
@pytest.mark.parametrize("p", [0.3, 1.0, 5.0])
def test_a_charge_at_constant_pressure_burns_out_at_radius_over_rate(
    exponent: float, p: float
) -> None:
    # a vessel too large to feel its charge; a cubic ramp of the flame costs half its length
    spread, start = 4e-3, 10e-3
    P = charged(
        1e-6, 1e3, p=p * P_STANDARD, rate_exponent=exponent, flame_spread=spread,
        start_time=start,
    )  # fmt: skip
    track, _ = go(P, 3.0)
    rate = 12e-3 * (p * P_STANDARD / 1e5) ** exponent
    expected = start + 0.5 * spread + P.r_high / rate
    assert moment(track, EventCode.BURNOUT) == pytest.approx(expected, rel=1e-8)
