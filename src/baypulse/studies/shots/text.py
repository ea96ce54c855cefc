"""What the shots of a case teach, in words: sentences, rows, the text of the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path

from baypulse.case import quantities
from baypulse.case.quantities import percent
from baypulse.caution import CAUTION
from baypulse.observed.contradiction import UNLIKELY, JudgedShot
from baypulse.show import contradiction_text
from baypulse.show.figures.scales import scale_of
from baypulse.show.text import WIDE, columns, cut, dimension_of, wrapped
from baypulse.studies.shots.compute import BUILDS, LEVEL, TIMES, Lesson, OpeningChance, ShotStudy

LEARNT, NAMED = 0.15, 3
"""Ranking from which a number is named in a sentence, and how many are."""

LISTED_FROM, LISTED = 0.08, 10
"""Ranking from which a number is listed, and how many are; less is the scatter of few builds."""

FEW_SHOTS = 3
"""Shots below which it is said how little so few can tell."""

LIMITS_OF_THE_SHOTS = (
    "The chance after the shots is that of simulated bays that agree with them, of those that the "
    "case and its spreads allow. What is the same in all shots of a bay and what is new in each "
    "is an estimate (observed/each_shot.toml), and so are the mistakes in what people see. A part "
    "that was changed between two shots makes another bay: begin a new file. A few shots that "
    "separate prove little about one failure in a hundred; what they prove without any model is "
    "in baypulse plan."
)
"""Printed in every report of shots."""


def headline(study: ShotStudy) -> str:
    """Return the answer in a few words."""
    if study.contradiction is not None:
        return contradiction_text.HEADLINE
    number = _shots(len(study.log))
    return f"After {number} the chance of separation is {chance(study.after)}"


def meaning(study: ShotStudy) -> list[str]:
    """Return what the shots mean, as sentences."""
    scale = scale_of(study.dimension, study.charge)
    before, after = study.before, study.after
    if study.contradiction is not None:
        told = contradiction_text.sentences(study.contradiction, study.case.name, study.dimension)
        return [*told, *_expected(study)]
    found = [
        f"By the case alone {scale.text(study.charge)} separates in {chance(before)} of the shots; "
        f"after {_shots(len(study.log))} of {Path(study.log.file).name} in {chance(after)}."
    ]
    if after.low < after.high:
        found.append(
            f"Builds differ: in nine of ten that agree with the shots the chance lies between "
            f"{percent(after.low)} and {percent(after.high)} % (before: {percent(before.low)} to "
            f"{percent(before.high)} %)."
        )
    found += [*_expected(study), *_narrowed(study)]
    if len(study.log) < FEW_SHOTS:
        found.append(f"{_shots(len(study.log)).capitalize()} can tell only little.")
    return found


def _expected(study: ShotStudy) -> list[str]:
    """Return how many openings were expected, and how many came."""
    told = [each for each in study.told if each.shot.opened is not None]
    if not told:
        return ["Of no shot it was said whether it separated."]
    came = sum(bool(each.shot.opened) for each in told)
    alone, given = (sum(getattr(each, name) for each in told) for name in ("before", "expected"))
    return [
        f"Openings: {came} of {len(told)}; expected by the case alone {alone:.1f}, by the case and "
        f"the shots before each {given:.1f}."
    ]


def _narrowed(study: ShotStudy) -> list[str]:
    best = [each for each in study.lessons if each.weight >= LEARNT][:NAMED]
    if not best:
        return ["No single unknown was narrowed much: only what they do together is better known."]
    told = "; ".join(
        f"{each.label} ({_range(each, each.before)} before, {_range(each, each.after)} now)"
        for each in best
    )
    return [f"Most was learnt about {told}."]


def advice(study: ShotStudy) -> list[str]:
    """Return what to do next, as sentences."""
    if study.contradiction is not None:
        return ["baypulse window recommends no charge until the case describes its shots."]
    failed = [each for each in study.told if each.shot.opened is False]
    found = []
    if failed:
        found.append(
            f"Before another charge, find out why {failed[-1].name} did not open: baypulse why "
            "with what was seen of it, and the cheap tests without powder that it names."
        )
    found.append("baypulse window reads the same shots, and finds the charges that open this bay.")
    return found


def rows(study: ShotStudy) -> list[tuple[str, str]]:
    """Return numbers of the study with their names."""
    scale = scale_of(study.dimension, study.charge)
    return [
        ("Charge of the next shot", scale.text(study.charge)),
        ("Chance of separation before", _opening(study.before)),
        (
            "Chance of separation now",
            _opening(study.after)
            if study.contradiction is None
            else "not said: the shots contradict the case",
        ),
        ("Simulated bays that were weighed", f"{study.learnt.members:,}"),
        ("Equal ones they are worth", f"{study.learnt.effective:.0f}"),
        ("Simulated shots as unlikely", f"{percent(study.misfit.whole)} %"),
    ]


def shot_rows(study: ShotStudy) -> list[tuple[str, str, str, str, str, str, str]]:
    """Return of every shot name, charge, pins, what was seen, two chances and how it fits."""
    scale = scale_of(study.dimension, study.charge)
    return [
        (each.name, scale.text(each.shot.charge), f"{each.shot.pins}", "; ".join(each.shot.row.saw),
         f"{_percent(each.before)} %", f"{_percent(each.expected)} %",
         f"{_percent(each.misfit)} %")
        for each in study.told
    ]  # fmt: skip


SHOT_HEAD = (
    "Shot", "Charge", "Pins", "Seen", "Separates, by the case", "Separates, by the shots before",
    "Reports as unlikely",
)  # fmt: skip


def lesson_rows(study: ShotStudy) -> list[tuple[str, str, str, str]]:
    """Return of what was learnt most: name, range before and after, and by how much narrower."""
    return [
        (each.label, _range(each, each.before), _range(each, each.after), _by(each.narrowed))
        for each in study.lessons[:LISTED]
        if each.weight >= LISTED_FROM
    ]


LESSON_HEAD = ("Same in all shots", "Nine of ten simulated bays, before", "After", "Narrower by")


def summary(study: ShotStudy) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    study : ShotStudy
        Findings.

    Returns
    -------
    str
        Headline, sentences, shots, what was learnt, the caution.
    """
    case = study.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(study).upper(), "  ", "  ")]
    for sentence in (*meaning(study), *advice(study)):
        lines += wrapped(sentence, "  ", "  ")
    lines += ["", f"  Shots in {study.log.file}"]
    for each in study.told:
        lines += _told(study, each)
    lines += ["", "  What was learnt, nine of ten simulated bays"]
    for name, before, after, narrower in lesson_rows(study):
        lines += wrapped(f"{name}: {before} before, {after} now; {narrower}", "    ", "      ")
    lines += ["", *cut(columns(rows(study)))]
    lines += ["", *wrapped(LIMITS_OF_THE_SHOTS, "  ", "  ")]
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def _told(study: ShotStudy, each: JudgedShot) -> list[str]:
    scale = scale_of(study.dimension, study.charge)
    pins = f", {each.shot.pins} pins" if study.case.pins is not None else ""
    text = (
        f"{each.name}: {scale.text(each.shot.charge)}{pins}: {'; '.join(each.shot.row.saw)}. "
        f"Separates in {_percent(each.before)} % by the case, {_percent(each.expected)} % with the "
        f"shots before; {_percent(each.misfit)} % of reports are as unlikely."
    )
    return wrapped(text, "    ", "      ")


def compare(found: Sequence[ShotStudy]) -> str:
    """Return a table that compares several cases, for the terminal.

    Parameters
    ----------
    found : sequence of ShotStudy
        Findings of each.
    """
    lines = ["Shots compared", ""]
    for study in found:
        now = f"{chance(study.after)} now"
        if study.contradiction is not None:
            now = "and they contradict the case"
        text = (
            f"{study.case.name}: {_shots(len(study.log))}; separates in {chance(study.before)} "
            f"before, {now}"
        )
        lines += wrapped(text, "  ", "    ")
    return "\n".join(lines) + "\n"


def behind(study: ShotStudy) -> str:
    """Return what the numbers rest on."""
    return (
        f"{study.learnt.members:,} simulated bays drawn, seed {study.learnt.seed}, each fired once "
        f"for every shot and weighed by what was seen; chances by {BUILDS} bays and {TIMES} shots "
        f"of each; {study.runs:,} runs in all. The case is doubted where fewer than "
        f"{100.0 * UNLIKELY:g} % of simulated shots are as unlikely. The same numbers are in "
        "numbers.json, beside this page."
    )


def chance(opening: OpeningChance) -> str:
    """Return a chance in percent, no surer than so many shots can be."""
    most = 1.0 - 1.0 / (BUILDS * TIMES)
    if opening.share > most:
        return f"more than {percent(most)} %"
    if opening.share < 1.0 - most:
        return f"less than {percent(1.0 - most)} %"
    return f"{percent(opening.share)} %"


def _opening(opening: OpeningChance) -> str:
    ends = f"{percent(opening.low)} to {percent(opening.high)} %"
    return f"{chance(opening)}; {100.0 * LEVEL:.0f} % of the simulated bays: {ends}"


def _range(lesson: Lesson, values: tuple[float, float, float]) -> str:
    dimension = dimension_of(lesson.path)
    return f"{quantities.show(values[0], dimension)} to {quantities.show(values[2], dimension)}"


def _percent(share: float) -> str:
    """Return a share of some thousand builds, without digits that these cannot tell."""
    return percent(round(share, 4))


def _by(narrowed: float) -> str:
    if narrowed < -0.005:
        return f"{100.0 * -narrowed:.0f} % wider"
    return f"{100.0 * narrowed:.0f} % narrower" if narrowed >= 0.005 else "as wide"


def _shots(count: int) -> str:
    return f"{count} shot{'s' * (count != 1)}"
