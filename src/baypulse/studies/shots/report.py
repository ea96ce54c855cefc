"""The report of the shots of a case: a page, a figure, numbers."""

from __future__ import annotations

from html import escape
from typing import Any

from baypulse.case.starter import explain
from baypulse.observed.contradiction import JudgedShot
from baypulse.show import page, study_parts
from baypulse.show.data import both, clean, doubts
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.show.study_folder import StudyReport
from baypulse.show.text import dimension_of
from baypulse.studies.shots import figures as drawings
from baypulse.studies.shots import text as words
from baypulse.studies.shots.compute import Lesson, OpeningChance, ShotStudy

CAPTIONS = {
    "shots": "Chance that the bay separates and, where that is asked, its parachute comes out, "
    "before and after the shots; whiskers are 95 % intervals from the finite number of simulated "
    "shots. Dots above are shots that separated, crosses below shots that did not; where nobody "
    "said so, nothing is drawn. The scale is logarithmic.",
}
"""What the figure shows."""


def shots_numbers(study: ShotStudy) -> dict[str, Any]:
    """Return everything about the shots of a case, ready for JSON.

    Parameters
    ----------
    study : ShotStudy
        Findings.
    """
    return {
        **head("shots", study.case),
        "answer": words.headline(study),
        "sentences": [*words.meaning(study), *words.advice(study)],
        "file": study.log.file,
        "seed": study.learnt.seed,
        "simulated_shots": study.learnt.members,
        "effective_simulated_shots": clean(study.learnt.effective),
        "runs": study.runs,
        **both("charge", study.charge, study.dimension),
        "before": _opening(study.before),
        "after": None if study.contradiction is not None else _opening(study.after),
        "as_unlikely_ratio": clean(study.misfit.whole),
        "doubtful": study.misfit.doubtful,
        "shots": [_shot(study, each) for each in study.told],
        "learnt": [_lesson(each) for each in study.lessons],
        "curve": [
            {**both("charge", charge, study.dimension), "before": chance_numbers(before),
             "after": chance_numbers(after)}
            for charge, before, after in study.curve
        ],
        **foot(study.case, ()),
    }  # fmt: skip


def _opening(opening: OpeningChance) -> dict[str, Any]:
    return {
        "separates_ratio": clean(opening.share),
        "low_ratio": clean(opening.low),
        "high_ratio": clean(opening.high),
        "standard_error_ratio": clean(opening.error),
    }


def _shot(study: ShotStudy, told: JudgedShot) -> dict[str, Any]:
    shot = told.shot
    return {
        "name": told.name,
        "date": None if shot.row.date is None else shot.row.date.isoformat(),
        "note": shot.row.note,
        "line": shot.row.line,
        **both("charge", shot.charge, study.dimension),
        "pins": shot.pins,
        "saw": list(shot.row.saw),
        "separated": shot.opened,
        "separates_by_the_case_ratio": clean(told.before),
        "separates_by_the_shots_before_ratio": clean(told.expected),
        "as_unlikely_ratio": clean(told.misfit),
    }


def _lesson(lesson: Lesson) -> dict[str, Any]:
    dimension = dimension_of(lesson.path)
    found: dict[str, Any] = {"path": lesson.path, "label": lesson.label}
    for when, values in (("before", lesson.before), ("after", lesson.after)):
        for share, value in zip(("p05", "p50", "p95"), values, strict=True):
            found |= both(f"{when}_{share}", value, dimension)
    return found | {
        "moved_ratio": clean(lesson.moved), "narrower_ratio": clean(lesson.narrowed)
    }  # fmt: skip


def shots_page(study: ShotStudy, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    study : ShotStudy
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = study.case
    notes = [f"{each.name}: {each.shot.row.note}" for each in study.told if each.shot.row.note]
    parts = [
        *study_parts.top(case, f"What the shots in {study.log.file} teach"),
        study_parts.box(words.headline(study), [*words.meaning(study), *words.advice(study)]),
        study_parts.warnings((), doubts(case)),
        page.caution(),
        page.figure(figures, CAPTIONS, "shots"),
        "<h2>Shots</h2>", page.table(words.SHOT_HEAD, words.shot_rows(study)),
        *(f"<p>{escape(note)}</p>" for note in notes),
        "<h2>What was learnt</h2>", page.table(words.LESSON_HEAD, words.lesson_rows(study)),
        "<h2>Numbers</h2>", page.pairs(words.rows(study)),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_SHOTS)}</p>",
        study_parts.footer(case, words.behind(study)),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(study)}", parts)


SHOTS = StudyReport(
    study="series of shots",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=shots_numbers,
    page=shots_page,
)
