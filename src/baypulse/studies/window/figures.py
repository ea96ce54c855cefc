"""Figures of a charge window: chances and numbers over the charge, single charges, changes."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from baypulse.case.quantities import asked
from baypulse.members.quantities import QuantityCurve, levels
from baypulse.show.figures.base import INK, LINE, MAIN, PANEL, PAPER, SOFT, WARM, panels, points
from baypulse.show.figures.charge_ruler import charge_ruler, place_of, reach
from baypulse.show.figures.labels import Labels, NameOver, name_widths, names_over, rows_for
from baypulse.show.figures.quantity_curves import (
    chance_curve,
    curve_panel,
    name_band,
    percent_ruler,
)
from baypulse.show.figures.scales import Scale, corner, empty
from baypulse.show.figures.strips import (
    GOOD,
    HARD,
    NEITHER,
    TALL,
    WEAK,
    Stretch,
    behind,
    strip,
    sure,
)
from baypulse.studies.window.figures_of_bars import changes, trials
from baypulse.studies.window.result import Window
from baypulse.studies.window.trial_values import NUMBERS, charge_scale, ends, single

MARKS = TALL + 18.0
"""Room at the foot of the strip for the stretches and the marks above them [points]."""


class Mark(NamedTuple):
    """A charge that is pointed at.

    Attributes
    ----------
    charge : float
        SI.
    name : str
        Short.
    symbol, paper : str
        Of matplotlib, and the colour of its inside.
    """

    charge: float
    name: str
    symbol: str
    paper: str


def marks(window: Window) -> list[Mark]:
    """Return the charges that are pointed at, rising; two that are the same as one.

    Parameters
    ----------
    window : Window
        Findings.
    """
    looks = {
        "recommended": ("ground test", "o", MAIN), "backup": ("backup", "o", PAPER),
        "empty-bay rule": ("empty-bay rule", "s", PAPER), "as in the case": ("case", "D", PAPER),
    }  # fmt: skip
    scale = charge_scale(window)
    found: dict[str, Mark] = {}
    for trial in single(window):
        if trial.name in looks:
            name, symbol, paper = looks[trial.name]
            text = scale.short(float(trial.charge))
            if text in found:
                found[text] = found[text]._replace(name=f"{found[text].name}, {name}")
            else:
                found[text] = Mark(float(trial.charge), name, symbol, paper)
    return sorted(mark._replace(name=f"{mark.name} {text}") for text, mark in found.items())


def stretches(window: Window) -> list[Stretch]:
    """Return where it is too little, where it is right, and where it is too much.

    Parameters
    ----------
    window : Window
        Findings.
    """
    least, most = (math.inf if end is None else float(end) for end in ends(window))
    little, much = ("separates too seldom", "too little"), ("exceeds a limit too often", "too much")
    if least <= most:
        right = (
            ("the window",) if math.isfinite(most) else ("separates; no limit found", "separates")
        )
        middle = Stretch(least, most, right, GOOD)
    else:
        both = ("too seldom and too hard", "neither")
        middle = Stretch(most, least, both, NEITHER)
    found = [
        Stretch(0.0, min(least, most), little, WEAK), middle,
        Stretch(max(least, most), math.inf, much, HARD),
    ]  # fmt: skip
    return [each for each in found if each.low < each.high]


def over_the_charge(window: Window) -> Any:
    """Draw the chances and the numbers over the charge, with the window in all of them."""
    numbers = _quantities(window)
    title = f"What each {window.label} does, and the window of {asked(window.wanted)}"
    scale = charge_scale(window)
    rows = rows_for(name_widths(_named(marks(window), scale)), 72.0 * PANEL)
    strip_tall = (MARKS + LINE * rows) / 72.0
    figure, places = panels(title, [strip_tall, 1.5, *([1.3] * len(numbers))], head=0.42)
    for axes in places:
        axes.set_xlim(*_reach(window, scale))
    _strip(places[0], window, scale)
    _chances(places[1], window, scale)
    charges = place_of(scale, [trial.charge for trial in window.curve])
    for number, (axes, quantity) in enumerate(zip(places[2:], numbers, strict=True)):
        labels = curve_panel(axes, quantity, charges, None)
        if number == 0:
            name_band(labels, quantity, charges)
    for axes in places[1:]:
        _behind(axes, window, scale)
        charge_ruler(axes, scale, "bottom", axes is places[-1], window.label)
    charge_ruler(places[0], scale, "top", True, window.label)
    return figure


def _reach(window: Window, scale: Scale) -> tuple[float, float]:
    """Return both ends of the scale of the charge, in its logarithm."""
    every = [*(trial.charge for trial in window.curve), *(mark.charge for mark in marks(window))]
    at = place_of(scale, [*every, *(end for end in ends(window) if end)])
    return reach(at)


def _quantities(window: Window) -> list[QuantityCurve]:
    """Return the numbers of the curve, those that happened anywhere."""
    held = levels(window.case)
    found = []
    for name, label, dimension in NUMBERS:
        values = np.array([getattr(trial, name) for trial in window.curve], dtype=float)
        if np.isfinite(values).any():
            low, middle, high = values.T
            limits = held.get(name, ())
            found.append(QuantityCurve(name, label, dimension, middle, low, high, limits))
    return found


def _strip(axes: Any, window: Window, scale: Scale) -> None:
    """Draw the stretches along the charge, the ends' intervals, and the marks with their names."""
    share = strip(axes, stretches(window), scale)
    for edge in (window.least, window.most):
        if edge is not None:
            sure(axes, edge.low, edge.high, scale, share + 0.05)
    _pointers(axes, marks(window), scale, share + 7.0 / float(points(axes)[1]))


def _named(shown: list[Mark], scale: Scale) -> list[NameOver]:
    """Return the marks with their names, from the left."""
    return [
        NameOver(float(place_of(scale, mark.charge)), mark.name, bold=mark.paper == MAIN)
        for mark in shown
    ]


def _pointers(axes: Any, shown: list[Mark], scale: Scale, up: float) -> None:
    """Draw the marks at a height, their names side by side above."""
    tall = float(points(axes)[1])
    named = _named(shown, scale)
    names_over(axes, named, up * tall + 3.0, MARKS)
    for mark, name in zip(shown, named, strict=True):
        axes.plot([name.x], [up], mark.symbol, mfc=mark.paper, mec=INK, mew=1.0, ms=5.0, zorder=7)


def _behind(axes: Any, window: Window, scale: Scale) -> None:
    """Draw the window and the marks behind a panel."""
    behind(axes, stretches(window), scale)
    for mark in marks(window):
        heavy = mark.paper == MAIN
        axes.axvline(float(place_of(scale, mark.charge)), color=MAIN if heavy else SOFT, zorder=1.5,
                     lw=1.6 if heavy else 0.9, ls=(0, (3, 2)))  # fmt: skip


def _chances(axes: Any, window: Window, scale: Scale) -> None:
    """Draw the chance of separation and that of exceeding a limit, with their exact intervals."""
    axes.set_ylim(-6.0, 134.0)
    labels = Labels(axes)
    shots = {trial.opens.members for trial in window.curve}
    each = f"; whiskers: 95 % interval of {max(shots):,} shots" if shots else ""
    corner(axes, labels, f"chance{each}")
    percent_ruler(axes)
    for mark in marks(window):
        labels.avoid([place_of(scale, mark.charge)] * 2, axes.get_ylim())
    if not window.curve:
        empty(axes, "no point was computed")
        return
    x, first = np.unique(
        place_of(scale, [trial.charge for trial in window.curve]), return_index=True
    )
    kept = [window.curve[int(k)] for k in first]
    named = []
    for text, chances, colour in (
        ("it separates", [trial.opens for trial in kept], MAIN),
        ("a limit is exceeded", [trial.fails_hard for trial in kept], WARM),
    ):
        dense, line = chance_curve(axes, x, chances, colour)
        labels.avoid(dense, line)
        named.append((text, dense, line, colour))
    for text, dense, line, colour in named:
        # a name belongs where the curve rises; where it does not, beside the curve and off 0 and 1
        rising = np.flatnonzero((line > 8.0) & (line < 92.0))
        if rising.size:
            order = rising[np.argsort(np.abs(line[rising] - 60.0), kind="stable")]
            labels.put(text, dense[order], line[order], "right left", colour)
        else:
            side = "above" if float(np.mean(line)) < 50.0 else "below"
            labels.put(text, dense[::-8], line[::-8], f"{side} right left", colour)


DRAW = {"window": over_the_charge, "trials": trials, "changes": changes}
"""What draws each figure, by its name."""
