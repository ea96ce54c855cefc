"""Which test comes next: readings, shots that are fired again, and the choice."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from baypulse.case import params
from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.engine.slow import follow
from baypulse.members import draws
from baypulse.members.factors import Factor, dimensions
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.sightings import kinds, sightings
from baypulse.run.pumped_bay import vessel_of
from baypulse.studies.why.cause_file import CauseList, shipped
from baypulse.studies.why.cause_members import MembersToRun, run_all
from baypulse.studies.why.compute import diagnose, prepare, refine
from baypulse.studies.why.information import Gain
from baypulse.studies.why.next_test_list import INERT, LIVE, NextTest, Reading, next_test_list
from baypulse.studies.why.next_test_readings import LEFT, PUMPED, READINGS, read
from baypulse.studies.why.next_test_shots import (
    Chosen,
    base_values,
    draw_members,
    fire,
    moved_paths,
)
from baypulse.studies.why.next_tests import (
    MOST_HARD,
    NextTests,
    Prospect,
    _binned,
    _edges,
    next_tests,
    recommended,
)
from baypulse.studies.why.result import Diagnosis
from quick_bays import STRAND
from report_cases import without

FEW = ("as designed", "less powder", "more friction", "motor end open", "more pins", "igniter late")


def listed() -> dict[str, NextTest]:
    return {test.name: test for test in next_test_list()}


def some(*names: str) -> CauseList:
    """Return a list of a few causes."""
    whole = shipped()
    return replace(whole, causes=tuple(c for c in whole.causes if c.name in names))


@cache
def bench() -> Case:
    return reads(without(STRAND, "contents"), "bench")


@cache
def found() -> Diagnosis:
    prepared = prepare(bench(), members=64, pair_members=16, listed=some(*FEW))
    return diagnose(prepared, sightings(bench(), ["no separation", "pins whole", "pop"]))


@cache
def next_of_bench() -> NextTests:
    return next_tests(found())


def test_every_test_of_the_list_reads_something_that_is_there() -> None:
    for test in next_test_list():
        ways = (bool(test.looks), test.reading is not None, bool(test.sees))
        assert sum(ways) == 1, test.name
        assert (test.danger == LIVE) == bool(test.sees), test.name
        assert set(test.sees) | ({test.looks} - {""}) <= set(kinds()), test.name
        assert set(test.without) <= {cause.name for cause in shipped().causes}, test.name
        said = {answer for kind in kinds().values() for answer in kind.answers}
        assert set(test.after) | set(test.not_after) <= said, test.name
        if test.reading is not None:
            assert test.reading.name in READINGS
            assert 0.0 < test.reading.low < test.reading.high


def test_what_was_said_already_is_not_looked_at_again() -> None:
    names = {each.test.name for each in next_of_bench().tests}
    assert "count the sheared pins" not in names
    assert "inspect the residue" in names
    # no such things in this case
    assert "look into the electronics bay" not in names
    assert "read the reservoir's gauge" not in names


def test_no_charge_of_the_same_size_after_it_opened_too_hard() -> None:
    seen = sightings(bench(), ["separated too hard"])
    offered = [test for test in next_test_list() if test.offered(bench(), seen)]
    assert [test.name for test in offered if test.danger == LIVE] == ["a quarter less"]
    assert not listed()["a quarter less"].offered(bench(), sightings(bench(), ["no separation"]))


def test_base_values_are_those_of_members_without_a_cause() -> None:
    base = base_values(found())
    designed = found().ensembles["as designed"].ensemble
    assert moved_paths(designed, base) == set()
    for path, value in designed.values.items():
        # one more column: that of the pin that a cause adds
        own = base[path][:64, : value.shape[1]] if value.ndim == 2 else base[path][:64]
        assert np.array_equal(own, value), path
    assert moved_paths(found().ensembles["less powder"].ensemble, base) == {"powder.mass"}
    assert len(moved_paths(found().ensembles["motor end open"].ensemble, base)) == 1


def test_base_values_follow_what_earlier_shots_leave() -> None:
    """Members drawn from other points than those of the spreads: a cause still moves its own."""

    def mirrored(scattering: Sequence[Factor], count: int, seed: int, skip: int = 0) -> np.ndarray:
        return 1.0 - draws.unit_points(seed, skip, dimensions(scattering))[:count]

    prepared = prepare(bench(), members=8, pair_members=0, listed=some(*FEW), points=mirrored)
    held = diagnose(prepared, [])
    base = base_values(held)
    assert moved_paths(held.ensembles["as designed"].ensemble, base) == set()
    assert moved_paths(held.ensembles["less powder"].ensemble, base) == {"powder.mass"}
    drawn = held.ensembles["as designed"].ensemble.values["joint.pull_off"]
    assert not np.array_equal(drawn, base_values(found())["joint.pull_off"][:8])


def test_members_that_follow_have_the_base_points_of_all_others() -> None:
    """Though none of theirs has the pin more that another cause adds."""
    seen = sightings(bench(), ["no separation", "pins whole"])
    begun = prepare(bench(), members=16, pair_members=0, listed=some(*FEW))
    grown = refine(begun, seen, {"more pins": 1e-9})
    held = diagnose(grown, seen)
    base = base_values(held)
    more = {each.name: each.members for each in grown.ensembles}
    assert more["less powder"] > 16 == more["more pins"]
    assert moved_paths(held.ensembles["less powder"].ensemble, base) == {"powder.mass"}
    assert moved_paths(held.ensembles["as designed"].ensemble, base) == set()


def every(name: str) -> Chosen:
    members = found().ensembles[name].ensemble
    size = members.members
    return Chosen(members, np.arange(size), np.full(size, 1.0 / size))


def plain(**changes: object) -> NextTest:
    return replace(listed()["same shot, filmed beside a scale"], **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["as designed", "more pins", "igniter late", "less powder"])
def test_same_shot_gives_the_same(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    chosen = every(name)
    before = chosen.ensemble.outcomes
    same = fire(found(), plain(), [chosen], base_values(found()), 1)[0]
    assert np.array_equal(same.outcomes.rows, before.rows, equal_nan=True)
    # which is what comes of firing them again
    monkeypatch.setattr("baypulse.studies.why.next_test_shots._changes", lambda test, chosen: True)
    again = fire(found(), plain(), [chosen], base_values(found()), 1)[0]
    assert np.array_equal(again.outcomes.verdict, before.verdict)
    assert again.outcomes.rows == pytest.approx(before.rows, rel=1e-9, nan_ok=True)


def test_only_members_that_a_test_changes_are_fired(monkeypatch: pytest.MonkeyPatch) -> None:
    run: list[int] = []

    def counted(drawn: Sequence[MembersToRun], *more: Any) -> list[CauseEnsemble]:
        run.extend(each.late.size for each in drawn)
        return run_all(drawn, *more)

    monkeypatch.setattr("baypulse.studies.why.next_test_shots.run_all", counted)
    chosen = [every("as designed"), every("motor end open"), every("less powder")]
    closed = fire(found(), listed()["same charge, bay closed again"], chosen,
                  base_values(found()), 1)  # fmt: skip
    assert run == [64]
    assert [each.name for each in closed] == [each.ensemble.name for each in chosen]


def test_closing_the_bay_leaves_what_was_designed() -> None:
    chosen = [every("motor end open"), every("as designed")]
    test = listed()["same charge, bay closed again"]
    closed, designed = fire(found(), test, chosen, base_values(found()), 1)
    assert closed.outcomes.rows == pytest.approx(designed.outcomes.rows, rel=1e-9, nan_ok=True)


def test_second_fault_stays_when_the_bay_is_closed() -> None:
    name = "less powder and motor end open"
    pair = next(n for n in found().ensembles if set(n.split(" and ")) == set(name.split(" and ")))
    test = listed()["same charge, bay closed again"]
    closed = fire(found(), test, [every(pair)], base_values(found()), 1)[0]
    alone = found().ensembles["less powder"].ensemble
    assert closed.values["powder.mass"] == pytest.approx(
        found().ensembles[pair].ensemble.values["powder.mass"]
    )
    # less powder shut tight gives a higher pressure than with the end open
    before = found().ensembles[pair].ensemble.outcomes.column("peak_pressure")
    assert (closed.outcomes.column("peak_pressure") > before).mean() > 0.9
    assert alone.members == 64


def test_ten_percent_more_is_ten_percent_more() -> None:
    chosen = every("less powder")
    more = fire(found(), listed()["ten percent more"], [chosen], base_values(found()), 1)[0]
    mass = chosen.ensemble.values["powder.mass"]
    assert more.values["powder.mass"] == pytest.approx(1.1 * mass)
    peak = chosen.ensemble.outcomes.column("peak_pressure")
    higher = more.outcomes.column("peak_pressure") > peak
    # but where the joint now opens before the peak
    opens = np.isfinite(more.outcomes.column("clear_time"))
    assert (higher | opens).all()


def test_tight_holder_makes_thrown_powder_burn() -> None:
    causes = some("as designed", "unburnt powder")
    prepared = prepare(bench(), members=32, pair_members=0, listed=causes)
    held = diagnose(prepared, sightings(bench(), ["no separation"]))
    members = held.ensembles["unburnt powder"].ensemble
    chosen = Chosen(members, np.arange(32), np.full(32, 1.0 / 32.0))
    test = listed()["same charge in a tight holder"]
    fired = fire(held, test, [chosen], base_values(held), 1)[0]
    assert fired.usable.all()
    assert np.isfinite(fired.outcomes.column("burst_time")).all()
    assert (fired.outcomes.column("burnt") > members.outcomes.column("burnt")).all()
    # nobody throws it any more: the ceiling is that of the same members without the cause
    designed = held.ensembles["as designed"].ensemble
    for path, value in designed.values.items():
        assert np.array_equal(fired.values[path], value), path


def test_members_are_drawn_by_their_weights() -> None:
    members = found().ensembles["less powder"].ensemble
    weights = np.zeros(64)
    weights[[3, 10, 40]] = 0.5, 0.25, 0.25
    chosen = draw_members(members, weights, 40, 0.5)
    assert chosen.index.tolist() == [3, 10, 40]
    assert chosen.weights == pytest.approx([0.5, 0.25, 0.25])


def test_leak_down_time_is_that_of_the_slow_phase() -> None:
    # against the network of volumes, which follows the temperature too
    case = replace(bench(), joint=replace(bench().joint, clearance=2e-5))
    prepared = prepare(case, members=32, pair_members=0, listed=some("as designed"))
    members = prepared.ensembles[0]
    time = float(read("leak-down time", members)[0])
    network = params.slow_network(case)
    gap = network.opening_slot[:, 0] > 0.0
    plugged = network._replace(opening_area=np.where(gap, network.opening_area, 0.0))
    bay = vessel_of(case)
    times = np.linspace(0.0, 2.0 * time, 400)
    pumped = np.tile((bay.pressure, bay.temperature), (network.volume.size, 1))
    pumped[params.BAY, 0] += PUMPED
    outside = np.full(400, bay.pressure), np.full(400, bay.temperature)
    gauge = follow(times, *outside, plugged, pumped).pressure[:, params.BAY] - bay.pressure
    crossed = float(np.interp(-LEFT, -gauge, times))
    # air that expands cools, and is warmed again meanwhile: between 1.4 and 1 as quick
    assert 0.65 * time < crossed < 1.05 * time


def test_pull_with_pins_adds_all_of_them() -> None:
    members = found().ensembles["as designed"].ensemble
    more = found().ensembles["more pins"].ensemble
    alone, held, with_one = (
        read("friction", members), read("hold", members), read("hold", more)
    )  # fmt: skip
    each = (held - alone) / 3.0
    assert (each > 0.0).all()
    # a fourth pin of the same lot; friction is the same, member by member
    assert np.median((with_one - alone) / each) == pytest.approx(4.0, rel=0.05)
    friction = members.values["joint.pull_off"]
    assert alone == pytest.approx(friction)


def test_bins_of_a_reading() -> None:
    reading = Reading("friction", 0.1, 1.0, 1.0, 500.0)
    values = [np.linspace(10.0, 30.0, 50), np.linspace(80.0, 300.0, 50)]
    weights = [np.full(50, 0.02)] * 2
    edges = _edges(reading, values, weights, np.array([0.9, 0.05]), 12)
    assert (np.diff(edges) > 0.0).all()
    # a rare cause has edges of its own
    assert (edges > 80.0).sum() >= 3
    assert (edges < 30.0).sum() >= 3
    table = _binned(reading, values[0], edges)
    assert table.sum(axis=1) == pytest.approx(np.ones(50))
    # against draws of the same error
    rng = np.random.default_rng(2)
    drawn = 20.0 + math.hypot(2.0, 1.0) * rng.normal(size=200_000)
    counts = np.bincount(np.searchsorted(edges, drawn), minlength=edges.size + 1) / drawn.size
    assert _binned(reading, np.array([20.0]), edges)[0] == pytest.approx(counts, abs=0.005)


def test_weighing_tells_two_causes_apart_nearly_for_certain() -> None:
    # what is weighed tells one of two causes for certain, but for the grey zone of mild ones: the
    # gain is nearly the entropy of the two
    prepared = prepare(bench(), members=64, pair_members=0, listed=some(
        "less powder", "motor end open"))  # fmt: skip
    held = diagnose(prepared, sightings(bench(), ["no separation", "pins whole"]))
    chosen = [listed()[name] for name in ("weigh a charge again", "pull test with pins")]
    told = next_tests(held, tests=chosen)
    by_name = {each.test.name: each.gain for each in told.tests}
    two = np.array([each.share for each in held.causes])
    two /= two.sum()
    most = -float((two * np.log2(two)).sum())
    assert by_name["weigh a charge again"].bits > 0.85 * most * (1.0 - held.none.share)
    # both have the same friction and pins, but for which of them do not separate
    pull = by_name["pull test with pins"]
    assert pull.bits < 2.5 * pull.error
    assert pull.bits < 0.1 * by_name["weigh a charge again"].bits
    assert told.recommended is not None
    assert told.recommended.test.name == "weigh a charge again"


def test_gains_are_ranked_and_within_the_entropy() -> None:
    told = next_of_bench()
    bits = [each.gain.bits for each in told.tests]
    assert bits == sorted(bits, reverse=True)
    assert 0.0 < max(bits) < told.entropy
    assert min(bits) >= 0.0
    shares = np.array(list(found().shares.values()))
    shares = shares[shares > 0.0]
    assert told.entropy == pytest.approx(-float((shares * np.log2(shares)).sum()))
    for each in told.tests:
        assert len(each.outlooks) == 4
        for one in each.outlooks:
            assert sum(one.chances) == pytest.approx(1.0)
            assert len(one.chances) == len(each.outcomes)
        assert math.isnan(each.hard) == (each.test.danger != LIVE)


def test_answer_does_not_depend_on_the_threads_which_tell_how_far_they_are() -> None:
    told: list[tuple[int, int]] = []
    again = next_tests(found(), workers=2, progress=lambda *far: told.append(far))
    done, expected = (list(each) for each in zip(*told, strict=True))
    assert done == sorted(done) and len(set(expected)) == 1
    assert 0 < done[-1] <= expected[0]
    assert [(e.test.name, e.gain) for e in again.tests] == [
        (e.test.name, e.gain) for e in next_of_bench().tests
    ]


def prospect(name: str, danger: str, bits: float, hard: float = math.nan) -> Prospect:
    test = NextTest(name, name, danger, 10.0, ())
    return Prospect(test, Gain(bits, bits, 0.0), (), (), hard)


@pytest.mark.parametrize(
    ("inert", "live", "hard", "chosen"),
    [
        (0.6, 0.8, 0.0, "inert"),
        (0.41, 0.8, 0.0, "inert"),
        (0.39, 0.8, 0.0, "live"),
        # half as much counts, however little both are
        (0.06, 0.11, 0.0, "inert"),
        (0.39, 0.8, 2.0 * MOST_HARD, "inert"),
        (0.0, 0.8, 2.0 * MOST_HARD, None),
        (0.05, 0.05, 0.0, None),
    ],
)
def test_inert_comes_first(inert: float, live: float, hard: float, chosen: str | None) -> None:
    best = recommended([prospect("live", LIVE, live, hard), prospect("inert", INERT, inert)])
    assert (None if best is None else best.test.name) == chosen
