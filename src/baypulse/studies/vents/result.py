"""What the study of a vent is made of: plain numbers, ready for figures, pages and files.

Vents are compared by the diameter of the single hole that has the same area, whatever the number of
holes: so many holes of a diameter d are one of d sqrt(number).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from baypulse.case.drills import Drill
from baypulse.case.model import Case
from baypulse.members.chances import Chance

FOUND = "found"
"""There is such an end of the window."""

NOT_NEEDED = "not needed"
"""No vent is needed during the ascent."""

NOT_ENOUGH = "not enough"
"""No vent helps, or the charge is too small without any."""

NO_BOUND = "no bound"
"""The charge opens the bay with any vent that was looked at."""


INTEREST = ("present vent", "usual vent", "largest vent", "smallest vent")
"""Vents by which it is told whether vents matter: the first of them that there is."""


@dataclass(frozen=True)
class Vent:
    """The holes that are sought.

    Attributes
    ----------
    index : int
        Place among the openings of the case.
    name : str
        Of the opening.
    diameter, count : float, int
        Of one hole [m] as it is in the case, and the number of holes; 0 and 1 where there is none.
    assumed : bool
        Whether the case has no such opening.
    """

    index: int
    name: str
    diameter: float
    count: int
    assumed: bool

    @property
    def single(self) -> float:
        """Diameter of the single hole of the same area [m]."""
        return self.diameter * math.sqrt(self.count)


@dataclass(frozen=True)
class VentAscent:
    """The ascent with one vent.

    Attributes
    ----------
    single : float
        Diameter of the single hole [m], 0 without a vent.
    force : float
        Greatest force that opens the joint: trapped air and drag [N].
    pressure : float
        Pressure difference over the joint at that moment [Pa].
    drag : float
        Drag's part of that force [N].
    time, altitude : float
        Of that moment [s], [m].
    """

    single: float
    force: float
    pressure: float
    drag: float
    time: float
    altitude: float


@dataclass(frozen=True)
class AscentCourse:
    """Pressure over the joint during the ascent.

    Attributes
    ----------
    name : str
        ``"no vent"``, ``"smallest vent"``, ``"present vent"``, ``"largest vent"``, or ``"usual
        vent"`` where the case has none.
    single : float
        Diameter of the single hole [m], 0 without a vent.
    time, pressure : ndarray, shape (n,)
        [s]; bay minus outside [Pa].
    """

    name: str
    single: float
    time: np.ndarray
    pressure: np.ndarray


@dataclass(frozen=True)
class Lower:
    """The smallest vent, from the ascent.

    Attributes
    ----------
    state : str
        ``FOUND``; ``NOT_NEEDED`` if the joint stays below the wanted share without a vent;
        ``NOT_ENOUGH`` if no vent that was looked at keeps it below.
    single : float
        Diameter of the single hole [m]; 0 if no vent is needed, infinite if none is enough.
    hold : float
        What holds the joint with pins and friction at their low side [N].
    """

    state: str
    single: float
    hold: float


@dataclass(frozen=True)
class Upper:
    """The largest vent, from the charge.

    Attributes
    ----------
    state : str
        ``FOUND``; ``NO_BOUND`` if the bay separates often enough with any vent that was looked at;
        ``NOT_ENOUGH`` if it separates too seldom without any.
    single : float
        Diameter of the single hole [m]; infinite without a bound, 0 if the charge is too small.
    low, high : float
        Between which it lies with 95 % confidence [m]; NaN beyond what was looked at.
    chance : Chance
        Of opening with it; without a vent where none is found.
    """

    state: str
    single: float
    low: float
    high: float
    chance: Chance


@dataclass(frozen=True)
class VentShot:
    """The nominal shot with one vent.

    Attributes
    ----------
    name : str
        As of a :class:`Course`; with ``slow`` the same with a slower powder.
    single : float
        Diameter of the single hole [m].
    slow : bool
        Whether the powder burns slower than the case's.
    lost : float
        Share of the gas that has left by the vent when the joint is clear, or until the bay's
        pressure is at its peak where it does not clear.
    peak : float
        Peak gauge pressure [Pa].
    burn_time : float
        From the first burning grain until nine tenths of what burns have burnt [s]; NaN for a cold
        gas.
    clear_time : float
        From the same moment until the joint is clear [s]; NaN where it does not separate.
    opens : Chance
        What the members do.
    """

    name: str
    single: float
    slow: bool
    lost: float
    peak: float
    burn_time: float
    clear_time: float
    opens: Chance


@dataclass(frozen=True)
class Turn:
    """From how slow a powder on a vent matters, with nothing scattering.

    Attributes
    ----------
    times : float
        So many times slower than the case's powder.
    burn_time : float
        Of that powder, until nine tenths of what burns have burnt [s].
    taken : float
        Share of the peak pressure that the vent takes there.
    opens, still : bool
        Whether the joint separates there without the vent, and with it.
    """

    times: float
    burn_time: float
    taken: float
    opens: bool
    still: bool


@dataclass(frozen=True)
class Bleed:
    """How fast a vent empties the bay.

    Attributes
    ----------
    single : float
        Diameter of the single hole [m].
    hot, cold : float
        Time in which it would let the pressure fall to 1/e, choked, with gas as hot as at the peak
        of the nominal shot, and with air as it is around [s].
    temperature : float
        Of that hot gas [K].
    """

    single: float
    hot: float
    cold: float
    temperature: float


@dataclass(frozen=True)
class Pattern:
    """So many holes of one drill.

    Attributes
    ----------
    drill : Drill
        The drill.
    count : int
        Number of holes.
    single : float
        Diameter of the single hole of the same area [m].
    """

    drill: Drill
    count: int
    single: float


@dataclass(frozen=True)
class VentRemedy:
    """One change to a case, and what it does to the window.

    Attributes
    ----------
    change : str
        In words.
    lower, upper : Lower, Upper
        The ends with it.
    """

    change: str
    lower: Lower
    upper: Upper

    @property
    def opens_window(self) -> bool:
        """Whether there is a window with this change."""
        return is_window(self.lower, self.upper)


@dataclass(frozen=True)
class Vents:
    """Between which vents the joint holds during the ascent and the charge opens it.

    An answer has of the curves none, of the shots those it tells of, and neither `leaky` nor
    `turn`.

    Attributes
    ----------
    case : Case
        The case.
    wanted : float
        Chance of separation, and of a joint that is at least as strong as its low side.
    share : float
        Share of what holds the joint that may be used up on the way.
    vent : Vent
        The holes that are sought, as they are in the case.
    way : str
        Where the ascent is from, in words.
    pulled : bool
        Whether the pull of drag is in it.
    greatest : float
        Largest single hole that was looked at [m].
    lower, upper : Lower, Upper
        Ends of the window.
    leaky : Lower or None
        The smallest vent if the gap around the shoulder stays as open as it is in the case; None
        where the case has no gap. Everywhere else during the ascent it counts as closed.
    pushes, leaky_pushes : tuple of Push
        The ascent over the vent, without a vent first, rising; and the same with that gap.
    chances : tuple of (float, Chance)
        Of opening over the vent's single hole [m], by fewer members, without a vent first, rising.
    present, sealed : Push
        The ascent with the case's own vent, and without one.
    present_chance, sealed_chance : Chance
        That the bay separates with the case's own vent, and without one; by all members.
    courses : tuple of Course
        Pressure over the joint during the ascent.
    shots : tuple of Shot
        The nominal shot with several vents, and with slower powder.
    bleed : Bleed or None
        Of the case's own vent, or the largest, or the smallest.
    turn : Turn or None
        From how slow a powder on that vent matters; None where it does not, and for a cold gas.
    patterns : tuple of Pattern
        Of each number of holes and each system the one nearest to the middle of the window.
    remedies : tuple of VentRemedy
        Changes, where there is no window.
    members, seed, runs : int
        Members behind the largest vent, their seed, and runs of the engine in all.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    case: Case
    wanted: float
    share: float
    vent: Vent
    way: str
    pulled: bool
    greatest: float
    lower: Lower
    upper: Upper
    leaky: Lower | None
    pushes: tuple[VentAscent, ...]
    leaky_pushes: tuple[VentAscent, ...]
    chances: tuple[tuple[float, Chance], ...]
    present: VentAscent
    sealed: VentAscent
    present_chance: Chance
    sealed_chance: Chance
    courses: tuple[AscentCourse, ...]
    shots: tuple[VentShot, ...]
    bleed: Bleed | None
    turn: Turn | None
    patterns: tuple[Pattern, ...]
    remedies: tuple[VentRemedy, ...]
    members: int
    seed: int
    runs: int
    warnings: tuple[str, ...]

    @property
    def is_window(self) -> bool:
        """Whether any vent, or none at all, does for both."""
        return is_window(self.lower, self.upper)

    @property
    def place(self) -> str:
        """Where the case's own vent stands: ``"inside"``, ``"too small"`` or ``"too large"``.

        Where it is both, it is ``"neither"``.
        """
        small = self.vent.single < self.lower.single
        large = self.vent.single > self.upper.single or self.upper.state == NOT_ENOUGH
        return {
            (False, False): "inside", (True, False): "too small",
            (False, True): "too large", (True, True): "neither",
        }[small, large]  # fmt: skip


def is_window(lower: Lower, upper: Upper) -> bool:
    """Return whether any vent, or none at all, does for the ascent and for the charge."""
    if NOT_ENOUGH in (lower.state, upper.state):
        return False
    return lower.single <= upper.single
