"""The leak of a bay from the times that a watched gauge took to fall, with its 95 % interval.

What is not known has a spread of its own: time and gauge as read, the free volume, the room, and
how fast the walls warm the air, which lies between a fall without any heat (seconds) and one at a
single temperature (minutes).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from scipy.special import ndtr, stdtrit

from baypulse.case.quantities import show
from baypulse.members.parts import StudyError
from baypulse.run.pumped_bay import (
    Vessel,
    area_of,
    isothermal_area,
    isothermal_times,
    pumped_temperature,
)
from baypulse.studies.leakdown.result import Estimate, Falls

HEAT_SPREAD = 0.5
"""Standard deviation of the logarithm of the heat transfer to the walls; estimate."""

ROOM = 0.5
"""Standard deviation of the change of the room's temperature in ten minutes [K]; it grows with the
root of the time; estimate."""

ROOM_TIME = 600.0
"""The ten minutes [s]."""

LEVEL = 0.95
"""Chance that an interval holds the area."""

CLEAR_TIME = 3.0
"""A time must be so many of its own errors long."""

FLOOR = 0.01
"""Least end of a fall that is drawn, as a share of its start."""

HEATS = 9
"""Heats at which the share of an area is worked out for the members."""

TABLE = 1000
"""Pressures at which the times of a fall are."""

COLUMNS = 5
"""Columns of normal scores that :func:`from_falls` takes."""


def from_falls(vessel: Vessel, test: Falls, volumes: np.ndarray, z: np.ndarray) -> Estimate:
    """Return the leak of a bay from the times that its gauge took to fall.

    Parameters
    ----------
    vessel : Vessel
        The bay, nothing scattering.
    test : Falls
        What was read.
    volumes : ndarray, shape (members,)
        Free volumes of the members [m^3].
    z : ndarray, shape (members, COLUMNS)
        Normal scores of time, both readings, the heat to the walls, and the room's temperature.

    Returns
    -------
    Estimate
        Its interval lies between quantiles of the members.

    Raises
    ------
    StudyError
        If the time is not clearly longer than its error.
    """
    time = float(np.mean(test.times))
    score, error = _time_error(test, z[:, 0])
    if time < CLEAR_TIME * error:
        raise StudyError(
            f"a fall within {show(time, 'time')} is too short for a time that errs by "
            f"{show(error, 'time')}: film the gauge and give it with --gauge, give a smaller "
            "--time-error if that is true, or close the openings first"
        )
    causes = {
        "the time": np.maximum(time + error * score, 0.1 * time),
        "the first reading": test.start + test.gauge_error * z[:, 1],
        "the last reading": test.end + test.gauge_error * z[:, 2],
        "the free volume": volumes,
        "the heat to the walls": vessel.convection * np.exp(HEAT_SPREAD * z[:, 3]),
        "the room's temperature": room_drift(vessel, test.end, time) * z[:, 4],
    }
    areas = _areas(vessel, test, time, *causes.values())
    low, high = np.quantile(areas, (0.5 - 0.5 * LEVEL, 0.5 + 0.5 * LEVEL))
    area = area_of(vessel, test.start, test.end, time)
    falls = areas[areas > 0.0]
    warm = pumped_temperature(vessel, test.start)
    return Estimate(
        area=area,
        low=float(low),
        high=float(high),
        deviation=float(np.log(falls).std()) if falls.size > 1 else math.inf,
        causes=_shares(areas, causes),
        fresh=area_of(vessel, test.start, test.end, time, warm),
    )


def _areas(
    vessel: Vessel, test: Falls, time: float, times: np.ndarray, starts: np.ndarray,
    ends: np.ndarray, volumes: np.ndarray, heats: np.ndarray, drifts: np.ndarray,
) -> np.ndarray:  # fmt: skip
    """Return the areas of members, shape (members,).

    The area of a fall at one temperature, which is the volume times an integral over the time,
    and the share of it that a fall with some heat takes. That share depends on how much heat
    comes in within the time, h t/V, and so little on the pressures that those of the test do:
    3 % more pressure changes it by less than 1e-3.
    """
    pressure = np.geomspace(FLOOR * test.start, 2.0 * test.start, TABLE)
    seconds = isothermal_times(vessel, pressure) / vessel.volume
    begin = np.clip(starts, pressure[0], pressure[-1])
    end = np.clip(ends - drifts, pressure[0], begin)
    whole = (
        volumes / times * (np.interp(begin, pressure, seconds) - np.interp(end, pressure, seconds))
    )
    warmer = np.zeros(times.size)
    if vessel.convection > 0.0:
        warmer = np.log(heats / vessel.convection * times / time * vessel.volume / volumes)
    at = np.linspace(float(warmer.min()), float(warmer.max()), HEATS)
    plain = isothermal_area(vessel, test.start, test.end, time)
    shares = [
        area_of(vessel._replace(convection=vessel.convection * math.exp(each)), test.start,
                test.end, time) / plain
        for each in at
    ]  # fmt: skip
    return whole * np.interp(warmer, at, shares)


def room_drift(vessel: Vessel, gauge: float, time: float) -> float:
    """Return by how much the gauge of a closed bay moves with the room's temperature.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    gauge : float
        Gauge pressure [Pa].
    time : float
        That goes by [s].

    Returns
    -------
    float
        Standard deviation [Pa]: p/T times that of the temperature.
    """
    kelvin = ROOM * math.sqrt(time / ROOM_TIME)
    return (vessel.pressure + gauge) / vessel.temperature * kelvin


def _time_error(test: Falls, z: np.ndarray) -> tuple[np.ndarray, float]:
    """Return the scores of the mean time, and its error.

    Repeats that scatter more than the stated error tell the error themselves; Student's
    distribution then stands for how few they are.
    """
    count = len(test.times)
    error = test.time_error / math.sqrt(count)
    if count < 2:
        return z, error
    seen = float(np.std(test.times, ddof=1)) / math.sqrt(count)
    if seen <= error:
        return z, error
    return stdtrit(count - 1, ndtr(z)), seen


def _shares(areas: np.ndarray, causes: Mapping[str, np.ndarray]) -> tuple[tuple[str, float], ...]:
    """Return what the areas scatter with: squared correlation with every cause."""
    found = {}
    for name, values in causes.items():
        still = not values.std() > 1e-12 * abs(values.mean()) or not areas.std() > 0.0
        found[name] = 0.0 if still else float(np.corrcoef(areas, values)[0, 1] ** 2)
    return ranked(found)


def ranked(shares: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    """Return causes and their shares of all, the largest first.

    Parameters
    ----------
    shares : mapping
        Of a variance, by name; they need not add up.
    """
    whole = sum(shares.values()) or 1.0
    found = sorted(shares.items(), key=lambda item: -item[1])
    return tuple((name, share / whole) for name, share in found)
