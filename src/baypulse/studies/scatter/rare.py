"""Chance of a failure too rare to count, by importance sampling in standard normal space.

All that is known of the failure is whether a point fails; there is no margin to follow. Two
independent searches look for the failing regions:

1. All columns are widened by a factor s = 1, 1.5, 2, ... until a fair share of points fails.
2. A mixture of normals of scale s is fitted to the failing points by expectation-maximisation,
   each point weighted by the nominal density of scale s over the density it was drawn from (the
   cross-entropy method: Rubinstein & Kroese 2004, ch. 3). Then s comes down towards 1, the centres
   staying where they are. Nominal density and mixture have the same scale at every step, so the
   weights do not degenerate with the number of columns.

The final sample is independent of the searches. It comes from both mixtures together and, for a
tenth, from the nominal density (defensive mixture: Hesterberg, Technometrics 37 (1995) 185; Owen &
Zhou, J. Am. Stat. Assoc. 95 (2000) 135), so no weight exceeds ten, and given the searches the
estimate is unbiased whatever they found. References from memory.

What it cannot see: a failing region that neither search met. A region is met if some hundreds of
the widened points fall into it, so a small island, or a region that needs most columns near
their medians while one is extreme, can be missed by both, and then the interval is too low. A
failure without a direction, such as a large distance from the median in all columns together, is
seen and not resolved. Where the limit bends around the median in four or more columns, weights
are uneven and the 95 % interval held the known chance in about 80 % of trials.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp, stdtrit

from baypulse.members.chances import chance

WIDENINGS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
"""Factors by which the search widens all columns, one after another."""

FAIR_SHARE = 0.05
"""Share of failing points at which the search stops widening."""

SEARCH_MEMBERS = 1000
"""Points of a widening."""

FIT_MEMBERS = 2000
"""Points of a step back towards the nominal scale."""

ENOUGH_TO_SPLIT = 300
"""Failing points wanted for the first fit. With fewer, several regions are taken for one and some
of them lost on the way down."""

MOST_EXTRA = 4
"""Most times that more points are drawn for it."""

WORTH_PER_COLUMN = 8
"""Equal points a column that the weights of a fit must be worth: a centre of them all then has a
scatter of about 1/sqrt(8), and costs the final sample little."""

FEWEST_TO_FIT = 20
"""Failing points below which a fit would follow chance."""

NARROWING = 1.5
"""Factor by which the scale comes down at each step."""

REFITS = 3
"""Fits at the nominal scale."""

MOST_REGIONS = 6
"""Most centres of one search."""

LEAST_SHARE = 0.05
"""Least share of a centre: a region small at a wide scale may be the largest at the nominal."""

LEAST_VARIANCE = 0.25
"""Least variance of a column about a centre, over the nominal one."""

MOST_VARIANCE = 4.0
"""Greatest variance of a column about a centre, over the nominal one."""

PLAIN_SHARE = 0.1
"""Share of the nominal density in every mixture; its inverse bounds the weights."""

FEWEST_EFFECTIVE = 100.0
"""Effective failing members below which the estimate is not given. A mixture that fits gives
thousands; one that does not hides the large weights that it draws seldom."""

DISAGREEMENT = 0.1
"""Share of the chance that may lie where one search's density is a tenth of the other's."""

BATCH = 16_384
"""Points evaluated at once, so that memory stays flat."""

Fails = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Rare:
    """Chance of a rare failure.

    Attributes
    ----------
    share : float
        The chance; if it is not resolved, the share of plain members that failed.
    low, high : float
        Interval at the level asked for. If not resolved it is the exact binomial one of plain
        members, and says little more than an upper bound.
    resolved : bool
        Whether importance sampling gave the numbers.
    reason : str
        Why it is not resolved; empty if it is.
    effective : float
        (sum w)^2 / sum w^2 of the failing members' weights w: how many equal ones they are worth.
    members : int
        Members behind `share`.
    evaluations : int
        All points at which the failure was asked for, searches included.
    """

    share: float
    low: float
    high: float
    resolved: bool
    reason: str
    effective: float
    members: int
    evaluations: int


class _Asked:
    """The failure, with a count of how often it was asked for."""

    def __init__(self, fails: Fails) -> None:
        self.fails = fails
        self.count = 0

    def __call__(self, z: np.ndarray) -> np.ndarray:
        failed = np.asarray(self.fails(z))
        if failed.shape != (len(z),) or failed.dtype != np.bool_:
            raise ValueError(
                f"`fails` gave {failed.dtype} of shape {failed.shape} for {len(z)} points; "
                f"it must give one bool a point"
            )
        self.count += len(z)
        return failed


@dataclass(frozen=True)
class _Mixture:
    """Normals of independent columns: shares (k,), centres and variances (k, d).

    The variances are over scale^2, and the nominal density is the normal of variances 1 about 0.
    """

    shares: np.ndarray
    centres: np.ndarray
    variances: np.ndarray

    def with_plain(self) -> _Mixture:
        """Return the mixture with the nominal density added, centred at the origin."""
        columns = self.centres.shape[1]
        return _Mixture(
            np.concatenate(([PLAIN_SHARE], (1.0 - PLAIN_SHARE) * self.shares)),
            np.vstack((np.zeros(columns), self.centres)),
            np.vstack((np.ones(columns), self.variances)),
        )

    def draw(self, rng: np.random.Generator, members: int, scale: float) -> np.ndarray:
        which = rng.choice(len(self.shares), size=members, p=self.shares)
        z = rng.standard_normal((members, self.centres.shape[1]))
        return self.centres[which] + scale * np.sqrt(self.variances)[which] * z

    def log_terms(self, z: np.ndarray, scale: float) -> np.ndarray:
        """Return log of each normal times its share, over the nominal density: shape (m, k)."""
        z, c, v = z / scale, self.centres / scale, self.variances
        constant = np.log(self.shares) - 0.5 * np.sum(c**2 / v + np.log(v), axis=1)
        return z @ (c / v).T + z**2 @ (0.5 - 0.5 / v).T + constant

    def log_ratio(self, z: np.ndarray, scale: float) -> np.ndarray:
        """Return log of the mixture over the nominal density of the same scale: shape (m,)."""
        return np.asarray(logsumexp(self.log_terms(z, scale), axis=1))


def estimate(
    fails: Fails, dimensions: int, seed: int, members: int = 20_000, level: float = 0.95
) -> Rare:
    """Return the chance that a standard normal point fails.

    The interval is log-normal, exp(+-t s/p), with as many degrees of freedom as effective failing
    members: a sum of positive weights is skewed, and where it comes out low its scatter does too.

    Parameters
    ----------
    fails : function
        From points (m, d) of independent standard normals to bool (m,).
    dimensions : int
        Columns d.
    seed : int
        The same seed gives the same numbers. Its streams have keys of two words, so they are
        not those of blocks of members, whose keys have one.
    members : int
        Members of the final sample, at least 1000. The two searches cost 20,000 to 40,000 points
        more; if the chance is not resolved, as many plain members are drawn again.
    level : float
        Of the interval, between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range, or `fails` does not give one bool a point.
    """
    if dimensions < 1 or members < 1000:
        raise ValueError(
            f"{dimensions} columns, {members} simulated shots; at least 1 and 1000 are needed"
        )
    if not 0.0 < level < 1.0:
        raise ValueError(f"the level is {level}; it must lie between 0 and 1")
    asked = _Asked(fails)
    streams = [
        np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(0, i))) for i in range(4)
    ]
    found = [_search(asked, dimensions, rng) for rng in streams[:2]]
    effective = 0.0
    if found[0] is None or found[1] is None:
        reason = f"too few points fail, with all scatter widened up to {WIDENINGS[-1]:g} times"
    else:
        log_weights, lean = _sample(asked, found[0], found[1], members, streams[2])
        share, error, effective, one_sided = _summary(log_weights, lean, members)
        if effective < FEWEST_EFFECTIVE:
            reason = (
                f"the failing simulated shots are worth {effective:.1f} equal ones, and "
                f"{FEWEST_EFFECTIVE:g} are needed"
            )
        elif one_sided > DISAGREEMENT:
            reason = (
                f"{100.0 * one_sided:.0f} % of the chance was found by one of two searches only, "
                f"so there may be more"
            )
        else:
            half = stdtrit(effective - 1.0, 0.5 + 0.5 * level) * error / share
            low, high = share * math.exp(-half), min(share * math.exp(half), 1.0)
            return Rare(min(share, 1.0), low, high, True, "", effective, members, asked.count)
    count = 0
    for m in _batches(members):
        count += int(asked(streams[3].standard_normal((m, dimensions))).sum())
    plain = chance("", count, members, level)
    return Rare(
        plain.share, plain.low, plain.high, False, reason, effective, members, asked.count
    )  # fmt: skip


def _search(asked: _Asked, dimensions: int, rng: np.random.Generator) -> _Mixture | None:
    """Return a mixture that covers the failing regions met, or None if too few points fail."""
    best: tuple[float, np.ndarray] = (1.0, np.empty((0, dimensions)))
    for scale in WIDENINGS:
        z = scale * rng.standard_normal((SEARCH_MEMBERS, dimensions))
        z = z[asked(z)]
        if len(z) > len(best[1]):
            best = scale, z
        if len(z) >= FAIR_SHARE * SEARCH_MEMBERS:
            break
    scale, failing = best
    if not len(failing):
        return None
    for _ in range(MOST_EXTRA):
        if len(failing) >= ENOUGH_TO_SPLIT:
            break
        z = scale * rng.standard_normal((SEARCH_MEMBERS, dimensions))
        failing = np.vstack((failing, z[asked(z)]))
    if len(failing) < FEWEST_TO_FIT:
        return None
    mixture = _fit(failing, np.full(len(failing), 1.0 / len(failing)), scale, rng)
    refits = REFITS
    while refits:
        scale = max(scale / NARROWING, 1.0)
        refits -= scale == 1.0
        proposal = mixture.with_plain()
        z = proposal.draw(rng, FIT_MEMBERS, scale)
        z = z[asked(z)]
        if len(z) < FEWEST_TO_FIT:
            return None
        log_weights = -proposal.log_ratio(z, scale)
        weights = np.exp(log_weights - log_weights.max())
        mixture = _fit(z, weights / weights.sum(), scale, rng)
    return mixture


def _fit(z: np.ndarray, weights: np.ndarray, scale: float, rng: np.random.Generator) -> _Mixture:
    """Return the mixture of as many centres as the points speak for (Schwarz 1978).

    Parameters
    ----------
    z : ndarray
        Failing points, shape (m, d).
    weights : ndarray
        Of the points, with sum 1, shape (m,).
    scale : float
        Standard deviation of the nominal density, and of the normals whose centres are sought.
    rng : Generator
        For the starts of the fit.
    """
    weights = _flattened(weights, WORTH_PER_COLUMN * z.shape[1])
    basis = _telling_directions(z, weights, scale)
    y = z @ basis
    worth = 1.0 / np.sum(weights**2)
    price = 0.5 * (y.shape[1] + 1) * math.log(worth)
    best, owned, best_score, no_better = None, weights[:, None], -math.inf, 0
    for k in range(1, MOST_REGIONS + 1):
        mixture, owners, fit = _expectation_maximisation(y, weights, scale, k, rng)
        score = worth * fit - k * price
        if score > best_score:
            best, owned, best_score, no_better = mixture, owners, score, 0
        else:
            no_better += 1
        # one more centre can be useless where two more part the regions
        if no_better == 2:
            break
    assert best is not None
    centres = best.centres @ basis.T
    shares = np.maximum(best.shares, LEAST_SHARE)
    return _Mixture(shares / shares.sum(), centres, _variances(z / scale, centres / scale, owned))


def _variances(z: np.ndarray, centres: np.ndarray, owned: np.ndarray) -> np.ndarray:
    """Return variances (k, d) about the centres, 1 where the points do not say otherwise.

    Points are few and columns many, so a variance within three of its own standard errors,
    sqrt(2/m), of 1 is taken as 1.
    """
    whole = np.maximum(owned.sum(axis=0), 1e-12)
    worth = whole**2 / np.maximum(np.sum(owned**2, axis=0), 1e-24)
    squares = np.array([share @ (z - c) ** 2 for share, c in zip(owned.T, centres, strict=True)])
    found = squares / whole[:, None]
    same = np.abs(found - 1.0) < 3.0 * np.sqrt(2.0 / worth)[:, None]
    return np.where(same, 1.0, np.clip(found, LEAST_VARIANCE, MOST_VARIANCE))


def _flattened(weights: np.ndarray, wanted: float) -> np.ndarray:
    """Return weights to the power at which they are worth as many equal ones as wanted.

    Half of all is enough, where fewer failed. Otherwise, with many columns, a few points carry the
    fit, and their own scatter becomes the next centres. The final estimate has its own weights.
    """
    flat = weights
    power = 1.0
    while np.sum(flat**2) * min(wanted, 0.5 * len(flat)) > 1.0:
        power *= 0.8
        flat = weights**power
        flat /= flat.sum()
    return flat


def _telling_directions(z: np.ndarray, weights: np.ndarray, scale: float) -> np.ndarray:
    """Return directions (d, r) in which failing points differ from nominal ones.

    The second moment of points around centres is scale^2 I plus a part that the centres span
    (Vempala & Wang, J. Comput. Syst. Sci. 68 (2004) 841). Eigenvalues of mere scatter end near
    scale^2 (1 + sqrt(d/m))^2 (Marchenko & Pastur 1967). Centres fitted in the directions above
    it do not carry the scatter of all other columns into the weights.
    """
    from scipy.linalg import eigh  # few scatters look for rare failures

    worth = 1.0 / np.sum(weights**2)
    d = z.shape[1]
    most = [max(d - MOST_REGIONS, 0), d - 1]
    values, vectors = eigh((z * weights[:, None]).T @ z, subset_by_index=most)
    telling = values > (scale * (1.0 + math.sqrt(d / worth))) ** 2
    telling[-1] = True
    return vectors[:, telling]


def _expectation_maximisation(
    z: np.ndarray, weights: np.ndarray, scale: float, k: int, rng: np.random.Generator
) -> tuple[_Mixture, np.ndarray, float]:
    """Return a mixture of k normals of one scale, who owns which weight (m, k), and the fit.

    The fit is the mean log-likelihood ratio to the nominal density. The starts are failing points
    far from each other (Arthur & Vassilvitskii 2007).
    """
    chosen = [int(rng.choice(len(z), p=weights))]
    for _ in range(k - 1):
        nearest = np.min([np.sum((z - z[i]) ** 2, axis=1) for i in chosen], axis=0) * weights
        if not nearest.sum() > 0.0:
            break
        chosen.append(int(rng.choice(len(z), p=nearest / nearest.sum())))
    k = len(chosen)
    mixture = _Mixture(np.full(k, 1.0 / k), z[chosen], np.ones((k, z.shape[1])))
    last = -math.inf
    for _ in range(30):
        terms = mixture.log_terms(z, scale)
        total = logsumexp(terms, axis=1)
        owned = np.exp(terms - total[:, None]) * weights[:, None]
        fit = float(weights @ total)
        if fit - last < 1e-3:
            break
        last = fit
        # a start that owns nothing keeps a share above zero, and its logarithm
        shares = np.maximum(owned.sum(axis=0), 1e-12)
        mixture = replace(
            mixture, shares=shares / shares.sum(), centres=owned.T @ z / shares[:, None]
        )
    return mixture, owned, fit


def _sample(
    asked: _Asked, one: _Mixture, two: _Mixture, members: int, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Return the failing members' log weights, and log of search one's density over two's."""
    proposal = _Mixture(
        0.5 * np.concatenate((one.shares, two.shares)),
        np.vstack((one.centres, two.centres)),
        np.vstack((one.variances, two.variances)),
    ).with_plain()
    log_weights, lean = [], []
    for m in _batches(members):
        z = proposal.draw(rng, m, 1.0)
        z = z[asked(z)]
        log_weights.append(-proposal.log_ratio(z, 1.0))
        lean.append(one.log_ratio(z, 1.0) - two.log_ratio(z, 1.0))
    return np.concatenate(log_weights), np.concatenate(lean)


def _summary(
    log_weights: np.ndarray, lean: np.ndarray, members: int
) -> tuple[float, float, float, float]:
    """Return the chance, its standard error, the effective number, and what one search missed."""
    if not len(log_weights):
        return 0.0, 0.0, 0.0, 0.0
    weights = np.exp(log_weights)
    total, squares = float(weights.sum()), float(np.sum(weights**2))
    share = total / members
    error = math.sqrt(max(squares / members - share**2, 0.0) / (members - 1))
    missed = max(weights[lean < -math.log(10.0)].sum(), weights[lean > math.log(10.0)].sum())
    return share, error, total**2 / squares, float(missed / total)


def _batches(members: int) -> list[int]:
    """Return sizes of at most `BATCH` that add up to `members`."""
    whole, rest = divmod(members, BATCH)
    return [BATCH] * whole + [rest] * (rest > 0)
