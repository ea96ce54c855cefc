"""Weighing against closed forms: beta and normal posteriors (conjugate priors; any text on Bayesian
statistics), quantiles from scipy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta, norm

from baypulse.members.draws import unit_points
from baypulse.members.weights import (
    effective,
    prior_over_drawn,
    quantiles,
    resampled,
    toward,
    weights,
)


@pytest.mark.parametrize(("opened", "shots"), [(5, 5), (3, 5), (0, 2), (14, 20)])
def test_openings_of_a_bay_with_an_unknown_chance_give_a_beta_posterior(
    opened: int, shots: int
) -> None:
    chance = (np.arange(40_000) + 0.5) / 40_000
    weight = weights(chance**opened * (1.0 - chance) ** (shots - opened))
    exact = beta(1 + opened, 1 + shots - opened)
    # the posterior predictive chance of the next opening: (k + 1)/(n + 2), Laplace's rule
    assert weight @ chance == pytest.approx((opened + 1) / (shots + 2), rel=1e-4)
    told = quantiles(chance, weight, (0.05, 0.5, 0.95))
    assert told == pytest.approx(exact.ppf((0.05, 0.5, 0.95)), abs=1e-4)


def test_resampled_members_have_the_same_posterior() -> None:
    chance = (np.arange(4096) + 0.5) / 4096
    weight = weights(chance**5)
    kept = chance[resampled(weight, 2048, np.random.default_rng(3))]
    exact = beta(6, 1)
    # four standard errors of as many independent draws
    for share in (0.1, 0.5, 0.9):
        error = np.sqrt(share * (1.0 - share) / kept.size)
        assert exact.cdf(np.quantile(kept, share)) == pytest.approx(share, abs=4.0 * error)


def test_a_member_comes_as_often_as_its_weight_says() -> None:
    weight = np.array([0.5, 0.0, 0.3, 0.2])
    counts = np.bincount(resampled(weight, 10, np.random.default_rng(1)), minlength=4)
    assert counts.tolist() == [5, 0, 3, 2]


def test_resampled_members_of_a_sobol_sample_are_spread_like_all_of_it() -> None:
    # every eighth point of a Sobol' sample lies in one eighth of the unit interval
    points = unit_points(1, 0, 2)[:, 0]
    kept = points[resampled(np.full(1024, 1.0 / 1024), 128, np.random.default_rng(2))]
    # mean and deviation of a uniform number: 1/2, 1/sqrt(12); four standard errors
    assert kept.mean() == pytest.approx(0.5, abs=4.0 / np.sqrt(12.0 * 128))
    assert kept.std() == pytest.approx(1.0 / np.sqrt(12.0), rel=0.15)


def test_effective_members() -> None:
    assert effective(np.full(64, 1.0 / 64.0)) == pytest.approx(64.0)
    assert effective(np.array([0.5, 0.5, 0.0, 0.0])) == pytest.approx(2.0)
    assert effective(np.zeros(8)) == 0.0


def test_tiny_likelihoods_are_no_zeros() -> None:
    assert weights(np.array([1e-310, 3e-310])) == pytest.approx([0.25, 0.75], rel=1e-6)
    assert weights(np.zeros(3)).tolist() == [0.0, 0.0, 0.0]


def test_rounds_that_are_drawn_near_the_answer_keep_the_answer() -> None:
    # z of 40 standard normal numbers; y = z_0 + error is seen. Posterior of z_0: normal, mean
    # y/(1 + s^2), variance s^2/(1 + s^2); all others stay standard normal
    seen, error, rng = 3.2, 0.15, np.random.default_rng(7)
    scores = rng.standard_normal((2048, 40))
    rounds = [(np.zeros(40), 2048)]
    for _ in range(3):
        weight = weights(prior_over_drawn(scores, rounds) * norm.pdf(seen, scores[:, 0], error))
        shift = toward(scores, weight)
        rounds.append((shift, scores.shape[0]))
        more = rng.standard_normal(scores.shape) + shift
        scores = np.concatenate([scores, more])
    prior = prior_over_drawn(scores, rounds)
    weight = weights(prior * norm.pdf(seen, scores[:, 0], error))
    worth = effective(weight)
    plain = effective(weights(norm.pdf(seen, rng.standard_normal(scores.shape[0]), error)))
    assert worth > 5.0 * plain
    mean, spread = seen / (1.0 + error**2), error / np.sqrt(1.0 + error**2)
    # four standard errors
    assert weight @ scores[:, 0] == pytest.approx(mean, abs=4.0 * spread / np.sqrt(worth))
    assert np.abs(weight @ scores[:, 1:]).max() < 4.5 / np.sqrt(worth)
    assert prior.mean() == pytest.approx(1.0, abs=0.1)
    assert prior.max() <= scores.shape[0] / 2048 * (1.0 + 1e-9)


def test_nothing_seen_shifts_nothing() -> None:
    scores = np.random.default_rng(1).standard_normal((4096, 12))
    shift = toward(scores, np.full(4096, 1.0 / 4096))
    assert np.abs(shift).max() < 0.05
    assert toward(scores, np.zeros(4096)).tolist() == [0.0] * 12
