"""What a sweep gives, in which units its inputs are told, and where one verdict ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baypulse.case.casefile.keys import key_at, value_at
from baypulse.case.model import Case
from baypulse.case.spec import Count, Number
from baypulse.members.quantities import QuantityCurve
from baypulse.show.figures.scales import Scale, scale_of


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


def flattened(sweep: Sweep) -> Sweep:
    """Return a sweep over two inputs, one of which has a single value, as one over the other.

    Parameters
    ----------
    sweep : Sweep
        Findings.
    """
    if len(sweep.axes) == 1 or min(axis.values.size for axis in sweep.axes) > 1:
        return sweep
    single = 1 if sweep.axes[1].values.size == 1 else 0

    def row(values: Any) -> Any:
        return None if values is None else np.take(values, 0, axis=single)

    return replace(
        sweep,
        axes=(sweep.axes[1 - single],),
        verdict=row(sweep.verdict),
        quantities=tuple(
            replace(q, middle=row(q.middle), low=row(q.low), high=row(q.high))
            for q in sweep.quantities
        ),
    )


def axis_scale(axis: Axis) -> Scale:
    """Return the units of a swept input.

    Parameters
    ----------
    axis : Axis
        A ratio stands in percent where people type it so; a count has no unit.
    """
    spec = key_at(axis.path).spec
    if isinstance(spec, Count):
        return Scale("ratio", "", "", whole=True)
    if isinstance(spec, Number) and axis.dimension == "ratio" and "%" not in spec.example:
        return Scale("ratio", "", "")
    return scale_of(axis.dimension, axis.values)


def edges(values: np.ndarray) -> np.ndarray:
    """Return the borders between the points of an axis, and half a step outside both ends."""
    if values.size == 1:
        step = 0.5 * abs(float(values[0])) or 0.5
        return np.array([values[0] - step, values[0] + step])
    middle = 0.5 * (values[1:] + values[:-1])
    return np.concatenate(
        ([values[0] - (middle[0] - values[0])], middle, [values[-1] + (values[-1] - middle[-1])])
    )


def nominal(sweep: Sweep, axis: Axis) -> float | None:
    """Return the case's own value of an input, if it lies within the swept ones."""
    value = value_at(sweep.case, axis.path)
    inside = value is not None and axis.values[0] <= value <= axis.values[-1]
    return float(value) if inside else None


def behind(sweep: Sweep) -> str:
    """Return the words for how many members are behind a point."""
    return f", {sweep.members:,} shots a point" if sweep.members > 1 else ""
