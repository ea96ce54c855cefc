"""What the study of a vent says and draws, of findings that are changed by hand."""

from __future__ import annotations

import csv
import dataclasses
import io
from typing import Any

import numpy as np
import pytest

from baypulse.members.chances import chance
from baypulse.show import as_csv, in_terminal
from baypulse.studies.vents import words
from baypulse.studies.vents.document import compare, document
from baypulse.studies.vents.figures import stretches
from baypulse.studies.vents.result import FOUND, Lower, VentAscent
from studies.vents.documents import BAD, GOOD, UPPERS, answered, made, usual


@pytest.mark.parametrize(
    ("lower", "upper", "told", "window"),
    [
        ("found", "found", "Vent of 1.20 mm (0.0472 in) or more; the charge bears up to", True),
        ("found", "no bound", "Vent of 1.20 mm (0.0472 in) or more; the charge bears any", True),
        ("not needed", "found", "No vent is needed during the ascent; the charge bears up "
                                "to", True),
        ("not needed", "no bound", "No vent is needed during the ascent; the charge bears "
                                   "any", True),
        ("large", "found", "No vent does for both: the ascent needs 20.0 mm", False),
        ("not enough", "found", "No vent keeps the joint below 10 % of its retention", False),
        ("found", "not enough", "Even with no vent this charge opens the bay in less", False),
        ("not enough", "not enough", "Even with no vent this charge opens the bay in", False),
    ],
)  # fmt: skip
def test_every_outcome_is_told(lower: str, upper: str, told: str, window: bool) -> None:
    result = made(lower, upper)
    assert words.headline(result).startswith(told)
    assert result.is_window is window
    said = document(result)
    assert said.findings["window"] is window
    for sentence in [*said.sentences, *said.next_steps, *words.slower(result)]:
        assert sentence[0].isupper() and sentence.endswith((".", ")."))
        assert not any(word in sentence for word in ("nan", "inf ", "None", "  "))
    names = [name for each in stretches(result) for name in each.names]
    assert ("the window" in names) is window


def test_the_answer_is_what_is_told_of_the_whole() -> None:
    first, whole = answered().findings, usual()
    assert first.runs < whole.runs and len(first.shots) < len(whole.shots)
    assert in_terminal.told(document(first)) == in_terminal.told(document(whole))


def test_the_place_of_the_present_vent() -> None:
    vent = dataclasses.replace(usual().vent, diameter=0.003, count=4)  # as one hole 6 mm
    place = {
        (low, high): dataclasses.replace(
            usual(), vent=vent, lower=Lower(FOUND, low, 400.0),
            upper=dataclasses.replace(UPPERS["found"], single=high),
        ).place
        for low, high in ((0.005, 0.007), (0.0061, 0.007), (0.005, 0.0059), (0.0061, 0.0059))
    }  # fmt: skip
    assert list(place.values()) == ["inside", "too small", "too large", "neither"]
    assert "4 holes of 3.00 mm (0.118 in), 3.0 mm drill; as one hole 6.00 mm" in words.vent_words(
        dataclasses.replace(usual(), vent=vent)
    )


def test_drag_alone_is_told_apart_from_air() -> None:
    widest = VentAscent(0.019, 300.0, 10.0, 299.0, 4.0, 400.0)
    result = made("not enough", "found", pushes=(usual().pushes[0], widest))
    assert any("no vent helps, more or stronger pins do" in each for each in words.answer(result))
    weak = made("not enough", "found", pushes=(usual().pushes[0], dataclasses.replace(
        widest, drag=1.0)))  # fmt: skip
    assert not any("Drag alone" in each for each in words.answer(weak))


def test_whether_it_matters_follows_from_the_numbers() -> None:
    closed, present = (
        next(shot for shot in usual().shots if shot.name == name and not shot.slow)
        for name in ("no vent", "present vent")
    )
    all_open = chance("separates", 256, 256)
    base = dataclasses.replace(closed, peak=100e3, opens=all_open)
    for peak, opens, known in (
        (96e3, all_open, False), (94e3, all_open, True),
        (99e3, chance("separates", 250, 256), True),
    ):  # fmt: skip
        shots = (base, dataclasses.replace(present, peak=peak, opens=opens))
        slow = tuple(
            dataclasses.replace(shot, slow=True, peak=shot.peak * (1.0 if k == 0 else 0.5))
            for k, shot in enumerate(shots)
        )
        result = dataclasses.replace(usual(), shots=shots + slow)
        assert words.matters(result) is known
        told = " ".join([*words.matter(result), *words.slower(result)])
        assert ("So it matters for this burn" in told) is known
        assert ("it would matter too" if known else "it would matter.") in told


def test_the_largest_vent_is_not_recommended_for_a_slow_powder() -> None:
    shot = dataclasses.replace(
        usual().shots[0], name="largest vent", slow=True, opens=chance("separates", 64, 256)
    )
    result = dataclasses.replace(usual(), shots=(*usual().shots, shot))
    assert any("Do not go as far as the largest vent" in each for each in words.too_far(result))
    fine = dataclasses.replace(shot, opens=chance("separates", 256, 256))
    result = dataclasses.replace(
        usual(), shots=(*(s for s in usual().shots if s.name != "largest vent"), fine)
    )
    assert not any("Do not go as far" in each for each in words.too_far(result))


def test_changes_that_open_an_empty_window_are_told() -> None:
    result = made("large", "found", remedies=(GOOD, BAD))
    assert any("What would open it: 4 pins in place of 3: smallest 1.20 mm" in each
               for each in words.answer(result))  # fmt: skip
    table = next(table for table in document(result).tables if table.name == "remedies")
    assert [row[-1] for row in table.rows] == [True, False]
    none = made("large", "found", remedies=(BAD,))
    assert any("The one change tried gives no window" in each for each in words.answer(none))
    none = made("large", "found", remedies=(BAD, BAD))
    assert any("None of the 2 changes tried" in each for each in words.answer(none))


def test_the_next_step_is_a_drill_or_another_charge() -> None:
    (drill,) = words.next_steps(made("found", "found"))
    # the middle of 1.2 mm and 9 mm is 3.29 mm
    assert drill.startswith("Drill, for the middle of the window, 1 hole of 1/8 in, #30 or 3.3 mm")
    assert words.next_steps(made("found", "not enough")) == [
        "Find a charge that is enough: baypulse window usual.toml."
    ]
    assert words.next_steps(made("large", "found")) == []


def test_the_table_has_both_unit_systems() -> None:
    """1 in is 25.4 mm and 1 lbf 4.4482216 N; international definitions, from memory."""
    lines = csv.DictReader(io.StringIO(as_csv.text(document(usual()).files["vents.csv"])))
    rows = [row for row in lines if row["shoulder"] == "tight"]
    assert len(rows) == len(usual().pushes)

    def held(name: str) -> Any:
        return np.array([float(row[name]) for row in rows])

    assert held("single_hole_m") == pytest.approx(0.0254 * held("single_hole_in"))
    assert held("force_N") == pytest.approx(4.4482216 * held("force_lbf"))
    assert held("share_of_retention_ratio") == pytest.approx(held("force_N") / usual().lower.hold)


def test_several_cases_stand_in_one_table() -> None:
    text = in_terminal.comparison(compare([made("found", "found"), made("not needed", "no bound")]))
    assert "1.20 mm" in text and "none needed" in text and "any up to" in text
    assert max(map(len, text.splitlines())) <= 88
