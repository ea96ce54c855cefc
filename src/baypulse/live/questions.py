"""The questions of the page about a case, and what answers each, in the units of the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from baypulse.case import quantities
from baypulse.errors import CaseError
from baypulse.live import answer, form, quickness
from baypulse.live.draft import Draft, system_of

Answer = dict[str, Any] | None
"""Ready for JSON; None where nobody waits any more."""

Stale = Callable[[], bool]
"""Whether a newer question was asked."""


def answered(kind: str, draft: Draft, stale: Stale) -> Answer:
    """Answer a question.

    Parameters
    ----------
    kind : str
        One of :data:`KINDS`.
    draft : Draft
        The case as the page has it.
    stale : callable
        Whether a newer question was asked.

    Raises
    ------
    CaseError
        In the words of the file's own reader.
    """
    try:
        system = system_of(draft, draft.case())
    except CaseError:
        system = draft.system or quantities.SI
    with quantities.written_in(system):
        found = None if stale() else KINDS[kind](draft, stale)
    return None if found is None else {**found, "system": system}


def _form(draft: Draft, stale: Stale) -> Answer:
    return form.form(draft, draft.case())


def _answer(draft: Draft, stale: Stale) -> Answer:
    return answer.answer(draft.run())


def _more(draft: Draft, stale: Stale) -> Answer:
    return answer.more(draft.run())


def _strip(draft: Draft, stale: Stale) -> Answer:
    # what draws members takes long to load, and the first answer needs none
    from baypulse.live import ladder

    # the strip looks at slow and quick powder itself
    typed = {path: text for path, text in draft.typed.items() if path != quickness.PATH}
    return ladder.strip(replace(draft, typed=typed).case(), stale)


def _band(draft: Draft, stale: Stale) -> Answer:
    from baypulse.live import band

    return band.band(draft.run(), stale)


KINDS: dict[str, Callable[[Draft, Stale], Answer]] = {
    "form": _form, "answer": _answer, "more": _more, "strip": _strip, "band": _band,
}  # fmt: skip
"""What answers each kind of question."""
