"""The page of the study of a vent: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.drills import SYSTEMS, source
from baypulse.case.quantities import capital
from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.vents import text as words
from baypulse.studies.vents.drill_patterns import CLOGS
from baypulse.studies.vents.result import Vents

CAPTIONS = {
    "window": "The strip on top says what can be said of each vent; the short bar above it is the "
    "95 % interval of the largest. Upper curve: greatest force during the ascent, trapped air and "
    "drag, over what pins and friction hold on their low side; dotted, were the gap around the "
    "shoulder open as in the case. Lower curve: chance that the charge opens the bay; points are "
    "computed, the lines only join them; dotted from the vent closed. The scale is logarithmic.",
    "drills": "Each row is a number of holes, its shaded band the window for one of them. Small "
    "marks are all drills inside, large ones of each system the nearest to the middle.",
    "climb": "Pressure of the bay above that outside from the launch to the end of the ascent, "
    "with the shoulder tight. Below: vents that let nearly all of it out, on a scale of their own.",
}
"""What each figure shows."""


def vent_page(vents: Vents, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    vents : Vents
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = vents.case
    own = f"Vent in the case: {words.vent_words(vents)}. Charge: {charge(case)}"
    parts = [
        *study_parts.top(case, own),
        study_parts.box(words.headline(vents), words.answer(vents)),
        study_parts.warnings(vents.warnings, doubts(case)),
        page.caution(),
        *_remedies(vents),
        "<h2>The window</h2>", page.figure(figures, CAPTIONS, "window"),
        *_drills(vents, figures),
        "<h2>Does the vent matter?</h2>",
        page.table(("Nominal shot", "One hole", "Gas lost", "Peak pressure", "Burns", "Clear after",
                    "Separates"), words.shot_rows(vents)),
        "<p>Gas lost by the vent until the joint is clear, or until the peak where it does not "
        "separate; times from the first burning grain; the chance is of few shots, the same in "
        "each row.</p>",
        "<h2>The ascent</h2>", page.figure(figures, CAPTIONS, "climb"),
        f"<p>{escape(capital(vents.way))}.</p>",
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_VENTS)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{capital(words.effort(vents))}. The same numbers are in numbers.json, the ascent "
            "over the vent in vents.csv, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(vents)}", parts)


def _drills(vents: Vents, figures: dict[str, str]) -> list[str]:
    """Return which holes to drill."""
    if not vents.patterns:
        return []
    sizes = "; ".join(f"{system}: {source(system)}" for system in SYSTEMS)
    clogs = words.hole(CLOGS)
    return [
        "<h2>Holes and drills</h2>",
        page.table(("Near the middle of the window", *map(capital, SYSTEMS)),
                   words.drill_rows(vents)),
        f"<p>{escape(words.PRACTICE)} No hole below {escape(clogs)} is offered: lint or soot "
        f"closes it (estimate). Sizes: {escape(sizes)}.</p>",
        page.figure(figures, CAPTIONS, "drills"),
    ]  # fmt: skip


def _remedies(vents: Vents) -> list[str]:
    """Return what changes would do, or nothing where none was tried."""
    if not vents.remedies:
        return []
    return [
        "<h2>What would open it</h2>",
        page.table(("Change", "Smallest", "Largest", "Gives"), words.remedy_rows(vents)),
        "<p>Each change alone, by few shots: read sizes and directions, not digits.</p>",
    ]
