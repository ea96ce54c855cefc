"""Figures of a vent: its window over the diameter, the drills that fit, the pressure on the way."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.case import geometry, quantities
from baypulse.case.drills import SYSTEMS
from baypulse.show.figures.base import (
    FAINT,
    INK,
    LINES,
    MAIN,
    PAPER,
    SMALL,
    SOFT,
    WARM,
    limits,
    panels,
    points,
    ruler,
)
from baypulse.show.figures.charge_ruler import charge_ruler, place_of
from baypulse.show.figures.keys import BESIDE, KEY_LINE, key_rows
from baypulse.show.figures.labels import Labels, text_width
from baypulse.show.figures.quantity_curves import percent_ruler
from baypulse.show.figures.scales import Scale, corner, scale_of
from baypulse.show.figures.strips import GOOD, HARD, NEITHER, WEAK, Stretch, behind, strip, sure
from baypulse.studies.vents.drill_patterns import COUNTS, inside
from baypulse.studies.vents.result import NOT_ENOUGH, AscentCourse, VentAscent, Vents
from baypulse.studies.vents.words import NAMES

HIGHEST = 1.6
"""Top of the scale of the force, over what holds the joint."""

ABOVE = 0.26
"""Height of a panel that is left empty for the scale above the next one [in]."""

NAMED = 0.62
"""The same for a scale and the names of the marks above it [in]."""

ROW = 0.62
"""Height of the row of a number of holes [in]."""


def _hole() -> Scale:
    """Return the units of a hole."""
    return scale_of("length")


def stretches(vents: Vents) -> list[Stretch]:
    """Return where a vent is too small, where it is right, and where it is too large.

    Parameters
    ----------
    vents : Vents
        Findings.
    """
    low = vents.lower.single
    high = 0.0 if vents.upper.state == NOT_ENOUGH else vents.upper.single
    small = ("too small for the ascent", "too small")
    large = ("too large for the charge", "too large")
    both = ("too small and too large", "neither")
    if vents.upper.state == NOT_ENOUGH:
        large, both = ("the charge is too small", "charge"), ("vent and charge too small", "both")
    if low <= high:
        middle = Stretch(low, high, ("the window",), GOOD)
    else:
        middle = Stretch(high, low, both, NEITHER)
    found = [
        Stretch(0.0, min(low, high), small, HARD), middle,
        Stretch(max(low, high), math.inf, large, WEAK),
    ]  # fmt: skip
    return [each for each in found if each.low < each.high]


def over_the_vent(vents: Vents) -> Any:
    """Draw force during the ascent and chance of separation over the vent, the window in both."""
    title = "The vent: small enough for the charge, large enough for the ascent"
    figure, (_, *places) = panels(title, (ABOVE, 0.62, 1.9, 1.7))
    x = place_of(_hole(), [push.single for push in vents.pushes if push.single > 0.0])
    for axes in places:
        axes.set_xlim(float(x.min()), float(x.max()))
    _strip(places[0], vents)
    _force(places[1], vents)
    _chance(places[2], vents)
    for axes in places[1:]:
        _behind(axes, vents)
        charge_ruler(axes, _hole(), "bottom", axes is places[-1], _across(vents))
    charge_ruler(places[0], _hole(), "top", True, _across(vents))
    return figure


def _across(vents: Vents) -> str:
    """Return what the scale of the vent is."""
    if vents.vent.count > 1:
        return "diameter of the one hole that has the area of all"
    return "diameter of the vent"


def _strip(axes: Any, vents: Vents) -> None:
    """Draw the stretches, the interval of the largest vent, and the present one."""
    share = strip(axes, stretches(vents), _hole())
    sure(axes, vents.upper.low, vents.upper.high, _hole(), share + 0.06)
    low, high = axes.get_xlim()
    wide = float(points(axes)[0])
    single = vents.vent.single
    if single > 0.0:
        at = float(place_of(_hole(), single))
        up = share + 0.32
        axes.plot([at], [up], "D", mfc=PAPER, mec=INK, mew=1.0, ms=5.0, zorder=7)
        name = f"present: {_hole().text(single)}"
        right = (at - low) / (high - low) * wide + 8.0 + text_width(name) < wide
        axes.annotate(name, (at, up), xytext=(7.0 if right else -7.0, -3.0), zorder=9,
                      textcoords="offset points", ha="left" if right else "right")  # fmt: skip


def _behind(axes: Any, vents: Vents) -> None:
    """Draw the window and the present vent behind a panel."""
    behind(axes, stretches(vents), _hole())
    if vents.vent.single > 0.0:
        axes.axvline(float(place_of(_hole(), vents.vent.single)), color=SOFT, lw=0.9,
                     ls=(0, (3, 2)), zorder=1.5)  # fmt: skip


def _force(axes: Any, vents: Vents) -> None:
    """Draw the greatest force during the ascent, as a share of what holds the joint."""
    hold = vents.lower.hold
    top = max(push.force for push in vents.pushes) / hold
    top = min(max(1.35 * top, 1.35 * vents.share, 0.1), HIGHEST)
    axes.set_ylim(-4.0 * top, 100.0 * top)
    ruler(axes, "left", "share of the retention (%)")
    force = scale_of("force", hold)
    low, high = (0.01 * float(force.to(end * hold)) for end in axes.get_ylim())
    ruler(axes, "right", quantities.pretty(force.unit), (low, high))
    labels = Labels(axes)
    corner(axes, labels, "greatest force during the ascent, over the low side of what holds")
    if vents.vent.single > 0.0:
        labels.avoid([place_of(_hole(), vents.vent.single)] * 2, axes.get_ylim())
    curves: list[tuple[str, tuple[VentAscent, ...], str, Any, float]] = [
        ("shoulder tight", vents.pushes, MAIN, "-", 2.0)
    ]
    if vents.leaky_pushes:
        curves.append(("gap of the case open", vents.leaky_pushes, SOFT, (0, (1, 1.2)), 1.7))
    drawn = []
    for name, pushes, colour, dashes, wide in curves:
        seen = [push for push in pushes if push.single > 0.0]
        x = place_of(_hole(), [push.single for push in seen])
        y = np.array([100.0 * push.force / hold for push in seen])
        axes.plot(x, y, color=colour, ls=dashes, lw=wide, zorder=4, clip_on=True)
        labels.avoid(x, np.clip(y, *axes.get_ylim()))
        drawn.append((name, x, y, colour))
    _level(axes, labels, 100.0 * vents.share, f"wanted: at most {quantities.asked(vents.share)}")
    for name, x, y, colour in drawn:
        inside_panel = (y < 92.0 * top) & (x > axes.get_xlim()[0])
        labels.put(name, x[inside_panel], y[inside_panel], "right above left", colour)


def _level(axes: Any, labels: Labels, level: float, name: str) -> None:
    """Draw what shall not be passed, with its name where no curve is near."""
    axes.axhline(level, color=WARM, ls=(0, (7, 3)), lw=1.5, zorder=2.5)
    labels.avoid(axes.get_xlim(), [level, level])
    labels.along(name, np.array(axes.get_xlim()), np.full(2, level), WARM)


def _chance(axes: Any, vents: Vents) -> None:
    """Draw the chance of separation with its exact intervals."""
    axes.set_ylim(-6.0, 134.0)
    labels = Labels(axes)
    shots = f"{vents.chances[0][1].members:,}"
    corner(axes, labels, f"chance that the charge opens the bay; whiskers: 95 %, {shots} shots")
    percent_ruler(axes)
    if vents.vent.single > 0.0:
        labels.avoid([place_of(_hole(), vents.vent.single)] * 2, axes.get_ylim())
    seen = [(single, each) for single, each in vents.chances if single > 0.0]
    x = place_of(_hole(), [single for single, _ in seen])
    y = np.array([100.0 * each.share for _, each in seen])
    axes.plot(x, y, color=MAIN, lw=1.9, zorder=4)
    axes.plot(x, y, "o", color=MAIN, ms=3.8, zorder=5)
    for at, (_, each) in zip(x, seen, strict=True):
        axes.plot([at, at], [100.0 * each.low, 100.0 * each.high], color=MAIN, lw=1.0, zorder=3)
    labels.avoid(x, y)
    without = vents.chances[0][1].share
    left = axes.get_xlim()[0]
    axes.plot([left, x[0]], [100.0 * without, y[0]], color=MAIN, lw=1.2, ls=(0, (1, 1.2)), zorder=4)
    wanted = f"wanted: at least {quantities.asked(vents.wanted)}"
    _level(axes, labels, 100.0 * vents.wanted, wanted)


def drills_chart(vents: Vents) -> Any:
    """Draw for each number of holes which drills make a vent inside the window."""
    rows = [count for count in COUNTS if any(each.count == count for each in vents.patterns)]
    title = "Drills inside the window, by the number of holes"
    figure, (_, axes) = panels(title, (NAMED, ROW * len(rows)))
    every = [
        drill.drill.diameter for count in rows for system in SYSTEMS
        for drill in inside(vents.lower, vents.upper, system, count)
    ]  # fmt: skip
    at = place_of(_hole(), [*every, *([vents.vent.diameter] if vents.vent.diameter > 0.0 else [])])
    room = 0.06 * max(float(np.ptp(at)), 0.2)
    axes.set_xlim(float(at.min()) - room, float(at.max()) + room)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    low, high = axes.get_xlim()
    size = points(axes)
    for k, count in enumerate(rows):
        axes.axhline(k + 0.5, color=FAINT, lw=0.6, zorder=0)
        start, stop = (end / math.sqrt(count) for end in (vents.lower.single, vents.upper.single))
        begin = low if start <= 0.0 else max(float(place_of(_hole(), start)), low)
        end = high if math.isinf(stop) else min(float(place_of(_hole(), stop)), high)
        axes.barh(k, end - begin, left=begin, height=0.86, facecolor="#e6ebf0", edgecolor="none",
                  zorder=0)  # fmt: skip
        axes.text(-6.0 / size[0], k, f"{count} hole{'s' * (count > 1)}", ha="right", va="center",
                  transform=axes.get_yaxis_transform())  # fmt: skip
        _marks(axes, vents, k, count)
        if vents.vent.count == count and vents.vent.diameter > 0.0:
            axes.plot([float(place_of(_hole(), vents.vent.diameter))] * 2, [k - 0.43, k + 0.43],
                      color=INK, lw=1.2, ls=(0, (3, 2)), zorder=6)  # fmt: skip
    _systems(axes, vents.vent.count in rows and vents.vent.diameter > 0.0)
    charge_ruler(axes, _hole(), "bottom", True, "diameter of each hole")
    charge_ruler(axes, _hole(), "top", True, "diameter of each hole")
    return figure


_LANES = dict(zip(SYSTEMS, ((-0.27, "s"), (0.0, "o"), (0.27, "^")), strict=True))
"""Height within a row and mark of each system."""


def _marks(axes: Any, vents: Vents, k: int, count: int) -> None:
    """Draw the drills of a row, a lane for each system, the one nearest to the middle by name."""
    chosen = {each.drill.system: each for each in vents.patterns if each.count == count}
    for system, (lane, mark) in _LANES.items():
        good = inside(vents.lower, vents.upper, system, count)
        x = place_of(_hole(), [each.drill.diameter for each in good])
        axes.plot(x, np.full(len(good), k + lane), mark, mfc=PAPER, mec=SOFT, mew=0.6, ms=2.6,
                  zorder=4)  # fmt: skip
        if system in chosen:
            at = float(place_of(_hole(), chosen[system].drill.diameter))
            axes.plot([at], [k + lane], mark, color=MAIN, ms=5.5, zorder=6)
            axes.annotate(chosen[system].drill.name, (at, k + lane), xytext=(6.0, -3.0), zorder=7,
                          textcoords="offset points", fontweight="bold", fontsize=SMALL,
                          bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})  # fmt: skip


def _systems(axes: Any, own: bool) -> None:
    """Write above the rows which mark is which system, and what the case's own holes are."""
    size = points(axes)
    names = [*_LANES, *["in the case"] * own]
    up = 1.0 + (34.0 + KEY_LINE) / float(size[1])
    for row in key_rows(names, float(size[0])):
        at = 0.0
        for name in row:
            if name in _LANES:
                axes.plot([at + 7.0 / size[0]], [up], _LANES[name][1], transform=axes.transAxes,
                          color=MAIN, ms=5.0, clip_on=False)  # fmt: skip
            else:
                axes.plot([at, at + 16.0 / size[0]], [up, up], transform=axes.transAxes, color=INK,
                          lw=1.2, ls=(0, (3, 2)), clip_on=False)  # fmt: skip
            axes.text(at + 20.0 / size[0], up, name, transform=axes.transAxes, va="center")
            at += (text_width(name) + BESIDE) / float(size[0])
        up -= KEY_LINE / float(size[1])


def climb_chart(vents: Vents) -> Any:
    """Draw the pressure over the joint against time: without a vent, and with several."""
    strong, weak = (
        [each for each in vents.courses if (each.name in ("no vent", "smallest vent")) == tells]
        for tells in (True, False)
    )
    groups = [group for group in (strong, weak) if group]
    figure, places = panels(
        "Bay above outside during the ascent, shoulder tight", [1.8, 1.4][: len(groups)]
    )
    for axes, group in zip(places, groups, strict=True):
        _courses(axes, vents, group, first=group is strong)
        ruler(axes, "bottom", "time after launch (s)" if axes is places[-1] else "",
              numbers=axes is places[-1])  # fmt: skip
    return figure


def _courses(axes: Any, vents: Vents, group: list[AscentCourse], first: bool) -> None:
    """Draw the pressure of several vents in one panel, with what the joint bears in the first."""
    every = np.concatenate([course.pressure for course in group])
    scale = scale_of("gauge pressure", every)
    bears = vents.share * vents.lower.hold / float(geometry.bore_area(vents.case))
    shown = [float(scale.to(every.min())), float(scale.to(every.max()))]
    level = float(scale.to(bears))
    # what the joint bears is drawn where it is near
    near = first and level < 2.5 * shown[1]
    axes.set_ylim(*limits([*shown, level] if near else shown, above=0.3, below=0.1))
    time = vents.courses[0].time
    axes.set_xlim(float(time[0]), float(time[-1]))
    scale.upright(axes, "over the joint")
    labels = Labels(axes)
    if near:
        name = f"{quantities.asked(vents.share)} of the retention, without drag"
        _level(axes, labels, level, name)
    curves = []
    for course, (colour, dashes, wide) in zip(group, LINES, strict=False):
        y = scale.to(course.pressure)
        axes.plot(course.time, y, color=colour, ls=dashes, lw=wide, zorder=4)
        labels.avoid(course.time, y)
        curves.append((course, y, colour))
    for course, y, colour in curves:
        name = NAMES[course.name]
        if course.single > 0.0:
            name += f", {_hole().short(course.single)}"
        labels.along(name, course.time, y, colour,
                     [(c.time, other) for c, other, _ in curves if c is not course])  # fmt: skip


DRAW = {"window": over_the_vent, "drills": drills_chart, "climb": climb_chart}
"""What draws each figure, by its name."""
