"""Bars beside a charge window: single charges, and the window with one change each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.members.quantities import Limit, levels
from baypulse.show.figures.base import INK, LINE, PAPER, SOFT, WARM, finite, points, write
from baypulse.show.figures.charge_ruler import charge_ruler, place_of
from baypulse.show.figures.labels import NameOver, broken, names_over
from baypulse.show.figures.rows import BAR, range_bar, row_panels
from baypulse.show.figures.scales import (
    FAR,
    LIGHT,
    MIDDLE,
    Scale,
    scale_of,
)
from baypulse.studies.window.result import Window
from baypulse.studies.window.trial_values import NUMBERS, TRIALS, charge_scale, single


def trials(window: Window) -> Any:
    """Draw between which values the members of single charges lie: velocity and pressure."""
    found = single(window)
    scale = charge_scale(window)
    names = [f"{TRIALS[trial.name]}: {scale.short(float(trial.charge))}" for trial in found]
    figure, places = row_panels(
        "Single charges: median, and nine of ten shots", names, head=0.1 + 5.0 * LINE / 72.0,
        foot=0.66, bold=(0,) if window.recommended is not None else (), shares=(0.47, 0.47),
    )  # fmt: skip
    held = levels(window.case)
    for axes, (name, label, dimension) in zip(places, NUMBERS, strict=False):
        values = np.array([getattr(trial, name) for trial in found], dtype=float)
        what = label.removesuffix(" when clear")
        _ranges(axes, values, scale_of(dimension, values), held.get(name, ()), what)
    return figure


def _ranges(axes: Any, values: np.ndarray, scale: Scale, held: Sequence[Limit], label: str) -> None:
    """Draw a bar from 5 to 95 % with the median in each row, and the limits."""
    heading = "\n".join(broken(label, float(points(axes)[0]), bold=True)[0])
    write(axes, 0.0, 1.0, heading, up=4.0 + 2.0 * LINE, fontweight="bold", linespacing=1.05)
    shown = scale.to(values)
    most = float(finite(shown).max())
    near = sorted(
        NameOver(scale.to(each.value), each.label, WARM)
        for each in held if scale.to(each.value) <= FAR * most
    )  # fmt: skip
    axes.set_xlim(0.0, 1.06 * max([most, *(each.x for each in near)]) or 1.0)
    for row, (low, middle, high) in enumerate(shown):
        if not math.isfinite(middle):
            axes.annotate("none", (0.0, row), xytext=(4.0, 0.0), textcoords="offset points",
                          va="center", color=SOFT)  # fmt: skip
            continue
        range_bar(axes, row, low, middle, high)
    if most > 0.0:
        scale.level(axes)
    for at, _, _, _ in near:
        axes.axvline(at, color=WARM, lw=1.6, ls=(0, (7, 3)), zorder=3)
    top = float(points(axes)[1])
    names_over(axes, near, top, top + 4.0)


def changes(window: Window) -> Any:
    """Draw the window as it is, and with each change that was tried, a bar each."""
    assert window.as_it_is is not None
    rows = [(each.change, each.least, each.most) for each in (window.as_it_is, *window.remedies)]
    names = [name for name, _, _ in rows]
    title = "The window with one change each"
    numbers = [size_of(least, most) for _, least, most in rows]
    figure, (axes,) = row_panels(title, names, numbers, head=0.42, foot=0.5, bold=(0,))
    scale = charge_scale(window)
    known = [end for _, *both in rows for end in both if end] or [window.present]
    at = place_of(scale, known)
    room = 0.08 * max(float(np.ptp(at)), 0.2)
    axes.set_xlim(float(at.min()) - room, float(at.max()) + 2.0 * room)
    for row, (_, least, most) in enumerate(rows):
        window_bar(axes, row, scale, least, most)
    charge_ruler(axes, scale, "bottom", True, window.label)
    charge_ruler(axes, scale, "top", True, window.label)
    return figure


def size_of(least: float | None, most: float | None) -> str:
    """Return how large a window is, as the ratio of its ends [SI], or why there is none."""
    if least is None:
        return "too seldom"
    if most is None:
        return "no limit"
    return f"most/least {most / least:.2f}" if most >= least else "empty"


def window_bar(axes: Any, row: int, scale: Scale, least: float | None, most: float | None) -> None:
    """Draw one window as a bar, an empty one as the gap between its ends, hatched.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final, logarithms of the scale's main unit.
    row : int
        From the top.
    scale : Scale
        Units of the charge.
    least, most : float or None
        Its ends [SI]; None where there is none.
    """
    right = axes.get_xlim()[1]
    if least is None:
        if most:
            axes.plot([place_of(scale, most)], [row], "s", mfc=PAPER, mec=WARM, ms=5.0, zorder=4)
    elif most is None:
        start = float(place_of(scale, least))
        axes.barh(row, right - start, left=start, height=BAR, facecolor=MIDDLE, edgecolor=INK,
                  lw=0.8)  # fmt: skip
    elif most >= least:
        start, stop = (float(place_of(scale, end)) for end in (least, most))
        axes.barh(row, stop - start, left=start, height=BAR, facecolor=MIDDLE, edgecolor=INK,
                  lw=0.8)  # fmt: skip
    else:
        start = float(place_of(scale, most)) if most > 0.0 else axes.get_xlim()[0]
        stop = float(place_of(scale, least))
        axes.barh(row, stop - start, left=start, height=BAR, facecolor=LIGHT, edgecolor=WARM,
                  hatch="xxxx", lw=0.8)  # fmt: skip
