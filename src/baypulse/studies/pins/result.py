"""What pins against charge are made of: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.chances import Chance
from baypulse.members.charge_results import Trial


@dataclass(frozen=True)
class Spot:
    """One number of pins with one charge.

    Attributes
    ----------
    count : int
        Pins; 0 for none.
    trial : Trial
        What its members do: the chance of separation is that of all, everything else of those that
        are known in full.
    in_full : int
        How many are.
    joint : Chance
        That the joint separates, whatever becomes of the contents.
    margin : tuple of float
        Strength of the weakest link over the cord's load: the values below which 5, 50 and 95 %
        lie of the members whose cord pulls; NaN where none does.
    works : ndarray of bool, shape (members,)
        Which members separate and let their parachute go; the same members at every number of pins.
    speeds : ndarray, shape (members,)
        Separation velocity of each, NaN where the joint does not separate or it is not known in
        full [m/s].
    """

    count: int
    trial: Trial
    in_full: int
    joint: Chance
    margin: tuple[float, float, float]
    works: np.ndarray
    speeds: np.ndarray


@dataclass(frozen=True)
class Harder:
    """More pins that open a bay harder.

    Attributes
    ----------
    fewer, more : Spot
        Both open in nearly all shots.
    before, after : float
        Median speed of the members that separate with both [m/s].
    grown : float
        Median of the ratio of both, each member against itself: half as many members tell it better
        than they tell the ratio of the medians.
    """

    fewer: Spot
    more: Spot
    before: float
    after: float
    grown: float


@dataclass(frozen=True)
class PinMap:
    """All numbers of one kind of pins with all charges.

    Attributes
    ----------
    thread : str
        Kind of pins.
    own : bool
        Whether it is the case's.
    spots : tuple of tuple of Spot
        A row for each number of pins, a spot for each charge.
    """

    thread: str
    own: bool
    spots: tuple[tuple[Spot, ...], ...]


@dataclass(frozen=True)
class Burning:
    """One powder, and one charge of it, over the number of pins.

    Attributes
    ----------
    name : str
        Granulation.
    quick : bool
        Whether it is the finer of both.
    charge : float
        [kg].
    spots : tuple of Spot
        One for each number of pins.
    """

    name: str
    quick: bool
    charge: float
    spots: tuple[Spot, ...]


@dataclass(frozen=True)
class Rise:
    """More pins that raise the chance of separation.

    Attributes
    ----------
    where : str
        Kind of pins, or the powder.
    charge : float
        SI.
    fewer, more : Spot
        Of the same members so many more open with more pins that it is no chance: an exact sign
        test on those that differ.
    """

    where: str
    charge: float
    fewer: Spot
    more: Spot


@dataclass(frozen=True)
class PinStudy:
    """Pins against charge.

    Attributes
    ----------
    case : Case
        The case.
    label, dimension : str
        What the charge is called, and its dimension.
    present : float
        The charge of the case, SI.
    counts : tuple of int
        Numbers of pins, rising.
    charges : ndarray, shape (n,)
        Rising, SI; one of them is that of the case, if it lies between.
    maps : tuple of PinMap
        The case's own kind of pins first.
    burnings : tuple of Burning
        Quick and slow powder at the charge of the case and at its least charge; empty for a cold
        gas, and where the grains were measured.
    rises : tuple of Rise
        Where more pins raise the chance of separation.
    members, seed, runs : int
        Members of a spot of the maps, their seed, and all runs.
    """

    case: Case
    label: str
    dimension: str
    present: float
    counts: tuple[int, ...]
    charges: np.ndarray
    maps: tuple[PinMap, ...]
    burnings: tuple[Burning, ...]
    rises: tuple[Rise, ...]
    members: int
    seed: int
    runs: int
