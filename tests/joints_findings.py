"""Made-up findings of a rocket's joints, for the tests of documents."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from baypulse.case.casefile.rocket_reader import read_rocket
from baypulse.members.chances import chance
from baypulse.run.result import Parachute, Verdict
from baypulse.studies.joints.jerk_separation import Parting
from baypulse.studies.joints.result import BayOpening, Drag, Jerk, JerkChange, Joints

PLOVER = Path(__file__).parents[1] / "cases" / "rockets" / "saffron-plover.toml"

STILL = Parting(False, 0, True, 0.0, np.zeros(0), np.zeros(0))
SHEARED = replace(STILL, pins_failed=3, held_by_pins=False, greatest_travel=4e-3,
                  times=np.array([0.31, 0.32]), travels=np.array([0.0, 4e-3]))  # fmt: skip
OUT = replace(SHEARED, parted=True, greatest_travel=0.1, travels=np.array([0.0, 0.1]))


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


def every() -> dict[str, Joints]:
    """Return findings of each kind by a name."""
    nothing = found(jerk())
    bare = jerk(parting=OUT, pin_count=0, pins=0.0, lets_go=None, comes_out=None)
    return {
        "usual": found(jerk(), (drag(), drag(name="drogue", force=-4.0, gives_at=None))),
        "sheared": found(jerk(parting=SHEARED, lets_go=0.9), (drag(),)),
        "without pins": found(bare),
        "without jerks": replace(
            nothing, openings=tuple(replace(each, jerks=()) for each in nothing.openings)
        ),
        "strange title": replace(nothing, rocket=replace(nothing.rocket, title='<b>"&')),
    }
