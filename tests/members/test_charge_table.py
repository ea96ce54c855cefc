"""Members with several charges: what is not fired is what it would have been."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine.ensemble import Until
from baypulse.members.charge_table import ChargeTable, _fired, _told_by_others, charge_table
from baypulse.members.charges import Charges, Tally, works
from baypulse.members.outcomes import Outcomes
from quick_bays import QUICK

MEMBERS = 48
CHARGES = (0.15e-3, 0.2e-3, 0.25e-3, 0.3e-3, 0.4e-3, 0.6e-3)
PINS = 6


@cache
def bays(pins: int = 3, workers: int = 2) -> Charges:
    case: Case = reads(QUICK, "bench")
    most = Charges(with_value(case, "pins.count", PINS), MEMBERS, 5, workers, Tally())
    return most.with_pins(with_value(case, "pins.count", pins))


@cache
def every(pins: int) -> list[Outcomes]:
    return [bays(pins).fire(charge) for charge in CHARGES]


def same(one: Outcomes, two: Outcomes) -> bool:
    return all(
        np.array_equal(getattr(one, name), getattr(two, name), equal_nan=name == "rows")
        for name in ("rows", "verdict", "contents", "exceeded")
    )


def test_all_members_with_all_charges_are_so_many_ensembles() -> None:
    table = charge_table(bays(), CHARGES, [MEMBERS] * len(CHARGES))
    for k, fired in enumerate(every(3)):
        assert same(table.fired(k), fired)
        for path, drawn in bays().values.items():
            assert np.array_equal(table.fired(k).values[path], drawn), path
        assert np.array_equal(table.works[k], works(fired))
        assert np.array_equal(table.parts[k], fired.opened)


def test_few_members_that_are_fired_tell_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    first = [4, 0, 4, 0, MEMBERS, 4]
    before = bays()._tally.runs
    shots: list[tuple[float, int]] = []

    def noted(given: Charges, member: np.ndarray, charges: np.ndarray, until: Until) -> Outcomes:
        shots.extend(zip(charges.tolist(), member.tolist(), strict=True))
        return _fired(given, member, charges, until)

    monkeypatch.setattr("baypulse.members.charge_table._fired", noted)
    table = charge_table(bays(), CHARGES, first)
    runs = bays()._tally.runs - before
    fired = every(3)
    assert [each.sum() for each in table.works] == [works(each).sum() for each in fired]
    for k, each in enumerate(fired):
        assert np.array_equal(table.works[k], works(each))
        assert np.array_equal(table.parts[k], each.opened)
        assert table.fired(k).verdict.size == first[k]
        assert np.array_equal(table.fired(k).verdict, each.verdict[: first[k]])
    assert 0 < table.works[1].sum() < table.works[3].sum() < MEMBERS or table.works[3].all()
    assert runs == len(shots) == len(set(shots)) < 0.7 * MEMBERS * len(CHARGES)
    assert {(CHARGES[k], i) for k, n in enumerate(first) for i in range(n)} <= set(shots)
    assert table.seen.verdict.size == sum(first)


def test_pins_that_hold_hold_with_more_of_them() -> None:
    """What is taken over from fewer pins, against the same members fired with more."""
    few = charge_table(bays(3), CHARGES, [MEMBERS] * len(CHARGES))
    assert 20 < few.shut.sum() < 0.9 * few.shut.size
    before = bays(PINS)._tally.runs
    many = charge_table(bays(PINS), CHARGES, [MEMBERS] * len(CHARGES), few)
    assert bays(PINS)._tally.runs - before == (~few.shut).sum()
    for k, fired in enumerate(every(PINS)):
        held = few.shut[k]
        assert not fired.opened[held].any()
        assert (fired.column("pins_failed")[held] == 0.0).all()
        told = many.fired(k)
        assert np.array_equal(told.verdict, fired.verdict)
        assert np.array_equal(told.exceeded, fired.exceeded)
        assert np.array_equal(told.rows[~held], fired.rows[~held], equal_nan=True)
        np.testing.assert_allclose(
            told.column("peak_pressure")[held], fired.column("peak_pressure")[held], rtol=0.005
        )
        # each has the pins it would have, and not those of the fewer
        for path, drawn in bays(PINS).values.items():
            assert np.array_equal(told.values[path], drawn), path
    assert np.array_equal(many.works, [works(fired) for fired in every(PINS)])


def test_a_bay_like_it_says_where_to_look_and_nothing_else() -> None:
    first = [4, 0, 4, 0, 4, 4]
    like = charge_table(bays(2), CHARGES, [MEMBERS] * len(CHARGES))
    strange = charge_table(bays(PINS), CHARGES[::-1], first)  # of charges that fall: it misleads
    runs = []
    for told in (None, like, strange):
        before = bays(3)._tally.runs
        table = charge_table(bays(3), CHARGES, first, like=told)
        runs.append(bays(3)._tally.runs - before)
        assert np.array_equal(table.works, [works(fired) for fired in every(3)])
        assert np.array_equal(table.parts, [fired.opened for fired in every(3)])
    assert runs[1] < 0.85 * runs[0]


def test_threads_do_not_change_the_table() -> None:
    one, two = (charge_table(bays(3, n), CHARGES, [8] * len(CHARGES)) for n in (1, 3))
    assert np.array_equal(one.works, two.works)
    assert np.array_equal(one.seen.rows, two.seen.rows, equal_nan=True)


def test_what_other_charges_tell() -> None:
    members = np.array([
        [-1, -1, 0, -1, 0], [1, -1, -1, 1, -1], [-1, 0, -1, -1, 1], [-1, 1, -1, 0, -1],
    ]).T  # fmt: skip
    assert _told_by_others(members).T.tolist() == [
        [0, 0, 0, 0, 0],  # below one that stays shut
        [1, 1, 1, 1, 1],  # above one that separates
        [0, 0, -1, -1, 1],  # between: nothing
        [0, 1, 0, 0, 1],  # a contradiction: shut between
    ]


def test_a_table_is_no_larger_than_asked() -> None:
    table: ChargeTable = charge_table(bays(), CHARGES[:2], [100, 0])
    assert table.first == (MEMBERS, 0)
    assert table.fired(1).verdict.size == 0
