"""``baypulse why`` as somebody at a terminal meets it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.errors import BaypulseError
from baypulse.observed.sightings import kinds
from baypulse.studies.why import command as why_command
from baypulse.studies.why.cause_file import read, shipped
from baypulse.terminal import Refused
from quick_bays import QUICK
from studies.why.few_members import few_members

pytestmark = pytest.mark.usefixtures("unsaved_figures")

SAW = ["--saw", "no separation", "--saw", "pins whole", "--saw", "pop"]
SHORT = ["--simulated-shots", "32"]

FEW = """
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

["more friction"]
what = "It rubs"
odds = 0.2
source = "test"
changes = [{ path = "joint.pull_off", factor = "2..20" }]
"""


def work(*typed: str) -> int:
    parser = argparse.ArgumentParser()
    why_command.add(parser.add_subparsers())
    chosen = parser.parse_args(["why", *typed])
    return int(chosen.work(chosen))


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    few_members(monkeypatch)
    file = tmp_path / "one.toml"
    file.write_text(QUICK, "utf-8")
    return file


@pytest.fixture
def few(tmp_path: Path) -> Path:
    file = tmp_path / "few.toml"
    file.write_text(FEW, "utf-8")
    return file


def test_report_with_own_causes(
    case: Path, few: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert work(str(case), *SAW, *SHORT, "--causes", str(few), "--out", str(out)) == 0
    told = capsys.readouterr().out
    folder = out / "one-why"
    assert {path.name for path in folder.iterdir()} == {
        "index.html", "figures", "numbers.json", "why.csv",
    }  # fmt: skip
    assert f"report: {folder / 'index.html'}" in told
    assert "Never fire again at once." in told
    numbers = json.loads((folder / "numbers.json").read_text("utf-8"))
    names = [each["name"] for each in numbers["tables"]["causes"]]
    assert names[0] == "less powder"
    assert set(names) == {"less powder", "none of these", "more friction", "as designed"}
    assert numbers["findings"]["simulated_shots"] == 32
    assert numbers["findings"]["pair_simulated_shots"] == 4


def test_json_and_nothing_else(
    case: Path, few: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(tmp_path / "out")
    assert work(str(case), *SAW, *SHORT, "--causes", str(few), "--out", out, "--json") == 0
    numbers = json.loads(capsys.readouterr().out)
    assert numbers["caution"] == CAUTION
    numbers = numbers["findings"]
    assert [each["answer"] for each in numbers["sightings"]] == [
        "no separation",
        "pins whole",
        "pop",
    ]
    assert numbers["recommended_test"] in [each["name"] for each in numbers["tests"]]


def test_several_cases_are_compared(
    case: Path, few: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "two.toml"
    other.write_text(QUICK.replace('"320 mm"', '"400 mm"'), "utf-8")
    out = str(tmp_path / "out")
    assert work(str(case), str(other), *SAW, *SHORT, "--causes", str(few), "--out", out) == 0
    table = capsys.readouterr().out.rpartition("The same sightings in every case")[2]
    assert "one" in table
    assert "two" in table


def test_whole_list_of_causes_is_used_unless_another_is_given(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work(str(case), *SAW, *SHORT, "--out", str(tmp_path / "out"), "--json") == 0
    numbers = json.loads(capsys.readouterr().out)
    causes = {each["cause"] for each in numbers["tables"]["every_cause"]}
    names = {name for name in causes if " and " not in name}
    names |= set(numbers["findings"]["left_out"])
    ruled_out = {each["cause"]: each["by"] for each in numbers["findings"]["ruled_out"]}
    assert ruled_out == {"igniter dead": "pop"}
    assert not names & set(ruled_out)
    names |= set(ruled_out)
    assert names == {cause.name for cause in shipped().causes} | {"none of these"}


def test_list_shows_all_that_can_be_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert work("--list") == 0
    told = capsys.readouterr().out
    for kind in kinds().values():
        for answer in kind.answers or kind.words[:1]:
            assert f'"{answer}"' in told


def test_causes_are_written_and_read_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "mine.toml"
    assert work("--write-causes", str(new)) == 0
    assert f"--causes {new}" in capsys.readouterr().out
    assert read(new) == shipped()
    before = new.read_bytes()
    with pytest.raises(Refused, match="is there already and is not replaced"):
        work("--write-causes", str(new))
    assert new.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]


def test_causes_are_not_written_where_there_is_no_folder(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="there is no folder"):
        work("--write-causes", str(tmp_path / "no" / "mine.toml"))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ([], "--saw is missing"),
        (["--saw", "stayed shu"], 'did you mean "no separation"'),
        (["--saw", "it went green"], "What can be said"),
        (["--saw", "no separation", "--saw", "separated"], "keep one of them"),
        (["--saw", "pop", "--saw", "no sound"], "says something about sound already"),
        (["--saw", "velocity"], "no number"),
        (["--saw", "velocity 6"], "has no unit"),
        (["--saw", "velocity 6 mm"], "velocity"),
        (["--saw", "peak 9 psia"], "absolute pressure"),
        (["--saw", "velocity 6 km/s"], "allowed values"),
        (["--saw", "electronics soot"], "no electronics bay"),
    ],
)
def test_what_cannot_be_understood_is_refused(
    case: Path, tmp_path: Path, typed: list[str], said: str
) -> None:
    with pytest.raises((Refused, BaypulseError)) as error:
        work(str(case), *typed, "--out", str(tmp_path / "out"))
    assert said in str(error.value)
    assert "\n" not in str(error.value)
    assert not (tmp_path / "out").exists()


def test_no_case_is_refused() -> None:
    with pytest.raises(Refused, match="name a case file"):
        work("--saw", "pop")


@pytest.mark.parametrize("members", ["0", "31", "1025", "many"])
def test_members_out_of_range_are_refused(
    case: Path, members: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        work(str(case), *SAW, "--simulated-shots", members)
    assert "no whole number from 32 to 1024" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("odds = 0.5", 'odds = "often"', "less powder: odds is missing or no number"),
        ("odds = 0.5", "odds = -1", "must be above 0"),
        ("factor", "fctor", 'did you mean "factor"'),
        ("powder.mass", "powder.mas", 'did you mean "powder.mass"'),
        ("share = 0.1", "share = 2.0", "between 0 and 1"),
        ("alone = true", "alone = ", "is no TOML file"),
    ],
)
def test_broken_list_of_causes_is_refused(
    case: Path, few: Path, tmp_path: Path, old: str, new: str, said: str
) -> None:
    assert old in FEW
    few.write_text(FEW.replace(old, new, 1), "utf-8")
    with pytest.raises(BaypulseError) as error:
        work(str(case), *SAW, "--causes", str(few), "--out", str(tmp_path / "out"))
    assert said in str(error.value)
    assert "few.toml" in str(error.value)
    assert not (tmp_path / "out").exists()


def test_list_of_causes_that_is_missing(case: Path, tmp_path: Path) -> None:
    with pytest.raises(BaypulseError, match="there is no such file"):
        work(str(case), *SAW, "--causes", str(tmp_path / "none.toml"))


def test_earlier_shots_are_taken_into_account(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shots = tmp_path / "earlier.shots.toml"
    shots.write_text('[[shots]]\nsaw = ["separated", "pop"]\n' * 2, "utf-8")
    causes = tmp_path / "few.toml"
    causes.write_text(FEW, "utf-8")
    told = {}
    for name, more in (("without", ["--no-shots"]), ("after", ["--shots", str(shots)])):
        out = ["--out", str(tmp_path / name), "--json", "--causes", str(causes)]
        assert work(str(case), *SAW, *SHORT, *out, *more) == 0
        told[name] = json.loads(capsys.readouterr().out)["findings"]
    assert told["without"]["after_shots"] is None
    assert told["after"]["after_shots"]["shots"] == 2
    assert told["after"]["after_shots"]["effective_shots"] > 50.0
    assert told["after"] != told["without"]


def test_shots_beside_the_case_are_used_and_said(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case.with_suffix(".shots.toml").write_text('[[shots]]\nsaw = ["separated"]\n', "utf-8")
    causes = tmp_path / "few.toml"
    causes.write_text(FEW, "utf-8")
    out = ["--out", str(tmp_path / "out"), "--causes", str(causes)]
    assert work(str(case), *SAW, *SHORT, *out) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "as 1 shot in" in told and "one.shots.toml" in told
    assert "must not be one of them" in told
