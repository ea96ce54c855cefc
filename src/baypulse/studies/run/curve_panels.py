"""The panels that show curves: against time, and pressure against travel."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.case.quantities import digits, show
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    FAINT,
    LINES,
    MAIN,
    PAPER,
    SOFT,
    TimeSpan,
    exchange,
    finite,
    limits,
    marks,
    ruler,
    two_scales,
)
from baypulse.show.figures.labels import Labels

FAR = 4.0
"""A level more than this many times above the curve is named at the edge, not drawn."""

_FEW = 1e-9
"""Flow [g/s] below which an opening is not drawn."""

_WIDE = ("opened joint", "holder", "orifice")
"""Openings whose flow may leave the scale, so that vents and leaks can be read."""


def _psi(value: float) -> str:
    return f"{digits(units.convert(value, 'psi'))} psi"


def _levels(result: Result) -> list[tuple[float, str, Any, float]]:
    """Return gauge pressure [Pa], name, dashes and width of each level to compare with."""
    numbers = result.numbers
    found: list[tuple[float, str, Any, float]] = [
        (result.rule.empty.promised_pressure, "empty-bay rule", (0, (7, 3)), 1.1),
        (numbers.slip_pressure, "friction", (0, (1, 2)), 1.0),
    ]
    if result.case.pins is not None:
        found.append((numbers.pin_pressure, "friction and pins", "-", 0.8))
    return found


def _pressure_scale(axes: Any, result: Result, shown: np.ndarray) -> list[Any]:
    """Set the limits of a pressure axis; return the levels that fit and name the others."""
    top = max(float(finite(shown).max()), 1e-3)
    levels = _levels(result)
    near = [level for level in levels if units.convert(level[0], "psi") <= FAR * top]
    ends = [*finite(shown), *(units.convert(level[0], "psi") for level in near)]
    axes.set_ylim(*limits([float(min(ends)), float(max(ends))], above=0.22))
    return levels


def _draw_levels(axes: Any, labels: Labels, levels: list[Any]) -> None:
    low, high = axes.get_xlim()
    top = axes.get_ylim()[1]
    drawn = [level for level in levels if units.convert(level[0], "psi") < top]
    for value, _, dashes, width in drawn:
        y = units.convert(value, "psi")
        axes.axhline(y, color=SOFT, ls=dashes, lw=width, zorder=1.5)
        labels.avoid([low, high], [y, y])
    for value, name, _, _ in drawn:
        labels.along(
            f"{name}: {_psi(value)}", np.array([low, high]),
            np.full(2, units.convert(value, "psi")), SOFT,
        )  # fmt: skip
    for value, name, _, _ in levels:
        if units.convert(value, "psi") >= top:
            x = np.linspace(high, low, 12)
            labels.put(f"{name}: {_psi(value)}, above this scale", x, np.full(12, 0.8 * top),
                       "below above", SOFT)  # fmt: skip


def pressure(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the bay's gauge pressure against time."""
    part = window.points(result.time)
    x = result.time[part] * window.scale
    y = units.convert(1.0, "psi") * result.gauge_pressure[part]
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=3)
    window.dress(axes)
    levels = _pressure_scale(axes, result, y)
    two_scales(axes, "psi", "kPa", "gauge pressure", "gauge pressure")
    labels = Labels(axes)
    labels.flags([(t * window.scale, name) for t, _, name in marks(result)])
    labels.avoid(x, y)
    peak = result.numbers.peak_pressure
    if peak > 1.0:
        at = result.numbers.peak_time * window.scale
        axes.plot([at], [units.convert(peak, "psi")], "o", color=MAIN, ms=4.5, zorder=5)
        kilopascals = digits(units.convert(peak, "kPa"))
        labels.put(f"peak {_psi(peak)} ({kilopascals} kPa)", at, units.convert(peak, "psi"),
                   "right left above below", MAIN, bold=True)  # fmt: skip
    _draw_levels(axes, labels, levels)


def travel(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the travel of the shoulder against time."""
    part = window.points(result.time)
    x, y = result.time[part] * window.scale, result.travel[part] / 0.0254
    axes.plot(x, y, color=MAIN, lw=1.8, zorder=3)
    stroke = result.case.joint.shoulder_length / 0.0254
    window.dress(axes)
    top = float(finite(y).max())
    near = [stroke] if stroke <= FAR * max(top, 1e-6) else []
    axes.set_ylim(*limits([*finite(y), *near], above=0.25))
    two_scales(axes, "in", "mm", "length", "travel")
    labels = Labels(axes)
    _upright(axes, labels, result, window)
    labels.avoid(x, y)
    if near:
        axes.axhline(stroke, color=SOFT, lw=0.9, ls=(0, (1, 2)))
        low, high = axes.get_xlim()
        labels.avoid([low, high], [stroke, stroke])
        labels.along(f"shoulder out: {digits(stroke)} in", np.array([low, high]),
                     np.full(2, stroke), SOFT)  # fmt: skip


def velocity(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the separation velocity against time."""
    part = window.points(result.time)
    x, y = result.time[part] * window.scale, result.separation_velocity[part] / 0.3048
    axes.plot(x, y, color=MAIN, lw=1.8, zorder=3)
    window.dress(axes)
    axes.set_ylim(*limits(list(finite(y)), above=0.25))
    two_scales(axes, "ft/s", "m/s", "velocity", "separation")
    labels = Labels(axes)
    _upright(axes, labels, result, window)
    labels.avoid(x, y)
    speed, at = result.numbers.clear_velocity, result.numbers.clear_time
    if speed is not None and at is not None:
        axes.plot([at * window.scale], [speed / 0.3048], "o", color=MAIN, ms=4.5, zorder=5)
        labels.put(
            f"{digits(speed / 0.3048)} ft/s ({digits(speed)} m/s) when clear",
            at * window.scale, speed / 0.3048, "left right below above", MAIN, bold=True,
        )  # fmt: skip


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
    x, y = result.travel / 0.0254, result.gauge_pressure * units.convert(1.0, "psi")
    last = int(np.argmax(x > end / 0.0254)) + 1 if (x > end / 0.0254).any() else x.size
    x, y = x[:last], y[:last]
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=3)
    push = result.push_force[:last]
    inside = x <= stroke / 0.0254
    thin = np.unique(np.linspace(0, np.count_nonzero(inside) - 1, 400).astype(int))
    hatched = units.convert(1.0, "psi") * push[inside][thin] / result.rule.area
    axes.fill_between(x[inside][thin], 0.0, hatched, facecolor="#e4ebf1",
                      edgecolor=FAINT, hatch="///", lw=0.0, zorder=0.5)  # fmt: skip
    axes.set_xlim(0.0, end / 0.0254)
    levels = _pressure_scale(axes, result, y)
    two_scales(axes, "psi", "kPa", "gauge pressure", "gauge pressure")
    ruler(axes, "bottom", "")
    ruler(axes, "bottom", "travel of the shoulder (in above, mm below)", (0.0, 1e3 * end),
          shift=14.0)  # fmt: skip
    labels = Labels(axes)
    places = [(d / 0.0254, name) for _, d, name in marks(result, burst=False)]
    labels.flags(places)
    labels.avoid(x, y)
    _draw_levels(axes, labels, levels)
    moved = np.maximum.accumulate(result.travel[:last][inside])
    work = show(float(np.trapezoid(push[inside], moved)), "energy").replace("*", " ")
    middle = axes.get_xlim()[1] * np.array([0.35, 0.45, 0.25, 0.55, 0.15, 0.65])
    height = np.interp(middle, np.maximum.accumulate(x), y) * 0.5
    labels.put(
        f"hatched area × bore = work on the sections: {work}",
        middle,
        height,
    )


def _bundle(
    axes: Any, window: TimeSpan, time: np.ndarray, rows: list[tuple[str, np.ndarray]],
    unit: str, other: str, dimension: str, what: str, above: float = 0.15,
    result: Result | None = None,
) -> None:  # fmt: skip
    """Draw several curves of one kind with their names beside them.

    ``rows`` holds names and values in ``unit``; limits come from the data unless ``axes`` has
    been given some already.
    """
    x = time * window.scale
    shown = [y for _, y in rows]
    if axes.get_autoscaley_on():
        values = np.concatenate([finite(y) for y in shown]) if shown else np.zeros(1)
        if dimension == "temperature":
            room = 0.1 * float(np.ptp(values)) + 1.0
            axes.set_ylim(float(values.min()) - 1.5 * room, float(values.max()) + 1.5 * room)
        else:
            axes.set_ylim(*limits([float(values.min()), float(values.max())], above=above))
    window.dress(axes)
    if other:
        two_scales(axes, unit, other, dimension, what)
    else:
        ruler(axes, "left", f"{what} ({unit})")
    labels = Labels(axes)
    if result is not None:
        _upright(axes, labels, result, window)
    for (_, y), (colour, dashes, width) in zip(rows, LINES * 4, strict=False):
        axes.plot(x, y, color=colour, ls=dashes, lw=width, zorder=3)
        labels.avoid(x, y)
    for k, ((name, y), (colour, _, _)) in enumerate(zip(rows, LINES * 4, strict=False)):
        labels.along(name, x, y, colour, [(x, v) for j, (_, v) in enumerate(rows) if j != k])


def forces(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw what pushes the joint open and what holds it."""
    part = window.points(result.time)
    pound = units.convert(1.0, "lbf")
    rows = [("push of the pressure", result.push_force[part] * pound)]
    if result.case.pins is not None:
        rows.append(("pins", np.abs(result.pin_force[part]) * pound))
    rows.append(("friction and seal", np.abs(result.friction_force[part]) * pound))
    _bundle(axes, window, result.time[part], rows, "lbf", "N", "force", "force", result=result)


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
            rows.append((label, exchange(curve.values[part], "K", "degF", "temperature")))
    _bundle(axes, window, result.time[part], rows, "degF", "degC", "temperature",
            "temperature", result=result)  # fmt: skip


def burnt(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the burnt share of the charge."""
    part = window.points(result.time)
    axes.set_ylim(0.0, 108.0)
    rows = [("burnt share of the charge", 100.0 * result.burnt_fraction[part])]
    _bundle(axes, window, result.time[part], rows, "%", "", "ratio", "burnt", result=result)


def flow(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the mass flow through every opening that lets any through."""
    part = window.points(result.time)
    rows = []
    for curve in result.curves.values():
        values = curve.values[part] * 1e3
        if curve.dimension == "mass flow" and np.abs(finite(values)).max() > _FEW:
            rows.append((" ".join(curve.label.removeprefix("flow, ").split()), values))
    most = {name: float(np.abs(finite(values)).max()) for name, values in rows}
    small = max([size for name, size in most.items() if name not in _WIDE], default=0.0)
    if max(most.values(), default=0.0) > FAR * small > 0.0:
        # a flow far off the scale would be two upright lines, like marks of events
        kept = [name for name, _ in rows if most[name] <= 1.4 * small]
        gone = [f"{name}, to {digits(most[name])} g/s" for name in most if name not in kept]
        rows = [(name, values) for name, values in rows if name in kept]
        low = min(float(finite(values).min()) for _, values in rows)
        axes.set_ylim(*limits([low, 1.7 * small], above=0.1))
        axes.text(0.99, 0.94, f"off this scale: {'; '.join(gone)}", color=SOFT, ha="right",
                  va="top", transform=axes.transAxes,
                  bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})  # fmt: skip
    _bundle(axes, window, result.time[part], rows, "g/s", "oz/s", "mass flow", "flow",
            result=result)  # fmt: skip


def masses(axes: Any, result: Result, window: TimeSpan) -> None:
    """Draw the masses in the bay."""
    part = window.points(result.time)
    first = "products" if result.case.powder is not None else "let-in gas"
    rows = [
        (first, result.products_mass[part] * 1e3),
        ("air mixed in", result.hot_air_mass[part] * 1e3),
        ("air still cold", result.cold_air_mass[part] * 1e3),
    ]
    _bundle(axes, window, result.time[part], rows, "g", "grain", "mass", "in the bay",
            result=result)  # fmt: skip
