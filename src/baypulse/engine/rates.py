"""The right-hand side: gas, forces on both sections, and the energy balance."""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from baypulse.engine import burning, gasside, passages, walls
from baypulse.engine import layout as at
from baypulse.engine.gasside import lives
from baypulse.physics import cord, fit, motion, piston
from baypulse.physics.compiled import compiled


class Force(IntEnum):
    """Entries of the force table [N]."""

    PUSH = 0
    """On the nose: gauge pressure on the bore, and contents that push."""
    PINS = 1
    """All pins together."""
    PIN_SET_LOSS = 2
    """What pins that have taken a set no longer push back with."""
    FRICTION = 3
    """Joint friction as it acts, positive against opening."""
    BREAKAWAY = 4
    """Breakaway friction of the joint against opening."""
    BREAKAWAY_BACK = 5
    """The same against going back."""
    CONSTRAINT = 6
    """Constraint force of the joint: what would keep the sections together."""
    STAND_CONSTRAINT = 7
    """Constraint force of the stand: what would keep the airframe at rest."""
    NOSE_CONSTRAINT = 8
    """Constraint force of the ground: what would keep the clear nose at rest."""
    CORD = 9
    """Of the taut cord."""
    PACKING = 10
    """Friction of the contents as it acts, positive against leaving the tube."""
    CONTACT = 11
    """Of the contents on the nose, negative where the cord pulls them."""
    DRIVE = 12
    """That would set resting contents in motion."""
    PACK_BREAKAWAY = 13
    """Breakaway friction of resting contents."""
    BRAKE = 14
    """Of the cord's brake."""


FORCES = len(Force)
"""Entries of the force table."""


@compiled
def cord_force(s: float, w: float, modes: np.ndarray, memory: np.ndarray, P: np.record) -> float:
    """Return the cord's force [N] in the state it is in."""
    strain = (s - P.cord_travel) / P.cord_length
    if modes[at.CORD] == cord.LOADING:
        spring = cord.loading_force(strain, P.cord_load, P.cord_strain, P.cord_exponent)
        return cord.damped_force(spring, w, memory[at.TAUT_SPEED], P.cord_damping)
    if modes[at.CORD] == cord.UNLOADING:
        return cord.unloading_force(
            strain, memory[at.PEAK_STRAIN], memory[at.PEAK_LOAD], P.cord_set, P.cord_exponent
        )
    return 0.0


@compiled
def brake_force(modes: np.ndarray, P: np.record) -> float:
    """Return the force of the brake's stage that tears [N], constant over its stroke.

    Rigid and plastic: that the cord stretches under this force before the stage tears, and gives
    that back, is neglected.
    """
    n = modes[at.BRAKE]
    return P.brake_force[n // 2] if n % 2 == 1 else 0.0


@compiled
def masses(modes: np.ndarray, P: np.record) -> tuple[float, float]:
    """Return the masses of both sections, with the contents where they move with one of them."""
    kind, m = modes[at.CONTENTS], P.contents_mass
    with_nose = kind == at.JOINED or kind == at.DRAGGED
    with_frame = kind == at.RESTING or kind == at.TOUCHING
    return P.nose_mass + (m if with_nose else 0.0), P.airframe_mass + (m if with_frame else 0.0)


@compiled
def gas_pushes(
    s: float, u: float, modes: np.ndarray, P: np.record, work: np.ndarray
) -> tuple[float, float, float]:
    """Return the push of gauge pressure on nose, front and rear of the contents [N].

    The airframe feels what keeps the momentum: the push dies with the annulus, and the gas that
    leaves through it takes no side.
    """
    area = motion.bore_area(P.bore)
    nose, front, rear = 0.0, 0.0, 0.0
    if lives(P.bay, modes, P):
        force = (work[P.bay, gasside.P_] - P.p_ambient) * area
        nose = force * motion.pushed_share(s, P.stroke, P.bore)
        if P.back >= 0:
            front = force * motion.pushed_share(u - P.pack_reach, P.stroke, P.bore)
    if P.back >= 0 and modes[at.GAS] != at.SPENT:
        force = (work[P.back, gasside.P_] - P.p_ambient) * area
        rear = force * motion.pushed_share(u, P.pack_out, P.bore)
    return nose, front, rear


@compiled
def carry_contents(
    kind: int, forward: bool, R: float, E: float, z: float, J: float, P: np.record
) -> tuple[float, float]:
    """Return by how much contents that move with the nose add to its mass and to its force.

    The friction that draws them out acts along their motion; pushed forward, the column takes part
    of the push to the wall (:mod:`baypulse.physics.piston`).
    """
    m, g = P.contents_mass, P.along_gravity
    if kind == at.JOINED and forward:
        share = np.exp(-z)
        return share * J * m, share * (R - J * (E + m * g))
    return m, R / J - m * g - (E if forward else -E)


@compiled
def passed_on(
    kind: int, forward: bool, R: float, E: float, z: float, J: float, inertia: float
) -> float:
    """Return the force of contents that move with the nose on it [N], negative where it pulls."""
    if kind == at.JOINED and forward:
        return piston.contact_force(R, E, z, J, inertia)
    return R / J - (E if forward else -E) - inertia


@compiled
def ground_force(m_nose: float, modes: np.ndarray, P: np.record) -> float:
    """Return the friction of the clear nose, with all that it carries, on the ground [N]."""
    return P.ground_friction * m_nose if modes[at.JOINT] == at.APART else 0.0


@compiled
def accelerations(
    y: np.ndarray,
    modes: np.ndarray,
    memory: np.ndarray,
    work: np.ndarray,
    P: np.record,
    force: np.ndarray,
) -> tuple[float, float, float]:
    """Fill the force table; return the accelerations of nose, airframe and contents [m/s^2]."""
    s, u = y[at.NOSE_X] - y[at.FRAME_X], y[at.PACK_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    joint, stand, nose = modes[at.JOINT], modes[at.STAND], modes[at.NOSE]
    kind = modes[at.CONTENTS]
    apart = joint == at.APART
    push, front, rear = gas_pushes(s, u, modes, P, work)
    pins = 0.0
    for n in range(P.n_pins):
        pins += fit.pin_force(
            s, modes[at.PINS + n], P.pin_strength[n], P.pin_gap[n], P.pin_rise[n], P.pin_fail[n]
        )
    kept = fit.RECOVERY if joint == at.INWARD else 1.0
    force[Force.PIN_SET_LOSS] = (1.0 - fit.RECOVERY) * pins if joint == at.STUCK else 0.0
    pins *= kept
    fit_friction = P.friction * fit.engaged_share(s, P.stroke)
    hold = 0.0 if apart else fit_friction + P.seal_drag
    sliding = 0.0 if apart else P.sliding_ratio * fit_friction + P.seal_drag
    pull = cord_force(s, w, modes, memory, P)
    braking = brake_force(modes, P)
    m_nose, m_frame, g = P.nose_mass, P.airframe_mass, P.along_gravity

    held = pins + pull + braking
    on_nose = push - held - m_nose * g - P.nose_drag
    on_frame = held - push + front - rear - m_frame * g - P.airframe_drag
    on_nose -= nose * ground_force(masses(modes, P)[0], modes, P)

    # the contents: at rest in the airframe, with the nose, or alone
    m = P.contents_mass
    R, E, z, J = rear - front, 0.0, 0.0, 1.0
    packing, a_pack = 0.0, 0.0
    forward = joint != at.INWARD
    with_nose = kind == at.JOINED or kind == at.DRAGGED
    if kind != at.NONE:
        share = piston.engaged_share(u, P.pack_out, P.packed_length)
        E, z = share * P.extraction_force, share * P.pack_grip
        J = piston.growth(z)
    if kind == at.RESTING or kind == at.TOUCHING:
        m_frame += m
        on_frame += R - m * g
    elif with_nose:
        more_mass, more_force = carry_contents(kind, forward, R, E, z, J, P)
        m_nose += more_mass
        on_nose += more_force
    elif kind != at.NONE:
        drag = E if kind == at.SLIDING else -E
        packing = R - R / J + drag
        on_frame += packing
        a_pack = (R / J - drag) / m - g

    direction = 0.0 if apart or joint == at.STUCK else float(joint)
    friction = direction * sliding
    contact = 0.0
    if joint != at.STUCK:
        a_nose = 0.0 if apart and nose == 0 else (on_nose - friction) / m_nose
        force[Force.CONSTRAINT] = 0.0
        if with_nose:
            contact = passed_on(kind, forward, R, E, z, J, m * (a_nose + g))
            packing = R - contact - m * (a_nose + g)
            on_frame += packing
            a_pack = a_nose
        force[Force.STAND_CONSTRAINT] = on_frame + friction
        on_frame -= stand * P.stand_friction
        a_frame = 0.0 if stand == 0 else (on_frame + friction) / m_frame
    else:
        force[Force.STAND_CONSTRAINT] = on_frame + on_nose
        on_frame -= stand * P.stand_friction
        # one acceleration, not two that differ by rounding
        a_frame = 0.0 if stand == 0 else (on_nose + on_frame) / (m_nose + m_frame)
        a_nose = a_frame
        if kind == at.TOUCHING:
            contact = max(piston.contact_force(R, E, z, J, m * (a_frame + g)), 0.0)
        friction = on_nose + contact - m_nose * a_nose
        force[Force.CONSTRAINT] = friction
    drive = R / J - m * (a_frame + g)
    if kind == at.RESTING or kind == at.TOUCHING:
        packing = R - contact - m * (a_frame + g)
    if kind == at.RESTING or kind == at.TOUCHING or kind == at.NONE:
        a_pack = a_frame
    force[Force.PUSH] = push + max(contact, 0.0)
    force[Force.PINS] = pins
    force[Force.BREAKAWAY] = hold
    # a nose that goes back has resting contents in its way
    force[Force.BREAKAWAY_BACK] = hold + (max(E + drive, 0.0) if kind == at.TOUCHING else 0.0)
    force[Force.CORD] = pull
    force[Force.PACKING] = packing
    force[Force.CONTACT] = contact
    force[Force.DRIVE] = drive
    force[Force.PACK_BREAKAWAY] = E
    force[Force.BRAKE] = braking
    force[Force.NOSE_CONSTRAINT] = on_nose
    force[Force.FRICTION] = friction
    return a_nose, a_frame, a_pack


@compiled
def balance_rates(
    y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray, force: np.ndarray,
    dy: np.ndarray,
) -> None:  # fmt: skip
    """Integrate where the work goes, so that every joule of the push is accounted for."""
    if dy.shape[0] <= P.balance_at:
        return
    i = P.balance_at
    v_nose, v_frame, v_pack = y[at.NOSE_V], y[at.FRAME_V], y[at.PACK_V]
    w = v_nose - v_frame
    for k in range(P.n_volumes):
        if lives(k, modes, P):
            dy[i + at.Balance.PUSH] += (work[k, gasside.P_] - P.p_ambient) * work[k, gasside.DV]
            dy[i + at.Balance.AIR] += P.p_ambient * work[k, gasside.DV]
            dy[i + at.Balance.AFTERBURNING] += work[k, gasside.BURNT_HEAT]
    dy[i + at.Balance.FRICTION] = force[Force.FRICTION] * w
    dy[i + at.Balance.PINS] = force[Force.PINS] * w
    ground = ground_force(masses(modes, P)[0], modes, P)
    # a clamped airframe does not move, so its unlimited hold does no work
    stand = 0.0 if modes[at.STAND] == 0 else P.stand_friction
    dy[i + at.Balance.GROUND] = stand * abs(v_frame) + ground * abs(v_nose)
    dy[i + at.Balance.OUTSIDE] = -(
        (P.nose_mass * P.along_gravity + P.nose_drag) * v_nose
        + (P.airframe_mass * P.along_gravity + P.airframe_drag) * v_frame
        + P.contents_mass * P.along_gravity * v_pack
    )
    if modes[at.CONTENTS] != at.NONE:
        dy[i + at.Balance.PACKING] = force[Force.PACKING] * (v_pack - v_frame)
    dy[i + at.Balance.CORD] = force[Force.CORD] * w
    dy[i + at.Balance.BRAKE] = force[Force.BRAKE] * w


@compiled
def motion_imbalance(y: np.ndarray, end: np.ndarray, modes: np.ndarray, P: np.record) -> float:
    """Return the share of the parting's energy that a step leaves out of its balance.

    An error estimate is a difference of two formulas, and now and then both are wrong alike. The
    energy balance is a second witness.
    """
    m_nose, m_frame = masses(modes, P)
    i = P.balance_at
    pushed = end[i + at.Balance.PUSH] - y[i + at.Balance.PUSH]
    work = pushed
    turned = abs(end[i + at.Balance.PUSH]) + abs(end[i + at.Balance.OUTSIDE])
    work += end[i + at.Balance.OUTSIDE] - y[i + at.Balance.OUTSIDE]
    for entry in (
        at.Balance.FRICTION, at.Balance.PINS, at.Balance.GROUND, at.Balance.PACKING,
        at.Balance.BRAKE, at.Balance.CORD,
    ):  # fmt: skip
        work -= end[i + entry] - y[i + entry]
        turned += abs(end[i + entry])
    kinetic = 0.5 * P.nose_mass * (end[at.NOSE_V] ** 2 - y[at.NOSE_V] ** 2)
    kinetic += 0.5 * P.airframe_mass * (end[at.FRAME_V] ** 2 - y[at.FRAME_V] ** 2)
    kinetic += 0.5 * P.contents_mass * (end[at.PACK_V] ** 2 - y[at.PACK_V] ** 2)
    w = max(abs(y[at.NOSE_V] - y[at.FRAME_V]), abs(end[at.NOSE_V] - end[at.FRAME_V]))
    parting = 0.5 * m_nose * m_frame / (m_nose + m_frame) * w * w + abs(pushed)
    turned += m_nose * end[at.NOSE_V] ** 2 + m_frame * end[at.FRAME_V] ** 2
    # a parting that has hardly begun is left out: its energy would drown in rounding
    return abs(work - kinetic) / (parting + 1e-3 * turned + 1e-6)


@compiled
def gas_rates(
    y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Write the rates of burning, gas and walls, of one member or of several side by side."""
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    gasside.volume_states(y, modes, s, w, P, work)
    if modes[at.GAS] == at.ACTIVE:
        burning.burn(y, modes, P, work, dy)
        burning.mix(y, modes, P, work)
    # a joint may creep before the spark, so the gas breathes from the start
    if modes[at.GAS] != at.SPENT:
        walls.warm_walls(y, s, modes, P, work, dy)
        passages.flow_through(y, s, modes, P, work, dy)
        burning.afterburn(y, modes, P, work)
        gasside.close_volumes(P, y, modes, work, dy)


@compiled
def rates(
    t: float,
    y: np.ndarray,
    modes: np.ndarray,
    memory: np.ndarray,
    P: np.record,
    work: np.ndarray,
    force: np.ndarray,
    dy: np.ndarray,
) -> None:
    """Write dy/dt, and leave pressures and forces in the work and force tables.

    Parameters
    ----------
    t : float
        Time [s]; the rates do not depend on it, which solvers expect to hand over.
    y : ndarray, shape (state_size,) or (heats_at,)
        State (:mod:`baypulse.engine.layout`), with or without its diagnostic states.
    modes : ndarray of int, shape (n_modes,)
        Which phase each part is in.
    memory : ndarray, shape (3,)
        What earlier phases left behind.
    P : np.record
        The shot.
    work : ndarray, shape (n_volumes, 33)
        Written: one row a volume (:mod:`baypulse.engine.gasside`).
    force : ndarray, shape (15,)
        Written: the forces.
    dy : ndarray
        Written: the rates, of as many states as y has.
    """
    dy[:] = 0.0
    gas_rates(y, modes, P, work, dy)
    dy[at.NOSE_X] = y[at.NOSE_V]
    dy[at.FRAME_X] = y[at.FRAME_V]
    dy[at.PACK_X] = y[at.PACK_V]
    dy[at.NOSE_V], dy[at.FRAME_V], dy[at.PACK_V] = accelerations(y, modes, memory, work, P, force)
    balance_rates(y, modes, P, work, force, dy)
