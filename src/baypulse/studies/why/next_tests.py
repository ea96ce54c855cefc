"""Which test to make next: what each is expected to tell about the cause, and would show."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from baypulse.case import quantities
from baypulse.members.blocks import Progress
from baypulse.members.charges import Tally
from baypulse.members.pool import pool_of
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.sighting_odds import Traces, likelihood, traces
from baypulse.observed.sightings import SightingKind, answered, kinds
from baypulse.studies.why.information import LEAST_ESS, Gain, Predicted, entropy, gain
from baypulse.studies.why.next_test_list import LIVE, NextTest, Reading, next_test_list
from baypulse.studies.why.next_test_readings import read
from baypulse.studies.why.next_test_shots import Chosen, base_values, draw_members, fire, share_hard
from baypulse.studies.why.result import Diagnosis

Array = np.ndarray

BINS = 12
"""Into which a number is put that is read off the bay."""

SHOT_BINS = 4
"""Into which a number is put that is read off a shot, beside what became of it."""

LEADING = 4
"""Causes under which the outcome of a test is told."""

COVERED = 0.9
"""Chance that the causes have together whose members are fired again; of the rest nothing is said,
as if it did what all others do together."""

SHOTS = 240
"""Members fired again for one test."""

FEWEST = 8
"""The fewest of one cause or pair."""

MOST_HARD = 0.05
"""Share of members that exceed a limit from which a shot is not recommended."""

BESIDE = 2
"""Live tests that are run at a time: while members of one are drawn, those of another run."""

HALF = 0.5
"""An inert test is recommended unless a shot tells more than twice as much."""

WORTH = 0.1
"""Gain [bit] below which a test tells next to nothing."""

NOTHING = "none"
"""Outcome of a shot that leaves nothing to measure."""


@dataclass(frozen=True)
class Outlook:
    """What a test would show under one cause.

    Attributes
    ----------
    name : str
        Of the cause or pair.
    chances : tuple of float
        Of each outcome.
    known : bool
        Whether there are members enough to tell; else the chances are those of all other causes.
    numbers : tuple of float or None
        What nine of ten readings lie between, and the median in the middle (5, 50, 95 %) [SI].
    """

    name: str
    chances: tuple[float, ...]
    known: bool
    numbers: tuple[float, float, float] | None


@dataclass(frozen=True)
class Prospect:
    """One test, and what it is expected to tell.

    Attributes
    ----------
    test : NextTest
        Which.
    gain : Gain
        [bit].
    outcomes : tuple of str
        In words.
    outlooks : tuple of Outlook
        Under each leading cause.
    hard : float
        Chance that one more shot exceeds a limit; NaN for other tests.
    """

    test: NextTest
    gain: Gain
    outcomes: tuple[str, ...]
    outlooks: tuple[Outlook, ...]
    hard: float

    @property
    def risky(self) -> bool:
        """Whether a shot exceeds a limit too often to be recommended."""
        return self.hard > MOST_HARD


@dataclass(frozen=True)
class NextTests:
    """Every test that makes sense, the most telling first.

    Attributes
    ----------
    tests : tuple of Prospect
        By gain.
    recommended : Prospect or None
        What to do next: the most telling inert test, unless the most telling of all tells more
        than twice as much. None where nothing tells anything.
    entropy : float
        Of the causes before any test [bit].
    covered : float
        Chance of the causes whose members were fired again.
    shots : int
        Members fired again for one test.
    unforeseen : float
        Chance of the causes that have too few members to foresee a test.
    """

    tests: tuple[Prospect, ...]
    recommended: Prospect | None
    entropy: float
    covered: float
    shots: int
    unforeseen: float

    @property
    def first(self) -> tuple[Prospect, ...]:
        """Inert tests that are worth it, the most telling first."""
        best = max((each.gain.bits for each in self.tests), default=0.0)
        least = max(WORTH, 0.1 * best)
        return tuple(each for each in self.tests if each.test.inert and each.gain.bits >= least)


def not_yet(diagnosis: Diagnosis) -> NextTests:
    """Return what is known of the next tests before any of them is looked at.

    Parameters
    ----------
    diagnosis : Diagnosis
        From :func:`baypulse.studies.why.compute.why`.
    """
    return _Members(diagnosis).told(())


def next_tests(
    diagnosis: Diagnosis,
    *,
    workers: int = 1,
    tests: Sequence[NextTest] | None = None,
    progress: Progress | None = None,
) -> NextTests:
    """Find which test tells most about the cause of a failed shot.

    An inert test reads a number of the bay, with its error; a shot runs the members again as they
    have the cause, with what the test changes. A cause is taken to be at work still. The gain is
    the mutual information of the cause (one, a pair, or none of these) and the outcome. Under none
    of these every outcome of a look or a shot is equally probable, as for the diagnosis; a number
    of the bay is taken to be what it is under all causes together, since how far it may lie off
    is a matter of the bins alone.

    Parameters
    ----------
    diagnosis : Diagnosis
        From :func:`baypulse.studies.why.compute.why`.
    workers : int
        Threads; the answer does not depend on them.
    tests : sequence of NextTest, optional
        Those of the list unless given.
    progress : callable, optional
        Called with members fired again, and how many there are at most.
    """
    listed = next_test_list() if tests is None else tests
    members = _Members(diagnosis)
    offered = [
        test for test in listed
        if test.offered(diagnosis.case, diagnosis.sightings)
        and (test.danger != LIVE or members.kept)
    ]  # fmt: skip
    live = [test for test in offered if test.danger == LIVE]
    tally = Tally(progress, members.shots * len(live))
    shown = {}
    with pool_of(BESIDE) as pool:
        fired = {test.name: pool.submit(members.fired, test, workers, tally.add) for test in live}
        # while members run, the bay is read
        for test in sorted(offered, key=lambda test: test.name in fired):
            if test.name in fired:
                shown[test.name] = members.shot(test, fired[test.name].result())
            elif test.reading is None:
                shown[test.name] = members.look(test)
            else:
                shown[test.name] = members.number(test.reading)
    found = [members.prospect(test, shown[test.name]) for test in offered]
    found.sort(key=lambda each: (-each.gain.bits, each.test.minutes))
    return members.told(found)


def recommended(tests: Sequence[Prospect]) -> Prospect | None:
    """Return what to do next.

    Parameters
    ----------
    tests : sequence of Prospect
        All of them.

    Returns
    -------
    Prospect or None
        The most telling inert test if it tells at least half as much as any other that may be
        recommended; else that other. None where none is worth it. A shot that exceeds a limit too
        often is never recommended.
    """
    allowed = [each for each in tests if not each.risky]
    best = max(allowed, key=lambda each: each.gain.bits, default=None)
    if best is None or best.gain.bits < WORTH:
        return None
    inert = [each for each in allowed if each.test.inert]
    calm = max(inert, key=lambda each: each.gain.bits, default=best)
    return calm if calm.gain.bits >= HALF * best.gain.bits else best


class _Shown(NamedTuple):
    """What a test would show: outcomes under each cause, their words, numbers, share too hard."""

    predicted: list[Predicted]
    outcomes: list[str]
    numbers: list[tuple[float, float, float] | None] | None
    hard: float


class _Members:
    """Members of all causes, and those of them that are fired again: the same for every test."""

    def __init__(self, diagnosis: Diagnosis) -> None:
        self.diagnosis, self.findings = diagnosis, diagnosis.ranked
        names = [each.name for each in self.findings]
        self.weighted = [diagnosis.ensembles[name] for name in names]
        self.sizes = [each.ensemble.members for each in self.weighted]
        shares = np.array([diagnosis.shares[name] for name in names])
        self.shares = shares
        before = np.cumsum(shares) - shares
        able = np.array([bool(each.weights.any()) for each in self.weighted])
        self.kept = np.flatnonzero((before < COVERED * shares.sum()) & able).tolist()
        self.covered = math.fsum(shares[self.kept])
        rng = np.random.default_rng(diagnosis.seed)
        self.chosen = [
            draw_members(
                self.weighted[k].ensemble, self.weighted[k].weights,
                max(round(SHOTS * float(shares[k]) / self.covered), FEWEST), rng.random(),
            )
            for k in self.kept
        ]  # fmt: skip

    @property
    def shots(self) -> int:
        """Members that are fired again for one test."""
        return sum(each.index.size for each in self.chosen)

    @cached_property
    def base(self) -> dict[str, Array]:
        """What the members have without any cause."""
        return base_values(self.diagnosis)

    @cached_property
    def seen(self) -> Traces:
        """What the members left to be seen."""
        return traces(self.diagnosis.case, [each.ensemble for each in self.weighted])

    def told(self, tests: Sequence[Prospect]) -> NextTests:
        """Return what is known with some tests, the most telling first."""
        few = np.array([each.ess < LEAST_ESS for each in self.findings])
        none = self.diagnosis.none.share
        return NextTests(
            tests=tuple(tests),
            recommended=recommended(tests),
            entropy=float(entropy(np.append(self.shares, none))),
            covered=self.covered,
            shots=self.shots,
            unforeseen=float(self.shares[few].sum()),
        )

    def prospect(self, test: NextTest, shown: _Shown) -> Prospect:
        """Return what a test is expected to tell, from what it would show."""
        none = self.diagnosis.none.share
        told, p = gain(self.shares, shown.predicted, none, flat=test.reading is None)
        outlooks = tuple(
            Outlook(
                finding.name,
                tuple(p[k].tolist()),
                shown.predicted[k].ess >= LEAST_ESS,
                shown.numbers[k] if shown.numbers else None,
            )
            for k, finding in enumerate(self.findings[:LEADING])
        )
        return Prospect(test, told, tuple(shown.outcomes), outlooks, shown.hard)

    def fired(
        self, test: NextTest, workers: int, tell: Callable[[int], None]
    ) -> list[CauseEnsemble]:
        """Fire members again as a live test changes them."""
        return fire(self.diagnosis, test, self.chosen, self.base, workers, tell)

    def number(self, reading: Reading) -> _Shown:
        """Return what a number of the bay would show."""
        values = [read(reading.name, each.ensemble) for each in self.weighted]
        edges = _edges(reading, values, [each.weights for each in self.weighted], self.shares, BINS)
        predicted = [
            Predicted(each.weights, _binned(reading, value, edges))
            if each.weights.any() else _empty(edges.size + 1)
            for value, each in zip(values, self.weighted, strict=True)
        ]  # fmt: skip
        numbers = [
            _between(reading, value, each.weights)
            for value, each in zip(values[:LEADING], self.weighted, strict=False)
        ]
        return _Shown(predicted, _bin_words(edges, reading.dimension), numbers, math.nan)

    def look(self, test: NextTest) -> _Shown:
        """Return what a look would show."""
        kind = kinds()[test.looks]
        tables = _split(_answers(kind, self.seen), self.sizes)
        predicted = [
            Predicted(each.weights, table) if each.weights.any() else _empty(len(kind.answers))
            for each, table in zip(self.weighted, tables, strict=True)
        ]
        return _Shown(predicted, list(kind.answers), None, math.nan)

    def shot(self, test: NextTest, fired: Sequence[CauseEnsemble]) -> _Shown:
        """Return what a live test would show, from the members that were fired again."""
        seen = traces(self.diagnosis.case, fired)
        tables, words = _shot_outcomes(test, seen, self.chosen, self.shares[self.kept])
        predicted = [_empty(len(words)) for _ in self.weighted]
        hard = 0.0
        for k, members, chosen, table in zip(self.kept, fired, self.chosen, tables, strict=True):
            weights = chosen.weights * members.usable
            hard += float(self.shares[k]) * share_hard(members, chosen.weights)
            if weights.any():
                predicted[k] = Predicted(weights / weights.sum(), table)
        return _Shown(predicted, words, None, hard / self.covered)


def _empty(outcomes: int) -> Predicted:
    return Predicted(np.zeros(0), np.zeros((0, outcomes)))


def _split(table: Array, sizes: Sequence[int]) -> list[Array]:
    """Return the rows of each ensemble."""
    return np.split(table, np.cumsum(sizes)[:-1])


def _answers(kind: SightingKind, seen: Traces) -> Array:
    """Return the chance that each answer is reported of each member, shape (members, answers)."""
    found = [likelihood(answered(kind, k), seen) for k in range(len(kind.answers))]
    return np.stack(found, axis=1)


def _shot_outcomes(
    test: NextTest, seen: Traces, chosen: Sequence[Chosen], shares: Array
) -> tuple[list[Array], list[str]]:
    """Return what is reported of each member of each ensemble, all kinds together."""
    sizes = [each.index.size for each in chosen]
    table, words = np.ones((sum(sizes), 1)), [""]
    for kind in (seen.kinds[name] for name in test.sees if name in seen.kinds):
        if kind.answers:
            own, names = _answers(kind, seen), list(kind.answers)
        else:
            own, names = _measured(kind, seen, chosen, shares)
        table = (table[:, :, None] * own[:, None, :]).reshape(table.shape[0], -1)
        words = [f"{before}, {each}".removeprefix(", ") for before in words for each in names]
    return _split(table, sizes), words


def _measured(
    kind: SightingKind, seen: Traces, chosen: Sequence[Chosen], shares: Array
) -> tuple[Array, list[str]]:
    """Return the chance of each bin of a number that a shot gives, or of none."""
    value = seen.numbers[kind.name]
    there = np.isfinite(value)
    reading = Reading(kind.name, kind.error, kind.floor, kind.low, kind.high)
    sizes = [each.index.size for each in chosen]
    known = _split(there, sizes)
    edges = _edges(
        reading,
        [each[is_there] for each, is_there in zip(_split(value, sizes), known, strict=True)],
        [each.weights[is_there] for each, is_there in zip(chosen, known, strict=True)],
        shares,
        SHOT_BINS,
    )
    table = np.zeros((value.size, edges.size + 2))
    table[there, :-1] = _binned(reading, value[there], edges)
    table[~there, -1] = 1.0
    return table, [*_bin_words(edges, kind.dimension), NOTHING]


def _edges(
    reading: Reading, values: Sequence[Array], weights: Sequence[Array], shares: Array, bins: int
) -> Array:
    """Return inner edges of bins that are about as often hit, rare causes half counted in."""
    able = np.array([bool(each.any()) for each in weights])
    if not able.any():
        return np.zeros(0)
    part = shares / shares[able].sum()
    mass = np.where(able, 0.5 * part + 0.5 / able.sum(), 0.0)
    value = np.clip(np.concatenate(list(values)), reading.low, reading.high)
    weight = np.concatenate([m * w for m, w in zip(mass, weights, strict=True)])
    order = np.argsort(value)
    reached = np.cumsum(weight[order]) / weight.sum()
    at = np.searchsorted(reached, (np.arange(bins) + 0.5) / bins)
    spots = np.unique(value[order][np.minimum(at, value.size - 1)])
    # a bin that no reading can tell from the next is none
    kept: list[float] = []
    for low, high in pairwise(spots.tolist()):
        cut = 0.5 * (low + high)
        if not kept or cut - kept[-1] > 0.5 * _error(reading, cut):
            kept.append(cut)
    return np.array(kept)


def _error(reading: Reading, value: Array | float) -> Array:
    return np.asarray(np.hypot(reading.error * np.asarray(value), reading.floor))


def _binned(reading: Reading, value: Array, edges: Array) -> Array:
    """Return the chance that a reading falls into each bin, shape (members, edges + 1)."""
    true = np.clip(value, reading.low, reading.high)
    below = ndtr((edges - true[:, None]) / _error(reading, true)[:, None])
    ends = np.ones((true.size, 1))
    return np.diff(np.concatenate((0.0 * ends, below, ends), axis=1), axis=1)


def _bin_words(edges: Array, dimension: str) -> list[str]:
    shown = [quantities.show(float(edge), dimension) for edge in edges]
    if not shown:
        return ["any"]
    middle = [f"{low} to {high}" for low, high in pairwise(shown)]
    return [f"below {shown[0]}", *middle, f"above {shown[-1]}"]


def _between(reading: Reading, value: Array, weights: Array) -> tuple[float, float, float] | None:
    """Return between what nine of ten readings lie, and their median."""
    if not weights.any():
        return None
    true = np.clip(value, reading.low, reading.high)
    size = _error(reading, true)
    grid = np.unique(np.concatenate([true + z * size for z in np.linspace(-3.0, 3.0, 25)]))
    grid = grid[:: max(grid.size // 400, 1)]
    reached = weights @ ndtr((grid - true[:, None]) / size[:, None])
    low, middle, high = np.clip(np.interp((0.05, 0.5, 0.95), reached, grid), reading.low,
                                reading.high).tolist()  # fmt: skip
    return low, middle, high
