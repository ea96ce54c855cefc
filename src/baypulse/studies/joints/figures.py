"""Figures of a rocket's joints: where they lie, what pulls at them, and how a jerk acts."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.case.quantities import shorten
from baypulse.show.figures.base import (
    COOL,
    INK,
    MAIN,
    PAPER,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    TimeSpan,
    blank,
    headline,
    limits,
    panels,
)
from baypulse.show.figures.labels import Labels, spread, text_width
from baypulse.show.figures.scales import row_margin, row_name, scale_of
from baypulse.studies.joints.result import BayOpening, Jerk, Joints

ROW = 0.36
"""Height of a row of loads [in]."""

TALL = 1.35
"""Height of the sketch [in]."""

MOST_TRAVEL = 5e-3
"""Most travel that a scale shows [m]."""

LEAST_TRAVEL = 2e-4
"""Least travel for which a scale is made [m]."""

_SKETCH_SIDE = 0.45

_JOINT = 0.16
"""Room between two sections, where their joint is drawn [in]."""


def rocket(joints: Joints) -> Any:
    """Draw the sections with their joints, and below every load beside what holds against it."""
    rows = _rows(joints)
    foot = 0.62
    height = TOP + TALL + 0.15 + ROW * len(rows) + foot
    figure = blank(height)
    headline(figure, "The joints, and what pulls at them")
    place = (0.0, (height - TOP - TALL) / height, 1.0, TALL / height)
    axes = figure.add_axes(place)
    axes.set_axis_off()
    axes.set_xlim(0.0, WIDTH)
    axes.set_ylim(0.0, TALL)
    _sketch(axes, joints)
    if rows:
        left = row_margin([name for name, *_ in rows])
        box = (left / WIDTH, foot / height, (WIDTH - left - 0.45) / WIDTH, ROW * len(rows) / height)
        _loads(figure.add_axes(box), rows)
    return figure


def _sketch(axes: Any, joints: Joints) -> None:
    """Draw the sections in a row, as long as their masses, with the joints between them."""
    bays = sorted(joints.rocket.bays, key=lambda bay: bay.plain.nose.mass)
    case = bays[-1].plain
    contents = 0.0 if case.contents is None else case.contents.mass
    whole = case.nose.mass + case.airframe.mass + contents
    room = WIDTH - 2.0 * _SKETCH_SIDE
    low, high = 0.38, 0.78
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
    names = [
        shorten(f"{bay.name}, fires {_order(joints.rocket.bays.index(bay))}", 34) for bay in bays
    ]
    widths = [text_width(name, bold=True) / 72.0 + 0.15 for name in names]
    for at, name, centre in zip(x[1:-1], names, spread(x[1:-1], widths, WIDTH), strict=True):
        axes.plot([at - gap, at + gap], [middle, middle], color=INK, lw=5.0, solid_capstyle="butt")
        axes.plot([at, centre], [middle + 0.06, 1.06], color=SOFT, lw=0.7)
        axes.text(centre, 1.14, name, ha="center", va="center", fontweight="bold")
    axes.text(_SKETCH_SIDE, 0.16, "The sections with their masses, packed contents included, the "
              "foremost on the left; heavy: joints.", color=SOFT, va="center")  # fmt: skip


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
    axes.set_axis_off()
    axes.set_ylim(len(rows) - 0.5, -0.5)
    values = [value for row in rows for value in row[1:] if value is not None]
    scale = scale_of("force", values)
    axes.set_xlim(min(0.0, 1.1 * scale.to(min(values))), 1.06 * scale.to(max(values)))
    for k, (name, slowly, moving, assumed, hold) in enumerate(rows):
        row_name(axes, k, name)
        if assumed is not None:
            axes.barh(k, scale.to(assumed), height=0.46, facecolor=PAPER, edgecolor=SOFT, lw=0.8,
                      hatch="///")  # fmt: skip
        axes.barh(k, scale.to(slowly), height=0.46, facecolor=MAIN, edgecolor=INK, lw=0.8)
        if moving is not None:
            axes.plot([scale.to(moving)], [k], "D", ms=6.0, mfc=PAPER, mec=INK, mew=1.2, zorder=5)
        at = scale.to(hold)
        axes.plot([at, at], [k - 0.42, k + 0.42], color=WARM, lw=3.2, solid_capstyle="butt",
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
    inside = np.full(3, float(x[int(np.argmax(felt))])), peak * np.array([0.55, 0.45, 0.35])
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
