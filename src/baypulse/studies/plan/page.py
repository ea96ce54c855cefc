"""The ground-test plan as a page for screens and printers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from importlib import resources

from baypulse.show.data import fingerprint
from baypulse.show.page import caution, figure, skeleton
from baypulse.show.study_parts import top
from baypulse.studies.plan import advice
from baypulse.studies.plan import text as words
from baypulse.studies.plan.compute import GroundTestPlan

CAPTIONS = {"sketch": "The bay to scale, from the dimensions of the case."}
"""What each figure shows."""


def plan_page(plan: GroundTestPlan, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    plan : Plan
        The plan.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = plan.case
    head = words.ladder_head(plan)
    facts = words.facts(plan)
    blanks = "".join(f"<span>{escape(name)}</span>" for name in advice.BLANKS)
    parts = [
        *top(case, f"Ground-test plan: {words.headline(plan)}"),
        f'<div class="blanks">{blanks}</div>',
        caution(),
        figure(figures, CAPTIONS, "sketch"),
        _table([name for name, _ in facts], [[value for _, value in facts]], "facts"),
        "<h2>The ladder</h2>",
        _table(head, words.ladder_rows(plan), "ladder"),
        f"<p>{escape(' '.join(words.notes(plan)))}</p>",
        "<h2>What each outcome means for the next step</h2>",
        _table(advice.SEEN_HEAD, advice.decisions(case), "next"),
        f'<p class="from">{escape(advice.SOURCE)}</p>',
        f'<div class="fresh">{caution()}</div>',
        "<h2>Before, at and after every shot</h2>",
        _checklist(plan),
        "<h2>How many successes prove what</h2>",
        _successes(),
        "<h2>Record</h2>",
        _record(plan),
        f"<p>{escape(words.unknown(plan))}</p>",
        f"<footer><p>{escape(words.foot(plan))} The same plan is in plan.pdf, its numbers in "
        f"numbers.json beside this page.<br>SHA-256 of case and version: {fingerprint(case)}"
        "</p></footer>",
    ]
    sheet = resources.files("baypulse").joinpath("studies/plan/plan.css").read_text("utf-8")
    page = skeleton(f"{case.name}: ground-test plan", parts)
    return page.replace("</style>", f"{sheet}</style>", 1)


def _table(head: Sequence[str], rows: Iterable[Sequence[str]], look: str) -> str:
    """Return a table that becomes a list of cards on a narrow screen."""
    top_row = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(
        "<tr>" + "".join(_cell(name, cell) for name, cell in zip(head, row, strict=True)) + "</tr>"
        for row in rows
    )
    return (
        f'<table class="{look} cards"><thead><tr>{top_row}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _cell(name: str, text: str) -> str:
    empty = "" if text else ' class="none"'
    shown = escape(text).replace("\n", " <br>")
    return f'<td data-name="{escape(name)}"{empty}><span>{shown}</span></td>'


def _checklist(plan: GroundTestPlan) -> str:
    groups = "".join(
        f"<div><b>{escape(name)}</b><ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}"
        "</ul></div>"
        for name, items in advice.checklist(plan.case)
    )
    return f'<div class="ticks">{groups}</div><p class="from">{escape(advice.SOURCE)}</p>'


def _successes() -> str:
    head, bounds = words.successes()
    names = ("To show a chance of", "Shots, if none fails", "Shots, if one may fail")
    return (
        _table(("Succeeded", *head), [("shows at least", *bounds)], "bounds")
        + _table(names, words.needed(), "needed")
        + f"<p>{escape(words.PROOF)}</p>"
    )


def _record(plan: GroundTestPlan) -> str:
    """Return an empty table to be filled in by hand."""
    ticks = advice.ticks(plan.case)
    names = [name for name, _ in advice.record(plan.case)]
    top_row = "".join(f'<th scope="col">{escape(name)}</th>' for name in names)
    boxes = "".join(
        f"<td>{''.join(f'<i>{escape(word)}</i>' for word in ticks.get(name, ()))}</td>"
        for name in names[1:]
    )
    body = "".join(
        f'<tr><th scope="row">{number}</th>{boxes}</tr>' for number in range(1, advice.ROWS + 1)
    )
    return (
        f'<div class="wide"><table class="record"><thead><tr>{top_row}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )
