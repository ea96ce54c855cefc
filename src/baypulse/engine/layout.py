"""Where each quantity stands in the state vector, and what the modes mean."""

from __future__ import annotations

import numpy as np

from baypulse.engine.parameters import BALANCES, PER_OPENING, PER_VOLUME, VOLUMES_AT
from baypulse.physics import cord, fit
from baypulse.physics.compiled import compiled

# --- state vector: burning, motion, volumes, skins, balances-------------------------------------
DEPTH, NOSE_X, NOSE_V, FRAME_X, FRAME_V = 0, 1, 2, 3, 4
FLAME_FRONT = 5  # share of the bed that the flame has crossed
MADE = 6  # share of the charge that has become products
PACK_X, PACK_V = 7, 8  # of the packed contents
VOLUMES = VOLUMES_AT  # of each volume:
(
    M_B,  # products [kg]: gas and salts
    M_A1,  # air in the hot zone [kg]
    U_1,  # energy of the hot zone above 0 K [J]
    M_A2,  # air of the cold zone [kg]
    U_2,
    M_C,  # condensed salts among the products, not yet settled [kg]
    STIRRING,  # momentum of the stirred gas [kg m/s]
    GRAINS,  # share of the charge's grains, burning or not, that is here
) = range(PER_VOLUME)
# then the skin terms of each surface. What follows are books, on which nothing depends and which an
# ensemble leaves out: heat taken by each surface [J]; salts settled on each [kg]; what each opening
# carried from its 'from' to its 'to':
OUT_B, OUT_A, OUT_ENERGY, OUT_C, OUT_GRAINS = range(PER_OPENING)
# and the energy book:

(
    BALANCE_PUSH,  # work of gauge pressure on the sections
    BALANCE_AIR,  # work against the surrounding air
    BALANCE_FRICTION,  # joint friction and seal
    BALANCE_PINS,
    BALANCE_GROUND,  # stand and ground
    BALANCE_OUTSIDE,  # work done BY gravity and drag
    BALANCE_PACKING,  # friction of the contents in the tube
    BALANCE_CORD,  # into the cord: stored and lost
    BALANCE_IMPACT,  # lost when bodies join or stop against each other
    BALANCE_BRAKE,
    BALANCE_AFTERBURNING,  # heat of products that burn in the bay's air
    BALANCE_PORES,  # heat taken by the cloth within the contents, that of the salts included
    BALANCE_FILTERED,  # salts that it holds back [kg]
) = range(BALANCES)

# --- modes ----------------------------------------------------------------------------------
(
    JOINT,
    STAND,
    NOSE,
    GAS,
    SOURCE,
    BURN,
    CORD,
    CONTENTS,
    TREND,
    FLAME,
    PARTED,
    BRAKE,
    EMPTIED,
    AHEAD,
    PINS,
) = range(15)

STUCK, OUTWARD, INWARD, APART = 0, 1, -1, 2  # JOINT; STAND and NOSE use 0, +1, -1
WAITING, ACTIVE, SPENT = 0, 1, 2  # GAS: before the spark, running, over
SEALED, OPEN, MERGED = 0, 1, 2  # SOURCE
BURNING, BURNT = 0, 1  # BURN
RESTING, SLIDING, RETREATING, TOUCHING, JOINED, DRAGGED, NONE = range(7)
"""CONTENTS: at rest in the tube; sliding out, or back; at rest against a nose that is at rest;
pushing a nose that moves, or pushed by it; pulled by the cord, and tied to the nose from then on.
"""
WITHIN, EMERGING, OUT = range(3)
"""EMPTIED: contents whole in the tube; their front past its lip, so that less and less of them is
held; and their rear past it."""
SHUT, LEVEL = 0, 1
"""AHEAD: once level with the outside, the space ahead of the contents is part of it."""
RISING, FALLING = 0, 1  # TREND of the bay's pressure
SPREADING, ALIGHT = 0, 1  # FLAME; PARTED is 1 once the pressure pushes no more
# BRAKE counts the ends of stages that have passed: while it is odd, a stage tears

REMNANT = 1e-6
"""Share of a merged holder that stays behind as a volume of its own, so that it keeps a state."""

# --- memory that a change of mode leaves behind ------------------------------------------------
PEAK_STRAIN, PEAK_LOAD = 0, 1  # of the cord
TAUT_SPEED = 2  # at which the sections part when the cord becomes taut
MEMORY = 3


@compiled
def begin(P: np.record, y: np.ndarray, modes: np.ndarray) -> None:
    """Write state and modes before the spark: closed, at rest, air at ambient.

    Parameters
    ----------
    P : np.record
        The shot.
    y : ndarray, shape (state_size,) or (heats_at,)
        Written: the state, with or without its diagnostic states.
    modes : ndarray of int, shape (PINS + n_pins,)
        Written.
    """
    y[:] = 0.0
    for k in range(P.n_volumes):
        for n in range(PER_VOLUME):
            y[VOLUMES + PER_VOLUME * k + n] = P.initial[k, n]
    modes[:] = 0
    modes[JOINT] = STUCK
    modes[STAND] = OUTWARD if P.stand_friction == 0.0 else STUCK
    modes[NOSE] = OUTWARD
    modes[GAS] = WAITING
    modes[SOURCE] = MERGED if P.source < 0 else SEALED
    modes[BURN] = BURNING if P.charge_mass > 0.0 else BURNT
    modes[CORD] = cord.SLACK
    if P.contents_mass <= 0.0:
        modes[CONTENTS] = NONE
    else:
        modes[CONTENTS] = RESTING if P.pack_reach > 0.0 else TOUCHING
    modes[PINS:] = fit.SLACK


@compiled
def state_scale(P: np.record, scale: np.ndarray) -> None:
    """Write the size below which a state's error counts as absolute, per unit of tolerance.

    The diagnostic states are integrated with the rest and close by themselves (Runge-Kutta steps
    keep linear invariants), so they are excluded from the error norm.

    Parameters
    ----------
    P : np.record
        The shot.
    scale : ndarray, shape (state_size,) or (heats_at,)
        Written; infinite for diagnostic states.
    """
    scale[:] = np.inf
    scale[DEPTH] = 1e-3 * P.r_high
    scale[NOSE_X] = scale[FRAME_X] = scale[PACK_X] = 1e-4
    scale[NOSE_V] = scale[FRAME_V] = scale[PACK_V] = 1e-2
    scale[FLAME_FRONT] = scale[MADE] = 1e-3
    mass, energy = P.charge_mass, P.charge_mass * P.specific_energy
    for k in range(P.n_volumes):
        mass += P.initial[k, M_B] + P.initial[k, M_A1] + P.initial[k, M_A2]
        energy += P.initial[k, U_1] + P.initial[k, U_2]
    for k in range(P.n_volumes):
        own = P.initial[k, M_B] + P.initial[k, M_A1] + P.initial[k, M_A2]
        own = max(own, 1e-3 * mass)
        own_energy = max(P.initial[k, U_1] + P.initial[k, U_2], 1e-3 * energy)
        i = VOLUMES + PER_VOLUME * k
        scale[i + M_B] = scale[i + M_A1] = scale[i + M_A2] = scale[i + M_C] = 1e-3 * own
        scale[i + U_1] = scale[i + U_2] = 1e-3 * own_energy
        scale[i + STIRRING] = 0.1 * own  # of 0.1 m/s
        scale[i + GRAINS] = 1e-3
    # J/m^2; a skin of 300 J/m^2/K/sqrt(s) then errs by 0.1 K
    scale[P.skins_at : P.heats_at] = 10.0


__all__ = ["PER_OPENING", "PER_VOLUME", "begin", "state_scale"]
