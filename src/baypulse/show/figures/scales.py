"""What figures of studies share: units by kind of value, shares, limits, looks of verdicts."""

from __future__ import annotations

import textwrap
from collections.abc import Container, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baypulse.case import quantities, units
from baypulse.case.quantities import pretty
from baypulse.members.quantities import Limit
from baypulse.run.result import Verdict
from baypulse.show.figures.base import (
    BOTTOM,
    COOL,
    FAINT,
    INK,
    LETTER,
    PAPER,
    SMALL,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    axes_at,
    blank,
    exchange,
    finite,
    headline,
    limits,
    points,
    ruler,
    write,
)
from baypulse.show.figures.labels import Labels, text_width

FAR = 3.0
"""A limit more than this many times above what is drawn is named at the edge, not drawn."""

ROW = 0.27
"""Height of a row [in]."""

LONGEST = 32
"""Longest line [characters] of a name beside a row; a name has two, the page has it whole."""

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
    x = np.tile(np.linspace(high, low, 12), 3)
    rows = bottom + (top - bottom) * np.repeat([0.97, 0.82, 0.3], 12)
    for y, limit in at:
        if y > top:
            labels.put(f"{limit.label}: {scale.text(limit.value)}, above this scale", x, rows,
                       "below", SOFT)  # fmt: skip


def corner(axes: Any, labels: Labels, text: str) -> None:
    """Write what a panel shows into its upper left corner, and keep labels off it."""
    box = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.85}
    write(axes, 0.0, 1.0, text, right=6.0, up=-3.0, va="top", fontweight="bold", zorder=9, bbox=box)
    wide, top = 5.4 * len(text) + 10.0, float(points(axes)[1])
    labels.taken.append((0.0, top - 15.0, wide, top + 2.0))


def empty(axes: Any, sentence: str) -> None:
    """Say in the middle of a panel why nothing is drawn there."""
    axes.text(0.5, 0.5, sentence, transform=axes.transAxes, ha="center", va="center", color=SOFT)


def _lines(name: str) -> list[str]:
    """Return a name on at most two lines."""
    lines = textwrap.wrap(" ".join(name.split()), LONGEST) or [""]
    return lines if len(lines) < 3 else [lines[0], quantities.shorten(" ".join(lines[1:]), LONGEST)]


def row_margin(names: Sequence[str]) -> float:
    """Return the room that names need beside their rows [in]."""
    return 0.25 + max(text_width(line) for name in names for line in _lines(name)) / 72.0


def row_panels(
    title: str, names: Sequence[str], right: float, *, head: float = 0.0, foot: float = BOTTOM,
    tall: float = ROW, bold: Container[int] = (), shares: Sequence[float] = (1.0,),
) -> tuple[Any, list[Any]]:  # fmt: skip
    """Return a figure with a row for each name, the first on top, and its panels side by side.

    Parameters
    ----------
    title : str
        Over all of them.
    names : sequence of str
        Beside the rows.
    right, head, foot : float
        Margins on the right, below the title, and at the foot [in].
    tall : float
        Height of a row [in].
    bold : container of int
        Rows with heavy names.
    shares : sequence of float
        Widths of the panels as shares of the room beside the names; what is left is between them.
    """
    left, all_rows = row_margin(names), tall * len(names)
    figure = blank(TOP + head + all_rows + foot)
    headline(figure, title)
    room = WIDTH - left - right
    between = (1.0 - sum(shares)) / max(len(shares) - 1, 1)
    found = []
    start = 0.0
    for share in shares:
        axes = axes_at(figure, left + start * room, foot, share * room, all_rows)
        axes.set_ylim(len(names) - 0.5, -0.5)
        found.append(axes)
        start += share + between
    for row, name in enumerate(names):
        row_name(found[0], row, name, bold=row in bold)
    return figure, found


def row_text(axes: Any, row: int, text: str, *, right: float = 5.0, **look: Any) -> None:
    """Write beside the right end of a row, so far from it [points]."""
    shown = {"fontsize": SMALL, "va": "center"} | look
    axes.text(1.0 + right / points(axes)[0], row, text, transform=axes.get_yaxis_transform(),
              **shown)  # fmt: skip


def row_line(axes: Any, row: int) -> None:
    """Draw the faint line that leads along a row."""
    axes.axhline(row, color=FAINT, lw=0.6, zorder=0)


def range_bar(axes: Any, row: int, low: float, middle: float, high: float) -> None:
    """Draw a bar from a low to a high value in a row, with a mark at the middle one."""
    axes.barh(row, high - low, left=low, height=0.5, facecolor=MIDDLE, edgecolor=INK, lw=0.8)
    axes.plot([middle] * 2, [row - 0.25, row + 0.25], color=INK, lw=2.0, zorder=4)


def interval_line(axes: Any, row: int, low: float, high: float, zorder: int) -> None:
    """Draw an interval as a thin line; paper around it keeps it seen on a dark bar."""
    for colour, wide in ((PAPER, 3.0), (INK, 1.1)):
        axes.plot([low, high], [row, row], color=colour, lw=wide, solid_capstyle="butt",
                  zorder=zorder)  # fmt: skip


def key(axes: Any, looks: Sequence[tuple[str, str, str, str]], up: float = 11.0) -> float:
    """Draw what papers and hatches mean, side by side above axes.

    Parameters
    ----------
    axes : matplotlib Axes
        To draw above.
    looks : sequence of (str, str, str, str)
        Paper, hatch, its colour, and what it means.
    up : float
        How far above [points].

    Returns
    -------
    float
        Where more can be written [points from the left].
    """
    from matplotlib.patches import Rectangle

    size = points(axes)
    at = 0.0
    for paper, hatch, ink, text in looks:
        axes.add_patch(
            Rectangle((at / size[0], 1.0 + (up - 4.0) / size[1]), 14.0 / size[0], 8.0 / size[1],
                      facecolor=paper, edgecolor=ink, hatch=hatch or None, lw=0.6,
                      transform=axes.transAxes, clip_on=False)
        )  # fmt: skip
        write(axes, 0.0, 1.0, text, right=at + 18.0, up=up, va="center", fontsize=SMALL)
        at += 30.0 + 4.9 * len(text)
    return at


def row_name(axes: Any, row: int, name: str, bold: bool = False) -> None:
    """Write a name on the left of its row."""
    lines = _lines(name)
    axes.text(
        -8.0 / points(axes)[0], row, "\n".join(lines), ha="right", va="center",
        transform=axes.get_yaxis_transform(), fontweight="bold" if bold else "normal",
        fontsize=LETTER if len(lines) == 1 else SMALL, linespacing=1.0,
    )  # fmt: skip
