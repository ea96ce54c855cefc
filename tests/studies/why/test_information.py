"""What a test is expected to tell, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baypulse.studies.why.information import LEAST_ESS, Predicted, entropy, gain, mutual_information


def binary(e: float) -> float:
    """Return the binary entropy function [bit]."""
    return -e * math.log2(e) - (1.0 - e) * math.log2(1.0 - e) if 0.0 < e < 1.0 else 0.0


def sharp(outcome: int, outcomes: int, members: int = 40) -> Predicted:
    """Return a cause under which every member has the same outcome."""
    table = np.zeros((members, outcomes))
    table[:, outcome] = 1.0
    return Predicted(np.full(members, 1.0 / members), table)


@pytest.mark.parametrize("e", [0.0, 0.03, 0.11, 0.3, 0.5])
def test_binary_symmetric_channel(e: float) -> None:
    # capacity 1 - H2(e), reached with even odds: Cover and Thomas, 2nd ed., eq. 7.5 (from memory)
    told = mutual_information(np.array([0.5, 0.5]), np.array([[1.0 - e, e], [e, 1.0 - e]]))
    assert told == pytest.approx(1.0 - binary(e), abs=1e-12)


@pytest.mark.parametrize("e", [0.1, 0.25, 0.6])
def test_binary_erasure_channel(e: float) -> None:
    # capacity 1 - e: Cover and Thomas, 2nd ed., section 7.1.5 (from memory)
    chances = np.array([[1.0 - e, e, 0.0], [0.0, e, 1.0 - e]])
    assert mutual_information(np.array([0.5, 0.5]), chances) == pytest.approx(1.0 - e, abs=1e-12)


@pytest.mark.parametrize("pan", [1, 2, 3, 4, 5, 6])
def test_weighing_coins(pan: int) -> None:
    # one heavy coin of twelve, `pan` against `pan`: left, right or even; by counting the outcome's
    # entropy, since a weighing is certain once the coin is known. Best is four against four: log2 3
    # (MacKay, Information Theory, Inference, and Learning Algorithms, section 4.1, from memory)
    causes = [sharp(0 if k < pan else 1 if k < 2 * pan else 2, 3) for k in range(12)]
    told, _ = gain(np.full(12, 1.0 / 12.0), causes, 0.0)
    shares = np.array([pan, pan, 12 - 2 * pan]) / 12.0
    assert told.bits == pytest.approx(float(entropy(shares)), abs=1e-9)
    assert told.bits <= math.log2(3.0) + 1e-12
    assert (pan == 4) == (math.log2(3.0) - told.bits < 1e-9)


def test_members_that_err_softly_are_a_channel_too() -> None:
    e = 0.11
    table = np.tile([1.0 - e, e], (64, 1))
    weights = np.full(64, 1.0 / 64.0)
    causes = [Predicted(weights, table), Predicted(weights, table[:, ::-1])]
    told, p = gain(np.array([0.5, 0.5]), causes, 0.0)
    assert told.bits == pytest.approx(1.0 - binary(e), abs=1e-9)
    assert told.error == pytest.approx(0.0, abs=1e-9)
    assert p[:2] == pytest.approx(np.array([[1.0 - e, e], [e, 1.0 - e]]))


def alike(rng: np.random.Generator, causes: int, members: int, outcomes: int) -> list[Predicted]:
    chances = np.arange(1.0, outcomes + 1.0) / sum(range(1, outcomes + 1))
    drawn = rng.choice(outcomes, size=(causes, members), p=chances)
    return [Predicted(np.full(members, 1.0 / members), np.eye(outcomes)[row]) for row in drawn]


def test_causes_that_are_alike_tell_nothing() -> None:
    rng = np.random.default_rng(5)
    # of the rarest outcome four members are expected: few enough for a bias, enough for the formula
    causes, members, outcomes = 40, 84, 6
    found = [
        gain(np.full(causes, 1.0 / causes), alike(rng, causes, members, outcomes), 0.0)[0]
        for _ in range(60)
    ]
    plain = float(np.mean([each.plain for each in found]))
    # Miller (1955), from memory: (outcomes - 1)/(2 n ln 2) of each cause, less that of all together
    bias = (outcomes - 1) / (2.0 * members * math.log(2.0)) * (1.0 - 1.0 / causes)
    assert plain == pytest.approx(bias, rel=0.1)
    left = float(np.mean([each.bits for each in found]))
    assert left < 0.12 * bias


def test_standard_error_is_the_scatter_of_many_tries() -> None:
    rng = np.random.default_rng(8)
    chances = np.array([[0.6, 0.3, 0.1], [0.2, 0.3, 0.5]])
    found = []
    for _ in range(400):
        rows = [np.eye(3)[rng.choice(3, size=80, p=each)] for each in chances]
        causes = [Predicted(np.full(80, 1.0 / 80.0), row) for row in rows]
        found.append(gain(np.array([0.5, 0.5]), causes, 0.0)[0])
    bits = np.array([each.bits for each in found])
    true = mutual_information(np.array([0.5, 0.5]), chances)
    # the mean of 400 is known to a twentieth of the scatter
    assert bits.mean() == pytest.approx(true, abs=4.0 * bits.std() / 20.0)
    assert np.mean([each.error for each in found]) == pytest.approx(bits.std(), rel=0.15)


def test_cause_of_too_few_members_tells_nothing() -> None:
    known = [sharp(0, 2), sharp(0, 2)]
    few = sharp(1, 2, members=int(LEAST_ESS) - 1)
    shares = np.array([0.3, 0.3, 0.4])
    assert gain(shares, [*known, few], 0.0)[0].bits == pytest.approx(0.0, abs=1e-12)
    enough = sharp(1, 2, members=int(LEAST_ESS) + 1)
    assert gain(shares, [*known, enough], 0.0)[0].bits == pytest.approx(binary(0.4), abs=1e-9)


def test_none_of_these_is_flat_or_like_all_others() -> None:
    causes, shares = [sharp(0, 4), sharp(0, 4)], np.array([0.4, 0.4])
    # 0.8 always give the first of four outcomes, 0.2 any: by hand
    together = np.array([0.85, 0.05, 0.05, 0.05])
    told, p = gain(shares, causes, 0.2)
    assert told.bits == pytest.approx(float(entropy(together)) - 0.2 * 2.0, abs=1e-9)
    assert p[-1] == pytest.approx(np.full(4, 0.25))
    assert gain(shares, causes, 0.2, flat=False)[0].bits == pytest.approx(0.0, abs=1e-12)


@given(st.integers(0, 2**32 - 1), st.integers(2, 8), st.integers(2, 9))
def test_gain_lies_between_nothing_and_all(seed: int, causes: int, outcomes: int) -> None:
    rng = np.random.default_rng(seed)
    predicted = []
    for _ in range(causes):
        members = int(rng.integers(1, 30))
        weights = rng.dirichlet(np.full(members, 0.5))
        predicted.append(Predicted(weights, rng.dirichlet(np.full(outcomes, 0.3), size=members)))
    shares = rng.dirichlet(np.ones(causes + 1))
    told, p = gain(shares[:-1], predicted, float(shares[-1]))
    assert 0.0 <= told.bits <= float(entropy(shares)) + 1e-9
    assert told.bits <= told.plain + 1e-9
    assert told.error >= 0.0
    assert p.sum(axis=1) == pytest.approx(np.ones(causes + 1))
