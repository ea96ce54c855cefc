"""Two zones at one pressure: their state, and the rates that keep it, in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.physics import zones

R_G, C_G, R_A, C_A, C_C = 217.0, 1200.0, 287.05, 717.6, 1410.0
PERFECT = (R_G, C_G, 0.0, R_A, C_A, 0.0, C_C)
REAL = (R_G, C_G, 0.05, R_A, 677.1, 0.1617, C_C)
VOLUME = 9e-4


def energies(
    gas: tuple[float, ...], m_b: float, m_c: float, m_a1: float, T1: float, m_a2: float, T2: float
) -> tuple[float, float]:
    """Return the energies of both zones at their temperatures, u = c0 T + c1 T^2/2."""
    _, c0_g, c1_g, _, c0_a, c1_a, c_c = gas
    u_g, u_a = (
        [c0 * T + 0.5 * c1 * T * T for T in (T1, T2)] for c0, c1 in ((c0_g, c1_g), (c0_a, c1_a))
    )
    return (m_b - m_c) * u_g[0] + m_c * c_c * T1 + m_a1 * u_a[0], m_a2 * u_a[1]


@pytest.mark.parametrize("gas", [PERFECT, REAL])
def test_zones_share_one_pressure_and_fill_the_volume(gas: tuple[float, ...]) -> None:
    # p V_i = G_i T_i in both, salts taking heat and no room (ideal gas law)
    m_b, m_c, m_a1, T1, m_a2, T2 = 4e-4, 1.8e-4, 3e-4, 1500.0, 6e-4, 320.0
    U1, U2 = energies(gas, m_b, m_c, m_a1, T1, m_a2, T2)
    found = zones.two_zone_state(m_b, m_c, m_a1, U1, m_a2, U2, VOLUME, gas)  # type: ignore[arg-type]
    p, T_hot, T_cold, V2, K1, K2, G1, G2 = found
    assert (T_hot, T_cold) == pytest.approx((T1, T2), rel=1e-13)
    sums = ((m_b - m_c) * R_G + m_a1 * R_A, m_a2 * R_A)
    assert found[6:] == pytest.approx(sums, rel=1e-13)
    assert p * V2 == pytest.approx(G2 * T2, rel=1e-13)
    assert p * (VOLUME - V2) == pytest.approx(G1 * T1, rel=1e-12)
    for heat_capacity, zone in ((K1, 0), (K2, 1)):
        ends = [energies(gas, m_b, m_c, m_a1, T1 + d, m_a2, T2 + d)[zone] for d in (-0.01, 0.01)]
        assert heat_capacity == pytest.approx((ends[1] - ends[0]) / 0.02, rel=1e-8)


def rates(
    gamma: tuple[float, float], S: tuple[float, float] = (0.0, 0.0), dV: float = 0.0
) -> tuple[float, ...]:
    """Return dp, dU1 and dU2 of two perfect gases of 3e5 Pa in 6e-4 and 3e-4 m^3."""
    k = [g - 1.0 for g in gamma]
    return zones.two_zone_rates(3e5, VOLUME, 3e-4, *k, *S, 0.0, 0.0, dV, dV)


@pytest.mark.parametrize("gamma", [(1.2, 1.4), (1.3, 1.3)])
def test_two_zones_are_compressed_each_along_its_own_isentrope(
    gamma: tuple[float, float],
) -> None:
    # dV_i/V_i = -dp/(g_i p), the sum of dV_i is dV; dU_i = -p dV_i (first law)
    dV, p, parts = -0.02, 3e5, (6e-4, 3e-4)
    dp = -dV * p / sum(V / g for V, g in zip(parts, gamma, strict=True))
    expected = [dp, *(V * dp / g for V, g in zip(parts, gamma, strict=True))]
    assert rates(gamma, dV=dV) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("heated", [0, 1])
def test_heat_in_one_zone_compresses_the_other(heated: int) -> None:
    # S = g/(g-1) p dV_i + V_i dp/(g-1) where it is heated, 0 where it is not, dV_1 = -dV_2:
    # dp (V_1/g_1 + V_2/g_2) = S (g-1)/g of the heated one (first law, ideal gas)
    gamma, parts, S = (1.2, 1.4), (6e-4, 3e-4), 5e3
    heat = (S, 0.0) if heated == 0 else (0.0, S)
    g, other = gamma[heated], 1 - heated
    dp = S * (g - 1.0) / g / sum(V / g for V, g in zip(parts, gamma, strict=True))
    dU = [0.0, 0.0]
    dU[other] = parts[other] * dp / gamma[other]
    dU[heated] = S - dU[other]
    assert rates(gamma, heat) == pytest.approx([dp, *dU], rel=1e-12)


@pytest.mark.parametrize("gas", [PERFECT, REAL])
def test_the_rates_keep_the_zones_at_one_pressure_while_all_changes(
    gas: tuple[float, ...],
) -> None:
    # products, salts and air arrive, both zones are heated, and the volume grows: the state a
    # moment later, by the equation of state alone, must have the pressure that dp says, and each
    # zone must have done p dV_i of work (first law)
    now = np.array([4e-4, 1.8e-4, 3e-4, 6e-4])  # m_b, m_c, m_a1, m_a2
    change = np.array([0.3, 0.12, 0.2, -0.2])
    T1, T2, dV, dV_free, S1, S2 = 1500.0, 320.0, 0.03, 0.035, 4e5, -7e4
    R_g, c0_g, c1_g, R_a, c0_a, c1_a, c_c = gas
    U1, U2 = energies(gas, *now[:3], T1, now[3], T2)
    p, _, _, V2, K1, K2, G1, G2 = zones.two_zone_state(*now[:3], U1, now[3], U2, VOLUME, gas)  # type: ignore[arg-type]
    gas_made, salts_made, air_1, air_2 = change[0] - change[1], *change[1:]
    k1, k2 = G1 / K1, G2 / K2
    dC01 = gas_made * c0_g + salts_made * c_c + air_1 * c0_a
    dC11 = gas_made * c1_g + air_1 * c1_a
    Q1 = T1 * (gas_made * R_g + air_1 * R_a) - k1 * (T1 * dC01 + 0.5 * T1 * T1 * dC11)
    Q2 = T2 * air_2 * R_a - k2 * air_2 * (T2 * c0_a + 0.5 * T2 * T2 * c1_a)
    dp, dU1, dU2 = zones.two_zone_rates(p, VOLUME, V2, k1, k2, S1, S2, Q1, Q2, dV, dV_free)

    def later(t: float) -> tuple[float, float]:
        m = now + t * change
        state = zones.two_zone_state(  # type: ignore[arg-type]
            *m[:3], U1 + t * dU1, m[3], U2 + t * dU2, VOLUME + t * dV_free, gas
        )
        return state[0], state[3]

    step = 1e-7
    slopes = [(b - a) / (2.0 * step) for a, b in zip(later(-step), later(step), strict=True)]
    assert dp == pytest.approx(slopes[0], rel=1e-6)
    assert dU2 == pytest.approx(S2 - p * slopes[1], rel=1e-6)
    assert dU1 + dU2 == pytest.approx(S1 + S2 - p * dV, rel=1e-12)


def test_one_zone_that_is_filled_follows_the_textbook() -> None:
    # a rigid vessel filled at T_in: dp/dt = (g-1)/V mdot c_p T_in (any text on thermodynamics)
    m, T, dm, V, k = 1e-3, 300.0, 0.05, 1e-3, R_A / C_A
    p = m * R_A * T / V
    for T_in in (250.0, 450.0):
        S = dm * (C_A + R_A) * T_in
        Q = dm * (T * R_A - k * T * C_A)
        dp, dU, _ = zones.two_zone_rates(p, V, 0.0, k, k, S, 0.0, Q, 0.0, 0.0, 0.0)
        assert dp == pytest.approx((1.4 - 1.0) / V * dm * 1.4 * C_A * T_in, rel=1e-4)
        assert dU == pytest.approx(S, rel=1e-12)
