"""The root search on a count of members, against thresholds that are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom

from baypulse.members.charge_search import ranks
from baypulse.members.thresholds import PRECISION, Thresholds


class Known:
    """Members whose thresholds are known, and a count of how often one was asked."""

    def __init__(self, members: int, seed: int = 1) -> None:
        self.charges = np.random.default_rng(seed).lognormal(0.0, 0.4, members)
        self.asked = 0
        self.thresholds = Thresholds(self._happens, members)

    def _happens(self, charge: float, which: np.ndarray) -> np.ndarray:
        self.asked += which.size
        return self.charges[which] <= charge


@pytest.mark.parametrize("start", [0.02, 0.5, 1.0, 3.0, 40.0])
@pytest.mark.parametrize("rank", [1, 5, 500, 990, 1000])
def test_bracket_holds_the_order_statistic(rank: int, start: float) -> None:
    known = Known(1000)
    low, high = known.thresholds.bracket(rank, start, 1e-3, 100.0)
    exact = np.sort(known.charges)[rank - 1]  # numpy's sort is the reference
    assert low < exact <= high <= low * PRECISION * (1.0 + 1e-12)
    assert known.thresholds.count(high) == np.sum(known.charges <= high) >= rank
    assert known.thresholds.count(low) == np.sum(known.charges <= low) < rank


def test_a_far_quantile_costs_little_more_than_one_ensemble() -> None:
    known = Known(10_000)
    pilot = known.thresholds.bracket(120, 1.0, 1e-3, 100.0, first=128)
    known.thresholds.bracket(9900, pilot[1], 1e-3, 100.0)
    assert known.asked < 1.35 * 10_000


def test_members_without_it_are_those_above() -> None:
    known = Known(300)
    assert np.array_equal(known.thresholds.without(1.1), np.flatnonzero(known.charges > 1.1))


def test_out_of_reach_is_none_and_below_the_floor_is_the_floor() -> None:
    known = Known(50)
    assert known.thresholds.bracket(50, 1.0, 1e-3, known.charges.max() * 0.99) is None
    floor = float(np.sort(known.charges)[20])
    assert known.thresholds.bracket(10, 1.0, floor, 100.0) == (0.0, floor)


def test_what_is_noted_is_not_asked_again() -> None:
    known = Known(200)
    everyone = np.arange(200)
    known.thresholds.note(0.8, everyone, known.charges <= 0.8)
    known.thresholds.note(1.2, everyone, known.charges <= 1.2)
    between = np.sum((known.charges > 0.8) & (known.charges <= 1.2))
    assert known.thresholds.count(1.0) == np.sum(known.charges <= 1.0)
    assert known.asked == between
    # what is known of a member never becomes less
    known.thresholds.note(2.0, everyone, known.charges <= 2.0)
    assert known.thresholds.count(1.2) == np.sum(known.charges <= 1.2)
    assert known.asked == between


@pytest.mark.parametrize("members", [1, 128, 4096, 100_000])
@pytest.mark.parametrize("share", [0.01, 0.5, 0.99])
def test_ranks_are_quantiles_of_the_binomial(members: int, share: float) -> None:
    low, high = binom.ppf((0.025, 0.975), members, share).astype(int).tolist()
    assert ranks(share, members) == (low, high + 1)


def test_ranks_hold_the_quantile_as_often_as_they_say() -> None:
    """Order statistics of the binomial: coverage over 2000 samples of a known distribution.

    Conover, Practical Nonparametric Statistics, 1999, section 3.2 (from memory): the interval
    between the order statistics of these ranks holds the quantile with at least the confidence.
    """
    n, share = 2048, 0.99
    low, high = ranks(share, n)
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(2000):
        sample = np.sort(rng.random(n))
        held += sample[low - 1] <= share <= sample[high - 1]
    assert 0.95 - 3.0 * math.sqrt(0.05 * 0.95 / 2000) <= held / 2000 <= 0.985
