"""The page of a diagnosis: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.quantities import capital
from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.why import text as words
from baypulse.studies.why.explanation import Explained

CAPTIONS = {
    "odds": "Dark bar: chance that a cause alone was at work, with its 95 % interval from the "
    "finite number of simulated shots. Hatched: with a second fault besides; so bars may add up to "
    "more than 100 %. The upright mark is the chance of being involved before anything was seen.",
    "curves": "For each leading cause the simulated shot that comes nearest to what was seen, "
    "beside the case as designed with nothing scattering. Marks show what was measured, if "
    "anything was.",
    "tests": "How much less uncertain the cause is expected to be after each test, with twice the "
    "standard error on either side. Inert tests have a plain bar, those that burn a hatched one.",
    "outlook": "What the test would show under each leading cause, its own error included: the "
    "median and nine of ten readings of a number, or the chance of each answer.",
}
"""What each figure shows."""


def why_page(found: Explained, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    found : Explained
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = found.case
    warnings = [f"{capital(text)}." for text in found.warnings]
    parts = [
        *study_parts.top(case, f"Charge: {charge(case)}"),
        study_parts.box(words.headline(found), words.answer(found)),
        study_parts.warnings(warnings, doubts(case)),
        page.caution(),
        "<h2>What to do next</h2>", f'<p class="caution">{escape(words.SAFETY)}</p>',
        *_steps(found),
        page.figure(figures, CAPTIONS, "outlook"), page.figure(figures, CAPTIONS, "tests"),
        *_tests(found),
        "<h2>Causes</h2>", page.figure(figures, CAPTIONS, "odds"),
        page.table(("Cause", "Involved, before", "Alone", "Involved", "Effective simulated shots"),
                   words.odds_rows(found)),
        *_pairs(found),
        "<h2>What was seen, under each cause</h2>",
        page.table(("Cause", *(each.text for each in found.diagnosis.sightings)),
                   words.seen_rows(found)),
        "<p>Chance that somebody reports this, where the cause alone is at work. Of a number: how "
        "many times as likely as by chance, with any number possible.</p>",
        "<h2>Simulated shots</h2>", page.figure(figures, CAPTIONS, "curves"),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this diagnosis does not know</h2>",
        f"<p>{escape(words.LIMITS_OF_THE_DIAGNOSIS)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{capital(words.effort(found))}. The same numbers are in numbers.json, all causes in "
            "why.csv, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(found)}", parts)


def _steps(found: Explained) -> list[str]:
    items = "".join(f"<li>{escape(each)}</li>" for each in words.next_steps(found))
    return [f"<ol>{items}</ol>"]


def _tests(found: Explained) -> list[str]:
    if not found.tests.tests:
        return []
    return [
        page.table(("Test", "Danger", "Takes", "Gain (bit)"), words.test_rows(found)),
        f"<p>{escape(words.rule(found))}</p>",
        "<p>What the most telling tests would show; in brackets nine of ten readings:</p>",
        page.table(("Test", "If it was", "Expected"), words.outlook_rows(found), "again"),
    ]  # fmt: skip


def _pairs(found: Explained) -> list[str]:
    rows = words.pair_rows(found)
    if not rows:
        return []
    return [
        "<p>Two faults together:</p>",
        page.table(("Pair", "Before", "Chance", "Effective simulated shots"), rows),
    ]
