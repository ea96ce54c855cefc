"""The functions that find events.

Every function is negative while its phase lasts and reaches zero from below at its event; an
event that cannot happen in the present modes reads -1.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import burning, gasside
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine.event import EventCode, onward_event, slack_event
from baypulse.engine.parameters import ALWAYS, FROM_SOURCE, NEVER, OUTSIDE
from baypulse.engine.rates import Force
from baypulse.physics import cord, fit, flow, gas, motion
from baypulse.physics.compiled import compiled

HOLDER_SHARE = 0.05
"""Excess over the bay's pressure, relative, at which a burst holder counts as part of the bay: the
flow between them would be too fast to follow, and there is nothing left to see."""

RESERVOIR_SHARE = 0.005
"""The same of a reservoir."""

GAS_SHARE = 0.01
"""Gauge pressure over ambient below which the gas of a parted joint is over."""

HOLDER_GRAINS = 0.1
"""Share of the grains that may still be in a burst holder when it becomes part of the bay: at 5 %
more pressure a tenth of the grains burns 0.4 % of the whole faster. All of them may be in a holder
so wide that it is all but level (:func:`levelled`): they burn a ten-thousandth faster, a thousandth
at most, and such a flow takes many tiny steps."""

AT_ONCE = 1e-5
"""Time [s] within which a holder evens out that is level at once: one that is full of grains."""

UNSEEN = 1e-4
"""Pressure that is still to come, over ambient, below which the highest has been seen."""

CREEPING = 1e-4
"""Rise of pressure [1/s], over ambient, below which no peak is to come."""

FALL, RISE = 1e-3, 1.0
"""Change of pressure [1/s], over ambient, from which on it falls after a peak, and rises again: one
that only creeps up or down is not worth a phase of its own."""

SEATED = 1e-9
"""Distance from the bulkhead within which contents rest on it [m]."""

WANING_PUSH = 0.5
"""Push over breakaway friction below which a charge that is all alight, and has burnt to
:data:`WANING_CHARGE`, counts as burnt at falling pressure: its products only become fewer."""

WANING_CHARGE = 0.5
"""Share of the charge that is still to burn, below which it wanes."""


@compiled
def mixed_pressure(k: int, y: np.ndarray, P: np.record, work: np.ndarray) -> float:
    """Return the pressure of a volume if all in it were mixed now, and burnt in its air [Pa].

    Mixing moves heat from salts to air and so raises the pressure; walls only take heat from what
    is warmer, and warm what is colder. Once the charge is burnt, no pressure to come is higher.
    """
    i = at.VOLUMES + at.PER_VOLUME * k
    g, c = y[i + at.M_B] - y[i + at.M_C], y[i + at.M_C]
    a = y[i + at.M_A1] + y[i + at.M_A2]
    U = y[i + at.U_1] + y[i + at.U_2]
    if work[k, gasside.T1] > P.afterburning_low:
        U += P.afterburning_heat * (g + c)
    T = gas.temperature(U, g * P.c0_g + c * P.condensed_heat + a * P.c0_a, g * P.c1_g + a * P.c1_a)
    p = (g * P.R_g + a * P.R_a) * max(T, P.T_ambient) / work[k, gasside.V_FREE]
    return max(p, work[k, gasside.P_])


@compiled
def push_to_come(y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray) -> float:
    """Return by how much the push of a burnt charge on a joint at rest may still grow [N]."""
    p_bay, p_chamber = work[P.bay, gasside.P_], work[P.chamber, gasside.P_]
    highest = mixed_pressure(P.bay, y, P, work)
    if P.back >= 0:
        highest = max(highest, mixed_pressure(P.back, y, P, work))
        highest = max(highest, work[P.voids, gasside.P_])
    if P.electronics >= 0:
        highest = max(highest, work[P.electronics, gasside.P_])
    sealed = modes[at.SOURCE] == at.SEALED
    if sealed and mixed_pressure(P.source, y, P, work) - p_chamber > P.burst_pressure:
        return NEVER
    return (highest - p_bay) * motion.bore_area(P.bore)


@compiled
def source_area(P: np.record) -> float:
    """Return the effective area through which a holder or a reservoir opens [m^2]."""
    area = 0.0
    for j in range(P.n_openings):
        if P.opening_kind[j] == FROM_SOURCE:
            area += P.opening_area[j]
    return area


@compiled
def level_to_come(y: np.ndarray, P: np.record, work: np.ndarray) -> float:
    """Return the greatest gauge pressure that a reservoir can still keep up in a leaky bay [Pa].

    It gives less and less. What it gives now, at the temperature of the surroundings, leaves
    through the holes of the space it gives to with Bernoulli's dp = mdot^2/(2 rho (Cd A)^2). A
    space beside it may hold more for a while.
    """
    out = 0.0
    for j in range(P.n_openings):
        if P.opening_kind[j] == ALWAYS and P.opening_to[j] == OUTSIDE:
            out += P.opening_area[j] if P.opening_from[j] == P.chamber else 0.0
    if out <= 0.0:
        return NEVER
    k = P.source
    mass = gasside.gas_mass(k, y)
    p, rho = work[k, gasside.P_], mass / work[k, gasside.V_GAS]
    given = source_area(P)
    given *= flow.mass_flux(p, rho, min(p, P.p_ambient), gasside.heat_ratio(k, work))
    lightest = P.p_ambient * mass / (work[k, gasside.G1] + work[k, gasside.G2]) / P.T_ambient
    level = 0.5 * given * given / (lightest * out * out)
    if P.electronics >= 0:
        level = max(level, work[P.electronics, gasside.P_] - P.p_ambient)
    return level


@compiled
def levelled(P: np.record, work: np.ndarray) -> float:
    """Return the relative excess at which a burst holder with its grains is level with the bay.

    It is :data:`baypulse.physics.flow.LAMINAR`, and up to :data:`baypulse.physics.flow.EVEN` where
    the holder evens out within :data:`AT_ONCE`, so that each step would be shorter than that.
    """
    quick = flow.EVENING_SPEED * AT_ONCE * source_area(P) / work[P.source, gasside.V_GAS]
    return flow.LAMINAR + flow.EVEN * quick * quick / (1.0 + quick * quick)


@compiled
def over_events(modes: np.ndarray, P: np.record, work: np.ndarray, g: np.ndarray) -> None:
    """Write the events that end the gas of a parted joint, on either side of the contents.

    Behind contents that still move in the tube the gas goes on: it pushes them, or they draw air
    in.
    """
    if modes[at.AHEAD] == at.SHUT:
        level = GAS_SHARE - abs(work[P.bay, gasside.P_] / P.p_ambient - 1.0)
        g[EventCode.GAS_OVER if P.back < 0 else EventCode.AHEAD_OVER] = level
        return
    kind = modes[at.CONTENTS]
    burning = modes[at.BURN] == at.BURNING and P.chamber == P.back
    open_source = modes[at.SOURCE] == at.OPEN and P.chamber == P.back
    # a reservoir gives less and less: once its pressure falls, level stays level
    open_source = open_source and (P.charge_mass > 0.0 or modes[at.TREND] == at.RISING)
    let_out = modes[at.EMPTIED] == at.OUT or kind == at.DRAGGED
    done = let_out or (kind == at.RESTING and not burning)
    if done and not open_source:
        g[EventCode.GAS_OVER] = GAS_SHARE - abs(work[P.back, gasside.P_] / P.p_ambient - 1.0)


@compiled
def gas_events(
    t: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record,
    work: np.ndarray, force: np.ndarray, g: np.ndarray,
) -> None:  # fmt: skip
    """Write the event functions of charge and gas."""
    p_bay, dp_bay = work[P.chamber, gasside.P_], work[P.chamber, gasside.DP]
    if modes[at.GAS] == at.SPENT:
        return
    if modes[at.GAS] == at.WAITING:
        g[EventCode.START] = t - P.start_time
        return
    # a pressure falls as soon as it does, ahead of the event that says so
    if modes[at.TREND] == at.RISING:
        g[EventCode.PEAK] = -dp_bay / P.p_ambient - FALL
        falling = g[EventCode.PEAK] > 0.0
    else:
        g[EventCode.RISE] = dp_bay / P.p_ambient - RISE
        falling = g[EventCode.RISE] <= 0.0
    if P.source >= 0 and modes[at.SOURCE] != at.MERGED:
        excess = work[P.source, gasside.P_] - p_bay
        share = HOLDER_SHARE if P.charge_mass > 0.0 else RESERVOIR_SHARE
        if modes[at.SOURCE] == at.OPEN:
            g[EventCode.MERGE] = share - excess / p_bay
            if modes[at.BURN] == at.BURNING:
                grains = y[at.VOLUMES + at.PER_VOLUME * P.source + at.GRAINS]
                g[EventCode.MERGE] = min(g[EventCode.MERGE], HOLDER_GRAINS - grains)
                g[EventCode.MERGE] = max(g[EventCode.MERGE], levelled(P, work) - excess / p_bay)
        elif P.burst_pressure > 0.0:
            g[EventCode.BURST] = (excess - P.burst_pressure) / P.burst_pressure
    if modes[at.BURN] == at.BURNING:
        left = burning.grains_inside(y, P)
        g[EventCode.BURNOUT] = max(y[at.DEPTH] / P.r_high - 1.0, burning.NO_GRAINS - left)
        if modes[at.FLAME] == at.SPREADING:
            g[EventCode.FLAME] = y[at.FLAME_FRONT] - 1.0
    joint = modes[at.JOINT]
    if joint == at.APART:
        over_events(modes, P, work, g)
    area = motion.bore_area(P.bore)
    if joint == at.STUCK and (modes[at.SOURCE] != at.OPEN or P.charge_mass == 0.0):
        hold = force[Force.BREAKAWAY]
        # contents press on the nose with no more than the gas behind them
        now = (max(p_bay, work[P.bay, gasside.P_]) - work[P.bay, gasside.P_]) * area
        burnt = modes[at.BURN] == at.BURNT
        at_rest = modes[at.CONTENTS] != at.SLIDING
        if modes[at.SOURCE] == at.OPEN:
            if at_rest:
                most = max(force[Force.CONSTRAINT] + now, level_to_come(y, P, work) * area)
                g[EventCode.IDLE] = (WANING_PUSH * hold - most) / (1.0 + hold)
                g[EventCode.IDLE] = min(g[EventCode.IDLE], CREEPING - dp_bay / P.p_ambient)
            return
        weak = modes[at.FLAME] == at.ALIGHT and force[Force.CONSTRAINT] + now < WANING_PUSH * hold
        waning = weak and dp_bay < 0.0 and burning.share_to_burn(y, P) < WANING_CHARGE
        if at_rest and (burnt or (waning and falling)):
            to_come = push_to_come(y, modes, P, work)
            g[EventCode.IDLE] = (hold - force[Force.CONSTRAINT] - to_come) / (1.0 + hold)
            if not falling and to_come > UNSEEN * P.p_ambient * area:
                # so far the highest pressure is still to come, unless it only creeps up
                g[EventCode.IDLE] = min(g[EventCode.IDLE], CREEPING - dp_bay / P.p_ambient)


@compiled
def joint_events(
    y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray, g: np.ndarray
) -> None:
    """Write the event functions of joint, pins, stand and ground."""
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    joint, stand, nose = modes[at.JOINT], modes[at.STAND], modes[at.NOSE]
    if joint == at.STUCK:
        outward, inward = (
            force[Force.CONSTRAINT],
            -force[Force.CONSTRAINT] - force[Force.PIN_SET_LOSS],
        )
        excess = outward - force[Force.BREAKAWAY]
        # on its seat the shoulder can only leave outward
        if s > 0.0:
            excess = max(excess, inward - force[Force.BREAKAWAY_BACK])
        g[EventCode.SLIP] = excess / (1.0 + force[Force.BREAKAWAY])
    elif joint == at.APART:
        if modes[at.PARTED] == 0:
            g[EventCode.PARTED] = s - P.stroke - 0.25 * P.bore
        # contents that slide may still come out
        settled = modes[at.CONTENTS] != at.SLIDING or modes[at.EMPTIED] == at.OUT
        if modes[at.CORD] == cord.SLACK and settled:
            g[EventCode.RETURN] = 1.0 if nose == 0 and stand == 0 else -w
        ground = r.ground_force(r.masses(modes, P)[0], modes, P)
        # a nose in the air never stops
        if ground > 0.0:
            if nose == 0:
                g[EventCode.NOSE_SLIP] = (abs(force[Force.NOSE_CONSTRAINT]) - ground) / ground
            else:
                g[EventCode.NOSE_STOP] = -nose * y[at.NOSE_V]
    else:
        g[EventCode.STOP] = -joint * w
        g[EventCode.CLEAR] = s - P.stroke
        if joint == at.INWARD:
            g[EventCode.SEAT] = -s
    if P.stand_friction > 0.0:
        if stand == 0:
            g[EventCode.STAND_SLIP] = (
                abs(force[Force.STAND_CONSTRAINT]) - P.stand_friction
            ) / P.stand_friction
        else:
            g[EventCode.STAND_STOP] = -stand * y[at.FRAME_V]
    for n in range(P.n_pins):
        state = modes[at.PINS + n]
        edge = P.pin_gap[n]
        if state == fit.LOADED:
            g[slack_event(n)] = edge - s
            edge += P.pin_rise[n]
        elif state == fit.FAILING:
            edge += P.pin_rise[n] + P.pin_fail[n]
        if state != fit.GONE:
            g[onward_event(n)] = s - edge


@compiled
def contents_events(
    y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray, g: np.ndarray
) -> None:
    """Write the event functions of the contents."""
    kind = modes[at.CONTENTS]
    if kind == at.NONE:
        return
    s, u = y[at.NOSE_X] - y[at.FRAME_X], y[at.PACK_X] - y[at.FRAME_X]
    v, closing = y[at.PACK_V] - y[at.FRAME_V], y[at.PACK_V] - y[at.NOSE_V]
    if modes[at.EMPTIED] == at.WITHIN:
        g[EventCode.EMERGE] = u - P.pack_out + P.packed_length
    elif modes[at.EMPTIED] == at.EMERGING:
        g[EventCode.CONTENTS_OUT] = u - P.pack_out
    hold = force[Force.PACK_BREAKAWAY]
    if kind == at.RESTING or kind == at.TOUCHING:
        excess = -1.0
        if kind == at.RESTING:
            excess = (force[Force.DRIVE] - hold) / (1.0 + hold)
        if u > SEATED - P.pack_recoil:
            excess = max(excess, (-force[Force.DRIVE] - hold) / (1.0 + hold))
        g[EventCode.CONTENTS_SLIP] = excess
    elif kind == at.JOINED:
        g[EventCode.RELEASE] = -force[Force.CONTACT]
    elif kind == at.RETREATING:
        g[EventCode.CONTENTS_STOP] = v
    elif kind == at.SLIDING and modes[at.EMPTIED] != at.OUT:
        g[EventCode.CONTENTS_STOP] = -v
    if kind == at.RETREATING or (kind == at.JOINED and modes[at.JOINT] == at.INWARD):
        g[EventCode.BACKSTOP] = min(-u - P.pack_recoil, -v)
    alone = kind == at.RESTING or kind == at.SLIDING or kind == at.RETREATING
    if alone and modes[at.CORD] != cord.UNLOADING:
        # those that part begin at the distance at which they meet
        g[EventCode.CONTACT] = min(u - s - P.pack_reach, closing)
        if modes[at.JOINT] == at.APART:
            g[EventCode.PICKUP] = min(s - u - P.pickup_travel, -closing)


@compiled
def cord_events(
    y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record, g: np.ndarray
) -> None:
    """Write the event functions of the cord."""
    if modes[at.JOINT] != at.APART:
        return
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    n = modes[at.BRAKE]
    if n < 2 * P.n_brakes:
        g[EventCode.BRAKE] = s - (P.brake_start[n // 2] if n % 2 == 0 else P.brake_stop[n // 2])
    if modes[at.CORD] == cord.SLACK:
        g[EventCode.TAUT] = s - P.cord_travel
    elif modes[at.CORD] == cord.LOADING:
        g[EventCode.CORD_PEAK] = -w
    else:
        # past the permanent set, where the force has gone
        kept = P.cord_set * memory[at.PEAK_STRAIN] * P.cord_length
        g[EventCode.CORD_SLACK] = P.cord_travel + kept - s


@compiled
def event_functions(
    t: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record,
    work: np.ndarray, force: np.ndarray, g: np.ndarray,
) -> None:  # fmt: skip
    """Write all event functions, from tables that :func:`baypulse.engine.rates.rates` filled."""
    g[:] = -1.0
    gas_events(t, y, modes, memory, P, work, force, g)
    joint_events(y, modes, P, force, g)
    contents_events(y, modes, P, force, g)
    cord_events(y, modes, memory, P, g)
