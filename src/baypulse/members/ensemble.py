"""Ensembles of a case: the plan that makes its blocks, and members made on the spot."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Any

import numpy as np

from baypulse import __version__
from baypulse.case.model import Case
from baypulse.engine import ensemble as engine
from baypulse.members import draws
from baypulse.members.factors import Factor, dimensions, factors
from baypulse.members.kept_rows import kept_rows
from baypulse.members.outcomes import (
    COUNTED_TOLERANCE,
    TOLERANCE,
    Outcomes,
    Runner,
    gathered,
    run_members,
)
from baypulse.members.pool import pool_of
from baypulse.physics.core_folder import CORE

MOST_BATCH = 256
"""Members that a thread runs at a time, at most, where the answer is not kept on disk: every thread
should have a batch."""

LEAST_BATCH = 32
"""Members that a thread makes ready, runs and judges by itself, at least: to make a batch ready
takes some milliseconds of Python. Of fewer only the runs are shared by the threads."""


@dataclass(frozen=True)
class Ensemble:
    """A case with its scatter, a seed, and a number of members: a plan for the block runner.

    Attributes
    ----------
    case : Case
        What scatters.
    members : int
        How many.
    seed : int
        The same seed gives the same members, whatever runs them.
    sampling : str
        One of :data:`baypulse.members.draws.SAMPLINGS`.
    """

    case: Case
    members: int
    seed: int = 1
    sampling: str = "sobol"

    @property
    def block_size(self) -> int:
        """Members of a block."""
        return draws.BLOCK

    @cached_property
    def factors(self) -> list[Factor]:
        """What scatters."""
        return factors(self.case)

    @cached_property
    def dimensions(self) -> int:
        """Columns of the unit cube."""
        return dimensions(self.factors)

    @property
    def identity(self) -> dict[str, Any]:
        """All that decides the members, ready for JSON."""
        return {
            "study": "scatter", "case": self.case.name, "case_sha256": signature(self.case),
            "members": self.members, "seed": self.seed, "sampling": self.sampling,
            "tolerance": TOLERANCE, "baypulse": __version__, "core": CORE,
        }  # fmt: skip

    def points(self, block: int) -> np.ndarray:
        """Return the points of a block in the unit cube, the last block cut to the members."""
        size = min(draws.BLOCK, self.members - block * draws.BLOCK)
        return draws.unit_points(self.seed, block, self.dimensions, self.sampling)[:size]

    def __call__(self, block: int) -> np.ndarray:
        """Run a block; return one row a member, as it is kept on disk."""
        u = self.points(block)
        values = draws.values(self.case, self.factors, u)
        return run_members(self.case, values, u.shape[0]).table()


def signature(case: Case) -> str:
    """Return the SHA-256 of everything in a case that decides its runs.

    Notes and remarks, and how a value was typed, do not.
    """
    plain = replace(case, name="", title="", note="", provenance={}, source_text="", ascent=None)
    return hashlib.sha256(repr(plain).encode()).hexdigest()


def run_values(
    case: Case,
    points: np.ndarray,
    draw: Callable[[np.ndarray], dict[str, np.ndarray]],
    workers: int,
    tell: Callable[[int], object] = lambda members: None,
    until: engine.Until = engine.Until.END,
) -> Outcomes:
    """Run members that are counted, at given points, on several threads.

    Those that were run before are looked up, where rows are kept. What was drawn is not part of the
    outcomes: studies hold those of many charges at a time.

    Parameters
    ----------
    case : Case
        The case they scatter about.
    points : ndarray, shape (members, dimensions)
        One a member.
    draw : callable
        From points to values by path.
    workers : int
        Threads; the answer does not depend on them.
    tell : callable
        Called with how many more members are done; what it raises ends the runs.
    until : Until
        How far they are run. What happens after that stays unknown.
    """
    kept = kept_rows()
    so_far = partial(engine.run_members, until=until)
    # a study's own thread needs no other to run in; the main one hears of Ctrl-C while it waits
    within = workers == 1 and threading.current_thread() is not threading.main_thread()

    def run(records: np.ndarray, end_time: float, tolerance: float) -> np.ndarray:
        if within or records.shape[0] == 1:
            return so_far(records, end_time, tolerance)
        parts = [records[k::workers].copy() for k in range(min(workers, records.shape[0]))]
        rows = np.empty((records.shape[0], len(engine.COLUMNS)))
        made = pool.map(lambda part: so_far(part, end_time, tolerance), parts)
        for k, part in enumerate(made):
            rows[k::workers] = part
        return rows

    def one(part: np.ndarray, run: Runner) -> Outcomes:
        known = run if kept is None else partial(kept.run_members, until=until, run=run)
        found = run_members(case, draw(part), part.shape[0], COUNTED_TOLERANCE, run=known)
        return replace(found, values={})

    def told(hand: Outcomes) -> Outcomes:
        tell(hand.verdict.size)
        return hand

    with pool_of(workers) as pool:
        if points.shape[0] < workers * LEAST_BATCH:
            return told(one(points, run))
        # dealt out: members that stand side by side are alike, and so is what they cost
        count = -(-points.shape[0] // min(-(-points.shape[0] // workers), MOST_BATCH))
        hands = [points[k::count] for k in range(count)]
        found = pool.map(lambda hand: one(hand, so_far), hands)
        return gathered(map(told, found), count, points.shape[0])
