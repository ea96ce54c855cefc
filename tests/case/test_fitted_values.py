"""Fitted values in the text of a case file: only they change, and what was there stays readable."""

from __future__ import annotations

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.fitted_values import Entry, with_values
from baypulse.errors import ModelError
from report_cases import BENCH

MIXING = Entry(
    "bay.mixing_time", '{ value = "23 ms", distribution = "log-normal", spread = "20 %" }'
)
FRICTION = Entry("joint.pull_off", '{ value = "31 N", spread = "10 %" }')


def test_added_below_its_header_and_replaced_in_its_line() -> None:
    text, case = with_values(BENCH, [MIXING, FRICTION], ["Fitted from x."], "new", "new.toml")
    assert case.bay.mixing_time == pytest.approx(0.023)
    assert case.joint.pull_off == pytest.approx(31.0)
    lines = text.splitlines()
    assert lines[0] == "# Fitted from x."
    header = lines.index("[bay]")
    assert lines[header + 1] == f"mixing_time = {MIXING.value}  # fitted"
    assert (
        f'pull_off = {FRICTION.value}  # fitted; was {{ value = "22 N", spread = "20 %" }}' in text
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
    assert '# fit = "snug"  # gave way to the fitted value' in text


def test_opening_by_its_number() -> None:
    entry = Entry("openings[0].diameter", '{ value = "4.1 mm", spread = "5 %" }')
    _, case = with_values(BENCH, [entry], [], "new", "new.toml")
    assert case.openings[0].diameter == pytest.approx(4.1e-3)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("[bay]\n", 'bay.mixing_time = """30 ms"""\n[bay]\n'),
        ('pull_off = { value = "22 N", spread = "20 %" }', 'pull_off = """22 N"""'),
    ],
)
def test_text_that_cannot_be_changed_safely_is_refused(old: str, new: str) -> None:
    text = BENCH.replace(old, new) if "bay." not in new else (
        'bay = { bore = "76 mm", tube_length = "320 mm", wall = "fibre glass", '
        'wall_thickness = "2.0 mm" }\n'
        + BENCH.replace('[bay]\nbore = "76 mm"\ntube_length = "320 mm"\nwall = "fibre glass"\n'
                        'wall_thickness = "2.0 mm"\n', "")
    )  # fmt: skip
    reads(text, "old", "old.toml")
    with pytest.raises(ModelError) as caught:
        with_values(text, [MIXING, FRICTION], [], "new", "new.toml")
    assert "is not written" in str(caught.value) and "by hand" in str(caught.value)
