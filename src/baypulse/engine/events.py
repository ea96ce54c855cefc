"""Events: the functions that find them, and what each of them changes.

Every function is negative while its phase lasts and reaches zero from below at its event; an
event that cannot happen in the present modes reads -1.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import burning, gasside
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine.parameters import COMMON_EVENTS, NEVER
from baypulse.physics import cord, fit, gas, motion
from baypulse.physics.compiled import compiled

(
    START,  # the spark, or the valve
    BURST,
    MERGE,  # holder or reservoir down to the bay's pressure: part of the bay from now on
    BURNOUT,
    PEAK,  # pressure of the bay stops rising
    RISE,  # and rises again
    SLIP,
    STOP,
    SEAT,  # shoulder back home
    CLEAR,
    PARTED,  # a quarter of a bore further: the pressure pushes no more
    STAND_SLIP,
    STAND_STOP,
    NOSE_SLIP,
    NOSE_STOP,
    GAS_OVER,
    PICKUP,
    CONTENTS_OUT,
    BRAKE,  # a stage of the cord's brake begins to tear, or ends
    TAUT,
    CORD_PEAK,
    CORD_SLACK,
    RETURN,  # sections no longer part, before the cord is taut or within a stage of its brake
    IDLE,  # joint at rest, and nothing that is still to come can move it
    FLAME,  # all grains alight
    PIN_EVENTS,
) = range(COMMON_EVENTS + 1)
"""Indices of the events; from PIN_EVENTS on, two a pin: next stage, and back to slack."""

NAMES = (
    "start", "holder bursts", "level with the bay", "burnt out", "pressure peak",
    "pressure rises again", "joint slips", "joint stops", "joint seated", "clear", "parted",
    "stand slips", "stand stops", "nose slips", "nose stops", "gas over", "contents picked up",
    "contents out", "brake", "cord taut", "cord peak", "cord slack", "sections come to rest",
    "pressure spent", "all grains alight",
)  # fmt: skip

HOLDER_SHARE, RESERVOIR_SHARE = 0.05, 0.005
"""Excess over the bay's pressure, relative, at which a burst holder or a reservoir counts as part
of the bay: the flow between them would be too fast to follow, and there is nothing left to see."""

GAS_SHARE = 0.01
"""Gauge pressure over ambient below which the gas of a parted joint is over."""

HOLDER_GRAINS = 0.1
"""Share of the grains that may still be in a burst holder when it becomes part of the bay: at 5 %
more pressure a tenth of the grains burns 0.4 % of the whole faster."""

LEVEL = 1e-2
"""Rise of the pressure, in ambient ones a second [1/s], below which its peak is reached."""

WANING_PUSH = 0.5
"""Push over hold below which a charge that still burns, all of it alight and at falling
pressure, counts as burnt: its products only become fewer."""


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
    p_bay = work[P.bay, gasside.P_]
    highest = mixed_pressure(P.bay, y, P, work)
    if P.electronics >= 0:
        highest = max(highest, work[P.electronics, gasside.P_])
    sealed = modes[at.SOURCE] == at.SEALED
    if sealed and mixed_pressure(P.source, y, P, work) - p_bay > P.burst_pressure:
        return NEVER
    return (highest - p_bay) * motion.bore_area(P.bore)


@compiled
def gas_events(
    t: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record,
    work: np.ndarray, force: np.ndarray, g: np.ndarray,
) -> None:  # fmt: skip
    """Write the event functions of charge and gas."""
    p_bay, dp_bay = work[P.bay, gasside.P_], work[P.bay, gasside.DP]
    if modes[at.GAS] == at.SPENT:
        return
    if modes[at.GAS] == at.WAITING:
        g[START] = t - P.start_time
        return
    # a pressure that only creeps up or down is not worth a phase of its own
    if modes[at.TREND] == at.RISING:
        g[PEAK] = -dp_bay / P.p_ambient - 1e-3
    else:
        g[RISE] = dp_bay / P.p_ambient - 1.0
    if P.source >= 0 and modes[at.SOURCE] != at.MERGED:
        excess = work[P.source, gasside.P_] - p_bay
        share = HOLDER_SHARE if P.charge_mass > 0.0 else RESERVOIR_SHARE
        if modes[at.SOURCE] == at.OPEN:
            g[MERGE] = share - excess / p_bay
            if modes[at.BURN] == at.BURNING:
                grains = y[at.VOLUMES + at.PER_VOLUME * P.source + at.GRAINS]
                g[MERGE] = min(g[MERGE], HOLDER_GRAINS - grains)
        elif P.burst_pressure > 0.0:
            g[BURST] = (excess - P.burst_pressure) / P.burst_pressure
    if modes[at.BURN] == at.BURNING:
        left = burning.grains_inside(y, P)
        g[BURNOUT] = max(y[at.DEPTH] / P.r_high - 1.0, burning.NO_GRAINS - left)
        if modes[at.FLAME] == at.SPREADING:
            g[FLAME] = y[at.FLAME_FRONT] - 1.0
    gauge = abs(p_bay - P.p_ambient)
    joint = modes[at.JOINT]
    if joint == at.APART:
        g[GAS_OVER] = GAS_SHARE - gauge / P.p_ambient
    # a bay that cold gas has filled is warmed by its walls, and need not fall
    level = modes[at.TREND] == at.FALLING or P.charge_mass == 0.0
    if joint == at.STUCK and level and modes[at.SOURCE] != at.OPEN:
        hold = force[r.HOLD]
        waning = modes[at.FLAME] == at.ALIGHT and force[r.NEEDED] < WANING_PUSH * hold
        if (modes[at.BURN] == at.BURNT or waning) and dp_bay < LEVEL * P.p_ambient:
            g[IDLE] = (hold - force[r.NEEDED] - push_to_come(y, modes, P, work)) / (1.0 + hold)


@compiled
def joint_events(
    y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray, g: np.ndarray
) -> None:
    """Write the event functions of joint, pins, stand and ground."""
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    joint, stand, nose = modes[at.JOINT], modes[at.STAND], modes[at.NOSE]
    if joint == at.STUCK:
        outward, inward = force[r.NEEDED], -force[r.NEEDED] - force[r.SET]
        # on its seat the shoulder can only leave outward
        excess = outward if s <= 0.0 else max(outward, inward)
        g[SLIP] = (excess - force[r.HOLD]) / (1.0 + force[r.HOLD])
    elif joint == at.APART:
        if modes[at.PARTED] == 0:
            g[PARTED] = s - P.stroke - 0.25 * P.bore
        if modes[at.CORD] == cord.SLACK:
            g[RETURN] = 1.0 if nose == 0 and stand == 0 else -w
        ground = r.ground_force(r.masses(modes, P)[0], modes, P)
        # a nose in the air never stops
        if ground > 0.0:
            if nose == 0:
                g[NOSE_SLIP] = (abs(force[r.NOSE_NEEDED]) - ground) / ground
            else:
                g[NOSE_STOP] = -nose * y[at.NOSE_V]
    else:
        g[STOP] = -joint * w
        g[CLEAR] = s - P.stroke
        if joint == at.INWARD:
            g[SEAT] = -s
    if P.stand_friction > 0.0:
        if stand == 0:
            g[STAND_SLIP] = (abs(force[r.STAND_NEEDED]) - P.stand_friction) / P.stand_friction
        else:
            g[STAND_STOP] = -stand * y[at.FRAME_V]
    for n in range(P.n_pins):
        k = PIN_EVENTS + 2 * n
        state = modes[at.PINS + n]
        edge = P.pin_gap[n]
        if state == fit.LOADED:
            g[k + 1] = edge - s
            edge += P.pin_rise[n]
        elif state == fit.FAILING:
            edge += P.pin_rise[n] + P.pin_fail[n]
        if state != fit.GONE:
            g[k] = s - edge


@compiled
def cord_events(
    y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record, g: np.ndarray
) -> None:
    """Write the event functions of contents and cord."""
    if modes[at.JOINT] != at.APART:
        return
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    if modes[at.CONTENTS] == at.PACKED:
        g[PICKUP] = s - P.pickup_travel
    elif modes[at.CONTENTS] == at.DRAGGING:
        g[CONTENTS_OUT] = s - P.pickup_travel - P.packed_length
    n = modes[at.BRAKE]
    if n < 2 * P.n_brakes:
        g[BRAKE] = s - (P.brake_start[n // 2] if n % 2 == 0 else P.brake_stop[n // 2])
    if modes[at.CORD] == cord.SLACK:
        g[TAUT] = s - P.cord_travel
    elif modes[at.CORD] == cord.LOADING:
        g[CORD_PEAK] = -w
    else:
        # past the permanent set, where the force has gone
        kept = P.cord_set * memory[at.PEAK_STRAIN] * P.cord_length
        g[CORD_SLACK] = P.cord_travel + kept - s


@compiled
def event_functions(
    t: float, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record,
    work: np.ndarray, force: np.ndarray, g: np.ndarray,
) -> None:  # fmt: skip
    """Write all event functions, from tables that :func:`baypulse.engine.rates.rates` filled."""
    g[:] = -1.0
    gas_events(t, y, modes, memory, P, work, force, g)
    joint_events(y, modes, P, force, g)
    cord_events(y, modes, memory, P, g)
