"""The panel of a number over an input: its curve, its band, its limits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.members.chances import Chance
from baypulse.members.quantities import QuantityCurve
from baypulse.show.figures.base import FAINT, LABEL, MAIN, PAPER, SOFT, write
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import corner, draw_limits, empty, scale_of, set_height


def is_chance(quantity: QuantityCurve) -> bool:
    """Say whether a quantity is a chance, which stands in percent from 0 to 100."""
    return quantity.dimension == "ratio"


UNSEEN = 0.002
"""Chance that nobody sees on an axis: the curve through one that is 0 or 1 ends so far from it."""

FEW = 26
"""Points of an axis up to which each is marked."""


def curve_panel(axes: Any, quantity: QuantityCurve, x: np.ndarray, own: float | None) -> Labels:
    """Draw one quantity with its band and limits, and a line at the case's own input."""
    shown = [row for row in (quantity.middle, quantity.low, quantity.high) if row is not None]
    every = np.concatenate(shown)
    scale = scale_of(quantity.dimension, every)
    if is_chance(quantity):
        axes.set_ylim(-6.0, 134.0)
    else:
        set_height(axes, scale, every, quantity.limits, above=0.32)
    labels = Labels(axes)
    corner(axes, labels, quantity.label)
    if not np.isfinite(every).any():
        empty(axes, "it happens at no point")
        return labels
    if is_chance(quantity):
        percent_ruler(axes)
    else:
        scale.upright(axes)
    if own is not None:
        axes.axvline(own, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
        labels.avoid([own, own], axes.get_ylim())
    y = scale.to(quantity.middle)
    if quantity.low is not None and quantity.high is not None:
        low, high = scale.to(quantity.low), scale.to(quantity.high)
        axes.fill_between(x, low, high, facecolor="#d5e0e8", edgecolor=FAINT, hatch="////",
                          lw=0.0, zorder=1)  # fmt: skip
        for end in (low, high):
            axes.plot(x, end, color=SOFT, lw=0.7, zorder=2)
            labels.avoid(x, end)
    alone = np.isfinite(y)
    if x.size > FEW:
        beside = np.concatenate(([False], alone, [False]))
        alone = alone & ~beside[:-2] & ~beside[2:]
    axes.plot(x, y, color=MAIN, lw=2.0, zorder=4)
    axes.plot(x[alone], y[alone], "o", color=MAIN, ms=3.6, zorder=4)
    labels.avoid(x, y)
    draw_limits(axes, labels, scale, quantity.limits)
    return labels


def name_band(labels: Labels, quantity: QuantityCurve, x: np.ndarray) -> None:
    """Say once what the band is."""
    assert quantity.high is not None
    good = np.isfinite(quantity.high)
    if np.count_nonzero(good) > 1:
        scale = scale_of(quantity.dimension, quantity.high)
        labels.along("nine of ten shots", x[good], scale.to(quantity.high)[good], SOFT,
                     [(x, scale.to(quantity.middle))])  # fmt: skip


def chance_curve(
    axes: Any, x: np.ndarray, chances: Sequence[Chance], colour: str
) -> tuple[np.ndarray, np.ndarray]:
    """Draw chances with their intervals and a curve through them, and return its points.

    The main one has a full line and full dots, the others a broken line and empty squares.
    """
    main = colour == MAIN
    share = 100.0 * np.array([each.share for each in chances])
    for at, each in zip(x, chances, strict=True):
        axes.plot([at] * 2, [100.0 * each.low, 100.0 * each.high], color=colour, lw=1.0, zorder=3)
    axes.plot(x, share, "o" if main else "s", color=colour, mfc=colour if main else PAPER, ms=3.7,
              zorder=5)  # fmt: skip
    if x.size < 2:
        return x, share
    dense, line = through_chances(x, share)
    axes.plot(dense, line, color=colour, lw=1.9, ls="-" if main else (0, (5, 2)), zorder=4)
    return dense, line


def through_chances(x: np.ndarray, share: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return points of a curve through chances, monotonic where these are.

    Between two of them its normal score is straight, as the share of a normal spread of thresholds
    is over their scale.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Rising, at least two.
    share : ndarray, shape (n,)
        Chances there [%].
    """
    # loads for a tenth of a second, which no answer of one run has to wait for
    from scipy.special import ndtr, ndtri

    dense = np.linspace(x[0], x[-1], 241)
    score = ndtri(np.clip(0.01 * share, UNSEEN, 1.0 - UNSEEN))
    return dense, 100.0 * ndtr(np.interp(dense, x, score))


def percent_ruler(axes: Any) -> None:
    """Draw the scale of a chance, which ends at 100 %."""
    low, high = axes.get_ylim()
    for value in (0.0, 50.0, 100.0):
        share = (value - low) / (high - low)
        write(axes, 0.0, share, f"{value:.0f}", right=-5.0, ha="right", va="center")
        axes.axhline(value, color=FAINT, lw=0.7, zorder=0.5)
    write(axes, 0.0, 0.5, "%", right=-LABEL, rotation=90, ha="center", va="center")
    axes.plot([0.0, 0.0], [(0.0 - low) / (high - low), (100.0 - low) / (high - low)],
              transform=axes.transAxes, color=SOFT, lw=0.8, clip_on=False)  # fmt: skip
