"""Whether causes are found again: simulated failed shots, and the diagnosis without the cause.

``benchmarks/why.py`` prints what this finds, and a test runs a small version of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.cluster.hierarchy import average, fcluster
from scipy.spatial.distance import squareform

from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.sighting_odds import report, traces
from baypulse.observed.sightings import Sighting, answered, kinds, measured
from baypulse.run.result import Parachute, Verdict
from baypulse.studies.why.compute import PreparedDiagnosis, posterior, prior_shares, ruling_out

SAME = 0.35
"""Chance of mistaking one cause for another, of two that are equally likely, from which both are
the same to the bay; 0.5 is a toss of a coin."""

FEWEST = 20
"""Failed members that a cause must have to make shots of it."""


@dataclass(frozen=True)
class SimulatedShot:
    """A simulated shot.

    Attributes
    ----------
    ensemble : int
        Which cause or pair of causes made it, by its place in the prepared ensembles.
    sightings : tuple of Sighting
        What was reported of it, mistakes included.
    """

    ensemble: int
    sightings: tuple[Sighting, ...]


@dataclass(frozen=True)
class Recovery:
    """How well causes are found again.

    Attributes
    ----------
    names : tuple of str
        Causes of which shots were made, or groups of those that are the same to the bay.
    confusion : ndarray of int, shape (names, names)
        True cause by the one that was ranked first.
    first, top_two : float
        Share of the shots in which the true one was ranked first, and first or second.
    expected_two : float
        The same share as the diagnoses themselves expect, the mean of their two greatest odds.
    """

    names: tuple[str, ...]
    confusion: np.ndarray
    first: float
    top_two: float
    expected_two: float

    @property
    def shots(self) -> int:
        """How many shots there were."""
        return int(self.confusion.sum())


@dataclass(frozen=True)
class Calibration:
    """Whether odds are what they say.

    Attributes
    ----------
    said, came : ndarray, shape (bins,)
        Mean of the chances that were said, and how often it came true.
    counts : ndarray of int, shape (bins,)
        How many chances were said in each bin.
    brier, brier_prior : float
        Mean square of chance less truth, summed over the causes; and that of always saying how
        often each cause makes a shot fail.
    """

    said: np.ndarray
    came: np.ndarray
    counts: np.ndarray
    brier: float
    brier_prior: float

    @property
    def worst(self) -> float:
        """Greatest distance of said and came, in standard errors, of bins with 20 chances."""
        full = self.counts >= 20
        error = np.sqrt(
            np.maximum(self.said * (1.0 - self.said), 1e-4) / np.maximum(self.counts, 1)
        )
        return float(np.max(np.abs(self.said - self.came)[full] / error[full], initial=0.0))


def failing(truth: PreparedDiagnosis) -> list[np.ndarray]:
    """Return which members of each ensemble fail.

    Anything fails but a joint that separated, with its parachute out and no limit exceeded.

    Parameters
    ----------
    truth : Prepared
        Members drawn apart from those that the diagnosis has.
    """
    return [
        np.flatnonzero(
            each.usable
            & ~(
                (each.outcomes.verdict == Verdict.SEPARATES.code)
                & (each.outcomes.contents != Parachute.STAYS_IN.code)
            )
        )
        for each in truth.ensembles
    ]


def shots_of_each(
    truth: PreparedDiagnosis, each: int, asked: Mapping[str, float], seed: int
) -> list[SimulatedShot]:
    """Return as many failed shots of every cause, as far as it makes this case fail.

    Parameters
    ----------
    truth : Prepared
        As for :func:`failing`; pairs are not used.
    each : int
        Shots of a cause.
    asked : mapping
        By kind of sighting, the chance that somebody says something about it.
    seed : int
        Of what is drawn and mistaken.
    """
    rng = np.random.default_rng(seed)
    found = []
    start = 0
    for k, (members, failed) in enumerate(zip(truth.ensembles, failing(truth), strict=True)):
        if len(members.causes) == 1 and failed.size >= FEWEST:
            chosen = rng.permutation(np.resize(rng.permutation(failed), each))
            found += [
                SimulatedShot(k, _reports(truth, members, start + int(i), asked, rng))
                for i in chosen
            ]
        start += members.members
    return found


def shots_by_odds(
    truth: PreparedDiagnosis, count: int, asked: Mapping[str, float], seed: int
) -> list[SimulatedShot]:
    """Return shots that were reported as failed, of causes and pairs as often as the prior says.

    Parameters
    ----------
    truth, asked, seed
        As for :func:`shots_of_each`; the outcome is always asked.
    count : int
        How many.
    """
    rng = np.random.default_rng(seed)
    sizes = np.array([each.members for each in truth.ensembles])
    starts = np.cumsum(sizes) - sizes
    odds = _odds(truth)
    found: list[SimulatedShot] = []
    opened = kinds()["outcome"].answers.index("separated")
    while len(found) < count:
        k = int(rng.choice(sizes.size, p=odds))
        member = int(starts[k] + rng.integers(sizes[k]))
        if not truth.seen.usable[member]:
            continue
        asking = {**asked, "outcome": 1.0}
        said = _reports(truth, truth.ensembles[k], member, asking, rng)
        outcome = next(each for each in said if each.kind.name == "outcome")
        if outcome.answer != opened:
            found.append(SimulatedShot(k, said))
    return found


def random_shot(
    truth: PreparedDiagnosis, asked: Mapping[str, float], seed: int
) -> tuple[Sighting, ...]:
    """Return reports that nothing made: any answer, any number.

    Parameters
    ----------
    truth, asked
        As for :func:`shots_of_each`.
    seed : int
        Of what is drawn.
    """
    rng = np.random.default_rng(seed)
    said = []
    for name, kind in truth.seen.kinds.items():
        if rng.random() < asked.get(name, 0.0):
            if kind.answers:
                said.append(answered(kind, int(rng.integers(len(kind.answers)))))
            else:
                value = kind.low * (kind.high / kind.low) ** rng.random()
                said.append(measured(kind, value))
    return tuple(said)


def single_causes(prepared: PreparedDiagnosis) -> PreparedDiagnosis:
    """Return a preparation without its pairs.

    Parameters
    ----------
    prepared : Prepared
        With or without them.
    """
    kept = tuple(each for each in prepared.ensembles if len(each.causes) == 1)
    seen = traces(prepared.case, kept)
    return replace(prepared, ensembles=kept, seen=seen, pair_members=0)


def chances(
    prepared: PreparedDiagnosis, shots: Sequence[SimulatedShot], priors: Mapping[str, float]
) -> np.ndarray:
    """Return the share of every ensemble for each shot, none of these left out.

    Parameters
    ----------
    prepared : Prepared
        Members that the shots are not from, with the same ensembles.
    shots : sequence of SimulatedShot
        Of which the cause is withheld.
    priors : mapping
        As for :func:`baypulse.studies.why.compute.why`.

    Returns
    -------
    ndarray, shape (shots, ensembles)
        The shares add up to 1: no shot here comes from outside the list.
    """
    shares = np.array([posterior(prepared, shot.sightings, priors).share[:-1] for shot in shots])
    return shares / shares.sum(axis=1, keepdims=True)


def even_priors(truth: PreparedDiagnosis) -> dict[str, float]:
    """Return odds with which every cause makes as many of the failed shots.

    A cause that hardly makes this case fail, and of which there are no shots, has odds of 1.

    Parameters
    ----------
    truth : Prepared
        As for :func:`failing`.
    """
    return {
        each.name: each.members / failed.size if failed.size >= FEWEST else 1.0
        for each, failed in zip(truth.ensembles, failing(truth), strict=True)
        if len(each.causes) == 1
    }


def alike(shares: np.ndarray, shots: Sequence[SimulatedShot]) -> list[list[int]]:
    """Return the causes in groups of those that are the same to the bay.

    Of two causes a and b, a shot of a leaves b the share p_b/(p_a + p_b). Its mean over the shots
    of a, and that of a over the shots of b, is how often they are mistaken. Groups are joined while
    their mean is above :data:`SAME` (average linkage).

    Parameters
    ----------
    shares : ndarray, shape (shots, ensembles)
        Of shots that serve for nothing else.
    shots : sequence of SimulatedShot
        The shots.

    Returns
    -------
    list of list of int
        Places of the ensembles of which there are shots.
    """
    made = sorted({shot.ensemble for shot in shots})
    source = np.array([shot.ensemble for shot in shots])
    mistaken = np.zeros((len(made), len(made)))
    for i, a in enumerate(made):
        for j, b in enumerate(made):
            own = shares[source == a]
            mistaken[i, j] = np.mean(own[:, b] / np.maximum(own[:, a] + own[:, b], 1e-300))
    distance = np.clip(0.5 - 0.5 * (mistaken + mistaken.T), 0.0, None)
    np.fill_diagonal(distance, 0.0)
    if len(made) < 2:
        return [made]
    label = fcluster(average(squareform(distance)), 0.5 - SAME, "distance")
    return [[a for a, each in zip(made, label, strict=True) if each == one]
            for one in dict.fromkeys(label)]  # fmt: skip


def recovery(
    prepared: PreparedDiagnosis,
    shares: np.ndarray,
    shots: Sequence[SimulatedShot],
    groups: Sequence[Sequence[int]],
) -> Recovery:
    """Return how often the true cause, or group of causes, was ranked first, and first or second.

    Parameters
    ----------
    prepared : Prepared
        The diagnoses' members.
    shares : ndarray, shape (shots, ensembles)
        From :func:`chances`.
    shots : sequence of SimulatedShot
        With their causes.
    groups : sequence of sequence of int
        Places of ensembles, each in one group; the causes of which there are no shots count as
        wrong answers.
    """
    grouped = np.stack([shares[:, list(group)].sum(axis=1) for group in groups], axis=1)
    held = {k for group in groups for k in group}
    others = [k for k in range(shares.shape[1]) if k not in held]
    every = np.hstack([grouped, shares[:, others]])
    place = {k: g for g, group in enumerate(groups) for k in group}
    true = np.array([place[shot.ensemble] for shot in shots])
    order = np.argsort(-every, axis=1)
    names = [" / ".join(prepared.ensembles[k].name for k in group) for group in groups]
    confusion = np.zeros((len(groups), len(groups) + 1), dtype=int)
    np.add.at(confusion, (true, np.minimum(order[:, 0], len(groups))), 1)
    return Recovery(
        names=(*names, "others"),
        confusion=confusion,
        first=float(np.mean(order[:, 0] == true)),
        top_two=float(np.mean((order[:, :2] == true[:, None]).any(axis=1))),
        expected_two=float(np.mean(np.sort(every, axis=1)[:, -2:].sum(axis=1))),
    )


def calibration(
    prepared: PreparedDiagnosis,
    shares: np.ndarray,
    shots: Sequence[SimulatedShot],
    base: np.ndarray,
    bins: int = 10,
) -> Calibration:
    """Hold the chances of every cause, alone or in a pair, against how often it was at work.

    Parameters
    ----------
    prepared : Prepared
        The diagnoses' members.
    shares : ndarray, shape (shots, ensembles)
        From :func:`chances`.
    shots : sequence of SimulatedShot
        From :func:`shots_by_odds`.
    base : ndarray, shape (ensembles,)
        How often each makes a shot that is reported as failed (:func:`failure_shares`).
    bins : int
        Between 0 and 1, equally wide.
    """
    names = sorted({cause.name for each in prepared.ensembles for cause in each.causes})
    member = np.array(
        [[name in {c.name for c in each.causes} for name in names] for each in prepared.ensembles],
        dtype=float,
    )
    said = shares @ member
    true = member[[shot.ensemble for shot in shots]]
    edge = np.minimum((said * bins).astype(int), bins - 1).ravel()
    counts = np.bincount(edge, minlength=bins)
    some = np.maximum(counts, 1)
    return Calibration(
        said=np.bincount(edge, said.ravel(), bins) / some,
        came=np.bincount(edge, true.ravel(), bins) / some,
        counts=counts,
        brier=float(((said - true) ** 2).sum(axis=1).mean()),
        brier_prior=float(((base @ member - true) ** 2).sum(axis=1).mean()),
    )


def failure_shares(truth: PreparedDiagnosis) -> np.ndarray:
    """Return how often each ensemble makes a shot that is reported as failed, with a sum of 1."""
    kind = kinds()["outcome"]
    opened = kind.answers.index("separated")
    right = np.array([kind.report(answer)[opened] for answer in range(len(kind.answers))])
    fails = (1.0 - truth.seen.answers["outcome"] @ right) * truth.seen.usable
    sizes = np.array([each.members for each in truth.ensembles])
    rates = np.add.reduceat(fails, np.cumsum(sizes) - sizes) / sizes
    found = _odds(truth) * rates
    return np.asarray(found / found.sum())


def _odds(truth: PreparedDiagnosis) -> np.ndarray:
    shares = prior_shares(truth)[:-1]
    return np.asarray(shares / shares.sum())


def _reports(
    truth: PreparedDiagnosis, members: CauseEnsemble, member: int, asked: Mapping[str, float],
    rng: np.random.Generator,
) -> tuple[Sighting, ...]:  # fmt: skip
    """Return what is reported of a member, mistakes included but those that rule its cause out."""
    while True:
        told = [
            report(kind, truth.seen, member, rng)
            for name, kind in truth.seen.kinds.items()
            if rng.random() < asked.get(name, 0.0)
        ]
        said = tuple(each for each in told if each is not None)
        if ruling_out(members, said) is None:
            return said
