"""What the study of a vent says and draws, of findings that are changed by hand."""

from __future__ import annotations

import dataclasses
import io
import json
import math
import xml.etree.ElementTree as ET
from functools import cache
from typing import Any

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.members.chances import chance
from baypulse.show.data import to_json
from baypulse.studies.vents import text as words
from baypulse.studies.vents.compute import vents
from baypulse.studies.vents.drill_patterns import patterns
from baypulse.studies.vents.figures import figures, stretches
from baypulse.studies.vents.report import VENTS, comparison, summary, vent_csv, vent_numbers
from baypulse.studies.vents.result import (
    FOUND,
    NO_BOUND,
    NOT_ENOUGH,
    NOT_NEEDED,
    Lower,
    Upper,
    VentAscent,
    VentRemedy,
    Vents,
)
from report_cases import BENCH

ASCENT = """
[ascent]
burnout_height = "250 m"
burnout_speed = "160 m/s"
drag_area = "40 cm^2"
"""


@cache
def usual() -> Vents:
    case = reads(BENCH.replace("A bay for the tests", "A <bay> & more") + ASCENT, "usual")
    return vents(case, share=0.1, wanted=0.9, members=128, workers=2)


LOWERS = {
    "found": Lower(FOUND, 0.0012, 400.0),
    "not needed": Lower(NOT_NEEDED, 0.0, 400.0),
    "not enough": Lower(NOT_ENOUGH, math.inf, 400.0),
    "large": Lower(FOUND, 0.02, 400.0),
}
UPPERS = {
    "found": Upper(FOUND, 0.009, 0.008, 0.0101, chance("separates", 1521, 1536)),
    "no bound": Upper(NO_BOUND, math.inf, math.nan, math.nan, chance("separates", 1536, 1536)),
    "not enough": Upper(NOT_ENOUGH, 0.0, math.nan, math.nan, chance("separates", 100, 1536)),
}


def made(lower: str, upper: str, **changes: Any) -> Vents:
    ends = LOWERS[lower], UPPERS[upper]
    found = patterns(*ends, usual().greatest)
    held = {"lower": ends[0], "upper": ends[1], "patterns": found, **changes}
    return dataclasses.replace(usual(), **held)


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
        ("not enough", "found", "No vent keeps the joint below 10 % of its hold", False),
        ("found", "not enough", "Even with no vent this charge opens the bay in less", False),
        ("not enough", "not enough", "Even with no vent this charge opens the bay in", False),
    ],
)  # fmt: skip
def test_every_outcome_is_told_drawn_and_written(
    lower: str, upper: str, told: str, window: bool
) -> None:
    result = made(lower, upper)
    assert words.headline(result).startswith(told)
    assert result.is_window is window
    for sentence in words.answer(result):
        assert sentence[0].isupper() and sentence.endswith((".", ")."))
        assert not any(word in sentence for word in ("nan", "inf ", "None", "  "))
    text = summary(result)
    assert max(map(len, text.splitlines())) <= 88
    assert " ".join(CAUTION.split()) in " ".join(text.split())
    numbers = json.loads(to_json(vent_numbers(result)))
    assert numbers["window"] is window and numbers["caution"] == CAUTION
    for figure in figures(result).values():
        figure.savefig(io.BytesIO())
    names = [name for each in stretches(result) for name in each.names]
    assert ("the window" in names) is window


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
        told = " ".join(words.matter(result))
        assert ("So it matters for this burn" in told) is known
        assert ("it would matter too" if known else "it would matter.") in told


def test_the_largest_vent_is_not_recommended_for_a_slow_powder() -> None:
    shot = dataclasses.replace(
        usual().shots[0], name="largest vent", slow=True, opens=chance("separates", 64, 256)
    )
    result = dataclasses.replace(usual(), shots=(*usual().shots, shot))
    assert any("Do not go as far as the largest vent" in each for each in words.matter(result))
    fine = dataclasses.replace(shot, opens=chance("separates", 256, 256))
    result = dataclasses.replace(
        usual(), shots=(*(s for s in usual().shots if s.name != "largest vent"), fine)
    )
    assert not any("Do not go as far" in each for each in words.matter(result))


def test_changes_are_listed_and_those_that_open_it_told() -> None:
    good = VentRemedy("4 pins in place of 3", LOWERS["found"], UPPERS["found"])
    bad = VentRemedy("2 pins in place of 3", LOWERS["large"], UPPERS["found"])
    result = made("large", "found", remedies=(good, bad))
    assert any("What would open it: 4 pins in place of 3: smallest 1.20 mm" in each
               for each in words.answer(result))  # fmt: skip
    assert [row[3] for row in words.remedy_rows(result)] == ["a window", "still none"]
    none = made("large", "found", remedies=(bad,))
    assert any("The one change tried gives no window" in each for each in words.answer(none))
    none = made("large", "found", remedies=(bad, bad))
    assert any("None of the 2 changes tried" in each for each in words.answer(none))


def test_the_page_is_well_formed_and_stands_alone(tmp_path: Any) -> None:
    files = VENTS.write(usual(), tmp_path / "report")
    page = files["index.html"].read_text("utf-8")
    assert "A &lt;bay&gt; &amp; more" in page and "<bay>" not in page
    assert page.count("<figure") == len(figures(usual()))
    assert "http" not in page.replace("http://www.w3.org", "")
    body = page[page.index("<body>") : page.index("</body>") + 7]
    ET.fromstring(body.replace("<br>", "<br/>"))
    for name in words.headline(usual()), "Does it matter?", "common practice, no source":
        assert name.lower() in page.lower()


def test_the_table_has_both_unit_systems() -> None:
    """1 in is 25.4 mm and 1 lbf 4.4482216 N; international definitions, from memory."""
    lines = vent_csv(usual()).splitlines()
    names = lines[0].split(",")
    rows = np.array([[float(cell) for cell in line.split(",")] for line in lines[1:]])
    held = dict(zip(names, rows.T, strict=True))
    assert held["single_hole_mm"] == pytest.approx(25.4 * held["single_hole_in"])
    assert held["force_N"] == pytest.approx(4.4482216 * held["force_lbf"])
    assert held["share_of_hold_ratio"] == pytest.approx(held["force_N"] / usual().lower.hold)
    assert rows.shape[0] == len(usual().pushes)


def test_several_cases_stand_in_one_table() -> None:
    text = comparison([made("found", "found"), made("not needed", "no bound")])
    assert "1.20 mm" in text and "none needed" in text and "any up to" in text
    assert max(map(len, text.splitlines())) <= 88
