"""Why a shot went as it did, on the terminal: one case, and several beside each other."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from baypulse.case.quantities import capital, shorten
from baypulse.caution import CAUTION
from baypulse.show.text import WIDE, charge, cut, wrapped
from baypulse.studies.why import text as words
from baypulse.studies.why.explanation import Explained

TESTS = 8
"""Tests in the terminal's table; the page has all."""


def summary(found: Explained) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    found : Explained
        Findings.

    Returns
    -------
    str
        Headline, causes, what to do next, warnings, the caution.
    """
    case = found.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(words.headline(found).upper(), "  ", "  ")]
    for sentence in words.answer(found):
        lines += wrapped(sentence, "  ", "    ")
    head = ("cause", "before", "alone, 95 % interval", "involved", "shots")
    lines += ["", "  Chances; the effective simulated shots tell how firm they are"]
    lines += cut(words.columns([head, *words.odds_rows(found)]))
    lines += ["", "  Before anything else", *wrapped(words.SAFETY, "    ", "    ")]
    lines += ["", "  What to do next"]
    for sentence in words.next_steps(found):
        lines += wrapped(sentence, "    ", "      ")
    rows = [("test", "gain (bit)", "danger", "takes")]
    for each in found.tests.tests[:TESTS]:
        rows.append((each.test.name, words.gain_text(each), words.DANGERS[each.test.danger],
                     words.minutes(each.test.minutes)))  # fmt: skip
    lines += ["", *cut(words.columns(rows))] if len(rows) > 1 else []
    lines += ["", *wrapped(f"Charge: {charge(case)}.", "  ", "    ")]
    lines += wrapped(f"{words.effort(found)}.", "  ", "    ")
    lines += ["", "  Warnings"] * bool(found.warnings)
    for text in found.warnings:
        lines += wrapped(f"{capital(text)}.", "    ", "      ")
    lines += ["", *wrapped(words.LIMITS_OF_THE_DIAGNOSIS, "  ", "  ")]
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def comparison(found: Sequence[Explained]) -> str:
    """Return a table of the diagnoses of several cases, for the terminal.

    Parameters
    ----------
    found : sequence of Explained
        Findings, one a case.
    """
    rows = [("case", "first cause", "chance", "none of these", "next test")]
    for each in found:
        chosen = each.tests.recommended
        rows.append(
            (
                shorten(each.case.name, 18).replace("…", "."),
                each.first.name,
                words.chance_text(each.first.involved),
                words.chance_text(each.diagnosis.none.share),
                "-" if chosen is None else chosen.test.name,
            )
        )
    lines = ["", "The same sightings in every case", *cut(words.columns(rows, "  "))]
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, WIDE)]) + "\n"
