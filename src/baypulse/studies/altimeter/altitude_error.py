"""What a barometric altimeter makes of a pressure that is not the outside's.

It takes the pressure around its sensor for that of the standard atmosphere: pressure up, altitude
down.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from baypulse.constants import AIR_GAS_CONSTANT, EARTH_RADIUS, STANDARD_GRAVITY
from baypulse.physics.atmosphere import pressure_altitude, standard_atmosphere

LOWEST = -2000.0
"""Altitude [m] at which the standard atmosphere of ISO 2533 begins."""

SAMPLE_RATE = 20.0
"""Samples a second of an altimeter; estimate."""

FILTER_TIME = 1.0
"""Time constant of the filter of an altimeter that smooths [s]; estimate."""

PHASES = 40
"""Moments within a sample's interval at which the pulse may begin."""


@cache
def _sea_level() -> tuple[float, float, float]:
    """Return pressure [Pa], temperature [K] and lapse [K/m] of the lowest layer at sea level."""
    p, T = standard_atmosphere(0.0)
    # of the geopotential altitude, which is the geometric one at sea level
    below = standard_atmosphere(LOWEST)[1]
    h = EARTH_RADIUS * LOWEST / (EARTH_RADIUS + LOWEST)
    return p, T, (below - T) / h


def shown_altitude(pressure: np.ndarray) -> np.ndarray:
    """Return the altitude that belongs to a pressure in the standard atmosphere.

    Below -2000 m, where ISO 2533 ends, its lowest layer goes on downwards, as in the tables of the
    US Standard Atmosphere 1976 to -5000 m: h = (T0/L) ((p/p0)^(-R L/g) - 1). No place on earth has
    such a pressure, but a bay that leaks has.

    Parameters
    ----------
    pressure : ndarray
        Absolute [Pa], above 0.887 (80 km).

    Returns
    -------
    ndarray
        Geometric altitude [m].

    References
    ----------
    ISO 2533:1975, eqs. 12 and 13 solved for the altitude.
    """
    p = np.asarray(pressure, dtype=float)
    p0, T0, lapse = _sea_level()
    low = p > standard_atmosphere(0.0)[0]
    h = T0 / lapse * ((np.where(low, p, p0) / p0) ** (-AIR_GAS_CONSTANT * lapse / STANDARD_GRAVITY)
                      - 1.0)  # fmt: skip
    found = EARTH_RADIUS * h / (EARTH_RADIUS - h)
    found[~low] = [pressure_altitude(each) for each in p[~low].tolist()]
    return np.asarray(found)


def altitude_error(pressure: np.ndarray, ambient: float) -> np.ndarray:
    """Return by how much an altimeter shows too high [m]; negative where it shows too low.

    Parameters
    ----------
    pressure : ndarray
        Around its sensor, absolute [Pa].
    ambient : float
        Outside, absolute [Pa].

    Returns
    -------
    ndarray
        Of the same shape.
    """
    return shown_altitude(pressure) - pressure_altitude(ambient)


def pressure_bounds(error: float, ambient: float) -> tuple[float, float]:
    """Return the pressures between which the altitude is less wrong than this.

    Parameters
    ----------
    error : float
        Either way [m].
    ambient : float
        Outside, absolute [Pa].

    Returns
    -------
    low, high : float
        Absolute [Pa]: at the lower it shows too high, at the higher too low.

    Raises
    ------
    ValueError
        Where they leave the standard atmosphere, -2000 m to 80 km.
    """
    true = pressure_altitude(ambient)
    return standard_atmosphere(true + error)[0], standard_atmosphere(true - error)[0]


def time_beyond(times: np.ndarray, values: np.ndarray, level: float) -> float:
    """Return for how long a curve, straight between its points, is above a level [s].

    Parameters
    ----------
    times, values : ndarray, shape (n,)
        The curve; the same time may come twice, at a jump.
    level : float
        In the unit of the values.
    """
    one, two = values[:-1] - level, values[1:] - level
    high, low = np.maximum(one, two), np.minimum(one, two)
    rise = np.where(high > low, high - low, 1.0)
    share = np.where(low >= 0.0, 1.0, np.clip(high, 0.0, None) / rise)
    return float((np.diff(times) * np.where(high > 0.0, share, 0.0)).sum())


def smoothed(times: np.ndarray, values: np.ndarray, time_constant: float) -> np.ndarray:
    """Return a curve behind a first-order filter that was at rest at its first value.

    tau df/dt = e - f has a closed form between two points of a curve e that is straight there:
    f1 = e1 - s tau + (f0 - e0 + s tau) exp(-dt/tau), with the slope s.

    Parameters
    ----------
    times, values : ndarray, shape (n,)
        The curve.
    time_constant : float
        tau [s].

    Returns
    -------
    ndarray, shape (n,)
    """
    found = np.empty(values.size)
    f = found[0] = float(values[0])
    e0 = f
    for k, (dt, e1) in enumerate(zip(np.diff(times).tolist(), values[1:].tolist(), strict=True), 1):
        if dt > 0.0:
            lag = (e1 - e0) / dt * time_constant
            f = e1 - lag + (f - e0 + lag) * math.exp(-dt / time_constant)
        found[k] = f
        e0 = e1
    return found


def sampled(
    times: np.ndarray, values: np.ndarray, rate: float, time_constant: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return what an altimeter that samples makes of the greatest deviation of a curve.

    Samples come at equal intervals, and nobody knows when the pulse falls between them; the digital
    filter is f_k = f_(k-1) + (1 - exp(-1/(rate tau))) (e_k - f_(k-1)).

    Parameters
    ----------
    times, values : ndarray, shape (n,)
        The curve, zero before it begins.
    rate : float
        Samples a second [Hz].
    time_constant : float
        tau of the filter [s].

    Returns
    -------
    raw, filtered : tuple of float
        The greatest deviation that it sees, between the luckiest and the unluckiest moment, as the
        curve's sign has it; of single samples, and behind the filter.
    """
    step = 1.0 / rate
    count = math.ceil((times[-1] - times[0]) / step) + 1
    at = times[0] + step * (np.arange(count) + (np.arange(PHASES)[:, None] + 0.5) / PHASES)
    seen = np.interp(at, times, values)
    keep = math.exp(-step / time_constant)
    f = np.zeros(PHASES)
    peak = np.zeros(PHASES)
    for k in range(count):
        f = keep * f + (1.0 - keep) * seen[:, k]
        peak = np.where(np.abs(f) > np.abs(peak), f, peak)
    raw = seen[np.arange(PHASES), np.abs(seen).argmax(axis=1)]

    def ends(each: np.ndarray) -> tuple[float, float]:
        order = each[np.argsort(np.abs(each), kind="stable")]
        return float(order[0]), float(order[-1])

    return ends(raw), ends(peak)
