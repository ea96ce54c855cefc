"""Sobol' indices against published closed forms, and factors moved alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm, sobol_indices

from baypulse.studies.scatter.influence import (
    Group,
    Influence,
    estimators,
    indices,
    samples_within,
    swings,
)

A, B = 7.0, 0.1


def ishigami(u: np.ndarray) -> np.ndarray:
    x = math.pi * (2.0 * u - 1.0)
    y = np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0])
    return y[:, None]


def one_each(count: int) -> list[Group]:
    return [Group(f"x{k + 1}", (k,)) for k in range(count)]


def held(each: Influence, first: float, total: float, room: float) -> bool:
    """Say whether both intervals, with some room, hold the true indices."""
    return (
        each.first_low - room <= first <= each.first_high + room
        and each.total_low - room <= total <= each.total_high + room
    )


def test_ishigamis_indices_are_the_published_ones() -> None:
    # Ishigami & Homma, Proc. ISUMA (1990); closed forms in Saltelli et al., Global Sensitivity
    # Analysis, The Primer (2008), sec. 4.6 (from memory): with a = 7 and b = 0.1 the first
    # indices are 0.3139, 0.4424, 0 and the totals 0.5576, 0.4424, 0.2437
    pi4, pi8 = math.pi**4, math.pi**8
    variance = A**2 / 8 + B * pi4 / 5 + B**2 * pi8 / 18 + 0.5
    v1, v2, v13 = 0.5 * (1 + B * pi4 / 5) ** 2, A**2 / 8, B**2 * pi8 * (1 / 18 - 1 / 50)
    exact = {
        "x1": (v1 / variance, (v1 + v13) / variance),
        "x2": (v2 / variance, v2 / variance),
        "x3": (0.0, v13 / variance),
    }
    assert exact["x1"] == pytest.approx((0.3139, 0.5576), abs=1e-4)
    (found,) = indices(ishigami, one_each(3), 3, 4096, seed=1)
    for each in found:
        first, total = exact[each.factor]
        assert each.first == pytest.approx(first, abs=0.02)
        assert each.total == pytest.approx(total, abs=0.02)
        assert held(each, first, total, 0.005)


WEIGHTS = np.array([3.0, 2.0, 1.0, 1.0, 0.5])


def additive(u: np.ndarray) -> np.ndarray:
    """Return a sum of normals, and a constant."""
    return np.stack([norm.ppf(u) @ WEIGHTS, np.full(u.shape[0], 4.0)], axis=1)


def test_groups_of_a_sum_have_the_shares_of_their_variances() -> None:
    # variances of independent terms add up (elementary): first and total are both w^2 over the sum
    groups = [Group("a", (0,)), Group("b and e", (1, 4)), Group("c and d", (2, 3))]
    found, nothing = indices(additive, groups, 5, 2048, seed=2)
    whole = float((WEIGHTS**2).sum())
    for each, share in zip(found, (9.0, 4.25, 2.0), strict=True):
        assert each.first == pytest.approx(share / whole, abs=0.02)
        assert each.total == pytest.approx(share / whole, abs=0.02)
    assert nothing == []


def test_estimators_are_those_of_scipy() -> None:
    rng = np.random.default_rng(3)
    f_a, f_b, f_ab = rng.normal(size=64), rng.normal(size=64), rng.normal(size=(4, 64))
    theirs = sobol_indices(
        func={"f_A": f_a[None], "f_B": f_b[None], "f_AB": f_ab[:, None]}, n=64, rng=rng
    )
    mean = 0.5 * (f_a.mean() + f_b.mean())
    first, total = estimators(f_a - mean, f_b - mean, f_ab - mean)
    np.testing.assert_allclose(first, theirs.first_order, rtol=1e-12)
    np.testing.assert_allclose(total, theirs.total_order, rtol=1e-12)


def test_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    # 95 % intervals of 3 first indices over 20 seeds: fewer than 51 of 60 would happen by chance
    # in one of a thousand repetitions (binomial)
    exact = (0.3139, 0.4424, 0.0)
    hits = 0
    for seed in range(20):
        (found,) = indices(ishigami, one_each(3), 3, 256, seed=seed)
        for each, first in zip(found, exact, strict=True):
            hits += each.first_low <= first <= each.first_high
    assert hits >= 51, hits


def test_a_column_without_effect_has_exactly_none() -> None:
    (found,) = indices(lambda u: u[:, :1], one_each(2), 2, 64, seed=1)
    without = found[1]
    assert (without.first, without.first_low, without.first_high) == (0.0, 0.0, 0.0)
    assert (without.total, without.total_low, without.total_high) == (0.0, 0.0, 0.0)


def test_columns_beyond_those_of_sobol_count_like_any_other() -> None:
    groups = [Group("all but one", tuple(range(699))), Group("the last", (699,))]
    (found,) = indices(lambda u: u[:, :1] + u[:, -1:], groups, 700, 1024, seed=3)
    for each in found:
        assert each.first == pytest.approx(0.5, abs=0.05)
        assert each.total == pytest.approx(0.5, abs=0.05)


def test_the_same_seed_gives_the_same_indices() -> None:
    one, two, other = (indices(ishigami, one_each(3), 3, 64, seed=s) for s in (4, 4, 5))
    assert one == two
    assert one != other


def test_an_output_that_did_not_happen_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a value"):
        indices(lambda u: np.where(u[:, :1] > 0.5, np.nan, u[:, :1]), one_each(1), 1, 64, seed=1)


def test_an_output_that_hardly_varies_has_no_indices() -> None:
    def seldom(u: np.ndarray) -> np.ndarray:
        return (u[:, :1] < 0.02).astype(float)

    assert indices(seldom, one_each(2), 2, 256, seed=1) == [[]]  # about 10 of 512 points
    assert indices(seldom, one_each(2), 2, 4096, seed=1) != [[]]


def test_swings_move_one_group_and_nothing_else() -> None:
    groups = [Group("a", (0,)), Group("rest", (1, 2, 3, 4))]
    middle, (sums, constant) = swings(additive, groups, 5)
    z = norm.ppf(0.9)
    assert middle == pytest.approx([0.0, 4.0], abs=1e-12)
    assert (sums[0].low, sums[0].high) == pytest.approx((-3.0 * z, 3.0 * z))
    assert (sums[1].low, sums[1].high) == pytest.approx((-4.5 * z, 4.5 * z))
    assert constant[0].low == constant[0].high == 4.0


@pytest.mark.parametrize(
    ("runs", "groups", "n"), [(16_000, 13, 1024), (15_359, 13, 512), (9, 40, 2)]
)
def test_the_samples_stay_within_the_budget(runs: int, groups: int, n: int) -> None:
    assert samples_within(runs, groups) == n
