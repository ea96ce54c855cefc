"""How much a test is expected to tell about a cause: the mutual information of both, in bits.

I = H(causes) - E[H(causes | outcome)] = H(outcome) - sum of P(cause) H(outcome | cause).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

Array = np.ndarray

LEAST_ESS = 5.0
"""Effective members below which nothing is said about the outcomes of a cause."""


@dataclass(frozen=True)
class Predicted:
    """What a test would show under one cause, from members of it.

    Attributes
    ----------
    weights : ndarray, shape (members,)
        With a sum of 1; empty where there are no members.
    chances : ndarray, shape (members, outcomes)
        Of each outcome given each member, with sums of 1.
    """

    weights: Array
    chances: Array

    @property
    def ess(self) -> float:
        """Effective number of members."""
        return 1.0 / float((self.weights**2).sum()) if self.weights.size else 0.0

    @property
    def mean(self) -> Array:
        """Chance of each outcome, shape (outcomes,)."""
        return np.asarray(self.weights @ self.chances)


@dataclass(frozen=True)
class Gain:
    """What a test is expected to tell.

    Attributes
    ----------
    bits : float
        Without its bias, at least 0 and at most the entropy of the causes.
    plain : float
        As it comes out of the finite number of members.
    error : float
        Standard error from the finite number of members.
    """

    bits: float
    plain: float
    error: float


def entropy(chances: Array) -> Array:
    """Return -sum p log2 p over the last axis [bit].

    Parameters
    ----------
    chances : ndarray, shape (..., outcomes)
        With sums of 1.

    Examples
    --------
    >>> float(entropy(np.array([0.5, 0.25, 0.25])))
    1.5
    """
    p = np.asarray(chances, dtype=float)
    return np.asarray(-(p * np.log2(np.where(p > 0.0, p, 1.0))).sum(axis=-1))


def mutual_information(shares: Array, chances: Array) -> float:
    """Return the mutual information of a cause and an outcome [bit].

    Parameters
    ----------
    shares : ndarray, shape (causes,)
        Chance of each cause.
    chances : ndarray, shape (causes, outcomes)
        Of each outcome under each cause.

    References
    ----------
    T. M. Cover, J. A. Thomas, Elements of Information Theory, 2nd ed., section 2.4 (from memory).
    """
    found = float(entropy(shares @ chances)) - float(shares @ entropy(chances))
    return max(found, 0.0)


def gain(
    shares: Array, predicted: Sequence[Predicted], none: float, flat: bool = True
) -> tuple[Gain, Array]:
    """Return the expected gain of a test, and its outcomes under each cause.

    Parameters
    ----------
    shares : ndarray, shape (causes,)
        Chance of each cause; with `none` they add up to 1.
    predicted : sequence of Predicted
        Of each cause; one with fewer than :data:`LEAST_ESS` effective members is taken to do what
        all others do together, so that it tells nothing.
    none : float
        Chance of none of these.
    flat : bool
        Whether every outcome is equally probable under none of these; else it does what all causes
        do together, so that the test tells nothing of it.

    Returns
    -------
    Gain
    ndarray, shape (causes + 1, outcomes)
        None of these last.

    Notes
    -----
    The entropy of chances p that come from few members is too low, by sum Var(p)/(2 p ln 2) to the
    second order (the bias of Miller and Madow where members have one outcome each): so causes seem
    to differ that do not. This is taken off. That the members of all causes have common base points
    is left out of it, which takes off rather too much. To put outcomes into bins can only lower
    the information (data processing inequality). So the gain errs to the low side.

    References
    ----------
    G. A. Miller, Note on the bias of information estimates (1955) (from memory).
    """
    causes, outcomes = len(predicted), predicted[0].chances.shape[1]
    known = np.array([each.ess >= LEAST_ESS for each in predicted])
    p = np.full((causes + 1, outcomes), 1.0 / outcomes)
    variance = np.zeros_like(p)
    for k in np.flatnonzero(known).tolist():
        p[k] = predicted[k].mean
        variance[k] = _spread(predicted[k], predicted[k].chances - p[k])
    whole = float(shares[known].sum())
    if whole > 0.0:
        p[:-1][~known] = shares[known] @ p[:-1][known] / whole
        if not flat:
            p[-1] = shares @ p[:-1] / shares.sum()
    q = np.append(shares, none)
    plain = mutual_information(q, p)
    together = q @ p
    own = float(q @ _lost(variance, p).sum(axis=1))
    common = float(_lost(q**2 @ variance, together).sum())
    bits = min(max(plain - own + common, 0.0), float(entropy(q)))
    square = 0.0
    ratio = np.log2(np.where(p > 0.0, p, 1.0)) - np.log2(np.where(together > 0.0, together, 1.0))
    for k in np.flatnonzero(known).tolist():
        told = (predicted[k].chances - p[k]) @ ratio[k]
        square += float(q[k] ** 2 * _spread(predicted[k], told[:, None])[0])
    return Gain(bits, plain, math.sqrt(square)), p


def _spread(each: Predicted, deviation: Array) -> Array:
    """Return the variance of a weighted mean, shape (outcomes,)."""
    squares = each.weights**2
    return np.asarray(squares @ deviation**2 / max(1.0 - float(squares.sum()), 1e-9))


def _lost(variance: Array, p: Array) -> Array:
    """Return how much too low the entropy of each chance is [bit]."""
    floor = np.where(p > 0.0, p, 1.0)
    # no entropy has lost more than all of it
    return np.asarray(np.minimum(variance / (2.0 * floor * math.log(2.0)), 0.5))
