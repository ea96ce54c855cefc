"""Chance of an outcome from a count of members, with an exact interval."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Chance:
    """Share of members with an outcome, and the interval that holds the chance.

    Attributes
    ----------
    name : str
        The outcome.
    count, members : int
        Members with the outcome, and all members.
    share : float
        Count over members.
    low, high : float
        Ends of the interval.
    """

    name: str
    count: int
    members: int
    share: float
    low: float
    high: float


def chance(name: str, count: int, members: int, level: float = 0.95) -> Chance:
    """Return the share of members with an outcome and its two-sided exact binomial interval.

    The ends are the chances at which a count so high, or so low, has the probability
    (1 - level)/2 (Clopper & Pearson, Biometrika 26 (1934) 404), by quantiles of the beta
    distribution. The cost does not depend on the number of members.

    The interval holds for independent members. Members come in blocks; blocks are independent of
    each other, and a block is a Latin hypercube or a scrambled Sobol' sample:

    * a share over a Latin hypercube of n members has at most n/(n - 1) times the variance of
      independent members, for any outcome, and less for large n as far as single columns decide
      it (Stein, Technometrics 29 (1987) 143; Owen, Ann. Stat. 25 (1997) 1541);
    * over a scrambled Sobol' sample the variance is bounded by a constant times that of
      independent members, and falls faster as n grows (Owen, SIAM J. Numer. Anal. 34 (1997)
      1884; Owen, ACM Trans. Model. Comput. Simul. 8 (1998) 71). The constant may exceed one for
      outcomes made for it, with fine patterns over many columns at once; those of a physical
      limit do not have them.

    So the interval is nearly always wider than it need be. An interval from the scatter between
    blocks would be tighter, but it needs many blocks, and says nothing when no block has the
    outcome; members are cheap, so the exact one is given. References from memory.

    Parameters
    ----------
    name : str
        The outcome.
    count : int
        Members with it, 0 to `members`.
    members : int
        All members, at least 1.
    level : float
        Probability that the interval holds the chance, between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range.
    """
    # a document knows chances, and few commands count any
    from scipy.special import betainccinv, betaincinv

    if members < 1 or not 0 <= count <= members:
        raise ValueError(f"{name}: {count} of {members} simulated shots is not a share")
    if not 0.0 < level < 1.0:
        raise ValueError(f"{name}: the level is {level}; it must lie between 0 and 1")
    tail = 0.5 * (1.0 - level)
    low = float(betaincinv(count, members - count + 1, tail)) if count > 0 else 0.0
    high = float(betainccinv(count + 1, members - count, tail)) if count < members else 1.0
    return Chance(name, count, members, count / members, low, high)
