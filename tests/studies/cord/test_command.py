"""``baypulse cord`` as somebody at a terminal meets it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.errors import BaypulseError
from baypulse.studies.cord import command as cord_command
from baypulse.studies.cord.compute import cord
from quick_bays import QUICK
from report_cases import without

pytestmark = pytest.mark.usefixtures("unsaved_figures")


def work(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    cord_command.add(parser.add_subparsers())
    chosen = parser.parse_args(["cord", *typed])
    return int(chosen.work(chosen))


@pytest.fixture
def cases(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    # no option sets how many shots a cord is looked at in
    monkeypatch.setitem(cord.__kwdefaults__, "members", 64)
    found = []
    for name, text in (
        ("one", QUICK),
        ("two", QUICK.replace('length = "4.5 m"', 'length = "7 m"')),
        ("bare", without(QUICK, "cord")),
    ):
        found.append(tmp_path / f"{name}.toml")
        found[-1].write_text(text, "utf-8")
    return found


def test_reports_of_several_cases_and_a_comparison(
    cases: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work(*map(str, cases[:2]), "--out", str(tmp_path / "out"), "--margin", "3") == 0
    told = capsys.readouterr().out
    for name in ("one", "two"):
        folder = tmp_path / "out" / f"{name}-cord"
        assert f"report: {folder / 'index.html'}" in told
        assert {path.name for path in folder.iterdir()} == {
            "index.html", "figures", "numbers.json", "cord.csv",
        }  # fmt: skip
    table = told.rpartition("Cords: load")[2]
    assert "one" in table
    assert "two" in table


def test_case_without_a_cord_is_told_and_the_others_are_done(
    cases: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert work(str(cases[2]), str(cases[0]), "--out", str(out), "--json") == 2
    told = capsys.readouterr()
    assert "no cord in this case" in told.err
    assert [each["name"] for each in json.loads(told.out)] == ["one"]
    assert json.loads(told.out)[0]["caution"] == CAUTION
    assert not (out / "bare-cord").exists()
    with pytest.raises(BaypulseError, match="no cord in this case"):
        work(str(cases[2]), "--out", str(out))


@pytest.mark.parametrize("margin", ["0.5", "21", "nan", "-1"])
def test_impossible_margin_is_refused_before_anything_is_run(
    margin: str, cases: list[Path], tmp_path: Path
) -> None:
    with pytest.raises(BaypulseError, match=r"a margin of \S+ is asked for; give one from 1 "):
        work(str(cases[0]), f"--margin={margin}", "--out", str(tmp_path / "out"))
    assert not (tmp_path / "out").exists()
