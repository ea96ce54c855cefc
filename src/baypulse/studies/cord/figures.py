"""Figures of the study of the cord: margins over the length, and what a brake does."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.show.figures.base import (
    BOTTOM,
    COOL,
    EARTH,
    INK,
    LEFT,
    LETTER,
    MAIN,
    SOFT,
    WARM,
    WIDTH,
    panels,
    points,
    ruler,
)
from baypulse.show.figures.labels import Labels, spread
from baypulse.show.figures.rows import BAR, row_panels
from baypulse.show.figures.scales import LIGHT, scale_of
from baypulse.studies.cord.result import CordKind, Cords
from baypulse.studies.cord.words import stages as stages_of

HIGHEST = 12.0
"""Highest margin drawn, over the wanted one."""

NAME = 0.165
"""Height of a line of the list of types [in]."""

_MATERIALS = (
    ("tubular nylon", COOL, (0, (5, 1.5))),
    ("double-braided nylon", EARTH, (0, (1, 1.2))),
    ("aramid", WARM, (0, (6, 2, 1, 2))),
)
"""How a type's name begins, its colour and its dashes."""

_OTHER = (SOFT, (0, (3, 1, 1, 1, 1, 1)))


def margins(cords: Cords) -> Any:
    """Draw the margin of every type over the length, with the wanted one and the present length."""
    assert cords.case.cord is not None
    present = cords.case.cord.length
    marks = [kind.needed.length for kind in cords.kinds if kind.needed and not kind.at_shortest]
    last = min(max([1.25 * present, *(1.15 * mark for mark in marks)]), cords.longest)
    scale = scale_of("length", np.array([last]))
    curves = [(kind, *_curve(kind, last)) for kind in cords.kinds]
    ends = [float(np.nanmax(y)) for _, _, y in curves if np.isfinite(y).any()]
    top = min(1.06 * max([*ends, 1.2 * cords.wanted]), HIGHEST * cords.wanted)
    title = "Margin that 95 % of the shots have at least, over the length of the cord"
    drawn = [curve for curve in curves if np.any(curve[2] <= top)]
    foot = BOTTOM + 0.25 + NAME * len(drawn)
    figure, (axes,) = panels(title, (2.9,), foot)
    axes.set_xlim(0.0, float(scale.to(last)))
    axes.set_ylim(0.0, top)
    ruler(axes, "left", "margin of the cord")
    scale.level(axes, "length of the cord")
    labels = Labels(axes)
    at = float(scale.to(present))
    axes.axvline(at, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
    labels.avoid([at, at], [0.0, top])
    axes.axhline(cords.wanted, color=INK, lw=1.3, ls=(0, (7, 3)), zorder=2)
    labels.avoid(axes.get_xlim(), [cords.wanted, cords.wanted])
    for kind, x, y in reversed(curves):
        colour, dashes = _look(kind)
        inside = y <= top
        axes.plot(scale.to(x[inside]), y[inside], color=colour, ls=dashes,
                  lw=2.6 if kind.own else 1.3, zorder=3)  # fmt: skip
        labels.avoid(scale.to(x[inside]), y[inside])
        if kind.needed is not None and not kind.at_shortest and kind.needed.load.margin <= top:
            spot = [float(scale.to(kind.needed.length))], [kind.needed.load.margin]
            axes.plot(*spot, "o", color=colour, ms=4.5, zorder=5)
    across = np.linspace(0.0, float(scale.to(last)), 9)
    labels.put(f"wanted: {cords.wanted:g}", across, np.full(9, cords.wanted), "below above", INK,
               bold=True)  # fmt: skip
    labels.put("this case", np.full(9, at), np.linspace(0.05, 0.95, 9) * top, "right left", SOFT)
    _names(figure, axes, drawn, scale, top)
    return figure


def _names(
    figure: Any, axes: Any, curves: list[tuple[CordKind, np.ndarray, np.ndarray]], scale: Any,
    top: float,
) -> None:  # fmt: skip
    """Number the ends of the curves from above, and list the types below under these numbers."""
    from matplotlib.lines import Line2D

    ends = []
    for kind, x, y in curves:
        last = int(np.flatnonzero(y <= top)[-1])
        ends.append((float(y[last]), float(scale.to(x[last])), kind))
    ends.sort(key=lambda end: (end[0], -end[1]))
    size = points(axes)
    spots = [y / top * float(size[1]) for y, _, _ in ends]
    places = spread(spots, [LETTER * 1.35] * len(ends), float(size[1]))
    for k, ((up, across, kind), place) in enumerate(zip(ends, places, strict=True)):
        # of a curve that leaves at the top the order of the numbers must tell
        ends_here = across > 0.98 * axes.get_xlim()[1]
        line = {"arrowstyle": "-", "color": SOFT, "lw": 0.5, "shrinkA": 1, "shrinkB": 0,
                "relpos": (0.0, 0.5)}  # fmt: skip
        colour, dashes = _look(kind)
        look: Any = {"color": colour, "fontweight": "bold" if kind.own else "normal"}
        number = str(len(ends) - k)
        axes.annotate(
            number, (across, up), xytext=(float(size[0]) + 16.0, place), textcoords="axes points",
            va="center", annotation_clip=False, arrowprops=line if ends_here else None, **look,
        )  # fmt: skip
        height = (0.1 + NAME * k) / figure.get_size_inches()[1]
        for at, text in ((LEFT, number), (LEFT + 0.75, kind.name)):
            figure.text(at / WIDTH, height, text, va="center", **look)
        sample = [(LEFT + side) / WIDTH for side in (0.25, 0.65)]
        figure.add_artist(Line2D(sample, [height] * 2, color=colour, ls=dashes,
                                 lw=2.6 if kind.own else 1.3))  # fmt: skip


def _look(kind: CordKind) -> tuple[str, Any]:
    """Return colour and dashes of a type; the case's own is one unbroken line."""
    if kind.own:
        return MAIN, "-"
    return next((look[1:] for look in _MATERIALS if kind.name.startswith(look[0])), _OTHER)


def _curve(kind: CordKind, last: float) -> tuple[np.ndarray, np.ndarray]:
    """Return a curve through the points of a type, straight between them in logarithms.

    It ends at the last length [m], or where the cord no longer pulls.
    """
    good = [point for point in kind.points if math.isfinite(point.load.margin)]
    if not good:
        return np.array([np.nan]), np.array([np.nan])
    lengths = np.log([point.length for point in good])
    values = np.log([point.load.margin for point in good])
    dense = np.linspace(lengths[0], min(lengths[-1], math.log(last)), 200)
    return np.exp(dense), np.exp(np.interp(dense, lengths, values))


def stages(cords: Cords) -> Any:
    """Draw what each stage takes of the energy with which the sections part."""
    assert cords.parting_energy is not None
    names = ["when the brake begins"]
    names += [f"{each.name}, stage {k + 1}" for k, each in enumerate(cords.stages)]
    taken = sum(each.energy for each in cords.stages)
    rest = max(cords.parting_energy - taken, 0.0)
    names.append("left for the cord")
    scale = scale_of("energy", cords.parting_energy)
    numbers = [
        f"{scale.text(each.energy)}, {quantities.percent(each.energy / cords.parting_energy)} %"
        for each in cords.stages
    ]
    figure, (axes,) = row_panels(
        "Energy of the separation, and what the brake takes", names,
        [scale.text(cords.parting_energy), *numbers, scale.text(rest)], foot=BOTTOM + 0.2,
    )  # fmt: skip
    axes.set_xlim(0.0, 1.03 * float(scale.to(cords.parting_energy)))
    left = cords.parting_energy
    _energy(axes, scale, 0, 0.0, left, MAIN, "")
    for row, each in enumerate(cords.stages, start=1):
        _energy(axes, scale, row, max(left - each.energy, 0.0), left, LIGHT, "///")
        left -= each.energy
    _energy(axes, scale, len(names) - 1, 0.0, rest, MAIN, "")
    scale.level(axes, "energy")
    return figure


def _energy(
    axes: Any, scale: Any, row: int, low: float, high: float, paper: str, hatch: str
) -> None:
    """Draw one bar of energy."""
    axes.barh(row, scale.to(high - low), left=scale.to(low), height=BAR, facecolor=paper,
              edgecolor=INK, lw=0.8, hatch=hatch or None)  # fmt: skip


def brake(cords: Cords) -> Any:
    """Draw the load of the cord with and without stages of a brake."""
    names = [stages_of(each.stages) for each in cords.brakes]
    numbers = [
        f"{quantities.short(each.energy, 'energy')}; stopped "
        f"{quantities.percent(each.stopped.share)} %" if row else ""
        for row, each in enumerate(cords.brakes)
    ]  # fmt: skip
    title = "Load of the cord with a brake, and what the brake takes"
    figure, (axes,) = row_panels(title, names, numbers, foot=BOTTOM + 0.2)
    most = max(max(each.load.loads[2], each.nominal) for each in cords.brakes)
    scale = scale_of("force", most)
    axes.set_xlim(0.0, 1.08 * float(scale.to(most)))
    for row, each in enumerate(cords.brakes):
        low, middle, high = (float(scale.to(value)) for value in each.load.loads[:3])
        axes.barh(row, high - low, left=low, height=BAR, facecolor=LIGHT, edgecolor=INK, lw=0.8)
        axes.plot([middle, middle], [row - 0.5 * BAR, row + 0.5 * BAR], color=INK, lw=2.2)
        at = float(scale.to(each.nominal))
        axes.plot([at], [row], "D", color=WARM, ms=4.0, zorder=5)
    scale.level(axes, "peak load")
    return figure
