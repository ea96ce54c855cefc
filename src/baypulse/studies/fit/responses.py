"""What the model says that the gauges and the camera saw, for any values of the unknowns.

Everything that is not known is a standard normal score: what scatters in the case, through the
spreads' own quantiles, and what is not known of a record: when the shot was fired in it, the
gauge's lag, zero and drift. A gauge of first order with time constant tau shows y with
tau dy/dt + y = p. A logger's acceleration is the change of its section's speed over a time w, over
w; so what a slow one loses of a peak is lost in the model too. An electronics bay that leaks by k
to the bay and by c to the air outside, dp/dt = k (p_bay - p) - c p, shows the share k/(k + c) of
the bay's pressure with the lag 1/(k + c).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from scipy.signal import lfilter

from baypulse.case.model import Case
from baypulse.engine import course, ensemble
from baypulse.members import draws
from baypulse.members.factors import Factor, dimensions
from baypulse.members.pool import pool_of
from baypulse.observed import slide_distance
from baypulse.observed.measured import (
    ACCELERATION,
    AIRFRAME,
    BAROMETER,
    NOSE,
    POSITION,
    VELOCITY,
    MeasuredShot,
    Scalar,
)
from baypulse.studies.fit.prepared_records import PreparedRecord

Array = np.ndarray

TOLERANCE = 1e-6
"""Relative tolerance of a step: its errors are far below what a step of a slope changes."""

GRID = 1500
"""Points in time of the gauge's response."""

AFTER = 0.02
"""A run is as long as if the shot had been fired that much before its likely moment [s]."""

Owner = tuple[int | None, Factor, int]
"""Of a score: the shot that alone has it or None, its factor, and its column there."""

FIRED = "fired"
"""When the shot was fired, in the time of a record."""

LAG = "lag"
"""Time constant of a gauge."""

ZERO = "zero"
"""What a gauge shows at rest."""

DRIFT = "drift"
"""By how much that changes over a record."""

SCALE = "scale"
"""A barometer's share of the bay's pressure."""

AVERAGED = "averaged"
"""Time over which an acceleration is averaged."""

BEHIND = "behind"
"""By how much later a barometer's reading is written down than an acceleration of the same moment
by the same clock: a mean may be noted at its end, or at its middle."""

FACTORS = (LAG, SCALE, AVERAGED)
"""Those whose score adds to the logarithm."""


@dataclass(frozen=True)
class Nuisance:
    """Something that is not known of a record, by its score.

    Attributes
    ----------
    shot, record : int
        Whose.
    name : str
        One of the names above.
    middle, scale : float
        Value at score 0, and what one score adds; of :data:`FACTORS`, to the logarithm.
    """

    shot: int
    record: int
    name: str
    middle: float
    scale: float

    def value(self, score: float) -> float:
        """Return the value in SI."""
        if self.name in FACTORS:
            return self.middle * math.exp(self.scale * score)
        return self.middle + self.scale * score


class NotedColumn(NamedTuple):
    """Something that is seen of a run, and its rate, at the times of its rows; shape (n,)."""

    values: Array
    rates: Array


@dataclass(frozen=True)
class ResponseCurve:
    """One run as far as it is compared with records.

    Attributes
    ----------
    time : ndarray, shape (n,)
        Never falling; two rows may have the same time, on both sides of a jump [s].
    pressure, travel, velocity : NotedColumn
        Gauge [Pa], how far the sections are apart [m], and how fast they part [m/s].
    outward : dict of str to NotedColumn
        Of each section, its speed away from the other [m/s].
    """

    time: Array
    pressure: NotedColumn
    travel: NotedColumn
    velocity: NotedColumn
    outward: dict[str, NotedColumn]

    @classmethod
    def of(cls, rows: Array) -> ResponseCurve:
        """Return the curve of a course (:mod:`baypulse.engine.course`)."""
        column = rows.T
        nose = NotedColumn(column[course.NOSE_SPEED], column[course.NOSE_GROWTH])
        frame = NotedColumn(column[course.FRAME_SPEED], column[course.FRAME_GROWTH])
        parting = NotedColumn(nose.values - frame.values, nose.rates - frame.rates)
        return cls(
            column[course.TIME],
            NotedColumn(column[course.PRESSURE], column[course.PRESSURE_RATE]),
            NotedColumn(column[course.TRAVEL], parting.values),
            parting,
            {NOSE: nose, AIRFRAME: NotedColumn(-frame.values, -frame.rates)},
        )

    def at(self, quantity: NotedColumn, wanted: Array) -> Array:
        """Return one of its quantities at other times."""
        return between(self.time, quantity.values, quantity.rates, wanted)


@dataclass(frozen=True)
class Subject:
    """A shot as the model sees it.

    Attributes
    ----------
    shot : Shot
        What was measured.
    case : Case
        With this shot's charge.
    prepared : tuple of Prepared
        Its records.
    columns : ndarray of int, shape (dimensions,)
        Which score each column of the case's unit cube takes.
    end_time : float
        Of its runs [s].
    """

    shot: MeasuredShot
    case: Case
    prepared: tuple[PreparedRecord, ...]
    columns: Array
    end_time: float


@dataclass(frozen=True)
class Responses:
    """The model of everything that was measured.

    Attributes
    ----------
    subjects : tuple of Subject
        The shots.
    factors : tuple of Factor
        What scatters in the case.
    scores : int
        Scores of the case's values; those of the records come behind them.
    nuisances : tuple of Nuisance
        What is not known of the records.
    workers : int
        Threads; the answer does not depend on them.
    """

    subjects: tuple[Subject, ...]
    factors: tuple[Factor, ...]
    scores: int
    nuisances: tuple[Nuisance, ...]
    workers: int

    @property
    def size(self) -> int:
        """Number of all scores."""
        return self.scores + len(self.nuisances)

    def runs(self, scores: Array) -> list[tuple[Any, ...]]:
        """Run every shot at given scores.

        Parameters
        ----------
        scores : ndarray, shape (k, scores)
            Of the case's values.

        Returns
        -------
        list of tuple
            For each row, for each shot: a :class:`Curve`, or a row of the ensemble where a shot
            has no record; None for a shot that is impossible.
        """
        found = [self._one(subject, scores) for subject in self.subjects]
        return list(zip(*found, strict=True))

    def seen(self, runs: Sequence[Any], scores: Array) -> list[Array]:
        """Return what gauges and camera would have shown.

        Parameters
        ----------
        runs : sequence
            One row of :meth:`runs`.
        scores : ndarray, shape (len(nuisances),)
            Of what is not known of the records.

        Returns
        -------
        list of ndarray
            For each shot its records in order, then its single numbers as one array.
        """
        found: list[Array] = []
        for s, (subject, one) in enumerate(zip(self.subjects, runs, strict=True)):
            for r, prepared in enumerate(subject.prepared):
                clock = prepared.record.clock
                own = {
                    n.name: n.value(score)
                    for n, score in zip(self.nuisances, scores, strict=True)
                    if n.shot == s and (n.record == r or (n.record, n.name) == (clock, FIRED))
                }
                found.append(shown(prepared, one, own))
            if subject.shot.scalars:
                found.append(_numbers(subject, one))
        return found

    def _one(self, subject: Subject, scores: Array) -> list[Any]:
        k = scores.shape[0]
        columns = np.where(subject.columns < 0, 0, subject.columns)
        z = np.where(subject.columns < 0, 0.0, scores[:, columns])
        values = draws.from_scores(subject.case, self.factors, z)
        records, P = draws.records(subject.case, values, k)
        possible = draws.possible(P, k)
        found: list[Any] = [None] * k
        ran = self._fired(subject, records[possible])
        for i, one in zip(np.flatnonzero(possible), ran, strict=True):
            found[i] = one
        return found

    def _fired(self, subject: Subject, records: Array) -> list[Any]:
        end = subject.end_time
        if not subject.prepared:
            return list(ensemble.run_members(records, end, TOLERANCE))

        def curves(some: Array) -> list[ResponseCurve]:
            return [*map(ResponseCurve.of, ensemble.follow_members(some, end, TOLERANCE))]

        threads = min(self.workers, len(records))
        if threads <= 1:
            return curves(records)
        with pool_of(threads) as pool:
            parts = pool.map(curves, np.array_split(records, threads))
            return [one for part in parts for one in part]


def shown(prepared: PreparedRecord, one: ResponseCurve | None, own: dict[str, float]) -> Array:
    """Return what a record would show of a run, shape (n,); NaN where there is no run."""
    record = prepared.record
    if one is None:
        return np.full(record.time.size, np.nan)
    fired = own[FIRED] if record.fired is None else record.fired
    time = record.time - fired - own.get(BEHIND, 0.0)
    if record.kind == POSITION:
        return np.asarray(own[ZERO] + one.at(one.travel, time))
    if record.kind == VELOCITY:
        return one.at(one.velocity, time)
    if record.kind == ACCELERATION:
        return np.asarray(own[ZERO] + averaged(one, record.section, time, own[AVERAGED]))
    line = own[ZERO] + own[DRIFT] * (record.time - record.time[0]) / np.ptp(record.time)
    end = float(time[-1])
    if end <= 0.0:
        return line
    grid = np.linspace(0.0, end, GRID)
    shown = lagged(one.at(one.pressure, grid), grid[1], own[LAG])
    share = own[SCALE] if record.kind == BAROMETER else 1.0
    return np.asarray(line + share * np.interp(time, grid, shown, left=0.0))


def averaged(one: ResponseCurve, section: str, time: Array, width: float) -> Array:
    """Return the acceleration of a section away from the other, as a logger averages it [m/s^2].

    Parameters
    ----------
    one : Curve
        A run.
    section : str
        Whose.
    time : ndarray, shape (n,)
        Of the readings, after firing [s].
    width : float
        Time over which a reading is averaged, about its own [s].
    """
    speed = one.outward[section]
    ends = (one.at(speed, time + side * width) for side in (0.5, -0.5))
    return np.asarray(np.subtract(*ends) / width)


def between(time: Array, values: Array, rates: Array, wanted: Array) -> Array:
    """Return values between the points of a run, by cubics through values and rates; level outside.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Never falling; two points may have the same time, on both sides of a jump.
    values, rates : ndarray, shape (n,)
        Values and what they change by in a second.
    wanted : ndarray, shape (m,)
        Times.
    """
    inside = np.clip(wanted, time[0], time[-1])
    k = np.clip(np.searchsorted(time, inside, side="right") - 1, 0, time.size - 2)
    width = time[k + 1] - time[k]
    safe = np.where(width > 0.0, width, 1.0)
    s = np.where(width > 0.0, (inside - time[k]) / safe, 0.0)
    left = values[k] * (1.0 + 2.0 * s) + width * rates[k] * s
    right = values[k + 1] * (3.0 - 2.0 * s) - width * rates[k + 1] * (1.0 - s)
    return np.asarray(left * (1.0 - s) ** 2 + right * s**2)


def lagged(values: Array, step: float, lag: float) -> Array:
    """Return what a gauge of first order shows of evenly spaced values that begin at rest.

    Exact for values that are straight between the points: with a = exp(-h/tau),
    y' = a y + (1 - a) x + (x' - x) (1 - (1 - a) tau/h).

    Parameters
    ----------
    values : ndarray, shape (n,)
        What is there.
    step, lag : float
        h and tau [s].
    """
    fade = math.exp(-step / lag)
    new = 1.0 - (1.0 - fade) * lag / step
    above = values - values[0]
    return np.asarray(values[0] + lfilter([new, 1.0 - fade - new], [1.0, -fade], above))


def _numbers(subject: Subject, one: Any) -> Array:
    """Return what the model says of the single numbers of a shot, shape (n,)."""
    if one is None:
        return np.full(len(subject.shot.scalars), np.nan)
    return np.array([_number(subject, one, scalar) for scalar in subject.shot.scalars])


def _number(subject: Subject, row: Array, scalar: Scalar) -> float:
    """Return one number; of a joint that does not separate the limit of one that hardly does."""
    if scalar.word == "peak":
        return float(row[ensemble.RunColumn.PEAK_PRESSURE])
    if scalar.word == "velocity":
        return float(np.nan_to_num(row[ensemble.RunColumn.CLEAR_VELOCITY]))
    if scalar.word == "time":
        return float(np.nan_to_num(row[ensemble.RunColumn.CLEAR_TIME], nan=subject.end_time))
    speed = float(np.nan_to_num(row[ensemble.RunColumn.GREATEST_VELOCITY]))
    if speed == 0.0:
        return float(row[ensemble.RunColumn.GREATEST_TRAVEL])
    return slide_distance.without_cord(subject.case, speed)


def subjects_of(
    case: Case,
    factors: Sequence[Factor],
    shared: Sequence[bool],
    shots: Sequence[tuple[MeasuredShot, tuple[PreparedRecord, ...], float]],
) -> tuple[list[Subject], list[Owner]]:
    """Give every shot its scores: those of shared factors once, the others once a shot.

    Parameters
    ----------
    case : Case
        With the priors.
    factors : sequence of Factor
        What scatters.
    shared : sequence of bool
        Of each, whether it is the same in all shots.
    shots : sequence
        Shot, its records, and the end of its runs [s].

    Returns
    -------
    subjects : list of Subject
        The shots.
    owners : list of Owner
        Of each score: the shot that alone has it or None, its factor, and its column there.
    """
    owners: list[Owner] = []
    columns = np.full((len(shots), dimensions(list(factors))), -1)
    for factor, common in zip(factors, shared, strict=True):
        for column in factor.columns:
            if common:
                columns[:, column] = len(owners)
                owners.append((None, factor, column))
                continue
            for s in range(len(shots)):
                columns[s, column] = len(owners)
                owners.append((s, factor, column))
    found = []
    for (shot, prepared, end), row in zip(shots, columns, strict=True):
        own = case
        if shot.mass is not None and case.powder is not None:
            own = _with_charge(case, shot.mass)
        found.append(Subject(shot, own, prepared, row, end))
    return found, owners


def _with_charge(case: Case, mass: float) -> Case:
    """Return the case with another charge, weighed as well in proportion."""
    assert case.powder is not None
    path, factor = "powder.mass", mass / case.powder.mass
    spreads = dict(case.spreads)
    old = spreads.get(path)
    if old is not None and old.deviation is not None:
        spreads[path] = replace(old, deviation=factor * old.deviation)
    return replace(case, powder=replace(case.powder, mass=mass), spreads=spreads)
