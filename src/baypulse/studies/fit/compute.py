"""Learn the unknowns of a case from what was measured: the study behind ``baypulse fit``."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from scipy.special import ndtri

from baypulse.case.casefile.spreads import shares_cut
from baypulse.case.model import Case, Spread
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.ensemble import run_values
from baypulse.members.factors import Factor, dimensions, factors
from baypulse.observed.measured import MeasuredShot
from baypulse.studies.fit.learning import STARTS, LearntScores, learn
from baypulse.studies.fit.logger_figures import logger_figures
from baypulse.studies.fit.posterior import FOLLOWED, ROUNDS, LeastSquares, solve
from baypulse.studies.fit.prepared_records import PreparedRecord, prepare_all
from baypulse.studies.fit.profile_likelihood import TURNS
from baypulse.studies.fit.responses import Responses
from baypulse.studies.fit.result import (
    NOTHING,
    Fit,
    Fitted,
    LoggerFigure,
    Moved,
    NumberFit,
    Range,
    RecordFit,
    Unsure,
)
from baypulse.studies.fit.rml import DRAWS, settled
from baypulse.studies.fit.sampling import STEPS
from baypulse.studies.fit.unknowns import Unknown

Array = np.ndarray

MEMBERS = 512
"""Shots drawn for a chance."""

FELT = 0.25
"""Numbers that were not asked for are told where they moved by so many standard deviations."""


LITTLE_CUT = 1e-3
"""A normal spread of which more is cut off is written as a triangular one."""


def fit(
    case: Case,
    shots: Sequence[MeasuredShot],
    *,
    unknowns: Sequence[str] | None = None,
    lag: float | None = None,
    between: tuple[float, float] | None = None,
    sampling: bool = False,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Fit:
    """Learn unknowns of a case from records and single numbers of shots.

    Parameters
    ----------
    case : Case
        The case; the shots were as it says, but for their charge where another is given.
    shots : sequence of Shot
        What was measured.
    unknowns : sequence of str, optional
        What is fitted: words of :data:`baypulse.studies.fit.unknowns.CHOICES`, or paths of numbers
        that have a spread; None for the usual ones.
    lag : float, optional
        Time constant of the gauge [s]; fitted from a wide prior where None.
    between : tuple of float, optional
        Stretch of the records to take [s].
    sampling : bool
        Whether the posterior is sampled, and not only taken as normal about its top.
    seed : int
        Of all draws.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Told of steps done, and of all.

    Raises
    ------
    StudyError
        Where nothing can be learnt; the sentence says why.
    """
    total = STARTS + FOLLOWED + ROUNDS + TURNS + 7 + (5 * STEPS // 4 if sampling else 0)
    tally = _counter(progress, total)
    prepared = [prepare_all(case, shot, between) for shot in shots]
    held = learn(
        case, shots, prepared, unknowns=unknowns, lag=lag, sampling=sampling, seed=seed,
        workers=workers, told=tally,
    )  # fmt: skip
    best = _best_alone(held)
    fitted = tuple(_fitted(held, unknown, best, seed) for unknown in held.unknowns)
    own = [held.own(unknown) for unknown in held.unknowns]
    some = _some(held)
    tally(1)
    records, told, numbers, misfit = _seen(held, shots, prepared, some)
    before, after, written = _chances(case, held, fitted, seed, workers)
    tally(total)
    return Fit(
        case=case,
        fitted=fitted,
        correlation=np.corrcoef(held.scores[:, own], rowvar=False).reshape(len(own), len(own)),
        moved=_moved(held),
        records=records,
        loggers=told,
        numbers=numbers,
        misfit=misfit,
        opens_before=before,
        opens_after=after,
        opens_written=written,
        members=MEMBERS,
        seed=seed,
        sampling=held.sampling,
        notes=tuple(dict.fromkeys(n for each in prepared for one in each for n in one.notes)),
        files=tuple(_sources(shots)),
    )


def written_spread(fitted: Fitted) -> Spread:
    """Return the spread that a case file gets beside the best value.

    Of pins: what is left unknown of all together and each pin's own part, which keeps its size.

    Parameters
    ----------
    fitted : Fitted
        An unknown.
    """
    unknown = fitted.unknown
    old = unknown.spread
    if old.distribution == "log-normal":
        # the deviation whose logarithm scatters so: w (w - 1) = (d/v)^2, w = exp(s^2)
        w = math.exp(fitted.deviation**2)
        deviation = fitted.best * math.sqrt(w * (w - 1.0))
        return replace(old, deviation=deviation, group="", correlation=1.0)
    if unknown.path == "pins.strength" and old.deviation is not None:
        own = old.deviation * math.sqrt(1.0 - old.correlation)
        whole = math.hypot(own, fitted.deviation)
        common = (fitted.deviation / whole) ** 2
        return replace(old, deviation=whole, correlation=max(common, 1e-6))
    normal_one = Spread(
        distribution="normal", deviation=fitted.deviation, low=old.low, high=old.high
    )
    if max(shares_cut(fitted.best, normal_one)) < LITTLE_CUT:
        return normal_one
    # one that ends by itself: its standard deviation is the same where nothing is in the way
    wide = math.sqrt(6.0) * fitted.deviation
    low = max(fitted.best - wide, -math.inf if old.low is None else old.low)
    high = min(fitted.best + wide, math.inf if old.high is None else old.high)
    return Spread(distribution="triangular", low=low, high=high)


def written_case(case: Case, fitted: Sequence[Fitted]) -> Case:
    """Return the case with the fitted values and their spreads, as a new case file says it.

    Parameters
    ----------
    case : Case
        As it was read.
    fitted : sequence of Fitted
        The unknowns; those of which nothing was learnt stay as they were.
    """
    told = [each for each in fitted if each.learnt]
    new = draws.member_case(case, {each.unknown.path: each.best for each in told})
    spreads = {each.unknown.path: written_spread(each) for each in told}
    return replace(new, spreads=case.spreads | spreads)


def _counter(progress: Progress | None, total: int) -> Callable[[int], None]:
    """Return what counts steps for a progress."""
    done = 0

    def count(steps: int) -> None:
        nonlocal done
        done = min(done + steps, total)
        if progress is not None:
            progress(done, total)

    return count


def _sources(shots: Sequence[MeasuredShot]) -> list[str]:
    return [
        source
        for shot in shots
        for source in ([record.source for record in shot.records] or [shot.name])
    ]


def _best_alone(held: LearntScores) -> Array:
    """Return the most probable scores while all of which nothing was learnt stays nominal."""
    own = [held.own(unknown) for unknown in held.unknowns]
    # a value of which nothing was learnt would move about without a reason
    told = [k for k in own if np.std(held.scores[:, k]) <= NOTHING]
    records = np.arange(held.model.scores, held.model.size)
    start = np.zeros_like(held.top.scores)
    which = np.concatenate((np.array(told, dtype=int), records))
    start[which] = held.top.scores[which]
    return solve(LeastSquares(held.model, held.top.streams), start, which, 15)


def _fitted(held: LearntScores, unknown: Unknown, best: Array, seed: int) -> Fitted:
    """Return what became of an unknown."""
    k = held.own(unknown)
    column = held.owners[k][2]

    def values(z: Array) -> Array:
        whole = np.zeros((z.size, dimensions(list(held.factors))))
        whole[:, column] = z
        drawn = draws.from_scores(held.prior, held.factors, whole)[unknown.path]
        return drawn if drawn.ndim == 1 else drawn[:, 0]

    scores = held.scores[:, k]
    after = values(scores)
    logs = unknown.spread.distribution == "log-normal"
    return Fitted(
        unknown=unknown,
        before=_range(values(ndtri(draws.unit_points(seed, 2, 1))[:, 0])),
        after=_range(after),
        best=float(values(best[k : k + 1])[0]),
        left=float(np.std(scores)),
        moved=float(np.median(scores)),
        deviation=float(np.std(np.log(after) if logs else after)),
    )


def _range(values: Array) -> Range:
    return Range(*(float(v) for v in np.quantile(values, (0.025, 0.5, 0.975))))


def _moved(held: LearntScores) -> tuple[Moved, ...]:
    """Return the other numbers that the data moved, the most moved first."""
    own = {held.own(unknown) for unknown in held.unknowns}
    others = [
        Moved(factor.label, float(np.median(held.scores[:, k])), float(np.std(held.scores[:, k])))
        for k, (_, factor, _) in enumerate(held.owners)
        if k not in own
    ]
    felt = [each for each in others if abs(each.moved) > FELT]
    return tuple(sorted(felt, key=lambda each: -abs(each.moved)))


def _some(held: LearntScores) -> Array:
    """Return draws for curves and for the ranges of single numbers, shape (k, n)."""
    if held.sampling is None:
        return settled(held.model, held.top, held.scores)
    rows = np.linspace(0, held.scores.shape[0] - 1, DRAWS).astype(int)
    return np.asarray(held.scores[rows])


def _seen(
    held: LearntScores,
    shots: Sequence[MeasuredShot],
    prepared: Sequence[tuple[PreparedRecord, ...]],
    some: Array,
) -> tuple[tuple[RecordFit, ...], tuple[LoggerFigure, ...], tuple[NumberFit, ...], float]:
    """Return what the model says of all that was measured, before and after."""
    model, top = held.model, held.top
    nominal = np.zeros(model.size)
    nominal[model.scores :] = top.scores[model.scores :]
    rows = np.vstack([nominal, top.scores, some])
    runs = model.runs(rows[:, : model.scores])
    seen = [model.seen(run, row[model.scores :]) for run, row in zip(runs, rows, strict=True)]
    records: list[RecordFit] = []
    told: list[LoggerFigure] = []
    numbers: list[NumberFit] = []
    stream, misfit = 0, 0.0
    for s, (shot, own) in enumerate(zip(shots, prepared, strict=True)):
        shown = [each[stream : stream + len(own)] for each in seen]
        told += logger_figures(held.prior, own, shown, [run[s] for run in runs])
        for r, one in enumerate(own):
            band = np.array([each[stream] for each in seen[2:]])
            low, high = np.nanquantile(band, (0.025, 0.975), axis=0)
            data = top.streams[stream]
            records.append(
                RecordFit(
                    shot.name, one, seen[0][stream], seen[1][stream], low, high,
                    float(data.errors[0]), float(data.weight * data.values.size),
                    _unsure(model, s, r, held.scores),
                )
            )  # fmt: skip
            stream += 1
        if shot.scalars:
            misfit += float(np.sum(top.streams[stream].pulls(seen[1][stream]) ** 2))
            band = np.array([each[stream] for each in seen[2:]])
            numbers += [
                NumberFit(shot.name, scalar, float(seen[0][stream][k]), _range(band[:, k]))
                for k, scalar in enumerate(shot.scalars)
            ]
            stream += 1
    return tuple(records), tuple(told), tuple(numbers), misfit


def _unsure(model: Responses, s: int, r: int, scores: Array) -> tuple[Unsure, ...]:
    """Return what was found of a record beside."""
    found = []
    for k, nuisance in enumerate(model.nuisances, model.scores):
        if (nuisance.shot, nuisance.record) != (s, r):
            continue
        left = float(np.std(scores[:, k]))
        value = nuisance.value(float(np.median(scores[:, k])))
        found.append(Unsure(nuisance.name, value, left * nuisance.scale, left))
    return tuple(found)


def _chances(
    case: Case, held: LearntScores, fitted: Sequence[Fitted], seed: int, workers: int
) -> tuple[Chance, Chance, Chance]:
    """Return the chance that a shot separates: before, after, and as a new case file says.

    That after is of the posterior's own draws. Those that were moved to meet the data are for
    what was measured: they leave the burning rate half of the spread that its errors call for.
    """

    def opened(name: str, drawn: Case, scatter: Sequence[Factor], z: Array) -> Chance:
        found = run_values(drawn, z, lambda part: draws.from_scores(drawn, scatter, part), workers)
        return chance(name, int(found.opened.sum()), MEMBERS)

    def fresh(scatter: Sequence[Factor]) -> Array:
        return ndtri(draws.unit_points(seed, 3, dimensions(list(scatter)))[:MEMBERS])

    own = factors(case)
    z = fresh(held.factors)
    turn = np.arange(MEMBERS) % len(held.scores)
    # what is drawn anew in every shot is drawn anew in the next
    for k, (shot, _, column) in enumerate(held.owners):
        if shot is None:
            z[:, column] = held.scores[turn, k]
    new = written_case(case, fitted)
    return (
        opened("before", case, own, fresh(own)),
        opened("after", held.prior, held.factors, z),
        opened("as written", new, factors(new), fresh(factors(new))),
    )
