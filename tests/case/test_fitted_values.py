"""Fitted values in the text of a case file: only they change, and what was there stays readable."""

from __future__ import annotations

import pytest

from baypulse.case.casefile.fitted_values import Entry, with_values
from baypulse.errors import ModelError
from report_cases import BENCH

MIXING = Entry(
    "bay.mixing_time", '{ value = "23 ms", distribution = "log-normal", spread = "20 %" }'
)
FRICTION = Entry("joint.pull_off", '{ value = "31 N", spread = "10 %" }')


def test_added_to_its_table_and_replaced_in_its_line() -> None:
    text, case = with_values(BENCH, [MIXING, FRICTION], ["Fitted from x."], "new", "new.toml")
    assert case.bay.mixing_time == pytest.approx(0.023)
    assert case.joint.pull_off == pytest.approx(31.0)
    lines = text.splitlines()
    assert lines[0] == "# Fitted from x."
    table = lines[lines.index("[bay]") : lines.index("[contents]")]
    assert f"mixing_time = {MIXING.value} # fitted" in table
    assert (
        f'pull_off = {FRICTION.value} # fitted; was {{ value = "22 N", spread = "20 %" }}' in text
    )
    untouched = set(BENCH.splitlines()) - {'pull_off = { value = "22 N", spread = "20 %" }'}
    assert untouched <= set(lines)


def test_comment_of_the_line_and_its_ends_stay() -> None:
    old = BENCH.replace('"20 %" }', '"20 %" }  # luggage scale').replace("\n", "\r\n")
    text, _ = with_values(old, [FRICTION], [], "new", "new.toml")
    assert "# luggage scale\r\n" in text
    assert "\n" not in text.replace("\r\n", "")


def test_class_of_fit_gives_way_to_a_fitted_friction() -> None:
    old = BENCH.replace('pull_off = { value = "22 N", spread = "20 %" }', 'fit = "snug"')
    text, case = with_values(old, [FRICTION], [], "new", "new.toml")
    assert case.joint.fit is None and case.joint.pull_off == pytest.approx(31.0)
    assert f'pull_off = {FRICTION.value} # fitted; fit gave way: "snug"' in text
    assert "\nfit = " not in text


def test_opening_by_its_number() -> None:
    entry = Entry("openings[0].diameter", '{ value = "4.1 mm", spread = "5 %" }')
    _, case = with_values(BENCH, [entry], [], "new", "new.toml")
    assert case.openings[0].diameter == pytest.approx(4.1e-3)


def test_inline_tables_and_long_strings_are_no_hindrance() -> None:
    bay = ('bore = "76 mm"', 'tube_length = "320 mm"', 'wall = "fibre glass"',
           'wall_thickness = "2.0 mm"')  # fmt: skip
    text = BENCH.replace("[bay]\n" + "\n".join(bay) + "\n", "")
    text = f"bay = {{ {', '.join(bay)} }}\n{text}".replace(
        'pull_off = { value = "22 N", spread = "20 %" }', 'pull_off = """22 N"""'
    )
    _, case = with_values(text, [MIXING, FRICTION], [], "new", "new.toml")
    assert case.bay.mixing_time == pytest.approx(0.023)
    assert case.joint.pull_off == pytest.approx(31.0)


@pytest.mark.parametrize("path", ["cold_gas.pressure", "openings[7].diameter"])
def test_value_without_a_table_is_refused(path: str) -> None:
    with pytest.raises(ModelError, match=r"is not written: it has no table for .*by hand"):
        with_values(BENCH, [Entry(path, '"4 mm"')], [], "new", "new.toml")


def test_values_that_cannot_be_read_are_refused() -> None:
    with pytest.raises(ModelError, match="is not written: with the fitted values it cannot be"):
        with_values(BENCH, [Entry("joint.pull_off", '"31 mm"')], [], "new", "new.toml")
