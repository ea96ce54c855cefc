"""``baypulse aloft`` as somebody at a terminal meets it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.errors import BaypulseError
from baypulse.studies.aloft import command as aloft_command
from report_cases import TEXTS

pytestmark = pytest.mark.usefixtures("unsaved_figures")


def work(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    aloft_command.add(parser.add_subparsers())
    chosen = parser.parse_args(["aloft", *typed])
    return int(chosen.work(chosen))


@pytest.fixture(autouse=True)
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Allow fewer members than users may ask for: here nobody looks at the chances."""
    monkeypatch.setattr("baypulse.studies.aloft.compute.LEAST_MEMBERS", 32)


@pytest.fixture
def cases(tmp_path: Path) -> list[Path]:
    found = []
    for name, text in (
        ("one", TEXTS["cold gas"]),
        ("two", TEXTS["cold gas"].replace("5 mm", "6 mm")),
    ):
        found.append(tmp_path / f"{name}.toml")
        found[-1].write_text(text, "utf-8")
    high = tmp_path / "high.toml"
    high.write_text(TEXTS["cold gas"] + '\n[surroundings]\naltitude = "4 km"\n', "utf-8")
    return [*found, high]


def test_reports_of_several_cases_and_a_comparison(
    cases: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    asked = (
        "--altitude",
        "10000 ft, 6 km",
        "--altitude",
        "9km",
        "--simulated-shots",
        "32",
        "--reliability",
        "90 %",
    )
    assert work(*map(str, cases[:2]), *asked, "--out", str(out)) == 0
    told = capsys.readouterr().out
    for name in ("one", "two"):
        folder = out / f"{name}-aloft"
        assert f"report: {folder / 'index.html'}" in told
        assert {path.name for path in folder.iterdir()} == {
            "index.html", "figures", "numbers.json", "aloft.csv",
        }  # fmt: skip
    numbers = json.loads((out / "one-aloft" / "numbers.json").read_text("utf-8"))
    heights = [level["altitude_m"] for level in numbers["tables"]["levels"]]
    assert heights == pytest.approx([0.0, 3048.0, 6000.0, 9000.0])
    table = told.rpartition("Aloft: chance of separation")[2]
    assert "one" in table
    assert "two" in table
    assert told.count("Energetic charges burn") == 1


def test_case_above_the_altitude_is_told_and_the_others_are_done(
    cases: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    asked = (
        "--altitude",
        "3 km",
        "--simulated-shots",
        "32",
        "--reliability",
        "90 %",
        "--out",
        str(out),
        "--json",
    )
    assert work(str(cases[2]), str(cases[0]), *asked) == 2
    told = capsys.readouterr()
    assert "higher than the ground test's 4000 m (13120 ft)" in told.err
    found = json.loads(told.out)
    assert [each["name"] for each in found] == ["one"]
    assert found[0]["caution"] == CAUTION
    assert not (out / "high-aloft").exists()
    with pytest.raises(BaypulseError, match="cannot be asked for"):
        work(str(cases[2]), *asked)


@pytest.mark.parametrize(
    ("altitude", "sentence"),
    [("9", "has no unit"), ("9 kg", "is a mass"), ("3 km,", "text is empty"),
     ("9 kn", "unknown unit"), ("high", '"high"'), ("3, 6 km", "has no unit")],
)  # fmt: skip
def test_impossible_altitude_is_refused_before_anything_is_run(
    altitude: str, sentence: str, cases: list[Path], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    with pytest.raises(SystemExit) as ended:
        work(str(cases[0]), "--altitude", altitude, "--out", str(tmp_path / "out"))
    assert ended.value.code == 2
    told = capsys.readouterr().err
    assert sentence in told
    assert 'an altitude is written "9 km" or "30000 ft"' in told
    assert not (tmp_path / "out").exists()


def test_altitude_must_be_given(cases: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        work(str(cases[0]))
    assert ended.value.code == 2
    assert "--altitude" in capsys.readouterr().err
