"""Members of a case in which something is wrong, the same for every cause, and their runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine import ensemble
from baypulse.engine.ensemble import COLUMNS
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.charges import Points
from baypulse.members.ensemble import MOST_BATCH, run_values
from baypulse.members.factors import dimensions, factors, nominal_at
from baypulse.members.outcomes import Outcomes
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import COUNT, DELAYS, Cause, changed, with_places

TIMES = [k for k, column in enumerate(COLUMNS) if column.endswith("_time")]
"""Columns that are counted from the firing current."""


@dataclass(frozen=True)
class _Drawn:
    """Members of one ensemble before they are run; `late` is what moves their clock [s]."""

    causes: tuple[Cause, ...]
    case: Case
    values: dict[str, np.ndarray]
    run: dict[str, np.ndarray]
    late: np.ndarray


def ensembles(
    case: Case,
    groups: Sequence[tuple[tuple[Cause, ...], int]],
    seed: int,
    workers: int,
    progress: Progress | None = None,
    points: Points | None = None,
) -> list[CauseEnsemble]:
    """Draw and run members of a case under each of several causes.

    Parameters
    ----------
    case : Case
        As it was meant to be.
    groups : sequence of (causes, members)
        One cause or two, and how many members, at most :data:`baypulse.members.draws.BLOCK`.
    seed : int
        Of the members. All groups have the same base points.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with members done, and how many there will be.
    points : callable, optional
        Draws other members than those of the case's spreads, such as those that agree with
        earlier shots.

    Returns
    -------
    list of CauseEnsemble
        In the order of the groups.

    Notes
    -----
    Nothing happens before the first grain burns or the valve opens. So a delay that a cause adds is
    added to the times of the run, which saves the steps of a bay that waits.
    """
    drawn = _drawn(case, groups, seed, points)
    total = sum(members for _, members in groups)
    done = 0

    def tell(members: int) -> None:
        nonlocal done
        done += members
        if progress is not None:
            progress(done, total)

    found: dict[int, CauseEnsemble] = {}
    counts = sorted({0 if each.case.pins is None else each.case.pins.count for each in drawn})
    for count in counts:
        chosen = [
            k
            for k, each in enumerate(drawn)
            if (0 if each.case.pins is None else each.case.pins.count) == count
        ]
        outcomes = _run([drawn[k] for k in chosen], workers, tell)
        found |= dict(zip(chosen, outcomes, strict=True))
    return [found[k] for k in range(len(drawn))]


def _drawn(
    case: Case, groups: Sequence[tuple[tuple[Cause, ...], int]], seed: int, points: Points | None
) -> list[_Drawn]:
    """Draw all members; a group with fewer pins than others has the first of the same pins."""
    most = max(sum(cause.pins_added for cause in causes) for causes, _ in groups)
    base = with_places(case)
    wide = _with_pins(base, most)
    plan = factors(wide)
    size = dimensions(plan)
    u = draws.unit_points(seed, 0, size + 2)
    if points is not None:
        u[:, :size] = points(plan, draws.BLOCK, seed, 0)
    values = draws.values(wide, plan, u[:, :size])
    return [
        _one(_with_pins(base, sum(cause.pins_added for cause in causes)), causes,
             {path: column[:members] for path, column in values.items()}, u[:members, size:])
        for causes, members in groups
    ]  # fmt: skip


def _with_pins(case: Case, added: int) -> Case:
    if not added or case.pins is None:
        return case
    more = with_value(case, COUNT, case.pins.count + added)
    return replace(more, spreads=case.spreads)


def _one(
    case: Case,
    causes: tuple[Cause, ...],
    values: Mapping[str, np.ndarray],
    severities: np.ndarray,
) -> _Drawn:
    pins = 0 if case.pins is None else case.pins.count
    own = {p: drawn[:, :pins] if drawn.ndim == 2 else drawn for p, drawn in values.items()}
    new = own
    for k, cause in enumerate(causes):
        new = changed(case, new, cause, severities[:, k])
    run, late = dict(new), np.zeros(severities.shape[0])
    for path in DELAYS:
        if path in new:
            usual = own[path] if path in own else np.full(late.shape, nominal_at(case, path))
            late += new[path] - usual
            run[path] = usual
    return _Drawn(causes, case, new, run, late)


def _run(drawn: Sequence[_Drawn], workers: int, tell: Callable[[int], None]) -> list[CauseEnsemble]:
    """Run members of several causes as one ensemble: all have the same pins and openings."""
    case = drawn[0].case
    sizes = [each.late.size for each in drawn]
    paths = sorted({path for each in drawn for path in each.run})
    table = {path: np.concatenate([_column(each, path) for each in drawn]) for path in paths}

    def draw(part: np.ndarray) -> dict[str, np.ndarray]:
        return {path: column[part] for path, column in table.items()}

    whole = np.arange(sum(sizes))
    parts = []
    for start in range(0, whole.size, MOST_BATCH * 2 * workers):
        part = whole[start : start + MOST_BATCH * 2 * workers]
        parts.append(run_values(case, part, draw, workers))
        tell(part.size)
    found = []
    rows, verdict, contents, exceeded = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("rows", "verdict", "contents", "exceeded")
    )
    end = np.cumsum(sizes)
    for each, stop, size in zip(drawn, end, sizes, strict=True):
        own = slice(stop - size, stop)
        mine = rows[own].copy()
        mine[:, TIMES] += each.late[:, None]
        outcomes = Outcomes(each.values, mine, verdict[own], contents[own], exceeded[own])
        status = mine[:, ensemble.RunColumn.STATUS]
        usable = (status == ensemble.FINISHED) | (status == ensemble.TIME_END)
        found.append(CauseEnsemble(each.causes, each.case, each.values, outcomes, usable))
    return found


def _column(drawn: _Drawn, path: str) -> np.ndarray:
    """Return what members have at a path, the nominal value where it does not scatter."""
    if path in drawn.run:
        return drawn.run[path]
    return np.full(drawn.late.shape, nominal_at(drawn.case, path))
