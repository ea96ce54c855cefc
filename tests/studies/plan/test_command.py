"""``plan`` as somebody at a terminal meets it."""

from __future__ import annotations

import dataclasses
import json
from html import unescape
from pathlib import Path
from typing import Any

import pytest

import plan_findings as made
from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.members.parts import StudyError
from quick_bays import QUICK, STRAND
from report_cases import BENCH, without

pytestmark = pytest.mark.usefixtures("unsaved_figures")

FLAT_CAUTION = " ".join(CAUTION.split())
FILES = {"index.html", "plan.pdf", "numbers.json", "figures"}


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Have plans made up in place of found, and return what was asked."""
    found: list[dict[str, Any]] = []

    def plan(case: Any, **options: Any) -> Any:
        found.append({"case": case.name, **options})
        if "refuse" in case.title:
            raise StudyError(
                f"{case.name}: no plan is written, since there is no ground-test charge."
            )
        if "stop" in case.title:
            raise KeyboardInterrupt
        usual = made.usual()
        return dataclasses.replace(usual, window=dataclasses.replace(usual.window, case=case))

    monkeypatch.setattr("baypulse.studies.plan.compute.plan", plan)
    monkeypatch.setattr("baypulse.studies.plan.document.pdf", lambda *_: b"%PDF-")
    return found


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    """Return case files by what becomes of them."""
    found = {}
    for name in ("one", "two", "refuse", "stop"):
        place = tmp_path / f"{name}.toml"
        place.write_text(BENCH.replace("A bay for the tests", f"A bay to {name}"), "utf-8")
        found[name] = str(place)
    return found


def test_a_real_plan_is_made_and_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in (
        "plan.compute.SIDE_MEMBERS",
        "window.compute.SIDE_MEMBERS",
        "window.compute.CHECK_MEMBERS",
    ):
        monkeypatch.setattr(f"baypulse.studies.{name}", 128)
    options = ["--out", str(tmp_path), "--reliability", "90 %", "--simulated-shots", "128"]
    case = tmp_path / "bench.toml"
    case.write_text(without(STRAND, "contents"), "utf-8")
    assert main(["plan", str(case), *options]) == 0
    told = capsys.readouterr().out
    folder = tmp_path / "bench-plan"
    assert FLAT_CAUTION in flat(told)
    assert "Ground test in " in told and f"report: {folder / 'index.html'}" in told
    assert {place.name for place in folder.iterdir()} == FILES
    assert FLAT_CAUTION in flat(unescape((folder / "index.html").read_text("utf-8")))
    assert (folder / "plan.pdf").read_bytes().startswith(b"%PDF-")
    numbers = json.loads((folder / "numbers.json").read_text("utf-8"))
    assert numbers["caution"] == CAUTION
    tables = numbers["tables"]
    assert tables["ladder"][-1]["charge_kg"] == tables["facts"]["recommended_charge_kg"]


def test_a_bay_without_a_charge_to_prove_gets_no_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    open_end = tmp_path / "open-end.toml"
    open_end.write_text(QUICK.replace('diameter = "3.2 mm"', 'diameter = "45 mm"'), "utf-8")
    options = ["--out", str(tmp_path / "out"), "--reliability", "90 %", "--simulated-shots", "128"]
    assert main(["plan", str(open_end), *options]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "no plan is written, since there is no ground-test charge" in told.err
    assert not (tmp_path / "out").exists()


def test_options_reach_the_study(
    tmp_path: Path, files: dict[str, str], asked: list[dict[str, Any]]
) -> None:
    options = [
        "--reliability",
        "99.5 %",
        "--simulated-shots",
        "4096",
        "--seed",
        "7",
        "--workers",
        "3",
    ]
    assert main(["plan", files["one"], "--out", str(tmp_path / "out"), *options]) == 0
    (one,) = asked
    assert one["wanted"] == pytest.approx(0.995)
    assert (one["members"], one["seed"], one["workers"]) == (4096, 7, 3)
    assert main(["plan", files["one"], "--out", str(tmp_path / "out")]) == 0
    assert (asked[1]["wanted"], asked[1]["members"], asked[1]["seed"]) == (0.99, None, 1)


def test_several_cases_are_compared_and_one_refused_hinders_none(
    tmp_path: Path, files: dict[str, str], asked: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    named = [files[name] for name in ("one", "refuse", "two")]
    assert main(["plan", *named, "--out", str(out)]) == 2
    told = capsys.readouterr()
    assert "no ground-test charge" in told.err
    assert "Ground tests side by side" in told.out
    assert sorted(place.name for place in out.iterdir()) == ["index.html", "one-plan", "two-plan"]
    assert all({p.name for p in place.iterdir()} == FILES for place in out.glob("*-plan"))


def test_what_is_finished_stands_when_it_is_stopped(
    tmp_path: Path, files: dict[str, str], asked: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    assert main(["plan", files["one"], files["stop"], files["two"], "--out", str(out)]) == 130
    assert "1 of 3 cases are finished" in capsys.readouterr().err
    assert {place.name for place in out.iterdir()} == {"index.html", "one-plan"}


def test_json_is_json_and_nothing_else(
    tmp_path: Path, files: dict[str, str], asked: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = ["--out", str(tmp_path / "out"), "--json"]
    assert main(["plan", files["one"], *out]) == 0
    assert json.loads(capsys.readouterr().out)["study"] == "plan"
    assert main(["plan", files["one"], files["two"], *out]) == 0
    assert [each["name"] for each in json.loads(capsys.readouterr().out)] == ["one", "two"]


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--reliability", "1.2"], "a chance of separation of 120 % cannot be asked for"),
        (["--reliability", "nan"], '"nan"'),
        (["--reliability", "much"], 'a chance is written "99 %" or 0.99'),
        (["--simulated-shots", "0"], '"0" is no whole number'),
        (["--simulated-shots", "12"], "12 simulated shots are too few for a chance of 99 %"),
        (["--seed", "-1"], '"-1" is no whole number'),
        (["--step", "1 g"], "--step"),
    ],
)
def test_bad_options_get_a_sentence_and_write_nothing(
    options: list[str], sentence: str, tmp_path: Path, files: dict[str, str],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    assert main(["plan", files["one"], "--out", str(out), *options]) == 2
    told = capsys.readouterr()
    assert sentence in told.err
    assert len(told.err.strip().splitlines()) == 1
    assert told.out == "" and not out.exists()


def test_somebody_elses_folder_is_left_alone(
    tmp_path: Path, files: dict[str, str], asked: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    folder = tmp_path / "out" / "one-plan"
    folder.mkdir(parents=True)
    (folder / "notes.txt").write_text("mine", "utf-8")
    assert main(["plan", files["one"], "--out", str(tmp_path / "out")]) == 2
    assert "notes.txt" in capsys.readouterr().err
    assert asked == []
    assert [place.name for place in folder.iterdir()] == ["notes.txt"]
