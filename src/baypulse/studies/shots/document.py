"""What the shots of a case say: the chance before and after them, each shot, what was learnt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baypulse.case import quantities
from baypulse.show.cells import both, clean
from baypulse.show.document import (
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import dimension_of
from baypulse.studies.shots import words
from baypulse.studies.shots.compute import SHARES, Lesson, OpeningChance, ShotStudy
from baypulse.studies.shots.figures import chances

UNKNOWN = (
    "The chance after the shots is that of simulated bays that agree with them, of those that the "
    "case and its spreads allow. What is the same in all shots of a bay and what is new in each "
    "is an estimate (observed/each_shot.toml), and so are the mistakes in what people see. A bay "
    "that opens with one charge is taken to open with more. A part changed between two shots "
    "makes another bay: begin a new file. A few shots that separate prove little about one failure "
    "in a hundred; what they prove without any model is in baypulse plan."
)
"""What the study does not know."""

CAPTION = (
    "Chance that the bay separates and, where that is asked, its parachute comes out, before and "
    "after the shots; whiskers are 95 % intervals from the finite number of simulated shots. Dots "
    "above are shots that separated, crosses below shots that did not; where nobody said so, "
    "nothing is drawn. The scale is logarithmic."
)
"""What the figure shows."""

LISTED_FROM = 0.08
"""Ranking from which a number is listed; less is the scatter of few simulated bays."""

LISTED = 10
"""Most numbers that are listed."""


def document(study: ShotStudy) -> Document:
    """Return what the shots of a case say.

    Parameters
    ----------
    study : ShotStudy
        Findings.
    """
    notes = [f"{each.name}: {each.shot.row.note}" for each in study.told if each.shot.row.note]
    return of_case(
        study.case,
        "shots",
        about=f"What the shots in {study.log.file} teach",
        headline=words.headline(study),
        sentences=tuple(words.meaning(study)),
        next_steps=tuple(words.advice(study)),
        first=_facts(study),
        sections=(
            Section("Chance over the charge", (Figure("shots", CAPTION, lambda: chances(study)),)),
            Section("Shots", (_shots(study), *notes)),
            Section("What was learnt", (_learnt(study),)),
        ),
        unknown=UNKNOWN,
        effort=words.behind(study),
        findings={
            "file": study.log.file,
            "seed": study.learnt.seed,
            "simulated_shots": study.learnt.members,
            "effective_simulated_shots": clean(study.learnt.effective),
            "runs": study.runs,
            "before": _opening(study.before),
            "after": None if study.contradiction is not None else _opening(study.after),
            "doubtful": study.misfit.doubtful,
            "lessons": [_lesson(each) for each in study.lessons],
        },
        files={"shots.csv": _curve(study)},
    )


def compare(found: Sequence[ShotStudy]) -> Table:
    """Return a table that compares the shots of several cases.

    Parameters
    ----------
    found : sequence of ShotStudy
        Findings of each.
    """
    return Table(
        "shots",
        (Column("case", "case"), Column("shots", "shots"), Column("before", "before"),
         Column("now", "now")),
        tuple(
            (study.case.name, len(study.log), words.chance(study.before),
             words.chance(study.after) if study.contradiction is None else "they contradict it")
            for study in found
        ),
        title="Shots compared: chance of separation",
    )  # fmt: skip


def _facts(study: ShotStudy) -> Facts:
    now = Said(study.after.share, words.opening(study.after))
    if study.contradiction is not None:
        now = Said(None, "not said: the shots contradict the case")
    before = Said(study.before.share, words.opening(study.before))
    unlikely = Said(study.misfit.whole, f"{quantities.percent(study.misfit.whole)} %")
    return Facts(
        "next_shot",
        (
            Fact("charge", "Charge of the next shot", Quantity(study.charge, study.dimension)),
            Fact("separates_before_ratio", "Chance of separation before", before),
            Fact("separates_now_ratio", "Chance of separation now", now),
            Fact("as_unlikely_ratio", "Simulated shots as unlikely", unlikely),
        ),
    )


def _shots(study: ShotStudy) -> Table:
    def share(value: float) -> Said:
        return Said(value, quantities.likely(value))

    return Table(
        "shots",
        (
            Column("name", "Shot"), Column("charge", "Charge", study.dimension),
            Column("pins", "Pins"), Column("saw", "Seen"),
            Column("separates_by_the_case_ratio", "Separates, by the case"),
            Column("separates_by_the_shots_before_ratio", "By the shots before"),
            Column("as_unlikely_ratio", "Reports as unlikely"), Column("date", "Fired on"),
            Column("line", "In line"), Column("separated", "Separated", absent="not said"),
        ),
        tuple(
            (
                each.name, each.shot.charge, each.shot.pins, "; ".join(each.shot.row.saw),
                share(each.before), share(each.expected), share(each.misfit),
                None if each.shot.row.date is None else each.shot.row.date.isoformat(),
                each.shot.row.line, each.shot.opened,
            )
            for each in study.told
        ),
    )  # fmt: skip


def _learnt(study: ShotStudy) -> Table:
    return Table(
        "learnt",
        (
            Column("label", "Same in all shots"),
            Column("before", "Nine of ten simulated bays, before"), Column("after", "After"),
            Column("narrower", "Narrower by"),
        ),
        tuple(
            (each.label, words.spread(each, each.before), words.spread(each, each.after),
             words.narrower(each.narrowed))
            for each in study.lessons[:LISTED]
            if each.weight >= LISTED_FROM
        ),
    )  # fmt: skip


def _curve(study: ShotStudy) -> Table:
    return Table(
        "curve",
        (Column("charge", "", study.dimension), Column("before", ""), Column("after", "")),
        study.curve,
    )


def _opening(opening: OpeningChance) -> dict[str, Any]:
    return {
        "separates_ratio": clean(opening.share),
        "low_ratio": clean(opening.low),
        "high_ratio": clean(opening.high),
        "standard_error_ratio": clean(opening.error),
    }


def _lesson(lesson: Lesson) -> dict[str, Any]:
    dimension = dimension_of(lesson.path)
    found: dict[str, Any] = {"path": lesson.path, "label": lesson.label}
    for when, values in (("before", lesson.before), ("after", lesson.after)):
        for share, value in zip(SHARES, values, strict=True):
            found |= both(f"{when}_p{100.0 * share:02.0f}", value, dimension)
    return found | {
        "moved_ratio": clean(lesson.moved), "narrower_ratio": clean(lesson.narrowed)
    }  # fmt: skip
