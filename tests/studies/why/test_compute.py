"""Diagnosis as a whole: causes that change the case, made-up shots whose cause is found again."""

from __future__ import annotations

import sys
import warnings
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse.case.casefile import read, reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members.outcomes import COUNTED_TOLERANCE, run_members
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import Cause
from baypulse.observed.sightings import kinds, sightings
from baypulse.run.result import Verdict
from baypulse.run.simulation import simulate
from baypulse.studies.why.cause_file import CauseError
from baypulse.studies.why.cause_file import shipped as shipped_causes
from baypulse.studies.why.cause_members import ensembles
from baypulse.studies.why.compute import PreparedDiagnosis, diagnose, prepare, refine, why
from baypulse.studies.why.next_test_readings import read as read_by
from quick_bays import HALF, empty, strand
from report_cases import BENCH

ROOT = Path(__file__).parents[3]
sys.path.insert(0, str(ROOT / "benchmarks"))

import simulated_failures as failures  # noqa: E402

CASES = ROOT / "cases"


@cache
def shipped(name: str) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(CASES / f"{name}.toml")


def cause(name: str) -> Cause:
    return next(each for each in shipped_causes().causes if each.name == name)


def made(case: Case, *names: str, members: int = 32) -> list[CauseEnsemble]:
    return ensembles(case, [((cause(name),), range(members)) for name in names], 1, 1, 2)


@cache
def usual() -> Case:
    """Return the bench bay under the quick law, with a charge that opens it.

    What the model leaves out, and how the pack sits, are taken as known: signs that are clear by
    the model are to be seen.
    """
    case = with_value(strand(shipped("bench-76"), HALF), "bay.model_agreement", 1.0)
    assert case.contents is not None
    return replace(case, contents=replace(case.contents, tightness="snug"))


@cache
def bench() -> PreparedDiagnosis:
    return prepare(usual(), members=128, pair_members=8, workers=2)


@cache
def weak() -> Case:
    """Return a bay with a small charge, as on the first rung of a ladder: much makes it fail."""
    return strand(shipped("bench-76"), 0.25e-3)


def test_a_cause_changes_its_own_numbers_and_nothing_else() -> None:
    plain, less, joint = made(usual(), "as designed", "less powder", "joint leaks")
    for path, values in plain.values.items():
        if path != "powder.mass":
            assert np.array_equal(values, less.values[path])
    ratio = less.values["powder.mass"] / plain.values["powder.mass"]
    ends = cause("less powder").changes[0]
    assert ends.severe < ratio.min() < 0.3 * ends.severe + 0.7 * ends.mild < ratio.max() < ends.mild
    assert np.all(joint.values["joint.clearance"] > 0.05e-3 + 0.1e-3 - 1e-12)


def test_contents_of_a_class_of_tightness_are_packed_tighter_too() -> None:
    # no pull was measured: the cause moves the class's friction, and a luggage scale would show it
    plain, tight = made(reads(BENCH), "as designed", "packed too tight")
    path = "library.packs.unknown.shear"
    ends = cause("packed too tight").changes[0]
    for ratio in (
        tight.values[path] / plain.values[path],
        read_by("extraction force", tight) / read_by("extraction force", plain),
    ):
        assert (ratio > ends.mild - 1e-9).all() and (ratio < ends.severe + 1e-9).all()
    assert "contents.extraction_force" not in tight.values
    measured = made(usual(), "packed too tight")[0]
    assert path not in measured.values and "contents.extraction_force" in measured.values


def test_damp_powder_slows_the_flame_that_the_case_has() -> None:
    # no time was measured, so a spread that takes 1.5 to 8 times as long is a flame so much slower
    plain, damp = made(reads(BENCH), "as designed", "damp powder")
    path = "library.packings.loose.flame_speed"
    ratio = plain.values[path] / damp.values[path]
    assert ((ratio > 1.5 - 1e-9) & (ratio < 8.0 + 1e-9)).all()
    text = BENCH.replace('mass = "1.00 g"', 'mass = "1.00 g"\nflame_spread = "5 ms"')
    (typed,) = made(reads(text), "damp powder")
    assert path not in typed.values
    assert (typed.values["powder.flame_spread"] > 7.5e-3 - 1e-9).all()


def test_members_as_designed_are_those_of_the_case() -> None:
    """The holes of no width that wait for a cause change nothing."""
    (plain,) = made(usual(), "as designed")
    again = run_members(usual(), plain.values, plain.members, COUNTED_TOLERANCE)
    assert np.array_equal(plain.outcomes.verdict, again.verdict)
    peak = plain.outcomes.column("peak_pressure")
    assert peak == pytest.approx(again.column("peak_pressure"), rel=2e-4)


def test_an_igniter_that_is_late_moves_the_clock_as_the_engine_does() -> None:
    """The times are moved, not waited for: against members that wait."""
    # all of them separate, and none has a flat top whose time is anybody's guess
    (late,) = made(strand(usual(), 1e-3), "igniter late", members=8)
    again = run_members(late.case, late.values, late.members, COUNTED_TOLERANCE)
    assert np.all(late.values["powder.ignition_delay"] > 0.05)
    for name in ("clear_time", "peak_time", "last_pin_time"):
        assert late.outcomes.column(name) == pytest.approx(again.column(name), abs=1e-4)
    assert late.outcomes.column("clear_velocity") == pytest.approx(
        again.column("clear_velocity"), rel=1e-3
    )


def test_one_more_pin_leaves_the_others_as_they_are() -> None:
    plain, more = made(usual(), "as designed", "more pins")
    assert more.case.pins is not None
    assert more.case.pins.count == 4
    path = next(p for p, v in plain.values.items() if v.ndim == 2)
    assert np.array_equal(plain.values[path], more.values[path][:, :3])
    assert more.values[path].shape[1] == 4


def test_an_open_motor_end_takes_pressure_away_the_more_the_wider_it_is() -> None:
    plain, opened = made(weak(), "as designed", "motor end open", members=64)
    lost = 1.0 - opened.outcomes.column("peak_pressure") / plain.outcomes.column("peak_pressure")
    assert np.all(lost > -1e-3)
    width = next(v for p, v in opened.values.items() if p not in plain.values)
    assert np.corrcoef(width, lost)[0, 1] > 0.8


def test_a_dead_igniter_is_simulated_and_nothing_moves() -> None:
    (dead,) = made(usual(), "igniter dead")
    assert np.all(dead.outcomes.verdict == Verdict.NO_SEPARATION.code)
    assert np.all(dead.outcomes.column("peak_pressure") < 1.0)


def test_what_a_case_lacks_cannot_be_the_cause() -> None:
    found = diagnose(bench(), [])
    assert {"valve stayed closed", "less gas", "holder weak"} <= set(found.left_out)
    names = {each.name for each in found.causes}
    assert {"unburnt powder", "more friction", "hollow nose forgotten"} <= names
    # fifteen times the charge has no room in this holder
    few = prepare(shipped("main-98"), members=2, pair_members=0)
    assert "grams weighed for grains" in diagnose(few, []).left_out


def test_what_makes_no_sense_for_a_bay_is_left_out() -> None:
    """Of the shipped list, what each of these bays has nothing for."""
    lacking = {
        "pins": {"more pins", "stronger pins", "pins bind"},
        "vent": {"vent too large"},
        "contents": {"packed too tight"},
        "cord": {"packed too tight", "cord fouled"},
    }
    whole = without_any(bench().case, ())
    for what, causes in lacking.items():
        assert causes <= whole - without_any(bench().case, (what,)), what
    # its motor end is open by design
    assert "motor end open" in whole
    assert "motor end open" not in fitting(shipped("drogue-98"))
    # a powder bay has no valve, and no holder here
    assert not whole & {"valve stayed closed", "less gas", "holder weak"}


def fitting(case: Case) -> set[str]:
    return {cause.name for cause in shipped_causes().causes if cause.fits(case)}


def without_any(case: Case, lacking: tuple[str, ...]) -> set[str]:
    """Return the causes that fit a case from which something is taken away."""
    for what in lacking:
        taken: dict[str, Any] = {"openings": ()} if what == "vent" else {what: None}
        case = replace(case, **taken)
    return fitting(case)


def test_a_pop_rules_out_a_dead_igniter_and_nothing_else() -> None:
    """The others stand to each other as if it had never been in the list."""
    silent = diagnose(bench(), sightings(bench().case, ["no separation"]))
    assert "igniter dead" in {each.name for each in silent.causes}
    seen = sightings(bench().case, ["no separation", "pop"])
    held = diagnose(bench(), seen)
    assert {name: by.text for name, by in held.ruled_out.items()} == {"igniter dead": "pop"}
    assert "igniter dead" not in {each.name for each in held.causes}
    assert "igniter dead" not in held.left_out
    assert sum(held.shares.values()) == pytest.approx(1.0)
    names = ("as designed", "less powder", "igniter dead")
    with_it, never = (
        diagnose(
            prepare(usual(), members=32, pair_members=0, listed=replace(
                shipped_causes(), causes=tuple(cause(name) for name in few)
            )), seen,
        ).shares
        for few in (names, names[:2])
    )  # fmt: skip
    ratios = [each["as designed"] / each["less powder"] for each in (with_it, never)]
    assert ratios[0] == pytest.approx(ratios[1])


def test_a_list_of_which_all_is_ruled_out_gets_a_sentence() -> None:
    few = replace(shipped_causes(), causes=(cause("igniter dead"),))
    seen = sightings(bench().case, ["pop"])
    with pytest.raises(CauseError, match="rules out every cause of the list"):
        diagnose(prepare(bench().case, members=2, pair_members=0, listed=few), seen)


def test_every_cause_of_the_list_runs_in_some_case() -> None:
    run = {each.name for each in bench().ensembles}
    gas = reads(BENCH.replace('[powder]\ngrade = "3F"\nmass = "1.00 g"\n', "") + (
        '[cold_gas]\ngas = "nitrogen"\nvolume = "60 cm^3"\npressure = "300 psig"\n'
        'orifice = "5 mm"\n'
    ), "gas")  # fmt: skip
    for case in (gas, shipped("main-98")):
        run |= {each.name for each in prepare(case, members=2, pair_members=0).ensembles}
    assert {each.name for each in shipped_causes().causes} <= run


def test_threads_do_not_change_the_answer() -> None:
    case = empty(usual())
    one, two = (prepare(case, members=32, pair_members=2, workers=n) for n in (1, 3))
    for a, b in zip(one.ensembles, two.ensembles, strict=True):
        assert np.array_equal(a.outcomes.rows, b.outcomes.rows, equal_nan=True)


@pytest.mark.parametrize(
    ("said", "first"),
    [
        (["no separation", "no sound", "unburnt grains"], "igniter dead"),
        (
            ["no separation", "pins whole", "pop", "unburnt grains", "peak 6 psi"],
            "unburnt powder",
        ),
        (
            [
                "no separation",
                "pins whole",
                "whoosh",
                "clean",
                "smoke at the vent",
                "no scorch",
                "peak 3.3 psi",
            ],
            "grains weighed for grams",
        ),
        (["no separation", "smoke at the motor end", "clean"], "motor end open"),
        (
            ["separated too hard", "peak 500 kPa", "scorched", "velocity 24 m/s"],
            "grams weighed for grains",
        ),
        (["separated", "time 40 ms", "velocity 10.5 m/s", "peak 111 kPa"], "as designed"),
    ],
)
def test_clear_cases_are_seen_through(said: list[str], first: str) -> None:
    """Each as the diagnosis table of any builder has it; the peaks are those of the causes."""
    found = diagnose(bench(), sightings(usual(), said))
    assert found.causes[0].name == first
    assert found.causes[0].share > max(0.3, found.none.share)


def test_a_late_opening_speaks_for_a_late_igniter() -> None:
    """It is rare, and a time may be misread: no certainty, but far more than before."""
    said = ["separated", "time 400 ms", "velocity 10.5 m/s", "peak 111 kPa"]
    found = diagnose(bench(), sightings(usual(), said))
    late = next(each for each in found.causes if each.name == "igniter late")
    assert late.share > 20.0 * late.prior
    assert late.seen[1] > 2.0


def test_what_cannot_go_together_is_none_of_these() -> None:
    said = ["separated too hard", "pins whole", "no sound", "unburnt grains", "velocity 40 m/s"]
    found = diagnose(bench(), sightings(usual(), said))
    assert found.none.share > 0.9


def test_a_pair_is_found_where_neither_alone_would_do() -> None:
    """Thrown unburnt by its residue, and a motor end by its smoke."""
    said = ["no separation", "unburnt grains", "smoke at the motor end", "peak 3 psi"]
    found = diagnose(bench(), sightings(usual(), said))
    assert found.pairs[0].name == "motor end open and unburnt powder"
    involved = {each.name: each.involved for each in found.causes}
    assert involved["motor end open"] > 0.5
    assert involved["unburnt powder"] > 0.5


def test_soot_in_the_electronics_bay_speaks_for_the_bulkhead() -> None:
    text = BENCH.replace("1.00 g", "2.00 g") + '\n[electronics]\nvolume = "600 cm^3"\n'
    prepared = prepare(reads(text, "two bays"), members=64, pair_members=0, workers=2)
    said = sightings(prepared.case, ["separated", "soot in the electronics bay"])
    found = diagnose(prepared, said)
    assert found.causes[0].name == "bulkhead leaks"


def test_the_typical_member_does_what_was_seen() -> None:
    found = diagnose(bench(), sightings(usual(), ["no separation", "peak 4 psi"]))
    for each in found.causes[:2]:
        typical = found.typical(each.name)
        assert typical is not None
        result = simulate(typical)
        assert result.verdict == "no separation"
        # 4 psi = 27.6 kPa
        assert result.numbers.peak_pressure == pytest.approx(27.6e3, rel=0.25)


def test_more_members_narrow_what_matters(monkeypatch: pytest.MonkeyPatch) -> None:
    # eight times as many as at first, which narrow by a factor of nearly three: in two steps
    monkeypatch.setattr("baypulse.studies.why.compute.FINER_MEMBERS", 256)
    case = usual()
    said = sightings(case, ["no separation", "pop", "dirty"])
    begun = prepare(case, members=32, pair_members=0, workers=2)
    finer = refine(begun, said, workers=2)
    before, after = diagnose(begun, said), diagnose(finer, said)
    grown = [each for each in after.causes if each.members > 32]
    assert grown
    old = {each.name: each for each in before.causes}
    for each in grown:
        assert each.high - each.low < old[each.name].high - old[each.name].low
    assert refine(begun, []) is begun


def test_all_of_it_in_one_call_with_progress() -> None:
    case = usual()
    said = sightings(case, ["no separation", "no sound"])
    told: list[tuple[int, int]] = []
    names = ("as designed", "igniter dead", "damp powder", "less powder")
    few = replace(shipped_causes(), causes=tuple(cause(name) for name in names))
    found = why(case, said, members=16, listed=few, progress=lambda *each: told.append(each))
    assert found.causes[0].name == "igniter dead"
    assert told[-1][0] == told[-1][1]
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert found.sightings == said


def test_causes_of_made_up_shots_are_found_again() -> None:
    """A small version of benchmarks/why.py, with every cause withheld: see there."""
    begun = prepare(weak(), members=128, pair_members=0, workers=2)
    truth = prepare(weak(), members=256, pair_members=0, seed=1001, workers=2)
    asked = dict.fromkeys(kinds(), 1.0)
    even = failures.even_priors(truth)
    trial = failures.shots_of_each(truth, 12, asked, 11)
    groups = failures.alike(failures.chances(begun, trial, even), trial)
    shots = failures.shots_of_each(truth, 12, asked, 12)
    found = failures.recovery(begun, failures.chances(begun, shots, even), shots, groups)
    assert found.shots >= 150
    # the physics tells most of them apart
    assert len(groups) >= 9
    assert found.top_two >= 0.8
    # a diagnosis expects what it gets; three standard errors of 150 shots
    assert abs(found.top_two - found.expected_two) < 3.0 * np.sqrt(0.2 * 0.8 / found.shots)
    some = dict.fromkeys(kinds(), 0.7)
    by_odds = failures.shots_by_odds(truth, 200, some, 13)
    shares = failures.chances(begun, by_odds, {})
    odds = failures.calibration(begun, shares, by_odds, failures.failure_shares(truth))
    assert odds.worst < 4.5
    assert odds.brier < 0.8 * odds.brier_prior
    assert odds.counts.sum() == 200 * len(begun.ensembles)


def test_odds_that_are_wrong_are_found_out() -> None:
    """The reliability figure must be able to fail: odds that are overdone by squaring them."""
    begun = prepare(weak(), members=64, pair_members=0, workers=2)
    shots = failures.shots_by_odds(begun, 400, {"pins": 0.7, "sound": 0.7, "residue": 0.7}, 14)
    shares = failures.chances(begun, shots, {})
    base = failures.failure_shares(begun)
    assert failures.calibration(begun, shares, shots, base).worst < 4.5
    overdone = shares**3 / (shares**3).sum(axis=1, keepdims=True)
    assert failures.calibration(begun, overdone, shots, base).worst > 6.0
