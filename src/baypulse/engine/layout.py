"""Where each quantity stands in the state vector, and what the modes mean."""

from __future__ import annotations

import numpy as np

from baypulse.engine.balance import Balance
from baypulse.engine.parameters import PER_OPENING, PER_VOLUME, VOLUMES_AT
from baypulse.physics import cord, fit
from baypulse.physics.compiled import compiled

# --- the state vector: burning, motion, volumes, skins, diagnostic states ---------------------

DEPTH = 0
"""Depth to which the grains have burnt [m]."""
NOSE_X = 1
"""Position of the nose [m]."""
NOSE_V = 2
"""Its velocity [m/s]."""
FRAME_X = 3
"""Position of the airframe [m]."""
FRAME_V = 4
"""Its velocity [m/s]."""
FLAME_FRONT = 5
"""Share of the bed that the flame has crossed."""
MADE = 6
"""Share of the charge that has become products."""
PACK_X = 7
"""Position of the packed contents [m]."""
PACK_V = 8
"""Their velocity [m/s]."""
VOLUMES = VOLUMES_AT
"""Where the volumes begin; each has the states M_B to GRAINS, then come the skin terms of each
surface."""

M_B = 0
"""Of a volume: products, gas and salts [kg]."""
M_A1 = 1
"""Of a volume: air in the hot zone [kg]."""
U_1 = 2
"""Of a volume: energy of the hot zone above 0 K [J]."""
M_A2 = 3
"""Of a volume: air of the cold zone [kg]."""
U_2 = 4
"""Of a volume: energy of the cold zone above 0 K [J]."""
M_C = 5
"""Of a volume: condensed salts among the products, not yet settled [kg]."""
STIRRING = 6
"""Of a volume: momentum of the stirred gas [kg m/s]."""
GRAINS = 7
"""Of a volume: share of the charge's grains, burning or not, that is here."""

# --- diagnostic states, on which nothing depends and which an ensemble leaves out: the heat taken
# by each surface [J], the salts settled on each [kg], what each opening carried from its 'from' to
# its 'to', and the energy balance

OUT_B = 0
"""Of an opening: products that it carried [kg]."""
OUT_A = 1
"""Of an opening: air that it carried [kg]."""
OUT_ENERGY = 2
"""Of an opening: energy that it carried [J]."""
OUT_C = 3
"""Of an opening: condensed salts that it carried [kg]."""
OUT_GRAINS = 4
"""Of an opening: share of the grains that it carried."""

# --- modes: which phase each part is in -----------------------------------------------------

JOINT = 0
"""Mode of the joint: STUCK, OUTWARD, INWARD or APART."""
STAND = 1
"""Mode of the airframe on its stand: STUCK, OUTWARD or INWARD."""
NOSE = 2
"""Mode of the clear nose on the ground: STUCK, OUTWARD or INWARD."""
GAS = 3
"""Mode of the gas: WAITING, ACTIVE or SPENT."""
SOURCE = 4
"""Mode of holder or reservoir: SEALED, OPEN or MERGED."""
BURN = 5
"""Mode of the charge: BURNING or BURNT."""
CORD = 6
"""Mode of the cord (:mod:`baypulse.physics.cord`)."""
CONTENTS = 7
"""Mode of the contents: RESTING to NONE."""
TREND = 8
"""Mode of the bay's pressure: RISING or FALLING."""
FLAME = 9
"""Mode of the flame: SPREADING or ALIGHT."""
PARTED = 10
"""1 once the pressure pushes no more."""
BRAKE = 11
"""How many ends of stages of the brake have passed: while it is odd, a stage tears."""
EMPTIED = 12
"""Mode of the tube around the contents: WITHIN, EMERGING or OUT."""
AHEAD = 13
"""Mode of the space ahead of the contents: SHUT or LEVEL."""
PINS = 14
"""Mode of the first pin (:mod:`baypulse.physics.fit`); the others follow."""

STUCK = 0
"""At rest."""
OUTWARD = 1
"""Moving so that the joint opens."""
INWARD = -1
"""Moving back."""
APART = 2
"""The shoulder has left the tube."""

WAITING = 0
"""Before the spark."""
ACTIVE = 1
"""Gas flows."""
SPENT = 2
"""The gas is over."""

SEALED = 0
"""The holder has not burst, the valve is shut."""
OPEN = 1
"""It has."""
MERGED = 2
"""It is part of the bay."""

BURNING = 0
"""The charge burns, or will."""
BURNT = 1
"""It has burnt, or there is none."""

RESTING = 0
"""Contents at rest in the tube."""
SLIDING = 1
"""Contents that slide out."""
RETREATING = 2
"""Contents that slide back."""
TOUCHING = 3
"""Contents at rest against a nose that is at rest."""
JOINED = 4
"""Contents that push a nose that moves, or are pushed by it."""
DRAGGED = 5
"""Contents that the cord pulls; they are tied to the nose from then on."""
NONE = 6
"""No contents."""

WITHIN = 0
"""Contents whole in the tube."""
EMERGING = 1
"""Their front is past its lip, so that less and less of them is held."""
OUT = 2
"""Their rear is past it."""

SHUT = 0
"""The space ahead of the contents has a pressure of its own."""
LEVEL = 1
"""Once level with the outside, it is part of it."""

RISING = 0
"""The pressure of the bay rises."""
FALLING = 1
"""It has stopped rising."""

SPREADING = 0
"""The flame crosses the bed."""
ALIGHT = 1
"""All grains are alight."""

REMNANT = 1e-6
"""Share of a merged holder that stays behind as a volume of its own, so that it keeps a state."""

# --- memory that a change of mode leaves behind ---------------------------------------------

PEAK_STRAIN = 0
"""Greatest strain of the cord."""
PEAK_LOAD = 1
"""Its load then [N]."""
TAUT_SPEED = 2
"""Speed at which the sections part when the cord becomes taut [m/s]."""
MEMORY = 3
"""Places of the memory."""


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


SKIN_RISE = 100.0
"""Rise of a skin [K] below which the error of each of its terms is absolute. What heats it is
hundreds of kelvin warmer; the fastest term, which forgets within half a millisecond, would hold the
steps short for a millionth of a kelvin otherwise."""


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
    for j in range(P.n_surfaces):
        for n in range(P.n_terms):
            rise = P.skin_weights[n] / P.surface_effusivity[j]
            scale[P.skins_at + j * P.n_terms + n] = SKIN_RISE / rise


__all__ = ["PER_OPENING", "PER_VOLUME", "Balance", "begin", "state_scale"]
