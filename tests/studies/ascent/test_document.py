"""What the document of an ascent says of what was found."""

from __future__ import annotations

import csv
import io
import math

import pytest

from ascent_findings import TEXTS, found
from baypulse.show import as_csv, as_json, in_terminal
from baypulse.studies.ascent import words
from baypulse.studies.ascent.document import compare, document


def told(name: str) -> str:
    return " ".join(in_terminal.told(document(found(name)), full=True).split())


@pytest.mark.parametrize("name", TEXTS)
def test_numbers_and_curves_hold_the_greatest_pull(name: str) -> None:
    said = document(found(name))
    facts = as_json.numbers(said)["tables"]["ascent"]
    assert facts["force_N"] == pytest.approx(found(name).force)
    assert facts["force_lbf"] == pytest.approx(found(name).force / 4.4482216)
    rows = list(csv.DictReader(io.StringIO(as_csv.text(said.curves["ascent.csv"]))))
    assert len(rows) == found(name).climb.profile.time.size
    most = max(float(row["pull_N"]) for row in rows)
    assert most == pytest.approx(float(found(name).climb.force.max()), rel=1e-6, abs=1e-9)


def test_sealed_bay_pulls_with_all_of_the_trapped_air() -> None:
    held = found("sealed")
    area = 0.25 * math.pi * 0.076**2
    assert held.force == pytest.approx(area * float(held.sealed.difference.max()), rel=1e-6)
    assert "all of it trapped air" in told("sealed")


def test_weak_joint_parts_and_says_what_to_do() -> None:
    held = found("weak")
    assert held.parts == 1.0
    assert "The joint comes apart during the ascent: in 100 %" in words.headline(held)
    (step,) = document(held).next_steps
    assert "a larger vent" in step and "baypulse vents weak.toml" in step
    assert not document(found("vented")).next_steps


def test_drag_that_presses_and_drag_that_pulls_are_told_apart() -> None:
    assert "all of it drag" in told("drag")
    assert found("pressed").climb.profile.pull is not None
    assert float(found("pressed").climb.profile.pull.min()) < 0.0  # type: ignore[union-attr]
    assert "ascent.fore_drag_area is not given" in told("vented")


def test_lag_of_the_altimeter_is_told() -> None:
    assert "The electronics bay lags" in told("lag")
    assert "lags" not in told("vented")


def test_ascents_are_compared() -> None:
    table = compare([found("vented"), found("weak")])
    assert [row[0] for row in table.rows] == ["vented", "weak"]
    assert table.rows[1][4].text == "100 %"
    assert "Ascents compared" in in_terminal.comparison(table)
