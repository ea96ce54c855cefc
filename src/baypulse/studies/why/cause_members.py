"""Members of a case in which something is wrong, the same for every cause, and their runs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine import ensemble
from baypulse.engine.ensemble import COLUMNS
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.charges import Points
from baypulse.members.ensemble import run_values
from baypulse.members.factors import dimensions, factors, nominal_at
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import COUNT, DELAYS, Cause, changed, with_places

TIMES = [k for k, column in enumerate(COLUMNS) if column.endswith("_time")]
"""Columns that are counted from the firing current."""


@dataclass(frozen=True)
class MembersToRun:
    """Members of one ensemble before they are run.

    Attributes
    ----------
    causes : tuple of Cause
        At work in them.
    case : Case
        That they scatter about.
    values : mapping
        What was drawn, by path.
    run : mapping
        The same, each delay as it is without any cause.
    late : ndarray, shape (members,)
        By how much later everything happens [s].
    """

    causes: tuple[Cause, ...]
    case: Case
    values: dict[str, np.ndarray]
    run: dict[str, np.ndarray]
    late: np.ndarray

    @property
    def pins(self) -> int:
        """How many pins they have."""
        return 0 if self.case.pins is None else self.case.pins.count


Group = tuple[tuple[Cause, ...], range]
"""One cause or two, and which members of them, below :data:`baypulse.members.draws.BLOCK`."""


def most_added(groups: Iterable[tuple[Cause, ...]]) -> int:
    """Return the most pins that any of some causes or pairs adds."""
    return max(sum(cause.pins_added for cause in causes) for causes in groups)


def ensembles(
    case: Case,
    groups: Sequence[Group],
    added: int,
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
    groups : sequence of Group
        Which members of which causes.
    added : int
        The most pins that any cause adds of which members are compared with these
        (:func:`most_added`): members of the same place have the same base point then.
    seed : int
        Of the members.
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

    """
    drawn = _drawn(case, groups, added, seed, points)
    total = sum(len(which) for _, which in groups)
    done = 0

    def tell(members: int) -> None:
        nonlocal done
        done += members
        if progress is not None:
            progress(done, total)

    return run_all(drawn, workers, tell)


def run_all(
    drawn: Sequence[MembersToRun], workers: int, tell: Callable[[int], None] = lambda _: None
) -> list[CauseEnsemble]:
    """Run members of several ensembles, those with the same number of pins together.

    Parameters
    ----------
    drawn : sequence of MembersToRun
        The ensembles.
    workers : int
        Threads; the answer does not depend on them.
    tell : callable
        Called with how many more members are done.

    Returns
    -------
    list of CauseEnsemble
        In the same order.
    """
    found: dict[int, CauseEnsemble] = {}
    for count in sorted({each.pins for each in drawn}):
        chosen = [k for k, each in enumerate(drawn) if each.pins == count]
        outcomes = _run([drawn[k] for k in chosen], workers, tell)
        found |= dict(zip(chosen, outcomes, strict=True))
    return [found[k] for k in range(len(drawn))]


def members_to_run(
    causes: tuple[Cause, ...], case: Case, values: Mapping[str, np.ndarray], size: int,
    usual: Callable[[str], np.ndarray],
) -> MembersToRun:  # fmt: skip
    """Return members whose delays are added to the times of their runs.

    Nothing happens before the first grain burns or the valve opens. So a delay that a cause adds is
    added to the times of the run, which saves the steps of a bay that waits.

    Parameters
    ----------
    causes, case, values
        As in :class:`MembersToRun`.
    size : int
        How many members.
    usual : callable
        From the path of a delay to what the members have there without any cause.
    """
    run, late = dict(values), np.zeros(size)
    for path in DELAYS:
        if path in run:
            before = usual(path)
            late += run[path] - before
            run[path] = before
    return MembersToRun(causes, case, dict(values), run, late)


def _drawn(
    case: Case, groups: Sequence[Group], added: int, seed: int, points: Points | None
) -> list[MembersToRun]:
    """Draw all members; a group with fewer pins than others has the first of the same pins."""
    base = with_places(case)
    wide = _with_pins(base, added)
    plan = factors(wide)
    size = dimensions(plan)
    u = draws.unit_points(seed, 0, size + 2)
    if points is not None:
        u = u.copy()
        u[:, :size] = points(plan, draws.BLOCK, seed, 0)
    values = draws.values(wide, plan, u[:, :size])
    return [
        _one(_with_pins(base, sum(cause.pins_added for cause in causes)), causes,
             {path: column[which.start : which.stop] for path, column in values.items()},
             u[which.start : which.stop, size:])
        for causes, which in groups
    ]  # fmt: skip


def _with_pins(case: Case, added: int) -> Case:
    if not added or case.pins is None:
        return case
    more = with_value(case, COUNT, case.pins.count + added)
    return replace(more, spreads=case.spreads)


def _one(
    case: Case, causes: tuple[Cause, ...], values: Mapping[str, np.ndarray], severities: np.ndarray
) -> MembersToRun:
    pins = 0 if case.pins is None else case.pins.count
    own = {p: drawn[:, :pins] if drawn.ndim == 2 else drawn for p, drawn in values.items()}
    new = own
    for k, cause in enumerate(causes):
        new = changed(case, new, cause, severities[:, k])
    size = severities.shape[0]

    def usual(path: str) -> np.ndarray:
        return own[path] if path in own else np.full(size, nominal_at(case, path))

    return members_to_run(causes, case, new, size, usual)


def _run(
    drawn: Sequence[MembersToRun], workers: int, tell: Callable[[int], None]
) -> list[CauseEnsemble]:
    """Run members of several causes as one ensemble: all have the same pins and openings."""
    case = drawn[0].case
    sizes = [each.late.size for each in drawn]
    paths = sorted({path for each in drawn for path in each.run})
    table = {path: np.concatenate([_column(each, path) for each in drawn]) for path in paths}

    def draw(part: np.ndarray) -> dict[str, np.ndarray]:
        return {path: column[part] for path, column in table.items()}

    ran = run_values(case, np.arange(sum(sizes)), draw, workers, tell)
    found = []
    end = np.cumsum(sizes)
    for each, stop, size in zip(drawn, end, sizes, strict=True):
        mine = ran.some(np.arange(stop - size, stop))
        mine.rows[:, TIMES] += each.late[:, None]
        status = mine.rows[:, ensemble.RunColumn.STATUS]
        usable = (status == ensemble.FINISHED) | (status == ensemble.TIME_END)
        found.append(CauseEnsemble(each.causes, each.case, each.values, mine, usable))
    return found


def _column(drawn: MembersToRun, path: str) -> np.ndarray:
    """Return what members have at a path, the nominal value where it does not scatter."""
    if path in drawn.run:
        return drawn.run[path]
    return np.full(drawn.late.shape, nominal_at(drawn.case, path))
