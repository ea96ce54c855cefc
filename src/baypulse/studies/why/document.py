"""What a diagnosis says: the chances of the causes, the next test, its numbers for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baypulse.case.casefile.keys import charge_path, number_at, value_at
from baypulse.case.quantities import likely
from baypulse.show.cells import both, clean
from baypulse.show.document import (
    Between,
    Column,
    Document,
    Figure,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.studies.why import figures_of_bars, figures_of_curves, words
from baypulse.studies.why.cause_file import NONE_OF_THESE
from baypulse.studies.why.explanation import LITTLE, Explained, Odds
from baypulse.studies.why.next_tests import Outlook, Prospect
from baypulse.studies.why.result import Finding

ROWS = 8
"""Causes in a table; the file for spreadsheets has all."""

PAIRS = 5
"""Pairs of causes in a table."""

OUTLOOKS = 6
"""Tests of which all is told."""

UNKNOWN = (
    "The chances hold for this list of causes, their prior odds and the error rates of the "
    "sightings, nearly all of which are estimates: nobody has counted. Their intervals tell only "
    "what comes from the finite number of simulated shots. Causes are taken to come together by "
    "chance. The model has one pressure and two zones of gas and moves the sections along one "
    "line: it knows no shoulder that tilts and jams, no lines that tangle, no jet of flame. The "
    "gain of a test takes for granted that the fault is still there, as with a way of making up "
    "charges; a fault of that one shot is found only by looking at what is left of it. Two tests "
    "that tell the same count both: after each, say what it gave and look again."
)
"""What a diagnosis does not know."""

ODDS = (
    "Dark bar: chance that a cause alone was at work, with its 95 % interval from the finite "
    "number of simulated shots. Hatched: with a second fault besides; so bars may add up to more "
    "than 100 %. The upright mark is the chance of being involved before anything was seen."
)
CURVES = (
    "For each leading cause the simulated shot that comes nearest to what was seen, beside the "
    "case as designed with nothing scattering. Marks show what was measured, if anything was."
)
TESTS = (
    "How much less uncertain the cause is expected to be after each test, with twice the standard "
    "error on either side. Inert tests have a plain bar, those that burn a hatched one."
)
OUTLOOK = (
    "What the test would show under each leading cause, its own error included: the median and "
    "nine of ten readings of a number, or the chance of each answer."
)
"""What each figure shows."""


def document(found: Explained) -> Document:
    """Return what a diagnosis says.

    Parameters
    ----------
    found : Explained
        Findings.
    """
    return of_case(
        found.case,
        "why",
        about=words.fired(found),
        headline=words.headline(found),
        sentences=tuple(words.answer(found)),
        first=_causes(found),
        warnings=tuple(words.warnings(found)),
        next_steps=(words.SAFETY, *words.next_steps(found)),
        sections=(
            Section("Tests", (*_tests(found),)),
            Section(
                "Causes",
                (Figure("odds", ODDS, lambda: figures_of_bars.odds(found)),
                 *words.ruled_out(found), *_pairs(found)),
            ),
            Section("What was seen, under each cause", (_seen(found),)),
            Section("Simulated shots", _typical(found)),
        ),
        unknown=UNKNOWN,
        effort=words.effort(found),
        findings=_findings(found),
        files={"why.csv": _every(found)},
    )  # fmt: skip


def compare(found: Sequence[Explained]) -> Table:
    """Return a table that compares the diagnoses of several cases.

    Parameters
    ----------
    found : sequence of Explained
        Findings, one a case.
    """
    return Table(
        "diagnoses",
        (
            Column("case", "case"), Column("first", "first cause"), Column("chance", "chance"),
            Column("none", "none of these"), Column("next", "next test"),
        ),
        tuple(
            (
                each.case.name, each.first.name, likely(each.first.involved, whole=True),
                likely(each.diagnosis.none.share, whole=True),
                each.tests.recommended and each.tests.recommended.test.name,
            )
            for each in found
        ),
        title="The same sightings in every case",
    )  # fmt: skip


def _shown(found: Explained) -> list[Odds]:
    """Return the causes that a table shows, none of these always."""
    return [each for k, each in enumerate(found.odds) if k < ROWS or each.name == NONE_OF_THESE]


def _said(share: float) -> Said:
    return Said(share, likely(share, whole=True))


def _alone(each: Finding) -> Between:
    """Return the chance that nothing else was at work."""
    return Between(each.share, each.low, each.high, "ratio")


def _causes(found: Explained) -> Table:
    """Return the chances of the first causes."""
    return Table(
        "causes",
        (
            Column("name", "Cause"), Column("involved", "Involved", "ratio"),
            Column("involved_before", "Before the shot", "ratio"),
            Column("alone", "Alone", "ratio"),
            Column("effective_shots", "Effective shots"),
        ),
        tuple(
            (
                each.name, _said(each.involved), _said(each.before), _alone(each.finding),
                None if each.name == NONE_OF_THESE else round(each.finding.ess),
            )
            for each in _shown(found)
        ),
        title="Chances; the effective simulated shots tell how firm they are",
    )  # fmt: skip


def _pairs(found: Explained) -> list[Table]:
    """Return the pairs of causes with the greatest shares, if any counts."""
    rows = tuple(
        (each.name, _said(each.prior), _alone(each), round(each.ess))
        for each in found.diagnosis.pairs[:PAIRS]
        if each.share >= LITTLE
    )
    columns = (
        Column("name", "Pair"), Column("before", "Before the shot", "ratio"),
        Column("chance", "Chance", "ratio"), Column("effective_shots", "Effective shots"),
    )  # fmt: skip
    return [Table("pairs", columns, rows, title="Two faults together")] if rows else []


def _seen(found: Explained) -> Table:
    """Return how likely each sighting is under the first causes."""
    seen = found.diagnosis.sightings
    return Table(
        "seen",
        (
            Column("cause", "Cause"),
            *(Column(f"{each.kind.name.replace(' ', '_')}", each.text) for each in seen),
        ),
        tuple(
            (each.name, *map(words.reported, seen, each.finding.seen)) for each in _shown(found)
        ),
        note="Chance that somebody reports this, where the cause alone is at work. Of a number: "
        "how many times as likely as by chance, with any number possible.",
    )  # fmt: skip


def _typical(found: Explained) -> tuple[Figure | Table, ...]:
    """Return the shots nearest to what was seen: their curves and numbers."""
    if not found.typical:
        return ()
    table = Table(
        "typical",
        (
            Column("name", "Nearest shot"), Column("verdict", "Verdict"),
            Column("peak_pressure", "Peak pressure", "gauge pressure"),
            Column("greatest_travel", "Moves", "length"),
            Column("clear_time", "Clear after", "time"),
            Column("clear_velocity", "Velocity when clear", "velocity"),
        ),
        tuple(
            (
                each.finding.name, each.result.verdict, held.peak_pressure, held.greatest_travel,
                held.clear_time, held.clear_velocity,
            )
            for each in found.typical
            for held in [each.result.numbers]
        ),
    )  # fmt: skip
    return Figure("curves", CURVES, lambda: figures_of_curves.curves(found)), table


def _tests(found: Explained) -> list[Any]:
    """Return what each test is expected to tell, and what the most telling ones would show."""
    held, chosen = found.tests.tests, found.tests.recommended
    if not held:
        return []
    told = Table(
        "tests",
        (
            Column("name", "Test"), Column("danger", "Danger"), Column("takes", "Takes", "time"),
            Column("gain_bit", "Gain (bit)"), Column("advice", ""),
        ),
        tuple(
            (
                each.test.name, words.DANGERS[each.test.danger],
                Said(60.0 * each.test.minutes, words.minutes(each.test.minutes)), each.gain.bits,
                "next" if each is chosen else "exceeds a limit too often" * each.risky,
            )
            for each in held
        ),
        note=words.rule(found),
    )  # fmt: skip
    expected = Table(
        "outlooks",
        (
            Column("test", "Test"), Column("cause", "If it was"), Column("expected", "Expected"),
        ),
        tuple(
            (each.test.name, one.name, words.outlook(each, one))
            for each in held[:OUTLOOKS]
            for one in each.outlooks
        ),
        title="What the most telling tests would show; in brackets nine of ten readings",
        look="again",
    )  # fmt: skip
    parts: list[Any] = [
        Figure("tests", TESTS, lambda: figures_of_bars.tests(found)),
        told,
        expected,
    ]
    if chosen is not None and any(each.known for each in chosen.outlooks):
        parts.insert(0, Figure("outlook", OUTLOOK, lambda: figures_of_bars.outlook(chosen)))
    return parts


def _every(found: Explained) -> Table:
    """Return all causes, none of these and all pairs, for a spreadsheet."""
    involved = {each.name: (each.involved, each.before) for each in found.odds}
    seen = found.diagnosis.sightings
    return Table(
        "every_cause",
        (
            Column("cause", ""), Column("what", ""), Column("before", "", "ratio"),
            Column("alone", "", "ratio"), Column("involved", "", "ratio"),
            Column("involved_before", "", "ratio"), Column("effective_shots", ""),
            *(Column(f"{each.kind.name.replace(' ', '_')}_likelihood_over_chance", "", "ratio")
              for each in seen),
        ),
        tuple(
            (
                each.name, each.what, each.prior, Between(each.share, each.low, each.high, "ratio"),
                *involved.get(each.name, (each.share, each.prior)), each.ess, *each.seen,
            )
            for each in (*(odds.finding for odds in found.odds), *found.diagnosis.pairs)
        ),
    )  # fmt: skip


def _findings(found: Explained) -> dict[str, Any]:
    """Return what stands in no table."""
    held, before, chosen = found.diagnosis, found.before, found.tests.recommended
    path = charge_path(found.case)
    return {
        "safety": words.SAFETY,
        "confidence_ratio": 0.95,
        "simulated_shots": held.members,
        "pair_simulated_shots": held.pair_members,
        "after_shots": None if before is None else {
            "file": before.log.file,
            "shots": len(before.log),
            "effective_shots": clean(before.effective),
        },
        "shot": None if found.shot is None or not found.shot.number else {
            "number": found.shot.number, "file": found.shot.file,
        },
        **both("charge", float(value_at(found.case, path)), number_at(path).dimension),
        "pins": 0 if found.case.pins is None else found.case.pins.count,
        "seed": held.seed,
        "sightings": [
            {
                "text": each.text,
                "kind": each.kind.name,
                "answer": each.said or None,
                **({} if each.value is None
                   else both("value", each.value, each.kind.dimension)),
            }
            for each in held.sightings
        ],
        "left_out": list(held.left_out),
        "ruled_out": [
            {"cause": name, "by": seen.text} for name, seen in held.ruled_out.items()
        ],
        "entropy_bit": clean(found.tests.entropy),
        "covered_ratio": clean(found.tests.covered),
        "unforeseen_ratio": clean(found.tests.unforeseen),
        "recommended_test": None if chosen is None else chosen.test.name,
        "tests": [_test(each) for each in found.tests.tests],
    }  # fmt: skip


def _test(each: Prospect) -> dict[str, Any]:
    reading = each.test.reading
    return {
        "name": each.test.name,
        "how": each.test.how,
        "gain_with_bias_bit": clean(each.gain.plain),
        "gain_error_bit": clean(each.gain.error),
        "exceeds_a_limit_ratio": clean(each.hard),
        "reads": None if reading is None else reading.label,
        "outcomes": list(each.outcomes),
        "outlooks": [_outlook(each, one) for one in each.outlooks],
    }


def _outlook(tested: Prospect, each: Outlook) -> dict[str, Any]:
    found: dict[str, Any] = {
        "cause": each.name,
        "known": each.known,
        "chances_ratio": [clean(share) for share in each.chances],
    }
    if each.numbers is not None and tested.test.reading is not None:
        dimension = tested.test.reading.dimension
        for name, value in zip(("low", "median", "high"), each.numbers, strict=True):
            found |= both(name, value, dimension)
    return found
