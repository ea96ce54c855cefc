"""The figure of what drives a number: each input alone, and its Sobol' indices."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.show.figures.base import INK, MAIN, PAPER, SMALL, finite, points, ruler, write
from baypulse.show.figures.scales import LIGHT, row_line, row_panels, scale_of
from baypulse.studies.scatter.influence import Influence, Swing
from baypulse.studies.scatter.result import Output, Scatter

MOST_ROWS = 10
"""Rows of a figure of drivers."""


def has_swings(output: Output) -> bool:
    """Say whether any factor alone changes an output."""
    return any(_width(swing, output.nominal) > 0.0 for swing in output.swings)


def _width(swing: Swing, nominal: float) -> float:
    """Return how far a factor alone moves an output; infinitely if it makes it come or go."""
    values = [value for value in (swing.low, swing.high, nominal) if math.isfinite(value)]
    if len(values) < 3:
        return math.inf if values else 0.0
    return max(values) - min(values)


def rows_of(output: Output) -> list[tuple[str, Swing | None, Influence | None]]:
    """Return name, swing and indices of the factors that count most, the first on top.

    Parameters
    ----------
    output : Output
        With swings, indices, or both; ordered by the total index where there is one, else by the
        swing.
    """
    swings = {swing.factor: swing for swing in output.swings}
    indices = {each.factor: each for each in output.influences if math.isfinite(each.total)}
    names = sorted(
        dict.fromkeys([*indices, *swings]),
        key=lambda name: (
            -indices[name].total if name in indices else 0.0,
            -_width(swings[name], output.nominal) if name in swings else 0.0,
        ),
    )
    # what stands for several inputs cannot be moved alone, and comes last
    several = [name for name in names if swings and name not in swings]
    single = [name for name in names if name not in several]
    kept = [*single[: MOST_ROWS - len(several)], *several]
    return [(name, swings.get(name), indices.get(name)) for name in kept]


def drivers(scatter: Scatter, output: Output) -> Any:
    """Draw how far each factor alone moves an output, beside its Sobol' indices."""
    labels = {factor.name: factor.label for factor in scatter.factors}
    rows = rows_of(output)
    with_swings, with_indices = has_swings(output), bool(output.influences)
    figure, places = row_panels(
        f"What drives: {output.label}", [labels.get(name, name) for name, _, _ in rows], 0.3,
        head=0.24, foot=0.66, shares=(0.58, 0.36) if with_swings and with_indices else (1.0,),
    )  # fmt: skip
    if with_swings:
        _tornado(places[0], [swing for _, swing, _ in rows], output)
    if with_indices:
        _indices(places[-1], [each for _, _, each in rows])
    return figure


def _tornado(axes: Any, swings: list[Swing | None], output: Output) -> None:
    """Draw a bar from the nominal value to that at both ends of each factor alone."""
    nominal = output.nominal
    ends = [v for swing in swings if swing is not None for v in (swing.low, swing.high)]
    scale = scale_of(output.dimension, [nominal, *ends])
    good = scale.to(finite(np.array([nominal, *ends])))
    least, most = float(good.min()), float(good.max())
    room = (most - least) or max(abs(most), 1.0)
    size = points(axes)
    # room for the words at both ends
    wide = 30.0 if all(math.isfinite(value) for value in (nominal, *ends)) else 52.0
    margin = wide / max(float(size[0]) - 2.0 * wide, 1.0) * room
    axes.set_xlim(least - margin, most + margin)
    middle = scale.to(nominal)
    if math.isfinite(nominal):
        axes.axvline(middle, color=INK, lw=0.9, zorder=1)
    for row, swing in enumerate(swings):
        if swing is not None:
            _swing(axes, row, scale.to(swing.low), scale.to(swing.high), middle)
    note = "" if math.isfinite(nominal) else "; none with the nominal values"
    write(axes, 0.0, 1.0, f"each alone, at its 10 and 90 % point{note}", up=9.0, va="center",
          fontsize=SMALL)  # fmt: skip
    scale.level(axes)


def _swing(axes: Any, row: int, low: float, high: float, middle: float) -> None:
    """Draw the bars to both ends of one factor, and name the ends."""
    looks = {"low": (LIGHT, "\\\\\\\\"), "high": (MAIN, None)}
    ends = sorted(
        ((end, name) for end, name in ((low, "low"), (high, "high")) if math.isfinite(end))
    )
    if not math.isfinite(middle):
        middle = ends[0][0] if ends else math.nan
    # the longer bar first, so that two on one side are both seen
    for end, name in sorted(ends, key=lambda each: -abs(each[0] - middle)):
        paper, hatch = looks[name]
        axes.barh(row, end - middle, left=middle, height=0.6, facecolor=paper, edgecolor=INK,
                  lw=0.7, hatch=hatch, zorder=2)  # fmt: skip
    if len(ends) == 2 and ends[0][0] < ends[1][0]:
        _end(axes, row, min(ends[0][0], middle), ends[0][1], "right")
        _end(axes, row, max(ends[1][0], middle), ends[1][1], "left")
    elif len(ends) == 2 and ends[0][0] != middle:
        _end(axes, row, low, "low, high", "left" if low > middle else "right")
    elif len(ends) == 1:
        end, name = ends[0]
        other = "high" if name == "low" else "low"
        sides = ("left", "right") if end >= middle else ("right", "left")
        _end(axes, row, end, name, sides[0])
        _end(axes, row, middle, f"{other}: none", sides[1])


def _end(axes: Any, row: int, at: float, text: str, side: str) -> None:
    """Write a word at the end of a bar, its own side next to the bar."""
    axes.annotate(text, (at, row), xytext=(-4.0 if side == "right" else 4.0, 0.0),
                  textcoords="offset points", ha=side, va="center", fontsize=SMALL,
                  color=INK)  # fmt: skip


def _indices(axes: Any, found: list[Influence | None]) -> None:
    """Draw first-order and total indices with their intervals."""
    ends = [v for each in found if each for v in (each.first_high, each.total_high, each.total)]
    axes.set_xlim(0.0, min(max([1.0, *(e for e in ends if math.isfinite(e))]), 1.3))
    size = points(axes)
    for row, each in enumerate(found):
        row_line(axes, row)
        if each is None:
            continue
        for value, low, high, lift, mark, paper in (
            (each.first, each.first_low, each.first_high, -0.16, "s", MAIN),
            (each.total, each.total_low, each.total_high, 0.16, "o", PAPER),
        ):
            if not math.isfinite(value):
                continue
            axes.plot([max(low, 0.0), max(high, 0.0)], [row + lift] * 2, color=MAIN, lw=1.0)
            axes.plot([max(value, 0.0)], [row + lift], mark, mfc=paper, mec=MAIN, mew=1.0, ms=4.2,
                      clip_on=False, zorder=4)  # fmt: skip
    ruler(axes, "bottom", "share of the variance")
    # the marks stand beside their names: no box of its own
    up = 1.0 + 9.0 / size[1]
    for at, mark, paper, text in ((4.0, "s", MAIN, "alone"),
                                  (46.0, "o", PAPER, "with others")):  # fmt: skip
        axes.plot([at / size[0]], [up], mark, mfc=paper, mec=MAIN, ms=4.2, clip_on=False,
                  transform=axes.transAxes)  # fmt: skip
        write(axes, 0.0, up, text, right=at + 6.0, va="center", fontsize=SMALL)
