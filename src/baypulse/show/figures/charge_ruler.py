"""The ruler of a charge, or of a hole, on a logarithmic scale in both units."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.case.quantities import pretty
from baypulse.show.figures.base import draw_scale, points
from baypulse.show.figures.scales import Scale

_STEPS = (
    (1.0,), (1.0, 3.0), (1.0, 2.0, 5.0), (1.0, 2.0, 3.0, 5.0),
    (1.0, 2.0, 3.0, 5.0, 7.0),
    (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0), tuple(k / 5.0 for k in range(5, 50)),
    tuple(k / 10.0 for k in range(10, 100)), tuple(k / 50.0 for k in range(50, 500)),
)  # fmt: skip
"""Numbers on the scale of a charge, which is logarithmic; the coarsest first."""

_APART = 30.0
"""Least distance between two numbers of that scale [points]."""


def place_of(scale: Scale, charges: Any) -> Any:
    """Return where charges lie on a logarithmic scale of their main unit."""
    return np.log10(scale.to(np.asarray(charges, dtype=float)))


def reach(at: np.ndarray, room: float = 0.04) -> tuple[float, float]:
    """Return both ends of a scale that holds such places, with room beside them as a share."""
    beside = room * max(float(np.ptp(at)), 0.3)
    return float(at.min()) - beside, float(at.max()) + beside


def charge_ruler(axes: Any, scale: Scale, side: str, numbers: bool, label: str) -> None:
    """Draw a logarithmic scale: the main unit below or on the left, the other one opposite.

    Parameters
    ----------
    axes : matplotlib Axes
        Its limits along that side are logarithms of the main unit.
    scale : Scale
        Units.
    side : str
        ``"bottom"``, ``"top"``, ``"left"`` or ``"right"``.
    numbers : bool
        Whether to write numbers and label.
    label : str
        What the value is called.
    """
    upright, second = side in ("left", "right"), side in ("top", "right")
    unit = scale.other if second else scale.unit
    # one main unit in the other one
    factor = Scale(scale.dimension, scale.other, "").to(1.0) / scale.to(1.0) if second else 1.0
    ends = axes.get_ylim() if upright else axes.get_xlim()
    low, high = (end + math.log10(factor) for end in ends)
    along = float(points(axes)[1 if upright else 0])
    marks = [((math.log10(value) - low) / (high - low), f"{value:.6g}")
             for value in log_ticks(low, high, along)]  # fmt: skip
    draw_scale(axes, side, marks, f"{label} ({pretty(unit)})" if numbers else "", numbers)


def log_ticks(low: float, high: float, wide: float) -> list[float]:
    """Return round numbers on a logarithmic scale.

    Parameters
    ----------
    low, high : float
        Logarithms to base 10 of both ends.
    wide : float
        Length of the scale [points].

    Examples
    --------
    >>> log_ticks(-0.1, 1.1, 300.0)
    [1.0, 2.0, 3.0, 5.0, 7.0, 10.0]
    """
    best: list[float] = []
    for steps in _STEPS:
        found = [
            float(f"{step * 10.0**power:.6g}")
            for power in range(math.floor(low), math.floor(high) + 1)
            for step in steps
            if low <= math.log10(step) + power <= high
        ]
        logs = np.log10(found)
        near = float(np.diff(logs).min()) if len(found) > 1 else math.inf
        if near / (high - low) * wide >= _APART and len(found) > len(best):
            best = found
    return best
