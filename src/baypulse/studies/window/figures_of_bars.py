"""Bars beside a charge window: single charges, and the window with one change each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.members.quantities import Limit, levels
from baypulse.show.figures.base import (
    FAINT,
    INK,
    PAPER,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    blank,
    headline,
    points,
)
from baypulse.show.figures.charge_ruler import charge_ruler, place_of
from baypulse.show.figures.labels import spread, text_width
from baypulse.show.figures.scales import (
    FAR,
    LIGHT,
    MIDDLE,
    ROW,
    Scale,
    empty,
    row_margin,
    row_name,
    scale_of,
)
from baypulse.studies.window.result import Window
from baypulse.studies.window.trial_values import NUMBERS, TRIALS, charge_scale, single


def trials(window: Window) -> Any:
    """Draw between which values the members of single charges lie: velocity and pressure."""
    found = single(window)
    scale = charge_scale(window)
    names = [f"{TRIALS[trial.name]}: {scale.short(float(trial.charge))}" for trial in found]
    left, between, head, foot = row_margin(names), 0.3, 0.62, 0.66
    height = TOP + head + ROW * len(found) + foot
    figure = blank(height)
    headline(figure, "Single charges: median, and nine of ten shots")
    wide = (WIDTH - left - 0.3 - between) / 2.0
    held = levels(window.case)
    for number, (name, label, dimension) in enumerate(NUMBERS[:2]):
        start = left + number * (wide + between)
        axes = figure.add_axes(
            (start / WIDTH, foot / height, wide / WIDTH, ROW * len(found) / height)
        )
        axes.set_axis_off()
        axes.set_ylim(len(found) - 0.5, -0.5)
        values = np.array([getattr(trial, name) for trial in found], dtype=float)
        what = label.removesuffix(" when clear")
        _ranges(axes, values, scale_of(dimension, values), held.get(name, ()), what)
        if number == 0:
            for row, text in enumerate(names):
                row_name(axes, row, text, bold=row == 0 and window.recommended is not None)
    return figure


def _ranges(axes: Any, values: np.ndarray, scale: Scale, held: Sequence[Limit], label: str) -> None:
    """Draw a bar from 5 to 95 % with the median in each row, and the limits."""
    size = points(axes)
    up = 1.0 + 34.0 / float(size[1])
    axes.text(0.0, up, label, transform=axes.transAxes, fontweight="bold", va="center")
    if not np.isfinite(values).any():
        axes.set_xlim(0.0, 1.0)
        empty(axes, "it happened in no shot")
        return
    shown = scale.to(values)
    most = float(np.nanmax(shown))
    near = [(scale.to(each.value), each.label) for each in held
            if scale.to(each.value) <= FAR * most]  # fmt: skip
    axes.set_xlim(0.0, 1.06 * max([most, *(at for at, _ in near)]))
    for row, (low, middle, high) in enumerate(shown):
        axes.axhline(row, color=FAINT, lw=0.6, zorder=0)
        if not math.isfinite(middle):
            axes.annotate("none", (0.0, row), xytext=(4.0, 0.0), textcoords="offset points",
                          va="center", color=SOFT)  # fmt: skip
            continue
        axes.barh(row, high - low, left=low, height=0.5, facecolor=MIDDLE, edgecolor=INK, lw=0.8)
        axes.plot([middle] * 2, [row - 0.25, row + 0.25], color=INK, lw=2.0, zorder=4)
    scale.level(axes)
    widths = [text_width(name) + 6.0 for _, name in near]
    spots = [at / axes.get_xlim()[1] * float(size[0]) for at, _ in near]
    order = sorted(range(len(near)), key=lambda k: spots[k])
    centres = spread([spots[k] for k in order], [widths[k] for k in order], float(size[0]))
    for k, centre in zip(order, centres, strict=True):
        at, name = near[k]
        axes.axvline(at, color=WARM, lw=1.6, ls=(0, (7, 3)), zorder=3)
        axes.annotate(
            name, (spots[k], float(size[1])), xytext=(centre, float(size[1]) + 8.0),
            xycoords="axes points", textcoords="axes points", ha="center", color=WARM,
            arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.6, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip


def changes(window: Window) -> Any:
    """Draw the window as it is, and with each change that was tried, a bar each."""
    assert window.as_it_is is not None
    rows = [(each.change, each.least, each.most) for each in (window.as_it_is, *window.remedies)]
    names = [name for name, _, _ in rows]
    left, head, foot = row_margin(names), 0.42, 0.5
    height = TOP + head + ROW * len(rows) + foot
    figure = blank(height)
    headline(figure, "The window with one change each")
    axes = figure.add_axes(
        (left / WIDTH, foot / height, (WIDTH - left - 0.8) / WIDTH, ROW * len(rows) / height)
    )
    axes.set_axis_off()
    axes.set_ylim(len(rows) - 0.5, -0.5)
    scale = charge_scale(window)
    known = [end for _, *both in rows for end in both if end] or [window.present]
    at = place_of(scale, known)
    room = 0.08 * max(float(np.ptp(at)), 0.2)
    axes.set_xlim(float(at.min()) - room, float(at.max()) + 2.0 * room)
    for row, (name, least, most) in enumerate(rows):
        row_name(axes, row, name, bold=row == 0)
        _change(axes, row, scale, least, most)
    charge_ruler(axes, scale, "bottom", True, window.label)
    charge_ruler(axes, scale, "top", True, window.label)
    size = points(axes)
    axes.text(1.0 + 6.0 / size[0], 1.0 + 8.0 / size[1], "most/least", transform=axes.transAxes,
              va="center", fontsize=7.5)  # fmt: skip
    return figure


def _change(axes: Any, row: int, scale: Scale, least: float | None, most: float | None) -> None:
    """Draw one window as a bar, an empty one as two marks with the gap between them hatched."""
    axes.axhline(row, color=FAINT, lw=0.6, zorder=0)
    right = axes.get_xlim()[1]
    text = ""
    if least is None:
        text = "too seldom"
        if most:
            axes.plot([place_of(scale, most)], [row], "s", mfc=PAPER, mec=WARM, ms=5.0, zorder=4)
    elif most is None:
        start = float(place_of(scale, least))
        axes.barh(row, right - start, left=start, height=0.5, facecolor=MIDDLE, edgecolor=INK,
                  lw=0.8)  # fmt: skip
        text = "no limit"
    elif most >= least:
        start, stop = (float(place_of(scale, end)) for end in (least, most))
        axes.barh(row, stop - start, left=start, height=0.5, facecolor=MIDDLE, edgecolor=INK,
                  lw=0.8)  # fmt: skip
        text = f"\N{MULTIPLICATION SIGN} {most / least:.2f}"
    else:
        text = "empty"
        start = float(place_of(scale, most)) if most > 0.0 else axes.get_xlim()[0]
        stop = float(place_of(scale, least))
        axes.barh(row, stop - start, left=start, height=0.5, facecolor=LIGHT, edgecolor=WARM,
                  hatch="xxxx", lw=0.8)  # fmt: skip
    axes.text(1.0 + 6.0 / points(axes)[0], row, text, transform=axes.get_yaxis_transform(),
              va="center", fontsize=7.5)  # fmt: skip
