"""The chance of every outcome, from thousands of members, and what drives it."""

from __future__ import annotations

import os
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from baypulse.case.model import Case
from baypulse.members import blocks, draws
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.ensemble import Ensemble, run_values
from baypulse.members.outcomes import IMPOSSIBLE, limit_names
from baypulse.members.parts import StudyError
from baypulse.members.pool import pool_of
from baypulse.members.quantities import Limit, levels
from baypulse.members.store import Store
from baypulse.run.result import VERDICTS, Parachute, Verdict
from baypulse.studies.scatter import drivers
from baypulse.studies.scatter.bands import bands
from baypulse.studies.scatter.rare import Rare, estimate
from baypulse.studies.scatter.result import Distribution, Scatter

RARE = {
    "shut": (Verdict.NO_SEPARATION.code, Verdict.PARTIAL_SEPARATION.code),
    "hard": (Verdict.SEPARATES_TOO_HARD.code,),
}
"""Outcomes whose rare chance can be asked for, and the verdicts that they are made of."""

RARE_NAMES = {"shut": "does not separate", "hard": "separates too hard"}

BINS = 60
OUTLIERS = 1.5
"""How far a histogram goes beyond the outer quantiles, in distances between them."""

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Shares of the members at the quantiles of a distribution."""

_DISTRIBUTIONS = (
    ("peak_pressure", "peak pressure", "gauge pressure"),
    ("greatest_velocity", "greatest separation velocity", "velocity"),
    ("cord_load", "peak load of the cord", "force"),
    ("clear_time", "time until clear", "time"),
    ("electronics_pulse", "pulse in the electronics bay", "gauge pressure"),
)


def run_scatter(
    ensemble: Ensemble,
    folder: str | Path,
    executor: Executor,
    *,
    workers: int,
    resume: bool = False,
    progress: Progress | None = None,
) -> Store:
    """Run the members of an ensemble and keep a row of each on disk.

    Parameters
    ----------
    ensemble : Ensemble
        What is run.
    folder : str or pathlib.Path
        Gets the members as Parquet files.
    executor : concurrent.futures.Executor
        What runs the blocks; the rows do not depend on it.
    workers : int
        How many blocks it runs at once.
    resume : bool
        Go on with what stands in the folder.
    progress : callable, optional
        Called with members done and in all.

    Raises
    ------
    StudyError
        If nothing scatters, or as :func:`baypulse.members.blocks.run`.
    """
    if not ensemble.factors:
        raise StudyError(
            f"{ensemble.case.name}: nothing scatters in this case; give a value a spread, such as "
            '{ value = "25 N", spread = "20 %" }'
        )
    return blocks.run(ensemble, folder, executor, workers=workers, resume=resume, progress=progress)


def scatter(
    case: Case,
    *,
    members: int = 10_000,
    seed: int = 1,
    sampling: str = "sobol",
    workers: int | None = None,
    rare: str | None = None,
) -> Scatter:
    """Run thousands of members of a case in this process and say what they say together.

    Parameters
    ----------
    case : Case
        With its spreads; the library's are used where the case has no measured value.
    members : int
        How many.
    seed : int
        The same seed gives the same members.
    sampling : str
        ``"sobol"`` or ``"latin"``.
    workers : int, optional
        Threads, one for each core unless given; the answer does not depend on them.
    rare : str, optional
        ``"shut"`` or ``"hard"``: look for the chance of that by importance sampling too.

    Raises
    ------
    StudyError
        If nothing scatters.
    """
    threads = workers or os.cpu_count() or 1
    with TemporaryDirectory() as folder, pool_of(threads) as pool:
        ensemble = Ensemble(case, members, seed, sampling)
        store = run_scatter(ensemble, Path(folder) / "members", pool, workers=threads)
        return examine(ensemble, store, workers=threads, rare=rare).whole(None)


def examine(
    ensemble: Ensemble, store: Store, *, workers: int, rare: str | None = None
) -> Answered[Scatter]:
    """Reduce the members of an ensemble to chances and distributions; bands and drivers come after.

    Parameters
    ----------
    ensemble : Ensemble
        What was run.
    store : Store
        Its members, from :func:`run_scatter`.
    workers : int
        Threads for the runs that this takes; the answer does not depend on them.
    rare : str, optional
        ``"shut"`` or ``"hard"``: look for the chance of that by importance sampling too.
    """
    case = ensemble.case
    counts = store.count_values("verdict")
    limits = levels(case)
    distributions = _distributions(store, limits)
    known = Scatter(
        case=case,
        members=store.members,
        seed=ensemble.seed,
        sampling=ensemble.sampling,
        factors=tuple(ensemble.factors),
        verdicts=tuple(
            chance(name, counts.get(code, 0), store.members) for code, name in enumerate(VERDICTS)
        ),
        contents=_contents(store),
        limits=_exceeded(case, store),
        distributions=distributions,
        bands=(),
        outputs=(),
        influence_runs=0,
        rare=None if rare is None else rare_chance(ensemble, rare, workers),
        rare_name="" if rare is None else RARE_NAMES[rare],
        warnings=tuple(_warnings(case, store, counts)),
    )

    def whole(progress: Progress | None) -> Scatter:
        outputs, runs = drivers.outputs(ensemble, workers, progress)
        seen = tuple(bands(ensemble, _look_until(store, distributions), limits))
        return replace(known, bands=seen, outputs=outputs, influence_runs=runs)

    return Answered(known, whole)


def rare_chance(ensemble: Ensemble, name: str, workers: int) -> Rare:
    """Return the chance of a rare outcome by importance sampling.

    Parameters
    ----------
    ensemble : Ensemble
        The case, its factors and its seed.
    name : str
        One of :data:`RARE`.
    workers : int
        Threads; the answer does not depend on them.
    """
    case = ensemble.case
    draw = partial(draws.from_scores, case, ensemble.factors)

    def fails(z: np.ndarray) -> np.ndarray:
        return np.isin(run_values(case, z, draw, workers).verdict, RARE[name])

    return estimate(fails, ensemble.dimensions, ensemble.seed)


def _distributions(store: Store, limits: dict[str, tuple[Limit, ...]]) -> tuple[Distribution, ...]:
    found = []
    for name, label, dimension in _DISTRIBUTIONS:
        moments = store.moments(name)
        if not moments.counted:
            continue
        quantiles = store.quantiles(name, SHARES).values.tolist()
        # a few far out of ten million must not leave the body in one bin
        reach = OUTLIERS * (quantiles[-1] - quantiles[0])
        low = max(moments.least, quantiles[0] - reach)
        high = min(moments.greatest, quantiles[-1] + reach)
        room = max(1e-9 * max(abs(low), abs(high)), 1e-12)
        edges = np.linspace(low - room, high + room, BINS + 1)
        found.append(
            Distribution(
                name, label, dimension, moments.counted, store.members, edges,
                store.histogram(name, edges).counts, SHARES, tuple(quantiles), moments.mean,
                moments.deviation, limits.get(name, ()),
            )
        )  # fmt: skip
    return tuple(found)


def _contents(store: Store) -> tuple[Chance, ...]:
    """Return the chance that the parachute comes out, of bays that separate."""
    separated = [each.code for each in Verdict if each.separated]
    opened = out = asked = 0
    for part in store.batches(["verdict", "parachute"]):
        clear = np.isin(part["verdict"], separated)
        opened += int(clear.sum())
        out += int((clear & (part["parachute"] == Parachute.COMES_OUT.code)).sum())
        asked += int((part["parachute"] != Parachute.NOT_ASKED.code).sum())
    if not asked or not opened:
        return ()
    return (chance("parachute comes out, of bays that separate", out, opened),)


def _exceeded(case: Case, store: Store) -> tuple[Chance, ...]:
    """Return the chance that each limit is exceeded."""
    names = limit_names(case)
    counts = np.zeros(len(names), dtype=np.int64)
    for bits, count in store.count_values("limits_exceeded").items():
        counts += count * ((bits >> np.arange(len(names))) & 1)
    return tuple(
        chance(name, int(count), store.members) for name, count in zip(names, counts, strict=True)
    )


def _look_until(store: Store, distributions: tuple[Distribution, ...]) -> float:
    """Return the time that figures of curves should reach [s]."""
    clear = next((d for d in distributions if d.name == "clear_time"), None)
    if clear is not None and clear.happened > 0.5 * store.members:
        return clear.quantiles[-1]
    return 3.0 * float(store.quantiles("peak_time", [0.95]).values[0])


def _warnings(case: Case, store: Store, counts: dict[int, int]) -> list[str]:
    found = list(draws.truncations(case))
    impossible = store.count_values("status").get(IMPOSSIBLE, 0)
    undecided = counts.get(Verdict.UNDECIDED.code, 0) - impossible
    if impossible:
        found.append(
            f"{impossible} of {store.members} simulated shots leave no room for air (contents or "
            "grains fill the bay or the holder) and count as undecided; narrow the spreads of "
            "volumes"
        )
    if undecided:
        found.append(
            f"{undecided} of {store.members} runs did not come to an end and count as undecided"
        )
    return found
