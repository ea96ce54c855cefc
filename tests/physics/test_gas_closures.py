"""What stirs, settles, burns in the air and is carried out, each against a closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import FROM_SOURCE, OUTSIDE
from baypulse.physics import afterburning, entrainment, flow, powder, salts
from tools import (
    P_STANDARD,
    PERFECT_AIR,
    POWDER,
    T_ROOM,
    charged,
    go,
    openings,
    still_air,
    surfaces,
    vessel,
    walls,
    with_volumes,
)


def law(function: object, *numbers: float) -> float:
    """Call a function of the core as plain Python."""
    return getattr(function, "py_func", function)(*numbers)


# --- entrainment -----------------------------------------------------------------------------


@pytest.mark.parametrize("momentum", [0.05, 1.0, 20.0])
@pytest.mark.parametrize("width", [0.05, 0.15])
def test_a_steady_jet_draws_in_what_ricou_and_spalding_measured(
    momentum: float, width: float
) -> None:
    # dm/dx = 0.282 sqrt(rho J) (Ricou & Spalding, J. Fluid Mech. 11, 1961: from memory) over a path
    # x; our law gives that with E = 0.282 x sqrt(L/(A D)) whatever jet and bay
    area, length, rho = 0.25 * math.pi * width**2, 2.0 * width, 1.2
    volume, path = area * length, 1.7 * width
    mass = rho * volume

    def stirred(t: float, M: np.ndarray) -> list[float]:
        return [momentum - law(entrainment.decay, M[0], mass, area)]

    M = solve_ivp(stirred, (0.0, 100.0), [0.0], method="LSODA", rtol=1e-9).y[0, -1]
    u = law(entrainment.stirring, M, mass, area, 0.0, 0.0)
    number = 0.282 * path * math.sqrt(length / (area * width))
    drawn = law(entrainment.entrained, u, mass, volume, area, number)
    assert drawn == pytest.approx(0.282 * math.sqrt(rho * momentum) * path, rel=1e-3)


def test_stirring_without_a_source_dies_as_one_over_time() -> None:
    # dM/dt = -M^2/(m D): u = u_0/(1 + u_0 t/D)
    area, mass, u_0 = 0.005, 1e-3, 30.0
    width = math.sqrt(4.0 * area / math.pi)
    far = solve_ivp(
        lambda t, M: [-law(entrainment.decay, M[0], mass, area)], (0.0, 0.1), [mass * u_0],
        rtol=1e-9, atol=1e-12,
    )  # fmt: skip
    assert far.y[0, -1] / mass == pytest.approx(u_0 / (1.0 + u_0 * 0.1 / width), rel=1e-6)


def test_products_leave_a_bed_no_faster_than_sound() -> None:
    T, R, g = 2350.0, 106.5, 1.0755
    sound = math.sqrt(g * R * T)
    p = 0.8 * R * T  # an ideal gas of 0.8 kg/m^3
    slow = law(entrainment.source_velocity, 1e-4, p, 1e-4, T, R, g)
    assert slow == pytest.approx(1e-4 / (0.8 * 1e-4), rel=1e-3)
    assert law(entrainment.source_velocity, 1.0, p, 1e-4, T, R, g) == pytest.approx(sound, rel=1e-3)


def test_a_plume_rises_at_the_speed_of_its_buoyancy() -> None:
    # all else at rest: sqrt(g D (1 - rho_1/rho_2) V_1/V), 0.75 m/s at most in a bay of 76 mm;
    # the kink at equal densities is rounded off by (ALIKE/light)^2/4 of the buoyancy
    area = 0.25 * math.pi * 0.076**2
    rounded = (entrainment.ALIKE / 0.85) ** 2 / 4.0
    assert law(entrainment.stirring, 0.0, 1e-3, area, 0.85, 0.9) == pytest.approx(
        math.sqrt(9.80665 * 0.076 * 0.85 * (1.0 + rounded) * 0.9 + entrainment.CREEP), rel=1e-9
    )


def test_a_zone_no_lighter_than_the_other_raises_no_plume() -> None:
    area = 0.25 * math.pi * 0.076**2
    heavy = law(entrainment.stirring, 0.0, 1e-3, area, -0.5, 0.9)
    assert heavy == pytest.approx(math.sqrt(entrainment.CREEP), rel=0.01)


def test_slower_flame_no_longer_raises_the_pressure_of_a_shut_bay() -> None:
    # the air waits for the products: a slow flame gives more time to the walls, and nothing else
    walls = surfaces([(0, 0.06, 0.0, 0.8, 80.0, 700.0)])
    peaks = []
    for spread in (0.5e-3, 5e-3, 30e-3):
        _, seen = go(
            charged(0.5e-3, 1e-3, mixing_time=0.0, flame_spread=spread, **walls), 0.5, 1e-7
        )
        peaks.append(seen.volumes[:, 0, 0].max())
    assert peaks == sorted(peaks, reverse=True)


# --- salts -----------------------------------------------------------------------------------


def test_salts_settle_exponentially_with_their_heat() -> None:
    # dm_c/dt = -v A m_c/V in a sealed vessel of hot products, m_c = m_0 exp(-v A t/V), and what the
    # vessel loses is what the surface has taken (no radiation, no convection)
    volume, area, velocity, T, made = 1e-3, 0.06, 0.3, 1500.0, 0.5e-3
    P = vessel(
        volume, mixing_time=1e12, condensed_share=0.5, condensed_heat=1410.0,
        products=(2.0 * POWDER["gas_constant"], 1410.0, 0.0), air=PERFECT_AIR,
        deposition=velocity, **surfaces([(0, area, 0.0, 0.0, 0.0, 700.0)]),
    )  # fmt: skip
    P.initial[0, [at.M_B, at.M_C]] = made, 0.5 * made
    P.initial[0, at.U_1] += made * 1410.0 * T
    _, seen = go(P, 0.2, 1e-10)
    t, y = seen.times, seen.states
    m_c = y[:, at.VOLUMES + at.M_C]
    expected = 0.5 * made * np.exp(-velocity * area * t / volume)
    np.testing.assert_allclose(m_c, expected, rtol=1e-8)
    energy = y[:, at.VOLUMES + at.U_1] + y[:, at.VOLUMES + at.U_2]
    assert energy[0] - energy[-1] == pytest.approx(y[-1, P.heats_at], rel=1e-9)
    assert y[-1, P.deposits_at] + m_c[-1] == pytest.approx(0.5 * made, rel=1e-9)
    # what settles leaves at the temperature of the gas, which then stays as hot
    np.testing.assert_allclose(seen.volumes[:, 0, 2], seen.volumes[0, 0, 2], rtol=1e-9)


def test_the_deposition_velocity_of_the_library_is_of_the_order_of_thermophoresis() -> None:
    # Talbot et al. (1980) before a cold wall under 80 W/m^2/K and 1700 K: air of 1200 K and 2 bar
    # has mu = 4.8e-5 Pa s and k = 0.08 W/m/K (from memory), salts some 0.5 W/m/K
    gradient = 80.0 * 1700.0 / 0.08
    v = law(salts.thermophoretic_velocity, 4.8e-5, 2e5 / (287.0 * 1200.0), 1200.0, gradient, 0.16)
    assert 0.02 < v < 0.2


# --- afterburning ------------------------------------------------------------------------------


@pytest.mark.parametrize("fuel", [0.2, 0.9, 1.0, 1.1, 5.0])
def test_what_has_burnt_is_the_scarcer_of_fuel_and_air_whatever_the_order(fuel: float) -> None:
    # s = (m_b^-q + (m_a/x)^-q)^(-1/q) is a function of what is there: filled fuel first or air
    # first, the integral of the rate is the same
    air, q = 0.62, 4.0
    tiny = 1e-6

    def path(a: tuple[float, float], b: tuple[float, float]) -> float:
        d = (b[0] - a[0], b[1] - a[1])
        return quad(
            lambda u: law(
                afterburning.burnt_rate, a[0] + u * d[0], a[1] + u * d[1], d[0], d[1], air
            ),
            0.0, 1.0, limit=400, points=[0.001, 0.01, 0.1],
        )[0]  # fmt: skip

    start, end = (tiny, tiny * air), (fuel, air)
    exact = (fuel**-q + 1.0) ** (-1.0 / q) - tiny * 2.0 ** (-1.0 / q)
    for middle in ((fuel, tiny * air), (tiny, air)):
        assert path(start, middle) + path(middle, end) == pytest.approx(exact, rel=1e-6)
    assert exact <= min(fuel, 1.0)


def test_afterburning_gives_its_heat_and_no_more() -> None:
    # sealed, adiabatic, hot all the time, and mixed to the end: the energy gained beyond the
    # powder's is the heat times what can burn, and the balance has it
    heat, mass, volume = 0.3 * 1.95e6, 1e-3, 1e-3
    P = charged(
        mass, volume, mixing_time=5e-3, afterburning_heat=heat, afterburning_low=1.0,
        afterburning_high=2.0,
    )  # fmt: skip
    _, seen = go(P, 0.3, 1e-9)
    y, y0 = seen.states[-1], seen.states[0]
    U = [at.VOLUMES + at.U_1, at.VOLUMES + at.U_2]
    gained = y[U].sum() - y0[U].sum() - y[at.MADE] * mass * P.specific_energy
    assert gained == pytest.approx(y[P.balance_at + at.Balance.AFTERBURNING], rel=1e-9)
    q = 4.0
    m_b, m_a = y[at.VOLUMES + at.M_B], y[at.VOLUMES + at.M_A1]
    burnt = (m_b**-q + (m_a / 0.62) ** -q) ** (-1.0 / q)
    assert gained == pytest.approx(heat * burnt, rel=1e-3)


def test_below_its_temperature_nothing_burns_in_the_air() -> None:
    P = charged(1e-3, mixing_time=5e-3, afterburning_heat=1e6, afterburning_low=4e3,
                afterburning_high=5e3)  # fmt: skip
    _, seen = go(P, 0.2)
    assert seen.states[-1, P.balance_at + at.Balance.AFTERBURNING] == 0.0


# --- grains and flame ----------------------------------------------------------------------------


def test_grains_leave_with_the_share_of_the_gas_that_leaves() -> None:
    # spread through the gas, they thin as it does: N = (rho/rho_0)^carry in a fixed volume; an
    # inert grain, and air blown down through a hole
    carry = 0.6
    P = vessel(
        1e-3, p=3.0 * P_STANDARD, air=PERFECT_AIR,
        **openings([(0, OUTSIDE, 4e-6, 0)]) | {"opening_carry": np.array([carry])},
    )  # fmt: skip
    _, seen = go(P, 0.3, 1e-9)
    y = seen.states
    air = y[:, at.VOLUMES + at.M_A1] + y[:, at.VOLUMES + at.M_A2]
    np.testing.assert_allclose(y[:, at.VOLUMES + at.GRAINS], (air / air[0]) ** carry, rtol=1e-6)
    assert y[-1, at.VOLUMES + at.GRAINS] < 0.9
    gone = y[-1, P.openings_at + at.OUT_GRAINS]
    assert gone + y[-1, at.VOLUMES + at.GRAINS] == pytest.approx(1.0, rel=1e-9)


def test_the_flame_crosses_a_bed_at_the_speed_that_the_pressure_gives() -> None:
    # in a vast vessel the pressure stays: the front arrives after l/w (p_0/p)^m
    length, speed, exponent, p = 8e-3, 0.6, 0.5, 2.5
    P = charged(
        1e-6, 1e3, p=p * P_STANDARD, rate=1e-6, flame_exponent=exponent,
        flame_spread=length / speed,
    )  # fmt: skip
    track, _ = go(P, 0.1)
    arrival = next(t for t, e in track.events if e == EventCode.FLAME)
    expected = length / speed * (P.rate_pressure / (p * P_STANDARD)) ** exponent
    assert arrival == pytest.approx(expected, rel=1e-6)


def test_lit_share_is_a_cubic_step() -> None:
    assert [law(powder.lit_share, u) for u in (-1.0, 0.0, 0.5, 1.0, 2.0)] == [0, 0, 0.5, 1, 1]
    assert law(powder.lit_share, 0.25) == pytest.approx(3 * 0.25**2 - 2 * 0.25**3, rel=1e-12)


def test_throat_velocity_is_that_of_isentropic_flow() -> None:
    # u^2 = 2 c_p (T_0 - T), T = T_0 r^((g-1)/g); choked: the speed of sound at T_0 2/(g+1)
    g, R, T, p = 1.4, 287.0, 400.0, 3e5
    rho = p / (R * T)

    def velocity(r: float) -> float:
        x, e = law(flow.throat, r, g)
        flux = law(flow.throat_flux, p, rho, x, e, g, flow.LAMINAR)
        # what it calls is compiled, with a power of its own (physics.powers)
        assert flux == pytest.approx(law(flow.mass_flux, p, rho, r * p, g), rel=1e-14)
        return law(flow.throat_velocity, flux, rho, e)

    for r in (0.95, 0.7, 0.54):
        exact = math.sqrt(2.0 * g / (g - 1.0) * R * T * (1.0 - r ** ((g - 1.0) / g)))
        assert velocity(r) == pytest.approx(exact, rel=1e-6)
    sound = math.sqrt(g * R * T * 2.0 / (g + 1.0))
    assert velocity(0.1) == pytest.approx(sound, rel=1e-6)


def test_a_burst_holder_passes_into_the_bay_without_a_jump() -> None:
    # "level with the bay" comes when the grains are out and the pressures are alike; whether it
    # comes a little sooner or later must not show in the peak
    volume = [0.9e-3, 4e-6]
    start = np.array([still_air(v, T=T_ROOM, seed=1e-6) for v in volume])
    peaks = []
    for spread in np.linspace(2e-3, 60e-3, 59):
        P = charged(
            1.4e-3, 0.9e-3, source=1, burst_pressure=4e5, mixing_time=0.0, flame_spread=spread,
            **openings([(0, OUTSIDE, 5e-6, 0), (1, 0, 0.7 * 1e-4, FROM_SOURCE)]),
            **walls(0.9e-3, 0.075),
        )  # fmt: skip
        _, seen = go(with_volumes(P, start, volume), 1.0, 1e-7)
        peaks.append(seen.volumes[:, 0, 0].max() - P_STANDARD)
    steps = np.abs(np.diff(np.log(peaks)))
    # no step differs from its neighbours by more than 0.4 %, what the last tenth of the grains can
    assert np.max(np.abs(steps[1:-1] - 0.5 * (steps[:-2] + steps[2:]))) < 4e-3, peaks
