"""The page of a leak-down test: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.leakdown import text as words
from baypulse.studies.leakdown.result import LeakDown

CAPTIONS = {
    "fall": "Above: the fall of the gauge as measured, the fall through the leak that was found "
    "(line), and through the ends of its interval with the free volume as given (band). Below: the "
    "bay's pressure when the charge of this case is fired, nothing scattering: tight but for the "
    "case's own openings, with the leak in place of the gap around the shoulder, and as the case "
    "stands. The dashed level is what friction and pins hold. The verdicts below are those with "
    "nothing scattering.",
}
"""What each figure shows."""


def leakdown_page(leak: LeakDown, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    leak : LeakDown
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = leak.case
    causes = [(name, f"{100.0 * share:.0f} %") for name, share in leak.estimate.causes]
    parts = [
        *study_parts.top(case, f"Charge: {charge(case)}"),
        _squares(study_parts.box(words.headline(leak), filter(None, words.meaning(leak)))),
        _squares(study_parts.warnings(leak.warnings, doubts(case))),
        page.caution(),
        "<h2>The fall, and the shot</h2>",
        page.figure(figures, CAPTIONS, "fall"),
        page.table(words.SHOT_HEAD, words.shot_rows(leak)),
        "<h2>What was measured</h2>",
        page.pairs(words.test_rows(leak)),
        _squares(f"<p>{escape(words.plugged(leak))}</p>"),
        page.table(("What the interval comes from", "Share of the variance"), causes),
        "<h2>Warm air after pumping</h2>",
        *(_squares(f"<p>{escape(sentence)}</p>") for sentence in words.settled(leak)),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this test does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_TEST)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"The same {leak.members:,} shots with the leak and without, seed {leak.seed}. The "
            "same numbers are in numbers.json beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(leak)}", parts)


def _squares(html: str) -> str:
    """Write square units as a page can and a terminal cannot."""
    return html.replace("mm^2", "mm²").replace("in^2", "in²")
