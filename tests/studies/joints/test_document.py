"""What the document of a rocket's joints says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from baypulse.members.chances import chance
from baypulse.show import as_html, as_json, in_terminal
from baypulse.studies.joints import words
from baypulse.studies.joints.document import compare, document
from baypulse.studies.joints.result import Drag, Jerk
from joints_findings import SHEARED, drag, every, found, jerk


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("one", "drags", "text"),
    [
        (jerk(), (), "No joint separates before its turn"),
        (jerk(parting=SHEARED, lets_go=0.9), (), "The main comes out when the drogue opens"),
        (jerk(chances=tuple(chance("x", 8, 400) for _ in range(3))), (),
         "The main may come out when the drogue opens: in under 4 % of the shots (2.0 % of 400 "
         "simulated shots)"),
        (jerk(felt=320.0), (), "The main holds when the drogue opens, but not 2.00 times the load"),
        (jerk(), (drag(force=601.0),), "Drag parts the main in coast"),
        (jerk(parting=SHEARED, lets_go=0.9), (drag(force=601.0),),
         "Drag parts the main in coast; 2 such dangers in all"),
        (jerk(), (drag(force=500.0, chance=chance("x", 40, 400)),),
         "Drag may part the main in coast"),
    ],
)  # fmt: skip
def test_headline_says_the_worst(one: Jerk, drags: tuple[Drag, ...], text: str) -> None:
    assert words.headline(found(one, drags)) == text


def test_a_jerk_is_told_by_share_hold_motion_and_factor() -> None:
    told = flat(in_terminal.told(document(found(jerk())), full=True))
    for part in ("31 % of the load, 200 N (45.0 lbf)", "30.0 N (6.74 lbf) by friction",
                 "by 3 pins", "it does not move", "2.50 times this load",
                 "works 1.20 times as hard", "under 4 %"):  # fmt: skip
        assert part in told
    bare = jerk(pin_count=0, pins=0.0, lets_go=None, comes_out=None, parting=SHEARED)
    told = flat(in_terminal.told(document(found(bare)), full=True))
    assert "by friction alone" in told and "No multiple of this load" in told
    told = flat(in_terminal.told(document(found(jerk(parting=SHEARED))), full=True))
    assert "its pins shear, and friction stops it after 4.00 mm (0.157 in)" in told


def test_a_change_and_the_coast_are_told() -> None:
    usual = document(every()["usual"])
    (changes,) = [table for table in usual.tables if table.name == "changes_1_2"]
    assert changes.rows[1][4].text == "separates, but the parachute stays in"
    assert changes.rows[1][5] == "so it is"
    told = flat(in_terminal.told(usual, full=True))
    assert "pressed together by 4.00 N (0.899 lbf)" in told and "look twice" in told
    assert "It fires last" in told


def test_what_helps_is_the_next_step_where_the_joint_is_in_doubt() -> None:
    (test,) = document(found(jerk())).next_steps
    assert (
        test == "Ground-test the drogue with the joint of the main closed and pinned as in flight."
    )
    first, _ = document(found(jerk(felt=320.0))).next_steps
    assert first == ("Of the changes tried this helps the main most: a longer cord. It then lets "
                     "go at 3.10 times the load.")  # fmt: skip


def test_numbers_hold_what_was_found() -> None:
    numbers = as_json.numbers(document(found(jerk(parting=SHEARED), (drag(),))))
    facts = numbers["tables"]["jerk_1_2"]
    assert facts["felt_N"] == 200.0 and facts["felt_lbf"] == pytest.approx(44.96, rel=1e-3)
    # 600 N hold against 2.5 times 200 N
    assert facts["dynamic_factor_ratio"] == pytest.approx(1.2)
    assert facts["pins_failed"] == 3 and not facts["held_by_pins"]
    assert numbers["tables"]["coast"][0]["gives_at_m_per_s"] == 1800.0
    assert set(numbers["case"]) == {"saffron-plover-drogue", "saffron-plover-main"}


def test_figures_are_named_by_opening_and_joint() -> None:
    assert [each.name for each in document(found(jerk())).figures] == ["rocket", "jerk-1-2"]
    assert [each.name for each in document(every()["without jerks"]).figures] == ["rocket"]


def test_what_was_read_is_the_rocket_and_every_case() -> None:
    joints = found(jerk())
    page = as_html.page(document(joints), {"rocket": "", "jerk-1-2": ""})
    assert "fore_drag_area" in page and page.count("<pre>") == 3
    other = replace(joints.rocket, source_text=joints.rocket.source_text.replace("760", "76"))
    faster = document(replace(joints, rocket=other))
    assert as_json.numbers(document(joints))["sha256"] != as_json.numbers(faster)["sha256"]


def test_compare_has_a_line_for_every_load_on_a_joint() -> None:
    table = compare([found(jerk()), found(jerk(lets_go=None), (drag(),))])
    assert [row[1:4] for row in table.rows] == [
        ("drogue opens", "main", 2.5), ("drogue opens", "main", None), ("coast", "main", 60.0),
    ]  # fmt: skip
    assert "no multiple" in in_terminal.comparison(table)


def test_every_report_says_that_it_is_about_a_flight() -> None:
    said = document(found(jerk()))
    assert said.sentences[-1].startswith("Computed in flight, whatever [setting] says")
    # the main's case is a ground test at 1200 ft, the drogue's a shot in flight
    (_, kept) = said.warnings
    assert "the main is a ground test at 366 m (1200 ft)" in kept
