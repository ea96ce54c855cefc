"""What the study of the altimeter gives: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.chances import Chance
from baypulse.studies.altimeter.electronics_pulse import Pulse
from baypulse.studies.altimeter.static_ports import StaticPorts

SHARES = (0.05, 0.5, 0.95, 0.99)
"""Shares of the members at the values that a :class:`Spans` holds."""

Spans = tuple[float, float, float, float]
"""Values below which 5, 50, 95 and 99 % of the members lie, SI."""


def spans(values: np.ndarray) -> Spans:
    """Return the values below which so many members lie (:data:`SHARES`).

    Parameters
    ----------
    values : ndarray, shape (members,)
        SI.
    """
    low, middle, high, highest = np.quantile(values, SHARES)
    return float(low), float(middle), float(high), float(highest)


@dataclass(frozen=True)
class Shown:
    """What an altimeter in one electronics bay shows, with nothing scattering.

    Attributes
    ----------
    name : str
        What was changed; empty for the case as it is.
    low : float
        By how much it shows too low, at most [m], at least 0.
    low_time : float
        When [s].
    low_beyond : float
        For how long it shows too low by more than the wanted error [s].
    high : float
        By how much it shows too high, at most [m], at least 0: suction.
    high_time, high_beyond : float
        The same of that [s].
    pressure : float
        Highest gauge pressure in the electronics bay [Pa].
    sampled, filtered : tuple of float
        Greatest error of an altimeter that samples, as it shows, in the luckiest and in the
        unluckiest moment [m]: of single samples, and behind its filter.
    """

    name: str
    low: float
    low_time: float
    low_beyond: float
    high: float
    high_time: float
    high_beyond: float
    pressure: float
    sampled: tuple[float, float]
    filtered: tuple[float, float]

    @property
    def beyond(self) -> float:
        """For how long it is wrong by more than the wanted error, either way [s]."""
        return self.low_beyond + self.high_beyond


@dataclass(frozen=True)
class Leak:
    """The largest leak that keeps the error wanted.

    Attributes
    ----------
    present : float
        All openings between the bays as one hole [m].
    present_chance : Chance
        That the error stays below the wanted one with them.
    largest : float or None
        Diameter of the one hole [m]; None where the smallest tried is too large.
    low, high : float
        Between which it lies with 95 % confidence, as far as the number of members decides it [m];
        NaN where an end lies beyond what was searched.
    chance : Chance or None
        That the error stays below the wanted one with the largest.
    at_ceiling : bool
        Whether the largest is the largest tried.
    discharge : float
        Discharge coefficient of the hole.
    """

    present: float
    present_chance: Chance
    largest: float | None
    low: float
    high: float
    chance: Chance | None
    at_ceiling: bool
    discharge: float


@dataclass(frozen=True)
class ElectronicsBay:
    """The electronics bay of a case: its static ports, and the charge's pulse.

    Attributes
    ----------
    case : Case
        The case.
    ports : StaticPorts
        How far the altimeter is behind by them.
    pulse : Altimeters or None
        What the charge does; None where no opening leads from the bay into the electronics bay.
    """

    case: Case
    ports: StaticPorts
    pulse: Altimeters | None


@dataclass(frozen=True)
class Altimeters:
    """The charge's pulse in the electronics bay, and what an altimeter in it shows.

    Attributes
    ----------
    case : Case
        The case.
    error : float
        Wanted: the altitude may be wrong by this, either way [m].
    wanted : float
        In this share of the shots.
    members, followed, seed : int
        Shots, those of them that were followed point by point, and the seed.
    altitude : float
        That an altimeter shows before the shot [m]: of the outside's pressure.
    bounds : tuple of float
        Absolute pressures at which it is wrong by the wanted error [Pa]: too high, too low.
    pulse : Pulse
        With nothing scattering.
    errors, filtered : ndarray, shape (n,)
        By how much the altimeter shows too high at the pulse's times [m], negative where it shows
        too low; raw, and behind the filter.
    nominal : Shown
        With nothing scattering.
    changes : tuple of Shown
        The same with changes.
    lows : tuple of float
        By how much the members show too low, at most (:data:`Spans`) [m].
    durations : tuple of float
        For how long the followed members are wrong by more than the wanted error (:data:`Spans`)
        [s].
    highs : tuple of float
        By how much the followed members show too high, at most (:data:`Spans`) [m].
    leak : Leak
        The largest leak.
    ports : float
        All openings of the electronics bay to the outside as one hole [m]; 0 without any.
    leak_grid, port_grid : ndarray, shapes (n,), (m,)
        Diameters of one hole each [m].
    grid : ndarray, shape (n, m)
        By how much the altimeter shows too low with them, nothing scattering [m].
    aloft : tuple of (float, float)
        Altitudes [m], and by how much the same pulse in pascals shows too low there [m].
    runs : int
        Shots computed.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    case: Case
    error: float
    wanted: float
    members: int
    followed: int
    seed: int
    altitude: float
    bounds: tuple[float, float]
    pulse: Pulse
    errors: np.ndarray
    filtered: np.ndarray
    nominal: Shown
    changes: tuple[Shown, ...]
    lows: Spans
    durations: Spans
    highs: Spans
    leak: Leak
    ports: float
    leak_grid: np.ndarray
    port_grid: np.ndarray
    grid: np.ndarray
    aloft: tuple[tuple[float, float], ...]
    runs: int
    warnings: tuple[str, ...]
