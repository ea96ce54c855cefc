"""Regions of a table of cells: how they are filled, and the borders between them."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.run.result import VERDICTS, Verdict
from baypulse.show.figures.base import INK


def runs(codes: np.ndarray) -> list[tuple[int, int, Verdict]]:
    """Return first and last point, and verdict, of every stretch of one verdict.

    Parameters
    ----------
    codes : ndarray of int, shape (n,)
        Of the verdicts.
    """
    ends = [*(np.flatnonzero(np.diff(codes)) + 1), codes.size]
    starts = [0, *ends[:-1]]
    return [
        (int(a), int(b) - 1, VERDICTS[int(codes[a])]) for a, b in zip(starts, ends, strict=True)
    ]


def fill_region(axes: Any, x: np.ndarray, y: np.ndarray, held: np.ndarray, look: Any) -> None:
    """Fill the cells of a region, each run of them in a column as one box."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    paper, hatch, ink = look
    boxes = []
    for i in range(held.shape[0]):
        for first, last, _ in _stretches(held[i]):
            boxes += [(x[i], y[first]), (x[i + 1], y[first]), (x[i + 1], y[last + 1]),
                      (x[i], y[last + 1]), (x[i], y[first])]  # fmt: skip
    codes = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
    path = Path(boxes, codes * (len(boxes) // 5))
    axes.add_patch(PathPatch(path, facecolor=paper, edgecolor=ink, hatch=hatch or None, lw=0.0))


def _stretches(held: np.ndarray) -> list[tuple[int, int, str]]:
    return [run for run in runs(held.astype(int)) if held[run[0]]]


def draw_borders(axes: Any, x: np.ndarray, y: np.ndarray, codes: np.ndarray) -> None:
    """Draw the lines between different verdicts."""
    xs: list[float] = []
    ys: list[float] = []
    for i, j in zip(*np.nonzero(np.diff(codes, axis=0)), strict=True):
        xs += [x[i + 1], x[i + 1], np.nan]
        ys += [y[j], y[j + 1], np.nan]
    for i, j in zip(*np.nonzero(np.diff(codes, axis=1)), strict=True):
        xs += [x[i], x[i + 1], np.nan]
        ys += [y[j + 1], y[j + 1], np.nan]
    axes.plot(xs, ys, color=INK, lw=1.3, zorder=3)
