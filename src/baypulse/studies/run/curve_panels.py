"""The panels that show curves: against time, and pressure against travel."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case.quantities import show
from baypulse.members.quantities import Limit
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    FAINT,
    LINES,
    MAIN,
    SOFT,
    TimeSpan,
    finite,
    marks,
    points,
)
from baypulse.show.figures.keys import KEY_LINE, key_rows, line_key
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import FAR, Scale, draw_limits, scale_of, set_height

MOST_NAMED = 3
"""Curves of a panel that are named beside them; more have a key."""

FEW = 1e-12
"""Flow [kg/s] below which an opening is not drawn."""

WIDE = ("opened joint", "holder", "orifice")
"""Openings whose flow may leave the scale, so that vents and leaks can be read."""


def _pressures(result: Result) -> list[Limit]:
    """Return the gauge pressures to compare with."""
    numbers = result.numbers
    found = [
        Limit("empty-bay rule", result.rule.empty.promised_pressure),
        Limit("friction", numbers.slip_pressure),
    ]
    if result.case.pins is not None:
        found.append(Limit("friction and pins", numbers.pin_pressure))
    return found


def _curve(
    axes: Any, result: Result, window: TimeSpan, name: str, what: str, held: list[Limit]
) -> tuple[Scale, Labels]:
    """Draw one curve against time beside some levels; return its scale and labels."""
    part = window.points(result.time)
    curve = result.curves[name]
    x, values = result.time[part] * window.scale, curve.values[part]
    scale = scale_of(curve.dimension, values)
    axes.plot(x, scale.to(values), color=MAIN, lw=1.9, zorder=3)
    window.dress(axes)
    set_height(axes, scale, values, held, 0.25)
    scale.upright(axes, what)
    labels = Labels(axes)
    labels.avoid(x, scale.to(values))
    return scale, labels


def _point(axes: Any, labels: Labels, x: float, y: float, text: str, sides: str) -> None:
    """Mark a point of a curve and name it."""
    axes.plot([x], [y], "o", color=MAIN, ms=4.5, zorder=5)
    labels.put(text, x, y, sides, MAIN, bold=True)


def pressure(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the bay's gauge pressure against time."""
    levels = _pressures(result)
    scale, labels = _curve(axes, result, window, "gauge_pressure", "gauge pressure", levels)
    labels.flags([(t * window.scale, name) for t, _, name in marks(result)])
    peak = result.numbers.peak_pressure
    if peak > 1.0:
        _point(axes, labels, result.numbers.peak_time * window.scale, scale.to(peak),
               f"peak {scale.text(peak)}", "right left above below")  # fmt: skip
    draw_limits(axes, labels, scale, levels, SOFT)


def travel(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the travel of the shoulder against time."""
    stroke = [Limit("shoulder out", result.case.joint.shoulder_length)]
    scale, labels = _curve(axes, result, window, "travel", "travel", stroke)
    _upright(axes, labels, result, window)
    draw_limits(axes, labels, scale, stroke, SOFT)


def velocity(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the separation velocity against time."""
    scale, labels = _curve(axes, result, window, "separation_velocity", "separation", [])
    _upright(axes, labels, result, window)
    speed, at = result.numbers.clear_velocity, result.numbers.clear_time
    if speed is not None and at is not None:
        _point(axes, labels, at * window.scale, scale.to(speed),
               f"{scale.text(speed)} when clear", "left right below above")  # fmt: skip


def _upright(axes: Any, labels: Labels, result: Result, window: TimeSpan) -> None:
    """Repeat the event lines of the panel above, without names."""
    for t, _, _ in marks(result):
        if window.start <= t <= window.stop:
            at = t * window.scale
            axes.axvline(at, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
            labels.avoid([at, at], axes.get_ylim())


def pressure_travel(axes: Any, result: Result) -> None:
    """Draw gauge pressure against travel, and hatch the part of it that pushes the sections.

    Contents that slide as a piston take their share of the bay's pressure, so that less arrives at
    the joint. The hatched area, times the bore, is the work done on the sections.
    """
    stroke = result.case.joint.shoulder_length
    clear = result.numbers.clear_time is not None
    end = 1.3 * stroke if clear else min(1.15 * result.numbers.greatest_travel, stroke)
    beyond = np.flatnonzero(result.travel > end)
    last = int(beyond[0]) + 1 if beyond.size else result.travel.size
    moved, gauge, push = (
        values[:last] for values in (result.travel, result.gauge_pressure, result.push_force)
    )
    along, up = scale_of("length", end), scale_of("gauge pressure", gauge)
    x, y = along.to(moved), up.to(gauge)
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=3)
    inside = moved <= stroke
    thin = np.unique(np.linspace(0, np.count_nonzero(inside) - 1, 400).astype(int))
    axes.fill_between(
        x[inside][thin], 0.0, up.to(push[inside][thin] / result.rule.area), facecolor="#e4ebf1",
        edgecolor=FAINT, hatch="///", lw=0.0, zorder=0.5,
    )  # fmt: skip
    levels = _pressures(result)
    axes.set_xlim(0.0, along.to(end))
    set_height(axes, up, gauge, levels, above=0.22)
    up.upright(axes, "gauge pressure")
    along.level(axes, "travel of the shoulder")
    labels = Labels(axes)
    labels.flags([(along.to(d), name) for _, d, name in marks(result, burst=False)])
    labels.avoid(x, y)
    draw_limits(axes, labels, up, levels, SOFT)
    rising = np.maximum.accumulate(moved)
    work = float(np.trapezoid(push[inside], rising[inside]))
    middle = axes.get_xlim()[1] * np.array([0.35, 0.45, 0.25, 0.55, 0.15, 0.65])
    low, high = axes.get_ylim()
    # within the area, or else anywhere above it
    heights = np.concatenate(
        [
            np.interp(middle, along.to(rising), y) * 0.5,
            np.repeat(low + (high - low) * np.linspace(0.85, 0.3, 8), middle.size),
        ]
    )
    labels.put(f"hatched area × bore = work on the sections: {show(work, 'energy')}",
               np.tile(middle, 9), heights, "on")  # fmt: skip


def _bundle(
    axes: Any, result: Result, window: TimeSpan, rows: list[tuple[str, np.ndarray]],
    dimension: str, what: str, fit: Any = None, above: str = "",
) -> None:  # fmt: skip
    """Draw several curves of one kind, SI, with their names beside them.

    What the scale has to hold is `fit`, where that is not all of the curves; what it does not hold
    is said `above`.
    """
    x = result.time[window.points(result.time)] * window.scale
    if fit is None:
        fit = np.concatenate([finite(values) for _, values in rows]) if rows else np.zeros(1)
    scale = scale_of(dimension, fit)
    looks = _looks(len(rows))
    with_key = len(rows) > MOST_NAMED
    tall = float(points(axes)[1])
    high = 6.0 + KEY_LINE * len(key_rows([name for name, _ in rows], float(points(axes)[0]) - 4.0))
    set_height(axes, scale, fit, (), above=0.15)
    if with_key:
        low, top = axes.get_ylim()
        axes.set_ylim(low, low + (top - low) * tall / (tall - high))
    window.dress(axes)
    scale.upright(axes, what)
    labels = Labels(axes)
    _upright(axes, labels, result, window)
    drawn = [(name, scale.to(values)) for name, values in rows]
    for (_, y), (colour, dashes, width) in zip(drawn, looks, strict=True):
        axes.plot(x, y, color=colour, ls=dashes, lw=width, zorder=3)
        labels.avoid(x, y)
    if with_key:
        # more names than find room beside their curves
        named = [(name, *look) for (name, _), look in zip(rows, looks, strict=True)]
        line_key(axes, named, -6.0, 4.0)
        labels.taken.append((0.0, tall - high, float(points(axes)[0]), tall))
    if above:
        left, right = axes.get_xlim()
        low, top = axes.get_ylim()
        spots, heights = np.meshgrid(np.linspace(right, left, 15), np.linspace(top, low, 9)[:-1])
        labels.put(above, spots.ravel(), heights.ravel(), "below", SOFT)
    for k, ((name, y), (colour, _, _)) in enumerate(zip(drawn, looks, strict=True)):
        if with_key:
            break
        labels.along(name, x, y, colour, [(x, v) for j, (_, v) in enumerate(drawn) if j != k])


def _looks(count: int) -> list[tuple[str, Any, float]]:
    """Return colour, dashes and width of so many curves; no two are the same."""
    many = len(LINES)
    return [(LINES[k % many][0], *LINES[(k + k // many) % many][1:]) for k in range(count)]


def forces(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw what pushes the joint open and what holds it."""
    part = window.points(result.time)
    rows = [("push of the pressure", result.push_force[part])]
    if result.case.pins is not None:
        rows.append(("pins", np.abs(result.pin_force[part])))
    rows.append(("friction and seal", np.abs(result.friction_force[part])))
    _bundle(axes, result, window, rows, "force", "force")


def heat(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the temperatures of both zones and of the skins."""
    part = window.points(result.time)
    rows = []
    # a cold gas makes the zone it enters the colder one
    own = {"hot_temperature": "let-in gas", "cold_temperature": "air of the bay"}
    for name, curve in result.curves.items():
        if curve.dimension == "temperature":
            label = curve.label.removesuffix(" temperature")
            if result.case.powder is None:
                label = own.get(name, label)
            rows.append((label, curve.values[part]))
    _bundle(axes, result, window, rows, "temperature", "temperature")


def burnt(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the burnt share of the charge."""
    rows = [("burnt share of the charge", result.burnt_fraction[window.points(result.time)])]
    _bundle(axes, result, window, rows, "ratio", "burnt", np.ones(1))


def flow(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the mass flow through every opening that lets any through."""
    part = window.points(result.time)
    rows = []
    for curve in result.curves.values():
        values = curve.values[part]
        if curve.dimension == "mass flow" and np.abs(finite(values)).max() > FEW:
            rows.append((" ".join(curve.label.removeprefix("flow, ").split()), values))
    most = {name: float(np.abs(finite(values)).max()) for name, values in rows}
    small = max([size for name, size in most.items() if name not in WIDE], default=0.0)
    fit, above = None, ""
    if max(most.values(), default=0.0) > FAR * small > 0.0:
        # a flow far off the scale would be two upright lines, like marks of events
        kept = [name for name, _ in rows if most[name] <= 1.4 * small]
        gone = [f"{name}, to {show(most[name], 'mass flow')}" for name in most if name not in kept]
        rows = [(name, values) for name, values in rows if name in kept]
        fit = np.array([min(float(finite(values).min()) for _, values in rows), 1.7 * small])
        above = f"off this scale: {'; '.join(gone)}"
    _bundle(axes, result, window, rows, "mass flow", "flow", fit, above)


def masses(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the masses in the bay."""
    part = window.points(result.time)
    first = "products" if result.case.powder is not None else "let-in gas"
    rows = [
        (first, result.products_mass[part]),
        ("air mixed in", result.hot_air_mass[part]),
        ("air still cold", result.cold_air_mass[part]),
    ]
    _bundle(axes, result, window, rows, "mass", "in the bay")
