"""The study of the cord: search against closed forms, margins against members run afresh."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from baypulse import simulate
from baypulse.case import cord_fields
from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.outcomes import run_members
from baypulse.members.parts import StudyError
from baypulse.studies.cord.compute import CLOSE, NARROW, cord, least_length
from baypulse.studies.cord.result import CarriedLoad, Cords, Point, margin_held, spans
from quick_bays import strand_text
from report_cases import BENCH, TEXTS, without

CASES = Path(__file__).parents[3] / "cases"

BRAKE = '\n[[brakes]]\nname = "folds"\ncount = 2\nforce = "60 N"\nstroke = "120 mm"\n'


BAY = strand_text(BENCH)
"""A bay that separates whatever is drawn: a load needs a shot that separates."""


GENTLE = BAY.replace("1.00 g", "0.60 g")
"""The same with so little that the nose picks the contents up before its cord is drawn out."""

WANTED = 4.0
"""A margin that the shipped bay does not have with its shortest cord."""


@cache
def main() -> Case:
    """Return a shipped case, with powder so quick that it separates whatever is drawn."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return reads(strand_text((CASES / "main-98.toml").read_text("utf-8")), "main-98")


@cache
def found() -> Cords:
    return cord(main(), wanted=WANTED, workers=2)


@cache
def braked() -> Cords:
    return cord(reads(GENTLE + BRAKE, "braked"), members=128, workers=2)


# --- the search ------------------------------------------------------------------------------


def point(length: float, margin: float) -> Point:
    return Point(length, CarriedLoad((0.0, 0.0, 0.0, 0.0), margin, 0.0))


@pytest.mark.parametrize("power", [0.3, 0.55, 1.0, 2.5])
@pytest.mark.parametrize("wanted", [1.0, 2.0, 7.3])
def test_search_finds_where_a_power_of_the_length_reaches_the_margin(
    power: float, wanted: float
) -> None:
    # margin = (L/3)^p reaches w at L = 3 w^(1/p)
    calls = []

    def run(length: float) -> Point:
        calls.append(length)
        return point(length, (length / 3.0) ** power)

    exact = 3.0 * wanted ** (1.0 / power)
    needed, tried = least_length(run, [run(0.4 * exact), run(5.0 * exact)], wanted)
    assert needed is not None
    assert len(tried) == len(calls) - 2 <= 3
    assert exact <= needed.length <= exact * (1.0 + CLOSE) ** (1.0 / power) * (1.0 + 1e-9)


def test_search_finds_the_length_from_which_the_cord_no_longer_pulls() -> None:
    needed, tried = least_length(
        lambda length: point(length, math.inf if length > 7.0 else 0.5),
        [point(2.0, 0.4), point(20.0, math.inf)], 2.0,
    )  # fmt: skip
    assert needed is not None
    assert 7.0 < needed.length < 7.0 * (1.0 + NARROW)
    assert len(tried) < 40


def test_search_takes_the_last_crossing_and_says_when_there_is_none() -> None:
    points = [point(1.0, 3.0), point(2.0, 1.0), point(4.0, 3.0)]
    needed, _ = least_length(lambda length: point(length, 0.5 * length), points, 1.7)
    assert needed is not None
    assert 3.4 <= needed.length < 3.45
    assert least_length(lambda length: point(length, 0.0), points[:2], 2.0) == (None, [])
    assert least_length(lambda length: point(length, 9.0), points[::2], 2.0) == (points[0], [])


def test_margin_held_leaves_a_twentieth_below() -> None:
    margins = np.arange(1.0, 101.0)
    assert margin_held(margins) == 6.0
    assert np.mean(margins >= margin_held(margins)) == 0.95
    assert math.isinf(margin_held(np.full(40, np.inf)))
    assert spans(np.array([np.nan, np.nan, 2.0]))[1] == 2.0
    assert all(math.isnan(value) for value in spans(np.full(3, np.nan)))


# --- what it says of a case ------------------------------------------------------------------


def test_nominal_load_and_margin_are_those_of_the_run() -> None:
    result = simulate(main())
    strength, link = cord_fields.cord_strength(main())
    assert result.numbers.cord_load == pytest.approx(found().nominal_load, rel=1e-6)
    assert found().links[0].name == link
    assert found().links[0].strength == strength
    assert found().own.nominal == pytest.approx(strength / found().nominal_load, rel=1e-4)


def members_afresh(case: Case) -> tuple[np.ndarray, np.ndarray]:
    """Return loads and strengths of other members, from the spark on by the plain way."""
    from baypulse.members.factors import dimensions, factors

    scattering = factors(case)
    u = draws.unit_points(77, 3, dimensions(scattering))
    values = draws.values(case, scattering, u)
    loads = run_members(case, values, u.shape[0]).column("cord_load")
    links = cord_fields.cord_links(draws.member_case(case, values))
    return loads, np.minimum.reduce([np.broadcast_to(s, loads.shape) for s, _ in links])


@pytest.mark.parametrize("name", ["aramid 1/4 in", "tubular nylon 9/16 in"])
def test_needed_length_holds_the_margin_in_members_of_another_seed(name: str) -> None:
    kind = next(kind for kind in found().kinds if kind.name == name)
    assert kind.needed is not None and not kind.at_shortest
    assert WANTED <= kind.needed.load.margin <= WANTED * (1.0 + CLOSE) + 1e-9
    case = main()
    assert case.cord is not None
    other = replace(case, cord=replace(case.cord, type=name))
    loads, strengths = members_afresh(with_value(other, "cord.length", kind.needed.length))
    share = np.mean(strengths / loads >= WANTED)
    # 512 members found it and 1024 check it: four standard errors of such a share on either side
    assert share == pytest.approx(0.95, abs=4.0 * math.sqrt(0.95 * 0.05 * (1 / 512 + 1 / 1024)))


def test_shots_are_those_of_the_plain_ensemble() -> None:
    loads, strengths = members_afresh(main())
    for share, value in zip((0.05, 0.5, 0.95), found().load.loads, strict=False):
        below = np.mean(loads < value)
        error = math.sqrt(share * (1.0 - share) * (1 / 512 + 1 / 1024))
        assert below == pytest.approx(share, abs=4.0 * error)
    assert found().exceeded.count == np.sum(loads > strengths) == 0


def test_every_type_carries_the_same_shots() -> None:
    # cords alike but for their strength scatter alike: the load of the stiffer one is higher in
    # each quantile (k in proportion to the break load, F = v sqrt(k m))
    nylon = [kind for kind in found().kinds if kind.name in (
        "tubular nylon 1/2 in", "tubular nylon 9/16 in", "tubular nylon 5/8 in")]  # fmt: skip
    nylon.sort(key=lambda kind: kind.strength)
    for one, two in pairwise(nylon):
        assert all(np.greater(two.present.load.loads, one.present.load.loads))
        assert two.present.load.margin > one.present.load.margin


def test_longer_cords_hold_more() -> None:
    for kind in found().kinds:
        margins = [each.load.margin for each in kind.points]
        assert margins == sorted(margins), kind.name


def test_stronger_anchor_moves_no_load_and_lowers_no_margin() -> None:
    case = reads(BAY, "bench")
    assert case.cord is not None
    weak, strong = (
        cord(replace(case, cord=replace(case.cord, anchor_strength=value)), members=64)
        for value in (900.0, 1800.0)
    )
    assert weak.load.loads == strong.load.loads
    assert weak.links[0].name == "anchor"
    assert weak.links[0].strength == 900.0
    for one, two in zip(weak.kinds, strong.kinds, strict=True):
        assert two.present.load.margin >= one.present.load.margin
        if one.needed is not None:
            assert two.needed is not None
            assert two.needed.length <= one.needed.length * (1.0 + 2.0 * CLOSE)


def test_measured_cord_keeps_its_numbers_and_other_types_the_librarys() -> None:
    anchored = BAY.replace("[cord]\n", '[cord]\nanchor_strength = "90 kN"\n')
    text = anchored.replace(
        "[cord]\n", '[cord]\nbreak_load = { value = "900 lbf", spread = "3 %" }\nwear = "0.8"\n'
    )
    measured, plain = (cord(reads(each, "bench"), members=64) for each in (text, anchored))
    assert measured.own.strength == pytest.approx(900.0 * 4.4482216152605 * 0.85 * 0.8)
    for one, two in zip(measured.kinds[1:], plain.kinds[1:], strict=True):
        assert one.strength == pytest.approx(0.8 * two.strength)
        # the same cord, though in other shots: the typed value has a column of its own
        assert one.present.load.loads[1] == pytest.approx(two.present.load.loads[1], rel=0.1)


def test_answer_does_not_depend_on_threads_and_does_on_the_seed() -> None:
    case = reads(BAY, "bench")
    one, two = (cord(case, members=64, workers=workers) for workers in (1, 3))
    assert (one.load, one.kinds, one.brakes, one.runs) == (
        two.load,
        two.kinds,
        two.brakes,
        two.runs,
    )
    assert cord(case, members=64, seed=2).load != one.load


# --- the brake -------------------------------------------------------------------------------


def test_stages_take_force_times_travel_and_the_load_falls() -> None:
    assert [stage.energy for stage in braked().stages] == pytest.approx([7.2, 7.2])
    assert braked().result.numbers.brake_energy == pytest.approx((7.2, 7.2))
    bare, own = braked().brakes
    assert (bare.stages, own.stages) == (0, 2)
    assert own.energy == pytest.approx(14.4)
    assert own.load.loads[1] < bare.load.loads[1]
    assert own.nominal == pytest.approx(braked().nominal_load, rel=1e-4)
    assert own.load == braked().load
    assert bare.nominal == pytest.approx(simulate(reads(GENTLE)).numbers.cord_load, rel=1e-4)


def test_energy_when_the_brake_begins_is_that_of_the_reduced_mass() -> None:
    case = braked().case
    begins = braked().result.event("brake 1 tears")
    assert begins is not None
    assert case.contents is not None
    # the airframe of this case is clamped and the contents go with the nose
    mass = case.nose.mass + case.contents.mass
    assert braked().parting_energy == pytest.approx(0.5 * mass * begins.velocity**2, rel=1e-9)


def test_case_without_a_brake_is_told_what_one_would_do() -> None:
    force, stroke = found().trial
    strength = cord_fields.cord_strength(main())[0]
    assert force == pytest.approx(min(0.25 * strength, 0.5 * found().brakes[0].nominal))
    assert [each.stages for each in found().brakes] == [0, 1, 2, 3, 4, 5, 6]
    loads = [each.load.loads[2] for each in found().brakes]
    assert loads == sorted(loads, reverse=True)
    first = found().brakes[1]
    assert first.energy == pytest.approx(force * stroke)
    assert found().stages == ()
    assert found().parting_energy is None


def test_brake_that_would_not_tear_is_warned_of() -> None:
    strong = BRAKE.replace('"60 N"', '"2 kN"').replace("count = 2", "count = 1")
    told = cord(reads(BAY + strong, "strong"), members=64)
    assert any("would not tear" in warning for warning in told.warnings)
    assert not any("would not tear" in warning for warning in braked().warnings)


# --- what it refuses -------------------------------------------------------------------------


def test_impossible_questions_are_refused() -> None:
    case = reads(BAY, "bench")
    for margin in (0.5, 30.0, math.nan):
        with pytest.raises(StudyError, match="give one from 1"):
            cord(case, wanted=margin)
    with pytest.raises(StudyError, match="give from 50"):
        cord(case, members=10)
    with pytest.raises(StudyError, match="no cord in this case"):
        cord(reads(without(BAY, "cord"), "bare"))
    with pytest.raises(StudyError, match="so there is no load"):
        cord(reads(TEXTS["no separation"], "shut"))


def test_cord_that_never_pulls_has_no_load() -> None:
    # friction on the ground stops the nose before it has gone so far
    text = BAY.replace('length = "4.5 m"', 'length = "150 m"')
    text = text.replace("[cord]", "[setting]\nground_friction = 0.4\n\n[cord]")
    told = cord(reads(text, "long"), members=64)
    assert told.load.unloaded == 1.0
    assert math.isinf(told.load.margin)
    assert math.isnan(told.trial[0])
    assert len(told.brakes) == 1


def test_progress_ends_at_its_total() -> None:
    told: list[tuple[int, int]] = []
    cord(main(), members=64, progress=lambda done, total: told.append((done, total)))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1][0] == told[-1][1]
    assert len({total for _, total in told}) == 1
