"""What drives a number: Sobol' indices of groups of inputs, and each group alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from baypulse.members import sobol

Evaluate = Callable[[np.ndarray], np.ndarray]
"""From points (m, d) of the unit cube to outputs (m, k)."""

RESAMPLES = 400
"""Bootstrap samples behind the interval of an index."""


FEWEST_DIFFERENT = 20
"""Points of both samples at which an output must differ from its median to have indices: with
fewer, chance alone decides which factors they are put down to."""


@dataclass(frozen=True)
class Group:
    """Columns of the unit cube that are varied as one.

    Attributes
    ----------
    name : str
        What they are.
    columns : tuple of int
        One or more.
    """

    name: str
    columns: tuple[int, ...]


@dataclass(frozen=True)
class Influence:
    """Sobol' indices of one group on one output.

    Attributes
    ----------
    factor : str
        The group.
    first, first_low, first_high : float
        Share of the output's variance that the group makes alone, Var(E[Y|X])/Var(Y): what would
        be expected to go if it were measured exactly; and its interval.
    total, total_low, total_high : float
        Share in which it has a hand, alone or together with others: what would be left if all
        others were known; and its interval.
    """

    factor: str
    first: float
    first_low: float
    first_high: float
    total: float
    total_low: float
    total_high: float


@dataclass(frozen=True)
class Swing:
    """An output with one group at both ends of its range, all others at the middle.

    Attributes
    ----------
    factor : str
        The group.
    low, high : float
        The output where the group's columns are low, and where they are high.
    """

    factor: str
    low: float
    high: float


def swings(
    evaluate: Evaluate, groups: Sequence[Group], dimensions: int, low: float = 0.1,
    high: float = 0.9,
) -> tuple[np.ndarray, list[list[Swing]]]:  # fmt: skip
    """Move each group alone.

    Parameters
    ----------
    evaluate : callable
        From points (m, d) to outputs (m, k); called once, with two points a group and one more.
    groups : sequence of Group
        What is moved.
    dimensions : int
        Columns d.
    low, high : float
        Ends of the range, as shares of the distribution.

    Returns
    -------
    middle : ndarray, shape (k,)
        Outputs where everything is at its median.
    rows : list of list of Swing
        One list an output, in the order of the groups.
    """
    u = np.full((2 * len(groups) + 1, dimensions), 0.5)
    for row, group in enumerate(groups):
        u[2 * row, list(group.columns)] = low
        u[2 * row + 1, list(group.columns)] = high
    y = evaluate(u)
    rows = [
        [
            Swing(group.name, float(y[2 * row, k]), float(y[2 * row + 1, k]))
            for row, group in enumerate(groups)
        ]
        for k in range(y.shape[1])
    ]
    return y[-1], rows


def samples_within(runs: int, groups: int) -> int:
    """Return the largest power of two n for which n (groups + 2) runs stay within a budget.

    Parameters
    ----------
    runs : int
        The budget.
    groups : int
        Number of groups.
    """
    n = 2
    while 2 * n * (groups + 2) <= runs:
        n *= 2
    return n


def indices(
    evaluate: Evaluate, groups: Sequence[Group], dimensions: int, n: int, seed: int,
    level: float = 0.95,
) -> list[list[Influence]]:  # fmt: skip
    """Estimate first and total Sobol' indices of groups.

    Two samples A and B, and for each group A with its columns from B (Saltelli et al., Comput.
    Phys. Commun. 181 (2010) 259); intervals by the percentiles of a bootstrap. A and B are the two
    halves of the columns of one scrambled Sobol' sample.

    Parameters
    ----------
    evaluate : callable
        From points (m, d) to outputs (m, k); called once, with n (groups + 2) points.
    groups : sequence of Group
        What is varied as one; together all columns.
    dimensions : int
        Columns d.
    n : int
        Size of each sample, a power of two up to 4096.
    seed : int
        The same seed gives the same answer.
    level : float
        Of the intervals.

    Returns
    -------
    list of list of Influence
        One list an output; empty for an output that hardly varies (:data:`FEWEST_DIFFERENT`).

    Raises
    ------
    ValueError
        If an output is not finite: what did not happen needs a value.
    """
    stream = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(0, 100)))
    child = stream.spawn(1)[0]
    even = sobol.scrambled(min(2 * dimensions, sobol.MOST), child, n, digits=30)
    # what lies beyond is drawn at random
    both = np.hstack([even, child.random((n, 2 * dimensions - even.shape[1]))])
    both = np.clip(both, np.finfo(float).tiny, 1.0 - np.finfo(float).epsneg)
    a, b = both[:, :dimensions], both[:, dimensions:]
    mixed = np.repeat(a[None], len(groups), axis=0)
    for row, group in enumerate(groups):
        mixed[row][:, list(group.columns)] = b[:, list(group.columns)]
    y = evaluate(np.concatenate([a, b, mixed.reshape(-1, dimensions)]))
    if not np.isfinite(y).all():
        raise ValueError("an output is not finite; what did not happen needs a value")
    outputs = y.shape[1]
    blocks = y.reshape(len(groups) + 2, n, outputs)
    found: list[list[Influence]] = []
    for k in range(outputs):
        f = blocks[:, :, k]
        if np.count_nonzero(f[:2] != np.median(f[:2])) < FEWEST_DIFFERENT:
            found.append([])
            continue
        # a group without any effect has indices of exactly 0, and no interval to bootstrap
        acting = [row for row in range(len(groups)) if np.any(f[2 + row] != f[0])]
        rows: dict[int, tuple[float, ...]] = dict.fromkeys(range(len(groups)), (0.0,) * 6)
        rows |= dict(zip(acting, _estimated(f[0], f[1], f[2:][acting], stream, level), strict=True))
        found.append([Influence(group.name, *rows[row]) for row, group in enumerate(groups)])
    return found


def estimators(f_a: np.ndarray, f_b: np.ndarray, f_ab: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return first and total index of each group, shapes (..., groups).

    First: mean of f_B (f_AB - f_A) over the variance; total: half the mean of (f_A - f_AB)^2 over
    it (Saltelli et al. 2010, table 2, b and f). The same as in :func:`scipy.stats.sobol_indices`,
    whose bootstrap cannot be seeded.

    Parameters
    ----------
    f_a, f_b : ndarray, shape (..., n)
        Outputs of both samples, less their common mean.
    f_ab : ndarray, shape (groups, ..., n)
        Of the mixed ones.
    """
    variance = np.concatenate([f_a, f_b], axis=-1).var(axis=-1)
    first = (f_b * (f_ab - f_a)).mean(axis=-1) / variance
    total = 0.5 * ((f_a - f_ab) ** 2).mean(axis=-1) / variance
    return np.moveaxis(first, 0, -1), np.moveaxis(total, 0, -1)


def _estimated(
    f_a: np.ndarray, f_b: np.ndarray, f_ab: np.ndarray, stream: np.random.Generator, level: float
) -> list[tuple[float, ...]]:
    """Return first and total index of each group, each with its interval."""
    mean = 0.5 * (f_a.mean() + f_b.mean())
    f_a, f_b, f_ab = f_a - mean, f_b - mean, f_ab - mean
    drawn = stream.integers(f_a.size, size=(RESAMPLES, f_a.size))
    resampled = [estimators(f_a[rows], f_b[rows], f_ab[:, rows]) for rows in drawn]
    columns = []
    for k, point in enumerate(estimators(f_a, f_b, f_ab)):
        each = np.array([found[k] for found in resampled])
        shares = (0.5 - 0.5 * level, 0.5 + 0.5 * level)
        columns += [point, *np.nanquantile(each, shares, axis=0)]
    return [tuple(float(v) for v in row) for row in zip(*columns, strict=True)]
