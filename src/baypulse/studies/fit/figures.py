"""Figures of a fit: each record with the fitted curve and what is left, and the unknowns."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.case.quantities import shorten
from baypulse.observed.measured import DIMENSIONS
from baypulse.show.figures.base import (
    COOL,
    FAINT,
    MAIN,
    SOFT,
    WARM,
    limits,
    panels,
    ruler,
)
from baypulse.show.figures.keys import Look, key
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.rows import BAR, row_panels
from baypulse.show.figures.scales import corner, scale_of
from baypulse.studies.fit.result import Fit, Fitted, RecordFit
from baypulse.studies.fit.words import value_text

MOST_DOTS = 800
"""Readings that are drawn; more would hide each other."""

WIDE = 3.2
"""Standard deviations of the prior that the figure of the unknowns shows on either side."""

HEAD = 0.2
"""Room for the key of the figure of the unknowns [in]."""


def record(fit: Fit, held: RecordFit) -> Any:
    """Draw a record, the curves before and after, and the residuals below.

    Parameters
    ----------
    fit : Fit
        Findings.
    held : RecordFit
        One of its records.
    """
    kind = held.prepared.record.kind
    title = f"{shorten(fit.name, 30)}: {kind} measured and fitted"
    figure, (above, below) = panels(title, (2.7, 1.1))
    scale = scale_of(DIMENSIONS[kind], held.prepared.peak)
    time = held.prepared.record.time
    factor, name = (1e3, "ms") if float(np.ptp(time)) < 1.5 else (1.0, "s")
    x = factor * (time - time[0])
    for axes in (above, below):
        axes.set_xlim(0.0, float(x[-1]))
    _curves(above, held, x, scale.to)
    scale.upright(above, kind)
    ruler(above, "bottom", numbers=False)
    _residuals(below, held, x, scale.to)
    scale.upright(below, "off by")
    begin = quantities.digits(float(time[0]), 5).replace("-", "\N{MINUS SIGN}")
    ruler(below, "bottom", f"time from {begin} s in the record ({name})")
    return figure


def _curves(axes: Any, record: RecordFit, x: np.ndarray, to: Any) -> None:
    measured = to(record.prepared.record.values)
    before, after, low, high = (
        to(each) for each in (record.before, record.after, record.low, record.high)
    )
    axes.set_ylim(*limits([float(v) for each in (measured, before, high)
                           for v in (np.nanmin(each), np.nanmax(each))], above=0.2))  # fmt: skip
    labels = Labels(axes)
    corner(axes, labels, f"{record.prepared.record.source}, {record.shot}")
    for y in (before, after):
        labels.avoid(x, y)
    axes.axhline(0.0, color=SOFT, lw=0.8)
    axes.fill_between(x, low, high, color=COOL, alpha=0.35, lw=0.0, zorder=1.5)
    step = max(x.size // MOST_DOTS, 1)
    some = slice(None, None, step)
    axes.plot(x[some], measured[some], ls="", marker="o", ms=2.6 if x.size > 60 else 4.0,
              mfc="none" if x.size <= 60 else FAINT, mec=SOFT, mew=0.5, zorder=2)  # fmt: skip
    clipped = record.prepared.clipped
    if clipped.any():
        axes.plot(x[clipped], measured[clipped], ls="", marker="^", ms=4.0, color=WARM, zorder=4)
        labels.put("at least so much", x[clipped], measured[clipped], "below above", WARM)
    axes.plot(x, before, color=WARM, ls=(0, (5, 2)), lw=1.5, zorder=2.5)
    axes.plot(x, after, color=MAIN, lw=2.0, zorder=3)
    labels.along("case before", x, before, WARM, [(x, after)])
    labels.along("fitted, with its 95 % band", x, after, MAIN, [(x, before)])


def _residuals(axes: Any, record: RecordFit, x: np.ndarray, to: Any) -> None:
    off = to(record.after - record.prepared.record.values)
    kept = ~record.prepared.clipped & np.isfinite(off)
    wide = float(to(np.array([1.96 * record.error]))[0])
    most = 1.15 * max(float(np.abs(off[kept]).max(initial=0.0)), wide)
    axes.set_ylim(-most, most)
    labels = Labels(axes)
    corner(axes, labels, "Fit less measured")
    axes.axhspan(-wide, wide, color=FAINT, alpha=0.45, lw=0.0)
    axes.axhline(0.0, color=SOFT, lw=0.8)
    axes.plot(x[kept], off[kept], ls="", marker="o", ms=2.0, color=MAIN, zorder=2)
    labels.put("95 % of the errors", x[:: max(x.size // 12, 1)],
               np.full(x[:: max(x.size // 12, 1)].size, -wide), "below above", SOFT)  # fmt: skip


def unknowns(fit: Fit) -> Any:
    """Draw every unknown before and after, in standard deviations of what was known before.

    Parameters
    ----------
    fit : Fit
        Findings.
    """
    names = [each.unknown.label for each in fit.fitted]
    title = f"{shorten(fit.name, 30)}: the unknowns before and after"
    numbers = [value_text(each.unknown, each.after.middle) for each in fit.fitted]
    figure, (axes,) = row_panels(title, names, numbers, head=HEAD)
    far = max(WIDE, max(abs(each.moved) + 2.0 * each.left for each in fit.fitted) + 0.2)
    axes.set_xlim(-far, far)
    axes.axvline(0.0, color=FAINT, lw=0.8, zorder=0)
    for row, each in enumerate(fit.fitted):
        _bars(axes, row, each)
    ruler(axes, "bottom", "standard deviations of what was known before")
    looks = (Look(FAINT, "", FAINT, "95 % before"), Look(MAIN, "", MAIN, "95 % after"))
    key(axes, looks)
    return figure


def _bars(axes: Any, row: int, each: Fitted) -> None:
    axes.barh(row, 2 * 1.96, left=-1.96, height=BAR, color=FAINT, lw=0.0)
    axes.barh(row, 2 * 1.96 * each.left, left=each.moved - 1.96 * each.left, height=0.24,
              color=MAIN, lw=0.0, zorder=2)  # fmt: skip
    axes.plot([each.moved, each.moved], [row - 0.12, row + 0.12], color="white", lw=2.0, zorder=3)
