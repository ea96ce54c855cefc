"""Figures with a row for each name: the name above, and below it what is drawn in the row."""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import Any

from baypulse.show.figures.base import (
    BOTTOM,
    FAINT,
    INK,
    LINE,
    PAPER,
    WIDTH,
    axes_at,
    points,
    titled,
)
from baypulse.show.figures.labels import broken, fitting, text_width
from baypulse.show.figures.scales import MIDDLE

ROW = 0.4
"""Height of a row at least, its name above what is drawn in it [in]."""

BAR = 0.46
"""Height of a bar, over that of its row."""

_NEAR = 0.08
"""Room below the bar of the last row, in heights of a row."""

INDENT = 3.0
"""Room between the line at the left of rows and their names [points]."""

ROW_LEFT = 0.2
"""Margin on the left of rows [in]."""

ROW_RIGHT = 0.16
"""Margin on the right of rows [in]."""


def row_panels(
    title: str, names: Sequence[str], numbers: Sequence[str] = (), *, head: float = 0.0,
    foot: float = BOTTOM, bold: Container[int] = (), shares: Sequence[float] = (1.0,),
) -> tuple[Any, list[Any]]:  # fmt: skip
    """Return a figure with a row for each name, the first on top, and its panels side by side.

    Parameters
    ----------
    title : str
        Over all of them.
    names : sequence of str
        Of the rows.
    numbers : sequence of str
        What stands at the right of each name; empty for nothing.
    head, foot : float
        Margins below the title, and at the foot [in].
    bold : container of int
        Rows with heavy names.
    shares : sequence of float
        Widths of the panels as shares of the room; what is left is between them.
    """
    figure = titled(title, head + rows_height(names, numbers) + foot)
    return figure, rows_at(figure, foot, names, numbers, bold, shares)


def rows_height(names: Sequence[str], numbers: Sequence[str] = ()) -> float:
    """Return how high the rows of names are [in]."""
    lines = _lines(names, numbers)
    return _row_height(lines) * (len(names) - 1.0 + 0.5 * BAR + _NEAR + _above(lines))


def _lines(names: Sequence[str], numbers: Sequence[str]) -> int:
    """Return on how many lines names are written: on two where many are long."""
    long = sum(
        text_width(" ".join(name.split())) > _room(numbers[row] if row < len(numbers) else "")
        for row, name in enumerate(names)
    )
    return 2 if 3 * long >= max(len(names), 1) else 1


def _room(number: str) -> float:
    """Return how wide a name beside a number may be [points]."""
    wide = 72.0 * (WIDTH - ROW_LEFT - ROW_RIGHT) - INDENT
    return wide - (text_width(number, bold=True) + 6.0 if number else 0.0)


def _row_height(lines: int) -> float:
    """Return the height of a row whose name has so many lines [in]."""
    return max(ROW, (lines * LINE + 3.0) / (1.0 - BAR) / 72.0)


def _above(lines: int) -> float:
    """Return how far above the middle of its bar a row begins, in heights of a row."""
    return 0.5 * BAR + (lines * LINE + 2.0) / (72.0 * _row_height(lines))


def rows_at(
    figure: Any, foot: float, names: Sequence[str], numbers: Sequence[str] = (),
    bold: Container[int] = (), shares: Sequence[float] = (1.0,), left: float = ROW_LEFT,
    right: float = ROW_RIGHT,
) -> list[Any]:  # fmt: skip
    """Return panels side by side, so far from the foot of a figure, with a row for each name.

    A name stands above what is drawn in its row; see :func:`row_panels`.
    """
    room = WIDTH - left - right
    lines = _lines(names, numbers)
    between = (1.0 - sum(shares)) / max(len(shares) - 1, 1)
    found = []
    start = 0.0
    for share in shares:
        axes = axes_at(figure, left + start * room, foot, share * room,
                       rows_height(names, numbers))  # fmt: skip
        axes.set_ylim(len(names) - 1.0 + 0.5 * BAR + _NEAR, -_above(lines))
        found.append(axes)
        start += share + between
    # a long name reaches over the other panels
    found[0].set_zorder(2.0)
    for row, name in enumerate(names):
        number = numbers[row] if row < len(numbers) else ""
        _head_of_row(found, row, name, number, lines, bold=row in bold)
    return found


def _head_of_row(
    axes: Sequence[Any], row: int, name: str, number: str, lines: int, bold: bool
) -> None:
    """Write the name of a row at its left, and a number at its right, above its bar."""
    look: Any = {
        "fontweight": "bold" if bold else "normal", "va": "center", "zorder": 7,
        "bbox": {"facecolor": PAPER, "edgecolor": "none", "pad": 0.3},
    }  # fmt: skip
    shown = broken(" ".join(name.split()), _room(number), bold)[0]
    if len(shown) > lines:
        shown = [*shown[: lines - 1], fitting(" ".join(shown[lines - 1 :]), _room(number), bold)]
    per = 72.0 * _row_height(lines)
    first, last = axes[0], axes[-1]
    up = row - 0.5 * BAR - (0.5 * LINE * lines + 1.0) / per
    first.text(INDENT / points(first)[0], up, "\n".join(shown), linespacing=1.05,
               transform=first.get_yaxis_transform(), **look)  # fmt: skip
    if number:
        last.text(1.0, up, number, ha="right", transform=last.get_yaxis_transform(), **look)


def row_line(axes: Any, row: int) -> None:
    """Draw the faint line that leads along a row."""
    axes.axhline(row, color=FAINT, lw=0.6, zorder=0)


def range_bar(axes: Any, row: int, low: float, middle: float, high: float) -> None:
    """Draw a bar from a low to a high value in a row, with a mark at the middle one."""
    axes.barh(row, high - low, left=low, height=BAR, facecolor=MIDDLE, edgecolor=INK, lw=0.8)
    axes.plot([middle] * 2, [row - 0.5 * BAR, row + 0.5 * BAR], color=INK, lw=2.0, zorder=4)


def interval_line(axes: Any, row: int, low: float, high: float, zorder: int) -> None:
    """Draw an interval as a thin line; paper around it keeps it seen on a dark bar."""
    for colour, wide in ((PAPER, 3.0), (INK, 1.1)):
        axes.plot([low, high], [row, row], color=colour, lw=wide, solid_capstyle="butt",
                  zorder=zorder)  # fmt: skip
