"""What the studies give: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.model import Case
from baypulse.study.chances import Chance
from baypulse.study.factors import Factor
from baypulse.study.influence import Influence, Swing
from baypulse.study.rare import Rare


@dataclass(frozen=True)
class Limit:
    """A level that a quantity is held against.

    Attributes
    ----------
    label : str
        What it is.
    value : float
        SI, at the nominal values of the case.
    """

    label: str
    value: float


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
        Of every verdict, in the order of :data:`baypulse.result.VERDICTS`.
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


@dataclass(frozen=True)
class Axis:
    """An input that is swept.

    Attributes
    ----------
    path, label, dimension : str
        Dotted path of the input, and what people call it; a count has the dimension
        ``"ratio"``.
    values : ndarray, shape (n,)
        SI, rising.
    """

    path: str
    label: str
    dimension: str
    values: np.ndarray


@dataclass(frozen=True)
class Quantity:
    """A number over the swept inputs.

    Attributes
    ----------
    name, label, dimension : str
        As of a distribution; a chance has the dimension ``"ratio"``.
    middle : ndarray, shape (n,) or (n, m)
        The value, or the median of the members; NaN where it did not happen.
    low, high : ndarray or None
        Between which nine of ten members lie (of a chance: its interval); None without spreads.
    limits : tuple of Limit
        To draw in.
    """

    name: str
    label: str
    dimension: str
    middle: np.ndarray
    low: np.ndarray | None
    high: np.ndarray | None
    limits: tuple[Limit, ...]


@dataclass(frozen=True)
class Sweep:
    """A case over one or two of its inputs.

    Attributes
    ----------
    case : Case
        The case.
    axes : tuple of Axis
        One or two.
    members : int
        Members at each point; 1 without spreads.
    seed : int
        Of the members, the same at every point.
    verdict : ndarray of int, shape (n,) or (n, m)
        Code of the most frequent verdict.
    quantities : tuple of Quantity
        The chance of separation and of separating too hard come first, where the case scatters.
    warnings : tuple of str
        What to know before trusting it.
    """

    case: Case
    axes: tuple[Axis, ...]
    members: int
    seed: int
    verdict: np.ndarray
    quantities: tuple[Quantity, ...]
    warnings: tuple[str, ...]
