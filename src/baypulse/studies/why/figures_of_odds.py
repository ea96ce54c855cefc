"""The figure of the chances of all causes, before and after what was seen."""

from __future__ import annotations

from typing import Any

from baypulse.case.quantities import about
from baypulse.show.figures.base import INK, MAIN, SMALL, SOFT, WARM, points, ruler, write
from baypulse.show.figures.scales import LIGHT, interval_line, key, row_line, row_panels, row_text
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
    names = [each.name for each in rows]
    figure, (axes,) = row_panels("What was at work", names, 0.62, head=0.3, bold=(0,))
    most = max(max(each.involved, each.before, each.finding.high) for each in rows)
    axes.set_xlim(0.0, min(108.0 * most, 100.0))
    for row, each in enumerate(rows):
        _bar(axes, row, each)
    ruler(axes, "bottom", "chance (%)")
    _key(axes)
    return figure


def _bar(axes: Any, row: int, each: Odds) -> None:
    finding = each.finding
    none = each.name == NONE_OF_THESE
    row_line(axes, row)
    alone, whole = 100.0 * finding.share, 100.0 * each.involved
    axes.barh(row, whole - alone, left=alone, height=TALL, facecolor=LIGHT, edgecolor=INK, lw=0.7,
              hatch="////", zorder=2)  # fmt: skip
    axes.barh(row, alone, height=TALL, facecolor=SOFT if none else MAIN, edgecolor=INK, lw=0.7,
              zorder=3)  # fmt: skip
    interval_line(axes, row, 100.0 * finding.low, 100.0 * finding.high, zorder=4)
    axes.plot([100.0 * each.before] * 2, [row - 0.42, row + 0.42], color=WARM, lw=2.0, zorder=5)
    row_text(axes, row, about(each.involved))


def _key(axes: Any) -> None:
    """Draw what the bars mean, above them."""
    at = key(axes, ((MAIN, None, "alone"), (LIGHT, "////", "with a second fault")))
    size = points(axes)
    up = 1.0 + 11.0 / size[1]
    axes.plot([at / size[0]] * 2, [up - 6.0 / size[1], up + 6.0 / size[1]], color=WARM, lw=2.0,
              transform=axes.transAxes, clip_on=False)  # fmt: skip
    look: Any = {"up": 11.0, "va": "center", "fontsize": SMALL}
    write(axes, 0.0, 1.0, "before the shot", right=at + 6.0, **look)
    write(axes, 1.0, 1.0, "involved", right=5.0, **look)
