"""What a diagnosis gives: causes with their odds, and the members behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.charges import Points
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.sightings import Sighting


@dataclass(frozen=True)
class Weighted:
    """The members of one ensemble, weighed by what was seen.

    Attributes
    ----------
    ensemble : CauseEnsemble
        The members.
    likelihood : ndarray, shape (members,)
        Of all sightings together, given each member; 1 where nothing was seen.
    weights : ndarray, shape (members,)
        The same, with a sum of 1; zeros where no member has any likelihood.
    """

    ensemble: CauseEnsemble
    likelihood: np.ndarray
    weights: np.ndarray


@dataclass(frozen=True)
class Finding:
    """What is known about one cause, or one pair of causes, after the sightings.

    Attributes
    ----------
    name : str
        As in the data; two names joined by " and " for a pair; "none of these".
    what : str
        A plain sentence; empty for a pair and for none of these.
    causes : tuple of str
        Names of the causes: one, two, or none.
    share : float
        Chance that this, and nothing else, was at work. The shares of all causes, of all pairs
        and of none of these add up to 1.
    low, high : float
        Interval of 95 % of the share from the finite number of members alone. It does not hold
        what is uncertain about the prior odds or the sightings' error rates.
    involved : float
        Chance that it was at work alone or in a pair; the share itself for a pair.
    prior : float
        The share before anything was seen.
    evidence : float
        Chance (for numbers, density) of all sightings together under it.
    ess : float
        Effective number of its members, 1 / sum of the squared weights; below about 10 the share
        is a guess. NaN for none of these, and 0 where no member could have been seen so.
    members : int
        Members that were run; 0 for none of these.
    seen : tuple of float
        For each sighting, in their order, its chance (for numbers, density) under this, over that
        under none of these: above 1 speaks for it, below 1 against.
    """

    name: str
    what: str
    causes: tuple[str, ...]
    share: float
    low: float
    high: float
    involved: float
    prior: float
    evidence: float
    ess: float
    members: int
    seen: tuple[float, ...]


@dataclass(frozen=True)
class Diagnosis:
    """Why a shot went as it did.

    Attributes
    ----------
    case : Case
        As it was meant to be.
    sightings : tuple of Sighting
        What was seen.
    causes : tuple of Finding
        Single causes, the greatest share first.
    pairs : tuple of Finding
        Pairs of causes, the greatest share first.
    none : Finding
        None of these.
    left_out : tuple of str
        Causes that cannot be at work in this case.
    ruled_out : mapping
        Causes that cannot have been at work in this shot, and the sighting that says so.
    members, pair_members : int
        Of each cause, and of each pair, at least; see :attr:`Finding.members`.
    seed : int
        Of the members.
    ensembles : mapping
        The weighted members by name, of causes and of pairs, for studies that build on these.
    points : callable or None
        What the members were drawn from, where they are not those of the case's spreads.
    """

    case: Case
    sightings: tuple[Sighting, ...]
    causes: tuple[Finding, ...]
    pairs: tuple[Finding, ...]
    none: Finding
    left_out: tuple[str, ...]
    ruled_out: Mapping[str, Sighting]
    members: int
    pair_members: int
    seed: int
    ensembles: Mapping[str, Weighted]
    points: Points | None = None

    @property
    def shares(self) -> dict[str, float]:
        """Share of every cause, pair and none of these, by name; they add up to 1."""
        every = (*self.causes, *self.pairs, self.none)
        return {finding.name: finding.share for finding in every}

    @property
    def ranked(self) -> list[Finding]:
        """Causes and pairs together, the greatest share first."""
        return sorted((*self.causes, *self.pairs), key=lambda each: -each.share)

    def typical(self, name: str) -> Case | None:
        """Return the member nearest to what was seen, as a case of its own for ``simulate``.

        Parameters
        ----------
        name : str
            Of a cause or a pair.

        Returns
        -------
        Case or None
            None where no member could have been seen so.
        """
        found = self.ensembles[name]
        if not found.weights.any():
            return None
        members = found.ensemble
        case = draws.one_member(members.case, members.values, int(found.weights.argmax()))
        holes = tuple(
            hole for hole in case.openings if hole.gap is not None or hole.hole_diameter > 0.0
        )
        return replace(case, openings=holes)
