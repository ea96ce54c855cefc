"""Figures of a sweep: curves over one input; over two the maps of the verdict and each quantity."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.ndimage import distance_transform_cdt

from baypulse.case import quantities
from baypulse.case.quantities import shorten
from baypulse.members.quantities import QuantityCurve
from baypulse.run.result import VERDICTS
from baypulse.show.figures.base import (
    BOTTOM,
    FAINT,
    INK,
    LINE,
    PANEL,
    PAPER,
    SOFT,
    WARM,
    exchange,
    filled,
    finite,
    panels,
    points,
    ruler,
    ticks,
)
from baypulse.show.figures.labels import Labels, NameOver, name_widths, names_over, rows_for
from baypulse.show.figures.quantity_curves import curve_panel, is_chance, name_band
from baypulse.show.figures.regions import draw_borders, fill_region, runs
from baypulse.show.figures.scales import VERDICT_LOOKS, Scale, level, scale_of
from baypulse.studies.sweep.result import Sweep, axis_scale, behind, edges, flattened, nominal


def curves(found: Sweep) -> Any:
    """Draw every quantity over one input, with the verdicts in a strip above.

    Parameters
    ----------
    found : Sweep
        Over one input, or over two of which one stands at a single value.
    """
    sweep = flattened(found)
    axis = sweep.axes[0]
    fixed = "".join(f" at {axis_scale(each).text(each.values[0])} {each.label}"
                    for each in found.axes if each is not axis)  # fmt: skip
    scale = axis_scale(axis)
    heights = [0.2, *(1.15 if is_chance(each) else 1.55 for each in sweep.quantities)]
    title = f"Over the {shorten(axis.label, 38)}{behind(sweep)}"
    borders = scale.to(edges(axis.values))
    names = _names(sweep, borders)
    head = LINE * rows_for(name_widths(names), 72.0 * PANEL) / 72.0 + 0.06
    figure, places = panels(title, heights, 0.66 if scale.other else BOTTOM, head=head)
    for axes in places:
        axes.set_xlim(float(borders[0]), float(borders[-1]))
    _strip(places[0], sweep, borders, names)
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


def _names(sweep: Sweep, borders: np.ndarray) -> list[NameOver]:
    """Return the names of the stretches of one verdict, from the left."""
    found = runs(sweep.verdict)
    names = [
        NameOver(0.5 * float(borders[first] + borders[last + 1]), name, bold=True)
        for first, last, name in found
    ]
    if rows_for(name_widths(names), 72.0 * PANEL) > MOST_ROWS:
        # too many stretches to name: each verdict once, at its longest
        longest = {name: max((b - a, k) for k, (a, b, n) in enumerate(found) if n == name)[1]
                   for _, _, name in found}  # fmt: skip
        names = [names[k] for k in sorted(longest.values())]
    return names


def _strip(
    axes: Any, sweep: Sweep, borders: np.ndarray, names: Sequence[NameOver]
) -> None:  # fmt: skip
    """Draw the verdicts along the input, with their names above."""
    axes.set_ylim(0.0, 1.0)
    for first, last, name in runs(sweep.verdict):
        start, stop = float(borders[first]), float(borders[last + 1])
        filled(axes.axvspan, start, stop, look=VERDICT_LOOKS[name])
    top = float(points(axes)[1])
    names_over(axes, names, top, top + 5.0)


MOST_ROWS = 2
"""Rows of names above the strip of the verdicts."""

CHANCES = (0.5, 0.9, 0.99)
"""Chances drawn as lines of a map."""

_STEPS = ("#f6f8fa", "#e3ebf0", "#d0dde5", "#bdd0db", "#aac2d0", "#97b5c6", "#84a7bb", "#719ab1")
"""Papers of the steps of a map, from low to high."""


def _map(sweep: Sweep, title: str) -> tuple[Any, Any, Scale, Scale]:
    """Return a figure with the axes of a map; the first input goes to the right."""
    across, up = sweep.axes
    x_scale, y_scale = axis_scale(across), axis_scale(up)
    figure, (axes,) = panels(title, [2.9], 0.66 if x_scale.other else BOTTOM)
    return figure, axes, x_scale, y_scale


def _dress(axes: Any, sweep: Sweep, x_scale: Scale, y_scale: Scale) -> Labels:
    """Draw the scales of a map and the case's own place in it."""
    across, up = sweep.axes
    x_scale.level(axes, across.label)
    y_scale.upright(axes, shorten(up.label, 40))
    for side in (0.0, 1.0):
        axes.axhline(axes.get_ylim()[int(side)], color=SOFT, lw=0.8)
    labels = Labels(axes)
    own = [nominal(sweep, axis) for axis in sweep.axes]
    if own[0] is not None and own[1] is not None:
        at = (x_scale.to(own[0]), y_scale.to(own[1]))
        axes.plot(*at, "P", ms=9.0, mfc=PAPER, mec=INK, mew=1.2, zorder=8)
        labels.put("this case", *at, "right left above below", bold=True)
    return labels


def verdict_map(sweep: Sweep) -> Any:
    """Draw the verdict at every point of two inputs."""
    often = "Most frequent verdict" if sweep.members > 1 else "Verdict"
    figure, axes, x_scale, y_scale = _map(sweep, f"{often}{behind(sweep)}")
    x, y = (scale.to(edges(axis.values))
            for scale, axis in zip((x_scale, y_scale), sweep.axes, strict=True))  # fmt: skip
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(float(y[0]), float(y[-1]))
    for code in np.unique(sweep.verdict):
        fill_region(axes, x, y, sweep.verdict == code, VERDICT_LOOKS[VERDICTS[int(code)]])
    draw_borders(axes, x, y, sweep.verdict)
    labels = _dress(axes, sweep, x_scale, y_scale)
    for code in np.unique(sweep.verdict):
        spots = _middles(sweep.verdict == code)
        labels.on(VERDICTS[int(code)], x_scale.to(sweep.axes[0].values)[spots[:, 0]],
            y_scale.to(sweep.axes[1].values)[spots[:, 1]], bold=True)  # fmt: skip
    return figure


def _middles(held: np.ndarray) -> np.ndarray:
    """Return points of a region, those farthest from its border first, shape (n, 2)."""
    depth = distance_transform_cdt(np.pad(held, 1), metric="taxicab")[1:-1, 1:-1]
    deepest = np.argwhere(depth == depth.max())
    return deepest[np.argsort(np.abs(deepest - deepest.mean(axis=0)).sum(axis=1), kind="stable")]


def quantity_map(sweep: Sweep, quantity: QuantityCurve) -> Any:
    """Draw one quantity over two inputs, as steps with labelled lines.

    Parameters
    ----------
    sweep : Sweep
        Over two inputs.
    quantity : QuantityCurve
        One of its quantities.
    """
    scale = scale_of(quantity.dimension, quantity.middle)
    chance = is_chance(quantity)
    name = quantities.capital(quantity.label)
    units_of = "" if chance else f", {scale.unit}" + (f" ({scale.other})" if scale.other else "")
    kind = ", median" if sweep.members > 1 and not chance else ""
    figure, axes, x_scale, y_scale = _map(sweep, f"{name}{units_of}{kind}{behind(sweep)}")
    x, y = (s.to(axis.values) for s, axis in zip((x_scale, y_scale), sweep.axes, strict=True))
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(float(y[0]), float(y[-1]))
    values = np.ma.masked_invalid(scale.to(quantity.middle).T)
    if np.ma.getmaskarray(values).any():
        axes.axvspan(float(x[0]), float(x[-1]), facecolor=PAPER, edgecolor=FAINT, hatch="xx",
                     lw=0.0, zorder=0)  # fmt: skip
    if values.count() == 0:
        _anywhere(axes, _dress(axes, sweep, x_scale, y_scale), "it happens at no point")
        return figure
    flat = level(quantity.middle)
    lines = [] if flat else _levels(values, chance)
    steps = [float(values.min()) - 1e-9, *lines, float(values.max()) + 1e-9]
    if flat:
        steps = [steps[0] - 1.0, steps[-1] + 1.0]
    axes.contourf(x, y, values, levels=steps, colors=_papers(len(steps) - 1), zorder=1)
    labels = _dress(axes, sweep, x_scale, y_scale)
    if np.ma.getmaskarray(values).any():
        spots = _middles(np.ma.getmaskarray(values).T)
        labels.on("it does not happen", x[spots[:, 0]], y[spots[:, 1]], SOFT)
    if flat:
        one = float(finite(quantity.middle)[0])
        where = "at every point" if values.count() == values.size else "wherever it happens"
        _anywhere(axes, labels, f"{scale.text(one)} {where}")
    drawn = axes.contour(x, y, values, levels=lines, colors=INK, linewidths=0.9, zorder=2) if (
        lines) else None  # fmt: skip
    inside = [each for each in quantity.limits
              if values.min() < scale.to(each.value) < values.max()]  # fmt: skip
    for each in inside:
        heavy = axes.contour(x, y, values, levels=[scale.to(each.value)], colors=WARM,
                             linewidths=2.6, linestyles=[(0, (7, 2))], zorder=3)  # fmt: skip
        _on_line(labels, heavy.allsegs[0], f"{each.label}: {scale.text(each.value)}", WARM, True)
    if drawn is not None:
        for value, segments in zip(lines, drawn.allsegs, strict=True):
            text = f"{value:g} %" if chance else _number(value, scale)
            _on_line(labels, segments, text, INK, False)
    return figure


def _anywhere(axes: Any, labels: Labels, text: str) -> None:
    """Write a sentence about the whole map where nothing else stands."""
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    labels.on(text, np.full(5, 0.5 * (x0 + x1)),
        y0 + (y1 - y0) * np.array([0.5, 0.6, 0.4, 0.7, 0.3]))  # fmt: skip


def _levels(values: Any, chance: bool) -> list[float]:
    """Return the values at which lines are drawn, inside the range of what is shown."""
    low, high = float(values.min()), float(values.max())
    found = [1.0, 10.0, *(100.0 * each for each in CHANCES)] if chance else ticks(low, high, 7)[0]
    return [value for value in found if low < value < high]


def _papers(count: int) -> list[str]:
    """Return so many papers, from light to dark."""
    return [_STEPS[round(k)] for k in np.linspace(0, len(_STEPS) - 1, max(count, 2))][:count]


def _number(value: float, scale: Scale) -> str:
    """Return a line's value, in both units where there are two."""
    main = f"{value:.6g}"
    if not scale.other:
        return main
    return (
        f"{main} ({quantities.digits(exchange(value, scale.unit, scale.other, scale.dimension))})"
    )


def _on_line(labels: Labels, segments: Any, text: str, colour: str, bold: bool) -> None:
    """Write a label on the longest of some lines."""
    kept = [each for each in segments if len(each) > 1]
    if not kept:
        return
    line = max(kept, key=len)
    for each in kept:
        labels.avoid(each[:, 0], each[:, 1])
    share = np.abs(np.linspace(-1.0, 1.0, len(line)))
    order = np.argsort(share, kind="stable")[:40]
    labels.on(text, line[order, 0], line[order, 1], colour, bold)
