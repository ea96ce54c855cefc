"""Draws of the posterior that meet the data: each is moved until it fits data drawn for it.

The normal posterior is a good picture of each unknown by itself. Where two of them trade off along
a bent ridge its draws leave the ridge, and curves made from them would miss the record by far more
than the record allows. So each draw is taken as a starting point with data of its own, what a
straight model would give there, and is moved towards the best fit of both (randomised maximum
likelihood: D. S. Oliver, N. He, A. C. Reynolds, Conditioning permeability fields to pressure data,
ECMOR V, 1996; from memory). The steps are those of the top, damped.
"""

from __future__ import annotations

import numpy as np

from baypulse.studies.fit.posterior import BOUND, LeastSquares, Posterior
from baypulse.studies.fit.responses import Responses

Array = np.ndarray

DRAWS = 64
"""How many are made."""

STEPS = 2
"""Steps of each."""

FAR = 25.0
"""A draw that still misses its data by such a sum of squares is left out: the model cannot follow a
straight line there, and the posterior has next to nothing."""

FEWEST = 16
"""Draws that are kept at least, the nearest."""


def settled(responses: Responses, top: Posterior, draws: Array) -> Array:
    """Return draws that meet the data.

    Parameters
    ----------
    responses : Responses
        The model.
    top : Posterior
        From :func:`baypulse.studies.fit.posterior.most_probable`.
    draws : ndarray, shape (k, n)
        Scores, normal about the top.

    Returns
    -------
    ndarray, shape (m, n)
        At most :data:`DRAWS` of them, moved.
    """
    begin = np.clip(draws[:DRAWS], -BOUND, BOUND)
    problem = LeastSquares(responses, top.streams)
    best = problem.pulls(problem.seen(top.scores))
    weights = 1.0 / np.sqrt(1.0 + best**2 / problem.soft)
    wanted = best + (begin - top.scores) @ top.slopes.T

    def missed(scores: Array) -> tuple[Array, Array]:
        off = wanted - problem.pulls_of(scores)
        return off, (weights * off**2).sum(axis=1) + ((scores - begin) ** 2).sum(axis=1)

    scores = begin.copy()
    off, cost = missed(scores)
    damped = np.ones(len(scores))
    for _ in range(STEPS):
        step = ((weights * off) @ top.slopes - (scores - begin)) @ top.covariance
        tried = np.clip(scores + damped[:, None] * step, -BOUND, BOUND)
        tried_off, tried_cost = missed(tried)
        better = tried_cost < cost
        scores[better], off[better], cost[better] = (
            tried[better], tried_off[better], tried_cost[better]
        )  # fmt: skip
        damped = np.where(better, np.minimum(1.0, 2.0 * damped), 0.4 * damped)
    order = np.argsort(cost, kind="stable")
    return scores[order[: max(int(np.count_nonzero(cost < FAR)), FEWEST)]]
