"""A charge aloft as a whole: against single runs, brute force, and another study's answer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aloft_findings import ALTITUDES, CASES, begun, found, quick
from baypulse.case.casefile import reads
from baypulse.members import draws
from baypulse.members.chances import chance
from baypulse.members.charges import with_charge, works
from baypulse.members.factors import dimensions, factors
from baypulse.members.outcomes import run_members
from baypulse.members.parts import StudyError
from baypulse.run.simulation import simulate
from baypulse.show import as_json, in_terminal
from baypulse.studies.aloft.altitude_case import aloft, at_home, changes, cold_factors, lifted
from baypulse.studies.aloft.compute import HIGHEST, answer, steps
from baypulse.studies.aloft.document import document
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE
from baypulse.studies.aloft.result import cord_margin
from baypulse.studies.window.compute import window
from report_cases import BENCH, TEXTS, without


def test_levels_are_those_of_single_runs() -> None:
    study = found("loose")
    runs = [simulate(study.home), *(simulate(aloft(study.home, h)) for h in ALTITUDES)]
    for level, run in zip(study.levels, runs, strict=True):
        numbers = run.numbers
        assert level.result.numbers == numbers
        assert numbers.cord_load and numbers.cord_strength
        assert cord_margin(numbers) == numbers.cord_strength / numbers.cord_load
        # the middle of the members lies about the nominal shot
        low, _, high = level.trial.clear_velocity
        assert low < numbers.clear_velocity < high
    assert [level.altitude for level in study.levels] == [0.0, *ALTITUDES]


def members_afresh(altitude: float, members: int) -> np.ndarray:
    """Say which members separate, drawn apart from the study's and without its shared columns."""
    home = found("loose").home
    there = lifted(home, altitude)
    own = factors(there)
    slopes = [f for f in cold_factors(home) if f.name not in {g.name for g in own}]
    first = dimensions(own)
    own += [replace(f, columns=(first + k,)) for k, f in enumerate(slopes)]
    u = np.concatenate([draws.unit_points(91, b, dimensions(own)) for b in range(2)])[:members]
    values = draws.values(there, own, u)
    values |= changes(home, there, values)
    return works(run_members(aloft(home, altitude), values, members))


def test_chance_is_that_of_other_members_drawn_another_way() -> None:
    # the shares of 256 and of 1024 other members: each lies in the other's 99.9 % interval
    level = found("loose").highest
    other = members_afresh(level.altitude, 1024)
    opens = level.trial.opens
    wide = chance("separates", opens.count, opens.members, 0.999)
    assert wide.low <= other.mean() <= wide.high
    assert 0.5 < opens.share < 0.99  # else the test says nothing


def test_height_is_where_other_members_cease_to_open() -> None:
    held = found("loose").sources[0].height
    assert math.isfinite(held.altitude)
    far = chance("separates", int(members_afresh(held.high + 2000.0, 512).sum()), 512)
    assert far.high < 0.99
    near = chance(
        "separates", int(members_afresh(max(held.altitude - 2500.0, 100.0), 512).sum()), 512
    )
    assert near.high >= 0.99


def test_least_charge_at_home_is_that_of_the_window() -> None:
    # the window draws other columns and other members
    study = found("loose")
    least = study.home_need.least
    assert least is not None
    other = window(study.home, members=512, workers=2).least
    assert other is not None
    assert least.low <= other.charge <= least.high or other.low <= least.charge <= other.high
    assert study.margin == pytest.approx(0.7e-3 / least.charge)


def test_same_margin_is_the_same_ratio_and_is_fired() -> None:
    study = found("loose")
    for need in study.needs:
        assert need.least is not None and need.charge is not None and need.opens is not None
        assert need.charge / need.least.charge == pytest.approx(study.margin)
        assert need.least.charge > study.home_need.least.charge  # type: ignore[union-attr]
        assert need.opens.share >= need.least.chance.share
        assert need.fails_hard is not None
        assert bool(need.limit) == (need.fails_hard.share > 0.01)
    assert study.needs[1].least.charge > study.needs[0].least.charge  # type: ignore[union-attr]


@pytest.mark.parametrize("name", CASES)
def test_steps_lead_from_home_to_an_altitude(name: str) -> None:
    home = reads(CASES[name], name)
    ends = (home, 0.0), (aloft(home, 9000.0), 9000.0)
    first, *_, last = steps(home, 9000.0)
    for step, (case, altitude) in zip((first, last), ends, strict=True):
        assert step.result.numbers == simulate(case).numbers
        # single runs, which are not those of members, open just above the least charge only, and
        # let their contents, where there are any, come out
        assert step.least is not None
        for factor, opens in ((1.001, True), (0.99, False)):
            fired = with_charge(home, factor * step.least)
            run = simulate(aloft(fired, altitude) if altitude else fired)
            assert (run.verdict.startswith("separates") and run.contents != "stays in") == opens


def test_holder_and_cold_gas_hold_higher_than_loose_powder() -> None:
    study = found("loose")
    assert [each.name for each in study.sources] == [LOOSE, HOLDER, COLD_GAS]
    loose, holder, gas = (each.height.altitude for each in study.sources)
    assert loose < holder
    assert loose < gas
    assert [each.own for each in study.sources] == [True, False, False]


def test_trial_gas_has_the_margin_of_the_powder_at_home() -> None:
    study = found("loose")
    gas = study.sources[2]
    assert study.margin is not None
    assert f"{study.margin:.2f} times the least" in gas.assumed
    assert gas.chances[0].share >= study.wanted


def test_cold_gas_alone_is_told_in_pressures_filled_at_home() -> None:
    study = found("cold gas")
    assert [each.name for each in study.sources] == [COLD_GAS]
    assert "no powder" in study.missing
    assert study.present == pytest.approx(300.0 * 6894.757, rel=1e-6)
    least = study.needs[-1].least
    assert least is not None
    # the reservoir filled to it and fired there opens as often as the search says
    fired = with_charge(study.home, 1.02 * least.charge)
    assert simulate(aloft(fired, ALTITUDES[-1])).verdict.startswith("separates")


def test_charge_without_a_margin_at_home_has_none_to_keep() -> None:
    study = found("weak")
    assert study.levels[0].trial.opens.count == 0
    assert study.sources[0].height.altitude == -math.inf
    assert study.margin is not None
    assert study.margin < 1.0
    assert all(need.least and need.charge is None for need in study.needs)


def test_answer_does_not_depend_on_threads() -> None:
    one = quick("cold gas", 1)
    two = found("cold gas")
    # as numbers for programs: an end of an interval that lies beyond the search is NaN
    assert as_json.numbers(document(one)) == as_json.numbers(document(two))


@pytest.mark.parametrize("name", ["held", "weak"])
def test_the_charge_is_told_before_sources_are_compared(name: str) -> None:
    first, last = document(begun(name, 2).findings), document(found(name))
    assert not first.next_steps and last.next_steps
    assert in_terminal.told(first) == in_terminal.told(replace(last, next_steps=()))


@pytest.mark.parametrize(
    ("text", "altitudes", "options", "sentence"),
    [
        (BENCH, [0.0], {}, "higher than the ground test's 0 m"),
        (BENCH, [5000.0, HIGHEST + 1.0], {}, r"up to 40000 m \(131200 ft\)"),
        (BENCH, [math.nan], {}, "cannot be asked for"),
        (BENCH, [5000.0], {"members": 255}, "take 256 or more"),
        (BENCH, [5000.0], {"members": 300, "wanted": 0.999}, "take 1000 or more"),
        (BENCH, [5000.0], {"wanted": 1.0}, "from 50 % to 99.99 %"),
    ],
)
def test_what_cannot_be_is_refused(
    text: str, altitudes: list[float], options: dict[str, float], sentence: str
) -> None:
    with pytest.raises(StudyError, match=sentence):
        answer(reads(text, "bay"), altitudes, **options)  # type: ignore[arg-type]


def test_bare_bay_in_flight_has_a_ground_test_and_no_steps_of_what_it_lacks() -> None:
    bare = without(without(without(BENCH, "pins"), "contents"), "cord")
    flying = bare + '\n[setting]\nkind = "flight"\nattitude = "30 deg"\n'
    home = at_home(reads(flying, "bare"))
    found = steps(home, 6000.0)
    assert [step.effect for step in found] == ["test site", "air", "burning", "cold", "free"]
    assert all(cord_margin(step.result.numbers) is None for step in found)
    assert all(step.least is not None for step in found)


def test_flight_and_ground_test_of_one_bay_agree_up_there() -> None:
    one = aloft(reads(TEXTS["separates"], "ground"), 8000.0)
    flying = reads(TEXTS["flight"], "flight")
    assert simulate(aloft(flying, 8000.0)).numbers == simulate(one).numbers
