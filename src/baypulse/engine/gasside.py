"""State and rates of the gas in each volume; its sources stand in modules of their own.

:mod:`baypulse.engine.burning`, :mod:`baypulse.engine.walls` and :mod:`baypulse.engine.passages` add
to the work table what burns, mixes, settles and flows; :func:`close_volumes` makes rates of it.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import layout as at
from baypulse.physics import gas, motion, powder, zones
from baypulse.physics.choice import anywhere
from baypulse.physics.compiled import compiled

# --- columns of the work table, one row a volume: its state, then what comes in ---------------

P_ = 0
"""Of a volume: pressure [Pa]."""
T1 = 1
"""Of a volume: temperature of the hot zone [K]."""
T2 = 2
"""Of a volume: temperature of the cold zone [K]."""
V2 = 3
"""Of a volume: size of the cold zone [m^3]."""
K1 = 4
"""Of a volume: heat capacity of the hot zone [J/K]."""
K2 = 5
"""Of a volume: heat capacity of the cold zone [J/K]."""
G1 = 6
"""Of a volume: mass times gas constant in the hot zone [J/K]."""
G2 = 7
"""Of a volume: mass times gas constant in the cold zone [J/K]."""
V_FREE = 8
"""Of a volume: what gas can move in, grains and covolume deducted [m^3]."""
V_GAS = 9
"""Of a volume: without its grains [m^3]."""
SOLID = 10
"""Of a volume: what all grains of the charge take up as they are now, wherever they are [m^3]."""
RHO = 11
"""Of a volume, for what leaves it: density without grains [kg/m^3]."""
GAMMA = 12
"""For what leaves a volume: ratio of the heat capacities of all that it holds."""
R_ALL = 13
"""For what leaves a volume: gas constant of all that it holds [J/kg/K]."""
SHARE = 14
"""For what leaves a volume: share of what it holds, per flow [1/kg]."""
SHARE_1 = 15
"""For what leaves a volume: share of its hot zone, per flow [1/kg]."""
SHARE_2 = 16
"""For what leaves a volume: share of its cold zone, per flow [1/kg]."""
H_1 = 17
"""For what leaves a volume: enthalpy out of its hot zone [J/kg]."""
H_2 = 18
"""For what leaves a volume: enthalpy out of its cold zone [J/kg]."""
D_MB = 19
"""Into a volume: products [kg/s]; this and what follows is cleared at each evaluation."""
D_MC = 20
"""Into a volume: condensed salts [kg/s]."""
D_MA1 = 21
"""Into a volume: air of the hot zone [kg/s]."""
D_MA2 = 22
"""Into a volume: air of the cold zone [kg/s]."""
D_STIR = 23
"""Into a volume: momentum of the stirred gas [kg m/s^2]."""
D_GRAINS = 24
"""Into a volume: share of the grains [1/s]."""
S1 = 25
"""Into a volume: energy of the hot zone, everything but work [W]."""
S2 = 26
"""Into a volume: energy of the cold zone, everything but work [W]."""
BURNT_HEAT = 27
"""Into a volume: heat of products that burn in the air [W]."""
FUEL = 28
"""Into a volume: products that have not yet met air [kg/s]."""
DRAWN = 29
"""Into a volume: air drawn into the hot zone [kg/s]."""
DV = 30
"""Of a volume: growth by the motion of its walls [m^3/s]."""
DV_GRAIN = 31
"""Of a volume: growth by grains that burn or leave [m^3/s]."""
DP = 32
"""Of a volume: rate of the pressure [Pa/s]."""
WORK = 33
"""How many columns there are."""

# the table is written with both indices at every place: a view of its row costs more than the sum


@compiled
def unburnt_share(depth: float, P: np.record) -> float:
    """Return the share of a grain's mass that has not become products at a burnt depth."""
    return 1.0 - P.burnable_fraction * powder.burnt_fraction(depth, P.r_low, P.r_high)


@compiled
def lives(k: int, modes: np.ndarray, P: np.record) -> bool:
    """Say whether a volume has a state to follow: it is not yet level with the outside, nor merged.

    What is merged or level stays as it is.
    """
    if modes[at.GAS] == at.SPENT:
        return False
    if k == P.source:
        return modes[at.SOURCE] != at.MERGED
    return k != P.bay or modes[at.AHEAD] == at.SHUT


@compiled
def volume_states(
    y: np.ndarray, modes: np.ndarray, s: float, w: float, P: np.record, work: np.ndarray
) -> None:
    """Fill the work table with pressure, temperatures and volumes, and clear its rates.

    What the contents give to the space behind them they take from that ahead, as long as their
    front is in the tube: it leaves the tube as the closed nose did that it would touch.
    """
    u, v = y[at.PACK_X] - y[at.FRAME_X], y[at.PACK_V] - y[at.FRAME_V]
    area = motion.bore_area(P.bore)
    solid = P.charge_mass * P.specific_volume
    if anywhere(solid > 0.0):
        solid *= unburnt_share(y[at.DEPTH], P)
    species = (P.R_g, P.c0_g, P.c1_g, P.R_a, P.c0_a, P.c1_a, P.condensed_heat)
    merged = P.source >= 0 and modes[at.SOURCE] == at.MERGED
    for k in range(P.n_volumes):
        for column in range(D_MB, WORK):
            work[k, column] = 0.0
        if not lives(k, modes, P):
            # what is level with the outside is a part of it
            work[k, P_] = P.p_ambient
            continue
        i = at.VOLUMES + at.PER_VOLUME * k
        V = P.volume[k]
        if k == P.chamber and merged:
            V += P.volume[P.source] * (1.0 - at.REMNANT)
        if k == P.bay:
            V += area * motion.swept_length(s, P.stroke, P.bore)
            work[k, DV] = area * motion.pushed_share(s, P.stroke, P.bore) * w
            if P.back >= 0:
                front = u - P.pack_reach
                V -= area * (motion.swept_length(front, P.stroke, P.bore) + P.pack_reach)
                work[k, DV] -= area * motion.pushed_share(front, P.stroke, P.bore) * v
        elif k == P.back:
            V += area * motion.swept_length(u, P.pack_out, P.bore)
            work[k, DV] = area * motion.pushed_share(u, P.pack_out, P.bore) * v
        V_gas = V - y[i + at.GRAINS] * solid
        V_free = V_gas - P.covolume * y[i + at.M_B]
        p, T_1, T_2, V_2, K_1, K_2, G_1, G_2 = zones.two_zone_state(
            y[i + at.M_B], y[i + at.M_C], y[i + at.M_A1], y[i + at.U_1], y[i + at.M_A2],
            y[i + at.U_2], V_free, species,
        )  # fmt: skip
        work[k, V_GAS], work[k, V_FREE], work[k, SOLID] = V_gas, V_free, solid
        work[k, P_] = p
        work[k, T1], work[k, T2], work[k, V2] = T_1, T_2, V_2
        work[k, K1], work[k, K2], work[k, G1], work[k, G2] = K_1, K_2, G_1, G_2
    if merged:
        work[P.source, P_] = work[P.chamber, P_]


@compiled
def gas_mass(k: int, y: np.ndarray) -> float:
    """Return the mass of all that a volume holds beside grains [kg]."""
    i = at.VOLUMES + at.PER_VOLUME * k
    return y[i + at.M_B] + y[i + at.M_A1] + y[i + at.M_A2]


@compiled
def heat_ratio(k: int, work: np.ndarray) -> float:
    """Return the ratio of heat capacities of all that a volume holds."""
    return 1.0 + (work[k, G1] + work[k, G2]) / (work[k, K1] + work[k, K2])


@compiled
def close_voids(P: np.record, y: np.ndarray, work: np.ndarray, dy: np.ndarray) -> None:
    """Turn the sources of the contents' voids into rates: all in them is as warm as the cloth.

    The cloth there has some hundred times the heat capacity of the gas, and threads that are
    thinner than a tenth of a millimetre: it takes what the gas brings, and holds the salts back.
    """
    k, T = P.voids, P.T_ambient
    i = at.VOLUMES + at.PER_VOLUME * k
    d_b = work[k, D_MB] - work[k, D_MC]
    d_a1, d_a2 = work[k, D_MA1], work[k, D_MA2]
    u_a = gas.specific_energy(T, P.c0_a, P.c1_a)
    dU1 = d_b * gas.specific_energy(T, P.c0_g, P.c1_g) + d_a1 * u_a
    dU2 = d_a2 * u_a
    work[k, DP] = (d_b * P.R_g + (d_a1 + d_a2) * P.R_a) * T / work[k, V_FREE]
    dy[i + at.M_B] = d_b
    dy[i + at.M_A1], dy[i + at.U_1] = d_a1, dU1
    dy[i + at.M_A2], dy[i + at.U_2] = d_a2, dU2
    if dy.shape[0] > P.balance_at:
        dy[P.balance_at + at.Balance.PORES] = work[k, S1] + work[k, S2] - dU1 - dU2
        dy[P.balance_at + at.Balance.FILTERED] = work[k, D_MC]


@compiled
def close_volumes(
    P: np.record, y: np.ndarray, modes: np.ndarray, work: np.ndarray, dy: np.ndarray
) -> None:
    """Turn the sources of each volume into dp/dt and the rates of its states."""
    if P.voids >= 0:
        close_voids(P, y, work, dy)
    R_g, c0_g, c1_g = P.R_g, P.c0_g, P.c1_g
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    for k in range(P.n_volumes):
        if k == P.voids or not lives(k, modes, P):
            continue
        T_1, T_2 = work[k, T1], work[k, T2]
        d_b, d_c = work[k, D_MB], work[k, D_MC]
        d_a1, d_a2 = work[k, D_MA1], work[k, D_MA2]
        k1, k2 = work[k, G1] / work[k, K1], work[k, G2] / work[k, K2]
        d_g = d_b - d_c
        e1 = d_g * gas.specific_energy(T_1, c0_g, c1_g) + d_c * P.condensed_heat * T_1
        e1 += d_a1 * gas.specific_energy(T_1, c0_a, c1_a)
        e2 = d_a2 * gas.specific_energy(T_2, c0_a, c1_a)
        Q1 = T_1 * (d_g * R_g + d_a1 * R_a) - k1 * e1
        Q2 = T_2 * d_a2 * R_a - k2 * e2
        dV = work[k, DV]
        work[k, DV_GRAIN] -= work[k, D_GRAINS] * work[k, SOLID]
        dV_free = dV + work[k, DV_GRAIN] - P.covolume * d_b
        dp, dU1, dU2 = zones.two_zone_rates(
            work[k, P_], work[k, V_FREE], work[k, V2], k1, k2, work[k, S1], work[k, S2], Q1, Q2,
            dV, dV_free,
        )  # fmt: skip
        work[k, DP] = dp
        i = at.VOLUMES + at.PER_VOLUME * k
        dy[i + at.M_B] = d_b
        dy[i + at.M_A1] = d_a1
        dy[i + at.U_1] = dU1
        dy[i + at.M_A2] = d_a2
        dy[i + at.U_2] = dU2
        dy[i + at.M_C] = d_c
        dy[i + at.STIRRING] = work[k, D_STIR]
        dy[i + at.GRAINS] = work[k, D_GRAINS]
