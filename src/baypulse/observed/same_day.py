"""A case in the air of another altitude on the same day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from baypulse.case.logs.air import altitudes
from baypulse.case.model import Case, Spread, Surroundings
from baypulse.physics.atmosphere import standard_atmosphere

WARMEST_DAY = 30.0
"""How much warmer than the standard atmosphere a day is taken to be at most [K], 45 degC at sea
level: what is typed as warmer than that high up was measured on the ground; estimate."""

LEAST_PRESSURE = 1.1
"""Pressure [Pa] just below 80 km, where the standard atmosphere ends."""

_OF_THE_PLACE = ("surroundings.altitude", "surroundings.pressure")
"""What scatters at the place of the shot, and not at another one."""


def at_pad(case: Case) -> Case:
    """Return the case in the air of the pad, where it is loaded.

    Parameters
    ----------
    case : Case
        With or without an ascent. A ground test keeps its own air, unless the ascent has a pad of
        its own; a shot in flight has the pad of its ascent, or sea level. A typed temperature goes
        with it (:func:`same_day`).
    """
    pad = None if case.ascent is None else case.ascent.pad_altitude
    flies = case.setting.kind == "flight"
    if not flies and (pad is None or pad == case.surroundings.altitude):
        return case
    return same_day(case, pad or 0.0)


def same_day(case: Case, altitude: float) -> Case:
    """Return the case in the air of another altitude, usually a lower one, on the same day.

    A typed temperature t goes with it: there it is t0 + min(t - t1, 30 K), with t0 and t1 of the
    standard atmosphere there and where t was measured, and never below t. So a warm day is warm
    on the pad, and pins, which are weaker the warmer they are, hold there rather less than what
    is typed says than more.

    Parameters
    ----------
    case : Case
        A single one, with its spreads. A shot in flight with a typed pressure was measured at the
        altitude of that pressure.
    altitude : float
        Above sea level [m].

    Returns
    -------
    Case
        Its pressure is the standard atmosphere's; altitude and pressure do not scatter.
    """
    here = case.surroundings
    spreads = {path: s for path, s in case.spreads.items() if path not in _OF_THE_PLACE}
    temperature = here.temperature
    if temperature is not None:
        measured_at = here.altitude
        if here.pressure is not None and case.setting.kind == "flight":
            measured_at = float(altitudes(np.array([max(here.pressure, LEAST_PRESSURE)]))[0])
        warmer = min(temperature - standard_atmosphere(measured_at)[1], WARMEST_DAY)
        temperature = max(temperature, standard_atmosphere(altitude)[1] + warmer)
        path = "surroundings.temperature"
        if path in spreads:
            spreads[path] = _shifted(spreads[path], temperature - (here.temperature or 0.0))
    air = Surroundings(altitude=altitude, temperature=temperature)
    return replace(case, surroundings=air, spreads=spreads)


def colder(case: Case) -> float:
    """Return by how much a case's air is colder than the standard's [K]: below zero, or zero.

    A warm day is not counted: where this is used, cold is on the safe side.

    Parameters
    ----------
    case : Case
        On the ground.
    """
    air = case.surroundings
    if air.temperature is None:
        return 0.0
    return min(air.temperature - standard_atmosphere(air.altitude)[1], 0.0)


def _shifted(spread: Spread, by: float) -> Spread:
    """Return the spread of a number that is larger by a constant."""
    low, high = (None if end is None else end + by for end in (spread.low, spread.high))
    return replace(spread, low=low, high=high, sample=tuple(x + by for x in spread.sample))
