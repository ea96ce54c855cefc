"""``shots`` as somebody at a terminal meets it, and ``window`` with shots beside its case."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from baypulse import cli
from baypulse.caution import CAUTION
from quick_bays import strand_text
from report_cases import without

CASES = Path(__file__).parents[3] / "cases"


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """Return a shipped case as a quick bay, with 0.22 g, in a folder of its own."""
    place = tmp_path / "bench-76.toml"
    text = (CASES / place.name).read_text("utf-8").replace("1.00 g", "0.22 g")
    place.write_text(without(strand_text(text), "contents"), "utf-8")
    return place


def told(capsys: pytest.CaptureFixture[str]) -> tuple[str, str]:
    out, error = capsys.readouterr()
    return " ".join(out.split()), " ".join(error.split())


def test_shots_are_added_then_read(
    case: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("baypulse.studies.shots.compute.BUILDS", 64)
    monkeypatch.setattr("baypulse.studies.shots.compute.CURVE_MEMBERS", 128)
    log = case.parent / "bench-76.shots.toml"
    first = ["--charge", "0.3 g", "--saw", "separated", "--saw", "velocity 11 m/s", "--note", "hot"]
    assert cli.main(["shots", str(case), "--add", *first]) == 0
    assert f"added to {log}: shot 1" in told(capsys)[0]
    assert f"date = {date.today().isoformat()}" in log.read_text("utf-8")
    second = ["--saw", "no separation", "--charge", "0.2 g", "--date", "2031-05-17"]
    assert cli.main(["shots", str(case), "--add", *second]) == 0
    assert "shot 2" in told(capsys)[0]
    out = str(case.parent / "reports")
    options = ["--out", out, "--simulated-shots", "1024", "--workers", "2"]
    assert cli.main(["shots", str(case), *options]) == 0
    text, _ = told(capsys)
    assert "After 2 shots the chance of separation is" in text
    assert "Before another charge, find out why shot 2, 2031-05-17 did not open" in text
    assert " ".join(CAUTION.split()) in text
    folder = Path(out) / "bench-76-shots"
    assert (folder / "figures" / "shots.png").stat().st_size > 5000
    page = (folder / "index.html").read_text("utf-8")
    assert "What the shots in" in page and "hot" in page and "<svg" in page
    numbers = json.loads((folder / "numbers.json").read_text("utf-8"))
    assert [each["separated"] for each in numbers["tables"]["shots"]] == [True, False]
    assert numbers["caution"] == CAUTION
    findings = numbers["findings"]
    assert 0.0 < findings["effective_simulated_shots"] <= findings["simulated_shots"]
    # more powder is no worse, before and after
    for when in ("before", "after"):
        chances = [point[f"{when}_ratio"] for point in numbers["tables"]["curve"]]
        assert chances == sorted(chances)


def test_a_window_says_which_shots_it_rests_on(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = case.parent / "bench-76.shots.toml"
    log.write_text('[[shots]]\ncharge = "0.25 g"\nsaw = ["no separation"]\n', "utf-8")
    out = [
        "--out",
        str(case.parent / "reports"),
        "--reliability",
        "90 %",
        "--simulated-shots",
        "128",
    ]
    assert cli.main(["window", str(case), *out, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    after = found["findings"]["after_shots"]
    assert (after["file"], after["shots"]) == (str(log), 1)
    assert found["findings"]["least"]["charge_kg"] > after["least_before_charge_kg"]
    assert any(f"After 1 shot in {log}" in each for each in found["sentences"])
    # the pattern of a shell names the shots too
    assert cli.main(["window", str(case), str(log), *out, "--json", "--no-shots"]) == 0
    alone = json.loads(capsys.readouterr().out)
    assert alone["findings"]["after_shots"] is None
    assert alone["findings"]["least"]["charge_kg"] == after["least_before_charge_kg"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ([], "there is no"),
        (["--shots", "nowhere.toml"], "nowhere.toml: there is no such file"),
        (["--saw", "separated"], "give --add too"),
        (["--add"], "say what was seen"),
        (["--add", "--saw", "seprated"], 'did you mean "separated"?'),
        (["--add", "--saw", "separated", "--charge", "3 mm"], "--charge:"),
        (["--add", "--saw", "separated", "--charge", "900 g"], "--charge: given 900 g, allowed"),
        (["--add", "--saw", "separated", "--date", "May"], "no date"),
        (["--add", "--saw", "separated", "--pins", "25"], "whole number from 0 to 24"),
        (["--add", "--saw", "electronics bay clean"], "no electronics bay"),
        (["--add", "--saw", "separated", "--shots", "no/where.shots.toml"], "cannot be written"),
        (["--simulated-shots", "3"], "whole number"),
    ],
)
def test_what_cannot_be_is_refused(
    case: Path, options: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["shots", str(case), *options]) == 2
    out, error = told(capsys)
    assert words in error
    assert "Traceback" not in out + error
    assert [each.name for each in case.parent.iterdir()] == ["bench-76.toml"]


def test_one_file_of_shots_is_one_cases(case: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = case.parent / "other.toml"
    shutil.copy(case, other)
    both = [str(case), str(other)]
    assert cli.main(["window", *both, "--shots", str(case)]) == 2
    assert "these are the shots of one case" in told(capsys)[1]
    assert cli.main(["shots", *both, "--add", "--saw", "separated"]) == 2
    assert "a shot is one case's" in told(capsys)[1]
    assert cli.main(["window", str(case), "--shots", "x.toml", "--no-shots"]) == 2
    assert "give one of them" in told(capsys)[1]


def test_a_broken_file_is_told_with_all_its_problems(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = case.parent / "bench-76.shots.toml"
    log.write_text('[[shots]]\ncharge = "2"\nsaw = ["opend"]\n[[shots]]\nwhen = 3\n', "utf-8")
    for command in ("shots", "window"):
        assert cli.main([command, str(case), "--out", str(case.parent / "reports")]) == 2
        _, error = told(capsys)
        assert f"{log}:2: shots[0].charge" in error and f"{log}:5: shots[1].when" in error
    before = log.read_bytes()
    assert cli.main(["shots", str(case), "--add", "--saw", "separated"]) == 2
    assert "nothing was added" in told(capsys)[1]
    assert log.read_bytes() == before
