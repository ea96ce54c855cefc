"""What the shots of a case teach: the chance of separation, before and after, and what narrowed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.special import ndtri

from baypulse.case.casefile.keys import number_at, value_at
from baypulse.case.model import Case
from baypulse.engine import ensemble
from baypulse.members import draws
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.charge_table import charge_table
from baypulse.members.charges import Charges, Tally, charge_path, greatest_charge, works
from baypulse.members.ensemble import run_values
from baypulse.members.factors import Factor, factors
from baypulse.members.weights import quantiles
from baypulse.observed.build_weights import MEMBERS, WeighedBuilds, learn
from baypulse.observed.contradiction import (
    Contradiction,
    JudgedShot,
    Misfit,
    contradiction,
    judged,
    misfit,
)
from baypulse.observed.shot_log import ShotLog, with_pins
from baypulse.observed.shot_to_shot import fresh_points

Array = np.ndarray

BUILDS = 256
"""Builds behind a chance and its interval."""

TIMES = 8
"""Shots of each of them. Fewer make the interval wider than the builds are, never narrower: what
one build does by chance adds to it. Of bench-76 the lower end falls from 0.62 to 0.60 with half as
many; the error of the chance itself comes from the builds, and stays."""

LEVEL = 0.90
"""Share of the builds whose chance lies within the interval."""

POINTS = 11
"""Charges at which the chance is drawn."""

CURVE_MEMBERS = 256
"""Members behind each of them."""

CURVE_SHOTS = 4
"""Shots that each of them fires at most: a range of charges is halved until one separates, one not,
and none is between."""

BELOW = 2.0
"""How far the curve goes below the least charge, as a factor."""

ABOVE = 1.1
"""How far the curve goes above the greatest charge, as a factor."""

MOVED_COUNTS = 0.5
"""Share of narrowing that a shift by one standard deviation is ranked like; our choice."""

SHARES = (0.05, 0.5, 0.95)
"""Shares below the values of what was learnt."""


@dataclass(frozen=True)
class OpeningChance:
    """The chance that the next shot separates and, where that is asked, the parachute comes out.

    Attributes
    ----------
    share : float
        Over all builds.
    low, high : float
        Between which the chance of a build lies in 90 % of the builds.
    error : float
        Standard error of `share` from the finite number of builds.
    """

    share: float
    low: float
    high: float
    error: float


@dataclass(frozen=True)
class Lesson:
    """What was learnt about one number that lasts.

    Attributes
    ----------
    path, label : str
        Of the number; what people call it.
    before, after : tuple of float
        Values below which 5, 50 and 95 % of the builds lie [SI].
    moved : float
        Median after, in standard deviations of before (of normal scores, whatever the shape).
    narrowed : float
        Share by which nine of ten builds lie closer together than before, in the same measure;
        negative if they lie farther apart.
    """

    path: str
    label: str
    before: tuple[float, float, float]
    after: tuple[float, float, float]
    moved: float
    narrowed: float

    @property
    def weight(self) -> float:
        """How much was learnt, to rank by."""
        return max(self.narrowed, MOVED_COUNTS * abs(self.moved))


@dataclass(frozen=True)
class ShotStudy:
    """What the shots of a case taught.

    Attributes
    ----------
    case : Case
        As it is built.
    learnt : Learnt
        The weighed builds.
    charge : float
        Charge of the next shot: that of the case [SI].
    dimension : str
        Of the charge.
    before, after : Opening
        Chance of separation with it.
    told : tuple of JudgedShot
        The shots.
    misfit : Misfit
        Of all shots together with the case.
    lessons : tuple of Lesson
        What was learnt, most of it first.
    curve : tuple of (float, Chance, Chance)
        Charge, chance of separation before and after.
    runs : int
        Runs of the engine that the answer took.
    """

    case: Case
    learnt: WeighedBuilds
    charge: float
    dimension: str
    before: OpeningChance
    after: OpeningChance
    told: tuple[JudgedShot, ...]
    misfit: Misfit
    lessons: tuple[Lesson, ...]
    curve: tuple[tuple[float, Chance, Chance], ...]
    runs: int

    @property
    def log(self) -> ShotLog:
        """The shots."""
        return self.learnt.log

    @property
    def contradiction(self) -> Contradiction | None:
        """Where what was seen lies outside what the case can do."""
        return contradiction(self.learnt, self.misfit)


def answer(
    case: Case,
    log: ShotLog,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Answered[ShotStudy]:
    """Say what the shots of a case teach; the curve of a report comes after.

    Parameters
    ----------
    case, log, members, seed, workers, progress
        As for :func:`baypulse.observed.build_weights.learn`.

    Raises
    ------
    StudyError
        If nothing that lasts scatters, or too few builds agree with the shots to conclude.
    """
    learnt = learn(case, log, members=members, seed=seed, workers=workers, progress=progress)
    learnt.refuse()
    tally = Tally(progress, learnt.members * len(log) + 2 * BUILDS * TIMES)
    tally.add(learnt.members * len(log))
    before = opening(case, learnt.drawn(BUILDS, prior=True), seed, workers, learnt.members)
    tally.add(BUILDS * TIMES)
    after = opening(case, learnt.drawn(BUILDS), seed, workers, learnt.effective)
    tally.add(BUILDS * TIMES)
    found = misfit(learnt)
    path = charge_path(case)
    present = float(value_at(case, path))
    known = ShotStudy(
        case=case,
        learnt=learnt,
        charge=present,
        dimension=number_at(path).dimension,
        before=before,
        after=after,
        told=tuple(judged(learnt, found, s) for s in range(len(log))),
        misfit=found,
        lessons=lessons(learnt),
        curve=(),
        runs=tally.runs,
    )

    def whole(progress: Progress | None) -> ShotStudy:
        tally.go_on(progress, 2 * CURVE_SHOTS * CURVE_MEMBERS)
        bays = Charges(case, CURVE_MEMBERS, seed, workers, tally)
        taught = Charges(case, CURVE_MEMBERS, seed, workers, tally, points=learnt.points)
        charges = _charges(case, log, present)
        curve = zip(charges, _chances(bays, charges), _chances(taught, charges), strict=True)
        return replace(known, curve=tuple(curve), runs=tally.runs)

    return Answered(known, whole)


def _chances(bays: Charges, charges: Sequence[float]) -> list[Chance]:
    """Return the chance of separation with each of some rising charges."""
    opens = charge_table(bays, charges, [0] * len(charges)).works
    return [chance("separates", int(row.sum()), row.size) for row in opens]


def opening(
    case: Case, builds: dict[str, Array], seed: int, workers: int, effective: float
) -> OpeningChance:
    """Return the chance of separation over builds, each of which is fired several times.

    Parameters
    ----------
    case : Case
        With the charge of the next shot.
    builds : dict of ndarray, shape (builds,)
        From :meth:`baypulse.observed.build_weights.WeighedBuilds.drawn`.
    seed : int
        Of what is drawn anew in every shot.
    workers : int
        Threads; the answer does not depend on them.
    effective : float
        How many builds these are worth.
    """
    share = build_chances(case, factors(case), builds, seed, workers)
    tail = 0.5 * (1.0 - LEVEL)
    low, high = np.quantile(share, (tail, 1.0 - tail))
    worth = max(min(float(share.size), effective), 1.0)
    error = float(share.std()) / math.sqrt(worth)
    return OpeningChance(float(share.mean()), float(low), float(high), error)


def build_chances(
    case: Case, scattering: Sequence[Factor], builds: dict[str, Array], seed: int, workers: int,
    times: int = TIMES,
) -> Array:  # fmt: skip
    """Return each build's own chance of separation; one without room for its charge is left out.

    Parameters
    ----------
    case, builds, seed, workers
        As for :func:`opening`.
    scattering : sequence of Factor
        Of the case.
    times : int
        Shots of each build.

    Returns
    -------
    ndarray, shape (builds,) or less
    """
    u = fresh_points(scattering, builds, times, seed)
    values = draws.values(case, scattering, u)

    def draw(part: Array) -> dict[str, Array]:
        return {path: column[part] for path, column in values.items()}

    outcomes = run_values(case, np.arange(u.shape[0]), draw, workers)
    status = outcomes.rows[:, ensemble.RunColumn.STATUS].reshape(-1, times)
    fired = (status == ensemble.FINISHED) | (status == ensemble.TIME_END)
    good = works(outcomes).reshape(-1, times) & fired
    there = fired.any(axis=1)
    return np.asarray(good.sum(axis=1)[there] / fired.sum(axis=1)[there])


def lessons(learnt: WeighedBuilds) -> tuple[Lesson, ...]:
    """Return what was learnt of every number that lasts, most first.

    Parameters
    ----------
    learnt : Learnt
        The weighed builds.
    """
    scattering = learnt.factors
    whole = 1 + max(column for factor in scattering for column in factor.columns)
    # everything that is drawn anew stands at its middle
    u = np.full((learnt.members, whole), 0.5)
    for factor in scattering:
        if factor.name in learnt.builds:
            u[:, factor.columns[0]] = learnt.builds[factor.name]
    wide = _widest(learnt)
    values = draws.values(wide, scattering, u)
    found: dict[str, Lesson] = {}
    for factor in scattering:
        if factor.name not in learnt.builds:
            continue
        for path in factor.paths:
            column = values[path]
            column = column[:, 0] if column.ndim == 2 else column
            label = factor.label if len(factor.paths) == 1 else path
            found[path] = _lesson(path, label, column, learnt)
    return tuple(sorted(found.values(), key=lambda each: -each.weight))


def _lesson(path: str, label: str, values: Array, learnt: WeighedBuilds) -> Lesson:
    both = learnt.prior, learnt.weight
    before, after = (_three(quantiles(values, each, SHARES)) for each in both)
    # where the values after lie among those before, as normal scores
    least = 0.5 / learnt.members
    below = [float(learnt.prior @ (values < value)) for value in after]
    low, middle, high = ndtri(np.clip(below, least, 1.0 - least))
    wide = ndtri(SHARES[2]) - ndtri(SHARES[0])
    return Lesson(path, label, before, after, float(middle), float(1.0 - (high - low) / wide))


def _three(values: tuple[float, ...]) -> tuple[float, float, float]:
    low, middle, high = values
    return low, middle, high


def _widest(learnt: WeighedBuilds) -> Case:
    """Return the case with as many pins as the factors were made for."""
    most = max([shot.pins for shot in learnt.log.shots], default=0)
    held = learnt.case.pins
    return learnt.case if held is None or most <= held.count else with_pins(learnt.case, most)


def _charges(case: Case, log: ShotLog, present: float) -> list[float]:
    """Return the charges of the curve, rising, with a factor between them; that of the case too."""
    every = [present, *(shot.charge for shot in log.shots)]
    low = min(every) / BELOW
    high = min(max(every) * ABOVE, greatest_charge(case))
    grid = np.geomspace(low, max(high, present), POINTS - 1).tolist()
    rising = sorted({*grid, present})
    return [rising[0], *(b for a, b in pairwise(rising) if b > 1.001 * a)]
