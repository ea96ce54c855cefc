"""Figures of a sweep: curves over one input, maps over two."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.plot.base import (
    FAINT,
    GAP,
    INK,
    LEFT,
    MAIN,
    RIGHT,
    SOFT,
    TOP,
    WIDTH,
    blank,
    headline,
    points,
    ruler,
    style,
)
from baypulse.plot.labels import Labels, spread, text_width
from baypulse.plot.maps import quantity_map, verdict_map
from baypulse.plot.scales import (
    VERDICT_LOOKS,
    corner,
    draw_limits,
    empty,
    scale_of,
    set_height,
    shorten,
)
from baypulse.plot.swept import axis_scale, behind, edges, flattened, is_chance, nominal, runs
from baypulse.study.findings import Quantity, Sweep

FEW = 26
"""Points of an axis up to which each is marked."""


def figures(sweep: Sweep) -> dict[str, Any]:
    """Draw every figure of a sweep.

    Parameters
    ----------
    sweep : Sweep
        Findings.

    Returns
    -------
    dict of str to matplotlib.figure.Figure
        Over one input ``"curves"``; over two ``"verdicts"`` and ``"map-NAME"`` of each quantity.
    """
    flat = flattened(sweep)
    with style():
        if len(flat.axes) == 1:
            return {"curves": curves(flat, _fixed(sweep, flat))}
        found = {"verdicts": verdict_map(flat)}
        return found | {f"map-{each.name}": quantity_map(flat, each) for each in flat.quantities}


def _fixed(sweep: Sweep, flat: Sweep) -> str:
    """Return the words for an input that has a single value."""
    gone = [axis for axis in sweep.axes if axis.path not in {a.path for a in flat.axes}]
    return "".join(f" at {axis_scale(axis).text(axis.values[0])} {axis.label}" for axis in gone)


def curves(sweep: Sweep, fixed: str = "") -> Any:
    """Draw every quantity over one input, with the verdicts in a strip above.

    Parameters
    ----------
    sweep : Sweep
        Over one input.
    fixed : str
        Words for an input that stands at a single value.
    """
    axis = sweep.axes[0]
    scale = axis_scale(axis)
    strip, head, foot = 0.2, 0.2, 0.62 if scale.other else 0.46
    heights = [1.15 if is_chance(each) else 1.55 for each in sweep.quantities]
    height = TOP + head + strip + sum(heights) + GAP * len(heights) + foot
    figure = blank(height)
    headline(figure, f"Over the {shorten(axis.label, 38)}{behind(sweep)}", LEFT)
    edge = height - TOP - head
    places = []
    for tall in (strip, *heights):
        edge -= tall
        place = (LEFT / WIDTH, edge / height, (WIDTH - LEFT - RIGHT) / WIDTH, tall / height)
        axes = figure.add_axes(place)
        axes.set_axis_off()
        borders = scale.to(edges(axis.values))
        axes.set_xlim(float(borders[0]), float(borders[-1]))
        places.append(axes)
        edge -= GAP
    _strip(places[0], sweep, borders)
    own = nominal(sweep, axis)
    at = None if own is None else float(scale.to(own))
    first = next((each for each in sweep.quantities if not is_chance(each)), None)
    for axes, quantity in zip(places[1:], sweep.quantities, strict=True):
        labels = curve_panel(axes, quantity, scale.to(axis.values), at)
        if quantity is sweep.quantities[0] and at is not None:
            bottom, top = axes.get_ylim()
            labels.put("this case", [at, at], bottom + (top - bottom) * np.array([0.12, 0.6]),
                       "right left", SOFT)  # fmt: skip
        if quantity is first and quantity.high is not None:
            name_band(labels, quantity, scale.to(axis.values))
        ruler(axes, "bottom", numbers=False, whole=scale.whole)
    scale.level(places[-1], f"{axis.label}{fixed}")
    return figure


def _strip(axes: Any, sweep: Sweep, borders: np.ndarray) -> None:
    """Draw the verdicts along the input, with their names above."""
    axes.set_ylim(0.0, 1.0)
    size = points(axes)
    low, high = axes.get_xlim()
    found = runs(sweep.verdict)
    names, spots = [], []
    for first, last, name in found:
        paper, hatch, ink = VERDICT_LOOKS[name]
        start, stop = float(borders[first]), float(borders[last + 1])
        axes.axvspan(start, stop, facecolor=paper, edgecolor=ink, hatch=hatch or None, lw=0.0)
        axes.axvspan(start, stop, facecolor="none", edgecolor=INK, lw=0.8, clip_on=False)
        names.append(name)
        spots.append((0.5 * (start + stop) - low) / (high - low) * float(size[0]))
    widths = [text_width(name, True) + 8.0 for name in names]
    if sum(widths) > float(size[0]):
        # too many stretches to name: each verdict once, at its longest
        longest = {name: max((b - a, k) for k, (a, b, n) in enumerate(found) if n == name)[1]
                   for name in names}  # fmt: skip
        kept = sorted(longest.values())
        names, spots = [names[k] for k in kept], [spots[k] for k in kept]
        widths = [widths[k] for k in kept]
    centres = spread(spots, widths, float(size[0]))
    for name, spot, centre in zip(names, spots, centres, strict=True):
        axes.annotate(
            name, (spot, float(size[1])), xytext=(centre, float(size[1]) + 5.0),
            xycoords="axes points", textcoords="axes points", ha="center", fontweight="bold",
            arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.6, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip


def curve_panel(axes: Any, quantity: Quantity, x: np.ndarray, own: float | None) -> Labels:
    """Draw one quantity with its band and limits, and a line at the case's own input."""
    shown = [row for row in (quantity.middle, quantity.low, quantity.high) if row is not None]
    every = np.concatenate(shown)
    scale = scale_of(quantity.dimension, every)
    if is_chance(quantity):
        axes.set_ylim(-6.0, 134.0)
    else:
        set_height(axes, scale, every, quantity.limits, above=0.32)
    labels = Labels(axes)
    corner(axes, labels, quantity.label)
    if not np.isfinite(every).any():
        empty(axes, "it happens at no point")
        return labels
    if is_chance(quantity):
        percent_ruler(axes)
    else:
        scale.upright(axes)
    if own is not None:
        axes.axvline(own, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
        labels.avoid([own, own], axes.get_ylim())
    y = scale.to(quantity.middle)
    if quantity.low is not None and quantity.high is not None:
        low, high = scale.to(quantity.low), scale.to(quantity.high)
        axes.fill_between(x, low, high, facecolor="#d5e0e8", edgecolor=FAINT, hatch="////",
                          lw=0.0, zorder=1)  # fmt: skip
        for end in (low, high):
            axes.plot(x, end, color=SOFT, lw=0.7, zorder=2)
            labels.avoid(x, end)
    alone = np.isfinite(y)
    if x.size > FEW:
        beside = np.concatenate(([False], alone, [False]))
        alone = alone & ~beside[:-2] & ~beside[2:]
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=4)
    axes.plot(x[alone], y[alone], "o", color=MAIN, ms=3.6, zorder=4)
    labels.avoid(x, y)
    draw_limits(axes, labels, scale, quantity.limits)
    return labels


def name_band(labels: Labels, quantity: Quantity, x: np.ndarray) -> None:
    """Say once what the band is."""
    assert quantity.high is not None
    good = np.isfinite(quantity.high)
    if np.count_nonzero(good) > 1:
        scale = scale_of(quantity.dimension, quantity.high)
        labels.along("nine of ten shots", x[good], scale.to(quantity.high)[good], SOFT,
                     [(x, scale.to(quantity.middle))])  # fmt: skip


def percent_ruler(axes: Any) -> None:
    """Draw the scale of a chance, which ends at 100 %."""
    size = points(axes)
    low, high = axes.get_ylim()
    for value in (0.0, 50.0, 100.0):
        share = (value - low) / (high - low)
        axes.text(-6.0 / size[0], share, f"{value:.0f}", transform=axes.transAxes, ha="right",
                  va="center")  # fmt: skip
        axes.axhline(value, color=FAINT, lw=0.7, zorder=0.5)
    axes.text(-40.0 / size[0], 0.5, "%", transform=axes.transAxes, rotation=90, ha="center",
              va="center")  # fmt: skip
    axes.plot([0.0, 0.0], [(0.0 - low) / (high - low), (100.0 - low) / (high - low)],
              transform=axes.transAxes, color=SOFT, lw=0.8, clip_on=False)  # fmt: skip
