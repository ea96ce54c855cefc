"""Flow of gas, salts and grains between the volumes, and to the outside."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine.parameters import (
    ANNULUS,
    FROM_SOURCE,
    LIP,
    OUTSIDE,
    PAST,
    PORES,
    PORES_OUT,
    ROUND,
    SHOULDER,
    SLOT,
)
from baypulse.physics import flow, gas, motion, pack, piston, slot
from baypulse.physics.choice import anywhere, where
from baypulse.physics.compiled import compiled, inlined

LEVEL_AT_ONCE = 1.0
"""Relative pressure difference up to which a hole between two spaces may pass gas in proportion to
it: the small one then follows the other within :data:`baypulse.physics.flow.EVENING_TIME`."""


@compiled
def is_hole(j: int, P: np.record) -> bool:
    """Say whether an opening is a hole, whose flow goes by an effective area."""
    kind = P.opening_kind[j]
    return kind <= ANNULUS or kind == LIP


@inlined
def opening_area(j: int, s: float, u: float, modes: np.ndarray, P: np.record) -> float:
    """Return the area of an opening as it stands now, as the law of its kind asks for it [m^2].

    Contents that the cord draws out lengthwise neck and fill the bore no more: the space behind
    them is as open as once they have left the tube.
    """
    kind = P.opening_kind[j]
    if kind == LIP:
        if modes[at.CONTENTS] == at.DRAGGED:
            return P.opening_area[j] * motion.bore_area(P.bore)
        opened = motion.bore_area(P.bore) * motion.opened_share(u, P.pack_out, P.bore)
        return P.opening_area[j] * opened
    gone = modes[at.AHEAD] == at.LEVEL
    if gone and (P.opening_from[j] == P.bay or P.opening_to[j] == P.bay):
        return 0.0
    if kind in (PAST, PORES_OUT) and not gone:
        return 0.0
    if kind == ANNULUS:
        opened = motion.bore_area(P.bore) * motion.opened_share(s, P.stroke, P.bore)
        return P.opening_area[j] * opened
    if kind == FROM_SOURCE and modes[at.SOURCE] != at.OPEN:
        return 0.0
    return P.opening_area[j]


@compiled
def leave(k: int, y: np.ndarray, P: np.record, work: np.ndarray) -> None:
    """Write what a flow takes out of a volume per kilogram, both zones in proportion to volume.

    Every opening of the volume asks for it.
    """
    i = at.VOLUMES + at.PER_VOLUME * k
    share = 1.0 / gasside.gas_mass(k, y)
    V_gas, V_2 = work[k, gasside.V_GAS], work[k, gasside.V2]
    # a zone that is all but swept out stays, so that it keeps a state
    floor = P.zone_floor[k]
    m1, m2 = y[i + at.M_B] + y[i + at.M_A1], y[i + at.M_A2]
    share1 = share * max(m1 - floor, 0.0) / m1
    share2 = share * max(m2 - floor, 0.0) / m2
    p = work[k, gasside.P_]
    work[k, gasside.RHO] = 1.0 / (share * V_gas)
    work[k, gasside.GAMMA] = gasside.heat_ratio(k, work)
    work[k, gasside.R_ALL] = (work[k, gasside.G1] + work[k, gasside.G2]) * share
    work[k, gasside.SHARE], work[k, gasside.SHARE_1] = share, share1
    work[k, gasside.SHARE_2] = share2
    work[k, gasside.H_1] = share1 * (y[i + at.U_1] + p * (V_gas - V_2))
    work[k, gasside.H_2] = share2 * (y[i + at.U_2] + p * V_2)


@compiled
def draw(
    k: int, m_dot: float, carrying: float, y: np.ndarray, work: np.ndarray
) -> tuple[float, float, float, float, float, float, float]:
    """Take a mass flow out of a volume.

    Salts go with their zone, the stirring with its mass, and the grains with ``carrying``: the flow
    of gas that would take as many of them, were they spread through it [kg/s].

    Returns the flows of products, salts, hot air and cold air [kg/s], the enthalpies [W] carried
    out of zones 1 and 2, and the flow of grains [1/s].
    """
    i = at.VOLUMES + at.PER_VOLUME * k
    share = m_dot * work[k, gasside.SHARE]
    share1, share2 = m_dot * work[k, gasside.SHARE_1], m_dot * work[k, gasside.SHARE_2]
    b, c = share1 * y[i + at.M_B], share1 * y[i + at.M_C]
    a1, a2 = share1 * y[i + at.M_A1], share2 * y[i + at.M_A2]
    h1, h2 = m_dot * work[k, gasside.H_1], m_dot * work[k, gasside.H_2]
    grains = carrying * work[k, gasside.SHARE] * y[i + at.GRAINS]
    work[k, gasside.D_MB] -= b
    work[k, gasside.D_MC] -= c
    work[k, gasside.D_MA1] -= a1
    work[k, gasside.D_MA2] -= a2
    work[k, gasside.D_STIR] -= share * y[i + at.STIRRING]
    work[k, gasside.D_GRAINS] -= grains
    work[k, gasside.S1] -= h1
    work[k, gasside.S2] -= h2
    return b, c, a1, a2, h1, h2, grains


@inlined
def flux_and_speed(
    j: int, s: float, u: float, even: float, p_up: float, rho: float, p_down: float, g: float,
    R: float, P: np.record,
) -> tuple[float, float]:  # fmt: skip
    """Return the flow of opening j per area [kg/m^2/s], and its speed on arrival [m/s].

    From pressure, density, ratio of heat capacities and gas constant upstream to the pressure
    downstream; ``even`` is that of a hole or slot (:func:`baypulse.physics.flow.evenness`).

    Through half the contents, per bore area: what seeps through cloth stirs nothing. Round them,
    through a slot as long as what is left of them in the tube, whose mouth is softer
    (``pack_even``). The walls of a slot keep the temperature of the surroundings: a shot is short.
    """
    kind = P.opening_kind[j]
    if kind == PORES or kind == PORES_OUT:
        flux = pack.ergun_flux(
            p_up, p_down, R, P.T_ambient, P.pore_viscosity, P.pore_share, P.pore_size,
            0.5 * P.packed_length,
        )  # fmt: skip
        return flux, 0.0 * flux
    if kind in (ROUND, PAST):
        length = P.packed_length * piston.engaged_share(u, P.pack_out, P.packed_length)
        drop = 1.0 - p_down / p_up
        mouth = P.pack_discharge * np.sqrt(drop / np.sqrt(drop * drop + P.pack_even * P.pack_even))
        flux = slot.evened_slot_flux(
            p_up, rho, p_down, g, R, P.pack_gap, length, P.T_ambient, max(mouth, 1e-9),
            flow.LAMINAR,
        )  # fmt: skip
        return flux, flux / rho
    if kind == SLOT or kind == SHOULDER:
        length = max(P.stroke - s, 0.0) if kind == SHOULDER else P.opening_length[j]
        flux = slot.evened_slot_flux(
            p_up, rho, p_down, g, R, P.opening_gap[j], length, P.T_ambient,
            P.opening_discharge[j], even,
        )  # fmt: skip
        return flux, flux / rho
    # flux and velocity share the throat: its power costs as much as all the rest
    x, e = flow.throat(p_down / p_up, g)
    flux = flow.throat_flux(p_up, rho, x, e, g, even)
    return flux, flow.throat_velocity(flux, rho, e)


@compiled
def gas_at(k: int, P: np.record, work: np.ndarray) -> tuple[float, float, float, float]:
    """Return pressure, density, heat ratio and gas constant in a volume or outside."""
    if k == OUTSIDE:
        p, T, R_a = P.p_ambient, P.T_ambient, P.R_a
        return p, p / (R_a * T), 1.0 + R_a / (P.c0_a + P.c1_a * T), R_a
    return (
        work[k, gasside.P_], work[k, gasside.RHO], work[k, gasside.GAMMA], work[k, gasside.R_ALL]
    )  # fmt: skip


@compiled
def carry(
    up: int, down: int, m_dot: float, carrying: float, speed: float, y: np.ndarray, P: np.record,
    work: np.ndarray,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Take a mass flow out of one volume and bring it into another, or the outside.

    Returns the flows of products and air [kg/s], of energy [W], salts [kg/s] and grains [1/s].
    """
    if up == OUTSIDE:
        none, T = 0.0 * m_dot, P.T_ambient
        h_a = gas.specific_energy(T, P.c0_a, P.c1_a) + P.R_a * T
        b, c, a1, a2, h1, h2, grains = none, none, none, m_dot, none, m_dot * h_a, none
    else:
        b, c, a1, a2, h1, h2, grains = draw(up, m_dot, carrying, y, work)
    if down != OUTSIDE:
        work[down, gasside.D_MB] += b
        work[down, gasside.D_MC] += c
        work[down, gasside.D_MA1] += a1
        work[down, gasside.D_MA2] += a2
        work[down, gasside.S1] += h1
        work[down, gasside.S2] += h2
        work[down, gasside.D_GRAINS] += grains
        work[down, gasside.D_STIR] += m_dot * speed
        # what a holder gives has not met air; of any other volume's products some has
        if up == P.source:
            work[down, gasside.FUEL] += b
    return b, a1 + a2, h1 + h2, c, grains


@compiled
def flow_between(
    j: int, s: float, u: float, area: float, carried: float, y: np.ndarray, P: np.record,
    work: np.ndarray,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Let gas through opening j and holes beside it, from the higher pressure to the lower.

    ``area`` is what the law of the opening's kind asks for; ``carried`` is the sum of the areas
    times the grains each carries. Gas that a slot cools takes its heat with it all the same: on the
    safe side for what lies behind a slot within the rocket, and of no account outside. Returns the
    flows of
    products and air [kg/s], of energy [W], salts [kg/s] and grains [1/s], positive from one to two.
    """
    one, two = P.opening_from[j], P.opening_to[j]
    p_one, rho_one, g_one, R_one = gas_at(one, P, work)
    p_two, rho_two, g_two, R_two = gas_at(two, P, work)
    onward = p_one >= p_two
    back = where(onward, 0.0, 1.0) > 0.0
    p_up, p_down = max(p_one, p_two), min(p_one, p_two)
    even = 0.0
    if P.opening_kind[j] not in (ROUND, PAST, PORES, PORES_OUT):
        if one == OUTSIDE or two == OUTSIDE:
            even = flow.evenness(area, work[max(one, two), gasside.V_GAS], flow.EVEN)
        else:
            V, most = min(work[one, gasside.V_GAS], work[two, gasside.V_GAS]), LEVEL_AT_ONCE
            even = flow.evenness(area, V, most)
            # what a holder gives is no small space that follows another one
            if one == P.source or two == P.source:
                given = onward if one == P.source else back
                even = where(given, flow.evenness(area, V, flow.EVEN), even)
    flux, speed = flux_and_speed(
        j, s, u, even, p_up, where(onward, rho_one, rho_two), p_down,
        where(onward, g_one, g_two), where(onward, R_one, R_two), P,
    )  # fmt: skip
    m_dot, carrying = area * flux, carried * flux
    none = 0.0 * m_dot
    b, a, h, c, grains = none, none, none, none, none
    if anywhere(onward):
        b, a, h, c, grains = carry(
            one, two, where(onward, m_dot, 0.0), where(onward, carrying, 0.0), speed, y, P, work
        )
    if anywhere(back):
        b2, a2, h2, c2, grains2 = carry(
            two, one, where(back, m_dot, 0.0), where(back, carrying, 0.0), speed, y, P, work
        )
        b, a, h, c, grains = b - b2, a - a2, h - h2, c - c2, grains - grains2
    return b, a, h, c, grains


@compiled
def flow_through(
    y: np.ndarray, s: float, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Let gas through every opening; neighbouring holes between the same volumes flow as one."""
    u = y[at.PACK_X] - y[at.FRAME_X]
    for k in range(P.n_volumes):
        if gasside.lives(k, modes, P):
            leave(k, y, P, work)
    j = 0
    while j < P.n_openings:
        first, one, two = j, P.opening_from[j], P.opening_to[j]
        area, carried = 0.0, 0.0
        while j < P.n_openings and P.opening_from[j] == one and P.opening_to[j] == two:
            if j > first and not (is_hole(first, P) and is_hole(j, P)):
                break
            own = opening_area(j, s, u, modes, P)
            area += own
            carried += own * P.opening_carry[j]
            j += 1
        if not anywhere(area != 0.0):
            continue
        b, a, h, c, grains = flow_between(first, s, u, area, carried, y, P, work)
        if dy.shape[0] > P.heats_at:
            for n in range(first, j):
                own = opening_area(n, s, u, modes, P)
                i = P.openings_at + at.PER_OPENING * n
                share = own / area
                dy[i + at.OUT_B], dy[i + at.OUT_A] = share * b, share * a
                dy[i + at.OUT_ENERGY], dy[i + at.OUT_C] = share * h, share * c
                if anywhere(carried > 0.0):
                    dy[i + at.OUT_GRAINS] = own * P.opening_carry[n] / carried * grains
