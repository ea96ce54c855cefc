"""Falls of a pumped bay against closed forms and quadrature, and the area back from them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from baypulse.run.pumped_bay import (
    Vessel,
    area_of,
    fall,
    isothermal_area,
    isothermal_times,
    pumped_temperature,
)

R = 287.05287
"""Gas constant of air [J/kg/K], ISO 2533:1975."""

DAY, ROOM = 100e3, 295.0
VOLUME, AREA = 1.5e-3, 0.4e-6
BAY = Vessel(VOLUME, 0.12, 5.0, DAY, ROOM)
ONE_TEMPERATURE = BAY._replace(convection=1e7)
NO_HEAT = BAY._replace(convection=0.0)
G = BAY.heat_capacity_ratio

STEPS = 3.0
"""What the slow phase's steps may add up to [Pa]: each errs by at most 1e-6 of the pressure."""


def flow_number(x: float, g: float) -> float:
    """Return the orifice flow over p sqrt(1/RT) for each area, written out once more.

    Shapiro, Compressible Fluid Flow, vol. 1 (1953), ch. 4 (from memory).
    """
    critical = (2.0 / (g + 1.0)) ** (g / (g - 1.0))
    x = max(x, critical)
    return math.sqrt(2.0 * g / (g - 1.0) * (x ** (2.0 / g) - x ** ((g + 1.0) / g)))


def test_heat_capacity_ratio_is_that_of_air() -> None:
    # 1.400 at 300 K: Incropera & DeWitt, table A.4 (c_p 1007 J/kg/K; from memory); the engine's
    # line through air's c_v is within 2 % of it from 250 to 1800 K, so g - 1 is too
    assert pytest.approx(0.400, rel=0.02) == G - 1.0


def choked_number(g: float) -> float:
    """Return k = sqrt(g)(2/(g+1))^((g+1)/(2(g-1))) of the standard blowdown."""
    return math.sqrt(g) * (2.0 / (g + 1.0)) ** ((g + 1.0) / (2.0 * (g - 1.0)))


def test_choked_number_is_the_printed_one() -> None:
    # 0.6847 for g = 1.4 in every text on gas dynamics (from memory)
    assert choked_number(1.4) == pytest.approx(0.684731, abs=1e-6)
    assert choked_number(G) == pytest.approx(flow_number(0.1, G), rel=1e-12)


@pytest.mark.parametrize(("start", "end"), [(20e3, 10e3), (20e3, 1e3), (35e3, 30e3), (3e3, 200.0)])
def test_isothermal_fall_takes_the_quadrature_of_its_flow(start: float, end: float) -> None:
    # t = V/(Cd A R T) * integral of dp/m''(p); the engine's orifice is straightened
    # near rest, which is worth 7e-5 of a fall down to 200 Pa
    seconds = quad(
        lambda p: VOLUME / (AREA * p * math.sqrt(R * ROOM) * flow_number(DAY / p, G)),
        DAY + end, DAY + start, epsrel=1e-12,
    )[0]  # fmt: skip
    gauge = fall(ONE_TEMPERATURE, AREA, start, np.array([0.0, seconds]))[-1]
    assert gauge == pytest.approx(end, abs=STEPS)
    assert isothermal_area(BAY, start, end, seconds) == pytest.approx(AREA, rel=1e-4)
    table = isothermal_times(BAY, np.geomspace(end, start, 400))
    assert table[-1] / AREA == pytest.approx(seconds, rel=1e-4)
    # near its end a fall is flatter than on the whole
    assert area_of(ONE_TEMPERATURE, start, end, seconds) == pytest.approx(
        AREA, rel=3.0 * STEPS / (start - end)
    )


@pytest.mark.parametrize("end", [150e3, 110e3])
def test_choked_isothermal_fall_is_a_logarithm(end: float) -> None:
    # t = V/(Cd A k sqrt(R T)) ln(p_0/p): the standard isothermal blowdown while p/p_a is above 1.89
    start = 280e3
    k = choked_number(G)
    seconds = VOLUME / (AREA * k * math.sqrt(R * ROOM)) * math.log((DAY + start) / (DAY + end))
    gauge = fall(ONE_TEMPERATURE, AREA, start, np.array([0.0, seconds]))[-1]
    # the steps add up at four times the pressure of the other falls
    assert gauge == pytest.approx(end, abs=4.0 * STEPS)


def test_choked_fall_without_heat_is_a_power() -> None:
    # t = tau 2/(g-1) [(p_0/p)^((g-1)/(2g)) - 1]: the standard adiabatic blowdown; air's g moves by
    # 1e-3 over the 45 K of this fall
    start, end = 280e3, 110e3
    k = choked_number(G)
    tau = VOLUME / (AREA * k * math.sqrt(R * ROOM))
    seconds = tau * 2.0 / (G - 1.0) * (
        ((DAY + start) / (DAY + end)) ** ((G - 1.0) / (2.0 * G)) - 1.0
    )  # fmt: skip
    gauge = fall(NO_HEAT, AREA, start, np.array([0.0, seconds]))[-1]
    assert gauge == pytest.approx(end, rel=3e-3)
    assert area_of(NO_HEAT, start, end, seconds) == pytest.approx(AREA, rel=2e-3)


def test_small_fall_without_heat_takes_less_area_by_the_ratio_of_heat_capacities() -> None:
    # dp/p = g dm/m without heat, dm/m at one temperature (first law of a small loss)
    start, end, seconds = 20e3, 19.5e3, 1.0
    ratio = area_of(ONE_TEMPERATURE, start, end, seconds) / area_of(NO_HEAT, start, end, seconds)
    assert ratio == pytest.approx(G, rel=2e-3)


@pytest.mark.parametrize("convection", [1.0, 5.0, 25.0])
def test_fall_with_heat_follows_a_second_solver(convection: float) -> None:
    # mass and energy of one volume of air, written out and solved by scipy's DOP853
    bay = BAY._replace(convection=convection)
    c0, c1 = 677.1, 0.1617  # the engine's c_v = c0 + c1 T
    start, times = 20e3, np.linspace(0.0, 6.0, 13)

    def slope(_: float, y: np.ndarray) -> list[float]:
        m, U = y
        T = (math.sqrt(c0 * c0 + 2.0 * c1 * U / m) - c0) / c1
        p = m * R * T / VOLUME
        dm = AREA * p / math.sqrt(R * T) * flow_number(DAY / p, 1.0 + R / (c0 + c1 * T))
        return [-dm, -dm * (c0 + 0.5 * c1 * T + R) * T + convection * bay.wall_area * (ROOM - T)]

    m0 = (DAY + start) * VOLUME / (R * ROOM)
    y0 = [m0, m0 * (c0 + 0.5 * c1 * ROOM) * ROOM]
    found = solve_ivp(slope, (0.0, 6.0), y0, "DOP853", times, rtol=1e-10, atol=1e-12)
    m, U = found.y
    T = (np.sqrt(c0 * c0 + 2.0 * c1 * U / m) - c0) / c1
    assert fall(bay, AREA, start, times) == pytest.approx(m * R * T / VOLUME - DAY, abs=STEPS)


@pytest.mark.parametrize("area", [1e-9, 3e-7, 2e-5])
@pytest.mark.parametrize("convection", [0.0, 5.0, 50.0])
@pytest.mark.parametrize("share", [0.9, 0.5, 0.1])
def test_area_comes_back_from_its_own_fall(area: float, convection: float, share: float) -> None:
    bay = BAY._replace(convection=convection)
    start = 20e3
    seconds = isothermal_area(bay, start, share * start, 1.0) / area
    end = float(fall(bay, area, start, np.array([0.0, seconds]))[-1])
    assert area_of(bay, start, end, seconds) == pytest.approx(area, rel=1e-4)


def test_no_fall_needs_no_area() -> None:
    assert area_of(BAY, 10e3, 10e3, 3.0) == 0.0
    assert area_of(BAY, 10e3, 11e3, 3.0) == 0.0
    assert fall(BAY, 0.0, 20e3, np.array([0.0, 5.0, 3600.0])) == pytest.approx([20e3] * 3, rel=1e-9)


def test_fresh_air_cools_without_any_leak() -> None:
    gauge = 20e3
    warm = pumped_temperature(BAY, gauge)
    # filling an insulated rigid vessel: u_full m_full = u_0 m_0 + h_line (m_full - m_0) of perfect
    # air, solved for its temperature (Moran & Shapiro, ch. 4, from memory)
    cv = R / (G - 1.0)
    m0, p = DAY * VOLUME / (R * ROOM), DAY + gauge
    full = (p * VOLUME / R * cv - m0 * cv * ROOM) / ((cv + R) * ROOM) + m0
    assert warm == pytest.approx(p * VOLUME / (R * full), rel=1e-12)
    # closed and cold in the end: Gay-Lussac
    left = fall(BAY, 0.0, gauge, np.array([0.0, 60.0]), warm)[-1]
    assert DAY + left == pytest.approx(p * ROOM / warm, rel=1e-5)
    # the time constant: after it exp(-1) of the excess is left (the mass, and so c_v, is that of
    # the warm air: 5 % less than of settled air at the same pressure)
    tau = BAY.settling_time(gauge)
    at = fall(BAY, 0.0, gauge, np.array([0.0, tau]), warm)[-1]
    assert (at - left) / (gauge - left) == pytest.approx(math.exp(-1.0), abs=0.02)


def test_cooling_alone_is_taken_for_no_leak() -> None:
    warm = pumped_temperature(BAY, 20e3)
    end = float(fall(BAY, 0.0, 20e3, np.array([0.0, 2.0]), warm)[-1])
    assert area_of(BAY, 20e3, end, 2.0) > 0.0
    assert area_of(BAY, 20e3, end + 1.0, 2.0, warm) == 0.0
    both = float(fall(BAY, AREA, 20e3, np.array([0.0, 2.0]), warm)[-1])
    assert area_of(BAY, 20e3, both, 2.0, warm) == pytest.approx(AREA, rel=1e-4)
    assert area_of(BAY, 20e3, both, 2.0) > 1.2 * AREA
