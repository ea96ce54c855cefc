"""The slow phase against closed forms, and against a solver and equations of its own."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from baypulse.engine import slow
from baypulse.engine.slow import Network, follow
from baypulse.physics import flow, gas
from baypulse.physics.atmosphere import standard_atmosphere

R = gas.AIR_R
HOLD_TEMPERATURE = 1e7
"""A coefficient of heat transfer so great that the air keeps the walls' temperature [W/m^2/K]."""

HOLES = np.zeros((8, 3))
"""What stands for the slots of a network that has none."""


def bay(volume=1e-3, area=5e-6, convection=5.0, T=288.15, wall=0.06):
    return Network(
        np.array([volume]), np.array([0]), np.array([-1]), np.array([area]), HOLES[:1],
        np.array([wall]), convection, T,
    )  # fmt: skip


def test_lag_of_a_seep_is_the_climb_rate_times_its_time_constant():
    # A leak whose flow is proportional to the pressure difference: dp = r tau (1 - e^(-t/tau)) for
    # an outside that falls by r a second (first-order lag, any text on measurement). The flow law
    # has this limit at small differences, mdot = Cd A sqrt(p rho 2/LAMINAR) dp/p.
    T, p0, V, area = 288.15, 101_325.0, 1e-3, 2e-7
    slope = area * math.sqrt(p0 * p0 / (R * T) * 2.0 / flow.LAMINAR) / p0
    tau = V / (R * T) / slope
    for rate in (0.1, 0.2):
        t = np.linspace(0.0, 8.0 * tau, 200)
        p_out = p0 - rate * t
        found = follow(t, p_out, np.full(t.size, T), bay(V, area, HOLD_TEMPERATURE))
        expected = rate * tau * (1.0 - np.exp(-t / tau))
        assert rate * tau < 0.05 * flow.LAMINAR * p0
        difference = found.pressure[:, 0] - p_out
        assert np.abs(difference - expected).max() < 2e-3 * rate * tau


@pytest.mark.parametrize("rate", [2000.0, 4000.0])
def test_lag_of_a_hole_grows_with_the_square_of_the_climb_rate(rate):
    # Air that does not compress in the hole: mdot = Cd A sqrt(2 rho dp) carries off V/(R T) |dp/dt|
    # (Bernoulli; quasi-steady and isothermal), so dp = (V r/(R T))^2/(2 rho (Cd A)^2).
    T, V, area = 288.15, 1e-3, 2e-6
    t = np.linspace(0.0, 20_000.0 / rate, 400)
    p_out = 101_325.0 - rate * t
    found = follow(t, p_out, np.full(t.size, T), bay(V, area, HOLD_TEMPERATURE))
    rho = p_out[-1] / (R * T)
    expected = (V * rate / (R * T)) ** 2 / (2.0 * rho * area**2)
    assert found.pressure[-1, 0] - p_out[-1] == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize(("convection", "adiabatic"), [(HOLD_TEMPERATURE, False), (0.0, True)])
def test_choked_blowdown_takes_the_time_of_the_closed_form(convection, adiabatic):
    # tau = V/(Cd A k sqrt(R T0)), k = sqrt(g)(2/(g+1))^((g+1)/(2(g-1))); isothermal
    # t = tau ln(p0/p), adiabatic t = tau 2/(g-1) ((p0/p)^((g-1)/(2g)) - 1): standard forms, as in
    # J. C. Dutton and R. E. Coverdill, Int. J. Engng Ed. 13 (1997) 123. The air's g changes by
    # 0.2 % meanwhile.
    T0, V, area, p0, p_out = 288.15, 1e-3, 5e-6, 8e5, 1e5
    g = 1.0 + R / (gas.AIR_C0 + gas.AIR_C1 * (T0 if not adiabatic else 265.0))
    k = math.sqrt(g) * (2.0 / (g + 1.0)) ** ((g + 1.0) / (2.0 * (g - 1.0)))
    tau = V / (area * k * math.sqrt(R * T0))
    t = np.linspace(0.0, 1.2 * tau, 500)
    found = follow(
        t, np.full(t.size, p_out), np.full(t.size, T0), bay(V, area, convection, T0),
        np.array([[p0, T0]]),
    )  # fmt: skip
    p = found.pressure[:, 0]
    choked = p > 2.0 * p_out
    ratio = p0 / p[choked]
    expected = (
        tau * 2.0 / (g - 1.0) * (ratio ** ((g - 1.0) / (2.0 * g)) - 1.0)
        if adiabatic else tau * np.log(ratio)
    )  # fmt: skip
    assert choked.sum() > 100
    assert np.abs(t[choked] - expected).max() < 3e-3 * tau


def test_unchoked_isothermal_fall_takes_the_time_of_the_quadrature():
    # dt = V/(R T) dp/(Cd A mdot'(p)), the law of flow written out here from Shapiro, 1953, ch. 4
    T, V, area, p_out = 288.15, 2e-3, 4e-7, 1e5
    g = 1.0 + R / (gas.AIR_C0 + gas.AIR_C1 * T)

    def flux(p):
        r = p_out / p
        psi = 2.0 * g / (g - 1.0) * (r ** (2.0 / g) - r ** ((g + 1.0) / g))
        return p * math.sqrt(psi / (R * T))

    high, low = 1.2e5, 1.1e5
    expected = V / (R * T * area) * quad(lambda p: 1.0 / flux(p), low, high)[0]
    t = np.array([0.0, expected])
    found = follow(
        t, np.full(2, p_out), np.full(2, T), bay(V, area, HOLD_TEMPERATURE), np.array([[high, T]])
    )
    assert found.pressure[-1, 0] == pytest.approx(low, rel=2e-5)


def test_agrees_with_an_independent_solver_and_its_own_equations():
    # two volumes, three openings, falling air outside: scipy's Radau on mass and temperature. The
    # holes are small, so that all flow is above the 10 Pa below which the core blends both sides
    V, wall, h, T_wall = (1.2e-3, 5e-4), (0.07, 0.04), 5.0, 290.0
    openings = ((0, -1, 2e-7), (0, 1, 1e-7), (1, -1, 5e-8))
    t = np.linspace(0.0, 20.0, 21)
    outside = np.array([standard_atmosphere(150.0 * each) for each in t])

    def rates(now, y):
        p_out, T_out = np.interp(now, t, outside[:, 0]), np.interp(now, t, outside[:, 1])
        m, T = y[:2], y[2:]
        p = m * R * T / np.array(V)
        dm, dU = np.zeros(2), h * np.array(wall) * (T_wall - T)
        for a, b, area in openings:
            ends = [(p_out, T_out) if k < 0 else (p[k], T[k]) for k in (a, b)]
            up, down = (0, 1) if ends[0][0] >= ends[1][0] else (1, 0)
            (p_up, T_up), p_down = ends[up], ends[down][0]
            g = 1.0 + R / (gas.AIR_C0 + gas.AIR_C1 * T_up)
            flux = area * flow.mass_flux(p_up, p_up / (R * T_up), p_down, g)
            enthalpy = gas.specific_energy(T_up, gas.AIR_C0, gas.AIR_C1) + R * T_up
            for k, sign in (((a, b)[up], -1.0), ((a, b)[down], 1.0)):
                if k >= 0:
                    dm[k] += sign * flux
                    dU[k] += sign * flux * enthalpy
        u = np.array([gas.specific_energy(each, gas.AIR_C0, gas.AIR_C1) for each in T])
        dT = (dU - u * dm) / (m * (gas.AIR_C0 + gas.AIR_C1 * T))
        return np.concatenate([dm, dT])

    start = outside[0, 0] * np.array(V) / (R * T_wall)
    y = np.concatenate([start, [T_wall, T_wall]])
    for first, last in pairwise(t):
        # the outside has a corner at each given time
        y = solve_ivp(rates, (first, last), y, method="Radau", rtol=1e-10, atol=1e-14).y[:, -1]
    network = Network(
        np.array(V), np.array([o[0] for o in openings]), np.array([o[1] for o in openings]),
        np.array([o[2] for o in openings]), HOLES[: len(openings)], np.array(wall), h, T_wall,
    )  # fmt: skip
    found = follow(t, outside[:, 0], outside[:, 1], network)
    p = y[:2] * R * y[2:] / np.array(V)
    assert found.pressure[-1] == pytest.approx(p, rel=5e-6)
    assert found.temperature[-1] == pytest.approx(y[2:], rel=5e-6)


def test_steps_are_of_second_order():
    # one step between two given times, since no tolerance refuses it
    network, T = bay(), 288.15
    states = []
    for steps in (10, 20, 40, 80, 1280):
        t = np.linspace(0.0, 0.5, steps + 1)
        y = np.zeros((t.size, 5))
        mass = 8e5 * 1e-3 / (R * T)
        y[0, :2] = mass, mass * gas.specific_energy(T, gas.AIR_C0, gas.AIR_C1)
        outside = np.full(t.size, 1e5)
        slow.march(t, outside, np.full(t.size, T), *network, y, slow._work(2), 1e30)
        states.append(y[-1, 0])
    errors = np.abs(np.array(states[:-1]) - states[-1])
    slopes = np.log2(errors[:-1] / errors[1:])
    assert slopes == pytest.approx(2.0, abs=0.05)


def test_a_sealed_bay_keeps_its_pressure():
    # ISO 2533:1975 prints 70 121.2 Pa at 3000 m
    t = np.array([0.0, 20.0])
    p = np.array([101_325.0, 70_121.2])
    network = bay()._replace(opening_area=np.zeros(1))
    found = follow(t, p, np.array([288.15, 268.66]), network)
    assert found.pressure[-1, 0] - p[-1] == pytest.approx(101_325.0 - 70_121.2, rel=1e-9)


@settings(max_examples=60)
@given(
    volumes=st.tuples(st.floats(1e-5, 0.05), st.floats(1e-5, 0.05)),
    areas=st.tuples(*[st.floats(1e-9, 1e-3)] * 3),
    convection=st.floats(0.0, 100.0),
    starts=st.tuples(st.floats(2e4, 8e5), st.floats(2e4, 8e5)),
    end=st.floats(1e3, 1.2e5),
)
def test_mass_and_energy_close_in_any_network(volumes, areas, convection, starts, end):
    t = np.linspace(0.0, 30.0, 13)
    network = Network(
        np.array(volumes), np.array([0, 0, 1]), np.array([-1, 1, -1]), np.array(areas),
        HOLES[:3], np.array([0.05, 0.02]), convection, 280.0,
    )  # fmt: skip
    start = np.array([[starts[0], 300.0], [starts[1], 260.0]])
    found = follow(
        t, np.linspace(1e5, end, t.size), np.linspace(288.0, 230.0, t.size), network, start
    )
    mass = found.mass.sum(axis=1) + found.balance[:, 0]
    energy = found.energy.sum(axis=1) + found.balance[:, 1] - found.balance[:, 2]
    turned_over = np.abs(found.balance).max(axis=0)
    assert np.abs(mass - mass[0]).max() < 1e-11 * (mass[0] + turned_over[0])
    assert np.abs(energy - energy[0]).max() < 1e-11 * (energy[0] + turned_over[1:].sum())
    assert (found.pressure > 0.0).all() and (found.temperature > 0.0).all()


def test_what_cannot_be_followed_says_so():
    t = np.array([0.0, 1.0])
    with pytest.raises(ArithmeticError, match=r"cannot be followed beyond 0\.0 s"):
        follow(t, np.array([1e5, math.nan]), np.full(2, 288.0), bay())
