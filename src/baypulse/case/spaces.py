"""The spaces on both sides of the packed contents, and how these sit between them.

Like :mod:`baypulse.case.params`, for a single case and for members alike.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import geometry, library
from baypulse.case.geometry import Floats
from baypulse.case.model import Case
from baypulse.constants import STANDARD_GRAVITY
from baypulse.engine.parameters import NEVER
from baypulse.physics import flow, gas, pack

LEAST_SPACE = 0.1
"""What is left of a space that the contents close, in bores of its length: they are not flat, nor
is what they meet; estimate."""

LEAST_FRICTION = 0.25
"""Least force that draws contents out, as a share of their weight: cloth on a wall has a
coefficient of friction of 0.2 to 0.5 (estimate)."""

FEEBLE = 0.05
"""Force [N] beside that share at which contents come to rest in the end."""

LEAST_VOIDS = 1e-6
"""Least volume of voids [m^3], so that contents as dense as their fibre keep a state."""

LEAST_SHARE = 0.02
"""Least share of voids, and of fibre, in the law of what seeps through."""

LEAST_LENGTH = 1e-3
"""Least length of contents [m] that were given no volume."""

FILLING_TIME = 2e-4
"""Least time [s] in which the voids fill, or a space beside them empties into them: what is quicker
is too quick to follow, and a hundredth of the push of a bay."""

SHRINKING = 6.0
"""By how much more of a hot space than of a cold one empties into the voids, where gas comes to the
temperature of the cloth: some 1500 K over 300 K, and the higher pressure."""


def packed(case: Case) -> bool:
    """Say whether contents divide the bay into a space behind them and one ahead."""
    return case.contents is not None and geometry.any_nonzero(case.contents.mass > 0.0)


def travels(case: Case) -> tuple[float, float]:
    """Return by how much the contents may move ahead to the nose, and back to the bulkhead [m].

    The length of tube that they leave free, shared out as the volume is; never so far that a space
    would close entirely.
    """
    bay, area = case.bay, geometry.bore_area(case)
    length = bay.tube_length - bay.coupler_intrusion - case.joint.shoulder_length
    assert case.contents is not None
    share = case.contents.space_behind
    loose = np.maximum(length - geometry.packed_length(case), 0.0)
    ahead, behind = (v / area - LEAST_SPACE * bay.bore for v in spaces(case))
    return (
        np.clip((1.0 - share) * loose, 0.0, np.maximum(ahead, 0.0)),
        np.clip(share * loose, 0.0, np.maximum(behind, 0.0)),
    )


def spaces(case: Case) -> tuple[float, float]:
    """Return the free volume ahead of the contents, and that behind them [m^3].

    Without contents all of it counts as ahead.
    """
    free = geometry.free_volume(case).total
    if case.contents is None or not packed(case):
        return free, 0.0
    least = np.minimum(LEAST_SPACE * case.bay.bore * geometry.bore_area(case), 0.5 * free)
    behind = np.clip(case.contents.space_behind * free, least, free - least)
    return free - behind, behind


def pack_fields(case: Case, p: Floats, T: Floats, discharge: float) -> dict[str, Any]:
    """Return how the contents sit in the tube, and what seeps through them."""
    contents = case.contents
    if contents is None or not packed(case):
        return {
            "packed_length": 1.0, "extraction_force": 0.0, "pack_grip": 0.0, "pack_reach": 0.0,
            "pack_recoil": 0.0, "pack_out": NEVER, "pore_share": 1.0, "pore_size": 1.0,
            "pore_viscosity": 1.0, "pack_gap": 0.0, "pack_discharge": 1.0,
            "pack_even": 1.0,
        }  # fmt: skip
    length = np.maximum(geometry.packed_length(case), LEAST_LENGTH)
    seat = library.pack(geometry.tightness(case), case.materials)
    least = LEAST_FRICTION * contents.mass * STANDARD_GRAVITY + FEEBLE
    ahead, behind = travels(case)
    mu = geometry.each(gas.viscosity, T)
    voids = np.clip(geometry.pack_voids(case), LEAST_SHARE, 1.0 - LEAST_SHARE)
    size = library.cloth(contents.cloth, case.materials).particle_diameter
    # Ergun's viscous loss alone evens out a volume V and the middle of the voids with the time
    # constant V L mu/(2 k A p), where k = e^3 d^2/(150 (1 - e)^2)
    # members without room for their contents are not run, but cross all the same
    smallest = np.maximum(np.minimum(np.minimum(*spaces(case)), void_volume(case)), LEAST_VOIDS)
    cold = smallest / SHRINKING
    slowest = cold * length * mu / (2.0 * FILLING_TIME * p * geometry.bore_area(case))
    widest = (1.0 - voids) * np.sqrt(pack.LAMINAR_CONSTANT * slowest / voids**3)
    # through the gap a space evens out with the rate k Cd A sqrt(2 p/rho)/(V sqrt(flow.EVEN))
    around = discharge * np.pi * case.bay.bore * seat.gap
    quickest = flow.EVENING_SPEED * around / np.minimum(*spaces(case))
    return {
        "packed_length": length,
        "extraction_force": np.maximum(geometry.extraction_force(case), least),
        "pack_grip": 4.0 * seat.grip * length / case.bay.bore,
        "pack_reach": ahead,
        "pack_recoil": behind,
        "pack_gap": seat.gap,
        "pack_discharge": discharge,
        "pack_even": np.maximum(flow.EVEN, (quickest * FILLING_TIME) ** 2),
        "pack_out": case.joint.shoulder_length + ahead + length,
        "pore_share": voids,
        "pore_size": np.minimum(size, widest),
        "pore_viscosity": mu,
    }


def void_volume(case: Case) -> Floats:
    """Return the volume of the voids within the contents [m^3]."""
    whole = geometry.packed_length(case) * geometry.bore_area(case)
    return np.maximum(geometry.pack_voids(case) * whole, LEAST_VOIDS)
