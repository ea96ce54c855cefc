"""What a sweep gives: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.members.quantities import QuantityCurve


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
    quantities : tuple of QuantityCurve
        The chance of separation and of separating too hard come first, where the case scatters.
    warnings : tuple of str
        What to know before trusting it.
    """

    case: Case
    axes: tuple[Axis, ...]
    members: int
    seed: int
    verdict: np.ndarray
    quantities: tuple[QuantityCurve, ...]
    warnings: tuple[str, ...]
