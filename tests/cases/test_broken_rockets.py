# ruff: noqa: E501
"""Every broken rocket file, and every broken other joint, gives exactly these sentences."""

from __future__ import annotations

from pathlib import Path

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.rocket_reader import bay_names, is_rocket, read_rocket
from baypulse.errors import CaseError

CASES = Path(__file__).parents[2] / "cases"
DROGUE = (CASES / "rockets" / "plover-drogue-98.toml").read_text("utf-8")
MAIN = (CASES / "main-98.toml").read_text("utf-8")

GOOD = """title = "a rocket"
[[bays]]
name = "drogue"
case = "drogue.toml"
[[bays]]
name = "main"
case = "cases/main.toml"
"""
COAST = '[coast]\nspeed = "200 m/s"\naltitude = "900 m"\ndrag_area = "45 cm^2"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "cases").mkdir()
    (tmp_path / "drogue.toml").write_text(DROGUE, "utf-8")
    (tmp_path / "cases" / "main.toml").write_text(MAIN, "utf-8")
    return tmp_path


def problems(folder: Path, text: str) -> list[str]:
    """Return what is told of a rocket file, places without the test's folder."""
    place = folder / "rocket.toml"
    place.write_text(text, "utf-8")
    with pytest.raises(CaseError) as caught:
        read_rocket(place)
    told = str(caught.value)
    return told.replace(f"{folder}/", "").replace(f"{folder}\\", "").replace("\\", "/").split("\n")


def swapped(old: str, new: str, text: str = GOOD) -> str:
    assert old in text
    return text.replace(old, new)


EXPECTED = {
    "no bays": (
        'title = "a rocket"\n',
        ["rocket.toml: the table [[bays]] is missing: a bay of the rocket and its case file, in the order in which the bays fire"],
    ),
    "a single case": (
        MAIN,
        ["rocket.toml: this is the case of one bay; a rocket file names several: [[bays]] with a name and a case file each"],
    ),
    "one bay": (
        GOOD[: GOOD.rindex("[[bays]]")],
        ["rocket.toml:2: bays[0]: 1 bay given, allowed 2 to 5; a single bay needs no rocket file: run its case"],
    ),
    "single brackets": (
        swapped("[[bays]]", "[bays]", GOOD[: GOOD.rindex("[[bays]]")]),
        ["rocket.toml:2: bays: write [[bays]], with two brackets, once for each"],
    ),
    "unknown keys": (
        swapped('name = "main"', 'nam = "main"') + COAST.replace("speed", "sped"),
        [
            'rocket.toml:5: bays[1].name: missing: what it is called, such as "drogue"',
            'rocket.toml:6: bays[1].nam: unknown key "nam"; did you mean "name"?',
            'rocket.toml:8: coast.speed: missing: airspeed at burnout, such as "700 ft/s"',
            'rocket.toml:9: coast.sped: unknown key "sped"; did you mean "speed"?',
        ],
    ),
    "key of a case": (
        GOOD + '[joint]\nfit = "snug"\n',
        ['rocket.toml:8: joint: unknown key or table "joint"; known here: title, note, bays, coast, shared'],
    ),
    "back-slash": (
        swapped('"cases/main.toml"', r'"cases\main.toml"'),
        ['rocket.toml:7: a back-slash in quotes is no folder; write "/" between folders, on Windows too: case = "../main-98.toml"'],
    ),
    "back-slash that TOML reads": (
        swapped('"cases/main.toml"', r'"cases\new.toml"'),
        [r'rocket.toml:7: bays[1].case: "cases\new.toml" is no file; write "/" between folders, on Windows too: case = "../main-98.toml"'.replace("\\", "/")],
    ),
    "back-slash in single quotes": (
        swapped('"cases/main.toml"', r"'cases\main.toml'"),
        ['rocket.toml:7: bays[1].case: "cases/main.toml" is no file; write "/" between folders, on Windows too: case = "../main-98.toml"'],
    ),
    "drive": (
        swapped('"cases/main.toml"', '"C:/cases/main.toml"'),
        ['rocket.toml:7: bays[1].case: "C:/cases/main.toml" is a place on one machine; give the path from the folder of this file, such as "../main-98.toml"'],
    ),
    "root": (
        swapped('"cases/main.toml"', '"/cases/main.toml"'),
        ['rocket.toml:7: bays[1].case: "/cases/main.toml" is a place on one machine; give the path from the folder of this file, such as "../main-98.toml"'],
    ),
    "no such case": (
        swapped('"cases/main.toml"', '"cases/mian.toml"'),
        ['rocket.toml:7: bays[1].case: there is no case file "cases/mian.toml"; did you mean "cases/main.toml"?'],
    ),
    "no such folder": (
        swapped('"cases/main.toml"', '"case/main.toml"'),
        ['rocket.toml:7: bays[1].case: there is no case file "case/main.toml"; there is no folder case'],
    ),
    "a folder": (
        swapped('"cases/main.toml"', '"cases"'),
        ['rocket.toml:7: bays[1].case: there is no case file "cases"'],
    ),
    "itself": (
        swapped('"cases/main.toml"', '"rocket.toml"'),
        ['rocket.toml:7: bays[1].case: "rocket.toml" is a rocket file itself; name the case file of one bay'],
    ),
    "named twice": (
        swapped('name = "main"', 'name = "Drogue"'),
        ['rocket.toml:6: bays[1].name: the bay "Drogue" is named twice; give each its own name'],
    ),
    "no name for a folder": (
        swapped('name = "main"', 'name = "main/upper"'),
        ["rocket.toml:6: bays[1].name: \"main/upper\" cannot be part of a folder's name; use up to 40 letters, digits, spaces, - and _"],
    ),
    "same case twice": (
        swapped('"cases/main.toml"', '"cases/../drogue.toml"'),
        ['rocket.toml:7: bays[1].case: "cases/../drogue.toml" is the case of drogue already; name another'],
    ),
    "area without coast": (
        GOOD + 'fore_drag_area = "10 cm^2"\n',
        ["rocket.toml:8: bays[1].fore_drag_area: drag areas are for the coast: add [coast] with speed, altitude, drag_area"],
    ),
    "coast without area": (
        GOOD + 'fore_drag_area = "10 cm^2"\n' + COAST,
        ['rocket.toml:2: bays[0].fore_drag_area: missing: [coast] needs the Cd A ahead of each joint, such as "12 cm^2"'],
    ),
    "area above the whole": (
        swapped('"drogue.toml"', '"drogue.toml"\nfore_drag_area = "50 cm^2"') + 'fore_drag_area = "10 cm^2"\n' + COAST,
        ["rocket.toml:5: bays[0].fore_drag_area: 50.0 cm² (7.75 in²) ahead of this joint is more than the whole rocket's 45.0 cm² (6.98 in²)"],
    ),
    "areas crossed": (
        swapped('"drogue.toml"', '"drogue.toml"\nfore_drag_area = "5 cm^2"') + 'fore_drag_area = "10 cm^2"\n' + COAST,
        ["rocket.toml:5: bays[0].fore_drag_area: 5.00 cm² (0.775 in²) ahead of drogue is less than the 10.0 cm² (1.55 in²) ahead of main, which lies nearer the tip"],
    ),
    "a spread": (
        swapped('"drogue.toml"', '"drogue.toml"\nfore_drag_area = "5 cm^2"') + 'fore_drag_area = "1 cm^2"\n' + COAST.replace('"200 m/s"', '{ value = "200 m/s", spread = "5 %" }'),
        ["rocket.toml:11: coast.speed: nothing of a rocket file scatters; give the value alone"],
    ),
    "a wrong unit and no altitude": (
        GOOD + '[coast]\nspeed = "200 m"\ndrag_area = "45 cm^2"\n',
        [
            'rocket.toml:8: coast.altitude: missing: altitude above sea level then, such as "900 m"',
            'rocket.toml:9: coast.speed: "200 m" is a length; a velocity is wanted, such as "12 m/s"',
        ],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", list(EXPECTED))
def test_broken_rocket_files_say_what_is_wrong(name: str, folder: Path) -> None:
    text, sentences = EXPECTED[name]
    if name == "a folder":
        assert problems(folder, text)[0].startswith(sentences[0])
        return
    assert problems(folder, text) == sentences


def test_problems_of_the_cases_come_with_their_own_file_and_line(folder: Path) -> None:
    broken = DROGUE.replace('bore = "3.86 in"', 'bore = "3.86 inn"')
    (folder / "drogue.toml").write_text(broken, "utf-8")
    (folder / "cases" / "main.toml").write_text(MAIN.replace("count = 3", "count = 0"), "utf-8")
    bore = broken.split("\n").index('bore = "3.86 inn"') + 1
    pins = MAIN.split("\n").index("count = 3") + 1
    assert problems(folder, swapped('name = "main"', 'name = "drogue"')) == [
        'rocket.toml:6: bays[1].name: the bay "drogue" is named twice; give each its own name',
        f"cases/main.toml:{pins}: pins.count: given 0, allowed 1 to 24",
        f'drogue.toml:{bore}: bay.bore: unknown unit "inn"; did you mean "in"?',
    ]


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('mass = "9.2 lb"', 'mass = "2.9 lb"',
         "rocket.toml:7: bays[1].case: drogue and main have the same mass ahead of their joints, 1.32 kg (2.90 lb), so neither lies ahead of the other; weigh what is ahead of each: [nose] mass"),
        ('mass = "6.1 lb"', 'mass = "3.1 lb"',
         "rocket.toml:7: bays[1].case: the whole rocket weighs 5.90 kg (13.0 lb) by the case of drogue and 7.26 kg (16.0 lb) by that of main (nose, airframe and contents together); each case counts all of the rocket, ahead of its joint or behind it"),
    ],
)  # fmt: skip
def test_masses_that_do_not_fit_are_refused(
    folder: Path, old: str, new: str, sentence: str
) -> None:
    (folder / "drogue.toml").write_text(swapped(old, new, DROGUE), "utf-8")
    assert problems(folder, GOOD) == [sentence]


def test_section_lighter_than_what_lies_in_it_is_refused(folder: Path) -> None:
    # 0.1 lb between the joints, and 0.7 lb of contents that are not counted behind the first
    light = swapped('mass = "9.2 lb"', 'mass = "2.8 lb"', DROGUE)
    light = swapped('mass = "6.1 lb"', 'mass = "12.5 lb"', light)
    (folder / "drogue.toml").write_text(light, "utf-8")
    assert problems(folder, GOOD) == [
        "rocket.toml:7: bays[1].case: 5.94 kg (13.1 lb) lies behind the joint of main, but the whole section behind the joint of drogue weighs 5.67 kg (12.5 lb) without its packed contents; weigh both again"
    ]


def test_what_is_a_rocket_file_is_seen_at_its_top(folder: Path) -> None:
    place = folder / "rocket.toml"
    place.write_text("\ufeff" + GOOD, "utf-8")
    assert is_rocket(place) and bay_names(place) == ["drogue", "main"]
    assert [bay.case.name for bay in read_rocket(place).bays] == ["rocket-drogue", "rocket-main"]
    assert not is_rocket(folder / "drogue.toml") and not is_rocket(folder / "nowhere.toml")
    place.write_text(GOOD.replace('"drogue"', '"main"'), "utf-8")
    assert is_rocket(place) and bay_names(place) == []


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        ('name = "main"\nmass = "9.2 lb"\nside = "nose"\nhold = "500 N"\n',
         "other_joints[0].mass: 4.17 kg (9.20 lb) beyond this joint, in a section (nose) of 4.17 kg (9.20 lb): the part beyond a joint weighs less than its whole section"),
        ('name = "main"\nmass = "2 lb"\nside = "tail"\nhold = "500 N"\n',
         'other_joints[0].side: "tail" is not known; allowed: "nose", "airframe"'),
        ('name = "main"\nmass = "2 lb"\nside = "nose"\nhold = "500 N"\nsudden = "4"\n',
         'other_joints[0].sudden: given "4", allowed 1 to 3'),
        ('name = "main"\nmass = "2 lb"\nside = "nose"\nhold = "500 N"\n[[other_joints]]\nname = "main"\nmass = "1 lb"\nside = "nose"\nhold = "500 N"\n',
         'other_joints[1].name: two joints are called "main"; give each its own name'),
    ],
)  # fmt: skip
def test_broken_other_joints_say_what_is_wrong(table: str, sentence: str) -> None:
    with pytest.raises(CaseError) as caught:
        reads(f"{DROGUE}\n[[other_joints]]\n{table}")
    assert [f"{p.key}: {p.text}" for p in caught.value.problems] == [sentence]


def test_other_joints_need_a_cord() -> None:
    text = DROGUE[: DROGUE.index("[cord]")]
    table = '[[other_joints]]\nname = "main"\nmass = "2 lb"\nside = "nose"\nhold = "500 N"\n'
    with pytest.raises(CaseError, match=r"without .cord. nothing jerks at another joint"):
        reads(text + table)
