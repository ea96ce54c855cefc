"""Which measurement of a bay would narrow its least charge most, before any shot."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from importlib import resources

import numpy as np

from baypulse.case.casefile.keys import number_at
from baypulse.case.model import Case
from baypulse.members.charge_search import FAR, Search
from baypulse.members.charges import Charges, Tally

MEMBERS = 256
"""Simulated bays; a tenth of the scatter shows among so many."""

STEPS = 6
"""Times that the range of charges is halved: 63 charges are looked at, a tenth apart."""

MIDDLE = 0.90
"""Share of the bays whose least charge lies within the range that is told."""


@dataclass(frozen=True)
class Measurement:
    """Something to measure of a bay.

    Attributes
    ----------
    name : str
        In plain words.
    key : str
        Where the result is written; empty where nothing but a shot shows it.
    numbers : tuple of str
        Paths that are known then; a star stands for any name.
    how : str
        How it is done.
    """

    name: str
    key: str
    numbers: tuple[str, ...]
    how: str


@dataclass(frozen=True)
class Ranked:
    """A measurement, and what it would tell of one bay.

    Attributes
    ----------
    measurement : Measurement
        What to measure.
    narrows : float
        Share by which the scatter of the least charge, as a factor, would be less if the numbers
        were known.
    """

    measurement: Measurement
    narrows: float


@dataclass(frozen=True)
class LeastCharges:
    """Each simulated bay's own least charge, and what it comes from.

    Attributes
    ----------
    dimension : str
        Of the charge.
    low, high : float
        Between which nine of ten lie [SI]; `high` is infinite where more than one in twenty does
        not open with any charge that was looked at.
    ranked : tuple of Ranked
        The one that would narrow most first, what takes a shot last.
    """

    dimension: str
    low: float
    high: float
    ranked: tuple[Ranked, ...]


@cache
def measurements() -> tuple[Measurement, ...]:
    """Return everything that can be measured; what takes a shot stands last."""
    place = resources.files("baypulse") / "observed" / "measurements.toml"
    entries = tomllib.loads(place.read_text(encoding="utf-8"))["measurement"]
    return tuple(Measurement(e["name"], e["key"], tuple(e["numbers"]), e["how"]) for e in entries)


def measurement_of(path: str) -> Measurement:
    """Return the first measurement after which a number is known.

    Parameters
    ----------
    path : str
        Of a case, or of the library after ``"library."``.
    """
    return next(
        each for each in measurements() if any(fnmatchcase(path, name) for name in each.numbers)
    )


def least_charges(
    case: Case, *, members: int = MEMBERS, seed: int = 1, workers: int = 1
) -> LeastCharges:
    """Find each simulated bay's own least charge, and rank what would narrow it.

    Parameters
    ----------
    case : Case
        With its spreads.
    members : int
        Simulated bays.
    seed : int
        The same seed gives the same bays.
    workers : int
        Threads; the answer does not depend on them.

    Returns
    -------
    LeastCharges

    Raises
    ------
    StudyError
        If no bay has room for its contents.

    Notes
    -----
    The share of the scatter of ln(least charge) that a measurement takes away is the adjusted R^2
    of a linear regression of its rank on the ranks of the numbers: a first-order index by rank
    regression (A. Saltelli et al., Global Sensitivity Analysis: The Primer, 2008, section 1.2,
    from memory). The deviation that is left is sqrt(1 - R^2).
    """
    charges = Charges(case, members, seed, workers, Tally())
    found = _thresholds(charges)
    tail = 0.5 * (1.0 - MIDDLE)
    low, high = np.quantile(found, (tail, 1.0 - tail), method="closest_observation")
    return LeastCharges(
        dimension=number_at(charges.path).dimension,
        low=float(low),
        high=float(high),
        ranked=tuple(_ranked(charges, found)),
    )


def _thresholds(charges: Charges) -> np.ndarray:
    """Return the least charge of each member [SI], infinite where none that is tried opens it."""
    search = Search(charges, MIDDLE, charges.present)
    grid = np.geomspace(search.usual / FAR, search.ceiling, 2**STEPS - 1)
    # the middle of the range, then of both halves, and so on: each is tried with few members only
    for step in range(STEPS):
        first = 2 ** (STEPS - 1 - step) - 1
        for charge in grid[first :: 2 * (first + 1)]:
            search.opening.count(float(charge))
    return np.maximum(search.opening.middles(), grid[0])


def _ranked(charges: Charges, found: np.ndarray) -> list[Ranked]:
    groups: dict[Measurement, list[np.ndarray]] = {}
    for path, drawn in charges.values.items():
        column = drawn.mean(axis=1) if drawn.ndim == 2 else drawn
        groups.setdefault(measurement_of(path), []).append(column)
    ranked = [
        Ranked(each, 1.0 - math.sqrt(1.0 - explained(found, columns)))
        for each, columns in groups.items()
    ]
    return sorted(ranked, key=lambda each: (not each.measurement.key, -each.narrows))


def explained(values: np.ndarray, columns: Sequence[np.ndarray]) -> float:
    """Return the adjusted share of the variance of ranks that others explain, from 0 to 1.

    Parameters
    ----------
    values : ndarray, shape (members,)
        What is explained.
    columns : sequence of ndarray, shape (members,)
        By these.
    """
    n, k = values.size, len(columns)
    y = _ranks(values)
    x = np.stack([_ranks(column) for column in columns], axis=1)
    weight, *_ = np.linalg.lstsq(x, y)
    rest = float(((y - x @ weight) ** 2).sum() / (y**2).sum()) if y.any() else 1.0
    return min(max(1.0 - rest * (n - 1) / (n - k - 1), 0.0), 1.0)


def _ranks(values: np.ndarray) -> np.ndarray:
    """Return ranks from -n/2 to n/2, equal values in the middle of theirs."""
    ordered = np.sort(values)
    below, upto = (np.searchsorted(ordered, values, side) for side in ("left", "right"))
    return 0.5 * (below + upto - values.size)
