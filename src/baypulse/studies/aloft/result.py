"""What a bay does aloft, beside the same bay at home: plain numbers for figures and pages."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.chances import Chance
from baypulse.members.charge_results import Edge, Trial
from baypulse.run.result import Numbers, Result
from baypulse.studies.aloft.first_failure import Height


@dataclass(frozen=True)
class Level:
    """The bay at one altitude: nothing scattering, and the members.

    Attributes
    ----------
    name : str
        ``"test site"`` or ``"aloft"``.
    result : Result
        With nothing scattering, in the air there.
    trial : Trial
        Of the members: that the bay separates and, where that is asked, the parachute comes out;
        that any limit is exceeded; how their numbers scatter.
    burnts, clear_times : tuple of float
        Share of the charge that burns, and time from the firing command [s]: the values below
        which 5, 50 and 95 % of those members lie in which it happened; NaN where it happened in
        none.
    """

    name: str
    result: Result
    trial: Trial
    burnts: tuple[float, float, float]
    clear_times: tuple[float, float, float]

    @property
    def altitude(self) -> float:
        """Where it is fired [m]."""
        return self.result.case.surroundings.altitude


@dataclass(frozen=True)
class AltitudeStep:
    """One difference between home and the highest altitude asked for, added to those before.

    Attributes
    ----------
    effect : str
        One of :data:`baypulse.studies.aloft.altitude_case.EFFECTS`; ``"test site"`` for the first.
    label : str
        In words.
    result : Result
        With nothing scattering.
    least : float or None
        Least charge that opens the bay with nothing scattering [SI, as weighed or filled at home];
        None where none does.
    """

    effect: str
    label: str
    result: Result
    least: float | None


@dataclass(frozen=True)
class Need:
    """What charge an altitude asks for.

    Attributes
    ----------
    altitude : float
        [m].
    least : Edge or None
        Least charge that opens the bay with the target reliability [SI, as weighed or filled at
        home]; None where none does.
    highest : float
        Greatest charge that was looked at [SI].
    share_at_highest : float
        Share of the members that it separates, where there is no least charge; else NaN.
    charge : float or None
        With the same margin as at home, charge over least charge [SI]; None where that is below 1.
    opens, fails_hard : Chance or None
        Of the members with that charge.
    limit : str
        The limit that most of them exceed, where too many exceed one; else empty.
    """

    altitude: float
    least: Edge | None
    highest: float
    share_at_highest: float
    charge: float | None
    opens: Chance | None
    fails_hard: Chance | None
    limit: str


@dataclass(frozen=True)
class SourceAloft:
    """One source of gas over the altitude.

    Attributes
    ----------
    name : str
        As of a :class:`baypulse.studies.aloft.gas_sources.Source`.
    own : bool
        Whether it is the case's own.
    assumed : str
        What was assumed of it; empty for the case's own.
    altitudes : ndarray, shape (n,)
        Rising, the first at home [m].
    chances : tuple of Chance
        That it separates there, by the same members; the first with both sections as in the ground
        test.
    height : Height
        Up to which altitude it separates with the target reliability.
    """

    name: str
    own: bool
    assumed: str
    altitudes: np.ndarray
    chances: tuple[Chance, ...]
    height: Height


@dataclass(frozen=True)
class Aloft:
    """The same charge at home and up there; an answer has no needs up there and no sources.

    Attributes
    ----------
    case, home : Case
        The case as it was read, and its ground test; the same unless the case is in flight.
    wanted : float
        Chance of separation that is wanted.
    members, seed : int
        Members, and their seed.
    label, dimension : str
        What a charge is: ``"charge"`` or ``"fill pressure"``.
    present : float
        That of the case [SI].
    levels : tuple of Level
        At home, then at every altitude asked for, rising.
    steps : tuple of AltitudeStep
        From home to the highest altitude asked for.
    home_need : Need
        At home; its charge is that of the case.
    needs : tuple of Need
        At every altitude asked for; without a charge where there is no margin at home.
    sources : tuple of SourceAloft
        The case's own first.
    missing : str
        Why a source could not be compared, a sentence; empty where all three are.
    top : float
        Highest altitude that was looked at [m].
    runs : int
        Runs of the engine.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    case: Case
    home: Case
    wanted: float
    members: int
    seed: int
    label: str
    dimension: str
    present: float
    levels: tuple[Level, ...]
    steps: tuple[AltitudeStep, ...]
    home_need: Need
    needs: tuple[Need, ...]
    sources: tuple[SourceAloft, ...]
    missing: str
    top: float
    runs: int
    warnings: tuple[str, ...]

    @property
    def highest(self) -> Level:
        """The highest altitude asked for."""
        return self.levels[-1]

    @property
    def margin(self) -> float | None:
        """Charge over least charge at home; None where no charge opens the bay."""
        least = self.home_need.least
        return None if least is None else self.present / least.charge


def cord_margin(numbers: Numbers) -> float | None:
    """Return the strength of the cord's weakest link over its load; None where it does not pull.

    Parameters
    ----------
    numbers : Numbers
        Of a run.
    """
    load, strength = numbers.cord_load, numbers.cord_strength
    return None if not load or strength is None else strength / load
