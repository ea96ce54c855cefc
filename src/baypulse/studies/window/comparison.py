"""Several bays side by side: the table of their windows, and their bars over one scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.show.document import Column, Figure, Quantity, Said, Table
from baypulse.show.figures.base import INK, PAPER, titled
from baypulse.show.figures.charge_ruler import charge_ruler, place_of
from baypulse.show.figures.rows import rows_at, rows_height
from baypulse.studies.window import words
from baypulse.studies.window.figures_of_bars import size_of, window_bar
from baypulse.studies.window.practice import HIGH, LOW, is_far, times_practice
from baypulse.studies.window.result import Window
from baypulse.studies.window.trial_values import charge_scale

NOTE = (
    "Window: from the least to the most charge. Separates: how often the ground-test charge does. "
    "Rests on: shots of this bay, or none. Of the rule: the ground-test charge as a multiple of "
    f"the empty-bay rule's (common practice, no source), far below {LOW:g} and above {HIGH:g}."
)
"""What the columns of windows mean."""

CAPTION = (
    "Each bar is the window of a bay, a hatched one the gap of an empty window. The heavy mark is "
    "the ground-test charge, the diamond what the empty-bay rule takes (common practice, no "
    "source), a square where a limit is exceeded in a bay that no charge opens. The scale is "
    "logarithmic: equal steps are equal factors."
)
"""What the figure shows."""

RULER = 0.5
"""Room above and below the rows of a scale for its numbers [in]."""

COLUMNS = (
    Column("window", "window"), Column("separates", "separates"),
    Column("rests_on", "rests on"), Column("of_the_rule", "of the rule"),
)  # fmt: skip
"""Columns of :func:`cells`."""


def compare(windows: Sequence[Window]) -> Table:
    """Return a table that compares the windows of several cases.

    Parameters
    ----------
    windows : sequence of Window
        Findings, one a case.
    """
    wanted = ", ".join(dict.fromkeys(quantities.asked(each.wanted) for each in windows))
    return Table(
        "windows",
        (Column("case", "case"), Column("ground_test", "ground test"), *COLUMNS,
         Column("next", "next")),
        tuple(
            (window.case.name, ground_test(window), *cells(window), words.next_command(window))
            for window in windows
        ),
        title=f"Windows of {wanted}",
        note=f"{NOTE} Next: baypulse, that word, and the file of the case. {quantities.RESTS_ON}",
    )  # fmt: skip


def ground_test(window: Window) -> Said | None:
    """Return the ground-test charge, for a table of several bays."""
    first = window.recommended
    return None if first is None else amount(first.charge, window)


def amount(charge: float, window: Window) -> Said:
    """Return a charge [SI] in few letters."""
    return Said(
        Quantity(charge, window.dimension), quantities.short(charge, window.dimension)
    )  # fmt: skip


def cells(window: Window) -> tuple[Any, ...]:
    """Return what :data:`COLUMNS` hold of a bay."""
    first, times = window.recommended, times_practice(window)
    rule = None
    if times is not None:
        rule = Said(times, f"{'far: ' * is_far(times)}{quantities.digits(times, 2)}")
    return (
        _span(window),
        None if first is None else Said(first.opens, quantities.likely(first.opens.share)),
        words.rests_on(window),
        rule,
    )


def _span(window: Window) -> str:
    """Return the window in few letters."""
    least, most, kind = window.least, window.most, window.dimension
    if window.empty or least is None:
        return "none"
    low = words.end(window, least, up=True)
    if most is None:
        return f"{quantities.short(low, kind)} or more"
    high = words.end(window, most, up=False)
    ends = (low, high) if low <= high else (least.charge, most.charge)
    return quantities.short_span(*ends, kind)


def picture(windows: Sequence[Window]) -> Figure:
    """Return the figure of several windows.

    Parameters
    ----------
    windows : sequence of Window
        Findings, one a case.
    """
    return Figure("windows", CAPTION, lambda: bars(windows))


def bars(windows: Sequence[Window]) -> Any:
    """Draw the windows of several bays as bars over one scale; masses and pressures have their own.

    Parameters
    ----------
    windows : sequence of Window
        Findings, one a case.
    """
    kinds = list(dict.fromkeys(each.dimension for each in windows))
    groups = [[each for each in windows if each.dimension == kind] for kind in kinds]
    rows = [
        ([each.case.name for each in group], [size_of(*_ends(each)) for each in group])
        for group in groups
    ]
    edge = sum(rows_height(*each) + 2.0 * RULER for each in rows)
    figure = titled("The windows of all bays", edge)
    for group, each in zip(groups, rows, strict=True):
        edge -= rows_height(*each) + RULER
        (axes,) = rows_at(figure, edge, *each)
        edge -= RULER
        _group(axes, group)
    return figure


def _group(axes: Any, windows: Sequence[Window]) -> None:
    """Draw bays with one kind of charge."""
    scale = charge_scale(max(windows, key=lambda each: each.present))
    at = place_of(scale, [charge for each in windows for charge in _charges(each)])
    room = 0.06 * max(float(np.ptp(at)), 0.2)
    axes.set_xlim(float(at.min()) - room, float(at.max()) + 2.0 * room)
    for row, each in enumerate(windows):
        window_bar(axes, row, scale, *_ends(each))
        if each.recommended is not None:
            spot = float(place_of(scale, each.recommended.charge))
            axes.plot([spot] * 2, [row - 0.27, row + 0.27], color=INK, lw=2.4, zorder=5)
        usual = each.static_rule.empty.needed_mass
        if each.dimension == "mass" and np.isfinite(usual):
            axes.plot([place_of(scale, usual)], [row], "D", mfc=PAPER, mec=INK, ms=5.0, zorder=6)
    charge_ruler(axes, scale, "bottom", True, windows[0].label)
    charge_ruler(axes, scale, "top", True, windows[0].label)


def _ends(window: Window) -> tuple[float | None, float | None]:
    """Return the least and the most charge of a bay [SI]."""
    least, most = (None if end is None else end.charge for end in (window.least, window.most))
    return least, most


def _charges(window: Window) -> list[float]:
    """Return every charge of a bay that is drawn [SI], above 0; that of its case if none is."""
    ends = [None if end is None else end.charge for end in (window.least, window.most)]
    first, usual = window.recommended, window.static_rule.empty.needed_mass
    ends += [None if first is None else first.charge]
    ends += [usual] * bool(window.dimension == "mass" and np.isfinite(usual))
    return [end for end in ends if end] or [window.present]
