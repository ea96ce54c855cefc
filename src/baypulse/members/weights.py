"""Weights of members from likelihoods, how many they are worth, and equal members drawn by them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

Array = np.ndarray

FOR_SHIFT = 30.0
"""Effective members from which means of the scores are taken."""

BY_CHANCE = 2.0
"""Standard errors that are left off those means."""


def weights(likelihood: Array) -> Array:
    """Return weights with a sum of 1; zeros where no member has any likelihood.

    Parameters
    ----------
    likelihood : ndarray, shape (members,)
        Not negative.
    """
    most = float(likelihood.max(initial=0.0))
    if most <= 0.0:
        return np.zeros(likelihood.shape)
    # scaled first: a product over many shots may be a denormal number
    scaled = likelihood / most
    return np.asarray(scaled / scaled.sum())


def effective(weight: Array) -> float:
    """Return how many equal members the weighted ones are worth, (sum w)^2 / sum w^2.

    L. Kish, Survey Sampling (1965); A. Kong, J. S. Liu & W. H. Wong, J. Am. Stat. Assoc. 89 (1994)
    278 (from memory).

    Parameters
    ----------
    weight : ndarray, shape (members,)
        Not negative.
    """
    squares = float(weight @ weight)
    return 0.0 if squares == 0.0 else float(weight.sum()) ** 2 / squares


def toward(scores: Array, weight: Array) -> Array:
    """Return a shift of normal scores toward where the weight is.

    Parameters
    ----------
    scores : ndarray, shape (members, size)
        Standard normal when nothing is known.
    weight : ndarray, shape (members,)
        With a sum of 1, or zeros.

    Returns
    -------
    ndarray, shape (size,)
        Weighted means, less what they may be by chance: :data:`BY_CHANCE` standard errors. Most of
        many numbers have nothing to do with what was seen, and a shift by chance in each of them
        would cost more than the true shift of a few gains.
    """
    if not weight.any():
        return np.zeros(scores.shape[1])
    power = 1.0
    while effective(weight**power) < FOR_SHIFT and power > 1e-3:
        # from too few members the mean is only theirs; flatter weights point the same way
        power *= 0.8
    flat = np.where(weight > 0.0, weight**power, 0.0)
    flat = flat / flat.sum()
    mean = flat @ scores
    chance = BY_CHANCE / math.sqrt(effective(flat))
    return np.asarray(np.sign(mean) * np.maximum(np.abs(mean) - chance, 0.0))


def prior_over_drawn(scores: Array, rounds: Sequence[tuple[Array, int]]) -> Array:
    """Return the standard normal density over that of all that was drawn, shape (members,).

    Parameters
    ----------
    scores : ndarray, shape (members, size)
        Of all rounds.
    rounds : sequence of (ndarray, int)
        Shift of the scores, and members, of each round; the first one's is zero.

    Notes
    -----
    All rounds together are one mixture of normal distributions, in the shares of their members, so
    that no member has more than the inverse of the first round's share. A. Owen & Y. Zhou, J. Am.
    Stat. Assoc. 95 (2000) 135; J.-M. Cornuet et al., Scand. J. Stat. 39 (2012) 798 (from memory).
    """
    drawn = np.zeros(scores.shape[0])
    for shift, members in rounds:
        share = members / scores.shape[0]
        drawn += share * np.exp(scores @ shift - 0.5 * float(shift @ shift))
    return np.asarray(1.0 / drawn)


def resampled(weight: Array, count: int, rng: np.random.Generator) -> Array:
    """Return indices of members drawn by their weights, in an order by chance.

    Systematic resampling: one random number places a comb of equal steps over the summed weights,
    so that a member of weight w comes floor(w count) or ceil(w count) times. G. Kitagawa,
    J. Comput. Graph. Stat. 5 (1996) 1 (from memory).

    Parameters
    ----------
    weight : ndarray, shape (members,)
        With a sum of 1.
    count : int
        Indices to draw.
    rng : numpy.random.Generator
        Of the comb's place and the order.

    Returns
    -------
    ndarray of int, shape (count,)
    """
    # members of a Sobol' sample that stand regularly apart lie in one corner of it
    order = rng.permutation(weight.size)
    summed = np.cumsum(weight[order])
    comb = (rng.random() + np.arange(count)) / count * summed[-1]
    return np.asarray(rng.permutation(order[np.searchsorted(summed, comb, side="right")]))


def quantiles(values: Array, weight: Array, shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return the values below which these shares of the weight lie.

    Parameters
    ----------
    values, weight : ndarray, shape (members,)
        Weights with a sum of 1.
    shares : tuple of float
        Between 0 and 1.
    """
    order = np.argsort(values, kind="stable")
    summed = np.cumsum(weight[order])
    places = np.minimum(np.searchsorted(summed, shares), values.size - 1)
    return tuple(values[order][places].tolist())
