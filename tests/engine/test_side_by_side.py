"""Members whose steps are taken at once get the numbers that each gets alone, to the bit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from baypulse.case.casefile import read
from baypulse.case.model import Case
from baypulse.engine import ensemble, places
from baypulse.engine.ensemble import RunColumn
from baypulse.engine.places import FIELDS, PHASES, WORDS, places_of, room_of, used_words
from baypulse.engine.side_by_side import choose
from baypulse.members import draws
from baypulse.members.factors import dimensions, factors

CASES = Path(__file__).parents[2] / "cases"

TOLERANCE = 2e-5


def records(case: Case, count: int) -> np.recarray:
    """Return the records of the first members of a case."""
    held = factors(case)
    u = draws.unit_points(1, 0, dimensions(held), "sobol")[:count]
    made, P = draws.records(draws.member_case(case, draws.values(case, held, u)), {}, count)
    return made[draws.possible(P, count)]


def shipped(name: str) -> Case:
    return read(str(CASES / f"{name}.toml"))


def run(given: np.ndarray, end_time: float) -> np.ndarray:
    return ensemble.run_members(given, end_time, TOLERANCE)


@pytest.mark.parametrize("name", ["bench-76", "main-98", "drogue-98", "cold-gas-98", "many-152"])
def test_each_is_the_same_to_the_bit_as_alone(name: str) -> None:
    """Loose powder, a holder that bursts, an open motor end, cold gas, many pins."""
    case = shipped(name)
    given, end = records(case, 24), case.run.end_time
    together = run(given, end)
    alone = np.concatenate([run(given[k : k + 1], end) for k in range(given.shape[0])])
    np.testing.assert_array_equal(together, alone)
    assert np.isfinite(together[:, RunColumn.PEAK_PRESSURE]).all()


def test_they_may_come_in_any_order_and_number(monkeypatch: pytest.MonkeyPatch) -> None:
    case = shipped("bench-76")
    given, end = records(case, 40), case.run.end_time
    expected = run(given, end)
    order = np.random.default_rng(3).permutation(given.shape[0])
    np.testing.assert_array_equal(run(given[order], end), expected[order])
    monkeypatch.setattr(ensemble, "PLACES", 9)
    np.testing.assert_array_equal(run(given, end), expected)


def test_those_that_go_on_with_another_cord_are_the_same_too() -> None:
    case = shipped("bench-76")
    given, end = records(case, 24), case.run.end_time
    paused = ensemble.run_to_cord(given, end, TOLERANCE)
    assert paused.waiting.sum() > 12
    longer = given.copy()
    longer["cord_length"] *= 1.1
    together = ensemble.run_on(longer, paused, end, TOLERANCE)
    for k in range(given.shape[0]):
        own = ensemble.run_to_cord(given[k : k + 1], end, TOLERANCE)
        alone = ensemble.run_on(longer[k : k + 1], own, end, TOLERANCE)
        np.testing.assert_array_equal(alone[0], together[k])


def test_nothing_is_asked_for_that_is_not_in_the_lanes(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a lane's record does not hold is no number here, and would spoil every run."""
    case = shipped("bench-76")
    given, end = records(case, 16), case.run.end_time
    expected = run(given, end)
    made = places.aligned

    def empty(*shape: int) -> np.ndarray:
        room = made(*shape)
        room[:] = np.nan
        return room

    monkeypatch.setattr(places, "aligned", empty)
    np.testing.assert_array_equal(run(given, end), expected)
    assert used_words(given[0]).size < WORDS / 3


def test_a_lane_begins_where_a_register_may_be_filled() -> None:
    room = room_of(records(shipped("bench-76"), 4))
    for held in (room.words, room.states, room.end, room.rates, room.work):
        assert held.ctypes.data % 64 == 0 and held.flags.c_contiguous


def test_numbers_of_a_record_are_whole_words() -> None:
    """A record is read as numbers, each at a place that is a multiple of its length."""
    for kind, offset, *_ in FIELDS.values():
        if kind.base == np.float64:
            assert offset % 8 == 0


def test_members_of_different_cases_are_refused() -> None:
    given = records(shipped("bench-76"), 4)
    given["opening_kind"][2, 0] += 1
    with pytest.raises(ValueError, match="shots of one case"):
        run(given, 1.0)


def test_a_member_without_numbers_leaves_the_others_alone() -> None:
    case = shipped("bench-76")
    given, end = records(case, 24), case.run.end_time
    expected = run(given, end)
    broken = given.copy()
    broken["opening_area"][5] = np.nan
    found = run(broken, end)
    assert found[5, RunColumn.STATUS] == ensemble.LOST
    others = np.arange(given.shape[0]) != 5
    np.testing.assert_array_equal(found[others], expected[others])


def test_where_all_has_burnt_nothing_burns_beside_one_that_does() -> None:
    """Grains that have burnt share lanes with some that burn, at no rate of their own."""
    case = shipped("bench-76")
    assert case.powder is not None
    quick = replace(case, powder=replace(case.powder, burning="strand"))
    both = np.concatenate([records(case, 12), records(quick, 12)]).view(np.recarray)
    end = case.run.end_time
    together = run(both, end)
    alone = np.concatenate([run(both[k : k + 1], end) for k in range(both.shape[0])])
    np.testing.assert_array_equal(together, alone)
    assert (together[12:, RunColumn.BURNT] > 0.9).any()


def chosen(phases: list[int], stabilised: tuple[int, ...] = ()) -> list[int]:
    """Return the places of the members that take the next step, of members in given phases."""
    held = places_of(records(shipped("bench-76"), 1)[0], len(phases))
    room = room_of(records(shipped("bench-76"), 1))
    held.member[:] = range(len(phases))
    held.kind[:] = [kind + PHASES * (p in stabilised) for p, kind in enumerate(phases)]
    count = choose(held, room)
    return room.group[:count].tolist()


def test_who_is_behind_goes_first_and_full_lanes_before_all() -> None:
    assert chosen([5, 5, 5, 2, 5]) == [3]
    assert chosen([5] * 4 + [2, 2] + [5] * 4) == [0, 1, 2, 3, 6, 7, 8, 9]
    # two kinds of full lanes: those that are behind; of the same phase: more of them
    assert chosen([5] * 8 + [2] * 9) == list(range(8, 16))
    assert chosen([2, 2, 2, 2, 2], stabilised=(0, 1)) == [2, 3, 4]
