"""What people say they saw: words, numbers, sentences for what is not understood, and chances."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import chisquare, lognorm

from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.observed.sighting_odds import Traces, likelihood, report
from baypulse.observed.sightings import (
    Sighting,
    SightingError,
    answered,
    available,
    kinds,
    measured,
    sight,
    sightings,
)
from report_cases import BENCH


def bench() -> Case:
    return reads(BENCH, "bench")


@pytest.mark.parametrize(
    ("text", "kind", "answer"),
    [
        ("no separation", "outcome", "no separation"),
        ("Stayed  SHUT", "outcome", "no separation"),
        ("stays shut", "outcome", "no separation"),
        ("hangs", "outcome", "partial separation"),
        ("moved and stuck", "outcome", "partial separation"),
        ("opened but contents stayed", "outcome", "separated but parachute stayed in"),
        ("opened", "outcome", "separated"),
        ("opens", "outcome", "separated"),
        ("opened too hard", "outcome", "separated too hard"),
        ("opens hard", "outcome", "separated too hard"),
        ("moved", "outcome", "partial separation"),
        ("pins whole", "pins", "pins whole"),
        ("all pins sheared", "pins", "all pins sheared"),
        ("pop", "sound", "pop"),
        ("whoosh", "sound", "whoosh"),
        ("smoke at the joint", "smoke", "smoke at the joint"),
        ("smoke at joint", "smoke", "smoke at the joint"),
        ("unburnt grains", "residue", "unburnt grains"),
        ("no scorch", "scorch", "no scorch"),
        ("soot in the electronics bay", "electronics", "soot in the electronics bay"),
    ],
)
def test_words_are_understood(text: str, kind: str, answer: str) -> None:
    found = sight(text)
    assert found.kind.name == kind
    assert found.answer is not None
    assert found.kind.answers[found.answer] == answer


@pytest.mark.parametrize(
    ("text", "kind", "value", "error"),
    [
        # 1 psi = 6894.757 Pa (NIST SP 811)
        ("peak 9 psi", "peak", 9 * 6894.757293168, None),
        ("peak 9 psig", "peak", 9 * 6894.757293168, None),
        ("peak pressure 0.6 bar", "peak", 60e3, None),
        ("moved 12 mm", "travel", 0.012, None),
        ("velocity 6 m/s", "velocity", 6.0, None),
        ("speed 20 ft/s +- 2 ft/s", "velocity", 6.096, 0.6096),
        ("time 120 ms ± 10 %", "time", 0.12, 0.012),
        ("slid 3 m", "slide", 3.0, None),
    ],
)
def test_numbers_are_understood(text: str, kind: str, value: float, error: float | None) -> None:
    found = sight(text)
    assert found.kind.name == kind
    assert found.value == pytest.approx(value, rel=1e-9)
    assert found.error == (None if error is None else pytest.approx(error, rel=1e-9))


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("stayed shtu", ['--saw "stayed shtu"', 'did you mean "no separation"?', '"whoosh"']),
        ("veloctiy 6 m/s", ['did you mean "velocity"?']),
        ("smoke at moter", ['did you mean "smoke at the motor end"']),
        ("xyzzy", ["not known", '"peak pressure 9 psi"']),
        ("velocity", ["no number", '"velocity 6 m/s"']),
        ("velocity 6", ['"6" has no unit']),
        ("velocity 6 mm", ["velocity"]),
        ("peak 9 psia", ["absolute"]),
        ("velocity 6 km/s", ["allowed values of separation velocity are 0.2 m/s to 100 m/s"]),
        ("time 3 ms +- 0 ms", ["above 0"]),
        ("time 3 ms +- 1 ms +- 1 ms", ["once"]),
        ("", ["not known"]),
    ],
)
def test_what_is_not_understood_gets_a_sentence(text: str, parts: list[str]) -> None:
    with pytest.raises(SightingError) as caught:
        sight(text)
    for part in parts:
        assert part in str(caught.value)


def test_what_a_case_cannot_show_gets_a_sentence() -> None:
    case = replace(bench(), pins=None)
    with pytest.raises(SightingError, match='"pins whole": this case has no pins'):
        sightings(case, ["pins whole"])
    with pytest.raises(SightingError, match="no electronics bay"):
        sightings(case, ["electronics soot"])
    with pytest.raises(SightingError, match="no contents on a cord"):
        sightings(replace(case, cord=None), ["parachute stayed in"])
    with pytest.raises(SightingError, match='"no separation" says something about what became'):
        sightings(case, ["no separation", "separated"])
    assert "pins" not in available(case)


def test_every_phrase_means_one_thing() -> None:
    phrases = [phrase for kind in kinds().values() for phrase in kind.phrases]
    assert len(phrases) == len(set(phrases))
    for kind in kinds().values():
        assert kind.source.startswith("estimate")
        if kind.words:
            assert sight(f"{kind.words[0]} {kind.example}").kind is kind
        for k, answer in enumerate(kind.answers):
            assert sight(answer).answer == k
            assert sight(answer).kind is kind


def test_reports_of_an_answer_add_up_to_one() -> None:
    for kind in kinds().values():
        for right in range(len(kind.answers)):
            chances = kind.report(right)
            assert sum(chances) == pytest.approx(1.0)
            assert chances[right] == pytest.approx(1.0 - kind.wrong)
    outcome = kinds()["outcome"].report(0)
    # ordered: the next answer ten times as often as the one behind it
    assert outcome[1] == pytest.approx(10.0 * outcome[2])


def seen_of(
    kind: str, *, answers: np.ndarray | None = None, numbers: float | list[float] | None = None
) -> Traces:
    true = np.atleast_1d(np.asarray(numbers, dtype=float))
    count = len(answers) if answers is not None else true.size
    return Traces(
        kinds(),
        {} if answers is None else {kind: answers},
        {} if numbers is None else {kind: true},
        np.ones(count, dtype=bool),
    )


def test_a_coin_as_a_witness_says_nothing() -> None:
    """Of two answers, one that is wrong half the time: the likelihood does not know the member."""
    scorch = replace(kinds()["scorch"], wrong=0.5)
    seen = seen_of("scorch", answers=np.array([[1.0, 0.0], [0.0, 1.0], [0.3, 0.7]]))
    for answer in range(2):
        assert likelihood(answered(scorch, answer), seen) == pytest.approx([0.5, 0.5, 0.5])
    # of k answers without an order, wrong (k - 1)/k of the time
    smoke = replace(kinds()["smoke"], wrong=0.8)
    seen = seen_of("smoke", answers=np.eye(5))
    assert likelihood(answered(smoke, 2), seen) == pytest.approx([0.2] * 5)


def test_density_of_a_number_is_a_log_normal_one_with_mistakes() -> None:
    """Against scipy's lognorm; and it adds up to 1 by scipy's quadrature."""
    kind = kinds()["velocity"]
    true = 7.0
    seen = seen_of("velocity", numbers=true)
    width = math.hypot(kind.error, kind.floor / true)

    def density(value: float) -> float:
        return float(likelihood(Sighting(kind, "", value=value), seen)[0])

    for value in (5.0, 7.0, 9.5):
        sure = lognorm.pdf(value, width, scale=true)
        mistake = 1.0 / (value * math.log(kind.high / kind.low))
        expected = (1.0 - kind.gross) * sure + kind.gross * mistake
        assert density(value) == pytest.approx(expected, rel=1e-12)
    parts = [quad(density, a, b)[0] for a, b in ((kind.low, 5), (5, 10), (10, kind.high))]
    assert sum(parts) == pytest.approx(1.0, abs=1e-6)
    assert quad(kind.anything, kind.low, kind.high)[0] == pytest.approx(1.0, abs=1e-6)


def test_where_there_is_no_velocity_a_report_of_one_is_a_mistake() -> None:
    kind = kinds()["velocity"]
    found = likelihood(measured(kind, 6.0), seen_of("velocity", numbers=[np.nan, 6.0]))
    assert found[0] == pytest.approx(kind.gross * kind.anything(6.0))
    assert found[1] > 100.0 * found[0]


def test_an_error_that_was_given_replaces_the_usual_one() -> None:
    kind = kinds()["velocity"]
    seen = seen_of("velocity", numbers=[6.0, 8.0])
    usual = likelihood(Sighting(kind, "", value=6.0), seen)
    fine = likelihood(Sighting(kind, "", value=6.0, error=0.1), seen)
    assert fine[0] > 3.0 * usual[0]
    assert fine[1] < usual[1]


def test_reports_come_as_often_as_their_likelihood_says() -> None:
    """20,000 reports of one member against the chances, by Pearson's chi-square test."""
    rng = np.random.default_rng(3)
    kind = kinds()["sound"]
    seen = seen_of("sound", answers=np.array([[0.6, 0.3, 0.1]]))
    said = [report(kind, seen, 0, rng) for _ in range(20_000)]
    counts = np.bincount([each.answer for each in said if each and each.answer is not None])
    expected = [likelihood(answered(kind, k), seen)[0] for k in range(3)]
    assert chisquare(counts, 20_000 * np.array(expected)).pvalue > 1e-3
    kind = kinds()["peak"]
    seen = seen_of("peak", numbers=50e3)
    reports = [report(kind, seen, 0, rng) for _ in range(20_000)]
    values = [each.value for each in reports if each is not None and each.value is not None]
    edges = np.array([kind.low, 40e3, 48e3, 52e3, 60e3, kind.high])
    counts = np.histogram(values, edges)[0]
    chances = [
        quad(lambda v: float(likelihood(Sighting(kind, "", value=v), seen)[0]), a, b, limit=200)[0]
        for a, b in pairwise(edges)
    ]
    expected = 20_000 * np.array(chances) / sum(chances)
    assert chisquare(counts, expected).pvalue > 1e-3
