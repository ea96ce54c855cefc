"""From a case to a result: one run of the engine, and what it means."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from baypulse.case import cord_fields, geometry, params
from baypulse.case.model import Case
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event import EventCode, pin_of, slack_event
from baypulse.engine.parameters import NEVER, Parameters
from baypulse.engine.rates import Force
from baypulse.engine.status import MESSAGES
from baypulse.errors import SolveError
from baypulse.physics import fit
from baypulse.run.breakdown import breakdown, static_rule
from baypulse.run.budget import budget
from baypulse.run.result import Curve, Event, EventKind, Numbers, Result
from baypulse.run.verdict import judge, limit_checks

KINDS = {code: EventKind[code.name] for code in EventCode if code.name in EventKind.__members__}
"""What people are told of an event; nothing of the others, and of the brake its stage."""

PIN_KINDS = {
    fit.LOADED: EventKind.PIN_BEARS,
    fit.FAILING: EventKind.PIN_FAILS,
    fit.GONE: EventKind.PIN_GONE,
}
"""What people are told of a pin that goes to its next stage."""


def simulate(case: Case, *, strict: bool = False) -> Result:
    """Run one case.

    Parameters
    ----------
    case : Case
        Validated case, from :func:`baypulse.load`.
    strict : bool
        Raise when the solver has to stop early, instead of returning what it has.

    Returns
    -------
    Result
        Curves, events, numbers, budget and verdict.

    Raises
    ------
    SolveError
        Only if ``strict``; carries the partial result.
    """
    P = params.parameters(case)
    track = run.integrate(P, case.run.end_time, case.run.tolerance)
    seen = run.observe(track, P)
    result = interpret(case, P, track, seen)
    if strict and not result.good:
        raise SolveError(result.message, result)
    return result


def interpret(case: Case, P: Parameters, track: run.Track, seen: run.Observed) -> Result:
    """Turn the engine's tables into a result."""
    curves = _curves(case, P, seen)
    events = _events(P, track, curves)
    numbers = _numbers(case, P, events, curves)
    limits = limit_checks(case, numbers)
    verdict, contents, reasons = judge(case, P, track.status, events, numbers, limits)
    return Result(
        case=case,
        status=track.status,
        message=MESSAGES[track.status],
        verdict=verdict,
        contents=contents,
        tears_wall=params.pin_tears_wall(case),
        reasons=reasons,
        curves=curves,
        events=events,
        numbers=numbers,
        budget=budget(case, P, seen, track.phases[-1].modes),
        rule=static_rule(case),
        steps=track.steps,
        limit_checks=limits,
        make_breakdown=lambda: breakdown(case, P, numbers.peak_pressure),
    )


def _curves(case: Case, P: Parameters, seen: run.Observed) -> dict[str, Curve]:
    y, bay = seen.states, P.chamber
    x, v = y[:, at.NOSE_X] - y[:, at.FRAME_X], y[:, at.NOSE_V] - y[:, at.FRAME_V]
    first = at.VOLUMES + at.PER_VOLUME * bay
    rows = [
        ("time", "time", "s", "time", seen.times),
        ("pressure", "bay pressure, absolute", "Pa", "absolute pressure", seen.volumes[:, bay, 0]),
        ("gauge_pressure", "bay pressure, gauge", "Pa", "gauge pressure",
         seen.volumes[:, bay, 0] - P.p_ambient),
        ("hot_temperature", "hot zone temperature", "K", "temperature",
         _where_gas_is(seen.volumes[:, bay, 2])),
        ("cold_temperature", "cold zone temperature", "K", "temperature",
         _where_gas_is(seen.volumes[:, bay, 3])),
        ("burnt_fraction", "burnt share of the charge", "1", "ratio",
         np.maximum.accumulate(y[:, at.MADE])),
        ("products_mass", "products in the bay", "kg", "mass", y[:, first + at.M_B]),
        ("hot_air_mass", "air in the hot zone", "kg", "mass", y[:, first + at.M_A1]),
        ("cold_air_mass", "air in the cold zone", "kg", "mass", y[:, first + at.M_A2]),
        ("travel", "travel", "m", "length", x),
        ("separation_velocity", "separation velocity", "m/s", "velocity", v),
        ("nose_position", "nose position", "m", "length", y[:, at.NOSE_X]),
        ("nose_velocity", "nose velocity", "m/s", "velocity", y[:, at.NOSE_V]),
        ("airframe_position", "airframe position", "m", "length", y[:, at.FRAME_X]),
        ("airframe_velocity", "airframe velocity", "m/s", "velocity", y[:, at.FRAME_V]),
        ("push_force", "push of the pressure", "N", "force", seen.forces[:, Force.PUSH]),
        ("pin_force", "pins", "N", "force", seen.forces[:, Force.PINS]),
        ("friction_force", "friction", "N", "force", seen.forces[:, Force.FRICTION]),
        ("cord_force", "cord load", "N", "force",
         seen.forces[:, Force.CORD] + seen.forces[:, Force.BRAKE]),
        ("pack_friction", "friction of the pack", "N", "force", seen.forces[:, Force.PACKING]),
    ]  # fmt: skip
    for k, name in enumerate(params.volume_names(case)):
        if k != bay or P.back >= 0:
            side = params.AHEAD if k == P.bay else name
            rows.append((f"{_key(side)}_gauge_pressure", f"{side} pressure, gauge", "Pa",
                         "gauge pressure", seen.volumes[:, k, 0] - P.p_ambient))  # fmt: skip
    for j, name in enumerate(params.opening_names(case)):
        key = _key(name)
        if any(row[0] == f"{key}_flow" for row in rows):
            key = f"{key}_{j + 1}"
        rows.append((f"{key}_flow", f"flow, {name}", "kg/s", "mass flow", seen.flows[:, j]))
    for j, name in enumerate(params.surface_names(case)):
        rows.append((f"{_key(name)}_temperature", f"{name} skin temperature", "K", "temperature",
                     seen.skins[:, j]))  # fmt: skip
    return {row[0]: Curve(*row) for row in rows}


def _where_gas_is(T: np.ndarray) -> np.ndarray:
    """Return temperatures of a zone [K], NaN where it holds no gas, which the core writes as 0."""
    return np.where(T > 0.0, T, np.nan)


def _key(name: str) -> str:
    """Return a name as an attribute."""
    return "".join(c if c.isalnum() else "_" for c in name)


def _tells_more(kind: EventKind, at_pressure: float, earlier: Event) -> bool:
    """Say whether a repeated event replaces the earlier one.

    A joint that creeps slips and stops dozens of times: its first slip, its last stop and the
    highest pressure peak tell the story.
    """
    if kind is EventKind.PEAK:
        return at_pressure > earlier.gauge_pressure
    return kind is EventKind.STOP


def _told(P: Parameters, track: run.Track) -> Iterator[tuple[float, EventKind, int | None]]:
    """Give time and kind of the events that people are told, with the number of pin or stage."""
    pins, ends = [fit.SLACK] * P.pin_strength.size, 0
    for t, code in track.events:
        pin = pin_of(code)
        if pin >= 0:
            pins[pin] = fit.SLACK if code == slack_event(pin) else pins[pin] + 1
            if pins[pin] != fit.SLACK:
                yield t, PIN_KINDS[pins[pin]], pin + 1
        elif code == EventCode.BRAKE:
            kind = EventKind.BRAKE_TORN if ends % 2 else EventKind.BRAKE_TEARS
            yield t, kind, ends // 2 + 1
            ends += 1
        elif code in KINDS:
            yield t, KINDS[EventCode(code)], None


def _events(P: Parameters, track: run.Track, curves: dict[str, Curve]) -> list[Event]:
    found: list[Event] = []
    time, gauge = curves["time"].values, curves["gauge_pressure"].values
    for t, kind, number in _told(P, track):
        at_point = min(int(np.searchsorted(time, t)), time.size - 1)
        earlier = next((e for e in found if (e.kind, e.number) == (kind, number)), None)
        if earlier is not None:
            if not _tells_more(kind, at_pressure=gauge[at_point], earlier=earlier):
                continue
            found.remove(earlier)
        found.append(
            Event(kind, number, float(t), *(float(curves[c].values[at_point])
                                     for c in ("travel", "gauge_pressure", "separation_velocity")))
        )  # fmt: skip
    return found


def _summit(time: np.ndarray, values: np.ndarray) -> tuple[float, float]:
    """Return time and height of a smooth peak: the parabola through its three highest points."""
    k = int(np.argmax(values))
    if not 0 < k < values.size - 1:
        return float(time[k]), float(values[k])
    t, v = time[k - 1 : k + 2] - time[k], values[k - 1 : k + 2] - values[k]
    if not (t[0] < 0.0 < t[2] and max(v[0], v[2]) < 0.0):
        return float(time[k]), float(values[k])  # a jump, or level
    # v = b t + c t^2 through both neighbours
    c = (v[0] / t[0] - v[2] / t[2]) / (t[0] - t[2])
    b = v[0] / t[0] - c * t[0]
    return float(time[k] - 0.5 * b / c), float(values[k] - 0.25 * b * b / c)


def _highest_pressure(P: Parameters, curves: dict[str, Curve]) -> np.ndarray:
    """Return the gauge pressure on that side of the contents on which it is higher [Pa]."""
    if P.back < 0:
        return curves["gauge_pressure"].values
    sides = (curves[f"{_key(side)}_gauge_pressure"] for side in (params.AHEAD, params.BEHIND))
    return np.maximum(*(curve.values for curve in sides))


def _numbers(case: Case, P: Parameters, events: list[Event], curves: dict[str, Curve]) -> Numbers:
    def first(kind: EventKind) -> Event | None:
        return next((e for e in events if e.kind is kind), None)

    gauge = _highest_pressure(P, curves)
    peak = int(np.argmax(gauge))
    hold = geometry.shot_hold(case)
    pins = float(P.pin_strength.sum())
    clear, slack = first(EventKind.CLEAR), first(EventKind.CORD_SLACK)
    nose, frame = P.nose_mass, P.airframe_mass + P.contents_mass
    reduced = nose if P.stand_friction >= NEVER else nose * frame / (nose + frame)
    speeds = curves["time"].values, curves["separation_velocity"].values
    cord_time, cord_load = _summit(curves["time"].values, curves["cord_force"].values)
    travel = float(curves["travel"].values.max())
    braked = np.clip(travel, P.brake_start, P.brake_stop) - P.brake_start
    pulled = first(EventKind.TAUT) is not None or first(EventKind.BRAKE_TEARS) is not None
    strength, link = cord_fields.cord_strength(case) if case.cord is not None else (None, "")
    pulse = curves.get("electronics_gauge_pressure")
    return Numbers(
        peak_pressure=float(gauge[peak]),
        peak_time=float(curves["time"].values[peak]),
        slip_pressure=(hold.friction + hold.seal) / hold.area,
        pin_pressure=(hold.friction + hold.seal + pins) / hold.area,
        clear_time=clear.time if clear else None,
        clear_velocity=clear.velocity if clear else None,
        clear_energy=0.5 * reduced * clear.velocity**2 if clear else None,
        greatest_velocity=_summit(*speeds)[1] if clear else None,
        greatest_travel=travel,
        burnt=float(curves["burnt_fraction"].values[-1]),
        cord_load=cord_load if pulled else None,
        cord_time=cord_time if pulled else None,
        cord_strength=strength,
        velocity_after_jerk=-slack.velocity if slack else None,
        weakest_link=link,
        hoop_stress=geometry.hoop_stress(case, float(gauge[peak])),
        hottest_gas=float(curves["hot_temperature"].values.max()),
        electronics_pulse=None if pulse is None else float(pulse.values.max()),
        brake_energy=tuple((P.brake_force * braked).tolist()),
    )
