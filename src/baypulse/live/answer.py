"""What the page shows of one run at once: verdict, numbers, curves with their marks."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import charge_path, number_at, value_at
from baypulse.case.model import Case
from baypulse.caution import CAUTION
from baypulse.live.axes import axis, drawn
from baypulse.live.drawing import drawing
from baypulse.run.result import EventKind, Result, Verdict
from baypulse.show.figures.base import marks, moved, window
from baypulse.show.phrases import charge
from baypulse.studies.run import words

POINTS = 220
"""Points of a curve that is sent: more than a phone has pixels to show."""

ROOM = 1.15
"""Height of a chart over what it has to hold."""

BEYOND = 1.3
"""How far travel is drawn, over the length of the shoulder."""

SHAPES = {
    Verdict.SEPARATES: "good",
    Verdict.SEPARATES_TOO_HARD: "hard",
    Verdict.PARTIAL_SEPARATION: "partial",
    Verdict.NO_SEPARATION: "none",
    Verdict.UNDECIDED: "open",
}
"""Which shape and colour the page gives a verdict, beside its words."""

RULE = "empty-bay rule (common practice, no source)"
"""What the rule's charge and pressure are called."""


def answer(result: Result) -> dict[str, Any]:
    """Return what is shown of a run, ready for JSON; written in the units in use.

    Parameters
    ----------
    result : Result
        The run.
    """
    return {
        "charge": charge(result.case),
        "caution": CAUTION,
        "verdict": {
            "words": words.headline(result),
            "shape": SHAPES[result.verdict],
            "reasons": [f"{quantities.capital(each.rstrip('.'))}." for each in result.reasons],
        },
        "numbers": numbers(result),
        "doubts": [
            {"key": key, "text": sentence} for key, sentence in consistency.doubts(result.case)
        ],
        "charts": charts(result),
        "drawing": drawing(result.case),
    }


def more(result: Result) -> dict[str, Any]:
    """Return what may come a moment later: all reasons, next steps, and the texts of the cursor.

    Parameters
    ----------
    result : Result
        The run.
    """
    return {
        "reasons": words.reasons(result),
        "next": words.next_steps(result),
        "readings": readings(result),
    }


def numbers(result: Result) -> list[dict[str, str]]:
    """Return the numbers that matter, each with its name."""
    found, case = result.numbers, result.case
    rows = [
        ("peak pressure", found.peak_pressure, "gauge pressure"),
        ("pressure that overcomes the retention", found.pin_pressure, "gauge pressure"),
        ("speed when clear", found.clear_velocity, "velocity"),
        ("clear after", found.clear_time, "time"),
        ("peak load of the cord", found.cord_load, "force"),
        (f"strength of the {found.weakest_link}", found.cord_strength, "force"),
    ]  # fmt: skip
    if case.powder is not None:
        rows.append((f"charge of the {RULE}", result.rule.empty.needed_mass, "mass"))
    return [
        {"name": name, "text": quantities.show(value, dimension)}
        for name, value, dimension in rows
        if value is not None
    ]


def charts(result: Result) -> dict[str, Any]:
    """Return the four charts by their names."""
    part = points(result)
    return {
        "pressure": _pressure(result, part),
        "travel": _travel(result),
        "speed": _speed(result, part),
        "cord": _cord(result),
    }


def points(result: Result) -> np.ndarray:
    """Return the indices of the points that are drawn against time; the peak is one of them."""
    inside = np.arange(result.time.size)[window(result).points(result.time)]
    return thinned(result.gauge_pressure, inside)


def thinned(values: np.ndarray, among: np.ndarray) -> np.ndarray:
    """Return at most :data:`POINTS` of some indices, and where the values are highest.

    Parameters
    ----------
    values : ndarray
        Of the curve.
    among : ndarray of int
        Indices of it.
    """
    if not among.size:
        return among
    few = among[np.unique(np.linspace(0, among.size - 1, POINTS).astype(int))]
    return np.union1d(few, among[np.argmax(np.nan_to_num(values[among]))])


def levels(result: Result) -> list[dict[str, Any]]:
    """Return the pressures to compare with: retention first, then the rule's promise."""
    rows = [("friction and pins" if result.case.pins else "friction", result.numbers.pin_pressure)]
    rows.append(("empty-bay rule", result.rule.empty.promised_pressure))
    return [
        {
            "at": drawn(np.array([value]), "gauge pressure")[0],
            "text": f"{name} {quantities.short(value, 'gauge pressure')}",
        }
        for name, value in rows
    ]  # fmt: skip


def readings(result: Result) -> list[str]:
    """Return what the cursor reads at each point against time."""
    rows = [
        (result.gauge_pressure, "gauge pressure", "gauge"),
        (result.travel, "length", "of travel"),
        (result.separation_velocity, "velocity", "apart"),
    ]
    return [
        f"{quantities.short(float(result.time[k]), 'time')}: "
        + ", ".join(f"{quantities.short(float(curve[k]), kind)} {of}" for curve, kind, of in rows)
        for k in points(result)
    ]


def _pressure(result: Result, part: np.ndarray) -> dict[str, Any]:
    gauge = result.gauge_pressure
    held = [result.numbers.pin_pressure, result.rule.empty.promised_pressure]
    span = window(result)
    # a rule's promise far above all else would flatten the curve
    high = max(float(gauge[part].max(initial=0.0)), held[0], min(held[1], 2.0 * held[0]))
    return {
        "x": axis("time after the firing command", "time", span.start, span.stop),
        "y": axis("gauge pressure", "gauge pressure", min(float(gauge[part].min()), 0.0),
                  ROOM * high),
        "line": {"x": drawn(result.time[part], "time"), "y": drawn(gauge[part], "gauge pressure")},
        "levels": levels(result),
        "marks": _marks(result),
    }  # fmt: skip


def _marks(result: Result) -> list[dict[str, Any]]:
    span = window(result)
    return [
        {"at": drawn(np.array([time]), "time")[0], "text": name}
        for time, _, name in marks(result)
        if span.start <= time <= span.stop
    ]


def _travel(result: Result) -> dict[str, Any]:
    stroke = result.case.joint.shoulder_length
    clear = result.numbers.clear_time is not None
    end = BEYOND * stroke if clear else max(1.1 * result.numbers.greatest_travel, 0.05 * stroke)
    beyond = np.flatnonzero(result.travel > end)
    last = int(beyond[0]) + 1 if beyond.size else result.travel.size
    part = thinned(result.gauge_pressure, np.arange(last))
    gauge = result.gauge_pressure[part]
    return {
        "x": axis("travel of the shoulder", "length", 0.0, end),
        "y": axis("gauge pressure", "gauge pressure", min(float(gauge.min()), 0.0),
                  ROOM * max(float(gauge.max()), result.numbers.pin_pressure)),
        "line": {"x": drawn(result.travel[part], "length"), "y": drawn(gauge, "gauge pressure")},
        "levels": levels(result)[:1],
        "marks": [
            {"at": drawn(np.array([travel]), "length")[0], "text": name}
            for _, travel, name in marks(result, burst=False) if travel <= end
        ],
        "empty": "" if moved(result) else "the joint hardly moves",
    }  # fmt: skip


def _speed(result: Result, part: np.ndarray) -> dict[str, Any]:
    speed = result.separation_velocity
    span, limit = window(result), result.case.limits.separation_velocity
    high = max(float(speed[part].max(initial=0.0)), limit or 0.0, 1.0)
    level = [] if limit is None else [
        {"at": drawn(np.array([limit]), "velocity")[0],
         "text": f"limit {quantities.short(limit, 'velocity')}"}
    ]  # fmt: skip
    return {
        "x": axis("time after the firing command", "time", span.start, span.stop),
        "y": axis("separation speed", "velocity", min(float(speed[part].min()), 0.0), ROOM * high),
        "line": {"x": drawn(result.time[part], "time"), "y": drawn(speed[part], "velocity")},
        "levels": level,
        "marks": _marks(result),
    }


def _cord(result: Result) -> dict[str, Any]:
    load = np.abs(result.cord_force)
    taut = result.event(EventKind.TAUT) or result.event(EventKind.BRAKE_TEARS)
    slack, strength = result.event(EventKind.CORD_SLACK), result.numbers.cord_strength
    if taut is None:
        why = "the cord does not come taut" if result.case.cord else "the case has no cord"
        empty: dict[str, list[float]] = {"x": [], "y": []}
        return {"x": axis("time", "time", 0.0, 1.0), "y": axis("load", "force", 0.0, 100.0),
                "line": empty, "levels": [], "marks": [], "empty": why}  # fmt: skip
    stop = slack.time if slack else float(result.time[-1])
    room = 0.15 * (stop - taut.time)
    among = np.flatnonzero((result.time >= taut.time - room) & (result.time <= stop + room))
    part = thinned(load, among)
    high = max(float(load[part].max(initial=0.0)), strength or 0.0)
    level = [] if strength is None else [
        {"at": drawn(np.array([strength]), "force")[0],
         "text": f"{result.numbers.weakest_link} {quantities.short(strength, 'force')}"}
    ]  # fmt: skip
    return {
        "x": axis("time after the firing command", "time", taut.time - room, stop + room),
        "y": axis("cord load", "force", 0.0, ROOM * high),
        "line": {"x": drawn(result.time[part], "time"), "y": drawn(load[part], "force")},
        "levels": level,
        "marks": [{"at": drawn(np.array([taut.time]), "time")[0], "text": "cord taut"}],
        "empty": "",
    }


def present_charge(case: Case) -> tuple[str, float, str]:
    """Return path, value [SI] and kind of the charge of a case."""
    path = charge_path(case)
    return path, float(value_at(case, path)), number_at(path).dimension
