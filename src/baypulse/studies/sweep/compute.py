"""A case over one or two of its inputs, with or without its scatter."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import NamedTuple

import numpy as np

from baypulse.case import quantities
from baypulse.case.casefile import consistency
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import Outcomes, run_members
from baypulse.members.parts import StudyError
from baypulse.members.pool import pool_of
from baypulse.members.quantities import QuantityCurve, levels
from baypulse.run.result import VERDICTS, Verdict
from baypulse.studies.sweep.axes import axis
from baypulse.studies.sweep.result import Axis, Sweep

QUANTITIES = (
    ("peak_pressure", "peak pressure", "gauge pressure"),
    ("greatest_velocity", "greatest separation velocity", "velocity"),
    ("cord_load", "peak load of the cord", "force"),
)

SHARES = (0.05, 0.5, 0.95)
"""Shares of the members at the low, the middle and the high value of a quantity."""


def sweep(
    case: Case,
    over: Sequence[Axis | str],
    *,
    members: int = 1,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Sweep:
    """Run a case at every point of one or two axes.

    Parameters
    ----------
    case : Case
        The case. An input that is swept does not scatter.
    over : sequence of Axis or str
        One or two, such as ``"powder.mass=0.4 g..1.2 g:25"``
        (:func:`baypulse.studies.sweep.axes.axis`).
    members : int
        Members at each point; with 1 nothing scatters. The same scores are drawn at every point
        with the same number of pins, so that a curve is smooth though each point is a sample.
    seed : int
        Of the members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with points done and in all.

    Raises
    ------
    StudyError
        If a point of the axes is no possible case, or nothing is left to scatter.
    """
    axes = [axis(case, one, len(over)) if isinstance(one, str) else one for one in over]
    if len(axes) not in (1, 2) or len({one.path for one in axes}) < len(axes):
        raise StudyError("one or two different inputs can be swept")
    points = list(product(*(one.values for one in axes)))
    cases = [_held(case, axes, point) for point in points]
    if members > 1 and not Ensemble(cases[0], members, seed).factors:
        raise StudyError("nothing scatters beside what is swept; leave out --simulated-shots")
    found: list[_Point] = []
    with pool_of(workers) as pool:
        for point in pool.map(lambda held: _point(held, members, seed), cases):
            found.append(point)
            if progress is not None:
                progress(len(found), len(points))
    shape = tuple(one.values.size for one in axes)
    chances = _chances(found, members, shape) if members > 1 else []
    limits = levels(case)
    swept = [
        _quantity(k, found, members, shape, limits.get(name, ()))
        for k, (name, _, _) in enumerate(QUANTITIES)
    ]
    return Sweep(
        case=case,
        axes=tuple(axes),
        members=members,
        seed=seed,
        verdict=np.array([each.verdicts.argmax() for each in found]).reshape(shape),
        quantities=tuple(chances + [q for q in swept if np.isfinite(q.middle).any()]),
        warnings=tuple(draws.truncations(case)) if members > 1 else (),
    )


def _held(case: Case, axes: Sequence[Axis], point: tuple[float, ...]) -> Case:
    """Return the case at a point of the axes, or refuse what is impossible there."""
    held = case
    for one, value in zip(axes, point, strict=True):
        held = with_value(held, one.path, value)
    for key, sentence in consistency.problems(held):
        places = " and ".join(
            f"{one.path} = {quantities.show(value, one.dimension)}"
            for one, value in zip(axes, point, strict=True)
        )
        raise StudyError(f"at {places}: {key}: {sentence}; choose a narrower range")
    return held


class _Point(NamedTuple):
    """What is kept of the members of a point, of which a map has hundreds.

    Attributes
    ----------
    verdicts : ndarray of int, shape (len(VERDICTS),)
        Members of each.
    quantiles : ndarray, shape (len(QUANTITIES), len(SHARES))
        NaN where no member has the quantity.
    """

    verdicts: np.ndarray
    quantiles: np.ndarray


def _point(case: Case, members: int, seed: int) -> _Point:
    """Run the members of a point, a block at a time: the record of one takes kilobytes."""
    if members == 1:
        parts = [_kept(run_members(case, {}, 1))]
    else:
        ensemble = Ensemble(case, members, seed)
        drawn = map(ensemble.points, range(-(-members // draws.BLOCK)))
        parts = [
            _kept(run_members(case, draws.values(case, ensemble.factors, u), u.shape[0]))
            for u in drawn
        ]
    verdict, columns = (np.concatenate(part) for part in zip(*parts, strict=True))
    present = [column[~np.isnan(column)] for column in columns.T]
    quantiles = [
        np.quantile(c, SHARES) if c.size else np.full(len(SHARES), np.nan) for c in present
    ]
    return _Point(np.bincount(verdict, minlength=len(VERDICTS)), np.array(quantiles))


def _kept(outcomes: Outcomes) -> tuple[np.ndarray, np.ndarray]:
    """Return verdicts and, a column each, the quantities of members."""
    return outcomes.verdict, np.stack([outcomes.column(name) for name, _, _ in QUANTITIES], axis=1)


def _chances(found: list[_Point], members: int, shape: tuple[int, ...]) -> list[QuantityCurve]:
    """Return the chance of separation and of separating too hard, with their intervals."""
    rows = []
    separated = [each.code for each in Verdict if each.separated]
    for name, label, codes in (
        ("separates", "chance that it separates", separated),
        ("separates_too_hard", "chance that it separates too hard",
         [Verdict.SEPARATES_TOO_HARD.code]),
    ):  # fmt: skip
        counts = [int(point.verdicts[codes].sum()) for point in found]
        each = [chance(name, count, members) for count in counts]
        middle, low, high = (
            np.array([getattr(c, part) for c in each]).reshape(shape)
            for part in ("share", "low", "high")
        )
        rows.append(QuantityCurve(name, label, "ratio", middle, low, high, ()))
    return rows


def _quantity(
    which: int, found: list[_Point], members: int, shape: tuple[int, ...], limits: tuple
) -> QuantityCurve:
    """Return one of the quantities over the points."""
    name, label, dimension = QUANTITIES[which]
    values = np.array([point.quantiles[which] for point in found])
    low, middle, high = (values[:, k].reshape(shape) for k in range(len(SHARES)))
    if members == 1:
        return QuantityCurve(name, label, dimension, middle, None, None, limits)
    return QuantityCurve(name, label, dimension, middle, low, high, limits)
