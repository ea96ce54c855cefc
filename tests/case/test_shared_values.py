"""What a rocket's bays share stands once in the rocket file, with its line in every message."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.rocket_reader import read_rocket
from baypulse.case.explanation import explain
from baypulse.case.model import Case
from baypulse.errors import CaseError

BAY = """title = "{name}"
[powder]
grade = "3F"
mass = "1.2 g"
[bay]
tube_length = "12 in"
[contents]
mass = "350 g"
packed_length = "4 in"
[nose]
mass = "{nose} g"
[airframe]
mass = "{airframe} g"
[joint]
shoulder_length = "3 in"
pull_off = "25 N"
"""

ROCKET = """title = "Two bays"
[shared.bay]
bore = "3 in"
wall = "G10"
wall_thickness = { value = "2 mm", spread = "20 %", source = "calipers" }
[shared.pins]
count = 3
thread = "#2-56"
[shared.cord]
type = "aramid 1/4 in"
length = "12 ft"
[[bays]]
name = "drogue"
case = "drogue.toml"
[[bays]]
name = "main"
case = "main.toml"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name, nose, airframe in (("drogue", 2000, 3000), ("main", 800, 4200)):
        text = BAY.format(name=name, nose=nose, airframe=airframe)
        (tmp_path / f"{name}.toml").write_text(text, "utf-8")
    return tmp_path


def cases(text: str = ROCKET) -> list[Case]:
    Path("rocket.toml").write_text(text, "utf-8")
    return [bay.case for bay in read_rocket("rocket.toml").bays]


def problems(text: str) -> list[str]:
    with pytest.raises(CaseError) as caught:
        cases(text)
    return [problem.sentence(caught.value.file) for problem in caught.value.problems]


def test_every_bay_has_what_is_shared(folder: Path) -> None:
    for case in cases():
        # 3 in are 76.2 mm by definition
        assert case.bay.bore == pytest.approx(0.0762)
        assert (case.bay.wall, case.pins.count) == ("fibre glass", 3)
        assert case.spreads["bay.wall_thickness"].deviation == pytest.approx(0.4e-3)
        said = case.provenance["bay.wall_thickness"]
        assert (said.origin, said.line, said.source) == (
            "rocket",
            None,
            "rocket.toml, line 5; calipers",
        )
        assert "  count = 3 (rocket file; rocket.toml, line 7)" in explain(case)


def test_a_cases_own_value_comes_first(folder: Path) -> None:
    main = folder / "main.toml"
    main.write_text(main.read_text("utf-8") + "[pins]\ncount = 2\n", "utf-8")
    assert [case.pins.count for case in cases()] == [3, 2]
    assert [case.pins.thread for case in cases()] == ["#2-56", "#2-56"]


def test_the_text_of_a_bay_alone_makes_the_same_case(folder: Path) -> None:
    for case in cases():
        again = reads(case.source_text, case.name)
        for field in ("bay", "pins", "nose", "joint", "contents", "spreads"):
            ours, theirs = getattr(case, field), getattr(again, field)
            assert ours == theirs, field
    # nothing is left of it in a case that no rocket file names
    with pytest.raises(CaseError, match=r"bay\.bore: missing"):
        reads((folder / "main.toml").read_text("utf-8"))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('bore = "3 in"', 'bore = "3 inn"',
         ['rocket.toml:3: bay.bore: unknown unit "inn"; did you mean "in"?']),
        ("count = 3", "count = 99", ["rocket.toml:7: pins.count: given 99, allowed 1 to 24"]),
        ('spread = "20 %"', 'spred = "20 %"',
         ['rocket.toml:5: bay.wall_thickness.spred: unknown key "spred"; did you mean "spread"?']),
        ('bore = "3 in"', 'bor = "3 in"',
         ['rocket.toml:3: shared.bay.bor: unknown key "bor"; did you mean "bore"?']),
        ("[shared.pins]", "[shared.pin]",
         ['rocket.toml:6: shared.pin: unknown table "pin"; did you mean "pins"?']),
        ('[shared.pins]\ncount = 3\nthread = "#2-56"', "[shared]\npins = 3",
         ["rocket.toml:7: shared.pins: this is a table: write [shared.pins], then its keys"]),
        ('bore = "3 in"\n', "",
         ["drogue.toml:5: bay.bore: missing: inside diameter of the tube, such as \"75 mm\"",
          "main.toml:5: bay.bore: missing: inside diameter of the tube, such as \"75 mm\""]),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_once_with_its_line(
    folder: Path, old: str, new: str, said: list[str]
) -> None:
    assert ROCKET.count(old) == 1
    assert problems(ROCKET.replace(old, new)) == said


def test_a_table_without_a_line_of_its_own_cannot_share(folder: Path) -> None:
    main = folder / "main.toml"
    text = main.read_text("utf-8").replace('[bay]\ntube_length = "12 in"\n', "")
    text = text.replace("[powder]", 'bay.tube_length = "12 in"\n[powder]')
    main.write_text(text, "utf-8")
    said = "the rocket file shares keys of this table: write [bay] on a line of its own"
    assert problems(ROCKET) == [f"main.toml:2: bay: {said}"]


def test_a_rocket_that_shares_nothing_is_read_as_before(folder: Path) -> None:
    shared, rest = ROCKET.index("[shared.bay]"), ROCKET.index("[[bays]]")
    tables = ROCKET[shared:rest].replace("shared.", "")
    for name in ("drogue", "main"):
        file = folder / f"{name}.toml"
        own = file.read_text("utf-8").replace("[bay]\n", tables[: tables.index("[pins]")])
        file.write_text(own + tables[tables.index("[pins]") :], "utf-8")
    plain = cases(ROCKET[:shared] + ROCKET[rest:])
    for file in ("drogue", "main"):
        text = BAY.format(name=file, nose={"drogue": 2000, "main": 800}[file],
                          airframe={"drogue": 3000, "main": 4200}[file])  # fmt: skip
        (folder / f"{file}.toml").write_text(text, "utf-8")
    bare = {"provenance": {}, "source_text": ""}
    for one, two in zip(cases(), plain, strict=True):
        assert replace(one, **bare) == replace(two, **bare)
