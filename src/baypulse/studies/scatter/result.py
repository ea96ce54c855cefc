"""What a scatter gives: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.chances import Chance
from baypulse.members.factors import Factor
from baypulse.members.quantities import Limit
from baypulse.studies.scatter.influence import Influence, Swing
from baypulse.studies.scatter.rare import Rare


@dataclass(frozen=True)
class Distribution:
    """How one number scatters over the members.

    Attributes
    ----------
    name, label : str
        Column, and what people call it.
    dimension : str
        For showing it in other units.
    happened, members : int
        Members in which there is such a number (a joint that does not separate has no separation
        velocity), and all members.
    edges, counts : ndarray, shapes (n + 1,), (n,)
        Histogram of those in which it happened, SI.
    shares, quantiles : tuple of float
        Shares of them, and the values below which these lie, SI.
    mean, deviation : float
        Mean and standard deviation of them, SI; the latter NaN for fewer than two.
    limits : tuple of Limit
        To draw beside it.
    """

    name: str
    label: str
    dimension: str
    happened: int
    members: int
    edges: np.ndarray
    counts: np.ndarray
    shares: tuple[float, ...]
    quantiles: tuple[float, ...]
    mean: float
    deviation: float
    limits: tuple[Limit, ...]


@dataclass(frozen=True)
class Band:
    """How one curve scatters.

    Attributes
    ----------
    name, label, dimension : str
        As of the curve of a result.
    times : ndarray, shape (n,)
        [s].
    shares : tuple of float
        Shares of the members, rising; the middle one is 0.5.
    values : ndarray, shape (len(shares), n)
        At each time the value below which that share of the members lies, SI.
    nominal : ndarray, shape (n,)
        The run in which nothing scatters.
    members : int
        Members behind it.
    limits : tuple of Limit
        To draw beside it.
    """

    name: str
    label: str
    dimension: str
    times: np.ndarray
    shares: tuple[float, ...]
    values: np.ndarray
    nominal: np.ndarray
    members: int
    limits: tuple[Limit, ...]


@dataclass(frozen=True)
class Output:
    """A number whose causes are asked for.

    Attributes
    ----------
    name, label, dimension : str
        ``"separates"`` has no dimension (``"ratio"``): 1 where the joint separates, else 0.
    nominal : float
        At the middle of all factors, SI.
    swings : tuple of Swing
        Each factor alone at both ends of its range, the widest first.
    influences : tuple of Influence
        Sobol' indices, the largest total first; empty where the number does not vary.
    reason : str
        Why there are none, else empty.
    """

    name: str
    label: str
    dimension: str
    nominal: float
    swings: tuple[Swing, ...]
    influences: tuple[Influence, ...]
    reason: str


@dataclass(frozen=True)
class Scatter:
    """What thousands of members say about a case.

    Attributes
    ----------
    case : Case
        The case.
    members, seed : int
        Size and seed of the ensemble.
    sampling : str
        ``"sobol"`` or ``"latin"``.
    factors : tuple of Factor
        What scatters.
    verdicts : tuple of Chance
        Of every verdict, in the order of :data:`baypulse.run.result.VERDICTS`.
    contents : tuple of Chance
        That the parachute comes out of a bay that separates; empty where that is not asked.
    limits : tuple of Chance
        That each limit is exceeded.
    distributions : tuple of Distribution
        Of peak pressure, separation velocity, cord load and others.
    bands : tuple of Band
        Of pressure, travel and separation velocity.
    outputs : tuple of Output
        What drives the answer.
    influence_runs : int
        Runs behind the influences.
    rare : Rare or None
        A rare outcome, where one was asked for.
    rare_name : str
        Which one.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    case: Case
    members: int
    seed: int
    sampling: str
    factors: tuple[Factor, ...]
    verdicts: tuple[Chance, ...]
    contents: tuple[Chance, ...]
    limits: tuple[Chance, ...]
    distributions: tuple[Distribution, ...]
    bands: tuple[Band, ...]
    outputs: tuple[Output, ...]
    influence_runs: int
    rare: Rare | None
    rare_name: str
    warnings: tuple[str, ...]
