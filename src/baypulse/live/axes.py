"""The scales of a chart: round numbers and their texts, so that the page writes none itself."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities, units
from baypulse.show.figures.base import ticks

MOST_TICKS = 5
"""Numbers along a scale; a phone has no room for more."""

FIGURES = 6
"""Digits of a point that is drawn: a screen has fewer pixels."""

SMALL = {
    "length": 0.1,
    "time": 0.1,
    "velocity": 10.0,
    "gauge pressure": 1e5,
    "force": 100.0,
    "mass": 1e-3,
}
"""A usual value of each kind [SI]: it chooses the unit, so that settings beside each other share
theirs."""


def unit_of(dimension: str) -> str:
    """Return the unit in which charts draw a kind of value.

    Parameters
    ----------
    dimension : str
        One of :data:`SMALL`.
    """
    return quantities.preferred(SMALL[dimension], dimension)[0]


def drawn(values: Any, dimension: str) -> list[float]:
    """Return values in the unit in which they are drawn.

    Parameters
    ----------
    values : ndarray
        SI.
    dimension : str
        One of :data:`SMALL`.
    """
    scale = units.convert(1.0, unit_of(dimension))
    return [float(f"{value:.{FIGURES}g}") for value in (np.asarray(values) * scale).tolist()]


def axis(label: str, dimension: str, low: float, high: float) -> dict[str, Any]:
    """Return a scale: ends, the places of its numbers and their texts, its name with the unit.

    Parameters
    ----------
    label : str
        What it measures.
    dimension : str
        One of :data:`SMALL`.
    low, high : float
        What it has to hold [SI].
    """
    first, last = drawn(np.array([low, high]), dimension)
    last = last if last > first else first + 1.0
    places, decimals = ticks(first, last, MOST_TICKS)
    return {
        "label": f"{label} ({quantities.pretty(unit_of(dimension))})",
        "low": first,
        "high": last,
        "ticks": places,
        "texts": [f"{place + 0.0:.{decimals}f}" for place in places],
    }
