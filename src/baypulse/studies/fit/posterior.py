"""Least squares in normal scores: the most probable values, and how well they are known.

Everything unknown is a standard normal score (:mod:`baypulse.studies.fit.responses`), so that what
was known before is one more residual, the score itself: where the data say nothing, the prior comes
back. Residuals of the data have a robust loss, those of the prior a plain one.

A model is never quite right, and then its residuals hang together. A record of n readings counts
as n/t readings, with t the integrated autocorrelation time of its residuals (A. Sokal, Monte Carlo
Methods in Statistical Mechanics, 1996, from memory), and the error of one is the residuals' own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from baypulse.studies.fit.responses import Responses

Array = np.ndarray

SOFT = 3.0
"""Errors beyond which a residual is counted less and less (soft L1); of a normal error less than
one in three hundred lies there."""

STEP = 0.05
"""Step of a slope, in standard deviations of the prior: far above the solver's errors."""

FINE_STEP = 1e-3
"""The same for what is not known of a record: its prior is wide, and no solver is asked."""

BOUND = 6.0
"""No score goes beyond."""

LOST = 30.0
"""Residual of what cannot be run, in errors."""

FELT = 0.1
"""A score is moved where one standard deviation of it pulls at all data by so many errors; the data
take less than half a per cent off the spread of the others."""

FOLLOWED = 2
"""Of the starts, those that are followed with all scores."""

THOUGHT = 3.0
"""Residuals that the first thought of an error is worth."""

ROUNDS = 3
"""How often the errors are set anew by the residuals."""


@dataclass(frozen=True)
class Stream:
    """What was measured, as numbers in a row with one kind of error.

    Attributes
    ----------
    values, errors : ndarray, shape (n,)
        SI; the errors are standard deviations.
    clipped : ndarray of bool, shape (n,)
        Readings that stand for "at least so much".
    weight : float
        Share of the readings that count as independent.
    record : bool
        Whether the errors are set anew by the residuals.
    """

    values: Array
    errors: Array
    clipped: Array
    weight: float = 1.0
    record: bool = True

    def pulls(self, seen: Array) -> Array:
        """Return (model - measured)/error, shape (n,)."""
        found = np.nan_to_num((seen - self.values) / self.errors, nan=LOST, posinf=LOST)
        return np.where(self.clipped, np.minimum(found, 0.0), found)


@dataclass(frozen=True)
class Posterior:
    """The most probable scores and their covariance.

    Attributes
    ----------
    scores : ndarray, shape (n,)
        Of the case's values, then of the records.
    covariance : ndarray, shape (n, n)
        Of the scores, from the slopes there.
    streams : tuple of Stream
        With the errors as they were set.
    cost : float
        Half the sum of the losses.
    slopes : ndarray, shape (m, n)
        Of the pulls, by the scores.
    others : tuple of ndarray, shape (n,)
        Where searches from other starts ended, by the errors that were thought of first.
    """

    scores: Array
    covariance: Array
    streams: tuple[Stream, ...]
    cost: float
    slopes: Array
    others: tuple[Array, ...] = ()


class LeastSquares:
    """Pulls and slopes of a model against data, for some of its scores.

    Parameters
    ----------
    responses : Responses
        The model.
    streams : sequence of Stream
        The data, in the order of :meth:`Responses.seen`.
    """

    def __init__(self, responses: Responses, streams: Sequence[Stream]) -> None:
        self.responses = responses
        self.streams = tuple(streams)
        self._last: tuple[bytes, Any] | None = None

    def pulls(self, seen: Sequence[Array]) -> Array:
        """Return the weighted pulls of all data, shape (m,)."""
        parts = [
            np.sqrt(s.weight) * s.pulls(one) for s, one in zip(self.streams, seen, strict=True)
        ]
        return np.concatenate(parts)

    @property
    def soft(self) -> Array:
        """Where the loss of each pull turns soft, squared; shape (m,)."""
        return np.concatenate([np.full(s.values.size, s.weight * SOFT**2) for s in self.streams])

    def seen(self, scores: Array) -> list[Array]:
        """Return what the model says at given scores."""
        return self.responses.seen(self._runs(scores), scores[self.responses.scores :])

    def objective(self, scores: Array) -> float:
        """Return half the sum of the losses of data and prior."""
        u = self.pulls(self.seen(scores)) ** 2
        return float(0.5 * (_soft_sum(u, self.soft) + scores @ scores))

    def many(self, scores: Array) -> Array:
        """Return the objective of many rows of scores, shape (k,)."""
        soft = self.soft
        return np.array([
            0.5 * (_soft_sum(pulls**2, soft) + row @ row)
            for pulls, row in zip(self.pulls_of(scores), scores, strict=True)
        ])  # fmt: skip

    def pulls_of(self, scores: Array) -> Array:
        """Return the weighted pulls of all data at many rows of scores, shape (k, m)."""
        model = self.responses
        runs = model.runs(scores[:, : model.scores])
        return self._pulls(runs, scores)

    def slopes(
        self, scores: Array, which: Array, *, central: bool = False, step: float = STEP
    ) -> Array:
        """Return the slopes of the pulls by some of the scores, shape (m, len(which))."""
        model = self.responses
        inner = which < model.scores
        # towards the middle, where the model is sure to run
        steps = np.where(scores[which] > 0.0, -1.0, 1.0) * np.where(inner, step, FINE_STEP)
        sides = (1.0, -1.0) if central else (1.0,)
        moved = np.repeat(scores[None], len(sides) * which.size, axis=0)
        rows = np.arange(which.size)
        for k, side in enumerate(sides):
            moved[k * which.size + rows, which] += side * steps
        base = self._runs(scores)
        runs = [base] * len(moved)
        new = np.flatnonzero(np.tile(inner, len(sides)))
        if new.size:
            for row, run in zip(new, model.runs(moved[new, : model.scores]), strict=True):
                runs[row] = run
        ahead, *behind = np.split(self._pulls(runs, moved), len(sides))
        other = behind[0] if central else self._pulls([base], scores[None])
        return np.asarray(((ahead - other) / (len(sides) * steps)[:, None]).T)

    def _pulls(self, runs: Sequence[Any], scores: Array) -> Array:
        inner = self.responses.scores
        return np.array([
            self.pulls(self.responses.seen(run, row[inner:]))
            for run, row in zip(runs, scores, strict=True)
        ])  # fmt: skip

    def _runs(self, scores: Array) -> Any:
        inner = scores[: self.responses.scores]
        key = inner.tobytes()
        if self._last is None or self._last[0] != key:
            self._last = (key, self.responses.runs(inner[None])[0])
        return self._last[1]


def solve(problem: LeastSquares, start: Array, which: Array, most: int = 25) -> Array:
    """Return the scores with the least objective near a start, moving some of them.

    Parameters
    ----------
    problem : Problem
        Model and data.
    start : ndarray, shape (n,)
        Scores to begin with.
    which : ndarray of int
        Scores that may move; the others stay.
    most : int
        Steps at the most.
    """
    size, soft = which.size, problem.soft
    if not size:
        return start.copy()

    def whole(x: Array) -> Array:
        scores = start.copy()
        scores[which] = x
        return scores

    def residuals(x: Array) -> Array:
        return np.concatenate((problem.pulls(problem.seen(whole(x))), x))

    def jacobian(x: Array) -> Array:
        return np.concatenate((problem.slopes(whole(x), which), np.eye(size)))

    def loss(squares: Array) -> Array:
        data, prior = squares[:-size], squares[-size:]
        root = np.sqrt(1.0 + data / soft)
        ones = np.ones(size)
        return np.array([
            np.concatenate((2.0 * soft * (root - 1.0), prior)),
            np.concatenate((1.0 / root, ones)),
            np.concatenate((-0.5 / soft / root**3, 0.0 * ones)),
        ])  # fmt: skip

    x = np.clip(start[which], -0.99 * BOUND, 0.99 * BOUND)
    found = least_squares(
        residuals, x, jacobian, bounds=(-BOUND, BOUND), method="trf", loss=loss,
        ftol=1e-6, xtol=1e-5, gtol=1e-6, max_nfev=most,
    )  # fmt: skip
    return whole(found.x)


def with_errors(
    problem: LeastSquares, scores: Array, first: Sequence[Stream], taken: float
) -> list[Stream]:
    """Return the data with the errors and weights that the residuals at given scores call for.

    What was thought of the errors first counts as a few residuals, so that a handful of readings
    that are met exactly are not taken as exact.

    Parameters
    ----------
    problem : Problem
        Model and data.
    scores : ndarray, shape (n,)
        Of the best fit so far.
    first : sequence of Stream
        The data with the errors that were thought of first.
    taken : float
        Readings that the fit takes up: the number of free scores, as far as the data tell them.
    """
    streams = []
    total = sum(stream.values.size for stream in first)
    for stream, thought, seen in zip(problem.streams, first, problem.seen(scores), strict=True):
        if not stream.record:
            streams.append(stream)
            continue
        off = stream.errors * stream.pulls(seen)
        free = off[~stream.clipped]
        height = np.abs(seen[~stream.clipped])
        # a long quiet tail must not hide what is wrong in the pulse
        high = free[height > 0.05 * height.max(initial=0.0)]
        before = float(thought.errors[0])
        error = _error(free, before, taken * free.size / total)
        if high.size >= 8:
            error = max(error, _error(high, before, taken * high.size / total))
        time = correlation_time(free) if free.size >= 16 else 1.0
        streams.append(
            replace(
                stream,
                errors=np.full(stream.values.size, error),
                weight=min(1.0, 1.0 / time),
            )
        )
    return streams


def correlation_time(values: Array) -> float:
    """Return the integrated autocorrelation time of evenly spaced values, in readings; 1 if white.

    t = 1 + 2 sum rho_k, up to the first k at which rho_k is no more than chance, 2/sqrt(n).

    Parameters
    ----------
    values : ndarray, shape (n,)
        Residuals.
    """
    n = values.size
    off = values - values.mean()
    power = np.abs(np.fft.rfft(off, 2 * n)) ** 2
    rho = np.fft.irfft(power)[: n // 2]
    if rho[0] <= 0.0:
        return 1.0
    rho = rho / rho[0]
    chance = np.flatnonzero(rho < 2.0 / np.sqrt(n))
    last = int(chance[0]) if chance.size else rho.size
    return float(max(1.0 + 2.0 * rho[1:last].sum(), 1.0))


def covariance(
    problem: LeastSquares, scores: Array, which: Array, step: float = STEP
) -> tuple[Array, Array]:
    """Return the covariance of all scores at the most probable ones, and the slopes.

    The inverse of J'WJ + 1, with W the slopes of the soft loss; scores that were not moved keep
    their prior.

    Parameters
    ----------
    problem : Problem
        Model and data.
    scores : ndarray, shape (n,)
        The most probable ones.
    which : ndarray of int
        Scores that may move.
    step : float
        Of a slope, in standard deviations of the prior.
    """
    slopes = np.zeros((problem.soft.size, scores.size))
    slopes[:, which] = problem.slopes(scores, which, central=True, step=step)
    pulls = problem.pulls(problem.seen(scores))
    weights = 1.0 / np.sqrt(1.0 + pulls**2 / problem.soft)
    precision = slopes.T @ (weights[:, None] * slopes) + np.eye(scores.size)
    return np.linalg.inv(precision), slopes


def most_probable(
    responses: Responses,
    streams: Sequence[Stream],
    starts: Sequence[Array],
    main: Array,
    told: Callable[[int], None] = lambda _: None,
) -> Posterior:
    """Find the most probable scores from several starts, and set the errors by the residuals.

    Parameters
    ----------
    responses : Responses
        The model.
    streams : sequence of Stream
        The data.
    starts : sequence of ndarray, shape (n,)
        Scores to begin with.
    main : ndarray of int
        Scores that are moved at first; the others are taken in from the best of the ends.
    told : callable
        Is told of every step done.
    """
    problem = LeastSquares(responses, streams)
    every = np.arange(responses.size)
    first = np.union1d(main, np.arange(responses.scores, responses.size))
    near = []
    for start in starts:
        near.append(solve(problem, start, first, 8))
        told(1)
    ends = []
    for scores in sorted(near, key=problem.objective)[:FOLLOWED]:
        sharp = np.linalg.norm(problem.slopes(scores, every), axis=0)
        which = every[(sharp > FELT) | (every >= responses.scores)]
        # errors that are set before the fit is good would excuse it
        end = solve(problem, scores, which, 12)
        ends.append((problem.objective(end), end, which))
        told(1)
    (_, best, which), *others = sorted(ends, key=lambda end: end[0])
    slopes = problem.slopes(best, which)
    size = np.linalg.svd(slopes, compute_uv=False) ** 2
    taken = float(np.sum(size / (1.0 + size)))
    for _ in range(ROUNDS):
        set_before = problem.streams
        problem = LeastSquares(responses, with_errors(problem, best, streams, taken))
        best = solve(problem, best, which)
        told(1)
        if _settled(set_before, problem.streams):
            break
    found, slopes = covariance(problem, best, every)
    told(1)
    return Posterior(
        best, found, problem.streams, problem.objective(best), slopes,
        tuple(scores for _, scores, _ in others),
    )  # fmt: skip


def _settled(before: Sequence[Stream], after: Sequence[Stream]) -> bool:
    """Say whether the errors have stopped to change."""
    return all(
        abs(a.errors[0] / b.errors[0] - 1.0) < 0.02 and abs(a.weight / b.weight - 1.0) < 0.1
        for a, b in zip(after, before, strict=True)
    )


def _soft_sum(squares: Array, soft: Array) -> float:
    return float(np.sum(2.0 * soft * (np.sqrt(1.0 + squares / soft) - 1.0)))


def _error(residuals: Array, before: float, taken: float) -> float:
    """Return the standard deviation of residuals, with what was thought before as a few of them."""
    whole = float(np.sum(residuals**2)) + THOUGHT * before**2
    return float(np.sqrt(whole / max(residuals.size - taken + THOUGHT, THOUGHT)))
