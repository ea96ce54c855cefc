"""How curves scatter: a few hundred members run with all their points, seen at common times."""

from __future__ import annotations

import numpy as np

from baypulse.case import params
from baypulse.case.model import Case
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.members import draws
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import TOLERANCE
from baypulse.members.quantities import Limit
from baypulse.show.two_cores import pieces
from baypulse.studies.scatter.result import Band

MEMBERS = 256
"""Members behind a band, the first of the first block."""

POINTS = 301
SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Shares of the members below each line of a band."""

MORE = 1.35
"""How far the time axis goes, over the time at which 95 % of the members are clear."""

CURVES = (
    ("gauge_pressure", "bay pressure, gauge", "gauge pressure"),
    ("travel", "travel", "length"),
    ("separation_velocity", "separation velocity", "velocity"),
)


def bands(
    ensemble: Ensemble, clear_time: float, limits: dict[str, tuple[Limit, ...]]
) -> list[Band]:
    """Return the bands of pressure, travel and separation velocity.

    Parameters
    ----------
    ensemble : Ensemble
        Members, of which the first are run again.
    clear_time : float
        When 95 % of those that open are clear [s], or another time to look at; it sets the end
        of the time axis.
    limits : dict
        Limits to draw beside each, by the name of the curve.
    """
    case = ensemble.case
    u = ensemble.points(0)[:MEMBERS]
    values = draws.values(case, ensemble.factors, u)
    nominal = params.parameters(case)
    start = float(nominal.start_time)
    times = np.linspace(0.6 * start, start + MORE * (clear_time - start), POINTS)
    possible = draws.possible(draws.records(case, values, u.shape[0])[1], u.shape[0])
    members = [draws.one_member(case, values, int(i)) for i in np.flatnonzero(possible)]
    # half of a run with all its points is Python, which threads would do one after another
    seen = np.array(pieces(lambda k: curves(members[k], times), len(members)))
    ours = curves(case, times)
    return [
        Band(
            name, label, dimension, times, SHARES, np.quantile(seen[:, k], SHARES, axis=0),
            ours[k], len(members), limits.get(name, ()),
        )
        for k, (name, label, dimension) in enumerate(CURVES)
    ]  # fmt: skip


def curves(case: Case, times: np.ndarray) -> np.ndarray:
    """Return the curves of one run at given times, shape (len(CURVES), n)."""
    P = params.parameters(case)
    track = run.integrate(P, float(times[-1]), TOLERANCE)
    seen = run.observe(track, P)
    y = seen.states
    rows = (
        seen.volumes[:, P.chamber, 0] - P.p_ambient,
        y[:, at.NOSE_X] - y[:, at.FRAME_X],
        y[:, at.NOSE_V] - y[:, at.FRAME_V],
    )
    return np.array([np.interp(times, seen.times, row) for row in rows])
