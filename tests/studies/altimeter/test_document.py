"""What the study of an altimeter says: sentences, numbers, curves."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import numpy as np
import pytest

from baypulse.case.quantities import US, written_in
from baypulse.show import as_csv, as_json
from baypulse.studies.altimeter import words
from baypulse.studies.altimeter.document import compare, document
from studies.altimeter.documents import found, whole, without_a_way


def test_headline_says_how_far_too_low_and_for_how_long() -> None:
    each = found()
    feet = each.nominal.low / 0.3048
    assert "too low, and is wrong by more than 30.0 m (98.4 ft) for" in words.headline(each)
    assert f"({float(f'{feet:.4g}'):g} ft)" in words.headline(each)
    assert "Pressure up is altitude down" in " ".join(words.meaning(each))
    with written_in(US):
        assert "too low, and is wrong by more than 98.4 ft (30.0 m) for" in words.headline(each)


def test_tight_bulkhead_needs_nothing() -> None:
    each = found("0.2 mm")
    text = " ".join([words.headline(each), *words.meaning(each), *words.next_steps(each)])
    assert "less than the 30.0 m (98.4 ft) that are allowed" in text
    assert "small enough" in text
    assert "Nothing has to be done" in text
    assert "Seal" not in text


def test_leak_is_told_with_the_size_to_seal_to_and_the_ports() -> None:
    each = found()
    assert each.leak.largest is not None
    text = " ".join([*words.meaning(each), *words.next_steps(each)])
    assert f"no wider than {1e3 * each.leak.largest:.3f} mm" in text
    times = (each.leak.present / each.leak.largest) ** 2
    assert f"{float(f'{times:.3g}'):g} times the area" in text
    assert "four times the area of static ports" in text


def test_bay_without_ports_is_told_so() -> None:
    each = found("4 mm", False)
    assert any("no opening to the outside" in text for text in each.warnings)
    assert "Give the electronics bay static ports" in " ".join(words.next_steps(each))


def test_bay_that_stays_shut_is_told_so() -> None:
    each = found("3 mm", True, "0.02 g")
    assert any("does not separate fully" in text for text in each.warnings)


def test_leak_sentences_at_the_ends_of_the_search() -> None:
    each = found()
    none = replace(each, leak=replace(each.leak, largest=None, chance=None))
    assert "even the smallest hole tried is too large" in words.largest(none)
    assert "until what is left" not in " ".join(words.next_steps(none))
    top = replace(each, leak=replace(each.leak, largest=25e-3, at_ceiling=True))
    assert "the largest tried" in words.largest(top)
    open_end = replace(each, leak=replace(each.leak, low=math.nan))
    assert "interval" not in words.largest(open_end)


def test_heat_soot_suction_and_samples_are_told() -> None:
    text = " ".join(words.seen(found()))
    for word in ("20 samples a second", "soot", "corrode", "°C", "too high"):
        assert word in text
    # a cold gas leaves no soot
    cold = replace(found(), case=replace(found().case, powder=None))
    assert "soot" not in " ".join(words.seen(cold))


def test_numbers_and_curves_are_the_findings() -> None:
    each = found()
    told = document(whole(each))
    numbers = as_json.numbers(told)["findings"]
    assert numbers["nominal"]["too_low_by_m"] == pytest.approx(each.nominal.low, rel=1e-8)
    assert numbers["nominal"]["too_low_by_ft"] == pytest.approx(each.nominal.low / 0.3048, rel=1e-8)
    assert numbers["leak"]["largest_m"] == pytest.approx(each.leak.largest, rel=1e-8)
    rows = list(csv.DictReader(io.StringIO(as_csv.text(told.curves["altimeter.csv"]))))
    assert len(rows) == each.pulse.times.size
    errors = np.array([float(row["altitude_error_m"]) for row in rows])
    assert errors.min() == pytest.approx(-each.nominal.low, rel=1e-8)
    assert float(rows[3]["altitude_error_ft"]) == pytest.approx(errors[3] / 0.3048, rel=1e-6)


def test_cases_are_compared_by_their_leaks() -> None:
    each = [whole(found()), whole(found("0.2 mm")), without_a_way()]
    assert [row[5] for row in compare(each).rows] == pytest.approx([4e-3, 0.2e-3, None])


def test_ports_come_first_and_stand_alone_where_the_charge_has_no_way() -> None:
    told = document(whole(found()))
    # by hand: 500 cm^3, two of 3 mm, 288 K: (9.81/2) (0.0005 200 / (287 288 0.65 14.1e-6))^2 m
    assert told.headline.startswith("The static ports are right: 0.084")
    assert "The altimeter shows up to" in told.headline
    assert told.sections[0].title == "The static ports"
    alone = document(without_a_way())
    assert alone.headline.startswith("The static ports are too small: more than 300 m")
    assert "(Mach 1)" in alone.headline
    assert "no pulse of the charge reaches" in " ".join(alone.sentences)
    assert "Drill 3 of" in " ".join(alone.next_steps)
    assert as_json.numbers(alone)["findings"]["static_ports"]["verdict"] == "too small"
    missing = document(whole(found("4 mm", False)))
    assert missing.headline.startswith("There are no static ports.")
