"""How far an unknown can go to either side: the profile of the posterior.

Where the answer lies on a bent ridge it is surer to one side than to the other. One unknown is held
two standard deviations off, all others find their best place, and what the objective has risen by
tells how wide that side really is: by half of 1.96^2 for a normal one (D. J. Venzon, S. H.
Moolgavkar, A method for computing profile-likelihood-based confidence intervals, Appl. Stat. 37
(1988) 87; from memory). The ridge has more than one resting place, so each unknown is held at
places all over what was known before, too, and every point that a search ended at is asked. Where
pins creep, a little more of anything lets the joint stop or go on: slopes then grow with the step
by which they are taken, no normal picture holds, and what is known is told to be so much less.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from baypulse.studies.fit.posterior import BOUND, LeastSquares, Posterior, covariance, solve
from baypulse.studies.fit.responses import Responses

Array = np.ndarray

OFF = 1.96
"""Standard deviations by which an unknown is held off."""

NARROWEST = 1.0
"""No side is taken as narrower than so many times the normal one."""

WIDEST = 3.0
"""No side is taken as wider than so many times the normal one, where the point that tells of it
does not lie further off."""

ELSEWHERE = np.arange(-2.0, 2.01, 0.5)
"""Where each unknown is held besides, in standard deviations of what was known before."""

HELD = 12
"""Steps in which the others find their place: with half as many, objectives were left at ten times
what they fall to, and sides a third too narrow."""

FAR = 1.0
"""Standard deviations from which on a point tells of a side: nearer ones tell of rounding."""

TOO_SURE = 1.2
"""By so much the normal picture is too sure of what was learnt: over 80 invented records the truth
of the burning rate lay 1.26 of its standard deviations off, of mixing 1.17, of the burnt
share 1.12 (benchmarks/fit.py)."""

LONG_STEP = 0.15
"""Step of slopes, in standard deviations of the prior, by which it is seen whether those of a step
of :data:`baypulse.studies.fit.posterior.STEP` hold any further."""

BETTER = 0.05
"""A point whose objective is lower than the top's by so much is a better top."""

TURNS = 2
"""How often a better top is gone to."""


class Met(NamedTuple):
    """A point that was met, and its objective."""

    scores: Array
    cost: float


def sided(
    responses: Responses,
    top: Posterior,
    own: Array,
    told: Callable[[int], None] = lambda _: None,
) -> tuple[Posterior, Array]:
    """Return how wide each side of some scores is, and the top, a better one where that turns up.

    Parameters
    ----------
    responses : Responses
        The model.
    top : Posterior
        From :func:`baypulse.studies.fit.posterior.most_probable`.
    own : ndarray of int, shape (n,)
        Scores.
    told : callable
        Is told of every turn.

    Returns
    -------
    top : Posterior
        With the same errors.
    widths : ndarray, shape (n, 2)
        Of the lower and the upper side, over the normal one.
    """
    problem = LeastSquares(responses, top.streams)
    which = np.flatnonzero(_moves(top, responses))
    met = [_met(problem, solve(problem, other, which)) for other in top.others]
    met += _elsewhere(problem, top, own)
    told(1)
    for turn in range(TURNS + 1):
        met += _profiles(problem, top, own)
        told(1)
        best, cost = min(met, key=lambda each: each.cost)
        if cost > top.cost - BETTER or turn == TURNS:
            break
        which = np.flatnonzero(_moves(top, responses))
        scores = solve(problem, best, which)
        found, slopes = covariance(problem, scores, np.arange(responses.size))
        top = Posterior(scores, found, top.streams, problem.objective(scores), slopes)
    return top, widths_of(top, own, met, roughness(problem, top, own))


def roughness(problem: LeastSquares, top: Posterior, own: Array) -> Array:
    """Return by how much longer steps make slopes look surer than the smallest do, at least 1.

    Parameters
    ----------
    problem : LeastSquares
        With the errors of the top.
    top : Posterior
        The most probable scores.
    own : ndarray of int, shape (n,)
        Scores.

    Returns
    -------
    ndarray, shape (n,)
        Standard deviations at the top over those of longer steps.
    """
    longer, _ = covariance(problem, top.scores, np.arange(top.scores.size), LONG_STEP)
    near, far = (np.sqrt(np.diag(each)[own]) for each in (top.covariance, longer))
    return np.asarray(np.maximum(near / far, 1.0))


def stretched(scores: Array, middle: Array, own: Array, widths: Array) -> Array:
    """Return draws with each side of some scores made as wide as it is.

    Parameters
    ----------
    scores : ndarray, shape (k, n)
        Draws, normal about the middle.
    middle : ndarray, shape (n,)
        The top.
    own : ndarray of int
        Columns that are changed.
    widths : ndarray, shape (len(own), 2)
        From :func:`sided`.
    """
    found = scores.copy()
    off = scores[:, own] - middle[own]
    found[:, own] = middle[own] + off * np.where(off < 0.0, widths[:, 0], widths[:, 1])
    return found


def _moves(top: Posterior, responses: Responses) -> Array:
    """Say which scores the data pull at."""
    felt = np.linalg.norm(top.slopes, axis=0) > 0.1
    felt[responses.scores :] = True
    return np.asarray(felt)


def _profiles(problem: LeastSquares, top: Posterior, own: Array) -> list[Met]:
    """Return where the others find their best place with one of some scores held off."""
    felt = _moves(top, problem.responses)
    found = []
    for k in own:
        deviation = float(np.sqrt(top.covariance[k, k]))
        for sign in (-1.0, 1.0):
            start = top.scores + sign * OFF / deviation * top.covariance[:, k]
            start = np.clip(start, -0.98 * BOUND, 0.98 * BOUND)
            start[~felt] = top.scores[~felt]
            start[k] = np.clip(top.scores[k] + sign * OFF * deviation, -BOUND, BOUND)
            found.append(_held(problem, start, felt, k))
    return found


def _elsewhere(problem: LeastSquares, top: Posterior, own: Array) -> list[Met]:
    """Return the best places with one of some scores held all over its prior.

    The others begin where they were before the data: from the top they fall back to its own place.
    From the best place of each score it is let go.
    """
    felt = _moves(top, problem.responses)
    found: list[Met] = []
    for k in own:
        held = []
        deviation = float(np.sqrt(top.covariance[k, k]))
        for place in ELSEWHERE[np.abs(ELSEWHERE - top.scores[k]) > OFF * deviation]:
            start = top.scores.copy()
            start[: problem.responses.scores] = 0.0
            start[k] = place
            held.append(_held(problem, start, felt, k))
        if held:
            best = min(held, key=lambda each: each.cost)
            held.append(_met(problem, solve(problem, best.scores, np.flatnonzero(felt), HELD)))
        found += held
    return found


def _held(problem: LeastSquares, start: Array, felt: Array, k: int) -> Met:
    """Return where the others that the data pull at find their best place, one score held."""
    rest = np.flatnonzero(felt & (np.arange(felt.size) != k))
    return _met(problem, solve(problem, start, rest, HELD))


def _met(problem: LeastSquares, scores: Array) -> Met:
    return Met(scores, problem.objective(scores))


def widths_of(top: Posterior, own: Array, met: Sequence[Met], rough: Array) -> Array:
    """Return how wide each side of some scores is, over the normal one, shape (len(own), 2).

    Every point that was met says how little the profile has risen there at the most, whatever it
    was met for.

    Parameters
    ----------
    top : Posterior
        The most probable scores.
    own : ndarray of int
        Scores.
    met : sequence of Met
        Points, with the errors of the top.
    rough : ndarray, shape (len(own),)
        From :func:`roughness`: both sides are wider by so much.
    """
    widths = np.full((own.size, 2), NARROWEST)
    for row, k in enumerate(own):
        deviation = float(np.sqrt(top.covariance[k, k]))
        for scores, cost in met:
            off = (scores[k] - top.scores[k]) / deviation
            if abs(off) >= FAR:
                wide = abs(off) / np.sqrt(2.0 * max(cost - top.cost, 1e-9))
                side = 0 if off < 0.0 else 1
                widths[row, side] = max(widths[row, side], min(wide, max(abs(off), WIDEST)))
        # nothing is known less well than before
        wider = rough[row] * (TOO_SURE * widths[row])
        widths[row] = np.minimum(wider, max(1.0 / deviation, 1.0))
    return widths
