"""What drives the answer: which factors move it, and which measurement would narrow it most."""

from __future__ import annotations

from functools import partial

import numpy as np

from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.charges import Tally
from baypulse.members.ensemble import Ensemble, run_values
from baypulse.members.outcomes import Outcomes
from baypulse.studies.scatter.influence import Group, Swing, indices, samples_within, swings
from baypulse.studies.scatter.result import Output

MOST_RUNS = 16_000
"""Runs that the indices may take."""

RUNS_PER_MEMBER = 1.6
"""No more than this many of them for each member."""

NAMED = 12
"""Factors that get an index of their own; the others share one."""

OTHERS = "all others together"

OUTPUTS = (
    ("separates", "whether it separates", "ratio"),
    ("peak_pressure", "peak pressure", "gauge pressure"),
    ("greatest_velocity", "greatest separation velocity (0 if it stays)", "velocity"),
    ("cord_load", "peak load of the cord (0 if never taut)", "force"),
)


def outputs(
    ensemble: Ensemble, workers: int, progress: Progress | None = None
) -> tuple[tuple[Output, ...], int]:
    """Return what drives each number, and the number of runs that the indices took.

    Each factor alone comes first; those that move some number most then get indices of their
    own, and all others share one, so that the runs go where they tell something.

    Parameters
    ----------
    ensemble : Ensemble
        The case, its factors and its seed.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.
    """
    case, dimensions = ensemble.case, ensemble.dimensions
    draw = partial(draws.values, case, ensemble.factors)
    runs = min(MOST_RUNS, int(RUNS_PER_MEMBER * ensemble.members))
    tally = Tally(progress, runs)

    def evaluate(u: np.ndarray) -> np.ndarray:
        return numbers(run_values(case, u, draw, workers, tally.add))

    groups = [Group(factor.name, factor.columns) for factor in ensemble.factors]
    middle, moved = swings(evaluate, groups, dimensions)
    named = _named(groups, middle, moved)
    n = samples_within(runs, len(named))
    found = indices(evaluate, named, dimensions, n, ensemble.seed)
    shown = [
        Output(
            name, label, dimension, float(middle[k]),
            tuple(sorted(moved[k], key=lambda swing: -abs(swing.high - swing.low))),
            tuple(sorted(found[k], key=lambda each: -each.total)),
            "" if found[k] else f"it is the same in nearly all of {n * (len(named) + 2):,} runs",
        )
        for k, (name, label, dimension) in enumerate(OUTPUTS)
        if name != "cord_load" or case.cord is not None
    ]  # fmt: skip
    return tuple(shown), n * (len(named) + 2)


def numbers(found: Outcomes) -> np.ndarray:
    """Return the outputs of members, shape (members, len(OUTPUTS)).

    A joint that does not separate has no separation velocity, and a cord that is never taut no
    load; both count as 0, so that every member has a number. So does a member that cannot be run.
    """
    columns = [found.opened.astype(float)]
    columns += [np.nan_to_num(found.column(name)) for name, *_ in OUTPUTS[1:]]
    return np.stack(columns, axis=1)


def _named(groups: list[Group], middle: np.ndarray, moved: list[list[Swing]]) -> list[Group]:
    """Return the groups that move something most, and one of all others."""
    ends = np.array([[(swing.low, swing.high) for swing in row] for row in moved])
    reach = np.abs(ends - middle[:, None, None]).max(axis=2)
    reach /= np.maximum(reach.max(axis=1, keepdims=True), 1e-300)
    order = np.argsort(-reach.max(axis=0), kind="stable")
    if len(groups) <= NAMED + 1:
        return groups
    kept = sorted(order[:NAMED])
    rest = sorted(set(range(len(groups))) - set(kept))
    columns = tuple(column for k in rest for column in groups[k].columns)
    return [*(groups[k] for k in kept), Group(OTHERS, columns)]
