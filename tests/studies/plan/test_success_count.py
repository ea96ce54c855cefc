"""What test shots prove, against scipy and published tables."""

from __future__ import annotations

import pytest
from scipy.stats import beta, binom, binomtest

from baypulse.studies.plan.success_count import lower_bound, shots_needed


@pytest.mark.parametrize(
    ("successes", "shots"), [(1, 1), (3, 3), (1, 10), (9, 10), (58, 59), (500, 1000), (0, 7)]
)
@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.999])
def test_the_bound_is_scipys_exact_one_sided_one(successes: int, shots: int, level: float) -> None:
    found = lower_bound(successes, shots, level)
    test = binomtest(successes, shots, alternative="greater")
    assert found == pytest.approx(test.proportion_ci(level, "exact").low, abs=1e-12)


@pytest.mark.parametrize(("successes", "shots"), [(3, 3), (9, 10), (90, 90), (997, 1000)])
def test_at_the_bound_so_many_successes_have_five_per_cent(successes: int, shots: int) -> None:
    found = lower_bound(successes, shots)
    # scipy's binomial tail, and its quantile of the beta distribution
    assert binom.sf(successes - 1, shots, found) == pytest.approx(0.05, rel=1e-9)
    assert found == pytest.approx(beta.ppf(0.05, successes, shots - successes + 1), rel=1e-12)


@pytest.mark.parametrize("shots", [1, 2, 3, 5, 10, 20, 30, 59, 90])
def test_where_all_pass_it_is_the_root_of_five_per_cent(shots: int) -> None:
    # p^n = 0.05, the closed form
    assert lower_bound(shots, shots) == pytest.approx(0.05 ** (1.0 / shots), rel=1e-12)


def test_published_values() -> None:
    # C. J. Clopper & E. S. Pearson, Biometrika 26 (1934) 404: the two-sided 95 % limits of 10 of
    # 10 are 0.69 and 1, which are the one-sided ones at 97.5 % (from memory)
    assert lower_bound(10, 10, 0.975) == pytest.approx(0.69, abs=0.005)
    # one-sided 95 % limits of reliability tables (from memory): 10 of 10, 9 of 10, 3 of 3
    assert lower_bound(10, 10) == pytest.approx(0.741, abs=5e-4)
    assert lower_bound(9, 10) == pytest.approx(0.606, abs=5e-4)
    assert lower_bound(3, 3) == pytest.approx(0.368, abs=5e-4)


@pytest.mark.parametrize(
    ("chance", "failures", "shots"),
    [
        # G. J. Hahn & W. Q. Meeker, Statistical Intervals, 1991, tables of zero-failure tests at
        # 95 % confidence (from memory)
        (0.90, 0, 29),
        (0.95, 0, 59),
        (0.99, 0, 299),
        # S. S. Wilks, Ann. Math. Stat. 12 (1941) 91, as used for one-sided tolerance limits of
        # second order (from memory)
        (0.95, 1, 93),
        (0.99, 1, 473),
    ],
)
def test_shots_needed_are_those_of_the_tables(chance: float, failures: int, shots: int) -> None:
    assert shots_needed(chance, failures) == shots


@pytest.mark.parametrize("failures", [0, 1, 2, 5])
@pytest.mark.parametrize("chance", [0.01, 0.5, 0.9, 0.995])
def test_one_shot_less_is_not_enough(chance: float, failures: int) -> None:
    shots = shots_needed(chance, failures)
    # scipy's binomial distribution of the failures
    assert binom.cdf(failures, shots, 1.0 - chance) <= 0.05 * (1.0 + 1e-9)
    less = shots - 1
    assert less == failures or binom.cdf(failures, less, 1.0 - chance) > 0.05


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lower_bound(4, 3), "4 of 3 shots"),
        (lambda: lower_bound(0, 0), "0 of 0 shots"),
        (lambda: lower_bound(1, 3, 1.0), "the level is 1.0"),
        (lambda: shots_needed(1.0), "the chance is 1.0"),
        (lambda: shots_needed(0.9, -1), "-1 shots cannot fail"),
    ],
)
def test_what_cannot_be_is_refused(call, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
