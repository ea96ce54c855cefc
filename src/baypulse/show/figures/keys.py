"""What papers, hatches and marks mean, side by side above axes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from baypulse.show.figures.base import PAPER, points, write
from baypulse.show.figures.labels import text_width

BESIDE = 28.0
"""Room for a sample and between two names [points]."""

KEY_LINE = 12.0
"""From row to row of a key [points]."""


class Look(NamedTuple):
    """What a key names.

    Attributes
    ----------
    paper, hatch, ink : str
        Of a box; without paper it is an upright line.
    text : str
        What it means.
    """

    paper: str
    hatch: str
    ink: str
    text: str


def key_rows(texts: Sequence[str], room: float) -> list[list[str]]:
    """Return what a key names, as many beside each other as there is room for [points]."""
    rows: list[list[str]] = [[]]
    at = 0.0
    for text in texts:
        if rows[-1] and at + 20.0 + text_width(text) > room:
            rows.append([])
            at = 0.0
        rows[-1].append(text)
        at += BESIDE + text_width(text)
    return rows


def line_key(
    axes: Any, looks: Sequence[tuple[str, str, Any, float]], up: float, right: float = 0.0
) -> float:
    """Draw what lines mean above axes, or at their top, side by side as there is room.

    Parameters
    ----------
    axes : matplotlib Axes
        To draw on.
    looks : sequence of (str, str, object, float)
        What a line means, its colour, dashes and width.
    up : float
        How far above the axes the highest row is [points]; below 0 it is inside.
    right : float
        Room on its left [points].

    Returns
    -------
    float
        How high it is [points].
    """
    size = points(axes)
    rows = key_rows([text for text, *_ in looks], float(size[0]) - right)
    rest = list(looks)
    for row in rows:
        at, high = right, 1.0 + up / size[1]
        for text in row:
            _, colour, dashes, wide = rest.pop(0)
            axes.plot([at / size[0], (at + 16.0) / size[0]], [high] * 2, color=colour, ls=dashes,
                      lw=wide, transform=axes.transAxes, clip_on=False, zorder=9)  # fmt: skip
            write(axes, 0.0, high, text, right=at + 20.0, va="center", color=colour, zorder=9,
                  bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.4})  # fmt: skip
            at += BESIDE + text_width(text)
        up -= KEY_LINE
    return KEY_LINE * len(rows)


def key(axes: Any, looks: Sequence[Look], up: float = 11.0) -> None:
    """Draw what papers and hatches mean above axes, side by side as there is room.

    Parameters
    ----------
    axes : matplotlib Axes
        To draw above.
    looks : sequence of Look
        What is named.
    up : float
        How far above the lowest row is [points].
    """
    from matplotlib.patches import Rectangle

    size = points(axes)
    rows = key_rows([each.text for each in looks], float(size[0]))
    rest = list(looks)
    for number, row in enumerate(rows):
        at, high = 0.0, up + KEY_LINE * (len(rows) - 1 - number)
        for text in row:
            look = rest.pop(0)
            if look.paper:
                axes.add_patch(
                    Rectangle((at / size[0], 1.0 + (high - 4.0) / size[1]), 14.0 / size[0],
                              8.0 / size[1], facecolor=look.paper, edgecolor=look.ink,
                              hatch=look.hatch or None, lw=0.6, transform=axes.transAxes,
                              clip_on=False)
                )  # fmt: skip
            else:
                ends = [1.0 + (high + side) / size[1] for side in (-5.0, 5.0)]
                axes.plot([(at + 7.0) / size[0]] * 2, ends, color=look.ink, lw=2.0,
                          transform=axes.transAxes, clip_on=False)  # fmt: skip
            write(axes, 0.0, 1.0, text, right=at + 18.0, up=high, va="center")
            at += BESIDE + text_width(text)
