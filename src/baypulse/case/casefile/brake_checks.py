"""Checks of the cord's brake: bundles that do not fit the cord, or do nothing."""

from __future__ import annotations

from collections.abc import Iterator

from baypulse.case import cord_fields
from baypulse.case.model import Case
from baypulse.case.quantities import show
from baypulse.engine.parameters import MOST_BRAKES

Finding = tuple[str, str]
"""Path of the key that the line is taken from, and the sentence."""


def problems(case: Case) -> Iterator[Finding]:
    """Find bundles that cannot be in this cord.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    if not case.brakes or case.cord is None:
        return
    for index, brake in enumerate(case.brakes):
        if brake.length is not None and brake.length < brake.stroke:
            yield (
                f"brakes[{index}].length",
                f"a stage that holds {_l(brake.length)} of cord cannot pull over a stroke of "
                f"{_l(brake.stroke)}; give the whole length of cord in the bundle, or leave it out",
            )
    stages = sum(brake.count for brake in case.brakes)
    if stages > MOST_BRAKES:
        yield "brakes[0]", f"{stages} stages of all bundles together, at most {MOST_BRAKES}"
    yield from _too_long(case)


def _too_long(case: Case) -> Iterator[Finding]:
    """Find bundles that hold more cord than there is where they are tied."""
    assert case.cord is not None
    held = sum(each.count * max(each.length or 0.0, each.stroke) for each in case.brakes)
    taut = float(cord_fields.taut_travel(case))
    first = taut - held
    if held > case.cord.length:
        yield (
            "brakes[0]",
            f"the bundles hold {_l(held)} of a cord of {_l(case.cord.length)}; give fewer stages, "
            "shorter ones, or a longer cord",
        )
    elif first < cord_fields.earliest_taut(case):
        yield (
            "brakes[0]",
            f"with {_l(held)} of it in bundles the cord of {_l(case.cord.length)} pulls before the "
            "shoulder is well out; give fewer stages, shorter ones, or a longer cord",
        )
    elif case.contents is not None and first < case.cord.nose_share * taut:
        behind = (1.0 - case.cord.nose_share) * taut
        yield (
            "brakes[0]",
            f"the bundles lie between the packed contents and the airframe, where {_l(behind)} of "
            f"cord pays out, and they hold {_l(held)}; give fewer stages, shorter ones, a longer "
            "cord, or a smaller nose_share",
        )


def doubts(case: Case) -> Iterator[Finding]:
    """Find bundles that are stronger than what they are to protect.

    Parameters
    ----------
    case : Case
        A case without problems.
    """
    if case.cord is None:
        return
    strength, link = cord_fields.cord_strength(case)
    for index, brake in enumerate(case.brakes):
        if brake.force > strength:
            yield (
                f"brakes[{index}].force",
                f"{show(brake.force, 'force')} is more than the cord's weakest link stands: "
                f"{link}, {show(strength, 'force')}; that breaks before this brake tears",
            )


def _l(value: float) -> str:
    return show(value, "length")
