"""The command ``review``: from a rocket or a single case to one folder, whatever is missing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.review import chapters
from quick_bays import QUICK
from report_cases import without
from review.documents import made

pytestmark = pytest.mark.usefixtures("unsaved_figures")

FEWER = {
    "window.compute.CHECK_MEMBERS": 32,
    "window.compute.SIDE_MEMBERS": 32,
    "plan.compute.SIDE_MEMBERS": 32,
    "plan.compute.HALF_MEMBERS": 32,
}
"""Numbers of shots inside the studies that no option sets."""


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, chapters.Asked]]:
    """Keep what is asked, and answer with a made-up review."""
    found: list[tuple[Any, chapters.Asked]] = []

    def review(rocket: Any, what: chapters.Asked, progress: Any) -> chapters.Review:
        found.append((rocket, what))
        return made()

    monkeypatch.setattr(chapters, "review", review)
    return found


def test_a_single_case_is_reviewed_and_what_is_missing_says_how_to_add_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for name, count in FEWER.items():
        monkeypatch.setattr(f"baypulse.studies.{name}", count)
    Path("quick.toml").write_text(without(QUICK, "cord"), "utf-8")
    options = ["--simulated-shots", "128", "--reliability", "90 %"]
    assert main(["review", "quick.toml", *options]) == 0
    told = capsys.readouterr().out
    assert told.count(CAUTION.split(".")[0]) == 1
    place = Path("reports", "quick-review")
    assert f"report: {place / 'index.html'}" in told
    numbers = json.loads((place / "numbers.json").read_text("utf-8"))
    entries = {
        chapter["name"]: chapter["entries"][0] for chapter in numbers["findings"]["chapters"]
    }
    told_missing = {name: each["missing"] for name, each in entries.items() if each["missing"]}
    assert {"cord", "joints", "ascent", "altitude"} <= set(told_missing)
    for name, how in (
        ("cord", "add [cord]"), ("joints", "[[bays]]"), ("ascent", "add [ascent]"),
        ("altitude", '--altitude "3 km"'),
    ):  # fmt: skip
        assert how in told_missing[name]
    assert entries["window"]["headline"] and entries["run"]["headline"]
    assert {path.name for path in place.iterdir()} >= {"figures", "tables", "index.html"}
    # the same seed gives the same window as the command by itself
    assert main(["window", "quick.toml", *options, "--json"]) == 0
    alone = json.loads(capsys.readouterr().out)
    assert alone["headline"] == entries["window"]["headline"]
    assert alone["findings"]["least"] == entries["window"]["findings"]["least"]


def test_a_rocket_is_read_with_its_bays_and_its_options(
    asked: list[tuple[Any, chapters.Asked]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rocket = Path(__file__).parents[2] / "cases" / "rockets" / "saffron-plover.toml"
    out = str(tmp_path / "out")
    typed = ["--altitude", "3 km, 9 km", "--seed", "7", "--simulated-shots", "512"]
    assert main(["review", str(rocket), *typed, "--out", out]) == 0
    ((read, what),) = asked
    assert [bay.name for bay in read.bays] == ["drogue", "main"]
    assert what.altitudes == (3000.0, 9000.0)
    assert (what.seed, what.members, what.wanted) == (7, 512, 0.99)
    assert what.flight(read.bays[0].case) is None
    assert (tmp_path / "out" / "saffron-plover-review" / "plans" / "main.pdf").exists()


def test_the_flight_of_a_logger_gives_the_altitude(
    asked: list[tuple[Any, chapters.Asked]], tmp_path: Path
) -> None:
    cases = Path(__file__).parents[2] / "cases"
    log = ["--log", str(cases / "logs" / "saffron-plover.csv")]
    out = ["--out", str(tmp_path / "out")]
    assert main(["review", str(cases / "main-98.toml"), *log, *out]) == 0
    ((read, what),) = asked
    flight = what.flight(read.bays[0].case)
    assert flight is not None
    (apogee,) = chapters._apogee(read.bays[0].case, what)
    # above sea level: the highest reading of the log itself, but for what smoothing takes
    assert apogee == pytest.approx(float(flight.altitude.max()), rel=0.01)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["nowhere.toml"], "nowhere.toml"),
        (["case.toml", "--altitude", "high"], "--altitude"),
        (["case.toml", "--reliability", "2"], "--reliability"),
        (["case.toml", "--time-column", "t"], "give it with --log"),
    ],
)
def test_what_is_impossible_is_one_sentence_and_nothing_is_written(
    typed: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    Path("case.toml").write_text(QUICK, "utf-8")
    assert main(["review", *typed]) == 2
    told = capsys.readouterr()
    assert said in told.err and "Traceback" not in told.err and told.out == ""
    assert not Path("reports").exists()
