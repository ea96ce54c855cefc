"""Report of a rocket's joints: words, page, figures, numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from baypulse.case.casefile.rocket_reader import read_rocket
from baypulse.caution import CAUTION
from baypulse.members.chances import chance
from baypulse.run.result import Parachute, Verdict
from baypulse.studies.joints import report as joints_report
from baypulse.studies.joints import text as joints_text
from baypulse.studies.joints.data import joints_numbers
from baypulse.studies.joints.figures import figures
from baypulse.studies.joints.jerk_separation import Parting
from baypulse.studies.joints.page import joints_page
from baypulse.studies.joints.result import BayOpening, Drag, Jerk, JerkChange, Joints

PLOVER = Path(__file__).parents[3] / "cases" / "rockets" / "saffron-plover.toml"
OPENS, OUT = Verdict.SEPARATES, Parachute.COMES_OUT
STILL = Parting(False, 0, True, 0.0, np.zeros(0), np.zeros(0))


def jerk(**changes: object) -> Jerk:
    stays_in = JerkChange(
        "a longer cord", 500.0, 600.0, 3.1, Verdict.SEPARATES, Parachute.STAYS_IN, "so it is"
    )
    fields: dict[str, object] = {
        "joint": "main", "side": "nose", "beyond": 1.3, "section": 4.2, "felt": 200.0,
        "sudden": 2.0, "friction": 30.0, "pins": 570.0, "pin_count": 3, "parting": STILL,
        "lets_go": 2.5, "comes_out": 2.5,
        "chances": tuple(chance(n, k, 400) for n, k in (("slowly", 0), ("motion", 1), ("two", 40))),
        "checked": 16, "agreed": 15,
        "changes": (stays_in,),
    }  # fmt: skip
    return Jerk(**(fields | changes))  # type: ignore[arg-type]


def found(one: Jerk, drags: tuple[Drag, ...] = ()) -> Joints:
    rocket = read_rocket(PLOVER)
    t = np.linspace(0.3, 0.33, 40)
    load = 650.0 * np.sin(np.pi * (t - 0.3) / 0.03).clip(0.0)
    drogue, main = rocket.bays
    none = np.zeros(2)
    good = (Verdict.SEPARATES, Verdict.SEPARATES, Parachute.COMES_OUT)
    openings = (
        BayOpening("drogue", drogue.case, *good, t, load, 650.0, (one,)),
        BayOpening("main", main.case, *good, none, none, 0.0, ()),
    )
    return Joints(rocket, openings, 1.1, 19.0, drags, 400, 1, 850, ("look twice",))


def drag(**changes: object) -> Drag:
    fields: dict[str, object] = {
        "name": "main", "fore_mass": 1.3, "aft_mass": 5.9, "fore_drag": 15.0, "aft_drag": 125.0,
        "force": 10.0, "friction": 30.0, "pins": 570.0, "gives_at": 1800.0,
        "chance": chance("parts by drag", 0, 400),
    }  # fmt: skip
    return Drag(**(fields | changes))  # type: ignore[arg-type]


SHEARED = replace(STILL, pins_failed=3, held_by_pins=False, greatest_travel=4e-3,
                  times=np.array([0.31, 0.32]), travels=np.array([0.0, 4e-3]))  # fmt: skip


@pytest.mark.parametrize(
    ("one", "drags", "text"),
    [
        (jerk(), (), "No joint separates before its turn"),
        (jerk(parting=SHEARED, lets_go=0.9), (), "The main comes out when the drogue opens"),
        (jerk(chances=tuple(chance("x", 8, 400) for _ in range(3))), (),
         "The main may come out when the drogue opens: in 2.0 % of 400 shots"),
        (jerk(felt=320.0), (), "The main holds when the drogue opens, but not 2.00 times the load"),
        (jerk(), (drag(force=601.0),), "Drag parts the main in coast"),
        (jerk(parting=SHEARED, lets_go=0.9), (drag(force=601.0),),
         "Drag parts the main in coast; 2 such dangers in all"),
        (jerk(), (drag(force=500.0, chance=chance("x", 40, 400)),),
         "Drag may part the main in coast"),
    ],
)  # fmt: skip
def test_headline_says_the_worst(one: Jerk, drags: tuple[Drag, ...], text: str) -> None:
    assert joints_text.headline(found(one, drags)) == text


def test_sentences_tell_share_hold_motion_and_factor() -> None:
    joints = found(jerk())
    text = " ".join(joints_text.jerk_sentences(joints.openings[0], joints.openings[0].jerks[0]))
    for part in ("31 % of the load, 200 N (45.0 lbf)", "30.0 N (6.74 lbf) by friction",
                 "by 3 pins", "it does not move", "2.50 times this load",
                 "works 1.20 times as hard", "0.25 % of 400 shots"):  # fmt: skip
        assert part in text
    bare = jerk(pin_count=0, pins=0.0, lets_go=None, comes_out=None, checked=0)
    text = " ".join(joints_text.jerk_sentences(joints.openings[0], bare))
    assert "by friction alone" in text and "No multiple of this load" in text
    assert "followed under their own" not in text


def test_summary_fits_the_terminal_and_ends_with_the_caution() -> None:
    joints = found(jerk(), (drag(), drag(name="drogue", force=-4.0, gives_at=None)))
    text = joints_text.summary(joints)
    assert max(len(line) for line in text.split("\n")) <= 88
    assert " ".join(text.split()).endswith(" ".join(CAUTION.split()))
    assert "separates, but the parachute stays in; so it is" in " ".join(text.split())
    assert "pressed together by 4.00 N" in text and "look twice" in text
    assert "It fires last" in text


def test_folder_holds_page_numbers_and_figures(tmp_path: Path) -> None:
    joints = found(jerk(parting=SHEARED), (drag(),))
    joints = replace(joints, rocket=replace(joints.rocket, title='<b>"&'))
    files = joints_report.JOINTS.write(joints, tmp_path / "r")
    assert set(files) == {
        "index.html", "numbers.json",
        *(f"figures/{name}.{kind}" for name in ("rocket", "jerk-1-2") for kind in ("png", "svg")),
    }  # fmt: skip
    html = files["index.html"].read_text("utf-8")
    assert "<b>&quot;" not in html and "&lt;b&gt;&quot;&amp;" in html
    assert unescape(html).count(CAUTION) == 2
    assert "3 pins" in html and "its pins shear" in html
    numbers = json.loads(files["numbers.json"].read_text("utf-8"))
    assert numbers["caution"] == CAUTION and numbers["study"] == "joints"
    one = numbers["openings"][0]["jerks"][0]
    assert one["felt_N"] == 200.0 and one["felt_lbf"] == pytest.approx(44.96, rel=1e-3)
    assert one["dynamic_factor_ratio"] == pytest.approx(1.2)
    assert one["motion"]["pins_failed"] == 3
    assert numbers["coast"]["joints"][0]["gives_at_m_per_s"] == 1800.0
    assert set(numbers["cases"]) == {"drogue", "main"}
    with pytest.raises(FileExistsError, match=r"mine\.txt"):
        (tmp_path / "r" / "mine.txt").write_text("x")
        joints_report.JOINTS.write(joints, tmp_path / "r")


def test_figures_stand_any_motion_and_any_number_of_bays() -> None:
    out = replace(SHEARED, parted=True, greatest_travel=0.1, travels=np.array([0.0, 0.1]))
    for one in (jerk(), jerk(parting=out), jerk(lets_go=None, pin_count=0, pins=0.0)):
        assert set(figures(found(one))) == {"rocket", "jerk-1-2"}
    nothing = found(jerk())
    bare = replace(nothing, openings=tuple(replace(o, jerks=()) for o in nothing.openings))
    assert set(figures(bare)) == {"rocket"}


def test_fingerprint_knows_the_coast_and_the_other_cases() -> None:
    from baypulse.studies.joints.data import rocket_fingerprint

    joints = found(jerk())
    assert joints.rocket.coast is not None
    faster = replace(joints.rocket, coast=replace(joints.rocket.coast, speed=1.0))
    assert rocket_fingerprint(joints) != rocket_fingerprint(replace(joints, rocket=faster))


def test_compare_names_every_rocket() -> None:
    text = joints_text.compare([found(jerk()), found(jerk(lets_go=None), (drag(),))])
    assert text.count("saffron-plover:") == 2 and "no multiple of the load" in text


def test_every_report_says_that_it_is_about_a_flight() -> None:
    study = found(jerk())
    # the main's case is a ground test at 1200 ft, the drogue's a shot in flight
    said = " ".join(joints_text.computed(study))
    assert said.startswith("Computed in flight, whatever [setting] says")
    assert "the main is a ground test at 366 m (1200 ft)" in said and "the drogue is" not in said
    told = " ".join(joints_text.summary(study).split())
    assert said in told
    assert said in unescape(joints_page(study, {}))
    assert joints_numbers(study)["computed"] == joints_text.computed(study)
