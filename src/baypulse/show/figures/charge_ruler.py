"""The ruler of a charge, in grams and grains, on a logarithmic scale."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.case.quantities import pretty
from baypulse.show.figures.base import SOFT, points
from baypulse.show.figures.scales import Scale

_STEPS = (
    (1.0,), (1.0, 3.0), (1.0, 2.0, 5.0), (1.0, 2.0, 3.0, 5.0, 7.0),
    (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0), tuple(k / 5.0 for k in range(5, 50)),
    tuple(k / 10.0 for k in range(10, 100)), tuple(k / 50.0 for k in range(50, 500)),
)  # fmt: skip
"""Numbers on the scale of a charge, which is logarithmic; the coarsest first."""

_APART = 34.0
"""Least distance between two numbers of that scale [points]."""


def place_of(scale: Scale, charges: Any) -> Any:
    """Return where charges lie on a logarithmic scale of their main unit."""
    return np.log10(scale.to(np.asarray(charges, dtype=float)))


def charge_ruler(axes: Any, scale: Scale, side: str, numbers: bool, label: str) -> None:
    """Draw the logarithmic scale of a charge: the main unit below, the other one on top.

    Parameters
    ----------
    axes : matplotlib Axes
        Its level limits are logarithms of the main unit.
    scale : Scale
        Units.
    side : str
        ``"bottom"`` or ``"top"``.
    numbers : bool
        Whether to write numbers and label.
    label : str
        What the charge is called.
    """
    top = side == "top"
    unit = scale.other if top else scale.unit
    # one main unit in the other one
    factor = 1.0
    if top:
        one = scale.to(1.0)
        factor = Scale(scale.dimension, scale.other, "").to(1.0) / one
    low, high = (end + math.log10(factor) for end in axes.get_xlim())
    size = points(axes)
    found = log_ticks(low, high, float(size[0]))
    edge, out = (1.0, 1.0) if top else (0.0, -1.0)
    axes.plot([0.0, 1.0], [edge, edge], transform=axes.transAxes, color=SOFT, lw=0.8, clip_on=False)
    for value in found:
        share = (math.log10(value) - low) / (high - low)
        axes.plot([share, share], [edge, edge + out * 3.5 / size[1]], transform=axes.transAxes,
                  color=SOFT, lw=0.8, clip_on=False)  # fmt: skip
        if numbers:
            axes.text(share, edge + out * 6.0 / size[1], f"{value:.6g}", transform=axes.transAxes,
                      ha="center", va="bottom" if top else "top")  # fmt: skip
    if numbers:
        axes.text(0.5, edge + out * 19.0 / size[1], f"{label} ({pretty(unit)})",
                  transform=axes.transAxes, ha="center", va="bottom" if top else "top")  # fmt: skip


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
