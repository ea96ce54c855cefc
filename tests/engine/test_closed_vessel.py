"""A closed adiabatic vessel against closed forms: mixed at once, never mixed, and in between."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson, quad
from scipy.optimize import brentq, fsolve

from baypulse.engine import layout as at
from tools import (
    P_STANDARD,
    PERFECT_AIR,
    POWDER,
    PRODUCTS,
    REAL_AIR,
    T_ROOM,
    charged,
    go,
    still_air,
    vessel,
)

VOLUME, ENERGY = 1e-3, POWDER["heat_capacity"] * POWDER["temperature"]


def energy_of(y: np.ndarray) -> float:
    return y[at.VOLUMES + 2] + y[at.VOLUMES + 4]


def mixed_pressure(mass: float, air: tuple[float, float, float], covolume: float) -> float:
    """One gas, one temperature: m E + U_0 = sum of m u(T), p (V - b m) = sum of m R T."""
    R, c0, c1 = air
    m_air = P_STANDARD * VOLUME / (R * T_ROOM)

    def c_v(T: float) -> float:
        return mass * PRODUCTS[1] + m_air * (c0 + c1 * T)

    # energies by quadrature, so that the engine's closed form of u(T) is tested as well
    total = mass * ENERGY + m_air * quad(lambda T: c0 + c1 * T, 0.0, T_ROOM)[0]
    T = brentq(lambda T: quad(c_v, 0.0, T)[0] - total, 100.0, 5000.0, xtol=1e-11)
    return (mass * PRODUCTS[0] + m_air * R) * T / (VOLUME - covolume * mass)


@pytest.mark.parametrize("air", [PERFECT_AIR, REAL_AIR], ids=["perfect", "real"])
@pytest.mark.parametrize(("mass", "covolume"), [(0.3e-3, 0.0), (1e-3, 0.62e-3), (0.1, 0.62e-3)])
def test_mixed_at_once_gives_the_closed_form(
    mass: float, covolume: float, air: tuple[float, float, float]
) -> None:
    # in a vacuum, where the last hundredth of a pascal still counts and the run goes on
    P = charged(mass, VOLUME, air=air, covolume=covolume, mixing_time=2e-3, p_ambient=1.0)
    _, seen = go(P, 0.25)
    y = seen.states[-1]
    assert y[at.VOLUMES + 3] < 3e-9 * y[at.VOLUMES + 1]  # all the air has been taken in
    expected = mixed_pressure(mass, air, covolume)
    assert seen.volumes[-1, 0, 0] == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("mass", [0.2e-3, 1e-3, 5e-3])
@pytest.mark.parametrize("covolume", [0.0, 0.62e-3])
def test_never_mixed_gives_two_adiabatic_zones(mass: float, covolume: float) -> None:
    # exact however slowly the charge burns: the air is compressed isentropically whatever the
    # path, and the products are left with the rest of a conserved energy
    P = charged(mass, VOLUME, air=PERFECT_AIR, covolume=covolume, mixing_time=1e12)
    _, seen = go(P, 0.25)
    R, c_v, _ = PERFECT_AIR
    m_air = P_STANDARD * VOLUME / (R * T_ROOM)
    p_start = m_air * R * T_ROOM / (VOLUME - mass * P.specific_volume)  # grains take their space

    def closed_form(x: np.ndarray) -> list[float]:
        p, T1 = x[0] * P_STANDARD, x[1] * 1000.0
        T2 = T_ROOM * (p / p_start) ** (0.4 / 1.4)
        V2 = m_air * R * T2 / p
        energy = mass * PRODUCTS[1] * T1 + m_air * c_v * T2
        given = mass * ENERGY + m_air * c_v * T_ROOM
        return [
            energy / given - 1.0,
            p * (VOLUME - covolume * mass - V2) / (mass * PRODUCTS[0] * T1) - 1.0,
        ]

    p, T1 = fsolve(closed_form, [2.0, 2.0], xtol=1e-13)
    assert np.max(np.abs(closed_form(np.array([p, T1])))) < 1e-10
    # the seed of 1e-9 of the air that starts among the products is all that differs
    assert seen.volumes[-1, 0, 0] == pytest.approx(p * P_STANDARD, rel=1e-7)
    assert seen.volumes[-1, 0, 2] == pytest.approx(T1 * 1000.0, rel=1e-6)
    assert seen.volumes[-1, 0, 3] == pytest.approx(
        T_ROOM * (p * P_STANDARD / p_start) ** (0.4 / 1.4), rel=1e-7
    )


@pytest.mark.parametrize("mixing_time", [1e-3, 0.03, 1.0])
def test_gases_of_one_gamma_give_one_pressure_however_they_mix(mixing_time: float) -> None:
    # p V = (gamma - 1) U when all gases have the same gamma, at every moment
    products = (108.5, 108.5 / 0.4, 0.0)
    energy = 108.5 / 0.4 * 2350.0
    P = charged(
        1e-3, VOLUME, air=PERFECT_AIR, products=products, mixing_time=mixing_time,
        specific_energy=energy, specific_volume=0.0,
    )  # fmt: skip
    _, seen = go(P, 0.2)
    for y, p in zip(seen.states[::20], seen.volumes[::20, 0, 0], strict=True):
        assert p == pytest.approx(0.4 * energy_of(y) / VOLUME, rel=1e-12)
    burnt = P_STANDARD + 0.4 * 1e-3 * energy / VOLUME
    assert seen.volumes[-1, 0, 0] == pytest.approx(burnt, rel=1e-8)


@pytest.mark.parametrize("mixing_time", [1e-3, 0.03, 1e9])
def test_energy_and_mass_of_a_sealed_vessel_are_kept_at_every_moment(mixing_time: float) -> None:
    P = charged(2e-3, VOLUME, covolume=0.62e-3, mixing_time=mixing_time, burnable_fraction=0.9)
    _, seen = go(P, 0.2)
    start = seen.states[0]
    for y in seen.states:
        burnt = y[at.VOLUMES]
        assert energy_of(y) == pytest.approx(energy_of(start) + burnt * ENERGY, rel=1e-12)
        air = y[at.VOLUMES + 1] + y[at.VOLUMES + 3]
        assert air == pytest.approx(start[at.VOLUMES + 1] + start[at.VOLUMES + 3], rel=1e-12)
    assert seen.states[-1][at.VOLUMES] == pytest.approx(0.9 * 2e-3, rel=1e-8)


def test_air_enters_the_hot_zone_at_the_stated_time_constant_from_the_products_on() -> None:
    # dm/dt = -m z/tau with z the share of the charge that has become products: the integral of z is
    # the clock
    P = charged(1e-3, VOLUME, mixing_time=0.03, flame_spread=20e-3)
    _, seen = go(P, 0.3)
    times, once = np.unique(seen.times, return_index=True)
    states = seen.states[once]
    start, floor = states[0, at.VOLUMES + at.M_A2], P.zone_floor[0]
    cold = states[:, at.VOLUMES + at.M_A2]
    clock = cumulative_simpson(states[:, at.MADE], x=times, initial=0.0)
    expected = floor + (start - floor) * np.exp(-clock / 0.03)
    np.testing.assert_allclose(cold, expected, rtol=1e-5)


@pytest.mark.parametrize("temperature", [250.0, 293.0, 310.0])
def test_filling_an_evacuated_vessel_from_outside_heats_the_air_by_gamma(
    temperature: float,
) -> None:
    # filling adiabatically from a reservoir at T_0: the energy that enters is c_p T_0 a kilogram,
    # so the vessel ends at gamma T_0 if it was empty (standard; e.g. Moran & Shapiro,
    # Fundamentals of Engineering Thermodynamics, ch. 4: from memory)
    p_start = 1e-4 * P_STANDARD
    P = vessel(
        VOLUME, p=p_start, T=temperature, air=PERFECT_AIR, T_ambient=temperature,
        opening_from=np.array([0]), opening_to=np.array([-1]),
        opening_area=np.array([1e-5]), opening_kind=np.array([0]),
    )  # fmt: skip
    _, seen = go(P, 2.0)
    R = PERFECT_AIR[0]
    p = seen.volumes[-1, 0, 0]
    y = seen.states[-1]
    mass = y[at.VOLUMES + 1] + y[at.VOLUMES + 3]
    assert p == pytest.approx(P_STANDARD, rel=1e-6)
    # energy: m c_v T = m_0 c_v T_0 + (m - m_0) c_p T_0, and p V = m R T
    m_0 = p_start * VOLUME / (R * temperature)
    m_end = m_0 + (p - p_start) * VOLUME / (1.4 * R * temperature)
    assert mass == pytest.approx(m_end, rel=1e-6)
    assert p * VOLUME / (mass * R * temperature) == pytest.approx(1.4, rel=2e-4)


def test_two_vessels_that_even_out_end_at_one_pressure_and_their_energy_is_kept() -> None:
    # same gas throughout: the end pressure is (p_1 V_1 + p_2 V_2)/(V_1 + V_2) whatever the path
    volumes = np.array([1e-3, 0.4e-3])
    start = np.array(
        [still_air(1e-3, 3e5, 300.0, PERFECT_AIR), still_air(0.4e-3, 1e5, 280.0, PERFECT_AIR)]
    )
    start[0, at.GRAINS] = 1.0  # the inert grain that keeps the run alive
    P = vessel(
        air=PERFECT_AIR, volume=1e-3, opening_from=np.array([0]), opening_to=np.array([1]),
        opening_area=np.array([2e-6]), opening_kind=np.array([0]),
    )._replace(
        volume=volumes, cross_section=volumes ** (2 / 3), initial=start,
        zone_floor=1e-9 * start[:, at.M_A2],
    )  # fmt: skip
    _, seen = go(P, 3.0)
    end = (3e5 * 1e-3 + 1e5 * 0.4e-3) / 1.4e-3
    assert seen.volumes[-1, 0, 0] == pytest.approx(end, rel=1e-5)
    assert seen.volumes[-1, 1, 0] == pytest.approx(end, rel=1e-5)
    cells = seen.states[:, at.VOLUMES : P.skins_at].reshape(-1, 2, at.PER_VOLUME)
    energy = cells[:, :, [at.U_1, at.U_2]].sum(axis=(1, 2))
    np.testing.assert_allclose(energy, energy[0], rtol=1e-11)
    # the emptying vessel's gas has expanded isentropically
    T = 300.0 * (end / 3e5) ** (0.4 / 1.4)
    assert seen.volumes[-1, 0, 3] == pytest.approx(T, rel=1e-5)
