"""Results computed beforehand, over charge, pins and slow to quick powder, for a saved page.

Every second charge of the slider is a node. The charges between are computed too, and held against
what interpolation makes of their neighbours: where the two agree the interpolated value is kept,
and the greatest difference is told; where they do not, as where the verdict changes, the computed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.live.ladder import charges, outcomes
from baypulse.live.quickness import STEPS, held_at, scatters
from baypulse.members.blocks import Progress
from baypulse.members.outcomes import Outcomes
from baypulse.observed.shot_log import with_pins

CLOSE = 0.01
"""Greatest difference between an interpolated and a computed number that is let stand."""

MORE_PINS = 2
"""Pins beyond those of the case."""

MOST_PINS = 8
"""Pins at most, unless the case has more."""

NAMES = ("peak_pressure", "clear_velocity", "cord_load")
"""Numbers of each shot; those before the last are held to :data:`CLOSE`."""


@dataclass(frozen=True)
class Lane:
    """All charges with one number of pins and one kind of powder.

    Attributes
    ----------
    pins : int
        How many.
    step : float
        Place between slow (-1) and quick (1) powder.
    case : Case
        With these pins and this powder.
    outcomes : Outcomes
        As computed, of every charge.
    numbers : ndarray, shape (len(NAMES), charges)
        Interpolated where that is close enough [SI]; NaN for what did not happen.
    interpolated : ndarray of bool, shape (charges,)
        Where.
    error : float
        Greatest difference there of peak pressure or speed, as a share.
    """

    pins: int
    step: float
    case: Case
    outcomes: Outcomes
    numbers: np.ndarray
    interpolated: np.ndarray
    error: float


@dataclass(frozen=True)
class Grid:
    """All that a saved page can show.

    Attributes
    ----------
    case : Case
        Of which it is.
    charges : list of float
        Of the slider [SI].
    pins : list of int
        Numbers of pins.
    steps : tuple of float
        Places between slow and quick powder.
    lanes : dict
        By number of pins and place.
    """

    case: Case
    charges: list[float]
    pins: list[int]
    steps: tuple[float, ...]
    lanes: dict[tuple[int, float], Lane]

    @property
    def error(self) -> float:
        """Greatest difference between an interpolated and a computed number, as a share."""
        return max(lane.error for lane in self.lanes.values())

    @property
    def interpolated(self) -> int:
        """How many shots are interpolated."""
        return sum(int(lane.interpolated.sum()) for lane in self.lanes.values())


def grid(case: Case, progress: Progress | None = None) -> Grid:
    """Compute all that a saved page can show.

    Parameters
    ----------
    case : Case
        With any charge.
    progress : callable, optional
        Called with shots done, and how many there will be.
    """
    steps = STEPS if scatters(case) else (0.0,)
    count = 0 if case.pins is None else case.pins.count
    pins = list(range(max(min(count + MORE_PINS, MOST_PINS), count) + 1)) if count else [0]
    ladder = charges(case)
    lanes: dict[tuple[int, float], Lane] = {}
    for number in pins:
        for step in steps:
            lanes[number, step] = _lane(case, ladder, number, step)
            if progress is not None:
                progress(len(lanes) * len(ladder), len(pins) * len(steps) * len(ladder))
    return Grid(case, ladder, pins, tuple(steps), lanes)


def _lane(case: Case, ladder: list[float], pins: int, step: float) -> Lane:
    held = held_at(with_pins(case, pins), step)
    found = outcomes(held, np.array(ladder), lambda: False)
    assert found is not None
    computed = np.array([found.column(name) for name in NAMES])
    guess = _between(np.array(ladder), computed)
    alike = np.zeros(len(ladder), dtype=bool)
    for k in range(1, len(ladder) - 1, 2):
        around = [k - 1, k, k + 1]
        alike[k] = (
            len(set(found.verdict[around])) == len(set(found.contents[around])) == 1
            and len({tuple(np.isnan(computed[:, j])) for j in around}) == 1
        )
    with np.errstate(invalid="ignore", divide="ignore"):
        difference = np.nan_to_num(np.abs(guess / computed - 1.0))[:-1].max(axis=0)
    kept = alike & (difference < CLOSE)
    return Lane(
        pins, step, held, found, np.where(kept, guess, computed), kept,
        float(difference[kept].max(initial=0.0)),
    )  # fmt: skip


def _between(ladder: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Return what the neighbours of every charge make of it by a straight line."""
    found = values.copy()
    share = (ladder[1:-1] - ladder[:-2]) / (ladder[2:] - ladder[:-2])
    found[:, 1:-1] = values[:, :-2] + share * (values[:, 2:] - values[:, :-2])
    return found
