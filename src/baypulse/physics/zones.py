"""Two zones at one pressure: hot products with entrained air, and the cold air of the bay.

Zone 1 holds products m_b, of which m_c are condensed salts, and air m_a1; zone 2 air m_a2 only.
With C0_i, C1_i the sums of m c0 and m c1, G_i the sum of m R over the gases, and the products'
covolume b:

    U_i = C0_i T_i + C1_i T_i^2/2,   p V_2 = G_2 T_2,   p (V - V_2 - b m_b) = G_1 T_1
    dU_i/dt = S_i - p dV_i/dt,       V_1 + V_2 = V

S_i is everything but work: heat, enthalpy and combustion. Eliminating dV_2/dt gives dp/dt and
both dU_i/dt in closed form (:func:`two_zone_rates`).
"""

from __future__ import annotations

from baypulse.physics.compiled import compiled
from baypulse.physics.gas import temperature


@compiled
def two_zone_state(
    m_b: float,
    m_c: float,
    m_a1: float,
    U1: float,
    m_a2: float,
    U2: float,
    V_free: float,
    gas: tuple[float, float, float, float, float, float, float],
) -> tuple[float, float, float, float, float, float, float, float]:
    """Return pressure, temperatures and the sums that the rates need.

    Parameters
    ----------
    m_b, m_c, m_a1, U1 : float
        Products [kg], the condensed part of them [kg], air [kg] and internal energy [J] of zone 1.
    m_a2, U2 : float
        Air [kg] and internal energy [J] of zone 2.
    V_free : float
        Volume less covolume and unburnt grains [m^3].
    gas : tuple of float
        R, c0, c1 of the products' gas, then R, c0, c1 of air, then c of the condensed part.

    Returns
    -------
    p : float
        Absolute pressure [Pa].
    T1, T2 : float
        Temperatures [K].
    V2 : float
        Volume of zone 2 [m^3].
    K1, K2 : float
        Heat capacities of the zones [J/K].
    G1, G2 : float
        Sums of m R [J/K].
    """
    R_g, c0_g, c1_g, R_a, c0_a, c1_a, c_c = gas
    m_g = m_b - m_c
    C01 = m_g * c0_g + m_c * c_c + m_a1 * c0_a
    C11 = m_g * c1_g + m_a1 * c1_a
    T1 = temperature(U1, C01, C11)
    T2 = temperature(U2, m_a2 * c0_a, m_a2 * c1_a)
    G1 = m_g * R_g + m_a1 * R_a
    G2 = m_a2 * R_a
    p = (G1 * T1 + G2 * T2) / V_free
    V2 = G2 * T2 / p
    return p, T1, T2, V2, C01 + C11 * T1, m_a2 * (c0_a + c1_a * T2), G1, G2


@compiled
def two_zone_rates(
    p: float,
    V_free: float,
    V2: float,
    k1: float,
    k2: float,
    S1: float,
    S2: float,
    Q1: float,
    Q2: float,
    dV: float,
    dV_free: float,
) -> tuple[float, float, float]:
    """Return dp/dt, dU1/dt, dU2/dt.

    With k_i = G_i/K_i and Q_i = T_i dG_i/dt - k_i (T_i dC0_i/dt + T_i^2/2 dC1_i/dt), what the
    changing composition adds to d(G_i T_i)/dt::

        B_2 = S_2 - Q_2,   dU_2 = (B_2 + V_2 dp)/(1 + k_2),   dU_1 = S_1 + S_2 - p dV - dU_2
        dp (V_f - (k_2 - k_1) V_2/(1 + k_2))
            = -p dV_f + Q_1 + Q_2 + k_1 (S_1 + S_2 - p dV) + (k_2 - k_1) B_2/(1 + k_2)

    Parameters
    ----------
    p : float
        Absolute pressure [Pa].
    V_free, V2 : float
        Free volume, and volume of zone 2 [m^3].
    k1, k2 : float
        R over c_v of the zones.
    S1, S2 : float
        Heat, enthalpy and combustion into the zones [W].
    Q1, Q2 : float
        Composition terms [W].
    dV : float
        Rate of the volume's outside boundary, which does the work [m^3/s].
    dV_free : float
        Rate of the free volume, with grains burning away and covolume arriving [m^3/s].

    Returns
    -------
    dp : float
        [Pa/s].
    dU1, dU2 : float
        [W].
    """
    B2 = S2 - Q2
    total = S1 + S2 - p * dV
    share = (k2 - k1) / (1.0 + k2)
    dp = (-p * dV_free + Q1 + Q2 + k1 * total + share * B2) / (V_free - share * V2)
    dU2 = (B2 + V2 * dp) / (1.0 + k2)
    return dp, total - dU2, dU2
