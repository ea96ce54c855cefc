"""The posterior by sampling, with the ensemble sampler of the package emcee.

D. Foreman-Mackey, D. W. Hogg, D. Lang, J. Goodman, emcee: The MCMC Hammer, PASP 125 (2013) 306,
with moves by differential evolution (B. S. Nelson et al., ApJS 210 (2014) 11); from memory.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from baypulse.members.parts import StudyError
from baypulse.studies.fit.posterior import BOUND, LeastSquares, Posterior
from baypulse.studies.fit.responses import Responses
from baypulse.studies.fit.result import Sampling

Array = np.ndarray

STEPS = 1500
"""Steps of every walker that are kept; as many again, a quarter, go before."""

SHARP = 0.1
"""Directions of which the data say less than this, over what was known before, are drawn from the
prior (a likelihood-informed subspace: T. Cui et al., Inverse Problems 30 (2014) 114015; from
memory)."""


def sample(
    responses: Responses,
    posterior: Posterior,
    begin: Array,
    seed: int,
    told: Callable[[int], None] = lambda _: None,
    steps: int = STEPS,
) -> tuple[Array, Sampling]:
    """Draw scores from the posterior.

    Parameters
    ----------
    responses : Responses
        The model.
    posterior : Posterior
        From :func:`baypulse.studies.fit.posterior.most_probable`; its errors are kept.
    begin : ndarray, shape (k, n)
        Scores to begin with, spread as the posterior is.
    seed : int
        Of the draws.
    told : callable
        Is told of every step done.
    steps : int
        Of every walker, kept.

    Returns
    -------
    draws : ndarray, shape (k, n)
        Scores.
    sampling : Sampling
        How good they are.

    Raises
    ------
    StudyError
        Where the package is missing.
    """
    try:
        import emcee  # type: ignore[import-untyped]
    except ImportError:
        raise StudyError(
            "--sample needs the package emcee; install it with python -m pip install emcee"
        ) from None
    problem = LeastSquares(responses, posterior.streams)
    pulls = problem.pulls(problem.seen(posterior.scores))
    weights = 1.0 / np.sqrt(1.0 + pulls**2 / problem.soft)
    known, directions = np.linalg.eigh(posterior.slopes.T @ (weights[:, None] * posterior.slopes))
    told_of = directions[:, known > SHARP]
    rest = directions[:, known <= SHARP]
    size = told_of.shape[1]
    if not size:
        raise StudyError(
            "--sample: the data say nothing of anything, so there is nothing to sample"
        )
    walkers = 2 * (size + 2)
    rng = np.random.default_rng(seed)
    kept = rest @ (rest.T @ posterior.scores)

    def log_probability(x: Array) -> Array:
        return -problem.many(np.clip(x @ told_of.T + kept, -BOUND, BOUND))

    places = begin[rng.choice(len(begin), walkers, replace=len(begin) < walkers)] @ told_of
    # walkers that share a place would never part
    places = places + 0.02 * rng.normal(size=places.shape)
    sampler = emcee.EnsembleSampler(
        walkers,
        size,
        log_probability, vectorize=True,
        moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.2)],
    )  # fmt: skip
    # the sampler draws from numpy's old generator
    state = np.random.RandomState(rng.integers(2**32)).get_state()
    first = emcee.State(places, random_state=state)
    for _ in sampler.sample(first, iterations=steps + steps // 4):
        told(1)
    chain = sampler.get_chain(discard=steps // 4)
    # a walker that never moved has no autocorrelation
    with np.errstate(invalid="ignore", divide="ignore"):
        slowest = float(np.max(emcee.autocorr.integrated_time(chain, tol=0)))
    drawn = chain.reshape(-1, size)
    middle = rest.T @ posterior.scores
    others = middle + rng.normal(size=(drawn.shape[0], middle.size))
    found = drawn @ told_of.T + others @ rest.T
    effective = found.shape[0] / slowest if np.isfinite(slowest) else 0.0
    return found, Sampling(walkers, steps, float(np.mean(sampler.acceptance_fraction)), effective)
