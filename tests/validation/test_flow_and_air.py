"""Orifice flow, air, gases and the atmosphere against reference libraries and printed tables."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from fluids.compressible import P_critical_flow, T_critical_flow, is_critical_flow
from fluids.flow_meter import nozzle_expansibility
from fluids.safety_valve import API520_F2, API520_A_g
from scipy.constants import R as MOLAR_GAS

from baypulse.case import library
from baypulse.constants import AIR_MOLAR_MASS
from baypulse.physics import flow, gas
from baypulse.physics.atmosphere import standard_atmosphere

GAMMAS = [1.08, 1.22, 1.4, 5.0 / 3.0]


@pytest.mark.parametrize("g", GAMMAS)
def test_critical_ratio_equals_that_of_fluids(g: float) -> None:
    critical = float(P_critical_flow(1.0, g))
    choked = flow.flow_square(0.0, g)
    assert flow.flow_square(critical * (1.0 - 1e-9), g) == choked
    assert flow.flow_square(critical * (1.0 + 1e-9), g) == pytest.approx(choked, rel=1e-12)
    # the top of a parabola, to either side of which the flow falls
    assert flow.flow_square(critical + 0.01, g) < choked * (1.0 - 1e-5)
    limit = P_critical_flow(1.0, g)
    assert is_critical_flow(1.0, limit * 0.999, g) and not is_critical_flow(1.0, limit * 1.001, g)


@pytest.mark.parametrize(
    ("pressure", "density"),
    # NACA Report 1135 (1953), table I, gamma = 1.4: p/p_t and rho/rho_t at Mach 0.3, 0.5, 0.8 and 1
    # (from memory)
    [(0.9395, 0.9564), (0.8430, 0.8852), (0.6560, 0.7400), (0.5283, 0.6339)],
)
def test_throat_prints_the_table_of_isentropic_flow(pressure: float, density: float) -> None:
    x, e = flow.throat(pressure, 1.4)
    assert x == pytest.approx(pressure, abs=5e-5) and e == pytest.approx(density, abs=1e-4)
    # choked: what lies downstream does not matter
    assert flow.throat(0.1, 1.4) == pytest.approx((0.52828, 0.63394), abs=5e-6)
    # Psi^2 = (rho u)^2/(p_t rho_t) = gamma M^2 (p/p_t) (rho/rho_t), with M from the table, to the
    # last digits of the table: 2 g/(g-1) e 1e-4
    mach = {0.9395: 0.3, 0.8430: 0.5, 0.6560: 0.8, 0.5283: 1.0}[pressure]
    assert flow.throat_square(pressure, density, 1.4, flow.LAMINAR) == pytest.approx(
        1.4 * mach**2 * pressure * density, abs=7e-4
    )


@pytest.mark.parametrize("g", GAMMAS)
@pytest.mark.parametrize(("p", "T", "R"), [(6e5, 300.0, 287.05), (3e5, 1800.0, 108.5)])
def test_choked_flow_is_that_of_the_sonic_throat(g: float, p: float, T: float, R: float) -> None:
    # density and speed of sound at the throat state that fluids gives
    p_throat, T_throat = P_critical_flow(p, g), T_critical_flow(T, g)
    expected = p_throat / (R * T_throat) * math.sqrt(g * R * T_throat)
    for p_down in (1e3, 0.9 * p_throat, p_throat):
        got = flow.mass_flux(p, p / (R * T), p_down, g)
        assert got == pytest.approx(expected, rel=3e-8)


@pytest.mark.parametrize("g", GAMMAS)
@pytest.mark.parametrize("ratio", [0.65, 0.8, 0.95, 0.99])
def test_unchoked_flow_is_that_of_the_sizing_standard(g: float, ratio: float) -> None:
    # API 520 part 1's subcritical coefficient F_2, exact: mdot = A F_2 sqrt(2 rho (p_1 - p_2)),
    # and the same from ISO 5167's nozzle expansibility for a vanishing diameter ratio
    p, rho = 3e5, 2.7
    expected = API520_F2(g, p, ratio * p) * math.sqrt(2.0 * rho * p * (1.0 - ratio))
    got = flow.mass_flux(p, rho, ratio * p, g)
    assert got == pytest.approx(expected, rel=3e-5)
    nozzle = nozzle_expansibility(D=1.0, Do=1e-3, P1=p, P2=ratio * p, k=g, beta=1e-6)
    assert got == pytest.approx(nozzle * math.sqrt(2.0 * rho * p * (1.0 - ratio)), rel=3e-5)


@pytest.mark.parametrize("p_down", [1e5, 2.2e5, 2.6e5])
def test_area_of_a_relief_valve_passes_its_flow(p_down: float) -> None:
    # the whole sizing routine, whose printed constants carry three to four digits
    p, T, mw, g = 3e5, 340.0, 28.96, 1.4
    area = API520_A_g(m=0.5, T=T, Z=1.0, MW=mw, k=g, P1=p, P2=p_down, Kd=0.65)
    rho = p * mw * 1e-3 / (MOLAR_GAS * T)
    assert 0.65 * area * flow.mass_flux(p, rho, p_down, g) == pytest.approx(0.5, rel=1e-3)


@pytest.mark.parametrize(
    "altitude", [-1e3, 0.0, 500.0, 3e3, 9e3, 11_050.0, 18e3, 25e3, 40e3, 50e3, 65e3, 79e3]
)
def test_atmosphere_equals_the_us_standard_of_1976(altitude: float) -> None:
    # ISO 2533 and US 1976 are one below 32 km, and the layers above are the same too
    reference = fluids.ATMOSPHERE_1976(altitude)
    p, T = standard_atmosphere(altitude)
    assert p == pytest.approx(reference.P, rel=1e-4)
    assert abs(T / reference.T - 1.0) < 1e-5


@pytest.mark.parametrize(
    ("altitude", "T", "p"),
    [
        (0.0, 288.150, 101_325.0),
        (1000.0, 281.651, 89_876.3),
        (3000.0, 268.659, 70_121.2),
        (5000.0, 255.676, 54_048.3),
        (10_000.0, 223.252, 26_499.9),
        (20_000.0, 216.650, 5_529.31),
    ],
)
def test_atmosphere_prints_the_table_of_iso_2533(altitude: float, T: float, p: float) -> None:
    # computed from the defining constants of ISO 2533:1975; equal to the printed US 1976 table to
    # all its digits (the printed table itself: from memory)
    got_p, got_T = standard_atmosphere(altitude)
    assert got_T == pytest.approx(T, abs=6e-4)
    assert got_p == pytest.approx(p, rel=1e-5)


def test_gas_constant_of_air_is_that_of_the_molar_mass_and_of_the_reference_equation() -> None:
    assert pytest.approx(MOLAR_GAS / AIR_MOLAR_MASS, rel=2e-5) == gas.AIR_R
    assert (
        pytest.approx(PropsSI("GAS_CONSTANT", "Air") / PropsSI("M", "Air"), rel=1e-4) == gas.AIR_R
    )


def ideal_heat_capacity(fluid: str, T: float) -> float:
    """Return c_v of the ideal gas [J/kg/K] from CoolProp's reference equations."""
    R = PropsSI("GAS_CONSTANT", fluid) / PropsSI("M", fluid)
    return PropsSI("CP0MASS", "T", T, "P", 1e5, fluid) - R


@pytest.mark.parametrize(
    ("name", "fluid", "error"),
    [
        ("nitrogen", "Nitrogen", 0.02),
        ("air", "Air", 0.02),
        ("argon", "Argon", 1e-3),
        ("carbon dioxide", "CarbonDioxide", 0.04),
        ("helium", "Helium", 1e-3),
    ],
)
def test_gases_of_the_library_follow_the_reference_equations(
    name: str, fluid: str, error: float
) -> None:
    # within the spread that the library states, over its range of 200 to 600 K (CO2 from its
    # triple point of 217 K on)
    data = library.gas(name)
    R = PropsSI("GAS_CONSTANT", fluid) / PropsSI("M", fluid)
    assert data.gas_constant == pytest.approx(R, rel=2e-4)
    for T in (220.0, 250.0, 293.0, 350.0, 450.0, 600.0):
        c_v = data.heat_capacity + data.heat_capacity_slope * T
        assert c_v == pytest.approx(ideal_heat_capacity(fluid, T), rel=error), T


@pytest.mark.parametrize("T", [250.0, 293.0, 400.0, 600.0, 1000.0, 1400.0, 1800.0])
def test_heat_capacity_of_the_engines_air_is_within_its_stated_three_per_cent(T: float) -> None:
    # reference equation of air (Lemmon et al. 2000) as CoolProp has it
    c_v = gas.AIR_C0 + gas.AIR_C1 * T
    miss = c_v / ideal_heat_capacity("Air", T) - 1.0
    assert abs(miss) < 0.03, f"{miss:+.2%} at {T} K, inside the stated 250 to 1800 K"


@pytest.mark.parametrize("T", [600.0, 1200.0, 1800.0])
def test_energy_of_the_engines_air_above_room_temperature_is_that_of_cantera(T: float) -> None:
    ct = pytest.importorskip("cantera")
    air = ct.Solution("air.yaml")
    composition = "O2:0.2095, N2:0.7809, AR:0.0096"

    def energy(at: float) -> float:
        air.TPX = at, 101_325.0, composition
        return float(air.int_energy_mass)

    ours = gas.specific_energy(T, gas.AIR_C0, gas.AIR_C1)
    ours -= gas.specific_energy(293.0, gas.AIR_C0, gas.AIR_C1)
    assert ours == pytest.approx(energy(T) - energy(293.0), rel=0.02)


def test_temperature_is_the_inverse_of_energy() -> None:
    for T in np.geomspace(50.0, 3000.0, 20):
        u = gas.specific_energy(T, gas.AIR_C0, gas.AIR_C1)
        assert gas.temperature(u, gas.AIR_C0, gas.AIR_C1) == pytest.approx(T, rel=1e-12)
        u = gas.specific_energy(T, 1410.0, 0.0)
        assert gas.temperature(u, 1410.0, 0.0) == pytest.approx(T, rel=1e-12)


@pytest.mark.parametrize("area", [1e-7, 1e-5, 1e-4, 1e-3])
@pytest.mark.parametrize(("R", "T", "g"), [(287.05, 250.0, 1.4), (108.5, 2350.0, 1.083)])
def test_a_wide_hole_evens_out_no_faster_than_can_be_followed(
    area: float, R: float, T: float, g: float
) -> None:
    # an isentropic volume obeys dp/dt = -(g R T/V) mdot; Bernoulli's mdot = Cd A sqrt(2 p rho d) at
    # a relative difference d, straightened below the evenness
    p, volume = 1e5, 6e-4
    even = flow.evenness(area, volume, flow.EVEN)
    assert flow.LAMINAR <= even <= flow.LAMINAR + flow.EVEN
    rho = p / (R * T)

    def flux(d: float) -> float:
        return flow.throat_flux(p, rho, *flow.throat(1.0 - d, g), g, even)

    small = 1e-3 * even
    rate = g * R * T / volume * area * flux(small) / (small * p)
    straight = g * R * T / volume * area * math.sqrt(2.0 * p * rho / even) / p
    assert rate == pytest.approx(straight, rel=1e-3)
    if even < 0.5 * flow.EVEN:
        assert rate < 1.0 / flow.EVENING_TIME
    # well above it, the orifice: ten times the evenness makes half a per cent of the flux at most
    d = 10.0 * even
    assert 0.995 * flow.mass_flux(p, rho, p * (1.0 - d), g) < flux(d)
    assert flux(d) <= flow.mass_flux(p, rho, p * (1.0 - d), g)
    # and the whole law lies within the square root's: nothing flows faster
    for d in np.geomspace(1e-6, 0.9, 40):
        assert flux(d) <= flow.mass_flux(p, rho, p * (1.0 - d), g) * (1.0 + 1e-12)
