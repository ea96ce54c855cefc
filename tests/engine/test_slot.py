"""Flow through a slot against closed forms, and the shape that the solver needs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from baypulse.engine import layout as at
from baypulse.engine.parameters import OUTSIDE, SHOULDER, SLOT
from baypulse.engine.slow import Network, follow
from baypulse.physics import flow, gas, slot
from tools import go, hole, vessel

R, g = 287.05, 1.4
P0 = 101_325.0


def flux(p, gap, length, T=293.15, T_wall=293.15, p_down=P0, discharge=0.6):
    return slot.slot_flux(p, p / (R * T), p_down, g, R, gap, length, T_wall, discharge)


def test_small_pressures_give_plane_poiseuille_flow():
    # mean velocity h^2 dp/(12 mu L) between plates (White, Viscous Fluid Flow, ch. 3, or any text)
    T, gap, length = 293.15, 5e-5, 0.076
    for dp in (1.0, 10.0, 50.0):
        rho = (P0 + 0.5 * dp) / (R * T)
        expected = rho * gap**2 * dp / (12.0 * gas.viscosity(T) * length)
        assert flux(P0 + dp, gap, length) == pytest.approx(expected, rel=2e-3)


def test_a_thin_slot_passes_laminar_isothermal_compressible_flow():
    # G integral of dx: G 12 mu L/h^2 = integral of rho dp, by quadrature of the closed form
    T, gap, length = 293.15, 1e-5, 0.1
    for p in (1.2e5, 2e5, 5e5):
        drive = quad(lambda each: each / (R * T), P0, p)[0]
        expected = gap**2 * drive / (12.0 * gas.viscosity(T) * length)
        assert flux(p, gap, length) == pytest.approx(expected, rel=1e-4)


def test_no_length_is_the_orifice():
    for p in (P0 + 1.0, 1.2e5, 4e5):
        for T in (293.15, 1500.0):
            orifice = 0.6 * flow.mass_flux(p, p / (R * T), P0, g)
            assert flux(p, 1e-4, 0.0, T) == orifice
            assert flux(p, 1e-4, 1e-15, T) == pytest.approx(orifice, rel=1e-6)


def test_the_mouth_of_a_wide_slot_is_straightened_as_a_hole_is():
    # Bernoulli's Cd sqrt(2 p rho d) at a relative difference d, a straight line below the evenness;
    # a slot as wide as this has no friction to speak of, and a thin one is a straight line as it is
    T, even, gap = 293.15, 2e-3, 5e-3
    rho = P0 / (R * T)

    def passed(d, gap):
        p = P0 / (1.0 - d)
        arguments = (p, p / (R * T), P0, g, R, gap, 1e-3, T, 0.6)
        return slot.evened_slot_flux(*arguments, even), slot.slot_flux(*arguments)

    for d in (1e-6, 1e-5):
        expected = 0.6 * math.sqrt(2.0 * P0 * rho / even) * d
        assert passed(d, gap)[0] == pytest.approx(expected, rel=1e-2)
        assert passed(d, 2e-5)[0] == pytest.approx(passed(d, 2e-5)[1], rel=1e-2)
    for d in np.geomspace(1e-6, 0.6, 30):
        softer, plain = passed(d, gap)
        assert softer <= plain * (1.0 + 1e-12)
        if d > 10.0 * even:
            assert softer == pytest.approx(plain, rel=5e-3)


def test_turbulence_is_nothing_below_and_blasius_above():
    # where friction is all, G_0 = G + e G^2/G_0 holds for the flux with it; there the factor is
    # Blasius's well above 2040, and 96/Re well below
    for laminar in (600.0, 2e4, 1e5):
        e = slot.turbulent_excess(laminar)
        share = brentq(lambda x, e=e: x + e * x * x - 1.0, 0.0, 1.0)
        Re = share * laminar
        # the same difference of pressures: f Re^2 is that of laminar flow at the flux without it
        darcy = 96.0 * laminar / Re**2
        expected = 96.0 / Re if laminar < 2000.0 else 0.316 / Re**0.25
        assert darcy == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(("gap", "length"), [(5e-5, 0.05), (1e-4, 5e-3), (3e-4, 5e-3)])
def test_gas_in_the_slot_cools_as_that_of_plates_does(gap, length):
    # dT/dx = -(T - T_w) Nu k/(G h^2 cp) integrated along the slot in place of the closed form, for
    # 1 to 1000 units; and the quadratic at that temperature, laminar, by a root search
    T, T_wall, p = 900.0, 300.0, 1.05e5
    cp = g * R / (g - 1.0)
    orifice = 0.6 * flow.mass_flux(p, p / (R * T), P0, g)

    def passed(mean):
        laminar = gap**2 * (p**2 - P0**2) / (24.0 * gas.viscosity(mean) * R * mean * length)
        dense = orifice * math.sqrt(T / mean)
        return brentq(lambda G: (G / dense) ** 2 + G / laminar - 1.0, 0.0, 2.0 * dense)

    film = 0.5 * (T + T_wall)
    rate = 7.54 * slot.conductivity(film) / (passed(film) * gap**2 * cp)
    along = solve_ivp(
        lambda _, y: [-(y[0] - T_wall) * rate, y[0]], (0.0, length), [T, 0.0],
        rtol=1e-9, atol=1e-9, method="Radau",
    )  # fmt: skip
    mean = along.y[1, -1] / length
    assert flux(p, gap, length, T, T_wall) == pytest.approx(passed(mean), rel=2e-3)


def test_a_thin_slot_passes_gas_as_cold_as_its_wall_and_a_wide_one_hot_gas():
    hot, cold = 1200.0, 293.15
    assert flux(2e5, 3e-5, 0.05, hot, cold) == pytest.approx(
        flux(2e5, 3e-5, 0.05, cold, cold), 0.05
    )
    uncooled = flux(2e5, 4e-3, 0.01, hot, hot)
    assert flux(2e5, 4e-3, 0.01, hot, cold) == pytest.approx(uncooled, rel=0.02)


@settings(max_examples=200)
@given(
    gap=st.floats(1e-6, 3e-3),
    length=st.floats(0.0, 0.2),
    T=st.floats(250.0, 2500.0),
    p=st.floats(P0, 3e6),
)
def test_more_pressure_gives_more_flow_without_a_jump(gap, length, T, p):
    p_2 = p * (1.0 + 1e-6)
    here, beyond = flux(p, gap, length, T), flux(p_2, gap, length, T)
    assert here <= beyond
    # the steepest is the straightened orifice near no difference
    steepest = (
        0.6 * math.sqrt(2.0 * p_2 * p_2 / (R * T) / flow.LAMINAR) * 2.0 * math.sqrt(T / 293.0)
    )
    assert beyond - here <= steepest * (p_2 - p) / p + 1e-9 * here


@settings(max_examples=200)
@given(
    gap=st.floats(1e-6, 3e-3),
    length=st.floats(0.0, 0.2),
    p=st.floats(P0 * (1.0 + 1e-9), 3e6),
    T=st.floats(250.0, 2500.0),
)
def test_wider_passes_more_and_longer_less(gap, length, p, T):
    # a hot gas leaves a longer slot denser, which can be more than friction takes: so at the
    # wall's temperature; per width, since a wide one lets the gas leave hot
    assert flux(p, gap, length + 1e-4, T, T) <= flux(p, gap, length, T, T)
    wider = 1.01 * gap
    assert wider * flux(p, wider, length, T) >= gap * flux(p, gap, length, T)


def test_figures_of_a_shoulder():
    # 76 mm of shoulder, gas of 700 K in walls as hot, 100 kPa in the bay: the equal discharge
    # coefficients 0.02, 0.08 and 0.4 follow by hand from the closed form of laminar isothermal
    # flow for the first two, h^2 (p_1^2 - p_2^2)/(24 mu R T L) over the choked or unchoked orifice
    T, p = 700.0, 2e5
    orifice = flow.mass_flux(p, p / (R * T), 1e5, g)
    for gap, expected in ((5e-5, 0.02), (1e-4, 0.08), (3e-4, 0.39)):
        found = slot.slot_flux(p, p / (R * T), 1e5, g, R, gap, 0.076, T, 0.6) / orifice
        assert found == pytest.approx(expected, rel=0.05)
    laminar = 5e-5**2 * (p**2 - 1e10) / (24.0 * gas.viscosity(T) * R * T * 0.076)
    assert laminar / orifice == pytest.approx(0.02, rel=0.05)


def test_a_thin_slot_empties_a_bay_as_the_closed_form_says():
    # V dp/dt = -W h^3 (p^2 - p0^2)/(24 mu L) at one temperature: of which
    # ln((p - p0)/(p + p0)) falls by W h^3 p0 t/(12 mu L V)
    T, V, gap, width, length = 293.15, 1e-3, 2e-5, 0.24, 0.07
    rate = width * gap**3 * P0 / (12.0 * gas.viscosity(T) * length * V)
    start = 1.3 * P0
    times = np.linspace(0.0, 1.5 / rate, 30)
    network = Network(
        np.array([V]), np.array([0]), np.array([OUTSIDE]), np.array([width * gap]),
        np.array([[gap, length, 0.6]]), np.array([0.06]), 1e5, T,
    )  # fmt: skip
    found = follow(times, np.full(30, P0), np.full(30, T), network, np.array([[start, T]]))
    left = (start - P0) / (start + P0) * np.exp(-rate * times)
    expected = P0 * (1.0 + left) / (1.0 - left)
    assert found.pressure[:, 0] - P0 == pytest.approx(expected - P0, rel=3e-3)


def test_the_core_lets_gas_out_by_the_same_law():
    # a vessel at 2 bar for a time in which its state hardly changes; the shoulder's length is what
    # is still in the tube
    size = {"gap": 1e-4, "length": 0.05}
    for kind, length in ((SLOT, 0.05), (SHOULDER, 0.075)):
        opening = hole(0.24 * size["gap"], kind=kind) | {
            "opening_gap": np.array([size["gap"]]),
            "opening_length": np.array([size["length"] if kind == SLOT else 0.0]),
            "opening_discharge": np.array([0.6]),
        }
        V, p, T = 1e-3, 2e5, 400.0
        P = vessel(V, p, T, **opening)
        track, seen = go(P, 1e-4)
        gases = [at.M_B, at.M_A1, at.M_A2]
        left = track.phases[-1].states[-1][at.VOLUMES : at.VOLUMES + at.PER_VOLUME]
        gone = (P.initial[0] - left)[gases].sum()
        real = 1.0 + gas.AIR_R / (gas.AIR_C0 + gas.AIR_C1 * T)
        expected = 0.24 * size["gap"] * slot.slot_flux(
            p, p / (gas.AIR_R * T), P.p_ambient, real, gas.AIR_R, size["gap"], length,
            P.T_ambient, 0.6,
        )  # fmt: skip
        assert gone / 1e-4 == pytest.approx(expected, rel=2e-3)
        assert seen is not None


@pytest.mark.parametrize("share", [1e-3, 0.1, 0.999, 1.001, 10.0, 1e6])
def test_what_turbulence_adds_is_one_curve(share: float) -> None:
    # y (y - 1) with y = (1 + e)^(1/14), in a form that loses no digits for small e
    e = share * slot.NEARLY_LAMINAR
    log_y = math.log1p(e) / 14.0
    found = slot.turbulent_excess(slot.CROSSING * e ** (1.0 / 6.0))
    assert found == pytest.approx(math.exp(log_y) * math.expm1(log_y), rel=1e-8)


def test_gas_that_is_as_cold_as_the_wall_is_so_to_rounding() -> None:
    assert -math.expm1(-slot.WHOLE) == 1.0
