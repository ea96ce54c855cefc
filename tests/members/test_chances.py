"""The chance of an outcome and its interval, on a joint whose chance is a normal integral.

Pins of normal strength hold against a normal load. The margin g = sum of strengths - load is
normal, so the chance of failure is Phi(-beta), beta = mean of g over its standard deviation:
the plain normal integral, by scipy (Melchers, Structural Reliability Analysis and Prediction,
ch. 1; from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom, binomtest, norm, qmc

from baypulse.members.chances import chance

PINS = 4
STRENGTH, STRENGTH_SCATTER = 100.0, 12.0
LOAD, LOAD_SCATTER = 330.0, 40.0
BETA = (PINS * STRENGTH - LOAD) / math.hypot(math.sqrt(PINS) * STRENGTH_SCATTER, LOAD_SCATTER)
OPENS = norm.sf(BETA)
"""Chance that the load exceeds the pins, about 6.7 %."""


def opens(u: np.ndarray) -> int:
    """Return how many of the points (m, 5) of the unit cube open."""
    z = norm.ppf(u)
    strengths = STRENGTH + STRENGTH_SCATTER * z[:, :PINS]
    load = LOAD + LOAD_SCATTER * z[:, PINS]
    return int(np.sum(load > strengths.sum(axis=1)))


def sample(kind: str, seed: int, members: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    if kind == "sobol":
        return qmc.Sobol(PINS + 1, scramble=True, seed=rng).random(members)
    if kind == "hypercube":
        return qmc.LatinHypercube(PINS + 1, seed=rng).random(members)
    return rng.random((members, PINS + 1))


@pytest.mark.parametrize(
    ("count", "members"), [(0, 20), (1, 20), (7, 20), (20, 20), (3, 1024), (512, 1024)]
)
def test_the_interval_is_scipys_exact_one(count: int, members: int) -> None:
    found = chance("separates", count, members)
    other = binomtest(count, members).proportion_ci(0.95, "exact")
    assert (found.low, found.high) == pytest.approx((other.low, other.high), rel=1e-9)
    assert found.share == count / members


@pytest.mark.parametrize("count", [5, 500_000_000, 999_999_995])
def test_the_ends_leave_the_tails_that_they_say_for_a_thousand_million_members(count: int) -> None:
    n = 1_000_000_000
    found = chance("separates", count, n, level=0.9)
    # scipy's binomial tail at the other end, the count turned round where p is near one
    assert binom.sf(count - 1, n, found.low) == pytest.approx(0.05, rel=1e-5)
    assert binom.cdf(count, n, found.high) == pytest.approx(0.05, rel=1e-5)


def test_none_and_all_have_one_sided_ends() -> None:
    # (1 - p)^n = 0.025
    assert chance("separates", 0, 1000).low == 0.0
    assert chance("separates", 0, 1000).high == pytest.approx(1.0 - 0.025**0.001, rel=1e-12)
    assert chance("separates", 1000, 1000).high == 1.0
    assert chance("separates", 1000, 1000).low == pytest.approx(0.025**0.001, rel=1e-12)


@pytest.mark.parametrize(("count", "members"), [(-1, 10), (11, 10), (0, 0)])
def test_what_is_no_share_is_refused(count: int, members: int) -> None:
    with pytest.raises(
        ValueError, match=f"partial separation: {count} of {members} simulated shots"
    ):
        chance("partial separation", count, members)


@pytest.mark.parametrize("level", [0.0, 1.0, float("nan")])
def test_a_level_out_of_range_is_refused(level: float) -> None:
    with pytest.raises(ValueError, match="partial separation: the level is"):
        chance("partial separation", 1, 10, level)


@pytest.mark.parametrize("kind", ["sobol", "hypercube", "independent"])
def test_the_interval_holds_the_normal_integral_at_least_as_often_as_it_says(kind: str) -> None:
    seeds = 400
    inside = 0
    for seed in range(seeds):
        # blocks of 1024 members, each with a sample of its own, as in a study
        count = sum(opens(sample(kind, 2 * seed + block, 1024)) for block in range(2))
        found = chance("separates", count, 2048)
        inside += found.low <= OPENS <= found.high
    measured = chance("inside", inside, seeds)
    assert measured.high >= 0.95, measured
    if kind == "sobol":
        assert measured.low >= 0.98, measured


def errors(kind: str, sizes: list[int], seeds: int) -> np.ndarray:
    """Return the root mean square error of the share for each number of members."""
    return np.array(
        [
            math.sqrt(
                np.mean(
                    [(opens(sample(kind, 10**6 + s, n)) / n - OPENS) ** 2 for s in range(seeds)]
                )
            )
            for n in sizes
        ]
    )


def slope(sizes: list[int], found: np.ndarray) -> float:
    return float(np.polyfit(np.log(sizes), np.log(found), 1)[0])


def test_the_error_of_a_block_falls_faster_than_that_of_independent_members() -> None:
    sizes = [64, 256, 1024, 4096, 16384]
    found = errors("sobol", sizes, 60)
    # between n^-1/2 of independent members and n^-1 of a smooth output
    assert -1.0 < slope(sizes, found) < -0.55
    assert found[-1] < 0.5 * math.sqrt(OPENS * (1.0 - OPENS) / sizes[-1])


def test_the_error_falls_with_the_square_root_of_the_number_of_blocks() -> None:
    counts = np.array([opens(sample("sobol", seed, 1024)) for seed in range(1024)])
    blocks = [1, 4, 16, 64]
    found = np.array(
        [np.sqrt(np.mean((counts.reshape(-1, b).mean(axis=1) / 1024 - OPENS) ** 2)) for b in blocks]
    )
    # 16 means of 64 blocks know their scatter to 18 %, which is 0.04 of the slope
    assert slope(blocks, found) == pytest.approx(-0.5, abs=0.1)
    assert abs(counts.mean() / 1024 - OPENS) < 3.0 * counts.std() / 1024 / math.sqrt(len(counts))
