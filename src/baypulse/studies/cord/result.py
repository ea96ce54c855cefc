"""What the study of the cord is made of: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.chances import Chance
from baypulse.run.result import Result

SHARES = (0.05, 0.5, 0.95, 0.99)
"""Shares of the members at the values that a :class:`Spans` holds."""

HELD = 0.95
"""Share of the members that must have at least the wanted margin."""

Spans = tuple[float, float, float, float]
"""Values below which 5, 50, 95 and 99 % of the members lie, SI."""


@dataclass(frozen=True)
class Link:
    """Something that the cord's whole load goes through.

    Attributes
    ----------
    name : str
        What it is.
    strength : float
        At the nominal values, with knot and wear [N].
    strengths : tuple of float
        Of the members (:data:`Spans`) [N].
    weakest : Chance
        That of all links this is the weakest.
    exceeded : Chance
        That the load exceeds its strength.
    """

    name: str
    strength: float
    strengths: Spans
    weakest: Chance
    exceeded: Chance


@dataclass(frozen=True)
class CarriedLoad:
    """What the members of one cord carry; all are members in which the bay separates.

    Attributes
    ----------
    loads : tuple of float
        Peak loads (:data:`Spans`) [N]; 0 where the sections come to rest before the cord pulls.
    margin : float
        That :data:`HELD` of the members have at least: strength of their weakest link over their
        peak load; infinite where so many carry no load.
    unloaded : float
        Share of the members in which the sections come to rest before the cord pulls.
    """

    loads: Spans
    margin: float
    unloaded: float


@dataclass(frozen=True)
class Point:
    """One length of a cord.

    Attributes
    ----------
    length : float
        [m].
    load : Load
        Of its members.
    """

    length: float
    load: CarriedLoad


@dataclass(frozen=True)
class CordKind:
    """One type of cord in place of the case's.

    Attributes
    ----------
    name : str
        Of the library.
    own : bool
        Whether it is the case's, with what was measured of it.
    strength : float
        Of the weakest link at the nominal values [N].
    weakest : str
        Its name.
    nominal : float
        Strength over peak load at the present length, nothing scattering; infinite without load.
    present : Point
        At the case's length.
    points : tuple of Point
        All lengths that were run, rising.
    needed : Point or None
        The least length at which the wanted margin is held; None where it is not, up to the longest
        that was tried.
    at_shortest : bool
        Whether the shortest length that was tried is already enough.
    """

    name: str
    own: bool
    strength: float
    weakest: str
    nominal: float
    present: Point
    points: tuple[Point, ...]
    needed: Point | None
    at_shortest: bool


@dataclass(frozen=True)
class Stage:
    """One stage of the cord's brake, in the order in which they tear.

    Attributes
    ----------
    name : str
        Of its bundle.
    force, stroke, length : float
        Nominal [N], [m], and cord that it holds [m].
    energy : float
        That it takes at the nominal values: force times the travel in it [J].
    energies : tuple of float
        Of the members (:data:`Spans`) [J].
    torn : Chance
        That it tears to its end.
    """

    name: str
    force: float
    stroke: float
    length: float
    energy: float
    energies: Spans
    torn: Chance


@dataclass(frozen=True)
class BrakedCord:
    """A cord with a number of stages, or without any.

    Attributes
    ----------
    stages : int
        How many.
    nominal : float
        Peak load, nothing scattering [N]; 0 without load.
    energy : float
        Taken by all stages then [J].
    load : Load
        Of the members.
    stopped : Chance
        That the sections come to rest in the brake.
    contents_out : Chance or None
        That the parachute comes out; None where nobody asks.
    """

    stages: int
    nominal: float
    energy: float
    load: CarriedLoad
    stopped: Chance
    contents_out: Chance | None


@dataclass(frozen=True)
class Cords:
    """What the cord of a case carries, and what would carry it better.

    Attributes
    ----------
    case : Case
        The case.
    wanted : float
        Margin that was asked for.
    seed, members : int
        Seed, and members of every cord: the same shots.
    result : Result
        The run in which nothing scatters.
    opened : Chance
        That the bay separates at all; what follows is of those members.
    links : tuple of Link
        Everything in series, the nominally weakest first.
    load : Load
        Of the case's cord.
    margins : tuple of float
        Strength of the weakest link over the load (:data:`Spans`); the low end is the bad one.
    exceeded : Chance
        That the load exceeds the strength of any link.
    rebound : tuple of float
        Speed at which the sections come back (:data:`Spans`) [m/s]; NaN where none do.
    kinds : tuple of Kind
        Every type of the library, the case's own first.
    shortest, longest : float
        Lengths between which was searched [m].
    parting_energy : float or None
        Energy of the separation when the first stage of the brake begins to tear, nothing
        scattering [J].
    stages : tuple of Stage
        Of the case's brake; empty without one.
    trial : tuple of float
        Force [N] and stroke [m] of each stage of a brake that was tried; NaN where the case has
        one of its own.
    brakes : tuple of Brake
        Without stages first; then with the case's, or with a rising number of the trial's.
    runs : int
        Runs of the engine that the answer took.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    case: Case
    wanted: float
    seed: int
    members: int
    result: Result
    opened: Chance
    links: tuple[Link, ...]
    load: CarriedLoad
    margins: Spans
    exceeded: Chance
    rebound: Spans
    kinds: tuple[CordKind, ...]
    shortest: float
    longest: float
    parting_energy: float | None
    stages: tuple[Stage, ...]
    trial: tuple[float, float]
    brakes: tuple[BrakedCord, ...]
    runs: int
    warnings: tuple[str, ...]

    @property
    def own(self) -> CordKind:
        """The case's own type of cord."""
        return next(kind for kind in self.kinds if kind.own)

    @property
    def nominal_load(self) -> float:
        """Peak load where nothing scatters [N]; 0 without load."""
        return self.result.numbers.cord_load or 0.0


def spans(values: np.ndarray) -> Spans:
    """Return the values below which the :data:`SHARES` of those that are numbers lie.

    Parameters
    ----------
    values : ndarray, shape (members,)
        NaN where it did not happen; infinite values are values.
    """
    there = np.sort(values[~np.isnan(values)])
    if not there.size:
        return (math.nan, math.nan, math.nan, math.nan)
    # a value that occurs: infinite ones have no middle
    a, b, c, d = (float(there[min(int(share * there.size), there.size - 1)]) for share in SHARES)
    return a, b, c, d


def margin_held(margins: np.ndarray) -> float:
    """Return the margin that :data:`HELD` of the members have at least.

    Parameters
    ----------
    margins : ndarray, shape (members,)
        Infinite where there is no load.
    """
    ranked = np.sort(margins)
    return float(ranked[min(math.floor((1.0 - HELD) * ranked.size + 1e-9), ranked.size - 1)])
