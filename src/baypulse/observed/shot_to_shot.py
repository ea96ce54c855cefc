"""What lasts from shot to shot, what is new in each, and members that share what lasts."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from scipy.special import ndtr

from baypulse.members import draws
from baypulse.members.factors import Factor, differs_by_pin

Array = np.ndarray

EACH_PIN = "each pin"
"""What the data calls a pin's own part of a strength."""


@cache
def new_in_each_shot() -> dict[str, str]:
    """Return what is new in every shot, by path, with its reason: ``observed/each_shot.toml``."""
    place = resources.files("baypulse") / "observed" / "each_shot.toml"
    entries = tomllib.loads(place.read_text(encoding="utf-8"))["shot"]
    return {entry["path"]: entry["reason"] for entry in entries}


def lasts(factor: Factor) -> bool:
    """Say whether what a factor moves is the same in every shot of a build.

    Parameters
    ----------
    factor : Factor
        From :func:`baypulse.members.factors.factors`; what a group has in common is new only where
        all that it moves is.
    """
    fresh = new_in_each_shot()
    if not factor.common and all(differs_by_pin(path) for path in factor.paths):
        return EACH_PIN not in fresh
    return not all(path in fresh for path in factor.paths)


def lasting_columns(factors: Sequence[Factor]) -> dict[str, int]:
    """Return the column of the unit cube of everything that lasts, by the factor's name."""
    return {factor.name: factor.columns[0] for factor in factors if lasts(factor)}


@dataclass(frozen=True)
class ScoreLayout:
    """Where the scores of a build that fires several shots stand: first what lasts, then each shot.

    Attributes
    ----------
    held, fresh : tuple of int
        Columns of the unit cube that last, and that are drawn anew in every shot.
    shots : int
        How many each build fires.
    """

    held: tuple[int, ...]
    fresh: tuple[int, ...]
    shots: int

    @property
    def size(self) -> int:
        """Numbers of a build."""
        return len(self.held) + self.shots * len(self.fresh)

    def points(self, scores: Array, shot: int) -> Array:
        """Return the points of the unit cube that one shot of every build has.

        Parameters
        ----------
        scores : ndarray, shape (builds, size)
            Standard normal scores.
        shot : int
            Which.

        Returns
        -------
        ndarray, shape (builds, dimensions)
        """
        start = len(self.held) + shot * len(self.fresh)
        u = np.empty((scores.shape[0], len(self.held) + len(self.fresh)))
        u[:, self.held] = inside(scores[:, : len(self.held)])
        u[:, self.fresh] = inside(scores[:, start : start + len(self.fresh)])
        return u


def layout(factors: Sequence[Factor], shots: int) -> ScoreLayout:
    """Return where the scores of builds stand.

    Parameters
    ----------
    factors : sequence of Factor
        What scatters.
    shots : int
        How many each build fires.
    """
    held = sorted(lasting_columns(factors).values())
    whole = range(1 + max((column for each in factors for column in each.columns), default=-1))
    return ScoreLayout(tuple(held), tuple(column for column in whole if column not in held), shots)


def inside(scores: Array) -> Array:
    """Return points between 0 and 1, both excluded, of standard normal scores."""
    return np.clip(ndtr(scores), np.finfo(float).tiny, 1.0 - np.finfo(float).epsneg)


def fresh_points(
    factors: Sequence[Factor], builds: dict[str, Array], times: int, seed: int, skip: int = 0
) -> Array:
    """Return points of members whose lasting part is given and whose other part is drawn anew.

    Parameters
    ----------
    factors : sequence of Factor
        What scatters, of this case or of another that is much like it.
    builds : dict of ndarray, shape (builds,)
        By the name of a factor, points of what lasts; what is not there is drawn anew in each
        member.
    times : int
        Members of each build, one behind the other; a power of two makes them a good sample.
    seed : int
        Of what is drawn anew.
    skip : int
        Blocks of the seed to leave for others.

    Returns
    -------
    ndarray, shape (builds * times, dimensions)
    """
    whole = 1 + max((column for each in factors for column in each.columns), default=-1)
    members = times * (len(next(iter(builds.values()))) if builds else 1)
    u = draws.many_points(seed, members, whole, skip)
    for name, column in lasting_columns(factors).items():
        if name in builds:
            u[:, column] = np.repeat(builds[name], times)
    return u
