"""What becomes of each member: its run, its verdict, and the row that is kept of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np

from baypulse.case import cord_fields, geometry
from baypulse.case.model import Case
from baypulse.engine import ensemble
from baypulse.engine.ensemble import COLUMNS
from baypulse.engine.parameters import Parameters
from baypulse.members import draws
from baypulse.run.result import Check, Parachute, Verdict
from baypulse.run.verdict import Loads, classify, has_moved, limit_checks

TOLERANCE = 2e-6
"""Relative tolerance of a member's steps, set by the worst member of an ensemble and not by the
nominal run: see the test that holds it to 2e-4."""

COUNTED_TOLERANCE = 2e-5
"""That of members that are only counted. The worst of them errs by about 1e-3 in a time, and of
12,288 members of four shipped bays, at three charges each, none came out otherwise; the ends of a
search lie a hundredth apart."""

BY_MEMBER = ("rows", "verdict", "contents", "exceeded")
"""What outcomes have of every member, in their order, beside what was drawn."""

Runner = Callable[[np.ndarray, float, float], np.ndarray]
"""From members' records, end time and tolerance to their rows."""

IMPOSSIBLE = len(ensemble.STATUSES)
"""Status of a member that has no room for its contents or grains, and is not run."""

CORD = "cord and anchors"
"""What the limit of the cord's load is called, whichever link is the weakest of a member."""


@dataclass(frozen=True)
class Outcomes:
    """Members and what became of them.

    Attributes
    ----------
    values : dict
        What was drawn, by path; arrays of shape (members,) or (members, pins). Empty where members
        were only counted (:func:`baypulse.members.ensemble.run_values`).
    rows : ndarray, shape (members, len(COLUMNS))
        :data:`baypulse.engine.ensemble.COLUMNS`; NaN for what did not happen.
    verdict, contents : ndarray of int, shape (members,)
        Codes of :class:`~baypulse.run.result.Verdict` and :class:`~baypulse.run.result.Parachute`.
    exceeded : ndarray of bool, shape (members, n_limits)
        Which limits were exceeded, in the order of :func:`limit_names`.
    """

    values: Mapping[str, np.ndarray]
    rows: np.ndarray
    verdict: np.ndarray
    contents: np.ndarray
    exceeded: np.ndarray

    def column(self, name: str) -> np.ndarray:
        """Return one column of the rows, shape (members,)."""
        return self.rows[:, COLUMNS.index(name)]

    def some(self, which: np.ndarray | slice) -> Outcomes:
        """Return some of the members, without what was drawn.

        Parameters
        ----------
        which : ndarray of int, shape (n,), or slice
            Their places.
        """
        return Outcomes({}, *(getattr(self, name)[which] for name in BY_MEMBER))

    @property
    def opened(self) -> np.ndarray:
        """Whether the joint separated, shape (members,)."""
        return np.isin(self.verdict, [each.code for each in Verdict if each.separated])

    def table(self) -> np.ndarray:
        """Return everything as one structured array, shape (members,), to be kept on disk."""
        fields: dict[str, np.ndarray] = {}
        for path, drawn in self.values.items():
            if drawn.ndim == 1:
                fields[path] = drawn
            else:
                fields |= {f"{path}[{pin}]": drawn[:, pin] for pin in range(drawn.shape[1])}
        fields["verdict"] = self.verdict.astype(np.uint8)
        fields["parachute"] = self.contents.astype(np.uint8)
        bits = self.exceeded @ (1 << np.arange(self.exceeded.shape[1]))
        fields["limits_exceeded"] = bits.astype(np.uint8)
        whole = {"status": np.uint8, "steps": np.uint32, "pins_failed": np.uint8}
        for name in COLUMNS:
            values = self.column(name)
            fields[name] = np.nan_to_num(values).astype(whole[name]) if name in whole else values
        kinds = [(name, column.dtype) for name, column in fields.items()]
        table = np.empty(self.rows.shape[0], dtype=kinds)
        for name, column in fields.items():
            table[name] = column
        return table


def joined(parts: Sequence[Outcomes]) -> Outcomes:
    """Return members together, without what was drawn.

    Parameters
    ----------
    parts : sequence of Outcomes
        At least one, one behind the other.
    """
    return Outcomes({}, *(np.concatenate([getattr(p, name) for p in parts]) for name in BY_MEMBER))


def gathered(hands: Iterable[Outcomes], count: int, members: int) -> Outcomes:
    """Return members that were dealt out, in their order and without what was drawn.

    Parameters
    ----------
    hands : iterable of Outcomes
        Each is let go before the next is asked for.
    count : int
        How many hands there are, which got a member each in turn.
    members : int
        How many members there are.
    """
    whole: dict[str, np.ndarray] = {}
    for k, hand in enumerate(hands):
        for name in BY_MEMBER:
            own = getattr(hand, name)
            if name not in whole:
                whole[name] = np.empty((members, *own.shape[1:]), own.dtype)
            whole[name][k::count] = own
    return Outcomes({}, **whole)


def limit_names(case: Case) -> tuple[str, ...]:
    """Return what the limits of a case are called, in the order of the bits of a kept row."""
    none = np.full(1, np.nan)
    return tuple(check.name for check in _checks(case, Loads(none, none, none, none, none, CORD)))


def run_to_cord(
    case: Case, values: Mapping[str, np.ndarray], members: int, tolerance: float = TOLERANCE
) -> ensemble.Paused:
    """Run members to where their cord first acts, to go on from there with many other cords.

    Parameters
    ----------
    case, values, members, tolerance
        As for :func:`run_members`; the cord must be the one that acts earliest.
    """
    records, P = draws.records(case, values, members)
    possible = draws.possible(P, members)
    return ensemble.run_to_cord(records[possible], case.run.end_time, tolerance)


def run_members(
    case: Case,
    values: Mapping[str, np.ndarray],
    members: int,
    tolerance: float = TOLERANCE,
    paused: ensemble.Paused | None = None,
    run: Runner = ensemble.run_members,
) -> Outcomes:
    """Run members and judge them.

    Parameters
    ----------
    case : Case
        The case they scatter about.
    values : mapping
        From :func:`baypulse.members.draws.values`.
    members : int
        How many there are.
    tolerance : float
        Relative tolerance of a step.
    paused : baypulse.engine.ensemble.Paused, optional
        The same members, up to where their cord acts (:func:`run_to_cord`): a tenth of the cost.
    run : callable, optional
        What gives their rows in place of :func:`baypulse.engine.ensemble.run_members`.
    """
    drawn = draws.member_case(case, values)
    records, P = draws.records(drawn, {}, members)
    possible = draws.possible(P, members)
    rows = np.full((members, len(COLUMNS)), np.nan)
    if paused is None:
        rows[possible] = run(records[possible], case.run.end_time, tolerance)
    else:
        rows[possible] = ensemble.run_on(records[possible], paused, case.run.end_time, tolerance)
    rows[~possible, ensemble.RunColumn.STATUS] = IMPOSSIBLE
    exceeded = _exceeded(drawn, P, rows)
    status = rows[:, ensemble.RunColumn.STATUS]
    cleared = ~np.isnan(rows[:, ensemble.RunColumn.CLEAR_TIME])
    verdict = np.where(
        possible,
        classify(
            cleared,
            exceeded.any(axis=1),
            status == ensemble.FINISHED,
            has_moved(
                P,
                rows[:, ensemble.RunColumn.PINS_FAILED] > 0,
                rows[:, ensemble.RunColumn.GREATEST_TRAVEL],
            ),
        ),
        Verdict.UNDECIDED.code,
    )
    contents = np.full(members, Parachute.NOT_ASKED.code)
    if case.contents is not None and case.cord is not None:
        out = ~np.isnan(rows[:, ensemble.RunColumn.CONTENTS_TIME])
        contents = np.where(out, Parachute.COMES_OUT.code, Parachute.STAYS_IN.code)
    return Outcomes(values, rows, verdict, contents, exceeded)


def weakest_strength(drawn: Case) -> Any:
    """Return the strength of the weakest link of each member's cord [N].

    Parameters
    ----------
    drawn : Case
        Members with a cord (:func:`baypulse.members.draws.member_case`).
    """
    return reduce(np.minimum, [link for link, _ in cord_fields.cord_links(drawn)])


def _exceeded(drawn: Case, P: Parameters, rows: np.ndarray) -> np.ndarray:
    peak = rows[:, ensemble.RunColumn.PEAK_PRESSURE]
    strength = weakest_strength(drawn) if drawn.cord is not None else np.nan
    loads = Loads(
        peak_pressure=peak,
        hoop_stress=geometry.hoop_stress(drawn, peak),
        greatest_velocity=rows[:, ensemble.RunColumn.GREATEST_VELOCITY],
        cord_load=rows[:, ensemble.RunColumn.CORD_LOAD],
        cord_strength=strength,
        weakest_link=CORD,
    )
    checks = _checks(drawn, loads)
    # what did not happen is NaN, and exceeds nothing
    return np.stack([np.greater(c.value, c.limit) for c in checks], axis=1)


def _checks(case: Case, loads: Loads) -> list[Check]:
    """Return the checks of the members; a case without cord has none of it."""
    return [c for c in limit_checks(case, loads) if case.cord is not None or c.dimension != "force"]
