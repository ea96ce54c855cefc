"""The report of an altimeter: sentences, page, figures, files."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.show.data import to_json
from baypulse.studies.altimeter import compute as study
from baypulse.studies.altimeter import text as words
from baypulse.studies.altimeter.report import (
    ALTIMETER,
    altimeter_csv,
    altimeter_numbers,
    compare,
    summary,
)
from baypulse.studies.altimeter.result import Altimeters
from report_cases import BENCH

ELECTRONICS = """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "wires"
between = "bay"
to = "electronics"
diameter = "{leak}"
"""
PORTS = """
[[openings]]
name = "ports"
between = "electronics"
to = "outside"
diameter = "3 mm"
count = 2
"""


@cache
def found(leak: str = "4 mm", ports: bool = True, mass: str = "1.00 g") -> Altimeters:
    text = BENCH.replace("1.00 g", mass) + ELECTRONICS.format(leak=leak) + PORTS * ports
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (("MEMBERS", 32), ("FOLLOWED", 8), ("LEAKS", 6), ("PORT_SIZES", 4)):
            patch.setattr(study, name, value)
        return study.altimeter(reads(text, "leaky"), wanted=0.9)


VARIANTS = [(), ("0.2 mm",), ("4 mm", False), ("3 mm", True, "0.02 g")]


@pytest.mark.parametrize("variant", VARIANTS, ids=["leaks", "tight", "no ports", "shut"])
def test_report_of_every_kind_is_written_whole(variant: tuple, tmp_path: Path) -> None:
    each = found(*variant)
    files = ALTIMETER.write(each, tmp_path / "out")
    page = files["index.html"].read_text("utf-8")
    assert "<svg" in page
    assert page.count(CAUTION[:60]) == 2
    assert not re.search(r"\bnan\b", page)
    for name in ("pulse", "filter", "leak"):
        assert f'<figure id="{name}">' in page
        assert files[f"figures/{name}.png"].stat().st_size > 5000
    told = summary(each)
    assert "Energetic charges" in told
    assert max(map(len, told.splitlines())) <= 88
    assert not re.search(r"\bnan\b", told)
    json.loads(to_json(altimeter_numbers(each)))


def test_headline_says_how_far_too_low_and_for_how_long() -> None:
    each = found()
    feet = each.nominal.low / 0.3048
    headline = words.headline(each)
    assert "too low, and is wrong by more than 30.0 m (98.4 ft) for" in headline
    assert f"({float(f'{feet:.4g}'):g} ft)" in headline
    assert "Pressure up is altitude down" in " ".join(words.answer(each))


def test_tight_bulkhead_needs_nothing() -> None:
    text = " ".join([words.headline(found("0.2 mm")), *words.answer(found("0.2 mm"))])
    assert "less than the 30.0 m (98.4 ft) that are allowed" in text
    assert "small enough" in text
    assert "Nothing has to be done" in text
    assert "Seal" not in text


def test_leak_is_told_with_the_size_to_seal_to_and_the_ports() -> None:
    each = found()
    assert each.leak.largest is not None
    text = " ".join(words.answer(each))
    assert f"no wider than {1e3 * each.leak.largest:.3f} mm" in text
    times = (each.leak.present / each.leak.largest) ** 2
    assert f"{float(f'{times:.3g}'):g} times the area" in text
    assert "four times the area of static ports" in text
    assert "baffle" in text


def test_bay_without_ports_is_told_so() -> None:
    each = found("4 mm", False)
    assert any("no opening to the outside" in text for text in each.warnings)
    assert "Give the electronics bay static ports" in " ".join(words.answer(each))


def test_bay_that_stays_shut_is_told_so() -> None:
    each = found("3 mm", True, "0.02 g")
    assert any("does not separate fully" in text for text in each.warnings)


def test_leak_sentences_at_the_ends_of_the_search() -> None:
    each = found()
    none = replace(each, leak=replace(each.leak, largest=None, chance=None))
    assert "even the smallest hole tried is too large" in words.largest(none)
    assert "until what is left" not in " ".join(words.answer(none))
    top = replace(each, leak=replace(each.leak, largest=25e-3, at_ceiling=True))
    assert "the largest tried" in words.largest(top)
    open_end = replace(each, leak=replace(each.leak, low=math.nan))
    assert "interval" not in words.largest(open_end)


def test_heat_soot_suction_and_samples_are_told() -> None:
    text = " ".join(words.seen(found()))
    for word in ("20 samples a second", "soot", "corrode", "degC", "too high"):
        assert word in text
    # a cold gas leaves no soot
    cold = replace(found(), case=replace(found().case, powder=None))
    assert "soot" not in " ".join(words.seen(cold))


def test_numbers_and_table_are_the_findings() -> None:
    each = found()
    numbers = altimeter_numbers(each)
    assert numbers["caution"] == CAUTION
    assert numbers["nominal"]["too_low_by_m"] == pytest.approx(each.nominal.low, rel=1e-8)
    assert numbers["nominal"]["too_low_by_ft"] == pytest.approx(each.nominal.low / 0.3048, rel=1e-8)
    assert numbers["leak"]["largest_m"] == pytest.approx(each.leak.largest, rel=1e-8)
    rows = list(csv.DictReader(io.StringIO(altimeter_csv(each))))
    assert len(rows) == each.pulse.times.size
    errors = np.array([float(row["altitude_error_m"]) for row in rows])
    assert errors.min() == pytest.approx(-each.nominal.low, rel=1e-8)
    assert float(rows[3]["altitude_error_ft"]) == pytest.approx(errors[3] / 0.3048, rel=1e-6)


def test_cases_are_compared() -> None:
    table = compare([found(), found("0.2 mm")])
    assert table.count("leaky") == 2
    assert max(map(len, table.splitlines())) <= 88
