"""The report of an ascent: text, page, numbers, table and figure say what was found."""

from __future__ import annotations

import csv
import io
import json
import math
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.observed.flight_profile import profile
from baypulse.show.text import WIDE
from baypulse.studies.ascent import report
from baypulse.studies.ascent import text as words
from baypulse.studies.ascent.compute import AscentResult, ascent
from report_cases import BENCH

WAY_UP = """
[ascent]
burnout_height = "600 m"
burnout_speed = "250 m/s"
drag_area = "30 cm^2"
"""
SEALED = BENCH.replace('diameter = "3.2 mm"', 'diameter = "0 mm"') + WAY_UP
ELECTRONICS = """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "ports"
between = "electronics"
diameter = "1.5 mm"
"""
TEXTS = {
    "vented": BENCH + WAY_UP,
    "drag": BENCH + WAY_UP + 'fore_drag_area = "1 cm^2"\n',
    "pressed": BENCH + WAY_UP + 'fore_drag_area = "29 cm^2"\n',
    "sealed": SEALED + 'fore_drag_area = "6 cm^2"\n',
    "weak": SEALED.replace('"#2-56"', '"#2-56"\nstrength = "5 N"'),
    "lag": BENCH + WAY_UP + ELECTRONICS,
}


@cache
def found(name: str) -> AscentResult:
    case = reads(TEXTS[name], name)
    return ascent(case, profile(case))


def flat(text: str) -> str:
    return " ".join(unescape(text).split())


@pytest.mark.parametrize("name", TEXTS)
def test_every_report_is_whole(name: str, tmp_path: Path) -> None:
    files = report.ASCENT.write(found(name), tmp_path / "report")
    page = files["index.html"].read_text("utf-8")
    assert flat(CAUTION) in flat(page)
    assert flat(words.headline(found(name))) in flat(page)
    numbers = json.loads(files["numbers.json"].read_text("utf-8"))
    assert numbers["worst"]["force_N"] == pytest.approx(found(name).force)
    assert numbers["worst"]["force_lbf"] == pytest.approx(found(name).force / 4.4482216)
    rows = list(csv.DictReader(io.StringIO(files["ascent.csv"].read_text("utf-8"))))
    assert len(rows) == found(name).climb.profile.time.size
    most = max(float(row["pull_N"]) for row in rows)
    assert most == pytest.approx(float(found(name).climb.force.max()), rel=1e-6, abs=1e-9)
    told = words.summary(found(name))
    assert all(len(line) <= WIDE for line in told.splitlines())
    assert flat(CAUTION) in flat(told)


def test_sealed_bay_pulls_with_all_of_the_trapped_air() -> None:
    held = found("sealed")
    area = 0.25 * math.pi * 0.076**2
    assert held.force == pytest.approx(area * float(held.sealed.difference.max()), rel=1e-6)
    assert "all of it trapped air" in flat(words.summary(held))


def test_weak_joint_parts_and_says_what_to_do() -> None:
    held = found("weak")
    assert held.parts == 1.0
    assert "The joint comes apart during the ascent: in 100 %" in words.headline(held)
    assert any("larger vent" in sentence for sentence in words.advice(held))
    assert not words.advice(found("vented"))


def test_drag_that_presses_and_drag_that_pulls_are_told_apart() -> None:
    assert "all of it drag" in flat(words.summary(found("drag")))
    assert found("pressed").climb.profile.pull is not None
    assert float(found("pressed").climb.profile.pull.min()) < 0.0  # type: ignore[union-attr]
    assert "ascent.fore_drag_area is not given" in flat(words.summary(found("vented")))


def test_lag_of_the_altimeter_is_told() -> None:
    assert "The electronics bay lags" in flat(words.summary(found("lag")))
    assert "lags" not in flat(words.summary(found("vented")))


def test_ascents_are_compared() -> None:
    told = words.compare([found("vented"), found("weak")])
    assert "vented: pull" in told
    assert "weak: pull" in told
    assert all(len(line) <= WIDE for line in told.splitlines())
