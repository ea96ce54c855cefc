"""``vents`` as somebody at a terminal meets it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from quick_bays import QUICK

pytestmark = pytest.mark.usefixtures("unsaved_figures")

ASCENT = """
[ascent]
burnout_height = "250 m"
burnout_speed = "160 m/s"
drag_area = "40 cm^2"
fore_drag_area = "8 cm^2"
"""


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    """Return case files by what is in them."""
    texts = {
        "one": QUICK + ASCENT,
        "two": QUICK.replace("76 mm", "98 mm") + ASCENT,
        "plain": QUICK,
        "several": QUICK.replace('name = "vent"', 'name = "upper vent"')
        + '\n[[openings]]\nname = "lower vent"\ndiameter = "2 mm"\n' + ASCENT,
    }  # fmt: skip
    found = {}
    for name, text in texts.items():
        place = tmp_path / f"{name}.toml"
        place.write_text(text, "utf-8")
        found[name] = str(place)
    return found


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Stop before any study, and return what would have been asked of it."""
    found: list[dict[str, Any]] = []

    def vents(case: Any, **options: Any) -> Any:
        found.append({"case": case.name, **options})
        raise KeyboardInterrupt

    monkeypatch.setattr("baypulse.studies.vents.compute.answer", vents)
    return found


def test_two_cases_are_sized_reported_and_compared(
    files: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    options = ["--out", str(out), "--reliability", "90 %", "--simulated-shots", "128"]
    options += ["--share", "10 %"]
    assert main(["vents", files["one"], files["two"], *options]) == 0
    told = capsys.readouterr().out
    for name in ("one", "two"):
        folder = out / f"{name}-vents"
        assert f"report: {folder / 'index.html'}" in told
        assert {p.name for p in folder.iterdir()} == {
            "index.html", "figures", "numbers.json", "vents.csv", "separation.csv"
        }  # fmt: skip
        numbers = json.loads((folder / "numbers.json").read_text("utf-8"))
        assert numbers["caution"] == CAUTION
        assert numbers["headline"] in flat((folder / "index.html").read_text("utf-8"))
        found = numbers["findings"]
        assert found["share_of_retention_ratio"] == 0.1 and found["reliability_ratio"] == 0.9
    assert "Vents: the single hole" in told and flat(CAUTION) in flat(told)


def test_json_is_json_and_nothing_else(
    files: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--out", str(tmp_path / "out"), "--reliability", "0.9", "--json"]
    options += ["--simulated-shots", "128"]
    assert main(["vents", files["one"], *options]) == 0
    assert json.loads(capsys.readouterr().out)["study"] == "vents"


@pytest.mark.parametrize(
    ("name", "more", "sentence"),
    [
        ("one", ["--share", "0"], "--share: 0 % of what holds the joint cannot be asked for"),
        ("one", ["--share", "150 %"], "it is a share from 1 % to 100 %"),
        ("one", ["--share", "half"], '"half" does not start with a number'),
        ("one", ["--share", "3 mm"], '"3 mm" is a length'),
        ("one", ["--reliability", "100 %"], "a chance of separation of 100 % cannot be asked for"),
        ("one", ["--simulated-shots", "0"], '"0" is no whole number'),
        ("one", ["--simulated-shots", "50"], "50 simulated shots are too few"),
        ("one", ["--opening", "port"], 'those between bay and outside are "vent"'),
        ("one", ["--log", "nowhere.csv"], "nowhere.csv"),
        ("one", ["--time-column", "t"], "give it with --log"),
        ("plain", [], "nothing is known of the ascent: add [ascent]"),
        ("several", [], 'openings[0] "upper vent", openings[1] "lower vent"'),
    ],
)  # fmt: skip
def test_misuse_gets_a_sentence_and_nothing_is_written(
    name: str, more: list[str], sentence: str, files: dict[str, str], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "out"
    assert main(["vents", files[name], "--out", str(out), *more]) == 2
    told = capsys.readouterr()
    assert sentence in flat(told.err) and "Traceback" not in told.err
    assert told.out == "" and not out.exists()


def test_options_reach_the_study(
    files: dict[str, str], asked: list[dict[str, Any]], tmp_path: Path
) -> None:
    log = tmp_path / "flight.csv"
    rows = [f"{0.1 * k:.1f},{max(0.0, 60.0 * (0.1 * k - 2.0)):.2f}" for k in range(120)]
    rows += [f"{12.0 + 0.1 * k:.1f},{600.0 - 10.0 * 0.1 * k:.2f}" for k in range(100)]
    log.write_text("time (s),altitude (m)\n" + "\n".join(rows) + "\n", "utf-8")
    options = ["--share", "25 %", "--opening", "Vent", "--seed", "7", "--log", str(log)]
    assert main(["vents", files["plain"], "--out", str(tmp_path / "out"), *options]) == 130
    (found,) = asked
    assert found["share"] == pytest.approx(0.25) and found["opening"] == "Vent"
    assert found["seed"] == 7 and found["members"] is None
    assert float(found["flight"].altitude.max() - found["flight"].altitude[0]) > 500.0


def test_help_names_the_options(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["vents", "--help"]) == 0
    told = flat(capsys.readouterr().out)
    assert all(each in told for each in ("--share", "--opening", "--reliability", "--log"))
