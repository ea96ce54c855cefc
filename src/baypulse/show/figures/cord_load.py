"""The load of a cord over time, beside what its weakest link stands."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.run.result import EventKind, Result
from baypulse.show.figures.base import COOL, INK, MAIN, TimeSpan, finite, limits, panels
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import scale_of

FAR = 4.0
"""A strength more than this many times above the peak is named at the edge, not drawn."""


def cord_load(result: Result) -> Any:
    """Draw the load of the cord against time, with the strength of the weakest link.

    Parameters
    ----------
    result : Result
        A run in which the cord pulls.
    """
    pulls = result.event(EventKind.BRAKE_TEARS) or result.event(EventKind.TAUT)
    assert pulls is not None
    figure, (axes,) = panels("Load of the cord", [2.2])
    pulled = np.nonzero(result.cord_force > 0.0)[0]
    last = float(result.time[pulled[-1]]) if pulled.size else pulls.time
    room = 0.15 * max(last - pulls.time, 1e-3)
    window = TimeSpan(max(pulls.time - room, 0.0), last + room)
    part = window.points(result.time)
    peak = float(finite(result.cord_force[part]).max())
    scale = scale_of("force", peak)
    x, y = result.time[part] * window.scale, scale.to(result.cord_force[part])
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=3)
    window.dress(axes)
    window.write(axes)
    strength = result.numbers.cord_strength
    near = strength is not None and strength <= FAR * peak
    ends = [peak, strength] if strength is not None and near else [peak]
    axes.set_ylim(*limits([scale.to(end) for end in ends], above=0.25 if near else 0.5))
    scale.upright(axes, "cord load")
    labels = Labels(axes)
    labels.avoid(x, y)
    at = float(x[int(np.argmax(y))])
    axes.plot([at], [scale.to(peak)], "o", color=MAIN, ms=4.5, zorder=5)
    labels.put(f"peak {scale.text(result.numbers.cord_load or 0.0)}", at, scale.to(peak),
               "above left right", MAIN, bold=True)  # fmt: skip
    if strength is not None:
        name = f"strength, {result.numbers.weakest_link}: {scale.short(strength)}"
        if near:
            level = scale.to(strength)
            labels.level(name, level, lw=1.4)
        else:
            times = quantities.digits(strength / max(peak, 1e-9))
            text = f"{name}, {times} times the peak, above this scale"
            labels.put(text, np.mean(axes.get_xlim()), 0.99 * axes.get_ylim()[1], "below", INK)
    slack = result.event(EventKind.CORD_SLACK)
    if slack is not None:
        labels.put("slack again", slack.time * window.scale, 0.0, "above left", COOL)
    return figure
