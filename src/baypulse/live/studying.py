"""The longer questions of the page: the studies of the commands, their documents and reports."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from baypulse.case import quantities
from baypulse.case.casefile import read
from baypulse.case.model import Case
from baypulse.errors import CaseError
from baypulse.live.draft import Draft, Malformed, system_of
from baypulse.live.workplace import Workplace
from baypulse.members.answered import Answered
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.members.blocks import Progress
    from baypulse.observed.build_weights import WeighedBuilds
    from baypulse.observed.shot_log import ShotLog
    from baypulse.show.document import Document
    from baypulse.studies.why.asked_shot import AskedShot

WORKERS = 2
"""Threads of a study; the answer does not depend on them."""

SEED = 1
"""Of the simulated shots, as the commands have it."""

MOST_SAID = 12
"""Things that were seen of one shot, at most: one of each kind."""


class StudyQuestion(NamedTuple):
    """A study that is asked for.

    Attributes
    ----------
    draft : Draft
        The case as the page has it.
    workplace : Workplace
        Where its shots stand.
    file : str
        The case's file; empty where it has none.
    saw : tuple of str
        What was seen of a shot.
    charge, pins, note : str
        Of that shot, as typed; empty for those of the case.
    """

    draft: Draft
    workplace: Workplace
    file: str = ""
    saw: tuple[str, ...] = ()
    charge: str = ""
    pins: str = ""
    note: str = ""


def asked(body: Mapping[str, Any], draft: Draft, workplace: Workplace) -> StudyQuestion:
    """Return what a request asks of a study.

    Parameters
    ----------
    body : mapping
        Of the request.
    draft : Draft
        The case in it.
    workplace : Workplace
        Where its shots stand.

    Raises
    ------
    Malformed
        If it is no request of the page.
    """
    saw = body.get("saw", [])
    words = {name: body.get(name, "") for name in ("file", "charge", "pins", "note")}
    if not isinstance(saw, list) or len(saw) > MOST_SAID:
        raise Malformed("what was seen is a list")
    if not all(isinstance(each, str) and len(each) <= 200 for each in [*saw, *words.values()]):
        raise Malformed("this is no question about a shot")
    return StudyQuestion(draft, workplace, saw=tuple(saw), **words)


def sightings() -> list[dict[str, Any]]:
    """Return what can be seen of a shot: answers to choose from, or a number to type."""
    from baypulse.observed.sightings import kinds

    return [
        {"name": kind.name, "title": kind.title, "answers": list(kind.answers),
         "word": kind.words[0] if kind.words else "", "example": kind.example}
        for kind in kinds().values()
    ]  # fmt: skip


def study(
    name: str, question: StudyQuestion, progress: Progress, known: Callable[[Document], None]
) -> Document:
    """Compute a study and return what it says.

    Parameters
    ----------
    name : str
        One of :data:`STUDIES`.
    question : StudyQuestion
        Of which case, and what was seen.
    progress : callable
        Called with what is done and in all; what it raises ends the study.
    known : callable
        Is told the answer, where that is known before all that a report shows.
    """
    case = question.draft.case()
    with quantities.written_in(system_of(question.draft, case)):
        found = STUDIES[name](case, question, progress)
        if not isinstance(found, Answered):
            return found
        known(found.findings)
        return found.whole(progress)


def add_shot(question: StudyQuestion) -> str:
    """Write a shot into the log beside its case; return what was done.

    Raises
    ------
    Refused
        With everything that is wrong about it; then nothing is written.
    """
    from baypulse.observed.shot_log import add_shot as add

    place, case = _saved(question)
    if not question.saw:
        raise Refused("say what was seen of the shot")
    row = _row(question, case, date=date.today(), note=question.note.strip())
    try:
        log = add(place, case, row, question.charge.strip())
    except CaseError as error:
        raise Refused(str(error)) from None
    return f"added to {place.name}: shot {len(log)}"


def told(question: StudyQuestion, case: Case) -> AskedShot:
    """Return the shot that was told of: that of the log, where it was added to it already.

    Parameters
    ----------
    question : StudyQuestion
        With what was seen.
    case : Case
        Whose shot it is.
    """
    from baypulse.observed.shot_log import shot_of
    from baypulse.studies.why.asked_shot import shot_of_log, told_shot

    row, log = _row(question, case), _log(question, case)
    if log is not None:
        # its own sightings must not count as those of an earlier shot
        last, now = log.shots[-1], shot_of(case, row)
        if (last.charge, last.pins, last.row.saw) == (now.charge, now.pins, row.saw):
            return shot_of_log(case, log, len(log))
    return told_shot(case, row, log)


def _saved(question: StudyQuestion) -> tuple[Any, Case]:
    """Return the file of the shots and the case as its own file has it."""
    place = question.workplace.shots(question.file, question.draft.case())
    return place, read(question.workplace.place(question.file))


def _row(question: StudyQuestion, case: Case, **more: Any) -> Any:
    """Return the shot that was told, or refuse it in the sentences of the commands."""
    from baypulse.commands.shot_options import typed_shot

    pins = question.pins.strip()
    if pins and not (pins.isdecimal() and int(pins) <= 24):
        raise Refused(f'pins: "{pins[:20]}" is no whole number from 0 to 24')
    told = argparse.Namespace(
        charge=question.charge, pins=int(pins) if pins else None, saw=list(question.saw)
    )
    try:
        return typed_shot(told, case, **more)
    except Refused as error:
        raise Refused(str(error).replace("--", "")) from None


def _log(question: StudyQuestion, case: Case) -> ShotLog | None:
    """Return the shots beside the case's file, where there are some."""
    from baypulse.observed.shot_log import read_log

    if not question.file:
        return None
    place = question.workplace.shots(question.file, case)
    return read_log(place, case) if place.exists() else None


def _learnt(case: Case, question: StudyQuestion, progress: Progress) -> WeighedBuilds | None:
    from baypulse.observed.build_weights import learn

    log = _log(question, case)
    if log is None:
        return None
    return learn(case, log, seed=SEED, workers=WORKERS, progress=progress)


def _run(case: Case, question: StudyQuestion, progress: Progress) -> Document:
    from baypulse.run.simulation import simulate
    from baypulse.studies.run.document import document

    return document(simulate(case))


def _window(case: Case, question: StudyQuestion, progress: Progress) -> Answered[Document]:
    from baypulse.studies.window.compute import answer
    from baypulse.studies.window.document import document

    learnt = _learnt(case, question, progress)
    known = answer(case, seed=SEED, workers=WORKERS, learnt=learnt, progress=progress)
    return known.told_by(document)


def _plan(case: Case, question: StudyQuestion, progress: Progress) -> Document:
    from baypulse.studies.plan.compute import plan
    from baypulse.studies.plan.document import document

    learnt = _learnt(case, question, progress)
    return document(plan(case, seed=SEED, workers=WORKERS, learnt=learnt, progress=progress))


def _why(case: Case, question: StudyQuestion, progress: Progress) -> Answered[Document]:
    from baypulse.observed.build_weights import learn
    from baypulse.studies.why.document import document
    from baypulse.studies.why.explanation import answer

    if not question.saw:
        raise Refused("say what was seen of the shot")
    shot = told(question, case)
    learnt = None if shot.earlier is None else learn(
        shot.built, shot.earlier, seed=SEED, workers=WORKERS, progress=progress
    )  # fmt: skip
    known = answer(
        shot.case, shot.seen, seed=SEED, workers=WORKERS, learnt=learnt, shot=shot,
        progress=progress,
    )  # fmt: skip
    return known.told_by(document)


def _shots(case: Case, question: StudyQuestion, progress: Progress) -> Answered[Document]:
    from baypulse.studies.shots.compute import answer
    from baypulse.studies.shots.document import document

    log = _log(question, case)
    if log is None:
        raise Refused("there is no shot in the log yet: save the case, then add one")
    known = answer(case, log, seed=SEED, workers=WORKERS, progress=progress)
    return known.told_by(document)


STUDIES: dict[str, Callable[[Case, StudyQuestion, Progress], Document | Answered[Document]]] = {
    "run": _run, "window": _window, "plan": _plan, "why": _why, "shots": _shots,
}  # fmt: skip
"""What the page can ask for, by the name of its command."""
