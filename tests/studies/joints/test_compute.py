"""The joints of a rocket as a whole: shares, chances, changes, and the drag of the coast."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import fluids
import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.rocket_reader import read_rocket
from baypulse.case.geometry import felt_share
from baypulse.case.model import Case, Cord, OtherJoint, Setting, Spread
from baypulse.case.rocket import Rocket
from baypulse.members import draws, outcomes
from baypulse.members.ensemble import Ensemble
from baypulse.observed.flight_profile import drag_separation
from baypulse.run.result import Verdict
from baypulse.run.simulation import simulate
from baypulse.studies.joints.compute import coast_drags, in_flight, joints
from baypulse.studies.joints.jerk_separation import closed_joint, lets_go, load_of, part
from baypulse.studies.joints.result import Joints
from baypulse.studies.sweep.axes import axis
from baypulse.studies.sweep.compute import sweep
from quick_bays import strand_text

CASES = Path(__file__).parents[3] / "cases"
DROGUE = CASES / "rockets" / "plover-drogue-98.toml"
MEMBERS = 1024


def quick(file: Path) -> str:
    """Return the text of a shipped case with powder that burns as a strand does.

    With 0.9 g of it the drogue's bay separates, and its cord pulls, whatever is drawn.
    """
    text = strand_text(file.read_text("utf-8"))
    return re.sub(r'(mass = \{ value = )"2.0 g"', r'\1"0.9 g"', text)


@pytest.fixture(scope="module")
def plover(tmp_path_factory: pytest.TempPathFactory) -> Rocket:
    """Return the shipped rocket with quick powder."""
    folder = tmp_path_factory.mktemp("cases")
    (folder / "rockets").mkdir()
    (folder / "rockets" / DROGUE.name).write_text(quick(DROGUE), "utf-8")
    (folder / "main-98.toml").write_text(quick(CASES / "main-98.toml"), "utf-8")
    rocket = folder / "rockets" / "saffron-plover.toml"
    shutil.copy(CASES / "rockets" / rocket.name, rocket)
    return read_rocket(rocket)


@pytest.fixture(scope="module")
def found(plover: Rocket) -> Joints:
    return joints(plover, members=MEMBERS, seed=5)


@pytest.fixture(scope="module")
def few(plover: Rocket) -> Joints:
    """Return the same with few members, for what is to be the same to the last bit."""
    return joints(plover, members=128, seed=5)


def test_jerk_of_the_drogue_is_that_of_its_own_run(plover: Rocket, found: Joints) -> None:
    drogue = plover.bays[0]
    result = simulate(drogue.plain)
    (jerk,) = found.openings[0].jerks
    # the highest point of the curve; the run's number puts a parabola through three
    assert found.openings[0].cord_load == pytest.approx(result.numbers.cord_load, rel=5e-4)
    # 2.9 lb of 9.2 lb, typed in the two case files
    assert jerk.share == pytest.approx(2.9 / 9.2)
    assert jerk.felt == pytest.approx(2.9 / 9.2 * found.openings[0].cord_load)
    assert jerk.hold == pytest.approx(drogue.case.other_joints[0].hold)
    assert found.openings[1].jerks == ()


def test_factor_is_where_a_fine_grid_of_loads_begins_to_part_it(
    plover: Rocket, found: Joints
) -> None:
    drogue, main = plover.bays
    (jerk,) = found.openings[0].jerks
    result = simulate(drogue.plain)
    load = load_of(result.time, result.cord_force)
    joint = closed_joint(main.plain, jerk.beyond, jerk.section)
    assert jerk.lets_go is not None
    grid = jerk.lets_go * np.linspace(0.97, 1.03, 13)
    parts = [lets_go(part(joint, load, float(factor))) for factor in grid]
    assert parts == sorted(parts) and not parts[0] and parts[-1]
    first = grid[parts.index(True)]
    assert first == pytest.approx(jerk.lets_go, rel=0.006)


def test_chances_follow_the_factors_and_the_threads_do_not_matter(
    plover: Rocket, found: Joints, few: Joints
) -> None:
    again = joints(plover, members=128, seed=5, workers=2)
    (jerk,), (same,) = few.openings[0].jerks, again.openings[0].jerks
    assert jerk.chances == same.chances and jerk.changes == same.changes
    (jerk,) = found.openings[0].jerks
    slowly, moving, assumed = (each.share for each in jerk.chances)
    assert jerk.dynamic_factor is not None and 1.0 < jerk.dynamic_factor < jerk.sudden
    assert slowly <= moving <= assumed
    assert jerk.agreed >= 0.9 * jerk.checked > 0


def test_chance_by_the_assumed_factor_is_that_of_the_limit_in_a_scatter(
    plover: Rocket, found: Joints
) -> None:
    # there the main's hold is one normal number, here its pins are drawn one by one
    case = plover.bays[0].case
    case = replace(case, other_joints=tuple(replace(j, sudden=1.0) for j in case.other_joints))
    plan = Ensemble(case, MEMBERS, 8)
    values = draws.values(case, plan.factors, plan.points(0))
    exceeded = outcomes.run_members(case, values, MEMBERS).exceeded[:, -1]
    slowly = found.openings[0].jerks[0].chances[0]
    # two shares of 1024 near one half: each has a standard deviation of at most 0.016
    assert exceeded.mean() == pytest.approx(slowly.share, abs=4.0 * 0.016 * 2**0.5)


def test_every_change_helps_and_says_what_its_run_says(plover: Rocket, found: Joints) -> None:
    (jerk,) = found.openings[0].jerks
    factors = [each.factor for each in jerk.changes]
    assert jerk.lets_go is not None
    assert len(factors) == 5 and all(f is not None and f > jerk.lets_go for f in factors)
    assert factors == sorted(factors, reverse=True)  # type: ignore[type-var]
    (longer,) = (each for each in jerk.changes if each.words.startswith("a longer cord"))
    case = plover.bays[0].plain
    assert case.cord is not None
    own = simulate(replace(case, cord=replace(case.cord, length=1.5 * case.cord.length)))
    assert longer.cord_load == pytest.approx(own.numbers.cord_load, rel=5e-4)
    (pin,) = (each for each in jerk.changes if each.words.startswith("one more pin"))
    assert pin.hold == pytest.approx(jerk.hold + jerk.pins / 3.0)
    assert "its own charge" in pin.aside


def test_limit_is_elementwise_and_seen_by_members_and_sweeps(plover: Rocket) -> None:
    case = plover.bays[0].case
    names = outcomes.limit_names(case)
    assert names[-1] == "main: jerk of the cord"
    plan = Ensemble(case, 64, 2)
    values = draws.values(case, plan.factors, plan.points(0))
    assert "other_joints[0].hold" in values
    shots = outcomes.run_members(case, values, 64)
    felt = 2.9 / 9.2 * 2.0 * shots.column("cord_load")
    expected = np.nan_to_num(felt) > values["other_joints[0].hold"]
    assert np.array_equal(shots.exceeded[:, -1], expected)
    over = sweep(case, [axis(case, "other_joints[0].hold=300 N..2000 N:5")])
    load = simulate(case).numbers.cord_load
    assert load is not None
    hard = 2.9 / 9.2 * 2.0 * load > np.linspace(300.0, 2000.0, 5)
    assert 0 < hard.sum() < 5
    too_hard = over.verdict == Verdict.SEPARATES_TOO_HARD.code
    assert too_hard.tolist() == hard.tolist()
    assert np.all(too_hard | (over.verdict == Verdict.SEPARATES.code))
    assert over.axes[0].label == "hold of main"


def test_case_of_a_rocket_is_made_again_by_its_text(plover: Rocket) -> None:
    case = plover.bays[0].case
    again = reads(case.source_text)
    assert again.other_joints == case.other_joints and again.spreads == case.spreads
    assert case.provenance["other_joints[0].hold"].origin == "rocket"


@pytest.fixture
def three(tmp_path: Path) -> Rocket:
    """A rocket that separates in its middle first, with a joint ahead and one behind."""
    middle, main = quick(DROGUE), quick(CASES / "main-98.toml")
    tail = middle.replace('mass = "9.2 lb"', 'mass = "12.5 lb"')
    tail = tail.replace('mass = "6.1 lb"', 'mass = "2.8 lb"')
    for name, text in (("middle", middle), ("main", main), ("tail", tail)):
        (tmp_path / f"{name}.toml").write_text(text, "utf-8")
    lines = ['title = "three"']
    for name in ("middle", "main", "tail"):
        lines += ["[[bays]]", f'name = "{name}"', f'case = "{name}.toml"']
    (tmp_path / "three.toml").write_text("\n".join(lines), "utf-8")
    return read_rocket(tmp_path / "three.toml")


def test_joints_lie_on_the_side_that_the_masses_say(three: Rocket) -> None:
    first = {joint.name: joint for joint in three.bays[0].case.other_joints}
    pound = 0.45359237
    assert (first["main"].side, first["tail"].side) == ("nose", "airframe")
    assert first["main"].mass == pytest.approx(2.9 * pound)
    # behind the tail's joint lie its airframe and its packed contents
    assert first["tail"].mass == pytest.approx((2.8 + 0.7) * pound)
    case = three.bays[0].case
    assert felt_share(case, first["tail"]) == pytest.approx(3.5 / 6.1)
    second = three.bays[1].case.other_joints
    assert [(joint.name, joint.side) for joint in second] == [("tail", "airframe")]
    assert three.bays[2].case.other_joints == ()


def test_both_sections_of_an_opening_are_examined(three: Rocket) -> None:
    result = joints(three, members=64)
    assert [jerk.joint for jerk in result.openings[0].jerks] == ["main", "tail"]
    assert [jerk.joint for jerk in result.openings[1].jerks] == ["tail"]
    assert result.drags == () and np.isnan(result.density)


def test_bay_without_a_cord_jerks_at_nothing_and_that_is_said(plover: Rocket) -> None:
    drogue, main = plover.bays
    bare = replace(drogue, case=replace(drogue.plain, cord=None, name="x"),
                   plain=replace(drogue.plain, cord=None))  # fmt: skip
    result = joints(replace(plover, bays=(bare, main)), members=32)
    assert result.openings[0].jerks == ()
    assert result.warnings == (
        "drogue: this case has no cord, so it jerks at no other joint",
    )  # fmt: skip


def as_tested(rocket: Rocket, setting: Setting, **spreads: Spread) -> Rocket:
    """Return the rocket with every case in another setting."""
    scatter = {f"setting.{name}": spread for name, spread in spreads.items()}

    def tested(case: Case) -> Case:
        return replace(case, setting=setting, spreads=case.spreads | scatter)

    return replace(
        rocket,
        bays=tuple(
            replace(bay, case=tested(bay.case), plain=tested(bay.plain)) for bay in rocket.bays
        ),
    )


GROUND = [
        (Setting(kind="clamped"), {}),
        (Setting(kind="clamped", attitude=1.2), {}),
        (Setting(kind="stand", stand_friction=0.9, ground_friction=0.2),
         {"stand_friction": Spread(distribution="normal", deviation=0.1, low=0.0, high=5.0)}),
        (Setting(kind="flight", attitude=-0.5), {}),
]  # fmt: skip


@pytest.mark.parametrize(("setting", "spreads"), GROUND)
def test_a_flight_is_a_flight_whatever_the_setting_of_the_cases(
    plover: Rocket, few: Joints, setting: Setting, spreads: dict[str, Spread]
) -> None:
    other = joints(as_tested(plover, setting, **spreads), members=128, seed=5)
    for opening, same in zip(few.openings, other.openings, strict=True):
        assert opening.verdict == same.verdict and opening.contents == same.contents
        assert np.array_equal(opening.loads, same.loads)
        for jerk, again in zip(opening.jerks, same.jerks, strict=True):
            assert jerk.chances == again.chances and jerk.changes == again.changes
            assert (jerk.lets_go, jerk.checked, jerk.agreed) == (
                again.lets_go, again.checked, again.agreed,
            )  # fmt: skip
    assert few.drags == other.drags


def test_attitude_makes_no_difference_between_two_free_sections(plover: Rocket) -> None:
    # both fall alike: Newton's second law for two bodies under one gravity
    case = plover.bays[0].plain
    up = replace(case, setting=replace(case.setting, attitude=1.0))
    level, steep = simulate(in_flight(case)).numbers, simulate(up).numbers
    assert steep.clear_velocity == pytest.approx(level.clear_velocity, rel=1e-5)
    assert steep.cord_load == pytest.approx(level.cord_load, rel=1e-4)


# Newton's second law for the part ahead, with one deceleration of both parts; any mechanics text
def test_drag_separation_is_what_the_part_ahead_lacks() -> None:
    fore, aft, fore_drag, aft_drag = 1.3, 5.9, 15.0, 125.0
    a = (fore_drag + aft_drag) / (fore + aft)
    assert drag_separation(fore, aft, fore_drag, aft_drag) == pytest.approx(fore * a - fore_drag)
    # by symmetry drag in proportion to the masses pulls at nothing
    assert drag_separation(2.0, 6.0, 10.0, 30.0) == pytest.approx(0.0)
    assert drag_separation(2.0, 6.0, 20.0, 20.0) < 0.0


def test_coast_uses_the_standard_atmosphere(plover: Rocket, found: Joints) -> None:
    # US Standard Atmosphere 1976 as in the library fluids (equal to ISO 2533 there)
    density = fluids.ATMOSPHERE_1976(2600 * 0.3048).rho
    assert found.density == pytest.approx(density, rel=1e-4)
    head = 0.5 * density * (760 * 0.3048) ** 2
    whole = 16.0 * 0.45359237
    assert found.deceleration == pytest.approx(head * 46e-4 / whole, rel=1e-4)
    main, drogue = found.drags
    assert (main.name, drogue.name) == ("main", "drogue")
    fore = 2.9 * 0.45359237
    assert main.force == pytest.approx(fore * found.deceleration - head * 5e-4, rel=1e-3)
    assert main.gives_at == pytest.approx(760 * 0.3048 * (main.hold / main.force) ** 0.5)
    assert main.chance.count == 0


def test_coast_so_fast_that_it_parts_is_found(plover: Rocket) -> None:
    assert plover.coast is not None
    slow = coast_drags(plover, 32, 1)[2][1]
    assert slow.gives_at is not None
    for factor, parts in ((0.9, False), (1.1, True)):
        coast = replace(plover.coast, speed=factor * slow.gives_at)
        drag = coast_drags(replace(plover, coast=coast), 32, 1)[2][1]
        assert (drag.force > drag.hold) is parts


def test_other_joint_without_spread_is_one_number() -> None:
    text = quick(DROGUE)
    table = '[[other_joints]]\nname = "main"\nmass = "2.9 lb"\nside = "nose"\nhold = "600 N"\n'
    case = reads(f"{text}\n{table}")
    assert case.other_joints == (
        OtherJoint(name="main", side="nose", mass=2.9 * 0.45359237, hold=600.0),
    )
    assert not [path for path in case.spreads if path.startswith("other_joints")]
    assert isinstance(case.cord, Cord)
    (check,) = (c for c in simulate(case).limit_checks if c.name.startswith("main"))
    assert check.limit == 600.0 and not check.met
