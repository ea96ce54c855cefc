"""Openings put together as one hole."""

from __future__ import annotations

import math

import pytest

from baypulse.case import params
from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.case.params import ELECTRONICS
from baypulse.engine.parameters import OUTSIDE
from baypulse.studies.altimeter.combined_openings import (
    LEAK,
    PORTS,
    between,
    hole_paths,
    one_hole,
    with_one_hole,
)
from report_cases import BENCH

LEAKY = (
    BENCH
    + """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "wires"
between = "bay"
to = "electronics"
diameter = { value = "2 mm", spread = "10 %" }
count = 3

[[openings]]
name = "stud"
between = "electronics"
to = "bay"
diameter = "1 mm"
discharge = 0.9

[[openings]]
name = "ports"
between = "electronics"
to = "outside"
diameter = "3 mm"
count = 2
"""
)


def passed(text_or_case: object, one: int, two: int) -> float:
    """Return the effective area between two volumes, as the core gets it."""
    P = params.parameters(text_or_case)  # type: ignore[arg-type]
    sides = {one, two}
    return sum(
        float(area)
        for a, b, area in zip(P.opening_from, P.opening_to, P.opening_area, strict=True)
        if {int(a), int(b)} == sides
    )


def back(case: Case) -> int:
    """Return the volume that wires lead from: the bay behind its contents."""
    return params.volume_names(case).index(params.BEHIND)


def test_one_hole_passes_as_much_as_all_of_them() -> None:
    case = reads(LEAKY, "leaky")
    # 3 x 2 mm with 0.65 and 1 mm with 0.9, either way round
    assert one_hole(case, LEAK) == pytest.approx(1e-3 * math.sqrt(3 * 4.0 + 0.9 / 0.65), rel=1e-12)
    for sides, one, two in ((LEAK, back(case), ELECTRONICS), (PORTS, ELECTRONICS, OUTSIDE)):
        same = with_one_hole(case, sides, one_hole(case, sides))
        assert passed(same, one, two) == pytest.approx(passed(case, one, two), rel=1e-12)
    assert len(same.openings) == len(case.openings)


def test_setting_the_hole_leaves_the_others_and_ends_its_scatter() -> None:
    case = reads(LEAKY, "leaky")
    path = hole_paths(case, LEAK)[0]
    assert path in case.spreads
    set_to = with_one_hole(case, LEAK, 1e-3)
    behind = back(case)
    assert path not in set_to.spreads
    area = 0.65 * math.pi / 4.0 * 1e-6
    assert passed(set_to, behind, ELECTRONICS) == pytest.approx(area, rel=1e-12)
    assert passed(set_to, ELECTRONICS, OUTSIDE) == passed(case, ELECTRONICS, OUTSIDE)


def test_a_hole_is_added_where_there_was_none() -> None:
    case = reads(BENCH + '\n[electronics]\nvolume = "500 cm^3"\n', "closed")
    assert one_hole(case, PORTS) == 0.0
    assert between(case, PORTS) == []
    opened = with_one_hole(case, PORTS, 2e-3)
    assert one_hole(opened, PORTS) == pytest.approx(2e-3)
    assert len(opened.openings) == len(case.openings) + 1
