"""Which shot ``why`` explains: the last of the log that failed, another, or one that is told."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import pytest

from baypulse.case.casefile import reads
from baypulse.errors import BaypulseError
from baypulse.members.parts import StudyError
from baypulse.observed.build_weights import WeighedBuilds
from baypulse.observed.shot_log import last_failed, read_log
from baypulse.studies.why import command as why_command
from baypulse.studies.why.asked_shot import shot_of_log
from baypulse.terminal import Refused
from quick_bays import QUICK
from report_cases import BENCH
from studies.why.few_members import few_members

LOG = """
[[shots]]
date = 2031-05-17
charge = "1.20 g"
saw = ["separated", "pop"]

[[shots]]
date = 2031-05-18
charge = "0.80 g"
pins = 2
saw = ["stuck", "heard a pop"]

[[shots]]
saw = ["separated", "pop"]
"""

CAUSES = """
["none of these"]
what = "Anything else"
share = 0.1
source = "test"

["as designed"]
what = "Nothing is wrong"
odds = 1.0
source = "test"
alone = true

["less powder"]
what = "There was less powder"
odds = 0.5
source = "test"
changes = [{ path = "powder.mass", factor = "0.9..0.2" }]
"""


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    few_members(monkeypatch)
    file = tmp_path / "one.toml"
    file.write_text(QUICK, "utf-8")
    (tmp_path / "one.shots.toml").write_text(LOG, "utf-8")
    (tmp_path / "few.toml").write_text(CAUSES, "utf-8")
    return file


def work(case: Path, *typed: str) -> int:
    parser = argparse.ArgumentParser()
    why_command.add(parser.add_subparsers())
    few = ["--causes", str(case.parent / "few.toml"), "--simulated-shots", "32"]
    chosen = parser.parse_args(["why", str(case), *typed, *few, "--out", str(case.parent / "out")])
    return int(chosen.work(chosen))


def numbers(case: Path, capsys: pytest.CaptureFixture[str], *typed: str) -> dict[str, Any]:
    assert work(case, *typed, "--json") == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_the_last_shot_that_failed_is_explained_with_its_charge_and_pins(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = numbers(case, capsys)["findings"]
    assert found["shot"] == {"number": 2, "file": str(case.parent / "one.shots.toml")}
    assert found["charge_kg"] == pytest.approx(0.8e-3)
    assert found["pins"] == 2
    assert [each["answer"] for each in found["sightings"]] == [
        "partial separation", "pop",
    ]  # fmt: skip
    # what was fired after it may have been another build already
    assert found["after_shots"]["shots"] == 1


def test_another_shot_of_the_log(case: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = numbers(case, capsys, "--shot", "1")["findings"]
    assert found["shot"]["number"] == 1
    assert found["charge_kg"] == pytest.approx(1.2e-3)
    assert found["after_shots"] is None


def test_a_shot_that_is_told_gives_what_the_same_shot_of_a_log_gives(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = case.parent / "one.shots.toml"
    log.write_text("[[shots]]" + LOG.split("[[shots]]")[2], "utf-8")
    logged = numbers(case, capsys)
    told = numbers(
        case, capsys, "--saw", "stuck", "--saw", "heard a pop", "--charge", "0.80 g",
        "--pins", "2", "--no-shots",
    )  # fmt: skip
    assert told["tables"] == logged["tables"]
    assert told["findings"]["shot"] is None
    assert told["findings"]["pins"] == 2
    # and it is another shot than that of the case
    usual = numbers(case, capsys, "--saw", "stuck", "--saw", "pop", "--no-shots")
    assert usual["findings"]["charge_kg"] == pytest.approx(1e-3)
    assert usual["tables"]["causes"] != told["tables"]["causes"]


def test_the_first_screen_names_the_shot(case: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert work(case) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Shot 2, 2031-05-18, of one.shots.toml. Charge: 0.800 g" in told
    assert "loose; 2 pins." in told
    assert "as 1 earlier shot in" in told
    assert "must not be one of them" not in told


def test_earlier_shots_that_contradict_the_case_are_left_out_with_a_warning(
    case: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(WeighedBuilds, "enough", property(lambda _: False))
    assert work(case) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "The earlier shots are left out: too few simulated bays" in told
    assert "as 1 earlier shot" not in told


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["--shot", "4"], ["--shot 4", "has 3", "allowed 1 to 3"]),
        (["--shot", "2", "--saw", "pop"], ["--shot 2 and --saw", "give one of them"]),
        (["--shot", "2", "--charge", "1 g", "--pins", "2"], ["--charge: a", "\n--pins: a"]),
        (["--charge", "1 g"], ["--charge: this is of a shot that --saw tells of"]),
        (["--pins", "2"], ["--pins: this is of a shot that --saw tells of"]),
        (["--no-shots"], ["--no-shots: without the log", "--saw"]),
        (
            ["--saw", "pop", "--saw", "popp", "--charge", "1"],
            ['--charge: "1" has no unit', '\n--saw: "popp": not known; did you mean "pop"?'],
        ),
        (["--saw", "pop", "--charge", "9 kg"], ["--charge: given 9 kg, allowed"]),
        (["--saw", "pins whole", "--pins", "0"], ["--saw", "no pins"]),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_refused(
    case: Path, typed: list[str], said: list[str]
) -> None:
    with pytest.raises((Refused, BaypulseError)) as error:
        work(case, *typed)
    for part in said:
        assert part in str(error.value)
    assert not (case.parent / "out").exists()


def test_without_saw_and_without_a_log(case: Path) -> None:
    (case.parent / "one.shots.toml").unlink()
    with pytest.raises(Refused, match=r"--saw is missing, and there is no .*one\.shots\.toml"):
        work(case)


@pytest.mark.parametrize(
    ("outcomes", "last"),
    [
        (["no separation", "separated"], 0),
        (["separated too hard", "separated"], 0),
        (["stuck", "chute stayed in", "separated"], 1),
        # where nobody said what became of the joint, nobody said that it failed
        (["no separation", "pop"], 0),
        (["separated", "separated"], None),
    ],
)
def test_last_failed(outcomes: list[str], last: int | None, tmp_path: Path) -> None:
    file = tmp_path / "bench.shots.toml"
    file.write_text("".join(f'[[shots]]\nsaw = ["{each}"]\n' for each in outcomes), "utf-8")
    case = reads(BENCH, "bench")
    log = read_log(file, case)
    assert last_failed(log) == last
    if last is None:
        with pytest.raises(StudyError, match=r"no shot of it failed; name one with --shot"):
            shot_of_log(case, log, None)
    else:
        assert shot_of_log(case, log, None).number == last + 1
