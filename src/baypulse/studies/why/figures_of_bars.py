"""Figures of a diagnosis with a bar a row: the causes, the gain of tests, what one would show."""

from __future__ import annotations

from typing import Any

from baypulse.case.quantities import digits, likely, shorten
from baypulse.show.figures.base import INK, MAIN, PAPER, SMALL, SOFT, WARM, points, ruler
from baypulse.show.figures.keys import Look, key
from baypulse.show.figures.labels import fitting
from baypulse.show.figures.rows import BAR, interval_line, range_bar, row_panels
from baypulse.show.figures.scales import LIGHT, MIDDLE, empty, scale_of
from baypulse.studies.why.cause_file import NONE_OF_THESE
from baypulse.studies.why.explanation import Explained, Odds
from baypulse.studies.why.next_tests import NextTests, Outlook, Prospect
from baypulse.studies.why.words import UNKNOWN

MOST_CAUSES = 10
"""Causes drawn, and none of these."""


def odds(found: Explained) -> Any:
    """Draw a bar for each cause: alone, with another, and what it was before.

    Parameters
    ----------
    found : Explained
        Findings.
    """
    rows = list(found.odds[:MOST_CAUSES])
    rows += [each for each in found.odds[MOST_CAUSES:] if each.name == NONE_OF_THESE]
    names = [each.name for each in rows]
    numbers = [likely(each.involved, whole=True) for each in rows]
    figure, (axes,) = row_panels("What was at work", names, numbers, head=0.36, bold=(0,))
    most = max(max(each.involved, each.before, each.finding.high) for each in rows)
    axes.set_xlim(0.0, min(108.0 * most, 100.0))
    for row, each in enumerate(rows):
        _bar(axes, row, each)
    ruler(axes, "bottom", "chance (%); numbers: involved at all")
    key(axes, _KEY)
    return figure


def _bar(axes: Any, row: int, each: Odds) -> None:
    finding = each.finding
    none = each.name == NONE_OF_THESE
    alone, whole = 100.0 * finding.share, 100.0 * each.involved
    axes.barh(row, whole - alone, left=alone, height=BAR, facecolor=LIGHT, edgecolor=INK, lw=0.7,
              hatch="////", zorder=2)  # fmt: skip
    axes.barh(row, alone, height=BAR, facecolor=SOFT if none else MAIN, edgecolor=INK, lw=0.7,
              zorder=3)  # fmt: skip
    interval_line(axes, row, 100.0 * finding.low, 100.0 * finding.high, zorder=4)
    axes.plot([100.0 * each.before] * 2, [row - 0.28, row + 0.28], color=WARM, lw=2.0, zorder=5)


_KEY = (
    Look(MAIN, "", INK, "alone"), Look(LIGHT, "////", INK, "with a second fault"),
    Look("", "", WARM, "before the shot"),
)  # fmt: skip
"""What the bars of causes mean."""

MOST_TESTS = 14
"""Tests drawn."""

LEAST = 0.08
"""Chance of an answer from which it is written on its part of a bar."""

_PAPERS = ((MAIN, None, PAPER), (LIGHT, "\\\\\\\\", INK), (MIDDLE, None, INK), (PAPER, "....", INK),
           (SOFT, None, PAPER))  # fmt: skip
"""Paper, hatch and ink of the parts of a bar, in turn."""


def tests(found: Explained) -> Any:
    """Draw the expected gain of every test, the recommended one in heavy letters.

    Parameters
    ----------
    found : Explained
        Findings.
    """
    held: NextTests = found.tests
    rows = held.tests[:MOST_TESTS]
    figure, (axes,) = row_panels(
        "What each test is expected to tell", [each.test.name for each in rows],
        ["next" if each is held.recommended else "too hard" if each.risky else "" for each in rows],
        head=0.2,
        bold=[row for row, each in enumerate(rows) if each is held.recommended],
    )  # fmt: skip
    ends = [each.gain.bits + 2.0 * each.gain.error for each in rows]
    axes.set_xlim(0.0, 1.06 * max([0.05, *ends]))
    for row, each in enumerate(rows):
        _gain(axes, row, each, each is held.recommended)
    ruler(axes, "bottom", f"gain (bit); before any test {digits(held.entropy, 2)} bit are unknown")
    key(axes, (Look(MIDDLE, "", INK, "inert"), Look(LIGHT, "xxxx", INK, "something burns")))
    return figure


def _gain(axes: Any, row: int, each: Prospect, chosen: bool) -> None:
    paper, hatch = (MAIN if chosen else MIDDLE, None) if each.test.inert else (LIGHT, "xxxx")
    axes.barh(row, each.gain.bits, height=BAR, facecolor=paper, edgecolor=INK, lw=0.7, hatch=hatch,
              zorder=2)  # fmt: skip
    low, high = (each.gain.bits + side * each.gain.error for side in (-2.0, 2.0))
    interval_line(axes, row, max(low, 0.0), high, zorder=3)


def outlook(tested: Prospect) -> Any:
    """Draw what a test would show under each leading cause.

    Parameters
    ----------
    tested : Prospect
        The test.
    """
    rows = tested.outlooks
    title = shorten(f"Next: {tested.test.name}; what it would show", 80)
    names = [each.name for each in rows]
    figure, (axes,) = row_panels(title, names, foot=0.66)
    if tested.test.reading is not None:
        _numbers(axes, tested)
    else:
        _answers(axes, rows, tested.outcomes)
    return figure


def _numbers(axes: Any, tested: Prospect) -> None:
    """Draw between what nine of ten readings lie, and the median."""
    reading = tested.test.reading
    assert reading is not None
    known = [each.numbers for each in tested.outlooks if each.known and each.numbers is not None]
    if not known:
        axes.set_xlim(0.0, 1.0)
        empty(axes, UNKNOWN)
        return
    most = max(high for _, _, high in known)
    scale = scale_of(reading.dimension, most)
    axes.set_xlim(0.0, 1.08 * float(scale.to(most)))
    for row, each in enumerate(tested.outlooks):
        if not each.known or each.numbers is None:
            axes.text(0.02, row, UNKNOWN, transform=axes.get_yaxis_transform(), va="center",
                      color=SOFT, fontsize=SMALL)  # fmt: skip
            continue
        range_bar(axes, row, *(float(scale.to(value)) for value in each.numbers))
    scale.level(axes, reading.label)


def _answers(axes: Any, rows: tuple[Outlook, ...], outcomes: tuple[str, ...]) -> None:
    """Draw the chance of each answer as the part of a bar, the frequent ones with their words."""
    axes.set_xlim(0.0, 100.0)
    often = sorted(
        range(len(outcomes)), key=lambda k: -max(each.chances[k] for each in rows)
    )[: len(_PAPERS) - 1]  # fmt: skip
    size = points(axes)
    for row, each in enumerate(rows):
        if not each.known:
            axes.text(2.0, row, UNKNOWN, va="center", color=SOFT, fontsize=SMALL)
            continue
        start = 0.0
        parts = [(outcomes[k], each.chances[k], look) for k, look in zip(sorted(often), _PAPERS,
                                                                        strict=False)]  # fmt: skip
        rest = max(1.0 - sum(share for _, share, _ in parts), 0.0)
        if len(outcomes) > len(often):
            parts.append(("other", rest, _PAPERS[-1]))
        for words, share, (paper, hatch, ink) in parts:
            axes.barh(row, 100.0 * share, left=start, height=BAR, facecolor=paper, edgecolor=INK,
                      hatch=hatch, lw=0.7)  # fmt: skip
            room = share * float(size[0]) - 6.0
            if share >= LEAST and room >= 24.0:
                box = {"facecolor": paper, "edgecolor": "none", "pad": 0.8}
                axes.text(start + 50.0 * share, row, fitting(words, room), ha="center",
                          va="center_baseline", fontsize=SMALL, color=ink, bbox=box,
                          zorder=5)  # fmt: skip
            start += 100.0 * share
    ruler(axes, "bottom", "chance (%)")
