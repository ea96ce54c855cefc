"""What the study of a vent says on the terminal: one case, and several beside each other."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from baypulse.case.quantities import percent, shorten
from baypulse.caution import CAUTION
from baypulse.show.text import WIDE, charge, columns, cut, wrapped
from baypulse.studies.vents import text as words
from baypulse.studies.vents.result import Vents


def summary(vents: Vents) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    vents : Vents
        Findings.

    Returns
    -------
    str
        Headline, both ends, drills, the nominal shots, changes, warnings, the caution.
    """
    case = vents.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(words.headline(vents), "  ", "  ")]
    for sentence in words.answer(vents):
        lines += wrapped(sentence, "  ", "    ")
    if vents.patterns:
        lines += ["", "  Drills near the middle of the window: fraction, number, metric"]
        lines += cut(_table(words.drill_rows(vents)))
    lines += [
        "",
        "  The nominal shot: gas lost by the vent, peak, clear after, chance of separation",
    ]
    lines += cut(columns([
        (name, f"{lost}; {peak}; {clear}; {opens}")
        for name, _, lost, peak, _, clear, opens in words.shot_rows(vents)
    ]))  # fmt: skip
    if vents.remedies:
        lines += ["", "  What changes would do"]
        for change, small, large, gives in words.remedy_rows(vents):
            lines += wrapped(f"{change}: smallest {small}, largest {large}; {gives}", "    ",
                             "      ")  # fmt: skip
    lines += ["", *wrapped(words.PRACTICE, "  ", "  ")]
    lines += wrapped(f"Ascent: {vents.way}.", "  ", "    ")
    lines += wrapped(f"Charge: {charge(case)}", "  ", "    ")
    lines += wrapped(f"{words.effort(vents)}.", "  ", "    ")
    lines += ["", "  Warnings"] * bool(vents.warnings)
    for text in vents.warnings:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *wrapped(words.LIMITS_OF_THE_VENTS, "  ", "  ")]
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        f"    {'  '.join(c.ljust(w) for c, w in zip(row, widths, strict=True))}".rstrip()
        for row in rows
    ]


def comparison(found: Sequence[Vents]) -> str:
    """Return a table of the vents of several cases, for the terminal.

    Parameters
    ----------
    found : sequence of Vents
        Findings, one a case.
    """
    rows = [("case", "smallest", "largest", "in the case", "separates", "vent matters")]
    for vents in found:
        known = words.matters(vents)
        rows.append(
            (
                shorten(vents.case.name, 28).replace("\N{HORIZONTAL ELLIPSIS}", "."),
                _one_unit(words.smallest_text(vents.lower)),
                _one_unit(words.largest_text(vents, vents.upper)),
                _one_unit(words.hole(vents.vent.single)) if vents.vent.single > 0.0 else "none",
                f"{percent(vents.present_chance.share)} %",
                "-" if known is None else "yes" if known else "no",
            )
        )  # fmt: skip
    lines = ["", "Vents: the single hole that the ascent needs, and that the charge bears"]
    lines += cut(_table(rows))
    lines += wrapped("1 mm is 0.0394 in.", "  ", "  ")
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, WIDE)]) + "\n"


def _one_unit(text: str) -> str:
    """Leave the second unit out."""
    return text.partition(" (")[0]
