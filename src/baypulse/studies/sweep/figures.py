"""The figure of a sweep over one input: curves."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case.quantities import shorten
from baypulse.show.figures.base import BOTTOM, INK, SOFT, panels, points, ruler
from baypulse.show.figures.labels import NameOver, names_over, text_width
from baypulse.show.figures.quantity_curves import curve_panel, is_chance, name_band
from baypulse.show.figures.regions import runs
from baypulse.show.figures.scales import VERDICT_LOOKS
from baypulse.studies.sweep.grid import axis_scale, behind, edges, flattened, nominal
from baypulse.studies.sweep.result import Sweep


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
    figure, places = panels(title, heights, 0.62 if scale.other else BOTTOM, head=0.2)
    borders = scale.to(edges(axis.values))
    for axes in places:
        axes.set_xlim(float(borders[0]), float(borders[-1]))
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
    found = runs(sweep.verdict)
    names = []
    for first, last, name in found:
        paper, hatch, ink = VERDICT_LOOKS[name]
        start, stop = float(borders[first]), float(borders[last + 1])
        axes.axvspan(start, stop, facecolor=paper, edgecolor=ink, hatch=hatch or None, lw=0.0)
        axes.axvspan(start, stop, facecolor="none", edgecolor=INK, lw=0.8, clip_on=False)
        names.append(NameOver(0.5 * (start + stop), name, bold=True))
    wide, top = (float(side) for side in points(axes))
    if sum(text_width(each.text, True) + 8.0 for each in names) > wide:
        # too many stretches to name: each verdict once, at its longest
        longest = {name: max((b - a, k) for k, (a, b, n) in enumerate(found) if n == name)[1]
                   for _, _, name in found}  # fmt: skip
        names = [names[k] for k in sorted(longest.values())]
    names_over(axes, names, top, top + 5.0)
