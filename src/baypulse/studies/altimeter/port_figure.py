"""The figure of static ports: the lag over their size."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.show.figures.base import COOL, INK, MAIN, PAPER, SOFT, WARM, panels
from baypulse.show.figures.charge_ruler import charge_ruler, place_of, reach
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import scale_of
from baypulse.studies.altimeter import port_words
from baypulse.studies.altimeter.static_ports import StaticPorts

HEAD = 0.3
"""Height above the panel, for the second scale and the names of upright lines [in]."""

FAR = 2.5
"""Ports so many times smaller than would do are named, not drawn."""

RULES = ("1/4 in per 100 in³", "in² = in³ / 500")
"""What the rules of practice are called, the sparser first."""

NONE = 3
"""Holes that are drawn for a bay without any."""


def ports(found: StaticPorts) -> Any:
    """Draw the lag at the fastest climb, in equal ratios both ways."""
    count = found.count or NONE
    own = found.diameter / math.sqrt(count)
    rules = [port_words.hole(each, count) for each in found.rules]
    least = found.smallest / math.sqrt(count)
    drawn = own > least / FAR
    kept = [*rules, least, *[own] * drawn]
    figure, (_, axes) = panels("Static ports: how far the altimeter is behind", (HEAD, 2.6))
    size, height = scale_of("length", np.array(kept)), scale_of("altitude")
    sizes = np.geomspace(0.6 * min(kept), 1.6 * max(kept), 81)
    # the lag falls with the fourth power of the diameter
    lags = found.allowed * (least / sizes) ** 4
    x, y = place_of(size, sizes), place_of(height, lags)
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(*reach(y, 0.12))
    labels = Labels(axes)
    axes.axvspan(float(x[0]), float(place_of(size, least)), facecolor="#f3ddd0", hatch="///",
                 edgecolor="#ffffff", lw=0.0, zorder=0.5)  # fmt: skip
    axes.plot(x, y, color=MAIN, lw=2.2, zorder=4)
    labels.avoid(x, y)
    low, high = axes.get_ylim()
    rows = np.linspace(high - 0.1 * (high - low), low + 0.1 * (high - low), 12)
    for place, text in zip(rules, RULES, strict=True):
        at = float(place_of(size, place))
        axes.axvline(at, color=COOL, lw=1.4, ls=(0, (5, 2)), zorder=3)
        labels.avoid([at, at], [low, high])
        labels.put(text, np.full(12, at), rows, "right left", COOL)
    level = float(place_of(height, found.allowed))
    labels.level(f"allowed: {height.text(found.allowed)}", level, WARM)
    labels.put("too small", np.full(12, float(np.mean([x[0], place_of(size, least)]))),
               rows[::-1], "on", SOFT)  # fmt: skip
    if own > 0.0 and not drawn:
        far = f"this case: {size.text(own)}, far to the left"
        labels.put(far, np.full(12, float(x[0])), rows[::-1], "right", bold=True)
    if drawn:
        spot = (
            float(place_of(size, own)),
            float(place_of(height, found.allowed * (least / own) ** 4)),
        )
        axes.plot(*spot, "P", ms=9.0, mfc=PAPER, mec=INK, mew=1.2, zorder=8)
        labels.put("this case", *spot, "right left above below", bold=True)
    labels.along(f"climbing at {port_words.climb(found)}", x, y, MAIN)
    for side in ("bottom", "top"):
        charge_ruler(axes, size, side, True, f"each of {count} static ports")
    for side in ("left", "right"):
        charge_ruler(axes, height, side, True, "behind by")
    return figure
