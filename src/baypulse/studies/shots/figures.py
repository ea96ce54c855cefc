"""The figure of the shots of a case: the chance of separation over the charge, before and after."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case.quantities import shorten
from baypulse.show.figures.base import INK, MAIN, PAPER, SOFT, WARM, panels
from baypulse.show.figures.charge_ruler import charge_ruler, place_of, reach
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.quantity_curves import chance_curve, percent_ruler
from baypulse.show.figures.scales import Scale, corner, scale_of
from baypulse.studies.shots.compute import ShotStudy

ABOVE = 109.0
"""Height at which shots that separated are drawn [%]."""

BELOW = -9.0
"""Height at which shots that did not are drawn [%]."""

STEP = 5.5
"""Height between shots of the same charge [%]."""


def chances(study: ShotStudy) -> Any:
    """Draw the chance of separation over the charge, before and after the shots."""
    when = "before and after the shots"
    if study.contradiction is not None:
        when = "by the case, which the shots contradict"
    title = f"{shorten(study.case.name, 30)}: chance of separation {when}"
    figure, (axes,) = panels(title, [3.0], head=0.42)
    scale = scale_of(study.dimension, study.charge)
    x = place_of(scale, [charge for charge, _, _ in study.curve])
    opened, failed = (_stacked(study, scale, happened) for happened in (True, False))
    most = max([0.0, *(height for _, height in opened)])
    least = max([0.0, *(height for _, height in failed)])
    axes.set_xlim(*reach(x))
    axes.set_ylim(BELOW - least - 8.0, ABOVE + most + 24.0)
    labels = Labels(axes)
    corner(axes, labels, "chance; whiskers: 95 % interval of the simulated shots")
    percent_ruler(axes)
    label = "charge" if study.case.powder is not None else "fill pressure"
    for side in ("bottom", "top"):
        charge_ruler(axes, scale, side, True, label)
    own = float(place_of(scale, study.charge))
    axes.axvline(own, color=SOFT, lw=0.9, ls=(0, (2, 2)), zorder=1)
    labels.avoid([own, own], axes.get_ylim())
    for level in (0.0, 100.0):
        axes.axhline(level, color=SOFT, lw=0.5, zorder=0.5)
    before = chance_curve(axes, x, [b for _, b, _ in study.curve], WARM)
    named = [("before the shots", *before, WARM)]
    if study.contradiction is None:
        after = chance_curve(axes, x, [a for _, _, a in study.curve], MAIN)
        named.append(("after the shots", *after, MAIN))
    for spots, height, symbol, paper, sign in (
        (opened, ABOVE, "o", INK, 1.0), (failed, BELOW, "X", PAPER, -1.0)
    ):  # fmt: skip
        for at, up in spots:
            axes.plot([at], [height + sign * up], symbol, mfc=paper, mec=INK, mew=1.0, ms=5.5,
                      clip_on=False, zorder=6)  # fmt: skip
            labels.avoid([at - 0.005, at + 0.005], [height + sign * up] * 2)
    for dense, line in ((dense, line) for _, dense, line, _ in named):
        labels.avoid(dense, line)
    for text, dense, line, colour in named:
        order = np.argsort(np.abs(line - 50.0), kind="stable")
        labels.put(text, dense[order], line[order], "right left", colour)
    text = f"case: {scale.short(study.charge)}"
    labels.put(text, np.full(3, own), np.array([20.0, 30.0, 45.0]), "right left", INK)
    return figure


def _stacked(study: ShotStudy, scale: Scale, opened: bool) -> list[tuple[float, float]]:
    """Return place and height of every shot that separated, or did not; alike ones upon another."""
    found: list[tuple[float, float]] = []
    count: dict[str, int] = {}
    for told in study.told:
        if told.shot.opened is opened:
            key = f"{told.shot.charge:.3g}"
            height = STEP * count.get(key, 0)
            count[key] = count.get(key, 0) + 1
            found.append((float(place_of(scale, told.shot.charge)), height))
    return found
