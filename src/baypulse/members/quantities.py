"""Numbers of members over an input, and the limits that they are drawn beside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case import geometry, library
from baypulse.case.cord_fields import cord_strength
from baypulse.case.model import Case


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
class QuantityCurve:
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


def levels(case: Case) -> dict[str, tuple[Limit, ...]]:
    """Return the limits beside each number or curve, by its name.

    Parameters
    ----------
    case : Case
        The case; limits are those of its nominal values.
    """
    wall = library.wall(case.bay.wall, case.materials).tensile_strength
    burst = wall / geometry.hoop_stress(case, 1.0)
    pressure = [Limit("tube wall", burst)]
    if case.limits.bay_pressure is not None:
        pressure.append(Limit("limit of the bay", case.limits.bay_pressure))
    found = {"peak_pressure": tuple(pressure), "gauge_pressure": tuple(pressure)}
    if case.limits.separation_velocity is not None:
        limit = (Limit("limit", case.limits.separation_velocity),)
        found |= {"greatest_velocity": limit, "separation_velocity": limit}
    if case.cord is not None:
        strength, link = cord_strength(case)
        found["cord_load"] = (Limit(link, strength),)
    found["travel"] = (Limit("shoulder out", case.joint.shoulder_length),)
    return found
