"""One case with many cords: the same shots, run once up to where a cord first acts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from baypulse.case import cord_fields, library, params
from baypulse.case.casefile.keys import number_at
from baypulse.case.casefile.spreads import default_spread
from baypulse.case.held_value import with_value
from baypulse.case.model import Brake, Case
from baypulse.engine import ensemble
from baypulse.engine.parameters import Parameters
from baypulse.members import draws
from baypulse.members.factors import LIBRARY, Factor, factors
from baypulse.members.outcomes import Outcomes, run_members, run_to_cord
from baypulse.members.pool import pool_of
from baypulse.studies.cord.result import CarriedLoad, Point, margin_held, spans

BATCH = 128
"""Members that a thread brings to the pause at a time."""

SPAN = 4.0
"""How many times longer and shorter than the case's cord is searched."""

TRIAL_STROKE = 0.08
"""Stroke of a stage of the brake that is tried where a case has none [m]; estimate."""

_CORDS = f"{LIBRARY}cords."


@dataclass(frozen=True)
class Members:
    """The members of one variant in which the bay separates.

    Attributes
    ----------
    outcomes : Outcomes
        Of all members.
    P : Parameters
        Of all members.
    opened : ndarray of bool
        In which the bay separates.
    loads, margins : ndarray
        Peak loads [N], 0 without any, and strengths over them; of those in which it separates.
    links : list of (str, ndarray)
        Name and strengths [N] of everything in series; of the same.
    """

    outcomes: Outcomes
    P: Parameters
    opened: np.ndarray
    loads: np.ndarray
    margins: np.ndarray
    links: list[tuple[str, np.ndarray]]

    @property
    def size(self) -> int:
        """In how many the bay separates."""
        return self.loads.size

    @property
    def load(self) -> CarriedLoad:
        """What they carry."""
        idle = float(np.mean(self.loads == 0.0))
        return CarriedLoad(spans(self.loads), margin_held(self.margins), idle)

    def column(self, name: str) -> np.ndarray:
        """Return a column of those in which the bay separates."""
        return self.outcomes.column(name)[self.opened]


class Bench:
    """Runs one case with many cords, by the same scores.

    Parameters
    ----------
    case : Case
        The case.
    seed : int
        Of the members.
    members : int
        How many, at most a block.
    workers : int
        Threads that bring the members to where the shortest cord acts.
    """

    def __init__(self, case: Case, seed: int, members: int, workers: int) -> None:
        assert case.cord is not None
        self.case, self.members = case, members
        self.names = [case.cord.type, *(n for n in library.names("cords") if n != case.cord.type)]
        self.shortest, self.longest = _span(case)
        self.first_pull = math.inf
        tried = with_trial(without_brakes(case), 1, 1.0)
        self._columns = _shared_columns([*(self.with_cord(name) for name in self.names), tried])
        width = 1 + max((c for columns in self._columns.values() for c in columns), default=-1)
        self._u = draws.unit_points(seed, 0, width)[:members]
        self._paused = self._pause(workers)

    def with_cord(self, name: str, length: float | None = None) -> Case:
        """Return the case with a cord of another type, or length, or both.

        What was measured of the case's own cord is kept with its own type alone.
        """
        case = self.case if length is None else with_value(self.case, "cord.length", length)
        assert case.cord is not None
        if name == case.cord.type:
            return case
        other = replace(case.cord, type=name, break_load=None, break_elongation=None)
        measured = {"cord.break_load", "cord.break_elongation"}
        kept = {path: spread for path, spread in case.spreads.items() if path not in measured}
        return replace(case, cord=other, spreads=kept)

    def values(self, case: Case) -> dict[str, np.ndarray]:
        """Return what the members of a variant are, by the scores that all share."""
        return draws.values(case, self._factors(case), self._u)

    def _factors(self, case: Case) -> list[Factor]:
        return [replace(each, columns=self._columns[_key(each)]) for each in factors(case)]

    def _pause(self, workers: int) -> ensemble.Paused:
        """Run the members to where the shortest cord acts."""
        drawn = self.values(self.case).get("cord.length")
        # a length that scatters may fall below all that are tried
        shortest = self.shortest if drawn is None else min(self.shortest, float(drawn.min()))
        short = self.with_cord(self.names[0], shortest)
        P = params.parameters(short)
        self.first_pull = float(min(P.pickup_travel, P.cord_travel, *P.brake_start[:1]))
        found = self._factors(short)

        def one(u: np.ndarray) -> ensemble.Paused:
            return run_to_cord(short, draws.values(short, found, u), u.shape[0])

        with pool_of(workers) as pool:
            parts = list(pool.map(one, np.array_split(self._u, -(-self.members // BATCH))))
        return ensemble.join_paused(parts)

    def run(self, case: Case) -> Members:
        """Run the members of a variant, on from the pause."""
        values = self.values(case)
        outcomes = run_members(case, values, self.members, paused=self._paused)
        drawn = draws.member_case(case, values)
        opened = ~np.isnan(outcomes.column("clear_time"))
        loads = np.nan_to_num(outcomes.column("cord_load")[opened])
        links = [
            (name, np.broadcast_to(strength, (self.members,))[opened])
            for strength, name in cord_fields.cord_links(drawn)
        ]
        weakest = np.min([strength for _, strength in links], axis=0)
        with np.errstate(divide="ignore"):
            margins = weakest / loads
        return Members(outcomes, params.parameters(drawn), opened, loads, margins, links)

    def point(self, name: str, length: float) -> Point:
        """Run one type at one length."""
        return Point(length, self.run(self.with_cord(name, length)).load)


def without_brakes(case: Case) -> Case:
    """Return a case whose cord has no bundles."""
    kept = {path: spread for path, spread in case.spreads.items() if not path.startswith("brakes[")}
    return replace(case, brakes=(), spreads=kept)


def with_trial(case: Case, stages: int, force: float) -> Case:
    """Return a case without a brake with one of so many stages of an estimated force [N]."""
    bundle = Brake(name="trial", count=stages, force=force, stroke=TRIAL_STROKE)
    spec = number_at("brakes[0].force")
    spread = default_spread(force, spec)
    assert spread is not None
    spreads = {**case.spreads, "brakes[0].force": spread}
    return replace(case, brakes=(bundle,), spreads=spreads)


def _span(case: Case) -> tuple[float, float]:
    """Return the shortest and the longest length to try [m], the case's between them."""
    assert case.cord is not None
    length = case.cord.length
    taut = float(cord_fields.taut_travel(case))
    held = float(cord_fields.brake_stages(case)[2].sum())
    # of the cord behind the contents there must be room for the bundles
    needed = cord_fields.earliest_taut(case) + held
    if case.contents is not None and case.cord.nose_share < 1.0:
        needed = max(needed, held / (1.0 - case.cord.nose_share))
    spec = number_at("cord.length")
    shortest = min(max(length - taut + needed, length / SPAN), length)
    return shortest, min(SPAN * length, spec.high)


def _key(factor: Factor) -> str:
    """Return what a factor is for cords of any type, measured or not."""
    if factor.name.startswith(_CORDS):
        return f"cord.{factor.name.rpartition('.')[2]}"
    return factor.name


def _shared_columns(cases: list[Case]) -> dict[str, tuple[int, ...]]:
    """Return the columns of the unit cube of everything that scatters in one of the cases."""
    found: dict[str, tuple[int, ...]] = {}
    for case in cases:
        used = 1 + max((c for columns in found.values() for c in columns), default=-1)
        for factor in factors(case):
            if _key(factor) not in found:
                found[_key(factor)] = tuple(range(used, used + len(factor.columns)))
                used += len(factor.columns)
    return found
