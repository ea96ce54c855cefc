"""What a diagnosis says: the cause, what speaks for it, the next test, its numbers."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from baypulse.show import as_json, in_terminal
from baypulse.studies.why import words
from baypulse.studies.why.cause_file import NONE_OF_THESE
from baypulse.studies.why.document import compare, document
from baypulse.studies.why.explanation import _warnings, odds
from studies.why.documents import SEEN, begun, found


@pytest.mark.parametrize("name", SEEN)
def test_the_chances_of_all_causes_and_pairs_add_up(name: str) -> None:
    rows = as_json.numbers(document(found(name)))["tables"]["every_cause"]
    assert math.fsum(row["alone_ratio"] for row in rows) == pytest.approx(1.0, abs=1e-6)
    assert {row["cause"] for row in rows} == set(found(name).diagnosis.shares)


@pytest.mark.parametrize("name", SEEN)
def test_safety_is_said_before_what_to_do_next(name: str) -> None:
    assert document(found(name)).next_steps[0].startswith("Never fire again at once. Wait")


@pytest.mark.parametrize("name", SEEN)
def test_causes_and_safety_are_told_before_tests_are_looked_at(name: str) -> None:
    first, last = map(document, begun(name))
    assert first.next_steps == (words.SAFETY,) and len(last.next_steps) > 1
    assert in_terminal.told(first) == in_terminal.told(replace(last, next_steps=(words.SAFETY,)))
    late = in_terminal.late(last, first)
    assert words.SAFETY[:30] not in late and words.next_steps(found(name))[0][:30] in late


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


@pytest.mark.parametrize("name", SEEN)
def test_the_first_screen_says_in_words_how_much_a_test_tells(name: str) -> None:
    held = found(name)
    steps = " ".join(words.next_steps(held))
    assert " bit" not in steps
    tests = held.tests.tests
    allowed = [each for each in tests if not each.risky]
    best = max(allowed, key=lambda each: each.gain.bits)
    assert words.telling(held, best) == ("tells most" if best.gain.bits >= 0.1 else "tells little")
    for each in allowed:
        assert (words.telling(held, each) == "tells little") == (each.gain.bits < 0.1)
    # the number stands in the page and in the file
    numbers = as_json.numbers(document(held))["tables"]["tests"]
    assert [row["gain_bit"] for row in numbers] == pytest.approx([t.gain.bits for t in tests])
    if held.tests.recommended is not None:
        assert f"{words.telling(held, held.tests.recommended)})" in steps


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
    assert "igniter dead" not in {each.name for each in found("shut").odds}
    assert words.answer(found("shut"))[-1] == 'Ruled out by "pop": "igniter dead".'
    assert not any(text.startswith("Ruled out") for text in words.answer(found("silent")))
    # a shot as designed would have been heard: it is hardly involved, whatever its prior odds
    assert '"as designed"' in " ".join(words.ruled_out(found("silent")))


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


def test_every_diagnosis_has_its_figures() -> None:
    figures = {name: {each.name for each in document(found(name)).figures} for name in SEEN}
    assert all({"odds", "tests"} <= names for names in figures.values())
    assert {"curves", "outlook"} <= figures["shut"]


def test_readings_beyond_the_instrument_are_said_so() -> None:
    from baypulse.studies.why.next_test_list import Reading

    reading = Reading("leak-down time", 0.1, 0.03, 0.03, 120.0)
    assert words.reading_text(reading, (120.0, 120.0, 120.0)) == "120 s or more"
    assert words.reading_text(reading, (0.03, 0.03, 0.03)) == "30.0 ms or less"
    assert words.reading_text(reading, (100.0, 110.0, 120.0)) == "110 s (100 s to 120 s or more)"


def test_several_cases_are_compared() -> None:
    table = compare([found("shut"), found("silent")])
    assert [row[0] for row in table.rows] == ["shut", "silent"]
    assert table.rows[1][1] == "igniter dead"
    assert table.rows[1][2:4] == ("96 %", "under 4 %")
