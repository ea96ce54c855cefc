"""The charge window: its ends against a brute-force grid, and what else it says."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse.case.casefile import read, reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Limits
from baypulse.members import draws
from baypulse.members.charge_search import Search
from baypulse.members.charges import (
    Charges,
    Tally,
    exceeds_any,
    greatest_charge,
    with_charge,
    works,
)
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import COUNTED_TOLERANCE, run_members
from baypulse.members.parts import StudyError
from baypulse.members.thresholds import PRECISION
from baypulse.show import in_terminal
from baypulse.studies.window.compute import CHECK_MEMBERS, answer, backup, recommended, window
from baypulse.studies.window.document import document
from baypulse.studies.window.remedies import changes
from baypulse.studies.window.result import Window
from quick_bays import HALF, STRAND, empty, strand
from report_cases import without

CASES = Path(__file__).parents[3] / "cases"


@cache
def shipped(name: str) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(CASES / f"{name}.toml")


EMPTY = without(STRAND, "contents")
"""The bay for the tests under the quick law, without contents."""


@cache
def bench() -> Case:
    """Return the bench bay under the quick law and without contents."""
    return empty(shipped("bench-76"), HALF)


@cache
def found() -> Window:
    return window(bench(), members=512, workers=2)


def decided(case: Case, **how: Any) -> Window:
    """Return what an answer tells, without all that only a report shows."""
    return answer(case, workers=2, **how).findings


def search(case: Case, members: int = 128, wanted: float = 0.95) -> Search:
    mass = case.powder.mass if case.powder else case.cold_gas.pressure
    return Search(Charges(case, members, 1, 2, Tally()), wanted, mass)


@cache
def grid() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return 60 charges, and which of 128 members work and exceed a limit at each of them."""
    case = bench()
    plan = Ensemble(case, 128, 1)
    values = draws.values(case, plan.factors, plan.points(0))
    drawn = values["powder.mass"]
    charges = np.geomspace(0.1e-3, 3e-3, 60)
    opens, breaks = [], []
    for charge in charges:
        values["powder.mass"] = drawn * (charge / case.powder.mass)
        outcomes = run_members(case, values, 128)
        opens.append(works(outcomes))
        breaks.append(exceeds_any(outcomes))
    return charges, np.array(opens), np.array(breaks)


@pytest.mark.parametrize("wanted", [0.9, 0.97])
def test_ends_are_those_of_a_brute_force_grid(wanted: float) -> None:
    """All members at each of 60 charges, with nothing taken for granted between them."""
    case = bench()
    members = 128
    sought = search(case, members, wanted)
    ends = sought.ends()
    charges, opening, breaking = grid()
    # nothing that happened to a member at one charge ceased to happen to it at a higher one
    assert np.all(opening[1:] >= opening[:-1])
    assert np.all(breaking[1:] >= breaking[:-1])
    opens, breaks = opening.sum(axis=1), breaking.sum(axis=1)
    step = charges[1] / charges[0] * PRECISION
    least = charges[np.flatnonzero(opens >= math.ceil(wanted * members))[0]]
    # the search gives the upper of two charges that lie its precision apart
    assert least * charges[0] / charges[1] <= ends.least <= least * PRECISION
    most = charges[np.flatnonzero(breaks <= math.floor((1 - wanted) * members))[-1]]
    # and of the two about the other end the lower
    assert most / PRECISION <= ends.most <= most * step


def test_edges_carry_their_counts_and_intervals() -> None:
    result = found()
    least, most = result.least, result.most
    assert least.low <= least.charge <= least.high
    assert most.low <= most.charge <= most.high
    assert least.chance.share >= 0.99
    assert most.chance.share <= 0.01
    assert most.name == "greatest separation velocity"
    assert result.limits[0].name == "greatest separation velocity"
    assert result.members == 512
    assert result.runs > 512
    assert not result.empty


def test_a_trial_is_what_members_do_with_that_charge() -> None:
    result = found()
    case = result.case
    plan = Ensemble(case, 2048, 1)
    # the check has members behind those of the search: the block after its last
    values = draws.values(case, plan.factors, plan.points(1)[:CHECK_MEMBERS])
    values["powder.mass"] = values["powder.mass"] * (result.recommended.charge / case.powder.mass)
    outcomes = run_members(case, values, CHECK_MEMBERS, COUNTED_TOLERANCE)
    assert result.recommended.opens.count == works(outcomes).sum()
    assert result.recommended.fails_hard.count == exceeds_any(outcomes).sum()
    speeds = outcomes.column("clear_velocity")
    assert result.recommended.clear_velocity[1] == np.nanmedian(speeds)


def test_more_threads_give_the_same_window() -> None:
    case = bench()
    one, two = (window(case, members=128, wanted=0.9, workers=n) for n in (1, 2))
    assert (one.least, one.most, one.recommended) == (two.least, two.most, two.recommended)
    assert one.curve == two.curve


def test_a_higher_wanted_chance_never_lowers_the_least_nor_raises_the_most() -> None:
    case = bench()
    ends = [search(case, wanted=wanted).ends() for wanted in (0.9, 0.95, 0.99)]
    assert all(a.least <= b.least for a, b in pairwise(ends))
    assert all(a.most >= b.most for a, b in pairwise(ends))


def test_a_stronger_cord_never_lowers_the_upper_end() -> None:
    case = replace(bench(), limits=Limits())
    weak, strong, stronger = (
        search(with_value(case, "cord.anchor_strength", force)).ends().most
        for force in (400.0, 700.0, 1200.0)
    )
    assert weak < strong
    assert stronger is None or strong <= stronger


def test_recommended_and_backup_stay_in_the_window() -> None:
    assert recommended(1e-3, 1.44e-3) == pytest.approx(1.2e-3)
    assert recommended(1e-3, 9e-3) == pytest.approx(2e-3)
    assert 1.111e-3 <= recommended(1.111e-3, 1.113e-3) <= 1.113e-3
    # two digits, downwards where the nearest lies beyond the top
    assert recommended(0.231e-3, 0.249e-3) == 0.24e-3
    assert backup(1.2e-3, 1.44e-3) == pytest.approx(1.4e-3)
    assert backup(2e-3, 8e-3) == pytest.approx(2.5e-3)
    assert backup(1.2e-3, 1.2e-3) == pytest.approx(1.2e-3)
    assert backup(0.24e-3, 0.299e-3) == 0.29e-3


def test_nothing_is_recommended_that_has_no_room() -> None:
    # grains of 1.75 g/cm^3 fill this holder with 0.38 g; the bay takes 0.31 g to open
    case = reads(EMPTY.replace("[bay]", '[holder]\nvolume = "0.22 cm^3"\nburst = "40 psig"\n'
                               'opening = "8 mm"\n\n[bay]', 1)
                 .replace('mass = "0.50 g"', 'mass = "0.15 g"'), "tight")  # fmt: skip
    result = decided(case, members=128, wanted=0.9)
    most = greatest_charge(case)
    assert result.most is None
    assert result.least.charge < result.recommended.charge <= result.backup.charge <= most
    assert result.rule is None
    assert result.recommended.opens.share > 0.9
    told = " ".join(in_terminal.told(document(result), full=True).split())
    assert "for which there is no room here" in told
    assert "cold gas" not in told


def test_a_holder_too_small_for_the_charge_is_said_to_be_so() -> None:
    text = EMPTY.replace("[bay]", '[holder]\nvolume = "0.12 cm^3"\nburst = "40 psig"\n'
                         'opening = "8 mm"\n\n[bay]', 1)  # fmt: skip
    result = decided(reads(text.replace('"0.50 g"', '"0.12 g"'), "small"), members=128, wanted=0.9)
    assert result.least is None
    assert not any("parachute stays in" in reason for reason in result.reasons)
    larger = next(each for each in result.remedies if each.change.startswith("a holder of"))
    assert larger.opens_window


def test_both_at_once_find_room_in_two_holders() -> None:
    case = reads(EMPTY.replace("[bay]", '[holder]\nvolume = "1 cm^3"\nburst = "40 psig"\n'
                               'opening = "8 mm"\n\n[bay]', 1), "bench")  # fmt: skip
    charges = Charges(case, 64, 1, 1, Tally())
    assert not np.any(charges.fire(1.95e-3).opened)  # more grains than 1 cm^3 holds
    assert np.all(charges.fire(1.2e-3, times=2).opened)


def test_no_more_is_tried_than_has_room_in_the_holder() -> None:
    case = reads(STRAND.replace("[bay]", '[holder]\nvolume = "1 cm^3"\nburst = "40 psig"\n'
                                'opening = "8 mm"\n\n[bay]', 1), "bench")  # fmt: skip
    # 1 cm^3 of grains of 1.75 g/cm^3 without any gaps
    assert 0.9 * 1.75e-3 < greatest_charge(case) < 1.75e-3


def test_the_answer_is_what_is_told_of_the_whole() -> None:
    known = answer(bench(), members=512, workers=2).findings
    assert known.runs < found().runs and len(known.curve) < len(found().curve)
    first, whole = (in_terminal.told(document(each)) for each in (known, found()))
    assert first == whole


def test_an_empty_window_says_why_and_what_would_open_it() -> None:
    case = with_value(bench(), "limits.separation_velocity", 12.0)
    known = answer(case, members=256, workers=2)
    result = known.findings
    first, whole = (in_terminal.told(document(each)) for each in (result, known.whole(None)))
    assert first == whole
    assert result.empty
    assert result.recommended is result.backup is result.both is None
    assert any("greatest separation velocity" in reason for reason in result.reasons)
    assert len(result.remedies) == len(list(changes(case)))
    # a longer cord acts after the joint is clear: the same members separate with the same charge
    longer = next(each for each in result.remedies if each.change.startswith("a cord of"))
    assert longer.least == result.as_it_is.least
    fewer = next(each for each in result.remedies if "pins in place of 3" in each.change)
    assert fewer.least < result.least.charge


def test_contents_that_stay_in_are_not_blamed_on_the_charge() -> None:
    text = STRAND.replace('length = "4.5 m"', 'length = "0.4 m"')
    text = text.replace('volume = "420 cm^3"', 'volume = "420 cm^3"\npacked_length = "200 mm"')
    result = decided(reads(text, "short"), members=128, wanted=0.9)
    assert result.least is None
    assert result.empty
    assert "Not even" in result.reasons[0]
    assert "the parachute stays in" in result.reasons[1]


def test_a_bay_that_leaks_gets_no_recommendation() -> None:
    result = decided(strand(shipped("drogue-98")), members=128, wanted=0.9)
    assert result.least is not None
    assert result.recommended is None
    assert any("open path" in reason for reason in result.reasons)


def test_a_second_charge_is_tried_on_those_that_failed_at_the_first() -> None:
    # a limit that leaves little room, so that the ground-test charge fails now and then
    case = with_value(strand(shipped("thin-54")), "limits.separation_velocity", 21.0)
    result = decided(case, members=512, wanted=0.9)
    after = result.after_failure
    assert after is not None
    assert after.charge == result.backup.charge
    charges = Charges(result.case, 512, 1, 2, Tally())
    failed = np.flatnonzero(~works(charges.fire(result.recommended.charge)))
    assert after.opens.members == failed.size
    assert after.opens.count == works(charges.fire(result.backup.charge, failed)).sum()


def test_a_cold_gas_has_a_window_of_fill_pressure() -> None:
    result = decided(shipped("cold-gas-98"), members=128, wanted=0.9)
    assert result.dimension == "gauge pressure"
    assert result.rule is None
    assert result.least.charge < with_charge(result.case, 3e6).cold_gas.pressure


@pytest.mark.parametrize(
    ("change", "options", "words"),
    [
        ({}, {"wanted": 1.0}, "of 100 % cannot be asked for"),
        ({}, {"wanted": 1.2}, "of 120 % cannot be asked for"),
        ({}, {"wanted": -0.1}, "of -10 % cannot be asked for"),
        ({}, {"wanted": float("nan")}, "cannot be asked for"),
        ({}, {"wanted": 0.999, "members": 500}, "500 simulated shots are too few"),
        ({"limits": Limits(bay_pressure=5e3)}, {}, "no charge opens this bay within it"),
    ],
)
def test_what_cannot_be_is_refused(change: dict, options: dict, words: str) -> None:
    with pytest.raises(StudyError, match=words):
        window(replace(bench(), **change), **options)


def test_a_joint_that_falls_apart_needs_no_charge() -> None:
    text = STRAND.replace(
        "[limits]", '[setting]\nkind = "clamped"\nattitude = "-90 deg"\n\n[limits]'
    )
    text = text.replace('[pins]\ncount = 3\nthread = "#2-56"\n\n', "")
    text = text.replace('mass = "480 g"', 'mass = "9 kg"')
    with pytest.raises(StudyError, match="separates without any charge"):
        window(reads(text, "falling"), members=128, wanted=0.9, workers=2)


def test_a_spread_as_wide_as_its_value_is_refused() -> None:
    text = STRAND.replace('spread = "20 %"', 'spread = "150 %"')
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        case = reads(text, "wide")
    with pytest.raises(StudyError, match=r"joint\.pull_off: the spread is as wide as the value"):
        window(case)
