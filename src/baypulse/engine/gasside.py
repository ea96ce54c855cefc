"""Rates of the gas: burning, mixing, heat to walls, flow through openings, and the closing."""

from __future__ import annotations

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine.parameters import ANNULUS, FROM_SOURCE, OUTSIDE, SHOULDER, SLOT
from baypulse.physics import flow, gas, heat, motion, powder, slot, zones
from baypulse.physics.compiled import compiled

# columns of the work table, one row a volume
(
    P_, T1, T2, V2, K1, K2, G1, G2, V_FREE, V_GAS,
    D_MB, D_MA1, D_MA2, S1, S2, DV, DV_GRAIN, DP,
) = range(18)  # fmt: skip
WORK = 18
# the table is written with both indices at every place: a view of its row costs more than the sum


@compiled
def volume_states(
    y: np.ndarray, modes: np.ndarray, s: float, w: float, P: np.record, work: np.ndarray
) -> None:
    """Fill the work table with pressure, temperatures and volumes, and clear its rates."""
    unburnt = 0.0
    if modes[at.BURN] == at.BURNING:
        burnt = powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high)
        unburnt = P.charge_mass * (1.0 - P.burnt_ceiling * burnt)
    else:
        unburnt = P.charge_mass * (1.0 - P.burnt_ceiling)
    species = (P.R_b, P.c0_b, P.c1_b, P.R_a, P.c0_a, P.c1_a)
    merged = P.source >= 0 and modes[at.SOURCE] == at.MERGED
    for k in range(P.n_volumes):
        for column in range(D_MB, WORK):
            work[k, column] = 0.0
        i = at.VOLUMES + at.PER_VOLUME * k
        V = P.volume[k]
        if k == P.source and merged:
            V *= at.REMNANT
        if k == P.bay:
            V += P.volume[P.source] * (1.0 - at.REMNANT) if merged else 0.0
            area = motion.bore_area(P.bore)
            V += area * motion.swept_length(s, P.stroke, P.bore)
            work[k, DV] = area * motion.pushed_share(s, P.stroke, P.bore) * w
        V_gas = V - (unburnt * P.grain_volume if k == modes[at.BURN_VOLUME] else 0.0)
        V_free = V_gas - P.covolume * y[i]
        p, T_1, T_2, V_2, K_1, K_2, G_1, G_2 = zones.two_zone_state(
            y[i], y[i + 1], y[i + 2], y[i + 3], y[i + 4], V_free, species
        )
        work[k, V_GAS], work[k, V_FREE] = V_gas, V_free
        work[k, P_], work[k, T1], work[k, T2], work[k, V2] = p, T_1, T_2, V_2
        work[k, K1], work[k, K2], work[k, G1], work[k, G2] = K_1, K_2, G_1, G_2


@compiled
def burn(
    t: float, y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Burn the grains: dm_b = m eta (d psi/d e) (d e/d t), with the products' energy."""
    if modes[at.BURN] == at.BURNT:
        return
    k = modes[at.BURN_VOLUME]
    law = powder.burning_rate(work[k, P_], P.rate, P.rate_pressure, P.rate_exponent)
    dy[at.DEPTH] = law * powder.flame_ramp(t, P.start_time, P.flame_spread)
    slope = powder.burnt_slope(y[at.DEPTH], P.r_low, P.r_high)
    dm = P.charge_mass * P.burnt_ceiling * slope * dy[at.DEPTH]
    work[k, D_MB] += dm
    work[k, S1] += dm * P.powder_energy
    work[k, DV_GRAIN] += dm * P.grain_volume


@compiled
def mix(y: np.ndarray, P: np.record, work: np.ndarray) -> None:
    """Entrain cold air into the hot zone: m_a2/tau, with its enthalpy."""
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    for k in range(P.n_volumes):
        m_a2 = y[at.VOLUMES + at.PER_VOLUME * k + 3]
        dm = max(m_a2 - P.zone_floor[k], 0.0) / P.mixing_time
        h = gas.specific_energy(work[k, T2], c0_a, c1_a) + R_a * work[k, T2]
        work[k, D_MA1] += dm
        work[k, D_MA2] -= dm
        work[k, S1] += dm * h
        work[k, S2] -= dm * h


@compiled
def skin_and_flux(
    j: int, y: np.ndarray, P: np.record, work: np.ndarray
) -> tuple[float, float, float]:
    """Return a surface's skin temperature [K] and the fluxes of both zones into it [W/m^2].

    Each zone heats the share of the wall it touches: its share of the volume. Part of the skin's
    rise follows the flux at once, and the flux depends on the skin: one Newton step from the
    slow part settles both, since that part is less than a hundredth of the whole.
    """
    k = P.surface_volume[j]
    i = P.skins_at + j * P.n_terms
    rise = 0.0
    for n in range(P.n_terms):
        rise += P.skin_weights[n] * y[i + n]
    slow = P.T_ambient + rise / P.surface_effusivity[j]
    cold = work[k, V2] / work[k, V_GAS]
    hot = 1.0 - cold
    h, emissivity = P.surface_convection[j], P.surface_emissivity[j]
    T_1, T_2 = work[k, T1], work[k, T2]
    q = hot * heat.heat_flux(T_1, slow, emissivity, h) + cold * heat.heat_flux(T_2, slow, 0.0, h)
    slope = h + hot * heat.radiation_slope(slow, emissivity)
    skin = slow + P.skin_instant * q / (P.surface_effusivity[j] + P.skin_instant * slope)
    q1 = hot * heat.heat_flux(T_1, skin, emissivity, h)
    q2 = cold * heat.heat_flux(T_2, skin, 0.0, h)
    return skin, q1, q2


@compiled
def warm_walls(y: np.ndarray, s: float, P: np.record, work: np.ndarray, dy: np.ndarray) -> None:
    """Heat the walls."""
    for j in range(P.n_surfaces):
        k = P.surface_volume[j]
        i = P.skins_at + j * P.n_terms
        _, q1, q2 = skin_and_flux(j, y, P, work)
        q = q1 + q2
        area = P.surface_area[j] + P.surface_growth[j] * s
        for n in range(P.n_terms):
            dy[i + n] = q - P.skin_rates[n] * y[i + n]
        work[k, S1] -= area * q1
        work[k, S2] -= area * q2
        if dy.shape[0] > P.heats_at:
            dy[P.heats_at + j] = area * q


@compiled
def opening_area(j: int, s: float, modes: np.ndarray, P: np.record) -> float:
    """Return the effective area of an opening as it stands now, of a slot the plain area [m^2]."""
    if P.opening_kind[j] == ANNULUS:
        opened = motion.bore_area(P.bore) * motion.opened_share(s, P.stroke, P.bore)
        return P.opening_area[j] * opened
    if P.opening_kind[j] == FROM_SOURCE and modes[at.SOURCE] != at.OPEN:
        return 0.0
    return P.opening_area[j]


@compiled
def is_slot(j: int, P: np.record) -> bool:
    """Say whether an opening is a slot, whose flow does not go by an effective area."""
    return P.opening_kind[j] == SLOT or P.opening_kind[j] == SHOULDER


@compiled
def mass_flow(
    j: int, area: float, s: float, p_up: float, rho: float, p_down: float, g: float, R: float,
    P: np.record,
) -> float:  # fmt: skip
    """Return the mass flow of opening j, and of holes added to its area [kg/s].

    From pressure, density, ratio of heat capacities and gas constant upstream to the pressure
    downstream. The walls of a slot keep the temperature of the surroundings: a shot is short.
    """
    if not is_slot(j, P):
        return area * flow.mass_flux(p_up, rho, p_down, g)
    length = max(P.stroke - s, 0.0) if P.opening_kind[j] == SHOULDER else P.opening_length[j]
    return area * slot.slot_flux(
        p_up, rho, p_down, g, R, P.opening_gap[j], length, P.T_ambient, P.opening_discharge[j]
    )


@compiled
def draw(
    k: int, m_dot: float, y: np.ndarray, P: np.record, work: np.ndarray
) -> tuple[float, float, float, float, float]:
    """Take a mass flow out of a volume, both zones in proportion to their volume.

    Returns the flows of products, hot air and cold air [kg/s] and the enthalpies [W] carried
    out of zones 1 and 2.
    """
    i = at.VOLUMES + at.PER_VOLUME * k
    share = m_dot / (y[i] + y[i + 1] + y[i + 3])
    # a zone that is all but swept out stays, so that it keeps a state
    floor = P.zone_floor[k]
    m1, m2 = y[i] + y[i + 1], y[i + 3]
    share1 = share * max(m1 - floor, 0.0) / m1
    share2 = share * max(m2 - floor, 0.0) / m2
    b, a1, a2 = share1 * y[i], share1 * y[i + 1], share2 * y[i + 3]
    h1 = share1 * (y[i + 2] + work[k, P_] * (work[k, V_GAS] - work[k, V2]))
    h2 = share2 * (y[i + 4] + work[k, P_] * work[k, V2])
    work[k, D_MB] -= b
    work[k, D_MA1] -= a1
    work[k, D_MA2] -= a2
    work[k, S1] -= h1
    work[k, S2] -= h2
    return b, a1, a2, h1, h2


@compiled
def flow_between(
    j: int, area: float, s: float, y: np.ndarray, P: np.record, work: np.ndarray
) -> tuple[float, float, float]:
    """Let gas through opening j and holes beside it, from the higher pressure to the lower.

    Gas that a slot cools takes its heat with it all the same: on the safe side for what lies
    behind a slot within the rocket, and of no account outside.

    Returns the flows of products and air [kg/s] and of energy [W], positive from one to two.
    """
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    one, two = P.opening_from[j], P.opening_to[j]
    p_one = P.p_ambient if one == OUTSIDE else work[one, P_]
    p_two = P.p_ambient if two == OUTSIDE else work[two, P_]
    up, down, sign = (one, two, 1.0) if p_one >= p_two else (two, one, -1.0)
    p_up, p_down = max(p_one, p_two), min(p_one, p_two)
    if up == OUTSIDE:
        h_a = gas.specific_energy(P.T_ambient, c0_a, c1_a) + R_a * P.T_ambient
        g = 1.0 + R_a / (c0_a + c1_a * P.T_ambient)
        m_dot = mass_flow(j, area, s, p_up, p_up / (R_a * P.T_ambient), p_down, g, R_a, P)
        b, a1, a2, h1, h2 = 0.0, 0.0, m_dot, 0.0, m_dot * h_a
    else:
        n = at.VOLUMES + at.PER_VOLUME * up
        mass = y[n] + y[n + 1] + y[n + 3]
        m_R = work[up, G1] + work[up, G2]
        g = 1.0 + m_R / (work[up, K1] + work[up, K2])
        m_dot = mass_flow(j, area, s, p_up, mass / work[up, V_GAS], p_down, g, m_R / mass, P)
        b, a1, a2, h1, h2 = draw(up, m_dot, y, P, work)
    if down != OUTSIDE:
        work[down, D_MB] += b
        work[down, D_MA1] += a1
        work[down, D_MA2] += a2
        work[down, S1] += h1
        work[down, S2] += h2
    return sign * b, sign * (a1 + a2), sign * (h1 + h2)


@compiled
def flow_through(
    y: np.ndarray, s: float, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Let gas through every opening; neighbouring holes between the same volumes flow as one."""
    j = 0
    while j < P.n_openings:
        first, one, two = j, P.opening_from[j], P.opening_to[j]
        area = opening_area(j, s, modes, P)
        j += 1
        while (
            j < P.n_openings and P.opening_from[j] == one and P.opening_to[j] == two
            and not is_slot(first, P) and not is_slot(j, P)
        ):  # fmt: skip
            area += opening_area(j, s, modes, P)
            j += 1
        if area <= 0.0:
            continue
        b, a, h = flow_between(first, area, s, y, P, work)
        if dy.shape[0] > P.heats_at:
            for n in range(first, j):
                share = opening_area(n, s, modes, P) / area
                i = P.openings_at + at.PER_OPENING * n
                dy[i], dy[i + 1], dy[i + 2] = share * b, share * a, share * h


@compiled
def close_volumes(P: np.record, work: np.ndarray, dy: np.ndarray) -> None:
    """Turn the sources of each volume into dp/dt and the rates of its five states."""
    R_b, c0_b, c1_b = P.R_b, P.c0_b, P.c1_b
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    for k in range(P.n_volumes):
        T_1, T_2 = work[k, T1], work[k, T2]
        d_b, d_a1, d_a2 = work[k, D_MB], work[k, D_MA1], work[k, D_MA2]
        k1, k2 = work[k, G1] / work[k, K1], work[k, G2] / work[k, K2]
        e1 = d_b * gas.specific_energy(T_1, c0_b, c1_b)
        e1 += d_a1 * gas.specific_energy(T_1, c0_a, c1_a)
        e2 = d_a2 * gas.specific_energy(T_2, c0_a, c1_a)
        Q1 = T_1 * (d_b * R_b + d_a1 * R_a) - k1 * e1
        Q2 = T_2 * d_a2 * R_a - k2 * e2
        dV = work[k, DV]
        dV_free = dV + work[k, DV_GRAIN] - P.covolume * d_b
        dp, dU1, dU2 = zones.two_zone_rates(
            work[k, P_], work[k, V_FREE], work[k, V2], k1, k2, work[k, S1], work[k, S2], Q1, Q2,
            dV, dV_free,
        )  # fmt: skip
        work[k, DP] = dp
        i = at.VOLUMES + at.PER_VOLUME * k
        dy[i] = d_b
        dy[i + 1] = d_a1
        dy[i + 2] = dU1
        dy[i + 3] = d_a2
        dy[i + 4] = dU2
