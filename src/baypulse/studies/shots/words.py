"""What the shots of a case teach, in words."""

from __future__ import annotations

from pathlib import Path

from baypulse.case import quantities
from baypulse.case.quantities import likely
from baypulse.observed.contradiction import UNLIKELY
from baypulse.show import contradiction_text
from baypulse.show.figures.scales import scale_of
from baypulse.show.phrases import dimension_of
from baypulse.studies.shots.compute import BUILDS, LEVEL, TIMES, Lesson, OpeningChance, ShotStudy

LEARNT = 0.15
"""Ranking from which a number is named in a sentence."""

NAMED = 3
"""Most numbers that are named in a sentence."""

FEW_SHOTS = 3
"""Shots below which it is said how little so few can tell."""


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
            "Simulated bays differ: in nine of ten that agree with the shots the chance lies "
            f"between {likely(after.low)} and {likely(after.high)} (before: {likely(before.low)} "
            f"to {likely(before.high)})."
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
        f"{each.label} ({spread(each, each.before)} before, {spread(each, each.after)} now)"
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
            "takes it from these shots, and names cheap tests without powder."
        )
    found.append("baypulse window reads the same shots, and finds the charges that open this bay.")
    return found


def behind(study: ShotStudy) -> str:
    """Return what the numbers rest on."""
    return (
        f"{study.learnt.members:,} simulated bays drawn, seed {study.learnt.seed}, each fired once "
        f"for every shot and weighed by what was seen; chances by {BUILDS} bays and {TIMES} shots "
        f"of each; {study.runs:,} runs in all. The case is doubted where fewer than "
        f"{100.0 * UNLIKELY:g} % of simulated shots are as unlikely."
    )


def chance(opening: OpeningChance) -> str:
    """Return a chance, no surer than the records support."""
    return likely(opening.share)


def opening(opening: OpeningChance) -> str:
    """Return a chance with the range of the simulated bays."""
    ends = f"{likely(opening.low)} to {likely(opening.high)}"
    return f"{chance(opening)}; {100.0 * LEVEL:.0f} % of the simulated bays: {ends}"


def spread(lesson: Lesson, values: tuple[float, float, float]) -> str:
    """Return where nine of ten simulated bays lie."""
    dimension = dimension_of(lesson.path)
    return quantities.span(values[0], values[2], dimension)


def narrower(narrowed: float) -> str:
    """Return by how much a range became narrower."""
    if narrowed < -0.005:
        return f"{100.0 * -narrowed:.0f} % wider"
    return f"{100.0 * narrowed:.0f} % narrower" if narrowed >= 0.005 else "as wide"


def _shots(count: int) -> str:
    return f"{count} shot{'s' * (count != 1)}"
