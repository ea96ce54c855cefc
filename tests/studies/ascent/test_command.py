"""``baypulse ascent`` as somebody at a terminal meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from report_cases import BENCH

pytestmark = pytest.mark.usefixtures("unsaved_figures")

WAY_UP = """
[ascent]
burnout_height = "600 m"
burnout_speed = "250 m/s"
drag_area = "30 cm^2"
"""


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "one.toml"
    path.write_text(BENCH + WAY_UP, "utf-8")
    return path


@pytest.fixture
def log(tmp_path: Path) -> Path:
    # 60 s of coast to 1500 m and down again, at 10 Hz, in feet
    rows = [f"{k / 10.0:.1f},{(1500.0 - (k / 10.0 - 17.5) ** 2 * 4.9) / 0.3048:.1f}"
            for k in range(351)]  # fmt: skip
    path = tmp_path / "flight.csv"
    path.write_text("time (s),altitude (ft)\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def test_reports_of_several_cases_and_a_comparison(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "two.toml"
    other.write_text(case.read_text("utf-8").replace('"600 m"', '"300 m"'), "utf-8")
    assert main(["ascent", str(case), str(other), "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr().out
    for name in ("one", "two"):
        folder = tmp_path / "out" / f"{name}-ascent"
        assert f"report: {folder / 'index.html'}" in told
        assert {path.name for path in folder.iterdir()} == {
            "index.html", "figures", "numbers.json", "ascent.csv",
        }  # fmt: skip
    assert "Ascents compared" in told
    assert told.rpartition("Ascents compared")[2].count("times") == 2


def test_logged_flight_takes_the_place_of_the_ascent(
    case: Path, log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = ["--out", str(tmp_path / "out"), "--json"]
    assert main(["ascent", str(case), "--log", str(log), *out]) == 0
    told = json.loads(capsys.readouterr().out)
    facts = told["tables"]["ascent"]
    assert facts["source"] == "flight.csv"
    assert facts["apogee_m"] == pytest.approx(1500.0, abs=2.0)
    assert told["caution"] == CAUTION
    assert any("above the pad" in note or "above sea level" in note for note in told["warnings"])


def test_case_without_a_way_up_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = tmp_path / "bare.toml"
    bare.write_text(BENCH, "utf-8")
    assert main(["ascent", str(bare), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert "add [ascent] with burnout_height" in told
    assert "--log" in told
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (["--log", "nowhere.csv"], "nowhere.csv"),
        (["--altitude-column", "h"], "--altitude-column names a column of a logger's file"),
    ],
)
def test_misuse_of_the_log(
    typed: list[str], told: str, case: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert main(["ascent", str(case), *typed]) == 2
    assert told in capsys.readouterr().err
    assert not (tmp_path / "reports").exists()


def test_broken_log_is_one_sentence(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.csv"
    broken.write_text("time,altitude\n0,0\n", "utf-8")
    assert main(["ascent", str(case), "--log", str(broken), "--out", str(tmp_path / "o")]) == 2
    told = capsys.readouterr().err.strip()
    assert len(told.splitlines()) == 1
    assert "broken.csv" in told
    assert not (tmp_path / "o").exists()
