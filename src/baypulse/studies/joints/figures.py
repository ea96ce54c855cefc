"""Figures of a rocket's joints: where they lie, what pulls at them, and how a jerk acts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.case.quantities import shorten
from baypulse.show.figures.base import (
    COOL,
    INK,
    LINE,
    MAIN,
    PAPER,
    SIDE,
    SOFT,
    WARM,
    WIDTH,
    TimeSpan,
    axes_at,
    limits,
    panels,
    titled,
)
from baypulse.show.figures.labels import Labels, rows_for, spread, text_width
from baypulse.show.figures.rows import BAR, rows_at, rows_height
from baypulse.show.figures.scales import scale_of
from baypulse.studies.joints.result import BayOpening, Jerk, Joints

TALL = 1.0
"""Height of the sketch without the names of the joints [in]."""

MOST_TRAVEL = 5e-3
"""Most travel that a scale shows [m]."""

LEAST_TRAVEL = 2e-4
"""Least travel for which a scale is made [m]."""

_SKETCH_SIDE = 0.15

_JOINT = 0.12
"""Room between two sections, where their joint is drawn [in]."""


def rocket(joints: Joints) -> Any:
    """Draw the sections with their joints, and below every load beside what holds against it."""
    rows = _rows(joints)
    foot = 0.66
    bays = sorted(joints.rocket.bays, key=lambda bay: bay.plain.nose.mass)
    names = [
        shorten(f"{bay.name}, fires {_order(joints.rocket.bays.index(bay))}", 34) for bay in bays
    ]
    widths = [text_width(name, bold=True) / 72.0 + 0.15 for name in names]
    tall = TALL + LINE * rows_for(widths, WIDTH) / 72.0
    loaded = [name for name, *_ in rows]
    below = rows_height(loaded) + foot if rows else 0.0
    figure = titled("The joints, and what pulls at them", tall + below)
    axes = axes_at(figure, 0.0, below, WIDTH, tall)
    axes.set_xlim(0.0, WIDTH)
    axes.set_ylim(0.0, tall)
    _sketch(axes, bays, names, widths)
    if rows:
        (loads,) = rows_at(figure, foot, loaded)
        _loads(loads, rows)
    return figure


def _sketch(axes: Any, bays: Sequence[Any], names: Sequence[str], widths: Sequence[float]) -> None:
    """Draw the sections in a row, as long as their masses, with the joints between them."""
    case = bays[-1].plain
    contents = 0.0 if case.contents is None else case.contents.mass
    whole = case.nose.mass + case.airframe.mass + contents
    room = WIDTH - 2.0 * _SKETCH_SIDE
    low, high = 0.48, 0.82
    middle, gap = 0.5 * (low + high), 0.5 * _JOINT
    edges = [0.0, *(bay.plain.nose.mass / whole for bay in bays), 1.0]
    x = [_SKETCH_SIDE + room * edge for edge in edges]
    for k, (one, two) in enumerate(pairwise(x)):
        left, right = one + gap * (k > 0), two - gap * (k < len(bays))
        axes.fill([left, right, right, left], [low, low, high, high],
                  facecolor="#eceff3", edgecolor=INK, lw=1.0)  # fmt: skip
        mass = (edges[k + 1] - edges[k]) * whole
        text = quantities.show(mass, "mass")
        if text_width(text) / 72.0 >= right - left - 0.1:
            text = quantities.short(mass, "mass")
        if text_width(text) / 72.0 < right - left:
            axes.text(0.5 * (left + right), middle, text, ha="center", va="center")
    rows = rows_for(widths, WIDTH)
    for row in reversed(range(rows)):
        at_row, up = slice(row, None, rows), 1.06 + LINE * row / 72.0
        centres = spread(x[1:-1][at_row], widths[at_row], WIDTH)
        for at, name, centre in zip(x[1:-1][at_row], names[at_row], centres, strict=True):
            axes.plot([at - gap, at + gap], [middle, middle], color=INK, lw=5.0,
                      solid_capstyle="butt")  # fmt: skip
            axes.plot([at, centre], [middle + 0.06, up - 0.07], color=SOFT, lw=0.7)
            axes.text(centre, up, name, ha="center", va="center", fontweight="bold",
                      bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.3})  # fmt: skip
    axes.text(SIDE, 0.22, "The sections with their masses, packed contents\nincluded, the foremost "
              "on the left; heavy: joints.", color=SOFT, va="center")  # fmt: skip


def _order(k: int) -> str:
    return ("first", "second", "third", "fourth", "fifth")[k]


Row = tuple[str, float, float | None, float | None, float]
"""Name, load put on slowly, as the motion makes it, as assumed, and what holds [N]."""


def _rows(joints: Joints) -> list[Row]:
    found: list[Row] = []
    for opening in joints.openings:
        for jerk in opening.jerks:
            dynamic = jerk.dynamic_factor
            found.append(
                (f"jerk of the {opening.name} on the {jerk.joint}", jerk.felt,
                 None if dynamic is None else dynamic * jerk.felt, jerk.sudden * jerk.felt,
                 jerk.hold)
            )  # fmt: skip
    for drag in joints.drags:
        found.append((f"drag in coast on the {drag.name}", drag.force, None, None, drag.hold))
    return found


def _loads(axes: Any, rows: list[Row]) -> None:
    """Draw a bar for each load, and a heavy mark where the joint gives."""
    values = [value for row in rows for value in row[1:] if value is not None]
    scale = scale_of("force", values)
    axes.set_xlim(min(0.0, 1.1 * scale.to(min(values))), 1.06 * scale.to(max(values)))
    for k, (_, slowly, moving, assumed, hold) in enumerate(rows):
        if assumed is not None:
            axes.barh(k, scale.to(assumed), height=BAR, facecolor=PAPER, edgecolor=SOFT, lw=0.8,
                      hatch="///")  # fmt: skip
        axes.barh(k, scale.to(slowly), height=BAR, facecolor=MAIN, edgecolor=INK, lw=0.8)
        if moving is not None:
            axes.plot([scale.to(moving)], [k], "D", ms=6.0, mfc=PAPER, mec=INK, mew=1.2, zorder=5)
        at = scale.to(hold)
        axes.plot([at, at], [k - 0.28, k + 0.28], color=WARM, lw=3.2, solid_capstyle="butt",
                  zorder=6)  # fmt: skip
    axes.axvline(0.0, color=SOFT, lw=0.8)
    scale.level(axes, "force on the joint")


def jerked(opening: BayOpening, jerk: Jerk) -> Any:
    """Draw what the joint feels of the cord's load, what holds it, and how far it moves."""
    figure, (above, below) = panels(
        shorten(f"The {opening.name} opens: its jerk on the {jerk.joint}", 70), (2.0, 1.3)
    )
    first, last = float(opening.times[0]), float(opening.times[-1])
    end = max(last, float(jerk.parting.times[-1]) if jerk.parting.times.size else last)
    end = min(end, first + 1.6 * (last - first))
    room = 0.06 * (end - first)
    window = TimeSpan(first - room, end + room)
    _felt(above, opening, jerk, window)
    _travel(below, opening, jerk, window)
    window.write(below)
    return figure


def _felt(axes: Any, opening: BayOpening, jerk: Jerk, window: TimeSpan) -> None:
    x = opening.times * window.scale
    scale = scale_of("force", [jerk.felt, jerk.hold])
    felt = scale.to(jerk.share * opening.loads)
    window.dress(axes)
    hold, friction, peak = scale.to(jerk.hold), scale.to(jerk.friction), float(felt.max())
    axes.set_ylim(*limits([peak, hold, friction], above=0.22))
    scale.upright(axes, "force on the joint")
    labels = Labels(axes)
    across = np.array(axes.get_xlim())
    labels.avoid(x, felt)
    for level in (hold, friction):
        labels.avoid(across, [level, level])
    axes.plot(x, felt, color=MAIN, lw=2.0, zorder=3)
    axes.axhline(hold, color=WARM, ls=(0, (7, 3)), lw=1.6)
    axes.axhline(friction, color=SOFT, ls=(0, (2, 2)), lw=1.2)
    spots, heights = np.meshgrid(
        float(x[int(np.argmax(felt))])
        + float(np.ptp(x)) * np.array([0.0, -0.1, 0.1, -0.2, 0.2, -0.3, 0.3]),
        peak * np.array([0.55, 0.45, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85]),
    )
    inside = spots.T.ravel(), heights.T.ravel()
    labels.put(f"{quantities.about(jerk.share)} of the cord's load, peak {scale.text(jerk.felt)}",
               *inside, "on", MAIN, bold=True)  # fmt: skip
    labels.along(
        f"parts it if put on slowly: {scale.text(jerk.hold)}", across, np.full(2, hold), WARM
    )
    if jerk.pin_count:
        labels.along(f"friction alone: {scale.text(jerk.friction)}", across,
                     np.full(2, friction), SOFT)  # fmt: skip
    if jerk.lets_go:
        scaled = jerk.lets_go * felt
        axes.plot(x, scaled, color=COOL, ls=(0, (1, 1.2)), lw=1.6, zorder=2.5)
        labels.avoid(x, scaled)
        times = quantities.digits(jerk.lets_go)
        text = f"dotted: {times} times this load, which just parts it"
        labels.put(text, *inside, "on", COOL)


def _travel(axes: Any, opening: BayOpening, jerk: Jerk, window: TimeSpan) -> None:
    """Draw the travel of the joint under this load."""
    window.dress(axes)
    motion = jerk.parting
    most = motion.greatest_travel
    shown = max(min(most, MOST_TRAVEL), LEAST_TRAVEL)
    scale = scale_of("length", shown)
    axes.set_ylim(*limits([scale.to(shown)], above=0.3))
    scale.upright(axes, "travel")
    labels = Labels(axes)
    if not motion.times.size:
        axes.text(0.5, 0.5, "this load does not move the joint", transform=axes.transAxes,
                  ha="center", va="center", color=SOFT)  # fmt: skip
        return
    last = max(float(motion.times[-1]), float(opening.times[-1]))
    x = window.scale * np.array([opening.times[0], *motion.times, last])
    y = scale.to(np.array([0.0, *motion.travels, motion.travels[-1]]))
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=3)
    labels.avoid(x, np.minimum(y, axes.get_ylim()[1]))
    if motion.parted:
        text = "it comes out"
    elif not motion.held_by_pins:
        text = f"pins gone, stops at {quantities.show(most, 'length')}"
    elif motion.pins_failed:
        text = f"{motion.pins_failed} past its strength, stops at {quantities.show(most, 'length')}"
    else:
        text = f"holds, moved {quantities.show(most, 'length')}"
    left, right = axes.get_xlim()
    across = np.tile(np.linspace(left, right, 9)[4:-1], 2)
    height = axes.get_ylim()[1] * np.repeat([0.35, 0.75], across.size // 2)
    labels.put(text, across, height, "on", MAIN, bold=True)
