"""Nine shots in ten: how the curves scatter, and the chances, from one set of simulated shots."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from baypulse.case import quantities
from baypulse.case.model import Case
from baypulse.live.answer import points
from baypulse.live.axes import drawn
from baypulse.members import draws
from baypulse.members.chances import chance
from baypulse.members.ensemble import Ensemble
from baypulse.members.pool import pool_of
from baypulse.run.result import Parachute, Result
from baypulse.run.simulation import simulate

SHOTS = 48
"""Simulated shots behind a band: as many as two cores run in about a second."""

ENDS = (0.05, 0.95)
"""Shares of the shots below the ends of the band."""

WORKERS = 2
"""Threads; the answer does not depend on them."""

BATCH = 4
"""Shots between two looks at whether anybody still waits."""

CURVES = (
    ("pressure", "gauge_pressure", "gauge pressure"),
    ("speed", "separation_velocity", "velocity"),
)
"""Charts that get a band, and the curve of each."""


class Shot(NamedTuple):
    """What is kept of a simulated shot: all of a run would fill the memory.

    Attributes
    ----------
    curves : ndarray, shape (len(CURVES), n)
        At the times of the case's own run [SI].
    separates, parachute_out, exceeds : bool
        What became of it.
    """

    curves: np.ndarray
    separates: bool
    parachute_out: bool
    exceeds: bool


def band(result: Result, stale: Callable[[], bool]) -> dict[str, Any] | None:
    """Return the band of each chart and the chances; None where nobody waits any more.

    Parameters
    ----------
    result : Result
        Run of the case, whose points in time are used.
    stale : callable
        Whether a newer question was asked.
    """
    times = np.unique(result.time[points(result)])
    shots = _shots(result.case, times, stale)
    if shots is None:
        return None
    if not shots:
        return {"charts": {}, "said": ["Nothing scatters in this case."], "name": ""}
    low, high = np.quantile([shot.curves for shot in shots], ENDS, axis=0)
    charts = {
        chart: {"x": drawn(times, "time"), "low": drawn(low[k], kind), "high": drawn(high[k], kind)}
        for k, (chart, _, kind) in enumerate(CURVES)
    }
    asked = result.contents is not Parachute.NOT_ASKED
    return {
        "charts": charts,
        "name": f"nine of ten of {len(shots)} simulated shots",
        "said": [*_chances(shots, asked), quantities.RESTS_ON],
    }


def _shots(case: Case, times: np.ndarray, stale: Callable[[], bool]) -> list[Shot] | None:
    """Return the simulated shots that are possible."""
    ensemble = Ensemble(case, SHOTS)
    if not ensemble.factors:
        return []
    u = ensemble.points(0)
    values = draws.values(case, ensemble.factors, u)
    possible = draws.possible(draws.records(case, values, u.shape[0])[1], u.shape[0])
    which = np.flatnonzero(possible)

    def fired(index: int) -> Shot:
        run = simulate(draws.one_member(case, values, int(index)))
        return Shot(
            np.array(
                [np.interp(times, run.time, run.curves[name].values) for _, name, _ in CURVES]
            ),
            run.verdict.separated,
            run.contents is Parachute.COMES_OUT,
            not all(check.met for check in run.limit_checks),
        )

    found: list[Shot] = []
    with pool_of(WORKERS) as pool:
        for first in range(0, which.size, BATCH):
            if stale():
                return None
            found += pool.map(fired, which[first : first + BATCH])
    return found


def _chances(shots: list[Shot], asked: bool) -> list[str]:
    """Return in how many shots the bay separates, loses its parachute, and exceeds a limit."""
    rows = [("separates", [shot.separates for shot in shots])]
    rows += [("the parachute comes out", [shot.parachute_out for shot in shots])] * asked
    rows += [("a limit is exceeded", [shot.exceeds for shot in shots])]
    return [
        f"{quantities.capital(what)} "
        f"{quantities.often(chance(what, sum(happened), len(happened)))}."
        for what, happened in rows
    ]
