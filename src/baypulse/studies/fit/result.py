"""What a fit gives, as plain data."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.chances import Chance
from baypulse.observed.measured import Scalar
from baypulse.show.document import Between
from baypulse.studies.fit.prepared_records import PreparedRecord
from baypulse.studies.fit.unknowns import Unknown

NOTHING = 0.9
"""Posterior over prior standard deviation above which nothing was learnt."""


@dataclass(frozen=True)
class Range:
    """Middle and 95 % range of a number, SI."""

    low: float
    middle: float
    high: float

    def between(self, dimension: str) -> Between:
        """Return it as a cell of a table."""
        return Between(self.middle, self.low, self.high, dimension)


@dataclass(frozen=True)
class Fitted:
    """An unknown before and after.

    Attributes
    ----------
    unknown : Unknown
        What it is, and its prior.
    before, after : Range
        Without and with what was measured.
    best : float
        Value that fits best while all else has its nominal value, but for the other unknowns of
        which something was learnt; the nominal one where nothing was. For a case file.
    left : float
        Posterior over prior standard deviation of its normal score: 1 where nothing was learnt.
    moved : float
        How far its middle moved, in standard deviations of the prior.
    deviation : float
        Of the logarithm where the prior is log-normal, else of the value, SI.
    """

    unknown: Unknown
    before: Range
    after: Range
    best: float
    left: float
    moved: float
    deviation: float

    @property
    def learnt(self) -> bool:
        """Whether what was measured says anything of it."""
        return self.left <= NOTHING


@dataclass(frozen=True)
class Moved:
    """A number that was not asked for and was moved by the data.

    Attributes
    ----------
    label : str
        What it is called.
    moved, left : float
        As of :class:`Fitted`.
    """

    label: str
    moved: float
    left: float


@dataclass(frozen=True)
class Unsure:
    """Something of a record that was found beside: when it was fired, lag, zero, drift.

    Attributes
    ----------
    name : str
        One of the names in :mod:`baypulse.studies.fit.responses`.
    value, deviation : float
        SI; the deviation of the lag is that of its logarithm.
    left : float
        Posterior over prior standard deviation.
    """

    name: str
    value: float
    deviation: float
    left: float


@dataclass(frozen=True)
class RecordFit:
    """A record and what the model says of it.

    Attributes
    ----------
    shot : str
        Of which shot.
    prepared : Prepared
        The readings that were fitted.
    before, after, low, high : ndarray, shape (n,)
        What the gauge would have shown with the case as it is, with the most probable values, and
        the 95 % range of that, SI.
    error : float
        Standard deviation of a reading against the model, SI.
    effective : float
        Readings that count as independent.
    unsure : tuple of Unsure
        What was found beside.
    """

    shot: str
    prepared: PreparedRecord
    before: np.ndarray
    after: np.ndarray
    low: np.ndarray
    high: np.ndarray
    error: float
    effective: float
    unsure: tuple[Unsure, ...]


@dataclass(frozen=True)
class NumberFit:
    """A single number of a shot and what the model says of it.

    Attributes
    ----------
    shot : str
        Of which shot.
    scalar : Scalar
        What was measured.
    before : float
        With the case as it is, SI.
    after : Range
        With what was learnt.
    """

    shot: str
    scalar: Scalar
    before: float
    after: Range


@dataclass(frozen=True)
class LoggerFigure:
    """A figure that loggers in the sections tell by themselves, without a model.

    Attributes
    ----------
    name, label, dimension : str
        What it is, and its kind.
    measured, error : float
        As logged, and one standard deviation, SI.
    least : bool
        Whether it is "at least so much", since a sensor was at the end of its range.
    before : float
        What the logger would have shown with the case as it is; of a mass ratio and of a cord, what
        the case says. NaN where there is nothing to say.
    after : Range
        What it would have shown with what was learnt.
    true : Range
        The same with nothing lost by the logger's sampling.
    """

    name: str
    label: str
    dimension: str
    measured: float
    error: float
    least: bool
    before: float
    after: Range
    true: Range


@dataclass(frozen=True)
class Sampling:
    """How the posterior was sampled.

    Attributes
    ----------
    walkers, steps : int
        Of the ensemble, and steps that were kept.
    acceptance : float
        Share of accepted moves.
    effective : float
        Independent draws that the steps are worth, for the worst unknown.
    """

    walkers: int
    steps: int
    acceptance: float
    effective: float


@dataclass(frozen=True)
class Fit:
    """Everything that a fit gives.

    Attributes
    ----------
    case : Case
        As it was read.
    fitted : tuple of Fitted
        The unknowns.
    correlation : ndarray, shape (n, n)
        Between the unknowns' scores, after.
    moved : tuple of Moved
        Other numbers that were moved.
    records : tuple of RecordFit
        The records.
    loggers : tuple of LoggerFigure
        What loggers in the sections tell by themselves.
    numbers : tuple of NumberFit
        The single numbers.
    misfit : float
        Sum of the squared pulls of the single numbers.
    opens_before, opens_after, opens_written : Chance
        Chance that a shot like the case's separates: as the case says, with all that was learnt,
        and as the new case file says, whose spreads do not know of each other.
    members : int
        Shots drawn for a chance.
    seed : int
        Of the draws.
    runs : int
        Shots that were run.
    sampling : Sampling or None
        Where the posterior was sampled.
    notes : tuple of str
        What was found in the records.
    files : tuple of str
        What was fitted: names of files, and of shots.
    """

    case: Case
    fitted: tuple[Fitted, ...]
    correlation: np.ndarray
    moved: tuple[Moved, ...]
    records: tuple[RecordFit, ...]
    loggers: tuple[LoggerFigure, ...]
    numbers: tuple[NumberFit, ...]
    misfit: float
    opens_before: Chance
    opens_after: Chance
    opens_written: Chance
    members: int
    seed: int
    sampling: Sampling | None
    notes: tuple[str, ...]
    files: tuple[str, ...]

    @property
    def name(self) -> str:
        """Of the case."""
        return self.case.name
