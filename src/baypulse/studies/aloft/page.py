"""The page of a charge aloft: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.aloft import text as words
from baypulse.studies.aloft.result import Aloft

CAPTIONS = {
    "steps": "With nothing scattering, from the ground test at the test site to the highest "
    "altitude asked for: each row adds one difference to those above it. Tick in the first column: "
    "gauge pressure that overcomes friction and pins. Another order would share the effects out "
    "otherwise.",
    "curves": "With nothing scattering: the same charge at the test site and at the highest "
    "altitude asked for. Level lines: gauge pressure that overcomes friction and pins.",
    "sources": "Share of the same shots that separate, with 95 % intervals. Each curve ends to be "
    "trusted where it falls below the target reliability. The lone point of each is at the test "
    "site, set up as in the ground test.",
}
"""What each figure shows."""


_LEVEL = ("Air", "Temperature", "Separates", "Exceeds a limit", "Peak pressure", "It takes",
          "Clear after", "Speed when clear", "Margin of the cord")  # fmt: skip


def _levels(aloft: Aloft) -> tuple[list[str], list[tuple[str, ...]]]:
    """Return head and rows of the table of the altitudes, a column each."""
    where, *rows = zip(*words.level_rows(aloft), strict=True)
    return ["", *where], [(name, *row) for name, row in zip(_LEVEL, rows, strict=True)]


def aloft_page(aloft: Aloft, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = aloft.case
    asked = [words.height(level.altitude) for level in aloft.levels[1:]]
    parts = [
        *study_parts.top(case, f"Charge: {charge(case)}"),
        study_parts.box(words.headline(aloft), words.meaning(aloft)),
        study_parts.warnings(aloft.warnings, doubts(case)),
        page.caution(),
        "<h2>The same charge at the test site and aloft</h2>",
        page.table(*_levels(aloft)),
        "<p>Chances are of the shots; the other numbers are with nothing scattering.</p>",
        page.figure(figures, CAPTIONS, "curves"),
        "<h2>One difference at a time</h2>",
        page.figure(figures, CAPTIONS, "steps"),
        page.table(("With", "Peak pressure", "It takes", "Speed when clear", "Margin of the cord",
                    f"Least {aloft.label}", "Of the one before"), words.step_rows(aloft)),
        "<h2>The same margin at altitude</h2>",
        *(f"<p>{escape(sentence)}</p>" for sentence in words.needs(aloft)),
        page.table(("Where", f"Least {aloft.label}", "Same margin as at the test site", "Separates",
                    "Exceeds a limit"), words.need_rows(aloft)),
        "<h2>Loose powder, a holder, or cold gas</h2>",
        *(f"<p>{escape(sentence)}</p>" for sentence in words.source_sentences(aloft)),
        page.figure(figures, CAPTIONS, "sources"),
        page.table(("Source", "At the test site", *asked, "Holds the target reliability up to"),
                   words.source_rows(aloft)),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_ALOFT)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{aloft.members:,} shots, the same at every altitude and of every source, seed "
            f"{aloft.seed}; {aloft.runs:,} runs. The same numbers are in numbers.json, the chances "
            "over the altitude in aloft.csv, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(aloft)}", parts)
