"""Figures of pins against charge: a table of shaded cells for each kind of pins, and curves."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from baypulse.case.quantities import digits, likely, pretty
from baypulse.run.result import VERDICTS, Verdict
from baypulse.show.figures.base import (
    INK,
    LINES,
    PAPER,
    SIDE,
    SMALL,
    SOFT,
    WIDTH,
    axes_at,
    panels,
    ruler,
    titled,
    write,
)
from baypulse.show.figures.keys import KEY_LINE, Look, key, key_rows
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.letters import measured
from baypulse.show.figures.quantity_curves import percent_ruler
from baypulse.show.figures.regions import draw_borders, fill_region
from baypulse.show.figures.scales import VERDICT_LOOKS, Scale, corner, scale_of
from baypulse.studies.pins.compute import OFTEN
from baypulse.studies.pins.result import Burning, PinMap, PinStudy, Spot

APART = 0.95
"""Widest charge below a table, over the width of a column."""

CELL = 0.2
"""Height of a cell [in]."""

SCALE = 0.4
"""Room on the left of the cells for the number of pins [in]."""

WIDE = WIDTH - SCALE - SIDE
"""Width of all cells [in]."""


_LOOKS = (
    Look(*VERDICT_LOOKS[Verdict.NO_SEPARATION], "most do not separate"),
    Look(*VERDICT_LOOKS[Verdict.SEPARATES], "most separate"),
    Look(*VERDICT_LOOKS[Verdict.SEPARATES_TOO_HARD], "most exceed a limit"),
    Look("none", "", INK, "this case"),
)
"""What the papers of cells mean."""


def region(spot: Spot) -> int:
    """Return the verdict that a cell is shaded for.

    Parameters
    ----------
    spot : Spot
        One number of pins with one charge.

    Returns
    -------
    int
        Hard where most shots exceed a limit, else open where most open, else shut.
    """
    if spot.trial.fails_hard.share > OFTEN:
        return Verdict.SEPARATES_TOO_HARD.code
    often = spot.trial.opens.share >= OFTEN
    return (Verdict.SEPARATES if often else Verdict.NO_SEPARATION).code


def tables(study: PinStudy, held: PinMap) -> Any:
    """Draw chance, speed and margin of the cord as shaded cells, one table below the other."""
    speeds = [row.trial.clear_velocity[1] for line in held.spots for row in line]
    velocity = scale_of("velocity", np.array(speeds, dtype=float))
    shown: list[tuple[str, Callable[[Spot], str]]] = [
        ("chance that it separates (%)",
         lambda spot: likely(spot.trial.opens.share, whole=True, brief=True).removesuffix(" %")),
        (velocity.named("median separation velocity"),
         lambda spot: _short(spot.trial.clear_velocity[1], velocity)),
    ]  # fmt: skip
    if study.case.cord is not None:
        shown.append(("margin of the cord that 95 % have", lambda spot: _plain(spot.margin[0])))
    rows = len(study.counts)
    tall, head, foot = rows * CELL, 0.3, 0.5
    key_tall = KEY_LINE * len(key_rows([look.text for look in _LOOKS], 72.0 * WIDE)) / 72.0
    edge = key_tall + 0.06 + len(shown) * (tall + head) + foot
    figure = titled(f"Pins against {study.label}: {held.thread}", edge)
    edge -= key_tall + 0.06
    places = []
    for title, text in shown:
        edge -= head + tall
        axes = axes_at(figure, SCALE, edge, WIDE, tall)
        axes.set_xlim(-0.5, study.charges.size - 0.5)
        axes.set_ylim(-0.5, rows - 0.5)
        write(axes, 0.0, 1.0, title, up=5.0, fontweight="bold", va="bottom")
        _cells(axes, study, held, text)
        places.append(axes)
    key(places[0], _LOOKS, 72.0 * head + 2.0)
    _charges(places[-1], study)
    return figure


def _cells(axes: Any, study: PinStudy, held: PinMap, text: Callable[[Spot], str]) -> None:
    from matplotlib.patches import Rectangle

    codes = np.array([[region(spot) for spot in row] for row in held.spots]).T
    x, y = (np.arange(count + 1) - 0.5 for count in codes.shape)
    for code in np.unique(codes):
        fill_region(axes, x, y, codes == code, VERDICT_LOOKS[VERDICTS[int(code)]])
    draw_borders(axes, x, y, codes)
    for j, row in enumerate(held.spots):
        write(axes, 0.0, (j + 0.5) / len(held.spots), f"{row[0].count}", right=-6.0, ha="right",
              va="center")  # fmt: skip
        for i, spot in enumerate(row):
            own = held.own and _own(study, spot, i)
            paper = VERDICT_LOOKS[VERDICTS[region(spot)]][0]
            # a hatch must not run through a number
            box = {"facecolor": paper, "edgecolor": "none", "pad": 1.0}
            axes.text(i, j, text(spot), ha="center", va="center_baseline", fontsize=SMALL,
                      fontweight="bold" if own else "normal", zorder=5,
                      bbox=box if region(spot) != Verdict.SEPARATES.code else None)  # fmt: skip
            if own:
                axes.add_patch(Rectangle((i - 0.5, j - 0.5), 1.0, 1.0, fill=False, edgecolor=INK,
                                         lw=2.0, zorder=6))  # fmt: skip
    write(axes, 0.0, 0.5, "pins", right=-22.0, rotation=90, ha="center", va="center")


def _own(study: PinStudy, spot: Spot, column: int) -> bool:
    """Say whether a cell is the case itself."""
    pins = study.case.pins
    assert pins is not None
    return spot.count == pins.count and bool(study.charges[column] == study.present)


def _charges(axes: Any, study: PinStudy) -> None:
    """Write the charges below the lowest table, in both units."""
    scale = scale_of(study.dimension, study.present)
    other = Scale(scale.dimension, scale.other, "")
    room = APART * 72.0 * WIDE / study.charges.size
    for down, unit in ((9.0, scale), (20.0, other)):
        for i, charge in enumerate(study.charges):
            text = unit.short(float(charge)).partition(" ")[0]
            if measured(text) * SMALL > room:
                text = digits(float(unit.to(charge)), 2)
            axes.annotate(text, (i, -0.5),
                          xytext=(0.0, -down), textcoords="offset points", ha="center",
                          va="center", fontsize=SMALL,
                          color=INK if unit is scale else SOFT)  # fmt: skip
    text = f"{study.label} ({pretty(scale.unit)} above, {pretty(scale.other)} below)"
    write(axes, 0.5, 0.0, text, up=-31.0, ha="center", va="center")


def _short(value: float, scale: Scale) -> str:
    return scale.short(value).partition(" ")[0] if math.isfinite(value) else "-"


def _plain(value: float) -> str:
    return "-" if not math.isfinite(value) else f"{value:.0f}" if value >= 20.0 else f"{value:.1f}"


def burning(study: PinStudy) -> Any:
    """Draw chance and speed over the number of pins, of quick and of slow powder."""
    charges = sorted({each.charge for each in study.burnings}, reverse=True)
    title = "Quick and slow powder over the number of pins"
    figure, found = panels(title, [1.6] * 2 * len(charges))
    mass = scale_of(study.dimension, study.present)
    for k, charge in enumerate(charges):
        held = [each for each in study.burnings if each.charge == charge]
        what = "the charge of the case" if charge == study.present else "its least charge"
        amount = f"{mass.short(charge)}, {what}"
        _chances(found[2 * k], held, f"chance that it separates with {amount}")
        _speeds(found[2 * k + 1], held, f"separation velocity with {amount}")
    for axes in found:
        last = axes is found[-1]
        ruler(axes, "bottom", "number of pins" if last else "", numbers=last, whole=True)
    return figure


def _chances(axes: Any, held: Sequence[Burning], title: str) -> None:
    chances = [[spot.trial.opens for spot in each.spots] for each in held]
    values = [100.0 * np.array([(c.low, c.share, c.high) for c in row]) for row in chances]
    axes.set_ylim(-5.0, 160.0)
    _curves(axes, held, values, title)
    percent_ruler(axes)


def _speeds(axes: Any, held: Sequence[Burning], title: str) -> None:
    speeds = [np.array([spot.trial.clear_velocity for spot in each.spots]) for each in held]
    scale = scale_of("velocity", np.concatenate(speeds))
    values = [scale.to(each) for each in speeds]
    axes.set_ylim(0.0, 1.55 * float(np.nanmax(np.concatenate(values), initial=1.0)))
    _curves(axes, held, values, title)
    scale.upright(axes)


def _curves(axes: Any, held: Sequence[Burning], values: Sequence[np.ndarray], title: str) -> None:
    """Draw middle values as curves and the rest as whiskers, each powder with its name."""
    counts = np.array([spot.count for spot in held[0].spots], dtype=float)
    axes.set_xlim(counts[0] - 0.3, counts[-1] + 0.3)
    labels = Labels(axes)
    corner(axes, labels, title)
    looks = list(zip(held, values, LINES, strict=False))
    for each, shown, (colour, dashes, width) in looks:
        low, middle, high = shown.T
        marker, inside = ("o", colour) if each.quick else ("s", PAPER)
        axes.plot(counts, middle, color=colour, ls=dashes, lw=width, ms=4.5, marker=marker,
                  mfc=inside)  # fmt: skip
        axes.vlines(counts, low, high, color=colour, lw=1.0)
        labels.avoid(counts, middle)
    for each, shown, (colour, _, _) in looks:
        others = [(counts, other[:, 1]) for other in values if other is not shown]
        there = np.isfinite(shown[:, 1])
        labels.along(f"{each.name}, {'quick' if each.quick else 'slow'}", counts[there],
                     shown[there, 1], colour, others)  # fmt: skip
