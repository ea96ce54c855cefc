"""Rates of the gas: burning, mixing, heat to walls, flow through openings, and the closing."""

from __future__ import annotations

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine.parameters import ALWAYS, ANNULUS, OUTSIDE
from baypulse.physics import flow, gas, heat, motion, powder, zones
from baypulse.physics.compiled import compiled

# columns of the work table, one row a volume
(
    P_, T1, T2, V2, K1, K2, G1, G2, V_FREE, V_GAS,
    D_MB, D_MA1, D_MA2, S1, S2, DV, DV_GRAIN, DP,
) = range(18)  # fmt: skip
WORK = 18


@compiled
def volume_states(
    y: np.ndarray, modes: np.ndarray, s: float, w: float, P: np.record, work: np.ndarray
) -> None:
    """Fill the work table with pressure, temperatures and volumes, and clear its rates."""
    burnt = powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high)
    unburnt = P.charge_mass * (1.0 - P.burnt_ceiling * burnt)
    species = (P.R_b, P.c0_b, P.c1_b, P.R_a, P.c0_a, P.c1_a)
    merged = P.source >= 0 and modes[at.SOURCE] == at.MERGED
    for k in range(P.n_volumes):
        row = work[k]
        row[:] = 0.0
        i = at.VOLUMES + at.PER_VOLUME * k
        V = P.volume[k]
        if k == P.source and merged:
            V *= at.REMNANT
        if k == P.bay:
            V += P.volume[P.source] * (1.0 - at.REMNANT) if merged else 0.0
            area = motion.bore_area(P.bore)
            V += area * motion.swept_length(s, P.stroke, P.bore)
            row[DV] = area * motion.pushed_share(s, P.stroke, P.bore) * w
        row[V_GAS] = V - (unburnt * P.grain_volume if k == modes[at.BURN_VOLUME] else 0.0)
        row[V_FREE] = row[V_GAS] - P.covolume * y[i]
        (row[P_], row[T1], row[T2], row[V2], row[K1], row[K2], row[G1], row[G2]) = (
            zones.two_zone_state(y[i], y[i + 1], y[i + 2], y[i + 3], y[i + 4], row[V_FREE], species)
        )


@compiled
def burn(
    t: float, y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Burn the grains: dm_b = m eta (d psi/d e) (d e/d t), with the products' energy."""
    if modes[at.BURN] == at.BURNT:
        return
    row = work[modes[at.BURN_VOLUME]]
    law = powder.burning_rate(row[P_], P.rate, P.rate_pressure, P.rate_exponent)
    dy[at.DEPTH] = law * powder.flame_ramp(t, P.start_time, P.flame_spread)
    slope = powder.burnt_slope(y[at.DEPTH], P.r_low, P.r_high)
    dm = P.charge_mass * P.burnt_ceiling * slope * dy[at.DEPTH]
    row[D_MB] += dm
    row[S1] += dm * P.powder_energy
    row[DV_GRAIN] += dm * P.grain_volume


@compiled
def mix(y: np.ndarray, P: np.record, work: np.ndarray) -> None:
    """Entrain cold air into the hot zone: m_a2/tau, with its enthalpy."""
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    for k in range(P.n_volumes):
        row = work[k]
        m_a2 = y[at.VOLUMES + at.PER_VOLUME * k + 3]
        dm = max(m_a2 - P.zone_floor[k], 0.0) / P.mixing_time
        h = gas.specific_energy(row[T2], c0_a, c1_a) + R_a * row[T2]
        row[D_MA1] += dm
        row[D_MA2] -= dm
        row[S1] += dm * h
        row[S2] -= dm * h


@compiled
def skin_temperature(j: int, y: np.ndarray, P: np.record) -> float:
    """Return the temperature of a surface's skin [K] from its exponential terms."""
    i = P.surfaces_at + j * (P.n_terms + 1)
    rise = 0.0
    for n in range(P.n_terms):
        rise += P.skin_weights[n] * y[i + n]
    return P.T_ambient + rise / P.surface_effusivity[j]


@compiled
def warm_walls(y: np.ndarray, s: float, P: np.record, work: np.ndarray, dy: np.ndarray) -> None:
    """Heat the walls, each zone on the share of wall it touches: its share of the volume."""
    terms = P.n_terms
    for j in range(P.n_surfaces):
        row = work[P.surface_volume[j]]
        i = P.surfaces_at + j * (terms + 1)
        skin = skin_temperature(j, y, P)
        cold = row[V2] / row[V_GAS]
        hot = 1.0 - cold
        h = P.surface_convection[j]
        q1 = hot * heat.heat_flux(row[T1], skin, P.surface_emissivity[j], h)
        q2 = cold * heat.heat_flux(row[T2], skin, 0.0, h)
        area = P.surface_area[j] + P.surface_growth[j] * s
        for n in range(terms):
            dy[i + n] = q1 + q2 - P.skin_rates[n] * y[i + n]
        dy[i + terms] = area * (q1 + q2)
        row[S1] -= area * q1
        row[S2] -= area * q2


@compiled
def opening_area(j: int, s: float, modes: np.ndarray, P: np.record) -> float:
    """Return the effective area of an opening as it stands now [m^2]."""
    if P.opening_kind[j] == ALWAYS:
        return P.opening_area[j]
    if P.opening_kind[j] == ANNULUS:
        opened = motion.bore_area(P.bore) * motion.opened_share(s, P.stroke, P.bore)
        return P.opening_area[j] * opened
    return P.opening_area[j] if modes[at.SOURCE] == at.OPEN else 0.0


@compiled
def draw(
    k: int, m_dot: float, y: np.ndarray, P: np.record, work: np.ndarray
) -> tuple[float, float, float, float, float]:
    """Take a mass flow out of a volume, both zones in proportion to their volume.

    Returns the flows of products, hot air and cold air [kg/s] and the enthalpies [W] carried
    out of zones 1 and 2.
    """
    row = work[k]
    i = at.VOLUMES + at.PER_VOLUME * k
    share = m_dot / (y[i] + y[i + 1] + y[i + 3])
    # a zone that is all but swept out stays, so that it keeps a state
    floor = P.zone_floor[k]
    m1, m2 = y[i] + y[i + 1], y[i + 3]
    share1 = share * max(m1 - floor, 0.0) / m1
    share2 = share * max(m2 - floor, 0.0) / m2
    b, a1, a2 = share1 * y[i], share1 * y[i + 1], share2 * y[i + 3]
    h1 = share1 * (y[i + 2] + row[P_] * (row[V_GAS] - row[V2]))
    h2 = share2 * (y[i + 4] + row[P_] * row[V2])
    row[D_MB] -= b
    row[D_MA1] -= a1
    row[D_MA2] -= a2
    row[S1] -= h1
    row[S2] -= h2
    return b, a1, a2, h1, h2


@compiled
def flow_through(
    y: np.ndarray, s: float, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Let gas through every opening, from the higher pressure to the lower."""
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    h_a = gas.specific_energy(P.T_ambient, c0_a, c1_a) + R_a * P.T_ambient
    g_a = 1.0 + R_a / (c0_a + c1_a * P.T_ambient)
    for j in range(P.n_openings):
        area = opening_area(j, s, modes, P)
        if area <= 0.0:
            continue
        one, two = P.opening_from[j], P.opening_to[j]
        p_one = P.p_ambient if one == OUTSIDE else work[one, P_]
        p_two = P.p_ambient if two == OUTSIDE else work[two, P_]
        up, down, sign = (one, two, 1.0) if p_one >= p_two else (two, one, -1.0)
        p_up, p_down = max(p_one, p_two), min(p_one, p_two)
        i = P.openings_at + at.PER_OPENING * j
        if up == OUTSIDE:
            m_dot = flow.mass_flow(area, p_up, p_up / (R_a * P.T_ambient), p_down, g_a)
            b, a1, a2, h1, h2 = 0.0, 0.0, m_dot, 0.0, m_dot * h_a
        else:
            n = at.VOLUMES + at.PER_VOLUME * up
            row = work[up]
            rho = (y[n] + y[n + 1] + y[n + 3]) / row[V_GAS]
            g = 1.0 + (row[G1] + row[G2]) / (row[K1] + row[K2])
            m_dot = flow.mass_flow(area, p_up, rho, p_down, g)
            b, a1, a2, h1, h2 = draw(up, m_dot, y, P, work)
        if down != OUTSIDE:
            row = work[down]
            row[D_MB] += b
            row[D_MA1] += a1
            row[D_MA2] += a2
            row[S1] += h1
            row[S2] += h2
        dy[i] = sign * b
        dy[i + 1] = sign * (a1 + a2)
        dy[i + 2] = sign * (h1 + h2)


@compiled
def close_volumes(P: np.record, work: np.ndarray, dy: np.ndarray) -> None:
    """Turn the sources of each volume into dp/dt and the rates of its five states."""
    R_b, c0_b, c1_b = P.R_b, P.c0_b, P.c1_b
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    for k in range(P.n_volumes):
        row = work[k]
        k1, k2 = row[G1] / row[K1], row[G2] / row[K2]
        e1 = row[D_MB] * gas.specific_energy(row[T1], c0_b, c1_b)
        e1 += row[D_MA1] * gas.specific_energy(row[T1], c0_a, c1_a)
        e2 = row[D_MA2] * gas.specific_energy(row[T2], c0_a, c1_a)
        Q1 = row[T1] * (row[D_MB] * R_b + row[D_MA1] * R_a) - k1 * e1
        Q2 = row[T2] * row[D_MA2] * R_a - k2 * e2
        dV_free = row[DV] + row[DV_GRAIN] - P.covolume * row[D_MB]
        row[DP], dU1, dU2 = zones.two_zone_rates(
            row[P_], row[V_FREE], row[V2], k1, k2, row[S1], row[S2], Q1, Q2, row[DV], dV_free
        )
        i = at.VOLUMES + at.PER_VOLUME * k
        dy[i] = row[D_MB]
        dy[i + 1] = row[D_MA1]
        dy[i + 2] = dU1
        dy[i + 3] = row[D_MA2]
        dy[i + 4] = dU2
