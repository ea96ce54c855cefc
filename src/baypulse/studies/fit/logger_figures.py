"""What loggers in the sections say by themselves, and what the model would have shown there.

The record and the model go through the same steps: the model's curve is averaged as the logger
averages, and both are read by :func:`baypulse.studies.fit.push.shape`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from baypulse.case import geometry
from baypulse.case.model import Case
from baypulse.observed.measured import ACCELERATION, AIRFRAME, NOSE
from baypulse.studies.fit.prepared_records import PreparedRecord
from baypulse.studies.fit.push import PushCourse, RecordedPush, shape
from baypulse.studies.fit.responses import ResponseCurve, averaged
from baypulse.studies.fit.result import LoggerFigure, Range

Array = np.ndarray

FINE = 2e-4
"""Step of the model's own course [s], and what it is averaged over."""

SCALE_ERROR = 0.02
"""Error of a logger's scale and of where it was fastened in line; estimate."""

CORD_ERROR = 0.05
"""The same of a cord's length: drag, and when it is taut; estimate."""

OTHERS = {NOSE: AIRFRAME, AIRFRAME: NOSE}

RELEASE = "release"
"""Overpressure when the joint is released."""

PEAK = "peak"
"""Its greatest value."""

CLEAR = "clear"
"""Overpressure when the joint is clear."""

LABELS = {
    RELEASE: ("overpressure at release", "stress"),
    PEAK: ("greatest overpressure", "stress"),
    CLEAR: ("overpressure when clear", "stress"),
    "mean": ("mean overpressure of the push", "stress"),
    "push": ("push lasts", "time"),
    "nose": ("change of speed, nose", "velocity"),
    "airframe": ("change of speed, airframe", "velocity"),
    "speed": ("separation velocity", "velocity"),
    "energy": ("energy of both sections", "energy"),
    "travel": ("travel when the push ends", "length"),
}  # fmt: skip
"""Every figure, what it is called, and its kind."""

MASS_RATIO = "mass ratio"
"""The nose's mass over the airframe's, which the case states itself."""

CORD = "cord"
"""Length of the cord, which the case states itself."""

NOTHING = Range(math.nan, math.nan, math.nan)


@dataclass(frozen=True)
class Sections:
    """What turns accelerations into pressures and energies.

    Attributes
    ----------
    masses : mapping of str to float
        Of nose and airframe; infinite where one is clamped [kg].
    area : float
        Of the bore [m^2].
    """

    masses: Mapping[str, float]
    area: float


def sections(case: Case) -> Sections:
    """Return the sections of a case."""
    held = case.setting.kind == "clamped"
    return Sections(
        {NOSE: case.nose.mass, AIRFRAME: math.inf if held else case.airframe.mass},
        float(geometry.bore_area(case)),
    )


def figures(courses: Mapping[str, PushCourse], held: Sections) -> dict[str, float]:
    """Return the figures of a separation from the courses of one section or of both.

    The force on one section is m dv/dt; by momentum the other moves by m/M of it. Of two records
    each is weighted by the inverse square of how much it rings.

    Parameters
    ----------
    courses : mapping of str to Course
        By section, one or two.
    held : Sections
        Masses and area.

    Returns
    -------
    dict of str to float
        By the keys of :data:`LABELS`, SI; NaN where too few readings tell it.
    """
    weights = {s: 1.0 / (held.masses[s] * max(c.scatter, 1e-9)) ** 2 for s, c in courses.items()}
    if not all(map(math.isfinite, weights.values())):
        weights = dict.fromkeys(courses, 1.0)
    whole = sum(weights.values())

    def pressure(name: str) -> float:
        forces = (w * held.masses[s] * getattr(courses[s], name) for s, w in weights.items())
        return sum(forces) / whole / held.area

    moved = {s: (c.change, c.travel) for s, c in courses.items()}
    for s, (change, travel) in list(moved.items()):
        ratio = held.masses[s] / held.masses[OTHERS[s]]
        moved.setdefault(OTHERS[s], (ratio * change, ratio * travel))
    found = {name: pressure(name) for name in (RELEASE, PEAK, CLEAR, "mean")}
    found["push"] = float(np.mean([c.end - c.begin for c in courses.values()]))
    found |= {s: moved[s][0] for s in courses}
    found["speed"] = sum(change for change, _ in moved.values())
    found["travel"] = sum(travel for _, travel in moved.values())
    found["energy"] = sum(
        0.5 * held.masses[s] * change**2 for s, (change, _) in moved.items() if change > 0.0
    )
    return found


def logger_figures(
    case: Case, prepared: Sequence[PreparedRecord], rows: Sequence[Sequence[Array]],
    runs: Sequence[ResponseCurve | None],
) -> tuple[LoggerFigure, ...]:  # fmt: skip
    """Return every figure, as logged and as the model would have shown it.

    Parameters
    ----------
    case : Case
        Of the shot.
    prepared : sequence of Prepared
        Records of the shot; those of acceleration are taken.
    rows : sequence of sequence of ndarray
        For each row of scores, what the model shows of every record: the case before, the most
        probable values, then draws.
    runs : sequence of Curve or None
        The runs of these rows.
    """
    logged = {p.record.section: (r, p) for r, p in enumerate(prepared)
              if p.record.kind == ACCELERATION}  # fmt: skip
    if not logged:
        return ()
    held = sections(case)
    pushes = {s: p.push for s, (_, p) in logged.items() if p.push is not None}
    measured = {s: push.course for s, push in pushes.items()}
    seen = [
        _of({s: (p.record.time, row[r], p.clipped) for s, (r, p) in logged.items()}, held)
        for row in rows
    ]
    fine = [_of(_alone(run, logged), held) for run in runs[1:]]
    least = any(p.clipped.any() for _, p in logged.values())
    own = figures(measured, held)
    errors = _errors(measured, own)
    found = []
    # too few readings tell the mean alone
    left_out = {RELEASE, PEAK, CLEAR} if math.isnan(own[PEAK]) else {"mean"}
    for name, (label, dimension) in LABELS.items():
        if name not in own or name in left_out:
            continue
        found.append(
            LoggerFigure(
                name, label, dimension, own[name], errors[name],
                least and name not in ("push", RELEASE, CLEAR), seen[0].get(name, math.nan),
                _range([each.get(name, math.nan) for each in seen[1:]]),
                _range([each.get(name, math.nan) for each in fine]),
            )
        )  # fmt: skip
    return (*found, *_stated(case, pushes, own))


def _alone(
    run: ResponseCurve | None, logged: Mapping[str, object]
) -> dict[str, tuple[Array, Array, None]]:
    """Return the model's own course, with nothing lost."""
    if run is None:
        return {}
    grid = np.arange(run.time[0], run.time[-1], FINE)
    return {s: (grid, averaged(run, s, grid, FINE), None) for s in logged}


def _of(
    series: Mapping[str, tuple[Array, Array, Array | None]], held: Sections
) -> dict[str, float]:
    """Return the figures of a model's curves; none where it does not separate."""
    if not series or any(not np.nanmax(a, initial=0.0) > 1.0 for _, a, _ in series.values()):
        return {}
    return figures({s: shape(*each) for s, each in series.items()}, held)


def _errors(courses: Mapping[str, PushCourse], own: Mapping[str, float]) -> dict[str, float]:
    """Return one standard deviation of every figure: ringing, steps in time, the scale."""
    count = min(c.readings for c in courses.values())
    steps = {s: (c.end - c.begin) / max(c.readings, 1) for s, c in courses.items()}
    ringing = min(
        (c.scatter / max(c.peak, 1e-9) for c in courses.values() if c.readings > 3), default=0.0
    )
    # a seventh of the readings at either end; the middle ones hold the peak's parabola
    edge = math.hypot(SCALE_ERROR, ringing / math.sqrt(max(0.15 * count, 1.0)))
    middle = math.hypot(SCALE_ERROR, ringing / math.sqrt(max(0.3 * count, 1.0)))
    # an edge lies anywhere between two readings
    time = max(steps.values()) / math.sqrt(6.0)
    share = math.hypot(SCALE_ERROR, 0.3 / max(count, 1) ** 1.5)
    found = {name: share * value for name, value in own.items()}
    found |= {RELEASE: edge * own[RELEASE], CLEAR: edge * own[CLEAR], PEAK: middle * own[PEAK]}
    found |= {"push": time, "energy": 2.0 * share * own["energy"]}
    found["travel"] = math.hypot(share, time / own["push"]) * own["travel"]
    found["mean"] = math.hypot(share, time / own["push"]) * own["mean"]
    return found


def _stated(
    case: Case, pushes: Mapping[str, RecordedPush], own: Mapping[str, float]
) -> Iterator[LoggerFigure]:
    """Yield what is compared with the case itself: masses, cord."""
    if len(pushes) == 2:
        ratio = pushes[AIRFRAME].course.change / pushes[NOSE].course.change
        yield LoggerFigure(
            MASS_RATIO, "nose's mass over the airframe's", "ratio", ratio,
            1.5 * SCALE_ERROR * ratio, False, case.nose.mass / case.airframe.mass, NOTHING, NOTHING,
        )  # fmt: skip
    taut = [push.jerk - push.course.end for push in pushes.values() if push.jerk is not None]
    if taut:
        way = own["travel"] + own["speed"] * taut[0]
        yield LoggerFigure(
            CORD, "cord, if nothing slowed the sections", "length", way, CORD_ERROR * way, False,
            math.nan if case.cord is None else case.cord.length, NOTHING, NOTHING,
        )  # fmt: skip


def _range(values: Sequence[float]) -> Range:
    known = [v for v in values if math.isfinite(v)]
    if not known:
        return NOTHING
    low, high = np.quantile(known, (0.025, 0.975))
    # the first is that of the most probable values
    return Range(float(low), values[0], float(high))
