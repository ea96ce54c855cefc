"""Bundles of the cord in a case: what is read, what is refused, in which order they tear."""

from __future__ import annotations

import dataclasses
import re
import warnings

import numpy as np
import pytest

from baypulse.case import cord_fields, params
from baypulse.case.casefile import reads
from baypulse.case.explanation import explain, reference
from baypulse.case.model import Brake, Cord
from baypulse.errors import CaseError, RangeWarning
from baypulse.run.simulation import simulate
from baypulse.show import cells
from baypulse.studies.run.document import document
from report_cases import BENCH, without
from tools import case as bench


def with_brake(*lines: str) -> str:
    return BENCH + '\n[[brakes]]\nname = "folds"\n' + "\n".join(lines) + "\n"


def refused(text: str) -> str:
    with pytest.raises(CaseError) as caught:
        reads(text)
    return str(caught.value)


def test_force_is_an_estimate_that_scatters_unless_it_is_typed() -> None:
    case = reads(with_brake('stroke = "80 mm"'))
    assert case.brakes == (Brake(name="folds", stroke=0.08),)
    spread = case.spreads["brakes[0].force"]
    assert spread.deviation == pytest.approx(0.25 * case.brakes[0].force)
    assert case.provenance["brakes[0].force"].source == "estimate"
    assert case.provenance["brakes[0].length"].text == "the stroke"
    assert not any(
        "brakes" in p for p in reads(with_brake('stroke = "8 cm"', 'force = "50 N"')).spreads
    )


def test_starter_and_explanation_know_the_brake() -> None:
    assert "[[brakes]]" in reference()
    told = explain(reads(with_brake('stroke = "80 mm"', "count = 2")))
    assert "[brakes[0]]" in told
    assert "stroke = 80 mm" in told


@pytest.mark.parametrize(
    ("lines", "place", "words"),
    [
        (['stroke = "300 mm"', 'length = "1 cm"'], "brakes[0].length", "cannot pull over a stroke"),
        (['stroke = "80 mm"', "count = 21"], "brakes[0].count", "allowed 1 to 20"),
        (["count = 2"], "brakes[0].stroke", "missing"),
        (['stroke = "900 mm"', "count = 6"], "brakes[0]", "of a cord of 4.50 m"),
        (['stroke = "900 mm"', "count = 4"], "brakes[0]", "between the packed contents"),
        (['stroke = "80 mm"', 'force = "0 N"'], "brakes[0].force", "allowed 1"),
        (['stroke = "80 mm"', 'strok = "1 m"'], "brakes[0].strok", 'did you mean "stroke"'),
    ],
)  # fmt: skip
def test_bundles_that_cannot_be_are_refused_with_their_place(
    lines: list[str], place: str, words: str
) -> None:
    text = with_brake(*lines)
    message = refused(text)
    assert place in message
    assert words in message
    line = int(re.findall(r"case\.toml:(\d+)", message)[0])
    assert line >= BENCH.count("\n") + 2


def test_bundles_without_a_cord_are_refused() -> None:
    message = refused(without(with_brake('stroke = "80 mm"'), "cord"))
    assert "[cord]" in message


def test_single_brackets_are_told() -> None:
    message = refused(with_brake('stroke = "80 mm"').replace("[[brakes]]", "[brakes]"))
    assert "[[brakes]], with two brackets" in message


def test_bundles_that_leave_no_room_for_the_shoulder_are_refused() -> None:
    text = without(with_brake('stroke = "1 m"', "count = 4"), "contents")
    text = text.replace('length = "4.5 m"', 'length = "4.25 m"')
    assert "before the shoulder is well out" in refused(text)


def test_too_many_stages_of_all_bundles_are_refused() -> None:
    more = '\n[[brakes]]\nname = "more"\ncount = 9\nstroke = "1 cm"\n'
    assert "29 stages" in refused(with_brake('stroke = "1 cm"', "count = 20") + more)


def test_brake_stronger_than_the_cord_is_doubted() -> None:
    with pytest.warns(RangeWarning, match="breaks before this brake tears"):
        reads(with_brake('stroke = "80 mm"', 'force = "9 kN"'))


def test_weakest_stage_tears_first_in_every_member() -> None:
    force = np.array([40.0, 90.0, 60.0])
    case = bench(
        cord=Cord(type="tubular nylon 9/16 in", length=6.0),
        brakes=(
            Brake(name="a", count=2, force=force, stroke=0.1),
            Brake(name="b", force=55.0, stroke=0.2, length=0.3),
        ),
    )
    found, stroke, length = cord_fields.brake_stages(case)
    np.testing.assert_array_equal(found, [[40, 40, 55], [55, 90, 90], [55, 60, 60]])
    np.testing.assert_array_equal(stroke[0], [0.1, 0.1, 0.2])
    np.testing.assert_array_equal(stroke[1], [0.2, 0.1, 0.1])
    np.testing.assert_array_equal(length[1], [0.3, 0.1, 0.1])
    P = params.parameters(case)
    taut = float(P.cord_travel)
    # the whole cord is taut where it was; each stage is missing from there back
    np.testing.assert_allclose(P.brake_start[1], [taut - 0.5, taut - 0.2, taut - 0.1])
    np.testing.assert_allclose(P.brake_stop[1], [taut - 0.3, taut - 0.1, taut])


def test_pick_up_of_the_contents_is_not_moved_by_the_brake() -> None:
    plain, braked = reads(BENCH), reads(with_brake('stroke = "80 mm"'))
    one, two = params.parameters(plain), params.parameters(braked)
    assert one.pickup_travel == two.pickup_travel
    assert one.cord_travel == two.cord_travel


def test_brake_is_in_the_numbers_of_a_run() -> None:
    result = simulate(reads(with_brake('stroke = "80 mm"', 'force = "60 N"', "count = 2")))
    said = document(result)
    assert said.findings["numbers"]["brake_energy_J"] == pytest.approx([4.8, 4.8])
    assert ("Taken by the cord's brake", "9.60 J (7.08 ft lbf), by 2 of 2 stages") in [
        (row.label, cells.fact(row)) for row in said.first.rows
    ]
    names = [event.name for event in result.events]
    assert names.index("brake 1 tears") < names.index("brake 1 torn") < names.index("cord taut")


def test_doubts_of_a_case_made_in_python_need_no_cord() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        case = reads(BENCH)
    bare = dataclasses.replace(case, cord=None, brakes=(Brake(name="a", stroke=0.1),))
    assert params.parameters(bare).brake_force.size == 0
