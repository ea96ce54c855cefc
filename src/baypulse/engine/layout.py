"""Where each quantity stands in the state vector, and what the modes mean."""

from __future__ import annotations

import numpy as np

from baypulse.engine.parameters import (
    BOOKS,
    NEVER,
    PER_OPENING,
    PER_VOLUME,
    VOLUMES_AT,
    Parameters,
)
from baypulse.physics import cord, fit

# --- state vector: depth, motion, volumes, surfaces, openings, energy book -------------------
DEPTH, NOSE_X, NOSE_V, FRAME_X, FRAME_V = 0, 1, 2, 3, 4
VOLUMES = VOLUMES_AT  # each m_b, m_a1, U1, m_a2, U2
# then each surface: skin terms and heat taken [J]; each opening: m_b, m_a and energy carried from
# its 'from' to its 'to'

(
    BOOK_PUSH,  # work of gauge pressure on the sections
    BOOK_AIR,  # work against the surrounding air
    BOOK_FRICTION,  # joint friction and seal
    BOOK_PINS,
    BOOK_GROUND,  # stand and ground
    BOOK_OUTSIDE,  # work done BY gravity and drag
    BOOK_PACKING,
    BOOK_CORD,  # into the cord: stored and lost
    BOOK_IMPACT,  # lost when bodies join or stop against each other
) = range(BOOKS)

# --- modes ----------------------------------------------------------------------------------
(
    JOINT,
    STAND,
    NOSE,
    GAS,
    SOURCE,
    BURN_VOLUME,
    BURN,
    CORD,
    CONTENTS,
    TREND,
    FLAME,
    PARTED,
    PINS,
) = range(13)

STUCK, OUTWARD, INWARD, APART = 0, 1, -1, 2  # JOINT; STAND and NOSE use 0, +1, -1
WAITING, ACTIVE, SPENT = 0, 1, 2  # GAS: before the spark, running, over
SEALED, OPEN, MERGED = 0, 1, 2  # SOURCE
BURNING, BURNT = 0, 1  # BURN
PACKED, DRAGGING, OUT, NONE = 0, 1, 2, 3  # CONTENTS
RISING, FALLING = 0, 1  # TREND of the bay's pressure
SPREADING, ALIGHT = 0, 1  # FLAME; PARTED is 1 once the pressure pushes no more

REMNANT = 1e-6
"""Share of a merged holder that stays behind as a volume of its own, so that it keeps a state."""

# --- memory that a change of mode leaves behind ------------------------------------------------
PEAK_STRAIN, PEAK_LOAD = 0, 1  # of the cord
QUIET_SINCE = 2  # time of the last burst, pressure peak or burn-out
TAUT_SPEED = 3  # at which the sections part when the cord becomes taut
MEMORY = 4


def initial_state(P: Parameters) -> np.ndarray:
    """Return the state before the spark: closed, at rest, air at ambient."""
    y = np.zeros(P.state_size)
    y[VOLUMES : P.surfaces_at] = P.initial.ravel()
    return y


def initial_modes(P: Parameters) -> np.ndarray:
    """Return the modes before the spark."""
    modes = np.zeros(PINS + P.pin_strength.size, dtype=np.int64)
    modes[JOINT] = STUCK
    modes[STAND] = OUTWARD if P.stand_friction == 0.0 else STUCK
    modes[NOSE] = OUTWARD
    modes[GAS] = WAITING
    modes[SOURCE] = MERGED if P.source < 0 else SEALED
    modes[BURN_VOLUME] = P.bay if P.source < 0 else P.source
    modes[BURN] = BURNING if P.charge_mass > 0.0 else BURNT
    modes[CORD] = cord.SLACK
    modes[CONTENTS] = PACKED if P.pickup_travel < NEVER else NONE
    modes[PINS:] = fit.SLACK
    return modes


def state_scale(P: Parameters) -> np.ndarray:
    """Return the size below which a state's error counts as absolute, per unit of tolerance.

    The energy book is integrated with the rest and closes by itself (Runge-Kutta steps keep
    linear invariants), so it takes no part in choosing the step.
    """
    scale = np.full(P.state_size, np.inf)
    scale[DEPTH] = 1e-3 * P.r_high
    scale[[NOSE_X, FRAME_X]] = 1e-4
    scale[[NOSE_V, FRAME_V]] = 1e-2
    mass = P.charge_mass + P.initial[:, [0, 1, 3]].sum()
    energy = P.charge_mass * P.powder_energy + P.initial[:, [2, 4]].sum()
    for k in range(P.volume.size):
        at = VOLUMES + PER_VOLUME * k
        own = 1e-3 * max(P.initial[k, [0, 1, 3]].sum(), 1e-3 * mass)
        own_energy = 1e-3 * max(P.initial[k, [2, 4]].sum(), 1e-3 * energy)
        scale[at : at + PER_VOLUME] = (own, own, own_energy, own, own_energy)
    first, terms = P.surfaces_at, P.skin_rates.size
    for k in range(P.surface_area.size):
        at = first + k * (terms + 1)
        scale[at : at + terms] = 10.0  # J/m^2; a skin of 300 J/m^2/K/sqrt(s) then errs by 0.1 K
    return scale


__all__ = ["PER_OPENING", "PER_VOLUME", "initial_modes", "initial_state", "state_scale"]
