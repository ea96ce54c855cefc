"""The page of a sweep: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case import quantities
from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.figures.quantity_curves import is_chance
from baypulse.show.text import charge
from baypulse.studies.sweep import text as sweep_text
from baypulse.studies.sweep.grid import flattened
from baypulse.studies.sweep.result import Sweep

MOST_ROWS = 41
"""Points of a sweep in the page's table; all of them are in the file beside it."""


def sweep_captions(sweep: Sweep) -> dict[str, str]:
    """Return what each figure of a sweep shows, by its name."""
    band = (
        " Of a chance the band is its 95 % interval; of a number the line is the median and nine "
        "of ten shots lie within the band."
        if sweep.members > 1
        else ""
    )
    found = {
        "curves": "The strip on top shows the verdict at each point, heavy broken lines are "
        f"limits.{band}",
        "verdicts": "The verdict at every point; the lines lie half-way between points.",
    }
    for each in sweep.quantities:
        found[f"map-{each.name}"] = (
            "Lines at 1, 10, 50, 90 and 99 %, where they occur."
            if is_chance(each)
            else "Thin lines join equal values; a heavy broken line is a limit. Nothing is drawn "
            "where it does not happen."
        )
    return found


def sweep_page(sweep: Sweep, figures: dict[str, str]) -> str:
    """Return the whole page of a sweep.

    Parameters
    ----------
    sweep : Sweep
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = sweep.case
    shown = sweep_captions(sweep)
    flat = flattened(sweep)
    parts = [
        *study_parts.top(case, f"Charge of the case: {charge(case)}"),
        study_parts.box(sweep_text.headline(sweep),
             [f"Over {sweep_text.over(sweep)}.", *sweep_text.meaning(sweep)]),
        study_parts.warnings(sweep.warnings, doubts(case)),
        page.caution(),
        f"<h2>{'Map' if len(flat.axes) == 2 else 'Curves'}</h2>",
        *(page.figure(figures, shown, name) for name in figures),
    ]  # fmt: skip
    if len(flat.axes) == 1:
        head = [quantities.capital(flat.axes[0].label), "Verdict"]
        head += [quantities.capital(each.label) for each in flat.quantities]
        parts += ["<h2>Points</h2>", page.table(head, sweep_text.rows(flat, MOST_ROWS))]
        if flat.axes[0].values.size > MOST_ROWS:
            parts.append(f"<p>{MOST_ROWS} of {flat.axes[0].values.size} points; all of them are "
                         "in sweep.csv.</p>")  # fmt: skip
    parts += [
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this sweep does not know</h2>",
        f"<p>{escape(sweep_text.LIMITS_OF_THE_SWEEP)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"Seed {sweep.seed}. Every point is in sweep.csv, with the same numbers in "
            "numbers.json, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {sweep_text.headline(sweep)}", parts)
