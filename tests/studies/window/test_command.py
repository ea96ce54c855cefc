"""``window`` as somebody at a terminal meets it."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

import window_findings as made
from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.members.answered import Answered
from baypulse.members.parts import StudyError
from baypulse.show.document import Figure
from quick_bays import STRAND
from report_cases import BENCH, without

pytestmark = pytest.mark.usefixtures("unsaved_figures")

FLAT_CAUTION = " ".join(CAUTION.split())


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Have windows made up in place of found, without figures, and return what was asked."""
    found: list[dict[str, Any]] = []

    def answer(case: Any, **options: Any) -> Answered[Any]:
        found.append({"case": case.name, **options})
        if "refuse" in case.title:
            raise StudyError(f"{case.name}: nothing scatters in this case")
        if "stop" in case.title:
            raise KeyboardInterrupt
        window = dataclasses.replace(made.usual(), case=case, wanted=options["wanted"])
        first = dataclasses.replace(window, limits=(), remedies=(), as_it_is=None)

        return Answered(first, lambda progress: window)

    monkeypatch.setattr("baypulse.studies.window.compute.answer", answer)

    def undrawn(
        figures: Sequence[Figure], *, printed: bool = False,
        beside: Mapping[str, Callable[[], bytes]] | None = None,
    ) -> tuple[dict[str, bytes], dict[str, str]]:  # fmt: skip
        files = {name: make() for name, make in (beside or {}).items()}
        return files, {each.name: "" for each in figures}

    monkeypatch.setattr("baypulse.show.figure_files.drawn", undrawn)
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


def test_a_real_window_is_found_and_reported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "bench.toml"
    case.write_text(without(STRAND, "contents"), "utf-8")
    options = ["--out", str(tmp_path), "--reliability", "90 %", "--simulated-shots", "128"]
    assert main(["window", str(case), *options]) == 0
    told = capsys.readouterr()
    folder = tmp_path / "bench-window"
    assert f"report: {folder / 'index.html'}" in told.out
    assert FLAT_CAUTION in flat(told.out)
    assert {p.name for p in folder.iterdir()} == {
        "index.html", "figures", "numbers.json", "window.csv"
    }  # fmt: skip
    numbers = json.loads((folder / "numbers.json").read_text("utf-8"))
    found = numbers["findings"]
    assert found["target_reliability_ratio"] == 0.9 and found["simulated_shots"] == 128
    least, most = found["least"]["charge_g"], found["most"]["charge_g"]
    (first,) = [
        row for row in numbers["tables"]["charges"] if row["name"] == "ground test"
    ]  # fmt: skip
    assert least < first["charge_g"] < most
    assert found["least"]["chance"]["chance_ratio"] >= 0.9
    assert numbers["headline"] in flat(told.out)
    assert "Windows of" not in told.out


@pytest.mark.parametrize(
    ("text", "share"), [("99 %", 0.99), ("0.99", 0.99), ("99.9%", 0.999), ("50 %", 0.5)]
)
def test_a_chance_is_a_share_or_in_percent(
    text: str, share: float, files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path
) -> None:
    out = str(tmp_path / "out")
    assert main(["window", files["one"], "--out", out, "--reliability", text, "--seed", "7"]) == 0
    (options,) = asked
    assert options["wanted"] == pytest.approx(share, rel=1e-12)
    assert options["members"] is None and options["seed"] == 7


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (["--reliability", "0"], "a chance of separation of 0 % cannot be asked for"),
        (["--reliability", "1"], "of 100 % cannot be asked for; it is one from 50 % to 99.99 %"),
        (["--reliability", "100 %"], "of 100 % cannot be asked for"),
        (["--reliability", "120 %"], "of 120 % cannot be asked for"),
        (["--reliability", "99"], 'of 9900 % cannot be asked for; it is one from 50 % to 99.99 %, '
                             'such as "99 %"'),
        (["--reliability=-5 %"], "of -5 % cannot be asked for"),
        (["--reliability", "49.9 %"], "cannot be asked for"),
        (["--reliability", "99.999 %"], "of 99.999 % cannot be asked for"),
        (["--reliability", "often"], '"often" does not start with a number'),
        (["--reliability", "nan"], "is not a finite number"),
        (["--reliability", ""], "the text is empty"),
        (["--reliability", "99,9 %"], "has a comma in the number: write 99.9"),
        (["--reliability", "3 g"], '"3 g" is a mass'),
        (["--simulated-shots", "0"], '"0" is no whole number'),
        (["--seed", "x"], '"x" is no whole number'),
    ],
)  # fmt: skip
def test_misuse_gets_a_sentence_and_nothing_is_written(
    more: list[str], sentence: str, files: dict[str, str], asked: list[dict[str, Any]],
    tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    assert main(["window", files["one"], "--out", str(out), *more]) == 2
    told = capsys.readouterr()
    assert sentence in flat(told.err) and "Traceback" not in told.err
    assert told.out == "" and asked == [] and not out.exists()


def test_too_few_members_for_the_chance_get_a_sentence(
    files: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    more = ["--reliability", "99.9 %", "--simulated-shots", "500"]
    assert main(["window", files["one"], "--out", str(out), *more]) == 2
    assert (
        "500 simulated shots are too few for a chance of 99.9 %; take 1000"
        in capsys.readouterr().err
    )
    assert not out.exists()


def test_a_bad_file_stops_all_before_anything_is_run(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    bad = tmp_path / "bad.toml"
    bad.write_text(BENCH.replace('mass = "1.00 g"', 'mass = "1.00 gr"'), "utf-8")
    out = tmp_path / "out"
    assert main(["window", files["one"], str(bad), "--out", str(out)]) == 2
    assert "bad.toml:7: powder.mass" in capsys.readouterr().err
    assert asked == [] and not out.exists()


def test_several_cases_are_compared(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    assert main(["window", files["one"], files["two"], "--out", str(out)]) == 0
    told = capsys.readouterr().out
    table = told[told.index("Windows of 99 %") :]
    assert "one " in table and "two " in table and "0.630 g" in table
    assert [each["case"] for each in asked] == ["one", "two"]
    assert {p.name for p in out.iterdir()} == {"index.html", "one-window", "two-window"}


def test_json_is_json_and_nothing_else(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = str(tmp_path / "out")
    assert main(["window", files["one"], "--out", out, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["caution"] == CAUTION
    assert main(["window", files["one"], files["two"], "--out", out, "--json"]) == 0
    assert [each["name"] for each in json.loads(capsys.readouterr().out)] == ["one", "two"]


def test_a_case_without_an_answer_does_not_stop_the_others(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    given = [files[name] for name in ("one", "refuse", "two")]
    assert main(["window", *given, "--out", str(out)]) == 2
    told = capsys.readouterr()
    assert "refuse: nothing scatters in this case" in told.err
    assert "Windows of 99 %" in told.out
    assert {p.name for p in out.iterdir()} == {"index.html", "one-window", "two-window"}


def test_ctrl_c_leaves_what_is_finished(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    given = [files[name] for name in ("one", "two", "stop", "refuse")]
    assert main(["window", *given, "--out", str(out)]) == 130
    told = capsys.readouterr()
    assert "2 of 4 cases are finished" in told.err
    assert "Windows of 99 %" in told.out
    assert {p.name for p in out.iterdir()} == {"index.html", "one-window", "two-window"}
    for place in out.glob("*-window"):
        assert json.loads((place / "numbers.json").read_text("utf-8"))["study"] == "window"


@pytest.mark.parametrize("more", [[], ["--full"], ["--json"]])
def test_the_answer_is_told_before_what_only_the_report_shows_is_found(
    more: list[str], files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    out = ["--out", str(tmp_path / "out"), *more]
    told: list[str] = []

    def answer(case: Any, **options: Any) -> Answered[Any]:
        window = dataclasses.replace(made.usual(), case=case, wanted=options["wanted"])

        def whole(progress: Any) -> Any:
            told.append(capsys.readouterr().out)
            if len(told) == 2:
                raise KeyboardInterrupt
            return window

        return Answered(dataclasses.replace(window, curve=window.curve[:1]), whole)

    monkeypatch.setattr("baypulse.studies.window.compute.answer", answer)
    assert main(["window", files["one"], *out]) == 0
    rest = capsys.readouterr().out
    told_first, told_last = (FLAT_CAUTION in flat(text) for text in (told[0], rest))
    # and nowhere twice; numbers carry it as text of theirs
    assert (told_first, told_last) == (not more, bool(more))
    assert told[0].startswith("one: ") == told_first
    # stopped there, the answer stands and so does the report from before
    page = tmp_path / "out" / "one-window" / "index.html"
    before = page.read_bytes()
    assert main(["window", files["one"], *out]) == 130
    assert (FLAT_CAUTION in flat(told[1])) == told_first
    assert page.read_bytes() == before


def test_what_is_not_a_report_is_not_replaced(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    place = tmp_path / "out" / "one-window"
    place.mkdir(parents=True)
    (place / "letter.txt").write_text("mine")
    assert main(["window", files["one"], "--out", str(tmp_path / "out")]) == 2
    assert "holds letter.txt" in capsys.readouterr().err
    assert asked == [] and [p.name for p in place.iterdir()] == ["letter.txt"]


def test_help_names_the_options(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["window", "--help"]) == 0
    told = capsys.readouterr().out
    assert "--reliability" in told and "--simulated-shots" in told and "default: 99 %" in flat(told)
