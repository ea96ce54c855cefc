"""The window of a vent: its largest end against a brute-force grid, and what else it says."""

from __future__ import annotations

import dataclasses
import math
import warnings
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Opening, Spread
from baypulse.members import draws
from baypulse.members.charges import Charges, Tally, works
from baypulse.members.ensemble import Ensemble
from baypulse.members.factors import library_values
from baypulse.members.outcomes import run_members
from baypulse.members.parts import StudyError
from baypulse.members.thresholds import PRECISION
from baypulse.observed.flight_profile import profile
from baypulse.run.simulation import simulate
from baypulse.studies.vents.bleed import lost_share
from baypulse.studies.vents.compute import Bleeding, answer, way_up
from baypulse.studies.vents.drill_patterns import inside, middle, patterns
from baypulse.studies.vents.result import FOUND, NO_BOUND, NOT_ENOUGH, NOT_NEEDED, Vents
from baypulse.studies.vents.vent_members import Vented, find_vent, greatest_vent
from quick_bays import strand_text
from report_cases import without

CASES = Path(__file__).parents[3] / "cases"


@cache
def bay(name: str) -> Case:
    """Return the bay of a shipped case as a quick one, without contents."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        text = (CASES / f"{name}.toml").read_text("utf-8")
        return reads(without(strand_text(text), "contents"), name)


def charged(mass: float) -> Case:
    """The main bay with a charge, burning a fifth as fast so that a vent can steal of it.

    The gap round its shoulder is wide enough for the ascent.
    """
    case = with_value(bay("main-98"), "powder.rate_factor", 0.2)
    return with_value(with_value(case, "joint.clearance", 1e-4), "powder.mass", mass)


def vents(case: Case, **how: Any) -> Vents:
    """All that is found of a vent."""
    return answer(case, **how).whole(None)


def weak() -> Case:
    """The main bay with a charge that a large vent can steal."""
    return charged(0.95e-3)


@cache
def found() -> Vents:
    return vents(weak(), share=0.25, wanted=0.95, members=128, workers=2)


def bleeding(case: Case, wanted: float, members: int = 128) -> Bleeding:
    with_one, vent = find_vent(case)
    members_ = Vented(Charges(with_one, members, 1, 2, Tally()), vent)
    return Bleeding(members_, wanted, greatest_vent(case), 0.003)


def test_the_largest_vent_is_that_of_a_brute_force_grid() -> None:
    """All members at each of 16 vents, with nothing taken for granted between them."""
    case, wanted, members = weak(), 0.9, 128
    upper = bleeding(case, wanted).upper()
    plan = Ensemble(case, members, 1)
    values = draws.values(case, plan.factors, plan.points(0))
    path = "openings[0].diameter"
    assert path not in values
    grid = np.geomspace(0.003, 0.02, 16)
    opens = []
    for diameter in grid:
        drawn = {**values, path: np.full(members, diameter)}
        opens.append(int(works(run_members(case, drawn, members)).sum()))
    # what did not open with one vent did not open with a larger one
    assert np.all(np.diff(opens) <= 0)
    needed = math.ceil(wanted * members)
    last = grid[np.flatnonzero(np.array(opens) >= needed)[-1]]
    step = grid[1] / grid[0] * PRECISION
    assert opens[0] == members and opens[-1] < needed
    assert last / PRECISION <= upper.single <= last * step


def test_several_holes_are_the_one_of_the_same_area() -> None:
    """Four holes of half the diameter have the same area, so the same members separate."""
    case = weak()
    four = dataclasses.replace(
        case, openings=(dataclasses.replace(case.openings[0], diameter=0.001, count=4),)
    )
    _, vent = find_vent(four)
    assert vent.single == pytest.approx(0.002)
    one = bleeding(case, 0.9).members.fire(0.012)
    several = bleeding(four, 0.9).members.fire(0.012)
    assert one.column("peak_pressure") == pytest.approx(several.column("peak_pressure"), rel=1e-9)


def test_a_vent_that_scatters_keeps_its_scatter() -> None:
    case = weak()
    spread = Spread(distribution="normal", deviation=0.1 * case.openings[0].diameter)
    path = "openings[0].diameter"
    scattered = dataclasses.replace(case, spreads={**case.spreads, path: spread})
    drawn = bleeding(scattered, 0.9).members.drawn(0.006)[path]
    assert drawn.mean() == pytest.approx(0.006, rel=0.02)
    assert drawn.std() == pytest.approx(0.0006, rel=0.1)


def test_the_window_has_both_ends_and_the_present_vent_is_in_it() -> None:
    result = found()
    assert result.lower.state == FOUND and result.upper.state == FOUND
    assert result.is_window and result.place == "inside"
    assert result.lower.single < result.vent.single < result.upper.single
    assert result.upper.low <= result.upper.single <= result.upper.high
    assert result.upper.chance.share >= 0.95
    shares = [each.share for _, each in result.chances]
    assert shares[0] == 1.0 and shares[-1] < 0.5
    assert np.all(np.diff(shares) <= 0.0)
    forces = [push.force for push in result.pushes]
    assert np.all(np.diff(forces) < 1e-9 * forces[0])


def test_the_gap_around_the_shoulder_is_not_counted_on() -> None:
    result = found()
    assert result.leaky.state == NOT_NEEDED
    assert all(a.force >= b.force for a, b in zip(result.pushes, result.leaky_pushes, strict=True))


def test_threads_change_nothing() -> None:
    case, vent = find_vent(weak())
    members = Vented(Charges(case, 128, 1, 1, Tally()), vent)
    alone = Bleeding(members, 0.95, greatest_vent(case), vent.single).upper()
    assert alone.single == found().upper.single and alone.chance == found().upper.chance


def test_a_strong_charge_bears_any_vent_and_a_large_share_needs_none() -> None:
    # a stout holder burns its powder under a pressure of its own, whatever the vent lets go
    case = with_value(charged(3e-3), "holder.burst", 5e6)
    case = with_value(case, "holder.opening", 0.003)
    result = vents(case, share=1.0, wanted=0.9, members=128, workers=2)
    assert result.upper.state == NO_BOUND and result.lower.state == NOT_NEEDED
    assert result.is_window and result.remedies == ()


def test_a_charge_too_small_without_a_vent_is_said_to_be_and_more_charge_is_tried() -> None:
    case = charged(0.5e-3)
    result = vents(case, wanted=0.9, members=128, workers=2)
    assert result.upper.state == NOT_ENOUGH and not result.is_window
    assert result.patterns == ()
    changes = [each.change for each in result.remedies]
    assert any(change.startswith("a charge of") for change in changes)
    # more pins ask for more charge still
    assert not any("4 pins" in change for change in changes)
    best = result.remedies[0]
    assert best.opens_window and "charge" in best.change


def test_drag_that_is_over_the_share_is_helped_by_pins() -> None:
    case = weak()
    ascent = dataclasses.replace(case.ascent, drag_area=0.012, fore_drag_area=0.0001)
    case = dataclasses.replace(case, ascent=ascent)
    result = vents(case, share=0.1, wanted=0.9, members=128, workers=2)
    assert result.lower.state == NOT_ENOUGH
    assert result.pushes[-1].drag > 0.1 * result.lower.hold
    held = {each.change: each.lower.hold for each in result.remedies}
    assert held["5 pins in place of 3"] > held["4 pins in place of 3"] > result.lower.hold


def test_the_gas_that_a_vent_takes_is_what_the_bay_lacks() -> None:
    """Balance of masses: air at the start and gas burnt, less what is in the bay when it clears.

    A loose charge in a bay whose vent is its only hole, and to whose walls no salts settle; the air
    drawn in after the clearing is not in it.
    """
    case = bay("bench-76")
    case = with_value(with_value(case, "joint.clearance", 0.0), "openings[0].diameter", 0.012)
    assert len(case.openings) == 1 and case.holder is None
    settle = "powders.3F.deposition_velocity"
    assert settle in library_values(case)
    case = dataclasses.replace(case, materials={**case.materials, settle: 0.0})
    result = simulate(case)
    share = lost_share(result, find_vent(case)[1])
    clear = result.event("clear")
    names = ("products_mass", "hot_air_mass", "cold_air_mass")
    curves = [result.curves[name].values for name in names]
    at = int(np.searchsorted(result.time, clear.time))
    start, left = (sum(curve[k] for curve in curves) for k in (0, at))
    burnt = case.powder.mass * result.curves["burnt_fraction"].values[at]
    assert share > 0.1
    assert share == pytest.approx(1.0 - left / (start + burnt), abs=1e-4)


def test_without_a_vent_one_is_assumed_and_said() -> None:
    case = dataclasses.replace(weak(), openings=())
    result = vents(case, share=0.25, wanted=0.95, members=128, workers=2)
    assert result.vent.assumed and result.vent.single == 0.0
    assert any("has no vent" in text for text in result.warnings)
    assert result.upper.single == pytest.approx(found().upper.single, rel=0.02)
    assert result.place == "too small"
    assert "usual vent" in {shot.name for shot in result.shots}


def named(*names: str) -> Case:
    rows = tuple(Opening(name=name, diameter=0.003) for name in names)
    return dataclasses.replace(weak(), openings=rows)


def test_the_vent_is_the_opening_of_that_name() -> None:
    assert find_vent(named("motor", "Vent"))[1].index == 1
    assert find_vent(named("motor", "bay vent hole"))[1].index == 1
    assert find_vent(named("vent", "wire vent"))[1].index == 0
    assert find_vent(named("motor", "vent"), " Motor ")[1].index == 0


def test_a_charge_that_its_holder_cannot_take_is_told_with_what_it_takes() -> None:
    with pytest.raises(StudyError) as told:
        vents(charged(30e-3), wanted=0.9, members=128)
    for part in (
        "main-98: none of 128 simulated shots has room for its contents and grains",
        "holder.volume: 30.0 g (463 grain) of powder takes 17.1 cm³",
        "more than the holder's 4.10 cm³",
        "Give less of what fills it, or more room",
    ):
        assert part in str(told.value)


def test_spreads_that_leave_room_in_no_member_are_refused() -> None:
    # the case itself has room, its spread leaves none
    case = reads((CASES / "main-98.toml").read_text("utf-8"), "full")
    assert case.contents is not None and case.contents.volume is not None
    full = Spread(distribution="uniform", low=2.0 * case.contents.volume, high=1e-2)
    case = dataclasses.replace(case, spreads={**case.spreads, "contents.volume": full})
    with pytest.raises(
        StudyError, match=r"none of 128 simulated shots has room.*spreads.*reach too far"
    ):
        Charges(case, 128, 1, 1, Tally())


@pytest.mark.parametrize(
    ("case", "name", "sentence"),
    [
        (("upper vent", "lower vent"), None, "2 openings between bay and outside could be"),
        (("vent", "motor"), "port", 'those between bay and outside are "vent", "motor"'),
        ((), "port", "there is none at all"),
        (("vent", "vent"), "vent", "several openings have that name"),
    ],
)
def test_an_unclear_vent_gets_a_sentence(
    case: tuple[str, ...], name: str | None, sentence: str
) -> None:
    with pytest.raises(StudyError) as told:
        find_vent(named(*case), name)
    assert sentence in str(told.value) and "--opening" in str(told.value)


def test_what_cannot_be_asked_for_gets_a_sentence() -> None:
    with pytest.raises(StudyError, match="a share of 120 % of the retention cannot be asked for"):
        vents(weak(), share=1.2)
    with pytest.raises(StudyError, match="a chance of separation of 100 % cannot be asked for"):
        vents(weak(), wanted=1.0)
    with pytest.raises(StudyError, match=r"add \[ascent\]"):
        vents(dataclasses.replace(weak(), ascent=None))


def test_a_flight_is_followed_from_shortly_before_the_launch_to_its_apogee() -> None:
    whole = profile(bay("main-98"))
    time = np.concatenate([np.arange(-60.0, -0.5), whole.time, whole.time[-1] + [1.0, 2.0]])
    fields = {}
    for name in ("altitude", "speed", "pressure", "temperature", "pull"):
        row = getattr(whole, name)
        fields[name] = np.concatenate([np.full(60, row[0]), row, np.full(2, row[-1])])
    logged = dataclasses.replace(
        whole, time=time, burnout=whole.burnout + 60, apogee=whole.apogee + 60, **fields
    )
    cut = way_up(logged)
    assert cut.time[0] == -5.0 and cut.time[-1] == whole.time[-1]
    assert cut.time[cut.burnout] == whole.time[whole.burnout]
    assert cut.apogee == cut.time.size - 1 == cut.pull.size - 1


def test_drills_lie_inside_and_near_the_middle() -> None:
    result = found()
    goal = middle(result.lower, result.upper, result.greatest)
    assert goal == pytest.approx(math.sqrt(0.001 * result.upper.single))
    assert patterns(result.lower, result.upper, result.greatest) == result.patterns
    for each in result.patterns:
        assert each.single == pytest.approx(each.drill.diameter * math.sqrt(each.count))
        assert result.lower.single <= each.single <= result.upper.single
        others = inside(result.lower, result.upper, each.drill.system, each.count)
        apart = [abs(math.log(other.single / goal)) for other in others]
        assert abs(math.log(each.single / goal)) == min(apart)
        assert all(other.drill.diameter >= 0.001 for other in others)
