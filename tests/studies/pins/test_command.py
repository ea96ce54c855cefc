"""``pins`` as somebody at a terminal meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from quick_bays import QUICK

pytestmark = pytest.mark.usefixtures("unsaved_figures")

CASES = Path(__file__).parents[3] / "cases"
SMALL = ["--counts", "2,3", "--threads", "#2-56", "--simulated-shots", "16"]


@pytest.fixture
def bench(tmp_path: Path) -> str:
    place = tmp_path / "bench.toml"
    place.write_text(QUICK, "utf-8")
    return str(place)


def test_pins_writes_a_report(
    bench: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("baypulse.studies.pins.compute.BURNING_MEMBERS", 32)
    assert main(["pins", bench, "--out", str(tmp_path), *SMALL]) == 0
    told = capsys.readouterr().out
    assert " ".join(CAUTION.split()) in " ".join(told.split())
    folder = tmp_path / "bench-pins"
    assert f"report: {folder / 'index.html'}" in told
    assert {p.name for p in folder.iterdir()} == {
        "index.html", "figures", "numbers.json", "pins.csv"
    }  # fmt: skip


def test_json_is_json_and_nothing_else(tmp_path: Path, capsys) -> None:
    gas = str(CASES / "cold-gas-98.toml")
    options = [
        "--counts",
        "1..2",
        "--charges",
        "200 psig..300 psig",
        "--simulated-shots",
        "8",
        "--json",
    ]
    assert main(["pins", gas, "--out", str(tmp_path), *options]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert numbers["findings"]["counts"] == [1, 2]
    assert numbers["tables"]["cells"][0]["fill_pressure_psi"] == pytest.approx(200.0)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--threads", "#2-57"], 'did you mean "#2-56"?'),
        (["--counts", "25"], "numbers from 0 to 24"),
        (["--counts", "5..2"], "5 is above 2"),
        (["--counts", "two"], 'write "0..6" or "2,3,4"'),
        (["--charges", "2 g..1 g"], '"2 g" is not above nothing and below "1 g"'),
        (["--charges", "1..2"], '"1" has no unit'),
        (["--charges", "1 g"], "this is no range"),
        (["--charges", "1 gr..2 gr"], "gr"),
        (["--simulated-shots", "0"], "whole number from 1"),
    ],
)
def test_bad_options_get_a_sentence_and_write_nothing(
    options: list[str], words: str, bench: str, tmp_path: Path, capsys
) -> None:
    assert main(["pins", bench, "--out", str(tmp_path / "out"), *options]) == 2
    told = capsys.readouterr()
    assert words in " ".join(told.err.split())
    assert "Traceback" not in told.err
    assert told.out == ""
    assert not (tmp_path / "out").exists()
