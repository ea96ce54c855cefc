"""Changes to a case that would open or widen its charge window, each tried."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from baypulse.case import cord_fields, library
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.case.quantities import show
from baypulse.members.charge_search import PILOT, Ends, Search
from baypulse.members.charges import Charges, Points, Tally, charge_path
from baypulse.members.pool import pool_of
from baypulse.studies.window.result import Remedy

LONGER_CORD = 1.5
"""Factor by which a cord is made longer."""

SMALLER_HOLE = 0.7
"""Factor by which the diameter of a hole is changed."""

TIGHTER = 0.5
"""Factor by which the gap of the shoulder is changed."""

LARGER_HOLDER = 2.0
"""Factor by which the volume of a holder is changed."""

ASIDE = 1.3
"""Factor beside the window's own ends at which the searches of a changed case begin."""

AS_IT_IS = "as it is"
"""What a case without a change is called."""


def remedies(
    case: Case, wanted: float, ends: Ends, seed: int, workers: int, tally: Tally,
    points: Points | None = None,
) -> tuple[Remedy, ...]:  # fmt: skip
    """Try every change, and none, and return what that does to the window.

    Parameters
    ----------
    case : Case
        The case.
    wanted : float
        Chance of separation.
    ends : Ends
        Of its window, where the searches begin.
    seed, workers, tally, points
        As of the window. Each search has :data:`baypulse.members.charge_search.PILOT` members.

    Returns
    -------
    tuple of Remedy
        The case without a change first, then the widest window first.
    """
    present = float(value_at(case, charge_path(case)))
    # each search begins where some members are left to be tried again, and not nearly all
    start = next((charge for charge in ends if charge), present) / ASIDE
    end = None if ends.most is None else ends.most * ASIDE

    def tried(change: tuple[str, Case]) -> Remedy:
        words, changed = change
        # so few members that a thread for each change waits less than several for all of them
        charges = Charges(changed, PILOT, seed, 1, tally, points=points)
        return Remedy(words, *Search(charges, wanted, start, end).ends())

    with pool_of(workers) as pool:
        found = list(pool.map(tried, ((AS_IT_IS, case), *changes(case))))
    return (found[0], *sorted(found[1:], key=_width, reverse=True))


def _width(remedy: Remedy) -> tuple[float, float]:
    """Return most over least, as far as there are such ends, and how little is enough."""
    if remedy.least is None:
        return 0.0, 0.0
    width = math.inf if remedy.most is None else remedy.most / remedy.least
    return width, -remedy.least


def changes(case: Case) -> Iterator[tuple[str, Case]]:
    """Yield every change that can be made to a case, in words and as another case.

    Parameters
    ----------
    case : Case
        The case.
    """
    for words, changed in (
        *_pins(case), *_cord(case), *_gap(case), *_holes(case), *_powder(case), *_holder(case)
    ):  # fmt: skip
        if not any(consistency.problems(changed)):
            yield words, changed


def _pins(case: Case) -> Iterator[tuple[str, Case]]:
    # a single pin lets the shoulder tilt
    if case.pins is not None and case.pins.count > 2:
        fewer = case.pins.count - 1
        yield f"{fewer} pins in place of {case.pins.count}", with_value(case, "pins.count", fewer)


def _cord(case: Case) -> Iterator[tuple[str, Case]]:
    cord = case.cord
    if cord is None:
        return
    longer = LONGER_CORD * cord.length
    text = f"a cord of {show(longer, 'length')} in place of {show(cord.length, 'length')}"
    yield text, with_value(case, "cord.length", longer)
    softer = _softer(case)
    if softer is not None:
        change = replace(cord, type=softer, break_load=None, break_elongation=None)
        yield f"a softer cord, {softer}", replace(case, cord=change)


def _softer(case: Case) -> str | None:
    """Return the library's cord that stretches least among those that stretch more and hold."""
    present = cord_fields.cord_data(case)
    better = [
        (data.break_elongation, name)
        for name in library.names("cords")
        if (data := library.cord(name, case.materials)).break_elongation
        > 1.2 * present.break_elongation
        and data.break_load >= present.break_load
    ]
    return min(better)[1] if better else None


def _gap(case: Case) -> Iterator[tuple[str, Case]]:
    gap = case.joint.clearance
    if gap > 0.0:
        text = f"a tighter fit, {show(TIGHTER * gap, 'length')} of gap around the shoulder"
        yield text, with_value(case, "joint.clearance", TIGHTER * gap)


def _holes(case: Case) -> Iterator[tuple[str, Case]]:
    for k, opening in enumerate(case.openings):
        if {opening.between, opening.to} == {"bay", "outside"} and opening.hole_diameter > 0.0:
            smaller = SMALLER_HOLE * opening.hole_diameter
            text = f"{opening.name} of {show(smaller, 'length')} in place of "
            text += show(opening.hole_diameter, "length")
            yield text, with_value(case, f"openings[{k}].diameter", smaller)


def _powder(case: Case) -> Iterator[tuple[str, Case]]:
    powder = case.powder
    if powder is None or powder.smallest_grain or powder.largest_grain:
        return
    size = library.powder(powder.grade, case.materials).largest_grain
    finer = [
        (grain.largest_grain, name)
        for name in library.names("powders")
        if (grain := library.powder(name, case.materials)).largest_grain < size
    ]
    if finer:
        grade = max(finer)[1]
        yield (
            f"finer powder, {grade} in place of {powder.grade}",
            replace(case, powder=replace(powder, grade=grade)),
        )


def _holder(case: Case) -> Iterator[tuple[str, Case]]:
    if case.holder is not None:
        larger = LARGER_HOLDER * case.holder.volume
        text = f"a holder of {show(larger, 'volume')} in place of "
        text += show(case.holder.volume, "volume")
        yield text, with_value(case, "holder.volume", larger)
