"""What a leak-down test gives: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.geometry import Floats
from baypulse.case.model import Case
from baypulse.case.openings import hole_diameter
from baypulse.members.chances import Chance
from baypulse.run.result import Result

HOLE_DISCHARGE = 0.65
"""Discharge coefficient of the round hole that a leak is told as: that of a sharp hole, the
default of ``[[openings]]``."""

LEAK = "leak (measured)"
"""What the opening is called that stands for the leak."""


@dataclass(frozen=True)
class Falls:
    """Times of a watched gauge.

    Attributes
    ----------
    start, end : float
        Gauge pressures [Pa].
    times : tuple of float
        From one to the other, one a repeat [s].
    time_error : float
        Standard deviation of one time [s].
    gauge_error : float
        Standard deviation of one reading of the gauge [Pa].
    """

    start: float
    end: float
    times: tuple[float, ...]
    time_error: float
    gauge_error: float


@dataclass(frozen=True)
class Trace:
    """A recorded fall.

    Attributes
    ----------
    time, pressure : ndarray, shape (n_readings,)
        [s], gauge pressure [Pa].
    gauge_error : float
        Standard deviation of the gauge's zero [Pa].
    source : str
        Name of the file.
    notes : tuple of str
        What was found out about the file, a sentence each.
    """

    time: np.ndarray
    pressure: np.ndarray
    gauge_error: float
    source: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FallReadings:
    """What a recorded fall told beside the area.

    Attributes
    ----------
    count : int
        Readings of the fall.
    effective : float
        Readings that would tell as much if each erred for itself.
    noise : float
        Standard deviation of a reading about the fitted fall [Pa].
    start : float
        Fitted gauge pressure at the first reading [Pa].
    zero, zero_error : float
        What the gauge shows of the outside [Pa], and the standard deviation of that.
    zero_told : bool
        Whether the trace tells it, rather than the gauge's stated error.
    time, pressure : ndarray, shape (n_points,)
        The fall that was fitted, from its first reading on, averaged where there are very many.
    """

    count: int
    effective: float
    noise: float
    start: float
    zero: float
    zero_error: float
    zero_told: bool
    time: np.ndarray
    pressure: np.ndarray


@dataclass(frozen=True)
class Estimate:
    """The effective area of a leak.

    Attributes
    ----------
    area : float
        Cd A [m^2].
    low, high : float
        Ends of its 95 % interval; `low` is 0 where no leak can be told from none.
    deviation : float
        Standard deviation of its logarithm.
    causes : tuple of (str, float)
        What the interval comes from, and its share of the variance, the largest first.
    fresh : float
        The area if the first reading was taken straight after pumping [m^2].
    readings : Readings or None
        Of a recorded fall.
    """

    area: float
    low: float
    high: float
    deviation: float
    causes: tuple[tuple[str, float], ...]
    fresh: float
    readings: FallReadings | None = None

    @property
    def measurable(self) -> bool:
        """Whether the leak can be told from none."""
        return bool(self.low > 0.0)

    @property
    def telling(self) -> float:
        """The area to reckon with: the estimate, or where only a bound is told, the bound."""
        return self.area if self.measurable else self.high


@dataclass(frozen=True)
class Settling:
    """What pumping does to the air.

    Attributes
    ----------
    warmer : float
        By how much the air is warmer than the wall straight after pumping, at least [K].
    drop : float
        Pressure that goes by cooling alone, without any leak [Pa].
    time : float
        Time constant of the cooling [s].
    wait : float
        Until what is still to cool is 2 % of the watched fall [s].
    """

    warmer: float
    drop: float
    time: float
    wait: float


@dataclass(frozen=True)
class LeakShot:
    """The case's charge, fired in a bay with one leak or another.

    Attributes
    ----------
    name : str
        Which leak.
    area : float
        Effective area of it [m^2].
    result : Result
        Nothing scattering.
    held : float
        Peak gauge pressure if the joint were held shut [Pa].
    opens : Chance or None
        That the bay separates and its parachute comes out; None where no members were run.
    """

    name: str
    area: float
    result: Result
    held: float
    opens: Chance | None


@dataclass(frozen=True, kw_only=True)
class LeakShots:
    """What a leak does to the charge.

    Attributes
    ----------
    measured_case : Case
        With the leak in place of that gap.
    tight, leaking, given : Shot
        Without any leak or gap; with the leak; as the case stands.
    lost : int
        Members that open when tight and not with the leak.
    gained : int
        Members that open with the leak and not when tight.
    gone : float
        Share of the gas that leaves through the leak before the joint is clear, or up to the peak
        where it does not come clear.
    bleed : float
        Time in which the leak would empty the bay at the flow of the peak [s].
    gone_until : float
        Time up to which `gone` counts, after the first burning [s].
    """

    measured_case: Case
    tight: LeakShot
    leaking: LeakShot
    given: LeakShot
    lost: int
    gained: int
    gone: float
    bleed: float
    gone_until: float


@dataclass(frozen=True, kw_only=True)
class LeakDown(LeakShots):
    """The leak of a bay, and what it does to the charge, as in :class:`LeakShots`.

    Attributes
    ----------
    case : Case
        As given.
    test : Falls or Trace
        What was measured.
    seed : int
        Of the members.
    air : tuple of float
        Pressure [Pa] and temperature [K] of the bench.
    volume, volume_error : float
        Free volume [m^3], and the standard deviation of its logarithm.
    volume_assumed : bool
        Whether that deviation is an assumption, since the case gives no spread.
    estimate : Estimate
        The leak.
    settling : Settling
        Of the air after pumping.
    plugged : tuple of (str, float)
        The case's own openings of the bay, taken as plugged, and their effective areas [m^2];
        of a slot, that of a hole which passes as much at the first reading.
    clearance : float
        Effective area of a hole that falls as fast in the test as the gap that the case gives the
        shoulder [m^2].
    times : ndarray, shape (n_points,)
        Of the curves [s].
    fitted, lowest, highest : ndarray, shape (n_points,)
        Gauge pressure of the fall with the area, and with the ends of its interval [Pa].
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    case: Case
    test: Falls | Trace
    seed: int
    air: tuple[float, float]
    volume: float
    volume_error: float
    volume_assumed: bool
    estimate: Estimate
    settling: Settling
    plugged: tuple[tuple[str, float], ...]
    clearance: float
    times: np.ndarray
    fitted: np.ndarray
    lowest: np.ndarray
    highest: np.ndarray
    warnings: tuple[str, ...]

    @property
    def members(self) -> int:
        """Shots with the leak, and as many without."""
        return self.tight.opens.members if self.tight.opens is not None else 0

    @property
    def start(self) -> float:
        """Gauge pressure at the first reading [Pa]."""
        read = self.estimate.readings
        return self.test.start if isinstance(self.test, Falls) else read.start if read else 0.0


def hole(area: Floats) -> Floats:
    """Return the diameter of the round hole of an effective area [m].

    Parameters
    ----------
    area : float or ndarray
        Cd A [m^2].
    """
    return hole_diameter(HOLE_DISCHARGE, area)
