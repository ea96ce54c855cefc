"""From measurements to scores: the model, where to begin, the posterior and draws from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.factors import Factor
from baypulse.members.parts import StudyError
from baypulse.observed.measured import (
    ACCELERATION,
    BAROMETER,
    POSITION,
    PRESSURE,
    MeasuredShot,
    Record,
)
from baypulse.studies.fit.posterior import LeastSquares, Posterior, Stream, most_probable
from baypulse.studies.fit.prepared_records import PreparedRecord
from baypulse.studies.fit.profile_likelihood import sided, stretched
from baypulse.studies.fit.responses import (
    AFTER,
    AVERAGED,
    BEHIND,
    DRIFT,
    FIRED,
    LAG,
    SCALE,
    ZERO,
    Nuisance,
    Owner,
    ResponseCurve,
    Responses,
    subjects_of,
)
from baypulse.studies.fit.result import Sampling
from baypulse.studies.fit.rml import settled
from baypulse.studies.fit.sampling import sample
from baypulse.studies.fit.unknowns import Unknown, of_one_shot, usual, with_priors

Array = np.ndarray

TRIED = 32
"""Points of the priors that are tried."""

STARTS = 3
"""The best of them, from which it begins."""

LAG_MIDDLE = 5e-4
"""A gauge's time constant where none is given [s]; estimate (small gauges take 0.1 to 5 ms)."""

LAG_SCALE = 1.0
"""What the logarithm of that scatters by: a factor of seven to either side; estimate."""

LAG_KNOWN = 0.1
"""The same for the logarithm of one that is given."""

ZERO_SHARE = 0.02
"""Standard deviation of the zero over the peak; estimate."""

DRIFT_SHARE = 0.01
"""Standard deviation of the drift over the record, over the peak; estimate."""

FIRED_SHARE = 1.0
"""Standard deviation of the unknown moment of firing, over the length of the record up to its
peak: so wide that the record alone decides."""

FIRED_LEAST = 0.02
"""The same at the least [s]."""

LEAK_LAG = 1e-2
"""Lag of the pressure in an electronics bay [s]; estimate."""

LEAK_SCALE = 1.5
"""What the logarithm of that scatters by: the record alone decides; estimate."""

LEAK_SHARE = 2.0
"""What the logarithm of its share of the bay's pressure scatters by: the record alone decides;
estimate."""

AVERAGED_SCALE = 0.35
"""What the logarithm of the time scatters by, at the least, over which an acceleration is averaged;
estimate."""

RINGS = 2e-3
"""That time where nothing but the section itself averages [s], which rings at some hundred hertz;
of a fast logger it is between its step and this; estimate."""

MISSES = {ACCELERATION: 0.1}
"""Error of a reading by the model, over the peak, that is thought of first: a section rings, and
its pins fail one by one; estimate. Else :data:`MISS`."""

MISS = 0.02
"""The same of the other kinds: a model misses by more than a good gauge scatters."""

DELAYS = ("powder.ignition_delay", "cold_gas.opening_delay")
"""What cannot be told from the moment of firing, where that is not known."""


@dataclass(frozen=True)
class LearntScores:
    """What was learnt, in scores.

    Attributes
    ----------
    prior : Case
        The case with a spread for all that is fitted.
    unknowns : tuple of Unknown
        What is fitted.
    factors : tuple of Factor
        All that scatters.
    owners : tuple
        Of each score of the case: the shot that alone has it or None, its factor, its column.
    model : Responses
        What the model says, for any scores.
    top : Posterior
        The most probable scores.
    scores : ndarray, shape (k, n)
        Draws from the posterior.
    sampling : Sampling or None
        Where they were sampled.
    """

    prior: Case
    unknowns: tuple[Unknown, ...]
    factors: tuple[Factor, ...]
    owners: tuple[Owner, ...]
    model: Responses
    top: Posterior
    scores: Array
    sampling: Sampling | None

    def own(self, unknown: Unknown) -> int:
        """Return the score that is an unknown's own: what all shots and all pins have in common."""
        return score_of(unknown, self.owners)


def learn(
    case: Case, shots: Sequence[MeasuredShot], prepared: Sequence[tuple[PreparedRecord, ...]], *,
    unknowns: Sequence[str] | None = None, lag: float | None = None, sampling: bool = False,
    seed: int = 1, workers: int = 1, told: Callable[[int], None] = lambda _: None,
) -> LearntScores:  # fmt: skip
    """Learn from what was measured.

    Parameters
    ----------
    case, shots, unknowns, lag, sampling, seed, workers
        As for :func:`baypulse.studies.fit.compute.fit`.
    prepared : sequence of tuple of Prepared
        The records of every shot.
    told : callable
        Is told of every step done.

    Raises
    ------
    StudyError
        Where nothing can be learnt; the sentence says why.
    """
    kinds = [record.kind for shot in shots for record in shot.records]
    kinds += [scalar.word for shot in shots for scalar in shot.scalars]
    if not kinds:
        raise StudyError(f"{case.name}: nothing was measured, so nothing can be fitted")
    asked = usual(case, kinds) if unknowns is None else list(unknowns)
    prior, found, scattering = with_priors(case, asked)
    if not found:
        raise StudyError(f"{case.name}: there is nothing to fit; name something with --unknown")
    scattering = _without_delay(scattering, found, shots)
    model, owners = _model(prior, found, scattering, shots, prepared, lag, workers)
    streams = _streams(shots, prepared)
    starts = _starts(model, streams, found, owners, seed)
    told(1)
    own = np.array([score_of(unknown, owners) for unknown in found])
    top = most_probable(model, streams, starts, own, told)
    top, widths = sided(model, top, own, told)
    scores, how = _draws(model, top, own, widths, seed), None
    if sampling:
        scores, how = sample(model, top, settled(model, top, scores), seed, told)
    return LearntScores(
        prior, tuple(found), tuple(scattering), tuple(owners), model, top, scores, how
    )


def _without_delay(
    scattering: Sequence[Factor], found: Sequence[Unknown], shots: Sequence[MeasuredShot]
) -> list[Factor]:
    """Leave out the ignition's delay where only its sum with the moment of firing can be seen."""
    timed = any(record.fired is not None for shot in shots for record in shot.records)
    timed |= any(scalar.word == "time" for shot in shots for scalar in shot.scalars)
    if timed:
        return list(scattering)
    for unknown in found:
        if unknown.path in DELAYS:
            raise StudyError(
                f"--unknown {unknown.path}: a record tells it only from the moment of firing; give "
                'that with --fired "0 ms", as a time in the record'
            )
    return [factor for factor in scattering if not set(factor.paths) & set(DELAYS)]


def _model(
    prior: Case,
    found: Sequence[Unknown],
    scattering: Sequence[Factor],
    shots: Sequence[MeasuredShot],
    prepared: Sequence[tuple[PreparedRecord, ...]],
    lag: float | None,
    workers: int,
) -> tuple[Responses, list[Owner]]:
    """Build the model: the shots with their scores, and what is not known of their records."""
    shared = [not of_one_shot(prior, factor, found) for factor in scattering]
    whole = prior.run.end_time
    ready = [(shot, records, whole) for shot, records in zip(shots, prepared, strict=True)]
    subjects, owners = subjects_of(prior, scattering, shared, ready)
    bare = Responses(tuple(subjects), tuple(scattering), len(owners), (), workers)
    middle = bare.runs(np.zeros((1, len(owners))))[0]
    nuisances: list[Nuisance] = []
    for s, records in enumerate(prepared):
        if records and middle[s] is None:
            raise StudyError(f"{prior.name}: with its nominal values the bay has no room for air")
        for r, one in enumerate(records):
            nuisances += _of_record(s, r, one, middle[s], lag)
    # what comes after the records is not run again and again
    ends = [
        max((_end_of(one, middle[s], whole) for one in records), default=whole)
        for s, records in enumerate(prepared)
    ]
    cut = tuple(replace(each, end_time=end) for each, end in zip(subjects, ends, strict=True))
    return replace(bare, subjects=cut, nuisances=tuple(nuisances)), owners


def _end_of(one: PreparedRecord, run: ResponseCurve, most: float) -> float:
    """Return how long a run must be to reach the end of a record, fired a little earlier [s]."""
    record = one.record
    rise = _rise_of(run, record)
    fired = record.fired if record.fired is not None else one.rise - 2.0 * rise - AFTER
    return float(np.clip(record.time[-1] - fired, 1e-3, most))


def _of_record(
    s: int, r: int, one: PreparedRecord, run: ResponseCurve, lag: float | None
) -> list[Nuisance]:
    record = one.record
    found = []
    if record.fired is None and record.clock is None:
        peak = float(record.time[int(np.argmax(record.values))])
        wide = max(FIRED_SHARE * (peak - float(record.time[0])), FIRED_LEAST)
        found.append(Nuisance(s, r, FIRED, one.rise - _rise_of(run, record), wide))
    gauge = record.kind in (PRESSURE, BAROMETER)
    if record.kind == PRESSURE:
        known = (LAG_MIDDLE, LAG_SCALE) if lag is None else (lag, LAG_KNOWN)
        found.append(Nuisance(s, r, LAG, *known))
    elif record.kind == BAROMETER:
        share = one.peak / max(float(run.pressure.values.max()), one.peak)
        found.append(Nuisance(s, r, SCALE, share, LEAK_SHARE))
        if record.clock is not None:
            found.append(Nuisance(s, r, BEHIND, 0.0, 0.5 * _usual_mean(one.steps)))
        found.append(Nuisance(s, r, LAG, LEAK_LAG, LEAK_SCALE))
    elif record.kind == ACCELERATION:
        found.append(_averaging(s, r, one.steps))
    if gauge or record.kind in (POSITION, ACCELERATION):
        found.append(Nuisance(s, r, ZERO, one.zero if gauge else 0.0, ZERO_SHARE * one.peak))
    if gauge:
        found.append(Nuisance(s, r, DRIFT, 0.0, DRIFT_SHARE * one.peak))
    return found


def _averaging(s: int, r: int, step: float) -> Nuisance:
    """Return the unknown time over which a logger with a given step averages."""
    wide = 0.5 * math.log(max(step, RINGS) / step)
    return Nuisance(s, r, AVERAGED, _usual_mean(step), max(AVERAGED_SCALE, wide))


def _usual_mean(step: float) -> float:
    """Return over how long a logger with a given step averages, more or less [s]."""
    return math.sqrt(step * max(step, RINGS))


def _rise_of(run: ResponseCurve, record: Record) -> float:
    """Return when a run reaches a tenth of its peak [s]; of an acceleration, of the speed's."""
    if record.kind == ACCELERATION:
        risen = run.outward[record.section].values
    elif record.kind in (PRESSURE, BAROMETER):
        risen = run.pressure.values
    else:
        risen = (run.travel if record.kind == POSITION else run.velocity).values
    least = 0.1 * float(risen.max())
    over = int(np.argmax(risen > least))
    if not over:
        return float(run.time[0])
    return float(np.interp(least, risen[over - 1 : over + 1], run.time[over - 1 : over + 1]))


def _streams(
    shots: Sequence[MeasuredShot], prepared: Sequence[tuple[PreparedRecord, ...]]
) -> list[Stream]:
    streams = []
    for shot, records in zip(shots, prepared, strict=True):
        for one in records:
            size = one.record.time.size
            kind = one.record.kind
            error = max(one.noise, MISSES.get(kind, MISS) * one.peak)
            few = kind not in (PRESSURE, BAROMETER) and size < 16
            streams.append(
                Stream(one.record.values, np.full(size, error), one.clipped, record=not few)
            )
        if shot.scalars:
            values, errors = (np.array([getattr(x, name) for x in shot.scalars])
                              for name in ("value", "error"))  # fmt: skip
            streams.append(Stream(values, errors, np.zeros(values.size, dtype=bool), record=False))
    return streams


def _starts(
    model: Responses, streams: Sequence[Stream], found: Sequence[Unknown],
    owners: Sequence[Owner], seed: int,
) -> list[Array]:  # fmt: skip
    """Return the best of some points of the priors, each set to the moment of its record's rise."""
    own = [score_of(unknown, owners) for unknown in found]
    scores = np.zeros((TRIED, model.size))
    points = draws.unit_points(seed, 0, len(own))[: TRIED - 1]
    scores[1:, own] = 0.8 * ndtri(points)
    problem = LeastSquares(model, streams)
    runs = model.runs(scores[:, : model.scores])
    costs = []
    for row, run in zip(scores, runs, strict=True):
        for k, nuisance in enumerate(model.nuisances):
            one = run[nuisance.shot]
            if nuisance.name != FIRED or one is None:
                continue
            prepared = model.subjects[nuisance.shot].prepared[nuisance.record]
            at = prepared.rise - _rise_of(one, prepared.record)
            row[model.scores + k] = np.clip((at - nuisance.middle) / nuisance.scale, -4.0, 4.0)
        pulls = problem.pulls(model.seen(run, row[model.scores :]))
        costs.append(float(np.sum(np.minimum(np.abs(pulls), 10.0)) + 0.5 * row @ row))
    return [scores[k] for k in np.argsort(costs)[:STARTS]]


def score_of(unknown: Unknown, owners: Sequence[Owner]) -> int:
    """Return the score that is an unknown's own: what all shots and all pins have in common."""
    mine = [k for k, (_, factor, _) in enumerate(owners) if unknown.path in factor.paths]
    return next((k for k in mine if owners[k][1].common), mine[0])


def _draws(model: Responses, top: Posterior, own: Array, widths: Array, seed: int) -> Array:
    """Return scores of the posterior, normal but for the sides of the unknowns, shape (k, n)."""
    spread = np.linalg.cholesky(top.covariance)
    points = ndtri(draws.unit_points(seed, 1, model.size))
    return stretched(top.scores + points @ spread.T, top.scores, own, widths)
