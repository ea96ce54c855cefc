"""One more shot of members, with something changed: what a live test would show of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from baypulse.case import library
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Holder
from baypulse.members import draws
from baypulse.members.charges import charge_path
from baypulse.members.factors import dimensions, factors, nominal_at
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import COUNT, with_places
from baypulse.studies.why.cause_members import members_to_run, run_all
from baypulse.studies.why.next_test_list import NextTest
from baypulse.studies.why.result import Diagnosis

Array = np.ndarray

PACKED = 0.6
"""Share of its bulk that a heap of grains fills; estimate, about that of random packing."""


@dataclass(frozen=True)
class Chosen:
    """Members of one ensemble that are fired again.

    Attributes
    ----------
    ensemble : CauseEnsemble
        They are of.
    index : ndarray of int, shape (n,)
        Which of its members.
    weights : ndarray, shape (n,)
        With a sum of 1.
    """

    ensemble: CauseEnsemble
    index: Array
    weights: Array


def base_values(diagnosis: Diagnosis) -> dict[str, Array]:
    """Return the values of the members as they are without any cause, by path.

    Parameters
    ----------
    diagnosis : Diagnosis
        Whose members are meant: all causes have the same base points.
    """
    most = max(
        sum(cause.pins_added for cause in each.ensemble.causes)
        for each in diagnosis.ensembles.values()
    )
    wide = with_places(diagnosis.case)
    if most and wide.pins is not None:
        more = with_value(wide, COUNT, wide.pins.count + most)
        wide = replace(more, spreads=wide.spreads)
    plan = factors(wide)
    size = dimensions(plan)
    # two columns more: the severities of the causes
    u = draws.unit_points(diagnosis.seed, 0, size + 2)
    if diagnosis.points is not None:
        u = u.copy()
        u[:, :size] = diagnosis.points(plan, draws.BLOCK, diagnosis.seed, 0)
    return draws.values(wide, plan, u[:, :size])


def draw_members(members: CauseEnsemble, weights: Array, count: int, u: float) -> Chosen:
    """Draw members by their weights, at even steps through all of them.

    Parameters
    ----------
    members : CauseEnsemble
        To draw from.
    weights : ndarray, shape (members,)
        With a sum of 1.
    count : int
        How many are drawn; one that is drawn twice has twice the weight.
    u : float
        Where to begin, from 0 to 1.
    """
    at = (np.arange(count) + u) / count
    drawn = np.minimum(np.searchsorted(np.cumsum(weights), at), weights.size - 1)
    index, times = np.unique(drawn, return_counts=True)
    return Chosen(members, index, times / count)


def fire(
    diagnosis: Diagnosis,
    test: NextTest,
    chosen: Sequence[Chosen],
    base: Mapping[str, Array],
    workers: int,
    tell: Callable[[int], None] = lambda _: None,
) -> list[CauseEnsemble]:
    """Fire members again as a test changes them.

    Parameters
    ----------
    diagnosis : Diagnosis
        Of which the members are.
    test : NextTest
        A live one.
    chosen : sequence of Chosen
        Members.
    base : mapping
        From :func:`base_values`.
    workers : int
        Threads; the answer does not depend on them.
    tell : callable
        Called with how many more members are done.

    Returns
    -------
    list of CauseEnsemble
        In the order of `chosen`, a member each.
    """
    # what a test leaves as it was does again what it did
    found = [None if _changes(test, each) else each.ensemble.some(each.index) for each in chosen]
    drawn = []
    for each, known in zip(chosen, found, strict=True):
        if known is None:
            case, values = _changed(diagnosis, test, each, base)
            usual = partial(_usual, case, base=base, index=each.index, ndim=1)
            drawn.append(members_to_run(each.ensemble.causes, case, values, each.index.size, usual))
    run = iter(run_all(drawn, workers, tell))
    return [next(run) if known is None else known for known in found]


def moved_paths(members: CauseEnsemble, base: Mapping[str, Array]) -> set[str]:
    """Return the numbers that a cause changes in its members.

    Parameters
    ----------
    members : CauseEnsemble
        Of the cause.
    base : mapping
        From :func:`base_values`.
    """
    found = set()
    for path, value in members.values.items():
        usual = _usual(members.case, path, base, np.arange(value.shape[0]), value.ndim)
        if not np.array_equal(usual, value):
            found.add(path)
    return found


def _usual(case: Case, path: str, base: Mapping[str, Array], index: Array, ndim: int) -> Array:
    """Return what members have at a path without any cause."""
    if path not in base:
        return np.full(index.size, nominal_at(case, path))
    pins = 0 if case.pins is None else case.pins.count
    return base[path][index, :pins] if ndim == 2 else base[path][index]


def _changes(test: NextTest, chosen: Chosen) -> bool:
    """Say whether a test changes members of an ensemble at all."""
    taken_away = any(cause.name in test.without for cause in chosen.ensemble.causes)
    return taken_away or test.charge != 1.0 or test.holder is not None


def _changed(
    diagnosis: Diagnosis, test: NextTest, chosen: Chosen, base: Mapping[str, Array]
) -> tuple[Case, dict[str, Array]]:
    """Return the case and the values of members as a test changes them."""
    members = chosen.ensemble
    case = members.case
    values = {path: value[chosen.index] for path, value in members.values.items()}
    for cause in members.causes:
        if cause.name in test.without:
            alone = diagnosis.ensembles[cause.name].ensemble
            for path in moved_paths(alone, base):
                values[path] = _usual(case, path, base, chosen.index, values[path].ndim)
    if test.charge != 1.0:
        path = charge_path(case)
        present: Any = values.get(path, nominal_at(case, path))
        values[path] = np.broadcast_to(present * test.charge, chosen.index.shape).copy()
    if test.holder is not None and case.powder is not None:
        grain = library.powder(case.powder.grade, case.materials).grain_density
        bulk = 1.0 / (PACKED * grain)
        mass: Any = values.get("powder.mass", case.powder.mass)
        spot = test.holder
        held = Holder(volume=spot.room * bulk * case.powder.mass, burst=spot.burst,
                      opening=spot.opening)  # fmt: skip
        case = replace(case, holder=held)
        new = {"holder.volume": spot.room * bulk * mass, "holder.burst": spot.burst,
               "holder.opening": spot.opening}  # fmt: skip
        values |= {path: np.full(chosen.index.shape, value) for path, value in new.items()}
    return case, values


def share_hard(fired: CauseEnsemble, weights: Array) -> float:
    """Return the share of members that exceed a limit, or that have no room for the charge.

    Parameters
    ----------
    fired : CauseEnsemble
        From :func:`fire`.
    weights : ndarray, shape (members,)
        With a sum of 1.
    """
    hard = fired.outcomes.exceeded.any(axis=1) | ~fired.usable
    return min(math.fsum(weights[hard]), 1.0)
