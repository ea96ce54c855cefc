"""The standard atmosphere up to 80 km."""

from __future__ import annotations

import math
from itertools import pairwise

from baypulse.constants import (
    AIR_GAS_CONSTANT,
    EARTH_RADIUS,
    STANDARD_GRAVITY,
)

# geopotential altitude of the base [m] and lapse rate above it [K/m]
_LAYERS = (
    (-2000.0, -6.5e-3),
    (11_000.0, 0.0),
    (20_000.0, 1.0e-3),
    (32_000.0, 2.8e-3),
    (47_000.0, 0.0),
    (51_000.0, -2.8e-3),
    (71_000.0, -2.0e-3),
    (80_000.0, 0.0),
)


def standard_atmosphere(altitude: float) -> tuple[float, float]:
    """Return pressure and temperature of the standard atmosphere.

    Parameters
    ----------
    altitude : float
        Geometric altitude [m], from -2000 to 80 000 (geopotential 79 006).

    Returns
    -------
    pressure : float
        [Pa].
    temperature : float
        [K].

    Raises
    ------
    ValueError
        Outside the range.

    References
    ----------
    ISO 2533:1975, eqs. 12 and 13 (equal to the US Standard Atmosphere 1976 below 32 km).

    Examples
    --------
    >>> p, T = standard_atmosphere(3000.0)  # ISO 2533 prints 7.01212e4 Pa, 268.659 K
    >>> round(p, 1), round(T, 3)
    (70121.2, 268.659)
    """
    if not -2000.0 <= altitude <= 80_000.0:
        raise ValueError(f"altitude {altitude} m is outside -2000 m to 80 km")
    h = EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)
    # start at sea level, walk up (or down within the first layer)
    p, T, base = 101_325.0, 288.15, 0.0
    for (_, lapse), (top, _) in pairwise(_LAYERS):
        step = min(h, top) - base
        if lapse == 0.0:
            p *= math.exp(-STANDARD_GRAVITY * step / (AIR_GAS_CONSTANT * T))
        else:
            T_top = T + lapse * step
            p *= (T_top / T) ** (-STANDARD_GRAVITY / (AIR_GAS_CONSTANT * lapse))
            T = T_top
        base += step
        if h <= top:
            break
    return p, T
