"""What shots teach about a build: members that last, weighed by what was seen of every shot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtri

from baypulse.case.model import Case
from baypulse.engine import ensemble
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.charges import charge_path, works
from baypulse.members.ensemble import run_values
from baypulse.members.factors import Factor, factors
from baypulse.members.parts import StudyError
from baypulse.members.weights import effective, prior_over_drawn, resampled, toward, weights
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.shot_log import LoggedShot, ShotLog, case_of, with_pins
from baypulse.observed.shot_to_shot import (
    ScoreLayout,
    fresh_points,
    inside,
    lasting_columns,
    layout,
)
from baypulse.observed.sighting_odds import Traces, likelihood, traces

Array = np.ndarray

MEMBERS = 2048
"""Builds that are drawn at first."""

MOST_MEMBERS = 65_536
"""Builds that are drawn at most."""

WANTED = 200.0
"""Effective builds until which more are drawn."""

NEEDED = 50.0
"""Effective builds below which nothing is concluded."""

_ORDER = 0x5107
"""Tells the seed of the order of resampled builds from those of their points."""


@dataclass(frozen=True)
class WeighedBuilds:
    """Builds of a case, weighed by what was seen of its shots.

    Attributes
    ----------
    case : Case
        As it is built.
    log : ShotLog
        Its shots.
    factors : tuple of Factor
        What scatters.
    builds : dict of ndarray, shape (builds,)
        By the name of a factor that lasts, points between 0 and 1.
    prior : ndarray, shape (builds,)
        Weights before any shot, with a sum of 1.
    likelihood : ndarray, shape (shots, builds)
        Chance (density, with numbers) of what was seen of each shot, given each build and what was
        drawn anew for that shot.
    opens : ndarray of bool, shape (shots, builds)
        Whether it separates in each of those shots.
    seen : tuple of Traces
        What the first of the builds leave to be seen, a member of it for each shot.
    weight : ndarray, shape (builds,)
        After all shots, with a sum of 1; all alike without any.
    seed : int
        Of the builds.
    """

    case: Case
    log: ShotLog
    factors: tuple[Factor, ...]
    builds: dict[str, Array]
    prior: Array
    likelihood: Array
    opens: Array
    seen: tuple[Traces, ...]
    weight: Array
    seed: int

    @property
    def members(self) -> int:
        """How many builds were drawn."""
        return self.weight.size

    @property
    def effective(self) -> float:
        """How many builds of equal weight they are worth."""
        return effective(self.weight)

    @property
    def enough(self) -> bool:
        """Whether that is enough to conclude anything."""
        return self.effective >= NEEDED

    def weight_before(self, shot: int) -> Array:
        """Return the weights that the shots before one give, shape (builds,)."""
        return weights(self.prior * self.likelihood[:shot].prod(axis=0) * self.usable)

    @property
    def usable(self) -> Array:
        """Whether a build has room for every charge, shape (builds,)."""
        if not len(self.log):
            return np.ones(self.members, dtype=bool)
        return np.asarray((self.likelihood > 0.0).all(axis=0))

    def drawn(self, count: int, block: int = 0, *, prior: bool = False) -> dict[str, Array]:
        """Return equal builds as points of what lasts.

        Parameters
        ----------
        count : int
            How many.
        block : int
            Other numbers give other builds.
        prior : bool
            Whether as before any shot.

        Returns
        -------
        dict of ndarray, shape (count,)
            By the name of a factor.
        """
        weight = self.prior if prior else self.weight
        rng = np.random.default_rng(np.random.SeedSequence(self.seed, spawn_key=(_ORDER, block)))
        chosen = resampled(weight, count, rng)
        return {name: points[chosen] for name, points in self.builds.items()}

    def points(self, scattering: Sequence[Factor], count: int, seed: int, skip: int = 0) -> Array:
        """Return members of the next shot: builds as the shots leave them, all else drawn anew.

        Parameters
        ----------
        scattering : sequence of Factor
            Of this case, or of another that shares numbers with it; a number that is not in this
            case is drawn anew.
        count : int
            How many members.
        seed : int
            Of what is drawn anew.
        skip : int
            Blocks of the seed to leave for others.

        Returns
        -------
        ndarray, shape (count, dimensions)
            Points of the unit cube, for :func:`baypulse.members.draws.values`.
        """
        return fresh_points(scattering, self.drawn(count, skip), 1, seed, skip)

    def refuse(self) -> None:
        """Refuse to conclude where too few builds agree with what was seen.

        Raises
        ------
        StudyError
            With a sentence.
        """
        if not self.enough:
            raise StudyError(
                f"{self.case.name}: of {self.members:,} simulated bays drawn only about "
                f"{self.effective:.0f} agree with all {len(self.log)} shots of {self.log.file}, "
                f"and {NEEDED:.0f} are needed to conclude anything. The case does not describe "
                "this bay, or its spreads are too narrow: see baypulse why for each shot, or leave "
                "out numbers that were measured badly"
            )


def learn(
    case: Case,
    log: ShotLog,
    *,
    members: int = MEMBERS,
    most: int = MOST_MEMBERS,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> WeighedBuilds:
    """Weigh builds of a case by what was seen of its shots.

    Parameters
    ----------
    case : Case
        As it is built; its spreads are what was known before any shot.
    log : ShotLog
        Its shots, in any order.
    members : int
        Builds at first, rounded up to whole blocks; as many again, drawn near those that agree with
        the shots, follow until they are worth :data:`WANTED`.
    most : int
        Builds at most.
    seed : int
        Of the builds.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.

    Raises
    ------
    StudyError
        If nothing that lasts scatters.

    Notes
    -----
    A build b is what lasts. Its weight is the product over the shots of the chance of what was
    seen, given b and numbers that are drawn anew for b and that shot. These are part of the sample,
    so that b alone, with these weights, is a sample of p(b | all shots) without any further error:
    importance sampling on an extended space. C. Andrieu & G. O. Roberts, Ann. Stat. 37 (2009) 697
    (from memory). Where the first builds are worth too little, more are drawn with their scores
    shifted toward those that agree, and all are weighed as one mixture
    (:func:`baypulse.members.weights.prior_over_drawn`).
    """
    wide = with_pins(case, max([0, *(shot.pins for shot in log.shots)]))
    if case.pins is not None and (wide.pins is None or wide.pins.count < case.pins.count):
        wide = case
    scattering = factors(wide)
    columns = lasting_columns(scattering)
    if not columns:
        raise StudyError(
            f"{case.name}: nothing that is the same in all shots scatters in this case, so shots "
            'can teach nothing; give a value a spread, such as { value = "25 N", spread = "20 %" }'
        )
    series = _Series(
        case, wide, tuple(scattering), log, layout(scattering, len(log)), seed, workers
    )
    rounds: list[_Round] = []
    blocks, shift = -(-members // draws.BLOCK), np.zeros(series.layout.size)
    while True:
        rounds.append(series.fire(blocks, sum(each.blocks for each in rounds), shift, progress))
        scores = np.concatenate([each.scores for each in rounds])
        chances = np.concatenate([each.likelihood for each in rounds], axis=1)
        prior = prior_over_drawn(scores, [(each.shift, each.scores.shape[0]) for each in rounds])
        weight = weights(prior * chances.prod(axis=0))
        if effective(weight) >= WANTED or 2 * scores.shape[0] > most:
            break
        blocks, shift = scores.shape[0] // draws.BLOCK, toward(scores, weight)
    held = series.layout.held
    return WeighedBuilds(
        case=case,
        log=log,
        factors=tuple(scattering),
        builds={name: inside(scores[:, held.index(column)]) for name, column in columns.items()},
        prior=prior / prior.sum(),
        likelihood=chances,
        opens=np.concatenate([each.opens for each in rounds], axis=1),
        seen=rounds[0].seen,
        weight=weight,
        seed=seed,
    )


@dataclass(frozen=True)
class _Round:
    """Builds whose scores are shifted alike, and what they did in every shot."""

    shift: Array
    scores: Array
    likelihood: Array
    opens: Array
    seen: tuple[Traces, ...]

    @property
    def blocks(self) -> int:
        return self.scores.shape[0] // draws.BLOCK


@dataclass(frozen=True)
class _Series:
    """A series of shots, to be fired by many builds."""

    case: Case
    wide: Case
    factors: tuple[Factor, ...]
    log: ShotLog
    layout: ScoreLayout
    seed: int
    workers: int

    def fire(
        self, blocks: int, first: int, shift: Array, progress: Progress | None
    ) -> _Round:  # fmt: skip
        """Fire every shot with some blocks of builds."""
        shots = self.log.shots
        # the same builds meet the same numbers, in whatever order the shots stand
        order = sorted(range(len(shots)), key=lambda s: _key(shots[s]))
        size = blocks * draws.BLOCK
        scores = np.empty((size, self.layout.size))
        chances = np.ones((len(shots), size))
        opens = np.zeros((len(shots), size), dtype=bool)
        seen: dict[int, Traces] = {}
        for k in range(blocks):
            own = slice(k * draws.BLOCK, (k + 1) * draws.BLOCK)
            u = draws.unit_points(self.seed, first + k, self.layout.size)
            scores[own] = ndtri(u) + shift
            for place, s in enumerate(order):
                points = self.layout.points(scores[own], place)
                members = fired(self.case, self.wide, self.factors, shots[s], points, self.workers)
                left = traces(members.case, [members])
                for sighting in shots[s].seen:
                    chances[s, own] *= likelihood(sighting, left)
                chances[s, own] *= members.usable
                opens[s, own] = works(members.outcomes)
                if k == 0:
                    seen[s] = left
            if progress is not None:
                done = (first + k + 1) * draws.BLOCK * len(shots)
                progress(done, (first + blocks) * draws.BLOCK * len(shots))
        return _Round(shift, scores, chances, opens, tuple(seen[s] for s in range(len(shots))))


def fired(
    case: Case, wide: Case, scattering: Sequence[Factor], shot: LoggedShot, u: Array, workers: int
) -> CauseEnsemble:
    """Return members that fire one shot, with its charge and its pins.

    Parameters
    ----------
    case : Case
        As it is built.
    wide : Case
        The same with as many pins as any shot has.
    scattering : sequence of Factor
        Of the latter.
    shot : Shot
        The shot.
    u : ndarray, shape (members, dimensions)
        Points of the unit cube.
    workers : int
        Threads.
    """
    own = case_of(case, shot.row)
    path = charge_path(case)
    factor = shot.charge / float(getattr(getattr(case, path.split(".")[0]), path.split(".")[1]))
    values: dict[str, Array] = {}
    for name, column in draws.values(wide, scattering, u).items():
        if column.ndim == 2:
            if not shot.pins:
                continue
            column = column[:, : shot.pins]
        elif not shot.pins and name.startswith("pins."):
            continue
        values[name] = column * factor if name == path else column

    def draw(part: Array) -> dict[str, Any]:
        return {name: column[part] for name, column in values.items()}

    outcomes = run_values(own, np.arange(u.shape[0]), draw, workers)
    status = outcomes.rows[:, ensemble.RunColumn.STATUS]
    usable = (status == ensemble.FINISHED) | (status == ensemble.TIME_END)
    return CauseEnsemble((), own, values, outcomes, usable)


def _key(shot: LoggedShot) -> tuple[float, int, tuple[str, ...]]:
    return shot.charge, shot.pins, tuple(sorted(each.text for each in shot.seen))
