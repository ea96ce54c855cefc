"""``sweep`` as somebody at a terminal meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from baypulse.cli import main
from studies.scatter.test_command import FLAT_CAUTION, flat

pytestmark = pytest.mark.usefixtures("unsaved_figures")

BENCH = Path(__file__).parents[3] / "cases" / "bench-76.toml"


def sweep(out: Path, *over: str) -> int:
    words = [word for one in over for word in ("--over", one)]
    return main(["sweep", str(BENCH), "--out", str(out), *words])


def test_a_sweep_over_one_input_gives_curves_and_a_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert sweep(tmp_path, "powder.mass=0.2 g..0.8 g:4") == 0
    told = capsys.readouterr()
    assert FLAT_CAUTION in flat(told.out)
    folder = tmp_path / "bench-76-sweep"
    assert {p.name for p in folder.iterdir()} == {
        "index.html", "figures", "numbers.json", "sweep.csv",
    }  # fmt: skip
    lines = (folder / "sweep.csv").read_text("utf-8").splitlines()
    assert len(lines) == 5
    assert lines[0].startswith("powder_mass")


def test_a_sweep_over_two_inputs_with_members_gives_chances(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    over = ["--over", "powder.mass=0.1 g..0.4 g:3", "--over", "pins.count=2..4"]
    assert (
        main(
            [
                "sweep",
                str(BENCH),
                *over,
                "--out",
                str(tmp_path),
                "--simulated-shots",
                "32",
                "--json",
            ]
        )
        == 0
    )
    found = json.loads(capsys.readouterr().out)
    assert [quantity["name"] for quantity in found["findings"]["quantities"]][:2] == [
        "separates",
        "separates_too_hard",
    ]


@pytest.mark.parametrize(
    ("over", "sentence"),
    [
        (["powder.mas=1 g..2 g"], 'did you mean "powder.mass"?'),
        (["powder.mass=1..2"], '"1" has no unit'),
        (["powder.mass=2 g..1 g"], '"2 g" is not below "1 g"'),
        (["powder.mass"], "no range is given"),
        (["powder.mass=0.1 g..0.3 g:1"], '"1" is no number of points from 2 to 500'),
        (["powder.mass=1 g..2 kg"], "the allowed values are"),
        (["pins.count=2..2.5"], '"2.5" is no whole number'),
        (["contents.volume=1 l..3 l"], "choose a narrower range"),
        (["powder.mass=1 g..2 g", "powder.mass=1 g..2 g"], "different inputs"),
        (["powder.mass=1 g..2 g", "pins.count=1,2", "pins.count=1,2"], "once or twice"),
        (["cold_gas.pressure=1 bar gauge..2 bar gauge"], 'no number "cold_gas.pressure"'),
    ],
)
def test_misuse_of_sweep_gets_a_sentence_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], over: list[str], sentence: str
) -> None:
    assert sweep(tmp_path, *over) == 2
    told = capsys.readouterr()
    assert sentence in told.err
    assert "Traceback" not in told.err
    assert list(tmp_path.iterdir()) == []
