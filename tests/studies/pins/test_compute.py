"""Pins against charge: cells are what members do, and what is said follows from them."""

from __future__ import annotations

import warnings
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from baypulse.case.casefile import read, reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members.charges import Charges, Tally, works
from baypulse.members.parts import StudyError
from baypulse.show import in_terminal
from baypulse.studies.pins import words
from baypulse.studies.pins.compute import answer, hardening, margins, shutting
from baypulse.studies.pins.document import document
from baypulse.studies.pins.pin_kinds import MEASURED
from baypulse.studies.pins.result import PinStudy, Spot
from quick_bays import HALF, STRAND, empty, strand
from report_cases import without
from studies.pins.documents import pins

MEASURED_PINS = STRAND.replace('thread = "#2-56"', 'thread = "#2-56"\nstrength = "100 N"')
CASES = Path(__file__).parents[3] / "cases"


@cache
def shipped(name: str) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(CASES / f"{name}.toml")


@cache
def bench() -> Case:
    """Return the bench bay under the quick law."""
    return strand(shipped("bench-76"), HALF)


@cache
def found() -> PinStudy:
    return pins(bench(), counts=(0, 3, 6), threads=("#2-56",), members=64, workers=2)


def test_the_answer_is_told_before_other_pins_and_powders_are_tried() -> None:
    known = answer(bench(), counts=(0, 3, 6), threads=("#2-56",), members=64, workers=2)
    assert len(known.findings.maps) == 1 and not known.findings.burnings
    first, whole = (in_terminal.told(document(each)) for each in (known.findings, found()))
    assert first == whole
    assert known.findings.runs < found().runs


def test_a_cell_is_what_its_members_do() -> None:
    study = found()
    held = study.maps[0]
    assert held.own
    assert [row[0].count for row in held.spots] == [0, 3, 6]
    column = 4
    charge = float(study.charges[column])
    six = with_value(study.case, "pins.count", 6)
    outcomes = Charges(six, 64, 1, 1, Tally()).fire(charge)
    spot = held.spots[2][column]
    assert np.array_equal(spot.works, works(outcomes))
    assert spot.trial.charge == charge
    assert spot.trial.opens.count == works(outcomes).sum()
    assert spot.joint.count == outcomes.opened.sum()
    # in full half of them are known, but all with the charge of the case
    half = Charges(six, 64, 1, 1, Tally()).fire(charge, np.arange(32))
    assert spot.in_full == 32
    own = next(each for each in held.spots[2] if each.trial.charge == study.present)
    assert own.in_full == 64
    assert spot.trial.clear_velocity[1] == np.nanmedian(half.column("clear_velocity"))
    # the cord of this case holds its load in every member: strength over load by hand
    ratio = margins(six, half)
    assert spot.margin[0] == pytest.approx(np.nanquantile(ratio, 0.05))
    assert np.nanmin(ratio) > 1.0


def test_the_case_itself_is_one_of_the_cells() -> None:
    study = found()
    assert study.present in study.charges
    assert np.all(np.diff(study.charges) > 0.0)
    assert study.runs > 3 * 10 * 64


def test_slow_powder_opens_harder_with_more_pins_and_then_not_at_all() -> None:
    # without contents, which would take most of the room and with it the slowness; what the model
    # leaves out is taken as known, since this is about what it says
    case = with_value(empty(shipped("bench-76"), 1e-3), "bay.model_agreement", 1.0)
    study = pins(case, counts=(0, 2, 4, 8), threads=("#2-56",), members=32, workers=2)
    slow = {each.charge: each for each in study.burnings if not each.quick}
    quick = {each.charge: each for each in study.burnings if each.quick}
    full, least = study.present, min(slow)
    harder = hardening(slow[full].spots)
    assert harder.more.count > harder.fewer.count
    assert harder.after > 1.1 * harder.before
    # the quick powder has burnt before the joint moves: pins change its speed by less
    assert hardening(quick[full].spots) is None
    sure, shut = shutting(slow[least].spots)
    assert shut.count > sure.count
    assert shut.trial.opens.share <= 0.05


def test_fewer_pins_are_the_first_of_the_same_pins() -> None:
    case = bench()
    most = Charges(with_value(case, "pins.count", 5), 32, 1, 1, Tally())
    fewer = most.with_pins(with_value(case, "pins.count", 2))
    for path, drawn in fewer.values.items():
        held = most.values[path]
        assert np.array_equal(drawn, held[:, :2] if held.ndim == 2 else held)
    # one more pin never opens a joint that did not separate with this much powder
    opens = [most.with_pins(with_value(case, "pins.count", n)).fire(2e-4).opened for n in (2, 3, 4)]
    assert np.all(opens[0] >= opens[1])
    assert np.all(opens[1] >= opens[2])


def test_more_pins_can_raise_the_chance_of_opening() -> None:
    """A gas at low pressure lets the parachute out with four pins only; two solvers agree on it in
    the other test of pins."""
    psi = 6894.757293168361
    # weak pins, and a gas that comes slowly enough for what they hold back to matter
    case = with_value(shipped("cold-gas-98"), "cold_gas.orifice", 4.2e-3)
    case = with_value(case, "pins.strength", 56.0)
    study = pins(case, counts=(0, 2, 4, 8), span=(158 * psi, 162 * psi), members=48, workers=2)
    rise = study.rises[0]
    assert (rise.fewer.count, rise.more.count) == (0, 4)
    assert rise.more.trial.opens.low > rise.fewer.trial.opens.high
    told = words.of_powders(study)[-1]
    assert told.startswith("More pins can raise the chance of separation: ")
    assert ": no pins open " in told
    assert ", 4 pins " in told
    # and nowhere in a bay whose charge is ample
    assert not found().rises
    assert words.of_powders(found())[-1].startswith("Nowhere here")


def test_pins_that_were_measured_are_a_kind_of_their_own() -> None:
    case = reads(MEASURED_PINS, "measured")
    study = pins(case, counts=(1, 2), members=16)
    assert [each.thread for each in study.maps] == [MEASURED]
    assert study.maps[0].own


def test_neighbours_in_size_are_looked_at_too() -> None:
    study = pins(shipped("cold-gas-98"), counts=(2,), members=8)
    assert study.maps[0].own
    assert 1 < len(study.maps) <= 3
    assert not study.burnings


def made(count: int, opens: int, speed: float) -> Spot:
    """Return a spot in which the first of a hundred members separate, all at one speed."""
    spot = found().maps[0].spots[0][0]
    chance = replace(spot.trial.opens, count=opens, members=100, share=opens / 100)
    works = np.arange(100) < opens
    return replace(
        spot, count=count, trial=replace(spot.trial, opens=chance), works=works,
        speeds=np.where(works, speed, np.nan),
    )  # fmt: skip


def test_what_is_harder_and_what_shuts() -> None:
    spots = [made(0, 100, 10.0), made(2, 98, 12.0), made(4, 60, 15.0), made(6, 3, 20.0)]
    # with four pins too few open for their speed to be compared
    harder = hardening(spots)
    assert (harder.fewer.count, harder.more.count) == (0, 2)
    assert (harder.before, harder.after) == (10.0, 12.0)
    assert [spot.count for spot in shutting(spots)] == [2, 6]
    assert hardening([made(0, 100, 10.0), made(2, 100, 10.4)]) is None
    assert hardening(spots[2:]) is None
    assert shutting(spots[:3]) is None


def test_speeds_are_compared_in_members_that_open_both_ways() -> None:
    # those that do not separate with more pins were the slow ones: nobody opens harder
    slow_and_quick = np.where(np.arange(100) < 8, 5.0, 10.0)
    fewer = replace(made(0, 100, 0.0), speeds=slow_and_quick)
    more = replace(made(4, 92, 0.0), speeds=np.where(np.arange(100) < 8, np.nan, 10.0))
    assert hardening([fewer, more]) is None


@pytest.mark.parametrize(
    ("text", "options", "words"),
    [
        (without(STRAND, "pins"), {}, "no \\[pins\\] to set against"),
        (MEASURED_PINS, {"threads": ("#2-56",)},
         "leave out --threads"),
        (STRAND, {"counts": (25,)}, "the number of pins is 0 to 24"),
        (STRAND, {"counts": (2,), "span": (1e-4, 0.19)}, "choose less for --charges"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(text: str, options: dict, words: str) -> None:
    with pytest.raises(StudyError, match=words):
        pins(reads(text, "bad"), members=8, **options)
