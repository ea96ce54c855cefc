"""``baypulse leakdown`` as somebody at a terminal meets it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.caution import CAUTION
from baypulse.commands.case_files import Told
from baypulse.errors import BaypulseError
from baypulse.run.pumped_bay import fall, vessel_of
from baypulse.studies.leakdown import command as leakdown_command
from baypulse.terminal import Refused
from report_cases import BENCH

pytestmark = pytest.mark.usefixtures("unsaved_figures")

TIMED = ["--from", "3 psig", "--to", "1.5 psig", "--time", "2.4 s"]
PSI = 6894.757293168
"""By definition: 1 lbf is 4.4482216152605 N and 1 in is 0.0254 m."""


def work(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    leakdown_command.add(parser.add_subparsers())
    chosen = parser.parse_args(["leakdown", *typed])
    return int(chosen.work(chosen))


@pytest.fixture
def case(tmp_path: Path) -> Path:
    file = tmp_path / "one.toml"
    text = BENCH.replace('"22 N", spread = "20 %" }\n', '"22 N", spread = "20 %" }\n'
                         'clearance = "0.04 mm"  # by feeler gauge\n')  # fmt: skip
    assert "feeler" in text
    file.write_text(text, "utf-8")
    return file


def record(file: Path, area: float, zero: float = 0.0, sign: float = 1.0) -> Path:
    """Write a record of a bay that leaks through so large an area."""
    bay = vessel_of(baypulse.load(file.parent / "one.toml"))
    time = np.arange(0.0, 12.0, 0.1)
    seen = fall(bay, area, 3.0 * PSI, time) + zero
    seen = (seen + 40.0 * np.random.default_rng(1).normal(size=time.size))[:: int(sign)]
    rows = [f"{t:.1f},{p / PSI:.4f}" for t, p in zip(time, seen, strict=True)]
    file.write_text("time [s],pressure [psig]\n" + "\n".join(rows) + "\n", "utf-8")
    return file


def test_report_and_a_new_case_that_loads(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new, out = tmp_path / "new.toml", tmp_path / "out"
    assert work(str(case), *TIMED, "--out", str(out), "--write", str(new)) == 0
    told = capsys.readouterr().out
    assert {path.name for path in (out / "one-leakdown").iterdir()} == {
        "index.html", "figures", "numbers.json",
    }  # fmt: skip
    assert f"new case: {new}" in told
    assert not list(tmp_path.glob(".*"))
    numbers = json.loads((out / "one-leakdown" / "numbers.json").read_text("utf-8"))
    read = baypulse.load(new)
    leak = read.openings[-1]
    assert leak.name == "leak (measured)"
    assert leak.diameter == pytest.approx(numbers["findings"]["hole_diameter_m"], rel=1e-3)
    # area of a circle, times the discharge
    area = leak.discharge * np.pi / 4.0 * leak.diameter**2
    assert area == pytest.approx(numbers["findings"]["effective_area_m2"], rel=1e-3)
    # the gap is in the leak and must not count twice
    assert read.joint.clearance == 0.0
    assert baypulse.load(case).joint.clearance == pytest.approx(4e-5)
    # nothing else has changed
    assert read.openings[:-1] == baypulse.load(case).openings
    old, fresh = case.read_text("utf-8").splitlines(), new.read_text("utf-8").splitlines()
    gone = [line for line in old if line not in fresh]
    assert gone == ['clearance = "0.04 mm"  # by feeler gauge']
    was = '# It holds the joint\'s clearance, which was "0.04 mm" # by feeler gauge'
    assert was in fresh
    with pytest.raises(BaypulseError, match=r"is a \"leak \(measured\)\" already"):
        work(str(new), *TIMED, "--out", str(out))


def test_json_of_a_record_has_the_caution_and_the_area(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = record(tmp_path / "gauge.csv", 3e-7, zero=150.0)
    out, new = tmp_path / "out", tmp_path / "new.toml"
    assert work(str(case), "--gauge", str(file), "--out", str(out), "--json",
                "--write", str(new)) == 0  # fmt: skip
    numbers = json.loads(capsys.readouterr().out)
    assert numbers["caution"] == CAUTION
    assert numbers["tables"]["measured"]["file"] == "gauge.csv"
    assert numbers["findings"]["effective_area_low_m2"] < 3e-7
    assert numbers["findings"]["effective_area_high_m2"] > 3e-7
    assert numbers["tables"]["measured"]["zero_Pa"] == pytest.approx(150.0, abs=60.0)
    assert "gauge.csv" in new.read_text("utf-8")


def test_bay_of_a_flight_is_tested_on_a_bench(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    high = tmp_path / "high.toml"
    flight = '\n[setting]\nkind = "flight"\n\n[surroundings]\naltitude = "9 km"\n'
    high.write_text(case.read_text("utf-8") + flight, "utf-8")
    found = []
    for file, place in ((case, ["--altitude", "0 m"]), (high, []), (high, ["--altitude", "0 m"])):
        assert work(str(file), *TIMED, *place, "--out", str(tmp_path / "out"), "--json") == 0
        found.append(json.loads(capsys.readouterr().out))
    # 101 325 Pa at sea level: ISO 2533
    assert [each["tables"]["measured"]["bench_pressure_Pa"] for each in found] == pytest.approx(
        [101_325.0] * 3
    )
    areas = [each["findings"]["effective_area_m2"] for each in found]
    assert areas == pytest.approx([areas[0]] * 3, rel=1e-9)
    said = [any("at sea level" in each for each in numbers["warnings"]) for numbers in found]
    assert said == [False, True, False]


def test_several_cases_are_compared(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "two.toml"
    other.write_text(case.read_text("utf-8").replace('"420 cm^3"', '"600 cm^3"'), "utf-8")
    assert work(str(case), str(other), *TIMED, "--out", str(tmp_path / "out")) == 0
    table = capsys.readouterr().out.rpartition("Leaks, from the same test")[2]
    assert "one" in table
    assert "two" in table


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["--from", "1 psig", "--to", "2 psig", "--time", "2 s"], "the end must lie below"),
        (["--from", "17 psia", "--to", "15 psia", "--time", "2 s"], "absolute pressure"),
        (["--from", "3 psi", "--to", "2 psig", "--time", "2 s"], "gauge or absolute"),
        (["--from", "3 psig", "--to", "0 psig", "--time", "2 s"], "above 0"),
        (["--from", "3 psig", "--to", "1 psig", "--time", "0 s"], "--time: a fall within"),
        (["--from", "3 psig", "--to", "1 psig", "--time=-2 s"], "--time: a fall within"),
        (["--from", "3 psig", "--to", "1 psig", "--time", "2 psi"], "--time:"),
        (["--from", "300 psig", "--to", "1 psig", "--time", "2 s"], "allowed is"),
        (["--from", "3 psig", "--to", "1 psig", "--time", "0.2 s"], "too short for a time"),
        (["--from", "3 psig", "--time", "2 s"], "--to missing"),
        ([], "--from and --to and --time missing"),
        ([*TIMED, "--time-error=-1 s"], "cannot be negative"),
        ([*TIMED, "--gauge-error", "5 s"], "--gauge-error:"),
        ([*TIMED, "--gauge", "gauge.csv"], "not both"),
        ([*TIMED, "--time-column", "t"], "--time-column names a column of a record"),
        ([*TIMED, "--write", "new.txt"], "let it end in .toml"),
        ([*TIMED, "--write", "nowhere/new.toml"], "there is no folder"),
        (["--from", "40 psig", "--to", "1 psig", "--time", "20 ms", "--time-error", "1 ms"],
         "the whole bore"),
        ([*TIMED, "--altitude", "9 km"], "--altitude: a bench at 9000 m"),
        ([*TIMED, "--altitude", "3"], "--altitude:"),
        (["--gauge", "none.csv"], "no such file"),
    ],
)  # fmt: skip
def test_impossible_tests_are_refused_with_a_sentence_and_nothing_is_written(
    typed: list[str], said: str, case: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    if said == "the whole bore":
        large = case.read_text("utf-8").replace("[bay]\n", '[bay]\nextra_volume = "80 L"\n')
        case.write_text(large, "utf-8")
    with pytest.raises((Refused, BaypulseError), match=said):
        work(str(case), *typed, "--out", str(tmp_path / "out"))
    assert not (tmp_path / "out").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["one.toml"]


def test_case_without_any_volume_is_told_with_its_line(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case.write_text(case.read_text("utf-8").replace('"420 cm^3"', '"1.2 L"'), "utf-8")
    with pytest.raises(Told):
        work(str(case), *TIMED, "--out", str(tmp_path / "out"))
    assert "one.toml:17: contents.volume: the contents fill" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_record_that_rises_is_refused(case: Path, tmp_path: Path) -> None:
    file = record(tmp_path / "up.csv", 3e-7, sign=-1.0)
    with pytest.raises(BaypulseError, match=r"up\.csv: the pressure rises"):
        work(str(case), "--gauge", str(file), "--out", str(tmp_path / "out"))
    assert not (tmp_path / "out").exists()


def test_new_case_never_replaces_a_file(case: Path, tmp_path: Path) -> None:
    for place in (case, tmp_path / "notes.toml"):
        if not place.exists():
            place.write_text("mine", "utf-8")
        before = place.read_text("utf-8")
        with pytest.raises(Refused, match="is there already"):
            work(str(case), *TIMED, "--out", str(tmp_path / "out"), "--write", str(place))
        assert place.read_text("utf-8") == before
    with pytest.raises(Refused, match="of one case"):
        work(str(case), str(case), *TIMED, "--write", str(tmp_path / "new.toml"))
