"""Parts that the pages of all studies have."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from baypulse.case.model import Case
from baypulse.case.quantities import percent
from baypulse.members.chances import Chance
from baypulse.show.data import fingerprint, versions


def top(case: Case, what: str) -> list[str]:
    """Return the head of a page: title, case, note."""
    return [
        f"<h1>{escape(case.title)}</h1>",
        f'<p class="from">Case {escape(case.name)}. {escape(what)}.</p>',
        f'<p class="note">{escape(case.note.strip())}</p>' if case.note.strip() else "",
    ]


def box(headline: str, sentences: Iterable[str]) -> str:
    """Return the answer in a box: a headline and its sentences."""
    text = "".join(f"<p>{escape(sentence)}</p>" for sentence in sentences)
    return f'<div class="verdict"><strong>{escape(headline)}</strong>{text}</div>'


def warnings(warnings: Sequence[str], doubtful: Sequence[str]) -> str:
    """Return what to know before trusting it."""
    items = "".join(f"<li>{escape(text)}</li>" for text in [*warnings, *doubtful])
    return f"<p><b>To know before trusting it:</b></p><ul>{items}</ul>" if items else ""


def footer(case: Case, what: str) -> str:
    """Return the foot of a page: what made it, and from what."""
    used = ", ".join(f"{name} {number}" for name, number in versions().items())
    return (
        f"<footer><p>Made with {escape(used)}. {escape(what)}<br>SHA-256 of case and version: "
        f"{fingerprint(case)}</p></footer>"
    )


def chance_row(each: Chance, before: str) -> tuple[str, str, str, str, str]:
    """Return a row of a table: outcome, members with it, members, chance, interval."""
    ends = f"{percent(each.low)} to {percent(each.high)} %"
    return (f"{before}{each.name}", f"{each.count:,}", f"{each.members:,}",
            f"{percent(each.share)} %", ends)  # fmt: skip
