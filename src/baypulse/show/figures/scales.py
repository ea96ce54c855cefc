"""What figures of studies share: units by kind of value, shares, limits, looks of verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baypulse.case import quantities, units
from baypulse.case.quantities import pretty
from baypulse.members.quantities import Limit
from baypulse.run.result import Verdict
from baypulse.show.figures.base import (
    COOL,
    INK,
    LINE,
    PAPER,
    SOFT,
    WARM,
    exchange,
    finite,
    limits,
    points,
    ruler,
    write,
)
from baypulse.show.figures.labels import Labels, broken, text_width

FAR = 3.0
"""A limit more than this many times above what is drawn is named at the edge, not drawn."""

LIGHT = "#dde6ed"
"""Paper of what most members do."""

MIDDLE = "#a9c0cf"
"""Paper of what half of them do."""

BETWEEN = 1e-6
"""Relative width below which values are taken for one and the same."""

VERDICT_LOOKS: dict[str, tuple[str, str, str]] = {
    Verdict.NO_SEPARATION: ("#d9dde3", "...", SOFT),
    Verdict.PARTIAL_SEPARATION: ("#cfdfe4", "\\\\\\", COOL),
    Verdict.SEPARATES: ("#e6eef3", "", INK),
    Verdict.SEPARATES_TOO_HARD: ("#f3ddd0", "///", WARM),
    Verdict.UNDECIDED: ("#ece8d6", "xxx", SOFT),
}
"""Paper, hatch and colour of the hatch of each verdict; the hatch tells without colour."""


@dataclass(frozen=True)
class Scale:
    """The units in which a kind of value is drawn.

    Attributes
    ----------
    dimension : str
        One of :data:`baypulse.case.units.DIMENSIONS`.
    unit, other : str
        Main unit, and the one beside it; empty where there is none.
    whole : bool
        Whether it counts something.
    """

    dimension: str
    unit: str
    other: str
    whole: bool = False

    def to(self, value: Any) -> Any:
        """Return SI values in the main unit."""
        return 100.0 * value if self.unit == "%" else units.convert(value, self.unit)

    def text(self, value: float) -> str:
        """Return one SI value with its unit, and the other unit in brackets."""
        if self.whole or not self.other:
            return self.short(value)
        other = quantities.digits(units.convert(value, self.other))
        return f"{self.short(value)} ({other} {pretty(self.other)})"

    def short(self, value: float) -> str:
        """Return one SI value with its main unit."""
        if self.whole:
            return f"{value:.0f}"
        return f"{quantities.digits(self.to(value))} {pretty(self.unit)}".strip()

    def named(self, what: str) -> str:
        """Return a name with the main unit in brackets."""
        return f"{what} ({pretty(self.unit)})" if self.unit else what

    def upright(self, axes: Any, what: str = "") -> None:
        """Draw both units along the sides of axes whose limits are final."""
        ruler(axes, "left", self.named(what) if what else pretty(self.unit), whole=self.whole)
        if self.other:
            low, high = (
                exchange(v, self.unit, self.other, self.dimension) for v in axes.get_ylim()
            )
            ruler(axes, "right", pretty(self.other), (low, high))

    def level(self, axes: Any, what: str = "") -> None:
        """Draw both units along the bottom of axes whose limits are final."""
        if not self.other:
            name = self.named(what) if what else pretty(self.unit)
            ruler(axes, "bottom", name, whole=self.whole)
            return
        low, high = (exchange(v, self.unit, self.other, self.dimension) for v in axes.get_xlim())
        ruler(axes, "bottom")
        both = f"{pretty(self.unit)} above, {pretty(self.other)} below"
        ruler(axes, "bottom", f"{what} ({both})" if what else both, (low, high), shift=13.0)


def scale_of(dimension: str, values: Any = 0.0) -> Scale:
    """Return the scale for a kind of value.

    Parameters
    ----------
    dimension : str
        One of :data:`baypulse.case.units.DIMENSIONS`.
    values : array_like
        SI; their size chooses between small and large units.
    """
    most = float(np.abs(finite(np.atleast_1d(np.asarray(values, dtype=float)))).max())
    unit, *other = quantities.preferred(most, dimension)
    return Scale(dimension, unit, other[0] if other else "")


def level(values: Any) -> bool:
    """Say whether all finite values are the same, or nearly."""
    good = finite(np.asarray(values, dtype=float))
    return float(np.ptp(good)) <= BETWEEN * float(np.abs(good).max(initial=0.0))


def set_height(
    axes: Any, scale: Scale, values: np.ndarray, held: Sequence[Limit], above: float = 0.2
) -> None:
    """Set the upright limits of axes so that values and near limits are seen.

    Parameters
    ----------
    axes : matplotlib Axes
        To draw on.
    scale : Scale
        Units.
    values : ndarray
        Everything drawn, SI.
    held : sequence of Limit
        Limits; those far above the values are left out.
    above : float
        Room above, as a share.
    """
    good = scale.to(finite(values))
    least, most = float(good.min()), float(good.max())
    if scale.dimension == "temperature":
        room = 0.1 * (most - least) + 1.0
        axes.set_ylim(least - room, most + 2.0 * room)
        return
    near = [scale.to(limit.value) for limit in held]
    near = [value for value in near if value <= FAR * max(most, 1e-9)]
    axes.set_ylim(*limits([least, most, *near], above=above))


def draw_limits(
    axes: Any, labels: Labels, scale: Scale, held: Sequence[Limit], colour: str = WARM
) -> None:
    """Draw limits as level lines with their names; those off the scale are named at the top.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final.
    labels : Labels
        Of the axes.
    scale : Scale
        Units of the upright scale.
    held : sequence of Limit
        The limits.
    colour : str
        Of lines and names; levels that are no limits are drawn softer.
    """
    low, high = axes.get_xlim()
    bottom, top = axes.get_ylim()
    at = [(scale.to(limit.value), limit) for limit in held]
    inside = [(y, limit) for y, limit in at if bottom <= y <= top]
    for y, _ in inside:
        axes.axhline(y, color=colour, ls=(0, (7, 3)), lw=1.5, zorder=2.5)
        labels.avoid([low, high], [y, y])
    for y, limit in inside:
        labels.along(f"{limit.label}: {scale.text(limit.value)}", np.array([low, high]),
                     np.full(2, y), colour)  # fmt: skip
    x = np.tile(np.linspace(high, low, 12), 6)
    rows = bottom + (top - bottom) * np.repeat([0.97, 0.82, 0.3, 0.65, 0.5, 0.2], 12)
    for y, limit in at:
        if y > top:
            labels.put(f"{limit.label}: {scale.text(limit.value)}, above this scale", x, rows,
                       "below", SOFT)  # fmt: skip


def corner(axes: Any, labels: Labels, text: str) -> None:
    """Write what a panel shows into its upper left corner, and keep labels off it."""
    wide, top = (float(side) for side in points(axes))
    lines = broken(text, wide - 8.0, bold=True)[0]
    box = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.85}
    write(axes, 0.0, 1.0, "\n".join(lines), right=4.0, up=-3.0, va="top", fontweight="bold",
          zorder=9, linespacing=1.05, bbox=box)  # fmt: skip
    across = max(text_width(line, bold=True) for line in lines) + 8.0
    labels.taken.append((0.0, top - 5.0 - LINE * len(lines), across, top + 2.0))


def empty(axes: Any, sentence: str) -> None:
    """Say in the middle of a panel why nothing is drawn there."""
    text = "\n".join(broken(sentence, float(points(axes)[0]), bold=False)[0])
    axes.text(0.5, 0.5, text, transform=axes.transAxes, ha="center", va="center", color=SOFT)
