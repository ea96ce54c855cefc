"""``baypulse altimeter`` as somebody at a terminal meets it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.errors import BaypulseError
from baypulse.studies.altimeter import command as altimeter_command
from baypulse.studies.altimeter import compute as study
from report_cases import BENCH

pytestmark = pytest.mark.usefixtures("unsaved_figures")

LEAK = """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "wires"
between = "bay"
to = "electronics"
diameter = "2 mm"

[[openings]]
name = "ports"
between = "electronics"
to = "outside"
diameter = "3 mm"
count = 2
"""


def work(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    altimeter_command.add(parser.add_subparsers())
    chosen = parser.parse_args(["altimeter", *typed])
    return int(chosen.work(chosen))


@pytest.fixture
def cases(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    for name, value in (("MEMBERS", 32), ("FOLLOWED", 8), ("LEAKS", 6), ("PORT_SIZES", 4)):
        monkeypatch.setattr(study, name, value)
    found = []
    texts = {"one": BENCH + LEAK, "two": BENCH + LEAK.replace("2 mm", "1 mm"), "bare": BENCH}
    for name, text in texts.items():
        found.append(tmp_path / f"{name}.toml")
        found[-1].write_text(text, "utf-8")
    return found


def test_reports_of_several_cases_and_a_comparison(
    cases: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work(*map(str, cases[:2]), "--out", str(tmp_path / "out"), "--reliability", "90 %") == 0
    told = capsys.readouterr().out
    for name in ("one", "two"):
        folder = tmp_path / "out" / f"{name}-altimeter"
        assert f"report: {folder / 'index.html'}" in told
        assert {path.name for path in folder.iterdir()} == {
            "index.html", "figures", "numbers.json", "altimeter.csv",
        }  # fmt: skip
    table = told.rpartition("Altimeters:")[2]
    assert "one" in table
    assert "two" in table


def test_case_without_an_electronics_bay_is_told_and_the_others_are_done(
    cases: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    typed = ("--error", "50 ft", "--reliability", "0.9", "--json", "--out", str(out))
    assert work(str(cases[2]), str(cases[0]), *typed) == 2
    told = capsys.readouterr()
    assert "no electronics bay" in told.err
    assert '[electronics]\nvolume = "600 cm^3"' in told.err
    numbers = json.loads(told.out)
    assert [each["name"] for each in numbers] == ["one"]
    assert numbers[0]["caution"] == CAUTION
    assert numbers[0]["findings"]["wanted_error_m"] == pytest.approx(15.24)
    assert not (out / "bare-altimeter").exists()
    with pytest.raises(BaypulseError, match="no electronics bay"):
        work(str(cases[2]), "--out", str(out))


def test_bounds_are_those_of_the_study() -> None:
    assert (altimeter_command.SMALLEST, altimeter_command.GREATEST) == study.ERRORS
    assert (altimeter_command.LEAST, altimeter_command.MOST) == study.WANTED


@pytest.mark.parametrize(
    ("option", "given", "says"),
    [
        ("--error", "50", "50 ft"),
        ("--error", "5 mm", "no altitude error from 0.1 m to 1000 m"),
        ("--error", "-3 m", "no altitude error"),
        ("--error", "2 km", "no altitude error"),
        ("--error", "30 psi", 'write it "30 m"'),
        ("--reliability", "99.9 %", "no share of the shots from 50 % to 99 %"),
        ("--reliability", "often", 'a share or a chance is written "99 %"'),
    ],
)
def test_impossible_wishes_are_refused_before_anything_is_run(
    option: str, given: str, says: str, cases: list[Path], capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:  # fmt: skip
    with pytest.raises(SystemExit) as ended:
        work(str(cases[0]), f"{option}={given}", "--out", str(tmp_path / "out"))
    assert ended.value.code == 2
    assert says in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
