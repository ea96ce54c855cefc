"""What was found of single charges, and of the ends of a charge window."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.members.chances import Chance


@dataclass(frozen=True)
class Edge:
    """One end of a window of charges.

    Attributes
    ----------
    charge : float
        SI: kg of powder, or Pa gauge of a reservoir's fill.
    low, high : float
        Between which the charge lies with 95 % confidence, as far as the number of members
        decides it; NaN where an end of it lies beyond what was searched, or was not asked for.
    chance : Chance
        At that charge, of the members: that the bay separates, or that the limit is exceeded.
    name : str
        ``"separates"``, or the limit.
    """

    charge: float
    low: float
    high: float
    chance: Chance
    name: str


@dataclass(frozen=True)
class Trial:
    """Many members of one charge.

    Attributes
    ----------
    name : str
        What the charge is: ``"recommended"``, ``"backup"``, ``"both"``, ``"after failure"``,
        ``"empty-bay rule"``, ``"as in the case"``; empty for a point of the curve.
    charge : float
        SI.
    opens : Chance
        That it separates and, where that is asked, the parachute comes out.
    fails_hard : Chance
        That any limit is exceeded.
    limits : tuple of Chance
        That each limit is exceeded.
    peak_pressure, clear_velocity, greatest_velocity, cord_load : tuple of float
        The values below which 5, 50 and 95 % of those members lie in which it happened, SI; NaN
        where it happened in none.
    """

    name: str
    charge: float
    opens: Chance
    fails_hard: Chance
    limits: tuple[Chance, ...]
    peak_pressure: tuple[float, float, float]
    clear_velocity: tuple[float, float, float]
    greatest_velocity: tuple[float, float, float]
    cord_load: tuple[float, float, float]


def quantiles(values: np.ndarray) -> tuple[float, float, float]:
    """Return the values below which 5, 50 and 95 % of those that are numbers lie.

    Parameters
    ----------
    values : ndarray, shape (members,)
        NaN where it did not happen.
    """
    there = values[~np.isnan(values)]
    if not there.size:
        return (np.nan, np.nan, np.nan)
    low, middle, high = np.quantile(there, (0.05, 0.5, 0.95))
    return float(low), float(middle), float(high)
