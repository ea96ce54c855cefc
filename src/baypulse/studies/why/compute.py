"""Why a shot went as it did: the chance of each cause, given what was seen."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.special import expit, logit

from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.charges import Points
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import pairs
from baypulse.observed.sighting_odds import Traces, likelihood, traces
from baypulse.observed.sightings import Sighting
from baypulse.studies.why.cause_file import NONE_OF_THESE, CauseError, CauseList, shipped
from baypulse.studies.why.cause_members import Group, ensembles, most_added
from baypulse.studies.why.result import Diagnosis, Finding, Weighted

MEMBERS = 64
"""Members of each cause at first."""

PAIR_MEMBERS = 8
"""Members of each pair of causes at first, as there are so many."""

FINER_MEMBERS = draws.BLOCK
"""Members of a cause at most."""

FINER_PAIR = 256
"""Members of a pair at most."""

GROWS = 4
"""Times as many members in each step as before."""

LEFT_OPEN = 0.01
"""What the members of one cause or pair may leave open of its share: it gets more from there on."""

MOST_FURTHER = 12_288
"""Members that are added at most."""

UNSEEN = 0.5
"""How much a member that nobody drew may fit, over the difference between the one that fits best
and the one that fits least: a cause whose members all do the same is not known for certain."""

SCORE = 1.959963984540054
"""Standard deviations on either side of the middle that hold 95 % of a normal distribution."""


@dataclass(frozen=True)
class PreparedDiagnosis:
    """Members of a case under every cause, ready for any sightings.

    Attributes
    ----------
    case : Case
        As it was meant to be.
    listed : CauseList
        All causes.
    ensembles : tuple of CauseEnsemble
        Those of single causes first, then those of pairs.
    seen : Traces
        Of all their members, in this order.
    members, pair_members : int
        Of a cause, and of a pair.
    seed : int
        Of the members.
    points : callable or None
        As for :func:`baypulse.studies.why.cause_members.ensembles`.
    """

    case: Case
    listed: CauseList
    ensembles: tuple[CauseEnsemble, ...]
    seen: Traces
    members: int
    pair_members: int
    seed: int
    points: Points | None = None


@dataclass(frozen=True)
class CausePosterior:
    """The numbers of a diagnosis, an entry for each ensemble and one for none of these.

    Attributes
    ----------
    prior, share, error : ndarray, shape (ensembles + 1,)
        Before and after the sightings, and the standard error of the latter from the finite number
        of members.
    evidence : ndarray, shape (ensembles + 1,)
        Chance, or density, of all sightings.
    left_open : ndarray, shape (ensembles,)
        What the finite number of its members leaves open of each share.
    ess : ndarray, shape (ensembles,)
        Effective number of members.
    likelihoods : ndarray, shape (sightings, members of all ensembles)
        Of each sighting, given each member; 0 for one that rules its cause out.
    """

    prior: np.ndarray
    share: np.ndarray
    error: np.ndarray
    evidence: np.ndarray
    left_open: np.ndarray
    ess: np.ndarray
    likelihoods: np.ndarray

    def finding(self, k: int, **rest: Any) -> Finding:
        """Return the finding of an entry; `rest` is what does not stand here."""
        share, error = float(self.share[k]), float(self.error[k])
        low, high = _interval(share, error)
        return Finding(
            share=share, low=low, high=high, prior=float(self.prior[k]),
            evidence=float(self.evidence[k]), **rest,
        )  # fmt: skip


def why(
    case: Case,
    seen: Sequence[Sighting],
    *,
    members: int = MEMBERS,
    seed: int = 1,
    workers: int = 1,
    priors: Mapping[str, float] | None = None,
    listed: CauseList | None = None,
    progress: Progress | None = None,
) -> Diagnosis:
    """Say how probable each cause is, given what was seen of a shot.

    Every cause is a change to the case, and its members are simulated. P(cause | seen) is as
    P(cause) times the mean, over its members, of the chance of what was seen. Causes are taken to
    come together by chance, and every pair of them that does not move the same number is always
    tried, with fewer members. More members follow of those whose few members leave too much of the
    answer open. None of these has the same chance of whatever is seen: any answer as
    likely as any other, any number as likely as any other on a logarithmic scale. It wins where no
    cause makes the sightings more likely than that. A cause that a sighting rules out has no
    chance, however often that is reported by mistake.

    Parameters
    ----------
    case : Case
        As it was meant to be.
    seen : sequence of Sighting
        From :func:`baypulse.observed.sightings.sightings`; in any order.
    members : int
        Of each cause, at most :data:`baypulse.members.draws.BLOCK`.
    seed : int
        Of the members.
    workers : int
        Threads; the answer does not depend on them.
    priors : mapping, optional
        Odds by name that replace those of the list; for "none of these" its share.
    listed : CauseList, optional
        The causes; those shipped unless given.
    progress : callable, optional
        Called with members done, and how many there will be.

    Raises
    ------
    CauseError
        If no cause of the list fits the case, or `priors` names none of it.
    """
    prepared = prepare(
        case, members=members, pair_members=min(members, PAIR_MEMBERS), seed=seed, workers=workers,
        listed=listed, progress=progress,
    )  # fmt: skip
    return diagnose(refine(prepared, seen, priors, workers, progress), seen, priors)


def prepare(
    case: Case,
    *,
    members: int = MEMBERS,
    pair_members: int = PAIR_MEMBERS,
    seed: int = 1,
    workers: int = 1,
    listed: CauseList | None = None,
    progress: Progress | None = None,
    points: Points | None = None,
) -> PreparedDiagnosis:
    """Run the members of a case under every cause and every pair of causes.

    Parameters
    ----------
    case, members, seed, workers, listed, progress
        As for :func:`why`.
    pair_members : int
        Of each pair; 0 for no pairs.
    points : callable, optional
        As for :func:`baypulse.studies.why.cause_members.ensembles`.
    """
    if not 1 <= members <= draws.BLOCK or not 0 <= pair_members <= members:
        raise ValueError(
            f"{members} simulated shots and {pair_members} of a pair; at most {draws.BLOCK}"
        )
    listed = shipped() if listed is None else listed
    fitting = tuple(cause for cause in listed.causes if cause.fits(case))
    if not fitting:
        raise CauseError(f"no cause of the list fits {case.name}; see what the causes need")
    groups: list[Group] = [((cause,), range(members)) for cause in fitting]
    groups += [(two, range(pair_members)) for two in pairs(fitting)] if pair_members else []
    added = most_added(causes for causes, _ in groups)
    # where no member has room for its charge, the cause cannot be at work
    made = [
        each
        for each in ensembles(case, groups, added, seed, workers, progress, points)
        if each.usable.any()
    ]
    seen = traces(case, made)
    return PreparedDiagnosis(case, listed, tuple(made), seen, members, pair_members, seed, points)


def refine(
    prepared: PreparedDiagnosis,
    seen: Sequence[Sighting],
    priors: Mapping[str, float] | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> PreparedDiagnosis:
    """Return the members, and more of those causes whose few leave much of the answer open.

    Parameters
    ----------
    prepared : Prepared
        From :func:`prepare`.
    seen, priors, workers, progress
        As for :func:`why`.

    Notes
    -----
    Whose members leave most open gets more first, until none leaves :data:`LEFT_OPEN` or
    :data:`MOST_FURTHER` are added: about the best way to share out members among strata
    (J. Neyman, J. R. Stat. Soc. 97 (1934) 558, from memory).
    """
    begun = prepared.seen.usable.size
    while seen:
        left = begun + MOST_FURTHER - prepared.seen.usable.size
        wanted = _wanted(prepared, posterior(prepared, seen, priors).left_open, left)
        if not wanted:
            break
        prepared = _grown(prepared, wanted, workers, progress)
    return prepared


def _wanted(prepared: PreparedDiagnosis, left_open: np.ndarray, left: int) -> dict[int, range]:
    """Return which further members of which ensembles are wanted, so many at most."""
    wanted: dict[int, range] = {}
    for k in np.argsort(-left_open, kind="stable").tolist():
        if left_open[k] < LEFT_OPEN:
            break
        each = prepared.ensembles[k]
        most = FINER_MEMBERS if len(each.causes) == 1 else FINER_PAIR
        further = range(each.members, min(GROWS * each.members, most))
        if len(further) > left:
            break
        if further:
            wanted[k] = further
            left -= len(further)
    return wanted


def _grown(
    prepared: PreparedDiagnosis, wanted: Mapping[int, range], workers: int,
    progress: Progress | None,
) -> PreparedDiagnosis:  # fmt: skip
    """Return the members with further ones of some ensembles behind them."""
    before = prepared.seen.usable.size

    def tell(done: int, total: int) -> None:
        assert progress is not None
        progress(before + done, before + total)

    made = list(prepared.ensembles)
    further = ensembles(
        prepared.case, [(made[k].causes, which) for k, which in wanted.items()],
        most_added(each.causes for each in made), prepared.seed, workers,
        None if progress is None else tell, prepared.points,
    )  # fmt: skip
    for k, each in zip(wanted, further, strict=True):
        made[k] = made[k].and_further(each)
    return replace(prepared, ensembles=tuple(made), seen=traces(prepared.case, made))


def posterior(
    prepared: PreparedDiagnosis, seen: Sequence[Sighting], priors: Mapping[str, float] | None = None
) -> CausePosterior:
    """Return the numbers of a diagnosis.

    Parameters
    ----------
    prepared : Prepared
        The members.
    seen, priors
        As for :func:`why`.
    """
    groups = prepared.ensembles
    sizes = np.array([each.members for each in groups])
    counted = np.array([each.usable.sum() for each in groups])
    starts = np.cumsum(sizes) - sizes
    out = np.zeros(sizes.size, dtype=bool)
    chances = np.array([likelihood(sighting, prepared.seen) for sighting in seen])
    chances = chances.reshape(len(seen), int(sizes.sum()))
    for k, each in enumerate(groups):
        ruled_out = [ruling_out(each, [sighting]) is not None for sighting in seen]
        chances[ruled_out, starts[k] : starts[k] + sizes[k]] = 0.0
        out[k] = any(ruled_out)
    together = chances.prod(axis=0) * prepared.seen.usable
    sums = np.add.reduceat(together, starts)
    squares = np.add.reduceat(together**2, starts)
    ess = np.divide(sums**2, squares, out=np.zeros(sums.size), where=squares > 0.0)
    anything = math.prod([sighting.kind.anything(sighting.value) for sighting in seen])
    evidence = np.append(sums / counted, anything)
    prior = prior_shares(prepared, priors)
    total = float(prior @ evidence)
    share = prior * evidence / total
    # members of a cause may fit that are not among the few that were drawn
    fits = together[prepared.seen.usable]
    unseen = np.where(out, 0.0, UNSEEN * (fits.max() - fits.min()) / counted)
    variance = np.maximum(squares / counted - (sums / counted) ** 2, 0.0) / counted
    left_open = prior[:-1] * np.sqrt(variance + unseen**2) / total
    error = _errors(prepared, together, prior, share, total)
    error[:-1] = np.hypot(error[:-1], prior[:-1] * (1.0 - share[:-1]) * unseen / total)
    return CausePosterior(prior, share, error, evidence, left_open, ess, chances)


def ruling_out(members: CauseEnsemble, seen: Sequence[Sighting]) -> Sighting | None:
    """Return the first sighting after which one of the causes cannot have been at work, or None."""
    said = (cause.ruled_out(seen) for cause in members.causes)
    return next((each for each in said if each is not None), None)


def prior_shares(
    prepared: PreparedDiagnosis, priors: Mapping[str, float] | None = None
) -> np.ndarray:
    """Return the chance of each ensemble, and of none of these, before anything was seen.

    Parameters
    ----------
    prepared : Prepared
        The members.
    priors : mapping, optional
        As for :func:`why`.
    """
    given = dict(priors or {})
    known = {cause.name for cause in prepared.listed.causes} | {NONE_OF_THESE}
    for name, value in given.items():
        if name not in known:
            raise CauseError(f'there is no cause "{name}"; known are {", ".join(sorted(known))}')
        if not (value > 0.0 and math.isfinite(value)) or (name == NONE_OF_THESE and value >= 1.0):
            raise CauseError(f"{name}: odds of {value:g}; they must be above 0, a share below 1")
    none = given.get(NONE_OF_THESE, prepared.listed.none_share)
    odds = np.array(
        [
            math.prod(given.get(cause.name, cause.odds) for cause in each.causes)
            for each in prepared.ensembles
        ]
    )
    return np.append((1.0 - none) * odds / odds.sum(), none)


def diagnose(
    prepared: PreparedDiagnosis, seen: Sequence[Sighting], priors: Mapping[str, float] | None = None
) -> Diagnosis:
    """Say how probable each cause is, with members that are already there.

    Parameters
    ----------
    prepared : Prepared
        From :func:`prepare`.
    seen, priors
        As for :func:`why`.
    """
    found = posterior(prepared, seen, priors)
    anything = np.array([sighting.kind.anything(sighting.value) for sighting in seen])
    involved: dict[str, float] = {}
    for each, share in zip(prepared.ensembles, found.share, strict=False):
        for cause in each.causes:
            involved[cause.name] = involved.get(cause.name, 0.0) + float(share)
    single: list[Finding] = []
    double: list[Finding] = []
    weighted: dict[str, Weighted] = {}
    ruled_out: dict[str, Sighting] = {}
    start = 0
    for k, each in enumerate(prepared.ensembles):
        own = slice(start, start + each.members)
        start += each.members
        chances = found.likelihoods[:, own]
        weighted[each.name] = _weighted(each, chances)
        said = ruling_out(each, seen)
        if said is not None:
            ruled_out[each.name] = said
            continue
        means = chances[:, each.usable].mean(axis=1)
        alone = len(each.causes) == 1
        finding = found.finding(
            k,
            name=each.name,
            what=each.causes[0].what if alone else "",
            causes=tuple(cause.name for cause in each.causes),
            involved=involved[each.name] if alone else float(found.share[k]),
            ess=float(found.ess[k]),
            members=each.members,
            seen=tuple((means / anything).tolist()),
        )
        (single if alone else double).append(finding)
    none = found.finding(
        -1, name=NONE_OF_THESE, what=prepared.listed.none_what, causes=(),
        involved=float(found.share[-1]), ess=math.nan, members=0, seen=(1.0,) * len(seen),
    )  # fmt: skip
    if not single:
        raise CauseError(
            "what was seen rules out every cause of the list; hold it against what was really seen"
        )
    fitting = {finding.name for finding in single} | set(ruled_out)
    left_out = tuple(c.name for c in prepared.listed.causes if c.name not in fitting)
    return Diagnosis(
        prepared.case, tuple(seen), _ranked(single), _ranked(double), none, left_out,
        ruled_out, prepared.members, prepared.pair_members, prepared.seed, weighted,
        prepared.points,
    )  # fmt: skip


def _weighted(members: CauseEnsemble, chances: np.ndarray) -> Weighted:
    together = chances.prod(axis=0) * members.usable
    total = float(together.sum())
    return Weighted(members, together, together / total if total > 0.0 else together)


def _interval(share: float, error: float) -> tuple[float, float]:
    """Return the interval of 95 % that is symmetric in the logarithm of the odds."""
    if not 0.0 < share < 1.0 or error == 0.0:
        return share, share
    middle, width = logit(share), SCORE * error / (share * (1.0 - share))
    return float(expit(middle - width)), float(expit(middle + width))


def _ranked(findings: list[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(findings, key=lambda finding: -finding.share))


def _errors(
    prepared: PreparedDiagnosis,
    together: np.ndarray,
    prior: np.ndarray,
    share: np.ndarray,
    total: float,
) -> np.ndarray:
    """Return the standard errors of the shares by the delta method.

    With q_j = a_j/A and A = sum of a_j, dq_j = (da_j - q_j dA)/A. Member i of every ensemble comes
    from the same base point, so that their deviations are added before they are squared. None of
    these has no members, and an error through A alone.
    """
    most = max(each.members for each in prepared.ensembles)
    moved = np.zeros((most, share.size))
    start = 0
    for k, each in enumerate(prepared.ensembles):
        own, counted = together[start : start + each.members], each.usable.sum()
        start += each.members
        moved[: own.size, k] = prior[k] * (own - each.usable * own.sum() / counted) / counted
    moved -= share * moved.sum(axis=1, keepdims=True)
    return np.asarray(np.sqrt((moved**2).sum(axis=0)) / total)
