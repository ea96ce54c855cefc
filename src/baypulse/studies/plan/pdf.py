"""The ground-test plan on paper: two pages that A4 and Letter hold, as a PDF."""

from __future__ import annotations

import io
from typing import Any

from baypulse.case.quantities import shorten
from baypulse.caution import CAUTION
from baypulse.show.data import fingerprint
from baypulse.show.figures import sketch
from baypulse.show.figures.base import WIDTH, style
from baypulse.show.sheet import INCH, SIDE, TALL, WIDE, Sheet
from baypulse.studies.plan import advice
from baypulse.studies.plan import text as words
from baypulse.studies.plan.compute import GroundTestPlan

SIZES = tuple(0.2 * k for k in range(41, 26, -1))
"""Sizes of the letters that are tried until a page holds everything [points]."""

LONGEST = 300
"""Longest title [characters]; the page for screens has it whole."""

LADDER = {
    False: (0.45, 1.1, 1.0, 1.75, 1.25, 1.45, 1.25, 1.25, 1.1),
    True: (0.45, 1.1, 0.9, 1.2, 1.25, 1.4, 1.3, 1.3, 1.1, 0.75),
}
"""Widths of the ladder's columns beside each other: on the ground, and with that of the flight."""


def pdf(plan: GroundTestPlan) -> bytes:
    """Return the plan as the bytes of a PDF file, the same for the same plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    # no dates: the same plan gives the same file
    told: dict[str, Any] = {
        "Title": f"Ground-test plan: {' '.join(plan.case.title.split())}",
        "Creator": "baypulse", "CreationDate": None, "ModDate": None,
    }  # fmt: skip
    stream = io.BytesIO()
    # letters as whole fonts, so that the text can be searched and copied
    with style(), rc_context({"pdf.fonttype": 42}), PdfPages(stream, metadata=told) as book:
        for page in pages(plan):
            book.savefig(page)
    return stream.getvalue()


def pages(plan: GroundTestPlan) -> list[Any]:
    """Return both pages as figures, each in the largest letters that fit.

    Parameters
    ----------
    plan : Plan
        The plan.
    """
    with style():
        return [_fitted(plan, draw, number) for number, draw in enumerate((_before, _during), 1)]


def _fitted(plan: GroundTestPlan, draw: Any, number: int) -> Any:
    for size in SIZES:
        sheet = Sheet(size)
        _margin(sheet, plan, number)
        draw(sheet, plan)
        if not sheet.overflows:
            break
    return sheet.figure


def _margin(sheet: Sheet, plan: GroundTestPlan, number: int) -> None:
    """Write the foot of a page, and keep the rest of the page off it."""
    name = shorten(plan.case.name, 32)
    sheet.bottom -= sheet.line
    text = f"{name}, page {number} of 2. SHA-256 of case and version: {fingerprint(plan.case)}"
    sheet.text_at(text, SIDE, sheet.bottom + 0.2 * sheet.line, WIDE - 2.0 * SIDE, scale=0.85)


def _before(sheet: Sheet, plan: GroundTestPlan) -> None:
    """Fill the page that is read before the test: bay, ladder, what each outcome means."""
    case = plan.case
    sheet.text("Ground-test plan", scale=1.9, bold=True)
    sheet.text(shorten(case.title, LONGEST), scale=1.25)
    sheet.space(0.4)
    _blanks(sheet)
    sheet.boxed(CAUTION)
    sheet.space(0.5)
    tall = INCH * sketch.height(plan.ground)
    left = 0.5 * (WIDE - INCH * WIDTH)
    sketch.draw(plan.ground, sheet.figure, left / INCH, (TALL - sheet.y - tall) / INCH)
    sheet.y += tall
    _facts(sheet, plan)
    sheet.heading("The ladder")
    shares = LADDER[plan.ground is not plan.case]
    sheet.table(words.ladder_head(plan), words.ladder_rows(plan), shares, bold=(0, 1, 2))
    sheet.space(0.3)
    sheet.text(" ".join(words.notes(plan)))
    sheet.heading("What each outcome means for the next step")
    sheet.table(advice.SEEN_HEAD, advice.decisions(case), (1.0, 1.75, 2.3), bold=(0,))
    sheet.space(0.3)
    sheet.text(advice.SOURCE)


def _blanks(sheet: Sheet) -> None:
    """Draw lines to write on."""
    each = (WIDE - 2.0 * SIDE) / len(advice.BLANKS)
    sheet.space(0.9)
    for k, name in enumerate(advice.BLANKS):
        left = SIDE + k * each
        sheet.rule(sheet.y, left, left + each - 3.0, lw=0.6)
        sheet.text_at(name, left, sheet.y + 0.2, each - 3.0, scale=0.85)
    sheet.space(1.4)


def _facts(sheet: Sheet, plan: GroundTestPlan) -> None:
    """Write names and values beside each other."""
    facts = words.facts(plan)
    names, values = [name for name, _ in facts], [value for _, value in facts]
    sheet.table(names, [values], [1.0] * len(facts), bold=(0, 1))


def _during(sheet: Sheet, plan: GroundTestPlan) -> None:
    """Fill the page that is written on: checklist, record, what the successes prove."""
    case = plan.case
    title = shorten(case.title, LONGEST)
    sheet.text(f"Ground-test plan: {title}", scale=1.1, bold=True)
    sheet.space(0.4)
    sheet.boxed(CAUTION)
    sheet.heading("Before, at and after every shot")
    _checklist(sheet, plan)
    sheet.heading("How many successes prove what")
    _successes(sheet)
    sheet.heading("Record")
    below = f"{words.unknown(plan)} {words.foot(plan)}"
    names, shares = zip(*advice.record(case), strict=True)
    sheet.form(names, shares, advice.ROWS, advice.ticks(case), sheet.height(below) + sheet.line)
    sheet.space(0.5)
    sheet.text(below)


def _checklist(sheet: Sheet, plan: GroundTestPlan) -> None:
    """Write the checklist in columns, a group each."""
    groups = advice.checklist(plan.case)
    each = (WIDE - 2.0 * SIDE) / len(groups)
    top, ends = sheet.y, []
    for k, (name, items) in enumerate(groups):
        left = SIDE + k * each
        y = sheet.text_at(name, left, top, each - 3.0, bold=True)
        for item in items:
            after = sheet.tick_box(left, y)
            y = sheet.text_at(item, after, y, left + each - 3.0 - after) + 0.15 * sheet.line
        ends.append(y)
    sheet.y = max(ends)
    sheet.text(advice.SOURCE)


def _successes(sheet: Sheet) -> None:
    """Write what successes prove: a row of bounds, and how many shots are needed."""
    head, bounds = words.successes()
    sheet.table(["Succeeded", *head], [["shows at least", *bounds]], [1.5] + [1.0] * len(head),
                bold=range(1, len(head) + 1))  # fmt: skip
    rows = list(zip(*words.needed(), strict=True))
    names = ["To show a chance of", "shots, if none fails", "shots, if one may fail"]
    cells = [[name, *row] for name, row in zip(names, rows, strict=True)]
    sheet.table(cells[0], cells[1:], [1.5, 1.0, 1.0, 1.0], width=0.55 * (WIDE - 2.0 * SIDE),
                bold=range(1, 4))  # fmt: skip
    sheet.space(0.3)
    sheet.text(words.PROOF)
