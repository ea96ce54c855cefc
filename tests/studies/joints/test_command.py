"""``joints``, and rocket files given to the commands of single bays."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.commands.case_files import Told, expanded, read_cases
from baypulse.studies.joints import command as joints_command
from baypulse.studies.joints import compute as study

pytestmark = pytest.mark.usefixtures("unsaved_figures")

ROCKETS = Path(__file__).parents[3] / "cases" / "rockets"
PLOVER = ROCKETS / "saffron-plover.toml"


def run(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    joints_command.add(parser.add_subparsers())
    chosen = parser.parse_args(["joints", *typed])
    return int(chosen.work(chosen))


def flat(text: str) -> str:
    return " ".join(text.split())


def test_joints_writes_a_report_and_tells_it_and_json_is_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(str(PLOVER), "--simulated-shots", "64", "--out", str(tmp_path)) == 0
    told = capsys.readouterr().out
    assert flat(CAUTION) in flat(told) and "when the drogue opens" in flat(told)
    folder = tmp_path / "saffron-plover-joints"
    assert f"report: {folder / 'index.html'}" in told
    assert {p.name for p in folder.iterdir()} == {"index.html", "numbers.json", "figures"}
    # without its search for factors, which says the same again
    monkeypatch.setattr(study, "least_factor", lambda *_: None)
    assert run(str(PLOVER), "--simulated-shots", "32", "--out", str(tmp_path), "--json") == 0
    numbers = json.loads(capsys.readouterr().out)
    assert numbers["caution"] == CAUTION and numbers["findings"]["shots"] == 32


def test_joints_of_a_single_case_says_what_a_rocket_file_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(Told):
        run(str(ROCKETS / "plover-drogue-98.toml"), "--out", str(tmp_path / "out"))
    assert "this is the case of one bay; a rocket file names several" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_rocket_stands_for_its_cases(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", str(PLOVER), "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    # a narrow column breaks the rest of the name
    assert "main: jerk" in told
    bays = {"saffron-plover-drogue", "saffron-plover-main"}
    assert {p.name for p in tmp_path.iterdir()} == bays | {"index.html"}
    numbers = json.loads((tmp_path / "saffron-plover-drogue" / "numbers.json").read_text("utf-8"))
    margins = numbers["tables"]["margins"]
    assert any("Main: jerk of the cord" in row["name"] for row in margins)
    case = numbers["case"]["saffron-plover-drogue"]
    assert case["values"]["other_joints[0].hold"]["origin"] == "rocket"
    assert "[[other_joints]]" in case["source_text"]


def test_one_bay_of_a_rocket_can_be_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", f"{PLOVER}:drogue"]) == 0
    told = capsys.readouterr().out
    assert "saffron-plover-drogue" in told and "saffron-plover-main" not in told
    assert "(rocket file; the case of main)" in told
    assert main(["check", f"{PLOVER}:apogee"]) == 2
    assert 'this rocket has no bay "apogee"; its bays: drogue, main' in capsys.readouterr().err


def test_broken_rocket_is_told_once_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.toml"
    broken.write_text('title = "x"\n[[bays]]\nname = "a"\ncase = "a.toml"\n', "utf-8")
    good = tmp_path / "good.toml"
    good.write_text(PLOVER.read_text("utf-8").replace("../main", "../nowhere"), "utf-8")
    for file in (broken, good):
        out = tmp_path / "out"
        assert main(["run", str(file), "--out", str(out)]) == 2
        told = capsys.readouterr().err.strip().split("\n")
        assert all(line.startswith(str(file)) for line in told) and len(told) == len(set(told)) == 2
        assert not out.exists()


def test_files_are_expanded_and_read_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    case = str(ROCKETS.parent / "bench-76.toml")
    files = expanded([case, str(PLOVER), "nowhere.toml"])
    assert files == [case, f"{PLOVER}:drogue", f"{PLOVER}:main", "nowhere.toml"]
    assert [c.name for c in read_cases(files[:3])] == [
        "bench-76", "saffron-plover-drogue", "saffron-plover-main",
    ]  # fmt: skip
    with pytest.raises(Told):
        read_cases(files)
    assert "nowhere.toml: there is no such file" in capsys.readouterr().err
