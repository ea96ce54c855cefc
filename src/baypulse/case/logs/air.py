"""The standard atmosphere for whole arrays, from a table of :mod:`baypulse.physics.atmosphere`.

The logarithm of pressure is taken as straight between altitudes 10 m apart. Its second derivative
is at most 6e-9 per square metre (g L / (R T^2), largest where T is lowest), which bounds the error
by 10^2 / 8 times that: 8e-8 of the pressure, 0.01 Pa at sea level, 0.7 mm of altitude.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from baypulse.physics.atmosphere import standard_atmosphere

Array = np.ndarray

LOWEST = -2000.0
"""Geometric altitude [m] from which on the atmosphere is known."""

HIGHEST = 80_000.0
"""Geometric altitude [m] up to which the atmosphere is known."""

_STEP = 10.0


def pressures(altitude: Array) -> Array:
    """Return the pressure [Pa] at altitudes [m above sea level], any shape, held at both ends."""
    heights, logs = _table()
    return np.exp(np.interp(altitude, heights, logs))


def altitudes(pressure: Array) -> Array:
    """Return the altitude [m above sea level] of absolute pressures [Pa], any shape.

    NaN where the pressure is not above zero or has no altitude between :data:`LOWEST` and
    :data:`HIGHEST`.
    """
    heights, logs = _table()
    with np.errstate(invalid="ignore", divide="ignore"):
        wanted = np.log(pressure)
    return np.interp(wanted, logs[::-1], heights[::-1], left=np.nan, right=np.nan)


@cache
def _table() -> tuple[Array, Array]:
    """Return altitudes [m] and the logarithm of the pressure [Pa] there, shape (8201,) each."""
    heights = np.arange(LOWEST, HIGHEST + _STEP, _STEP)
    return heights, np.log([standard_atmosphere(float(height))[0] for height in heights])
