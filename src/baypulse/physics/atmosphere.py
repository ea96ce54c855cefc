"""The standard atmosphere up to 80 km."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

from baypulse.constants import (
    AIR_GAS_CONSTANT,
    EARTH_RADIUS,
    STANDARD_GRAVITY,
)

# geopotential altitude of the base [m] and lapse rate above it [K/m]; the first layer is reckoned
# from sea level, up and down
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
    base, _, p, T, lapse = next(each for each in _layers() if h <= each[1])
    step = h - base
    if lapse == 0.0:
        return p * math.exp(-STANDARD_GRAVITY * step / (AIR_GAS_CONSTANT * T)), T
    T_there = T + lapse * step
    return p * (T_there / T) ** (-STANDARD_GRAVITY / (AIR_GAS_CONSTANT * lapse)), T_there


def pressure_altitude(pressure: float) -> float:
    """Return the altitude at which the standard atmosphere has a pressure.

    It is what a barometric altimeter shows, and the inverse of :func:`standard_atmosphere`.

    Parameters
    ----------
    pressure : float
        Absolute pressure [Pa], from 1.053 to 127 782, those of 80 km and -2000 m.

    Returns
    -------
    float
        Geometric altitude [m].

    Raises
    ------
    ValueError
        Outside the range.

    References
    ----------
    ISO 2533:1975, eqs. 12 and 13 solved for the altitude.

    Examples
    --------
    >>> round(pressure_altitude(70121.2), 1)  # ISO 2533 prints this pressure at 3000 m
    3000.0
    """
    lowest, highest = _range()
    if not lowest <= pressure <= highest:
        raise ValueError(f"pressure {pressure} Pa is outside {lowest:.4g} to {highest:.6g} Pa")
    layers = _layers()
    # the highest layer whose base is no thinner than this air; below sea level the first
    base, _, p, T, lapse = next((each for each in layers[::-1] if pressure <= each[2]), layers[0])
    ratio = pressure / p
    if lapse == 0.0:
        h = base - AIR_GAS_CONSTANT * T / STANDARD_GRAVITY * math.log(ratio)
    else:
        h = base + T / lapse * (ratio ** (-AIR_GAS_CONSTANT * lapse / STANDARD_GRAVITY) - 1.0)
    return EARTH_RADIUS * h / (EARTH_RADIUS - h)


@cache
def _range() -> tuple[float, float]:
    """Return the lowest and the highest pressure [Pa]."""
    return standard_atmosphere(80_000.0)[0], standard_atmosphere(-2000.0)[0]


@cache
def _layers() -> tuple[tuple[float, float, float, float, float], ...]:
    """Return base and top [m, geopotential], pressure [Pa] and temperature [K] there, lapse."""
    found = []
    p, T, base = 101_325.0, 288.15, 0.0
    for (_, lapse), (top, _) in pairwise(_LAYERS):
        found.append((base, top, p, T, lapse))
        step = top - base
        if lapse == 0.0:
            p *= math.exp(-STANDARD_GRAVITY * step / (AIR_GAS_CONSTANT * T))
        else:
            T_top = T + lapse * step
            p *= (T_top / T) ** (-STANDARD_GRAVITY / (AIR_GAS_CONSTANT * lapse))
            T = T_top
        base = top
    return tuple(found)
