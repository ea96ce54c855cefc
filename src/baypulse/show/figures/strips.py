"""A strip over a logarithmic scale that says what can be said of each stretch of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from baypulse.show.figures.base import INK, PAPER, SOFT, WARM, filled, points
from baypulse.show.figures.charge_ruler import place_of
from baypulse.show.figures.labels import text_width
from baypulse.show.figures.scales import Scale

WEAK = ("#d9dde3", "...", SOFT)
"""Paper, hatch and its colour where it is too little; the hatch tells without colour."""

HARD = ("#f3ddd0", "///", WARM)
"""Paper, hatch and its colour where it is too much."""

NEITHER = ("#ece8d6", "xxx", SOFT)
"""Paper, hatch and its colour where it is too little and too much at once."""

GOOD = (PAPER, "", INK)
"""Paper, hatch and its colour where it is right."""

TALL = 17.0
"""Height of a strip [points]."""


class Stretch(NamedTuple):
    """A stretch of values of which one thing can be said.

    Attributes
    ----------
    low, high : float
        SI; infinite where it has no end.
    names : tuple of str
        What it is, the longest first.
    look : tuple of str
        Paper, hatch and colour of the hatch.
    """

    low: float
    high: float
    names: tuple[str, ...]
    look: tuple[str, str, str]

    def place(self, axes: Any, scale: Scale) -> tuple[float, float]:
        """Return where it begins and ends on axes, the second no greater where it is not seen."""
        low, high = axes.get_xlim()
        start = low if self.low <= 0.0 else max(float(place_of(scale, self.low)), low)
        stop = high if math.isinf(self.high) else min(float(place_of(scale, self.high)), high)
        return start, stop


def strip(axes: Any, found: Sequence[Stretch], scale: Scale) -> float:
    """Draw the stretches along the foot of axes, with their names.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits across must be final: logarithms of the scale's main unit.
    found : sequence of Stretch
        The stretches.
    scale : Scale
        Units.

    Returns
    -------
    float
        Height of the strip, as a share of the axes.
    """
    axes.set_ylim(0.0, 1.0)
    low, high = axes.get_xlim()
    wide, tall = (float(side) for side in points(axes))
    share = TALL / tall
    for each in found:
        start, stop = each.place(axes, scale)
        if stop <= start:
            continue
        filled(axes.axvspan, start, stop, 0.0, share, look=each.look)
        room = (stop - start) / (high - low) * wide
        good = each.look is GOOD
        name = next((name for name in each.names if text_width(name, good) + 6.0 < room), "")
        if name:
            axes.text(0.5 * (start + stop), 0.5 * share, name, ha="center", va="center", zorder=5,
                      fontweight="bold" if good else "normal",
                      bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8})  # fmt: skip
    return share


def sure(axes: Any, low: float, high: float, scale: Scale, up: float) -> None:
    """Draw the interval of an end over the strip, where it has both its ends."""
    if all(math.isfinite(end) and end > 0.0 for end in (low, high)):
        axes.plot(place_of(scale, [low, high]), [up, up], color=INK, lw=2.4, clip_on=False,
                  solid_capstyle="butt", zorder=6)  # fmt: skip


def behind(axes: Any, found: Sequence[Stretch], scale: Scale) -> None:
    """Draw the good stretch, and the ends of all, behind a panel."""
    low, high = axes.get_xlim()
    for each in found:
        start, stop = each.place(axes, scale)
        if each.look is GOOD and start < stop:
            axes.axvspan(start, stop, facecolor="#e9edf2", edgecolor="none", zorder=0)
        for end in (each.low, each.high):
            if end > 0.0 and math.isfinite(end) and low < float(place_of(scale, end)) < high:
                axes.axvline(float(place_of(scale, end)), color=INK, lw=1.1, zorder=1.5)
