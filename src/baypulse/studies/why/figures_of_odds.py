"""The figure of the chances of all causes, before and after what was seen."""

from __future__ import annotations

from typing import Any

from baypulse.case.quantities import about
from baypulse.show.figures.base import (
    FAINT,
    INK,
    MAIN,
    PAPER,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    blank,
    headline,
    points,
    ruler,
)
from baypulse.show.figures.scales import LIGHT, ROW, row_margin, row_name
from baypulse.studies.why.cause_file import NONE_OF_THESE
from baypulse.studies.why.explanation import Explained, Odds

MOST_ROWS = 10
"""Causes drawn, and none of these."""

TALL = 0.56
"""Height of a bar, over that of a row."""


def odds(found: Explained) -> Any:
    """Draw a bar for each cause: alone, with another, and what it was before.

    Parameters
    ----------
    found : Explained
        Findings.
    """
    rows = list(found.odds[:MOST_ROWS])
    rows += [each for each in found.odds[MOST_ROWS:] if each.name == NONE_OF_THESE]
    left, head, foot = row_margin([each.name for each in rows]), 0.3, 0.46
    height = TOP + head + ROW * len(rows) + foot
    figure = blank(height)
    headline(figure, "What was at work")
    axes = figure.add_axes(
        (left / WIDTH, foot / height, (WIDTH - left - 0.62) / WIDTH, ROW * len(rows) / height)
    )
    axes.set_axis_off()
    axes.set_ylim(len(rows) - 0.5, -0.5)
    most = max(max(each.involved, each.before, each.finding.high) for each in rows)
    axes.set_xlim(0.0, min(108.0 * most, 100.0))
    for row, each in enumerate(rows):
        row_name(axes, row, each.name, bold=row == 0)
        _bar(axes, row, each)
    ruler(axes, "bottom", "chance (%)")
    _key(figure, axes)
    return figure


def _bar(axes: Any, row: int, each: Odds) -> None:
    finding = each.finding
    none = each.name == NONE_OF_THESE
    axes.axhline(row, color=FAINT, lw=0.6, zorder=0)
    alone, whole = 100.0 * finding.share, 100.0 * each.involved
    axes.barh(row, whole - alone, left=alone, height=TALL, facecolor=LIGHT, edgecolor=INK, lw=0.7,
              hatch="////", zorder=2)  # fmt: skip
    axes.barh(row, alone, height=TALL, facecolor=SOFT if none else MAIN, edgecolor=INK, lw=0.7,
              zorder=3)  # fmt: skip
    ends = [100.0 * finding.low, 100.0 * finding.high]
    # paper around the line keeps it seen on the dark bar
    for colour, wide in ((PAPER, 3.0), (INK, 1.1)):
        axes.plot(ends, [row, row], color=colour, lw=wide, solid_capstyle="butt", zorder=4)
    axes.plot([100.0 * each.before] * 2, [row - 0.42, row + 0.42], color=WARM, lw=2.0, zorder=5)
    size = points(axes)
    axes.text(1.0 + 5.0 / size[0], row, about(each.involved),
              transform=axes.get_yaxis_transform(), va="center", fontsize=7.5)  # fmt: skip


def _key(figure: Any, axes: Any) -> None:
    """Draw what the bars mean, above them."""
    from matplotlib.patches import Rectangle

    size = points(axes)
    up = 1.0 + 11.0 / size[1]
    at = 0.0
    for paper, hatch, text in ((MAIN, None, "alone"), (LIGHT, "////", "with a second fault")):
        axes.add_patch(Rectangle((at / size[0], up - 4.0 / size[1]), 14.0 / size[0], 8.0 / size[1],
                                 facecolor=paper, edgecolor=INK, hatch=hatch, lw=0.6,
                                 transform=axes.transAxes, clip_on=False))  # fmt: skip
        axes.text((at + 18.0) / size[0], up, text, transform=axes.transAxes, va="center",
                  fontsize=7.5)  # fmt: skip
        at += 30.0 + 4.6 * len(text)
    axes.plot([at / size[0]] * 2, [up - 6.0 / size[1], up + 6.0 / size[1]], color=WARM, lw=2.0,
              transform=axes.transAxes, clip_on=False)  # fmt: skip
    axes.text((at + 6.0) / size[0], up, "before the shot", transform=axes.transAxes, va="center",
              fontsize=7.5)  # fmt: skip
    right = 1.0 + 5.0 / size[0]
    axes.text(right, up, "involved", transform=axes.transAxes, va="center", fontsize=7.5)
