"""Events: the functions that find them, and what each of them changes.

Every function is negative while its phase lasts and reaches zero from below at its event; an
event that cannot happen in the present modes reads -1.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine.parameters import COMMON_EVENTS
from baypulse.physics import cord, fit
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
    IDLE,  # joint at rest, pressure too low to move it and falling
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

IDLE_LOAD, IDLE_GAUGE = 0.25, 0.05
"""Push over hold, and gauge pressure over ambient, below which a joint at rest after burn-out
counts as at rest for good."""

IDLE_TIME = 0.2
"""Time [s] since the last burst, pressure peak or burn-out after which it counts so in any case:
the pressure of a spent charge only falls."""


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
        elif P.burst_pressure > 0.0:
            g[BURST] = (excess - P.burst_pressure) / P.burst_pressure
    if modes[at.BURN] == at.BURNING:
        g[BURNOUT] = y[at.DEPTH] / P.r_high - 1.0
        if modes[at.FLAME] == at.SPREADING:
            g[FLAME] = t - P.start_time - P.flame_spread
    gauge = abs(p_bay - P.p_ambient)
    joint = modes[at.JOINT]
    if joint == at.APART:
        g[GAS_OVER] = GAS_SHARE - gauge / P.p_ambient
    sealed = modes[at.SOURCE] == at.SEALED
    rising = modes[at.TREND] == at.RISING and not sealed
    if joint == at.STUCK and modes[at.BURN] == at.BURNT and not rising:
        load = force[r.PUSH] / max(force[r.HOLD] + force[r.PIN], 1e-9)
        spent = min(IDLE_LOAD - load, IDLE_GAUGE - gauge / P.p_ambient)
        if sealed:
            spent = -1.0
        g[IDLE] = max(spent, t - memory[at.QUIET_SINCE] - IDLE_TIME)


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
