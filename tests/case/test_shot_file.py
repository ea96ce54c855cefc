"""The file of shots: what is read, what is refused and with which words, and how one is added."""

from __future__ import annotations

import dataclasses
from datetime import date
from pathlib import Path

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.shot_file import ShotRow
from baypulse.case.model import Case
from baypulse.errors import CaseError
from baypulse.observed.shot_log import ShotLog, add_shot, measured_shots, read_log, shot_of
from report_cases import BENCH

CASE = reads(BENCH, "bench")

GOOD = """
[[shots]]
date = 2031-05-17
charge = "0.60 g"
pins = 2
note = "hot"
saw = ["separated", "all pins sheared", "peak 11 psi", "velocity 9 m/s +- 1 m/s"]

[[shots]]
saw = ["no separation"]
"""


def read(folder: Path, text: str, case: Case = CASE, name: str = "bench.shots.toml") -> ShotLog:
    place = folder / name
    place.write_text(text, "utf-8")
    return read_log(place, case)


def problems(folder: Path, text: str, name: str = "bench.shots.toml") -> list[tuple[object, str]]:
    with pytest.raises(CaseError) as caught:
        read(folder, text, name=name)
    return [(each.line, each.text) for each in caught.value.problems]


def test_a_file_is_read(tmp_path: Path) -> None:
    first, second = read(tmp_path, GOOD).shots
    assert first.charge == pytest.approx(0.6e-3)
    assert (first.pins, first.row.note, first.row.date) == (2, "hot", date(2031, 5, 17))
    assert [each.kind.name for each in first.seen] == ["outcome", "pins", "peak", "velocity"]
    # 1 psi is 6894.757 Pa (NIST SP 811)
    assert first.seen[2].value == pytest.approx(11 * 6894.757, rel=1e-6)
    assert first.opened is True
    assert (second.charge, second.pins, second.opened) == (1.0e-3, 3, False)


def test_a_table_says_the_same(tmp_path: Path) -> None:
    text = (
        "date,charge,pins,saw,note\n"
        "2031-05-17,0.60 g,2,separated; all pins sheared;peak 11 psi;velocity 9 m/s +- 1 m/s,hot\n"
        ",,,no separation,\n\n"
    )
    # as a spreadsheet writes it where the comma is in decimals
    other = (
        "date;charge;pins;saw;note\n"
        '2031-05-17;0.60 g;2;"separated; all pins sheared;peak 11 psi;'
        'velocity 9 m/s +- 1 m/s";hot\n'
        ";;;no separation;\n"
    )
    plain = read(tmp_path, GOOD).shots
    for each in (text, other):
        shots = read(tmp_path, each, name="bench.csv").shots
        assert [s.seen for s in shots] == [s.seen for s in plain]
        assert [(s.charge, s.pins, s.row.note, s.row.date) for s in shots] == [
            (s.charge, s.pins, s.row.note, s.row.date) for s in plain
        ]


def test_all_problems_come_at_once_with_their_lines(tmp_path: Path) -> None:
    text = """[[shots]]
charge = "600 mm"
saw = ["separated"]
[[shots]]
pins = "three"
date = "17 May"
saw = ["seprated", "velocity"]
[[shots]]
charg = "0.5 g"
saw = "opened"
[[shots]]
saw = ["separated", "no separation"]
[[shots]]
charge = "900 g"
saw = ["soot in the electronics bay"]
[[shots]]
charge = "0.5 g"
[[shots]]
saw = ["separated"]
note = 4
"""
    found = problems(tmp_path, text)
    assert [line for line, _ in found] == [2, 5, 6, 9, 10, 12, 14, 16, 20]
    told = [text for _, text in found]
    assert "600 mm" in told[0]
    assert "whole number" in told[1]
    assert "2031-05-17" in told[2]
    assert 'did you mean "charge"?' in told[3]
    assert "list" in told[4]
    assert "already" in told[5]
    assert "900 g" in told[6]
    assert "missing" in told[7]
    assert "text is wanted" in told[8]


def test_what_was_seen_is_understood_or_refused(tmp_path: Path) -> None:
    text = '[[shots]]\nsaw = ["seprated",\n  "velocity",\n  "soot in the electronics bay"]\n'
    (first, one), (second, two), (third, three) = problems(tmp_path, text)
    assert (first, second, third) == (2, 3, 4)
    assert one.startswith('"seprated": not known; did you mean "separated"?')
    assert two.startswith('"velocity": no number')
    assert "electronics bay" in three
    assert "--saw" not in one + two + three


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the file is empty"),
        ("# nothing yet\n", "there is no shot in it"),
        ('[bay]\nbore = "75 mm"\n', "this is a case"),
        ('[shots]\nsaw = ["separated"]\n', "two brackets"),
        ('[[shot]]\nsaw = ["separated"]\n', 'did you mean "shots"?'),
        ("[[shots]]\nsaw = [opened]\n", "TOML"),
        ("[[shots]]\nsaw = []\n", "missing"),
        ('[[shots]]\npins = 99\nsaw = ["separated"]\n', "allowed 0 to 24"),
        ('[[shots]]\ncharge = { value = "1 g" }\nsaw = ["separated"]\n', "one value is wanted"),
        ('[[shots]]\ncharge = "150 g"\nsaw = ["separated"]\n', "check the unit of the mass"),
        ('[[shots]]\nsaw = ["separated"]\n' * 101, "101 shots given"),
    ],
)
def test_a_wrong_file_is_refused(tmp_path: Path, text: str, words: str) -> None:
    assert any(words in told for _, told in problems(tmp_path, text))


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("date,charge\n2031-05-17,1 g\n", 1, 'no column "saw"'),
        ("saw,weight\nopened,1 g\n", 1, 'unknown column "weight"'),
        ("saw,saw\nopened,opened\n", 1, "given twice"),
        ("saw\nopened,pop\n", 2, "quote a cell"),
        ("pins,saw\nmany,opened\n", 2, "whole number"),
        ("date,saw\n5/17,opened\n", 2, "a date is wanted"),
        ('note,saw\n"two\nlines",opened\n,seprated\n', 4, "not known"),
    ],
)
def test_a_wrong_table_is_refused(tmp_path: Path, text: str, line: int, words: str) -> None:
    found = problems(tmp_path, text, "bench.csv")
    assert any(where == line and words in told for where, told in found)


def test_a_case_without_pins_has_none_to_count(tmp_path: Path) -> None:
    bare = dataclasses.replace(CASE, pins=None)
    with pytest.raises(CaseError, match="this case has none"):
        read(tmp_path, '[[shots]]\npins = 3\nsaw = ["separated"]\n', bare)
    (shot,) = read(tmp_path, '[[shots]]\npins = 0\nsaw = ["separated"]\n').shots
    assert shot.pins == 0


def test_a_shot_is_added_and_what_was_there_stays(tmp_path: Path) -> None:
    place = tmp_path / "bench.shots.toml"
    row = ShotRow(charge=0.6e-3, saw=('said "pop"', "x"), date=date(2031, 5, 18), note='a "b"\n\\c')
    good = ShotRow(charge=row.charge, saw=("separated", "pop"), date=row.date, note=row.note)
    assert len(add_shot(place, CASE, good, "0.60 g")) == 1
    old = b'# mine\r\n[[shots]]\r\nsaw = ["separated"]'
    place.write_bytes(old)
    log = add_shot(place, CASE, good, "0.60 g")
    assert place.read_bytes().startswith(old)
    assert len(log) == len(read_log(place, CASE)) == 2
    added = read_log(place, CASE).shots[1]
    assert added.row.note == good.note
    assert (added.charge, added.row.date, added.row.saw) == (0.6e-3, good.date, good.saw)
    before = place.read_bytes()
    with pytest.raises(CaseError, match="not known"):
        add_shot(place, CASE, row, "0.60 g")
    assert place.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == ["bench.shots.toml"]
    with pytest.raises(CaseError, match="TOML"):
        add_shot(tmp_path / "x.csv", CASE, good, "")


def test_numbers_that_were_measured_go_to_a_fit() -> None:
    rows = (
        ShotRow(charge=0.6e-3, saw=("separated", "peak 100 kPa", "velocity 9 m/s +- 1 m/s")),
        ShotRow(saw=("separated", "time 40 ms", "moved 12 mm")),
        ShotRow(saw=("separated",)),
        ShotRow(pins=1, saw=("separated", "peak 100 kPa")),
    )
    log = ShotLog("bench.shots.toml", tuple(shot_of(CASE, row) for row in rows))
    one, two = measured_shots(log, CASE)
    assert (one.mass, two.mass) == (0.6e-3, None)
    assert [each.word for each in one.scalars] == ["peak", "velocity"]
    # 7 % of the value and 1 kPa, as the data of sightings says; what somebody said comes first
    assert one.scalars[0].error == pytest.approx((7000.0**2 + 1000.0**2) ** 0.5)
    assert one.scalars[1].error == 1.0
    assert [each.word for each in two.scalars] == ["time"]
