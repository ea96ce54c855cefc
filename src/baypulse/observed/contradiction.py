"""Whether a case describes the shots that were seen: made-up reports against the real ones."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from baypulse.observed.build_weights import WeighedBuilds
from baypulse.observed.shot_log import LoggedShot, name_of
from baypulse.observed.sighting_odds import likelihood, report
from baypulse.observed.sightings import Sighting

Array = np.ndarray

MADE_UP = 400
"""Logs that are made up to compare with."""

UNLIKELY = 0.01
"""Share of made-up logs as unlikely as the real one below which the case is doubted."""

_STREAM = 0x0DD
"""Tells the seed of the reports from the other seeds."""


@dataclass(frozen=True)
class Misfit:
    """How unlikely what was seen is, by the case as it was before any shot.

    Attributes
    ----------
    whole : float
        Share of made-up logs of this case that are as unlikely as the real one, or more.
    each : tuple of float
        The same of every shot alone.
    """

    whole: float
    each: tuple[float, ...]

    @property
    def doubtful(self) -> bool:
        """Whether the case hardly describes what was seen."""
        return self.whole < UNLIKELY


def misfit(learnt: WeighedBuilds, made_up: int = MADE_UP) -> Misfit:
    """Compare what was seen with what builds of the case would have had somebody report.

    Parameters
    ----------
    learnt : Learnt
        The builds, of which those of the first block are used.
    made_up : int
        Logs to make up.

    Notes
    -----
    A prior predictive check (G. E. P. Box, J. R. Stat. Soc. A 143 (1980) 383, from memory). A
    build is taken by chance, and a report of every shot of it, on the same questions as the real
    one, with the mistakes that people make. Both logs are judged by the logarithm of the mean
    chance over all builds of all that was reported, over that of reports about which nothing is
    known; a build does not judge its own reports. What a shot leaves unanswered, as a joint that
    does not separate has no velocity, counts for nothing.
    """
    shots = learnt.log.shots
    if not shots:
        return Misfit(1.0, ())
    rng = np.random.default_rng(np.random.SeedSequence(learnt.seed, spawn_key=(_STREAM,)))
    usable = np.all([seen.usable for seen in learnt.seen], axis=0)
    real = [_odds(learnt, s, shot.seen) for s, shot in enumerate(shots)]
    held = _scores(real, usable)
    below = np.zeros(len(shots) + 1)
    for build in rng.choice(np.flatnonzero(usable), made_up):
        others = usable.copy()
        others[build] = False
        made = [_odds(learnt, s, _reports(learnt, s, int(build), rng)) for s in range(len(shots))]
        below += _scores(made, others) <= held + 1e-9
    shares = below / made_up
    return Misfit(float(shares[-1]), tuple(shares[:-1].tolist()))


def _reports(learnt: WeighedBuilds, s: int, build: int, rng: np.random.Generator) -> list[Sighting]:
    seen = learnt.seen[s]
    kinds = [sighting.kind for sighting in learnt.log.shots[s].seen]
    told = [report(kind, seen, build, rng) for kind in kinds]
    return [each for each in told if each is not None]


def _odds(learnt: WeighedBuilds, s: int, told: tuple[Sighting, ...] | list[Sighting]) -> Array:
    """Return the chance of what was told of a shot over that of anything, shape (builds,)."""
    seen = learnt.seen[s]
    odds = np.ones(seen.usable.size)
    for sighting in told:
        odds = odds * likelihood(sighting, seen) / sighting.kind.anything(sighting.value)
    return odds


def _scores(odds: list[Array], builds: Array) -> Array:
    """Return the logarithm of the mean over builds, of each shot and of all together."""
    together = np.prod(odds, axis=0)
    return np.array([math.log(float(each[builds].mean())) for each in [*odds, together]])


@dataclass(frozen=True)
class JudgedShot:
    """One shot, and what was expected of it.

    Attributes
    ----------
    shot : Shot
        The shot.
    number : int
        In the log, from 1.
    name : str
        What it is called.
    before : float
        Chance of separation with its charge by the case alone.
    expected : float
        The same by the case and the shots before it.
    misfit : float
        Share of made-up reports of this shot that are as unlikely as this one or more, by the case
        alone.
    """

    shot: LoggedShot
    number: int
    name: str
    before: float
    expected: float
    misfit: float


@dataclass(frozen=True)
class Contradiction:
    """Shots that contradict the case: what was seen lies outside what it can do.

    Attributes
    ----------
    file : str
        Where the shots stand.
    share : float
        Of made-up logs that are as unlikely as the real one.
    shots : tuple of JudgedShot
        Those that contradict it alone, or the one that fits least where none does; worst first.
    """

    file: str
    share: float
    shots: tuple[JudgedShot, ...]


def contradiction(learnt: WeighedBuilds, found: Misfit) -> Contradiction | None:
    """Return which shots contradict the case, None where it describes them.

    Parameters
    ----------
    learnt : Learnt
        The builds.
    found : Misfit
        Of them.
    """
    if not found.doubtful:
        return None
    rising = sorted(range(len(learnt.log)), key=lambda s: found.each[s])
    alone = [s for s in rising if found.each[s] < UNLIKELY] or rising[:1]
    return Contradiction(
        learnt.log.file, found.whole, tuple(judged(learnt, found, s) for s in alone)
    )


def judged(learnt: WeighedBuilds, found: Misfit, s: int) -> JudgedShot:
    """Return a shot with what was expected of it.

    Parameters
    ----------
    learnt : Learnt
        The builds.
    found : Misfit
        Of them.
    s : int
        Which shot, from 0.
    """
    opens = learnt.opens[s]
    return JudgedShot(
        shot=learnt.log.shots[s],
        number=s + 1,
        name=name_of(learnt.log, s),
        before=float(learnt.weight_before(0) @ opens),
        expected=float(learnt.weight_before(s) @ opens),
        misfit=found.each[s],
    )
