"""The short case to begin with: what it holds, what is typical, and what it leaves out."""

from __future__ import annotations

import math
import re
import warnings

import pytest

from baypulse.case import geometry
from baypulse.case.casefile import reads
from baypulse.case.first_values import FIRST_VALUES
from baypulse.case.new_case import TYPICAL, NewCase

BY_OPTION = {each.option: each for each in FIRST_VALUES}
MEASURED = {
    "--bore": "3 in", "--tube-length": "12\"", "--shoulder-length": "3 in",
    "--packed-length": "4 1/2 in", "--packed-mass": "340 g", "--pull-off": "5.5 lb",
    "--extraction-force": "3 lb", "--nose-mass": "1 lb 6 oz", "--airframe-mass": "4.6 lbs",
    "--pins": "3", "--thread": "#4-40", "--wall": "card", "--charge": "1.2 grams",
}  # fmt: skip


def given(**changes: str) -> NewCase:
    new = NewCase()
    for option, text in changes.items():
        assert new.take(BY_OPTION[option], text) == "", option
    return new


def quiet(text: str):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return reads(text, "new")


def test_what_was_measured_stands_there_as_it_was_typed() -> None:
    text = given(**MEASURED).text()
    case = quiet(text)
    # NIST SP 811, appendix B: 1 in = 0.0254 m, 1 lb = 0.45359237 kg, 1 lbf = 4.448222 N
    assert case.bay.tube_length == pytest.approx(12 * 0.0254)
    assert case.contents.packed_length == pytest.approx(4.5 * 0.0254)
    assert case.nose.mass == pytest.approx(1.375 * 0.45359237)
    assert case.joint.pull_off == pytest.approx(5.5 * 4.448222, rel=1e-6)
    assert case.contents.extraction_force == pytest.approx(3 * 4.448222, rel=1e-6)
    assert (case.pins.count, case.pins.thread, case.bay.wall) == (3, "#4-40", "card")
    assert 'bore = "3 in"' in text and "fit =" not in text and "tightness" not in text
    # of all that is measured nothing scatters but the wall, which nobody is asked for
    typed = {each.path for each in FIRST_VALUES}
    assert typed & set(case.spreads) == set()


def test_a_new_case_is_short_and_has_only_active_keys() -> None:
    text = NewCase().text()
    case = quiet(text)
    keys = re.findall(r"^[a-z_]+ = ", text, re.MULTILINE)
    assert len(text.splitlines()) <= 52 and len(keys) <= 22
    assert "baypulse keys" in re.sub(r"\n# ", " ", text)
    assert case.limits.bay_pressure is not None and case.cord is not None


def test_what_was_not_measured_scatters_with_a_remark_or_is_left_out() -> None:
    case = quiet(given(**{"--bore": "98 mm", "--tube-length": "400 mm"}).text())
    for path in ("joint.shoulder_length", "contents.packed_length", "contents.mass", "nose.mass",
                 "airframe.mass"):  # fmt: skip
        assert case.provenance[path].source == TYPICAL and path in case.spreads
    assert case.joint.pull_off is None and case.joint.fit == "snug"
    assert case.contents.extraction_force is None
    assert geometry.tightness(case) == geometry.USUAL_TIGHTNESS


@pytest.mark.parametrize(
    ("option", "text", "held"),
    [("--pull-off", "firm", "fit"), ("--extraction-force", "tight", "tightness")],
)
def test_a_word_of_the_library_stands_for_a_force(option: str, text: str, held: str) -> None:
    case = quiet(given(**{option: text}).text())
    table = case.joint if held == "fit" else case.contents
    assert getattr(table, held) == text


def test_without_pins_there_is_no_table_of_pins() -> None:
    new = given(**{"--pins": "0"})
    assert "--thread" not in [each.option for each in new.open()]
    assert quiet(new.text()).pins is None


def test_cold_gas_takes_the_place_of_the_powder() -> None:
    case = quiet(NewCase(cold_gas=True).text())
    assert case.powder is None and case.cold_gas is not None


def test_typical_values_follow_the_size() -> None:
    new = given(**{"--bore": "100 mm", "--tube-length": "500 mm", "--shoulder-length": "100 mm",
                   "--packed-length": "200 mm"})  # fmt: skip
    # shear of a tight pack, 1550 Pa, on pi x 100 mm x 200 mm: 97.4 N; of a firm fit, 1600 Pa, on
    # pi x 100 mm x 100 mm: 50.3 N
    assert new.typical_forces(BY_OPTION["--extraction-force"])["tight"] == "97 N"
    assert new.typical_forces(BY_OPTION["--pull-off"])["firm"] == "50 N"
    # 350 kg/m3 x pi/4 x (100 mm)^2 x 200 mm
    assert new.typical(BY_OPTION["--packed-mass"]).text == "550 g"
    # the rule in its usual form: grams = 0.006 x D[in]^2 x L[in] at 15 psi; common practice
    grams = 0.006 * (100 / 25.4) ** 2 * 400 / 25.4
    charge = float(new.typical(BY_OPTION["--charge"]).text.removesuffix(" g"))
    assert math.isclose(charge, grams, rel_tol=0.06)


@pytest.mark.parametrize(("system", "unit"), [("us", "in"), ("si", "mm")])
def test_typical_values_come_in_the_units_asked_for(system: str, unit: str) -> None:
    new = NewCase(system)
    assert new.take(BY_OPTION["--bore"], "80 mm") == ""
    assert new.typical(BY_OPTION["--tube-length"]).text.endswith(f" {unit}")


@pytest.mark.parametrize(
    ("option", "text", "said"),
    [
        ("--bore", "3 mn", 'unknown unit "mn"; did you mean "mm"?'),
        ("--bore", "3 m", 'given "3 m", allowed 10 mm to 1000 mm'),
        ("--pins", "99", "given 99, allowed 1 to 24"),
        ("--pins", "some", 'given "some"; a whole number is wanted, without quotes, such as 3'),
        ("--thread", "#2-65", '"#2-65" is not known; did you mean "#2-56"?'),
        ("--pull-off", "snugg", "or one of these words: loose, snug, firm, tight"),
    ],
)
def test_what_cannot_be_read_is_said_and_stays_open(option: str, text: str, said: str) -> None:
    new = NewCase()
    assert said in new.take(BY_OPTION[option], text)
    assert BY_OPTION[option] in new.open()
