"""The report of a diagnosis: text, page, numbers, table and figures say what was found."""

from __future__ import annotations

import csv
import json
import math
from dataclasses import replace
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.observed.sightings import sightings
from baypulse.show.text import WIDE
from baypulse.studies.why import figures as drawings
from baypulse.studies.why import report
from baypulse.studies.why import text as words
from baypulse.studies.why.cause_file import NONE_OF_THESE, shipped
from baypulse.studies.why.explanation import Explained, _warnings, explained, odds
from quick_bays import STRAND, strand_text
from report_cases import TEXTS, without

WEAK = STRAND.replace("0.50 g", "0.04 g")

# a loose joint with a wide hole: the pressure is spent before the shoulder is out
MEASURED = strand_text(TEXTS["partial separation"]).replace("0.28 g", "0.08 g")

SEEN = {
    "shut": (STRAND, ("no separation", "pins whole", "pop")),
    "numbers": (MEASURED, ("partial separation", "moved 20 mm", "peak 4 psi", "time 60 ms")),
    "hard": (STRAND, ("separated too hard", "velocity 32 m/s")),
    "silent": (STRAND, ("no separation", "no sound", "no smoke")),
    "design": (WEAK, ("no separation", "whoosh")),
    "bare": (without(without(STRAND, "pins"), "cord"), ("no separation",)),
    "nothing fits": (STRAND, ("no separation", "all sheared", "velocity 15 m/s", "peak 0.1 psi")),
}
FEW = ("as designed", "igniter dead", "motor end open", "less powder", "more powder",
       "unburnt powder", "more friction", "packed too tight")  # fmt: skip


@cache
def found(name: str) -> Explained:
    text, said = SEEN[name]
    case = reads(text.replace("A bay for", "A <b> bay for"), name.replace(" ", "-"))
    whole = shipped()
    few = replace(whole, causes=tuple(c for c in whole.causes if c.name in FEW))
    return explained(case, sightings(case, said), members=64, listed=few)


def flat(text: str) -> str:
    return " ".join(unescape(text).split())


@pytest.mark.parametrize("name", SEEN)
def test_every_report_is_whole(name: str, tmp_path: Path) -> None:
    files = report.WHY.write(found(name), tmp_path / "report")
    assert {"index.html", "numbers.json", "why.csv", "figures/odds.svg"} <= set(files)
    page = files["index.html"].read_text("utf-8")
    assert flat(CAUTION) in flat(page)
    assert flat(words.SAFETY) in flat(page)
    assert words.headline(found(name)) in flat(page)
    assert "<script" not in page
    assert "A <b> bay" not in page
    numbers = json.loads(files["numbers.json"].read_text("utf-8"))
    assert numbers["study"] == "why"
    assert numbers["caution"] == CAUTION
    assert numbers["safety"] == words.SAFETY
    alone = [each["alone_ratio"] for each in (*numbers["causes"], *numbers["pairs"])]
    assert math.fsum(alone) == pytest.approx(1.0, abs=1e-6)
    rows = list(csv.DictReader(files["why.csv"].read_text("utf-8").splitlines()))
    assert [row["cause"] for row in rows] == [
        each["name"] for each in (*numbers["causes"], *numbers["pairs"])
    ]
    assert [float(row["alone_ratio"]) for row in rows] == pytest.approx(alone, rel=1e-4)


@pytest.mark.parametrize("name", SEEN)
def test_terminal_text_fits_and_cautions(name: str) -> None:
    text = report.summary(found(name))
    assert max(len(line) for line in text.splitlines()) <= WIDE
    assert flat(CAUTION) in flat(text)
    assert flat(words.SAFETY) in flat(text)
    assert words.headline(found(name)).upper() in flat(text)
    for said in SEEN[name][1]:
        assert said in flat(text)


@pytest.mark.parametrize("name", SEEN)
def test_powder_is_never_the_first_advice(name: str) -> None:
    steps = words.next_steps(found(name))
    assert "percent more" not in steps[0]
    chosen = found(name).tests.recommended
    best = max(each.gain.bits for each in found(name).tests.tests)
    if chosen is not None and not chosen.test.inert:
        # by the rule: only where no inert test tells half as much
        inert = [each.gain.bits for each in found(name).tests.tests if each.test.inert]
        assert max(inert) < 0.5 * best


def test_chance_of_being_involved_adds_the_pairs() -> None:
    held = found("shut").diagnosis
    for each in odds(held):
        if each.name == NONE_OF_THESE:
            assert each.involved == held.none.share
            continue
        pairs = [pair for pair in held.pairs if each.name in pair.causes]
        assert each.involved == pytest.approx(
            each.finding.share + math.fsum(pair.share for pair in pairs)
        )
        assert each.before == pytest.approx(
            each.finding.prior + math.fsum(pair.prior for pair in pairs)
        )
    involved = [each.involved for each in odds(held)]
    assert involved == sorted(involved, reverse=True)


def test_what_speaks_for_and_against_is_that_of_the_likelihoods() -> None:
    first = found("silent").first
    assert first.name == "igniter dead"
    text = " ".join(words.answer(found("silent")))
    assert "For it: no separation; no sound; no smoke." in text
    assert words.headline(found("silent")).startswith("Almost certainly: igniter dead")
    # no pop without a burning charge
    shut = next(each for each in found("shut").odds if each.name == "igniter dead")
    assert shut.finding.seen[2] < words.AGAINST
    assert shut.involved < shut.before / 2.0
    # a shot as designed would have opened: it is ruled out, whatever its prior odds
    assert '"as designed"' in " ".join(words.answer(found("shut"))).partition("Hardly")[2]


def test_design_that_stays_shut_by_itself_is_said() -> None:
    held = found("design")
    assert held.designed.verdict == "no separation"
    assert held.first.name == "as designed"
    assert "what has to change is the design" in " ".join(words.answer(held))
    assert "what has to change is the design" not in " ".join(words.answer(found("shut")))


def test_sightings_that_contradict_each_other_are_doubted() -> None:
    held = found("nothing fits")
    assert held.first.name == NONE_OF_THESE
    assert words.headline(held).startswith("No cause of the list explains it")
    assert any("one of the sightings is wrong" in text for text in held.warnings)
    assert not any("one of the sightings" in text for text in found("shut").warnings)


def test_few_members_are_warned_of() -> None:
    held = found("shut")
    assert all(each.ess >= 10.0 for each in held.leading)
    assert not [text for text in held.warnings if "effective simulated shots of its" in text]
    # as it would be if hardly any member looked like the shot
    first, *others = held.diagnosis.causes
    few = replace(held.diagnosis, causes=(replace(first, share=0.3, ess=3.0), *others))
    told = [
        text for text in _warnings(few, held.tests) if "effective simulated shots of its" in text
    ]
    assert len(told) == 1
    assert first.name in told[0]


def test_typical_member_shows_what_was_seen() -> None:
    # moved and stuck at 20 mm: so do the simulated shots, by their own curves
    held = found("numbers")
    assert held.typical
    best = held.typical[0].result
    assert best.verdict == "partial separation"
    assert best.numbers.greatest_travel == pytest.approx(0.020, rel=0.4)
    assert best.numbers.clear_time is None
    assert found("shut").typical[0].result.verdict == "no separation"


def test_every_figure_has_a_caption() -> None:
    for name in SEEN:
        figures = drawings.figures(found(name))
        assert set(figures) <= set(report.WHY.captions(found(name)))
        assert {"odds", "tests"} <= set(figures)
    assert "outlook" in drawings.figures(found("shut"))


def test_readings_beyond_the_instrument_are_said_so() -> None:
    from baypulse.studies.why.next_test_list import Reading

    reading = Reading("leak-down time", 0.1, 0.03, 0.03, 120.0)
    assert words.reading_text(reading, (120.0, 120.0, 120.0)) == "120 s or more"
    assert words.reading_text(reading, (0.03, 0.03, 0.03)) == "30.0 ms or less"
    assert words.reading_text(reading, (100.0, 110.0, 120.0)) == "110 s (100 s to 120 s or more)"


def test_several_cases_are_compared() -> None:
    table = report.comparison([found("shut"), found("silent")])
    assert max(len(line) for line in table.splitlines()) <= WIDE
    assert "igniter dead" in table
    assert flat(CAUTION) in flat(table)
