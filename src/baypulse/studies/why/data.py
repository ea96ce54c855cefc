"""Why a shot went as it did, for other programs: ``numbers.json`` and ``why.csv``."""

from __future__ import annotations

import csv
import io
from typing import Any

from baypulse.show.data import both, clean
from baypulse.show.study_data import foot, head
from baypulse.studies.why.explanation import Explained
from baypulse.studies.why.next_tests import Outlook, Prospect
from baypulse.studies.why.result import Finding
from baypulse.studies.why.text import SAFETY, answer, headline, next_steps


def why_numbers(found: Explained) -> dict[str, Any]:
    """Return everything about a diagnosis, ready for JSON.

    Every name of a number that has a unit ends in it.

    Parameters
    ----------
    found : Explained
        Findings.
    """
    held = found.diagnosis
    chosen = found.tests.recommended
    return {
        **head("why", found.case),
        "headline": headline(found),
        "sentences": answer(found),
        "safety": SAFETY,
        "next_steps": next_steps(found),
        "confidence_ratio": 0.95,
        "simulated_shots": held.members,
        "pair_simulated_shots": held.pair_members,
        "after_shots": None if found.before is None else {
            "file": found.before.log.file,
            "shots": len(found.before.log),
            "effective_simulated_shots": clean(found.before.effective),
        },
        "seed": held.seed,
        "sightings": [
            {
                "text": each.text,
                "kind": each.kind.name,
                "answer": None if each.answer is None else each.kind.answers[each.answer],
                **({} if each.value is None
                   else both("value", each.value, each.kind.dimension)),
            }
            for each in held.sightings
        ],
        "causes": [
            {
                **_finding(each.finding),
                "involved_ratio": clean(each.involved),
                "involved_before_ratio": clean(each.before),
            }
            for each in found.odds
        ],
        "pairs": [_finding(each) for each in held.pairs],
        "left_out": list(held.left_out),
        "typical": [
            {
                "name": each.finding.name,
                "verdict": each.result.verdict,
                **both("peak_pressure", each.result.numbers.peak_pressure, "gauge pressure"),
                **both("greatest_travel", each.result.numbers.greatest_travel, "length"),
                **both("clear_time", each.result.numbers.clear_time, "time"),
                **both("clear_velocity", each.result.numbers.clear_velocity, "velocity"),
            }
            for each in found.typical
        ],
        "entropy_bit": clean(found.tests.entropy),
        "covered_ratio": clean(found.tests.covered),
        "unforeseen_ratio": clean(found.tests.unforeseen),
        "recommended_test": None if chosen is None else chosen.test.name,
        "tests": [_test(each) for each in found.tests.tests],
        **foot(found.case, found.warnings),
    }  # fmt: skip


def _finding(each: Finding) -> dict[str, Any]:
    return {
        "name": each.name,
        "what": each.what,
        "causes": list(each.causes),
        "before_ratio": clean(each.prior),
        "alone_ratio": clean(each.share),
        "alone_low_ratio": clean(each.low),
        "alone_high_ratio": clean(each.high),
        "effective_simulated_shots": clean(each.ess),
        "likelihood_of_each_sighting_over_chance_ratio": [clean(ratio) for ratio in each.seen],
    }


def _test(each: Prospect) -> dict[str, Any]:
    reading = each.test.reading
    return {
        "name": each.test.name,
        "how": each.test.how,
        "danger": each.test.danger,
        "takes_s": clean(60.0 * each.test.minutes),
        "gain_bit": clean(each.gain.bits),
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


def why_csv(found: Explained) -> str:
    """Return all causes, pairs and none of these as a table, a row each.

    Parameters
    ----------
    found : Explained
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line.
    """
    stream = io.StringIO()
    seen = [each.text for each in found.diagnosis.sightings]
    names = ["cause", "before_ratio", "alone_ratio", "alone_low_ratio", "alone_high_ratio",
             "involved_ratio", "effective_simulated_shots",
             *(f"{text} (likelihood over chance, ratio)" for text in seen)]  # fmt: skip
    table = csv.writer(stream, lineterminator="\n")
    table.writerow(names)
    involved = {each.name: each.involved for each in found.odds}
    for each in (*(odds.finding for odds in found.odds), *found.diagnosis.pairs):
        row = [each.prior, each.share, each.low, each.high, involved.get(each.name, each.share),
               each.ess, *each.seen]  # fmt: skip
        table.writerow([each.name, *(f"{v:.6g}" if v == v else "" for v in row)])
    return stream.getvalue()
