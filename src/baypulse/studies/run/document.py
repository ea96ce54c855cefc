"""What a run says: verdict, numbers, margins, curves, and the static rule beside it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from functools import partial
from typing import Any

from baypulse.case.casefile.keys import charge_path, number_at, value_at
from baypulse.case.origins import DEFAULT_LIMIT
from baypulse.case.quantities import capital, digits, short, show
from baypulse.constants import STANDARD_GRAVITY
from baypulse.run.result import Check, Event, Numbers, Result
from baypulse.show import static_rule
from baypulse.show.cells import both, clean
from baypulse.show.document import (
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge
from baypulse.studies.run import figures, words
from baypulse.studies.run.balance_charts import NAMES, shares

UNKNOWN = (
    "One run takes one value for every unknown and says nothing about scatter; for that there is "
    "the command scatter. The widest unknowns are the time in which air mixes "
    "into the burning gas, the burning law, the share of the powder that burns, the friction of "
    "the joint, and the heat given to tube and contents: many of these numbers are estimates, and "
    "the list of what was read says which. No measured pressure trace of a recovery bay was found "
    "to compare with. The model has one pressure and two zones of gas in the bay and moves the "
    "sections along one line: it knows no jet of flame on a wall, no shoulder that tilts and jams, "
    "no lines that tangle. A ground test knows them all."
)
"""What the model does not know."""

CAPTIONS = {
    "course": "Pressure, travel and speed on one axis of time, from the spark to shortly after "
    "the joint is clear. Upright lines mark what happened, level lines what has to be overcome.",
    "pressure-travel": "The same pressure against the travel of the shoulder. What is left of it "
    "after the pins gives the speed.",
    "inside": "What goes on in the bay, on the same axis of time.",
    "cord": "Load of the cord from the moment it is taut, beside what its weakest link stands.",
    "breakdown": "Why the peak differs from the static rule's pressure: each bar adds one effect "
    "to the bay held shut, the last lets the joint move.",
    "budget": "By the end of the run. Bars to the left, if any, are energy gained.",
    "sketch": "From the dimensions of the case.",
}
"""What each figure shows."""

KINDS = {
    "peak_pressure": "gauge pressure", "peak_time": "time", "slip_pressure": "gauge pressure",
    "pin_pressure": "gauge pressure", "clear_time": "time", "clear_velocity": "velocity",
    "clear_energy": "energy", "greatest_velocity": "velocity", "greatest_travel": "length",
    "burnt": "ratio", "cord_load": "force", "cord_time": "time", "cord_strength": "force",
    "velocity_after_jerk": "velocity", "hoop_stress": "stress", "hottest_gas": "temperature",
    "electronics_pulse": "gauge pressure",
}  # fmt: skip
"""Kind of each number of a run that has a unit."""

WITH = (
    ("time", "Time", "time"), ("travel", "Travel", "length"),
    ("gauge_pressure", "Gauge pressure", "gauge pressure"),
    ("separation_velocity", "Separation", "velocity"),
)  # fmt: skip
"""What is told of every event: name, label, kind."""


def document(result: Result) -> Document:
    """Return what a run says.

    Parameters
    ----------
    result : Result
        A run.
    """
    return dataclasses.replace(
        answer(result),
        sections=(
            Section("Margins", (_margins(result),)),
            Section("Pressure and motion", _drawn(result, "course", "pressure-travel")),
            _beside_the_rule(result),
            *(Section("Cord", (each,)) for each in _drawn(result, "cord")),
            Section("What happened, in order", (_events(result),)),
            Section("Where the energy went", (*_drawn(result, "budget"), _budget(result))),
            Section("Inside the bay", _drawn(result, "inside")),
            Section("The bay", _drawn(result, "sketch")),
        ),
        findings=_findings(result),
        curves={"curves.csv": _curves(result)},
    )


def answer(result: Result) -> Document:
    """Return what a run says first, without what asks for more runs.

    Parameters
    ----------
    result : Result
        A run.
    """
    return of_case(
        result.case,
        "run",
        about=f"Charge: {charge(result.case)}",
        headline=words.headline(result),
        sentences=tuple(words.reasons(result)),
        next_steps=tuple(words.next_steps(result)),
        first=_key_numbers(result),
        sections=(),
        unknown=UNKNOWN,
        effort=f"One run at the nominal values, {result.steps:,} steps.",
        findings={},
    )


def compare(found: Sequence[Result]) -> Table:
    """Return a table of the runs of several cases.

    Parameters
    ----------
    found : sequence of Result
        Runs, one a case.
    """
    return Table(
        "runs",
        (
            Column("case", "case"), Column("verdict", "verdict"), Column("charge", "charge"),
            Column("peak_pressure", "peak"), Column("clear_velocity", "speed", absent="not clear"),
            Column("narrowest_margin", "least margin"),
        ),
        tuple(_compared(result) for result in found),
        title="Runs at the nominal values",
        note="Speed: that of the separation when the joint is clear. The margin is that of the "
        "check that is met by least; below 1 it is not met. One run takes one value for every "
        "unknown; next, for all that scatters: baypulse window and the file of the case.",
    )  # fmt: skip


def _compared(result: Result) -> tuple[Any, ...]:
    path = charge_path(result.case)
    checks = [check for check in result.checks if math.isfinite(check.margin)]
    least = min(checks, key=lambda check: check.margin, default=None)
    return (
        result.case.name, words.brief(result),
        _brief(value_at(result.case, path), number_at(path).dimension),
        _brief(result.numbers.peak_pressure, "gauge pressure"),
        _brief(result.numbers.clear_velocity, "velocity"),
        None if least is None else f"{digits(least.margin)} {least.name.lower()}",
    )  # fmt: skip


def _brief(value: float | None, kind: str) -> Said | None:
    """Return a value in its first unit only."""
    return None if value is None else Said(Quantity(value, kind), short(value, kind))


def _drawn(result: Result, *names: str) -> tuple[Figure, ...]:
    """Return those of some figures that a run has."""
    return tuple(
        Figure(name, CAPTIONS[name], partial(figures.figure, result, name))
        for name in names
        if name in figures.names(result)
    )


def _key_numbers(result: Result) -> Facts:
    """Return the numbers that people ask for first."""
    held, case = result.numbers, result.case

    def fact(label: str, name: str, more: str = "") -> Fact | None:
        value, kind = getattr(held, name), KINDS[name]
        if value is None or not math.isfinite(value):
            return None
        text = short(value, kind) if kind == "ratio" else show(value, kind)
        return Fact(name, label, Said(Quantity(value, kind), f"{text}{more}"))

    stroke = case.joint.shoulder_length
    jerk = (held.cord_load or 0.0) / (case.nose.mass * STANDARD_GRAVITY)
    torn = sum(energy > 0.0 for energy in held.brake_energy)
    taken = sum(held.brake_energy)
    rows = (
        fact("Peak pressure", "peak_pressure", f" gauge, after {show(held.peak_time, 'time')}"),
        fact("Retention by friction alone", "slip_pressure"),
        fact("Retention by friction and pins", "pin_pressure", " in a shot") if case.pins else None,
        fact("Clear after", "clear_time"),
        fact("Separation velocity when clear", "clear_velocity"),
        fact("Greatest separation velocity", "greatest_velocity"),
        fact("Energy of the separation", "clear_energy"),
        None if held.clear_energy is not None
        else fact("Greatest travel", "greatest_travel", f" of {show(stroke, 'length')}"),
        fact("Powder burnt", "burnt") if case.powder else None,
        fact("Cord load, peak", "cord_load", f", as {digits(jerk)} g on the section that leaves"),
        Fact(
            "brake", "Taken by the cord's brake",
            Said(Quantity(taken, "energy"),
                 f"{show(taken, 'energy')}, by {torn} of {len(held.brake_energy)} stages"),
        ) if held.brake_energy else None,
        fact("Speed after the jerk", "velocity_after_jerk"),
        fact("Pulse in the electronics bay", "electronics_pulse"),
    )  # fmt: skip
    return Facts("key_numbers", tuple(row for row in rows if row is not None))


def _margins(result: Result) -> Table:
    return Table(
        "margins",
        (
            Column("name", "Check"), Column("value", "This run"), Column("must", "Must"),
            Column("limit", "Against"), Column("margin_ratio", "Margin", absent="no limit"),
            Column("met", "Met"),
        ),
        tuple(_margin(check) for check in result.checks),
        note="A margin of 1 is just enough. What has to be overcome is compared with the pressure "
        "that this bay would reach with its joint held shut, which lies above the run's own peak: "
        f"a joint that moves makes room.{_defaults(result)}",
    )  # fmt: skip


def _defaults(result: Result) -> str:
    """Say which limits are defaults."""
    origins = result.case.provenance.items()
    named = [path for path, each in origins if each.source == DEFAULT_LIMIT]
    if not named:
        return ""
    are = "are cautious defaults" if len(named) > 1 else "is a cautious default"
    return f" {', '.join(named)} {are}: type yours."


def _margin(check: Check) -> tuple[Any, ...]:
    name = f"pressure held shut, against {check.name}" if check.must == "exceed" else check.name
    value, limit = (Quantity(each, check.dimension) for each in (check.value, check.limit))
    return (capital(name), value, check.must, limit, check.margin, check.met)


def _beside_the_rule(result: Result) -> Section:
    """Return what the static rule promises, and what lies between that and the peak."""
    rule = result.rule
    said = (
        "The static rule is common practice, no source. Its target is "
        f"{show(rule.target_pressure, 'gauge pressure')}, a force of "
        f"{show(rule.target_force, 'force')} on the bore."
    )
    answers = Table(
        "static_rule",
        (
            Column("name", "Rule"), Column("volume", "Volume", "volume"),
            Column("promised_pressure", "Promises for this charge", "gauge pressure"),
            Column("target_mass", "Powder for the target", "mass"),
            Column("needed_mass", "For target and pins", "mass"),
        ),
        tuple(
            (name, each.volume, each.promised_pressure, each.target_mass, each.needed_mass)
            for name, each in (("empty-bay rule", rule.empty), ("free-volume rule", rule.free))
        ),
    )  # fmt: skip
    held = show(result.breakdown.held_peak, "gauge pressure")
    steps = Table(
        "breakdown",
        (Column("name", "With"), Column("gauge_pressure", "Gauge pressure", "gauge pressure")),
        result.breakdown.steps,
        note=f"Held shut, this bay would reach {held}.",
        look="again",
    )
    return Section("Beside the static rule", (said, answers, *_drawn(result, "breakdown"), steps))


def _events(result: Result) -> Table:
    # what is nothing but rounding of the solver is not printed with three digits
    rows = tuple(
        (name, event.time, round(event.travel, 6), round(event.gauge_pressure, 3),
         round(event.velocity, 4))
        for name, event in words.happened(result)
    )  # fmt: skip
    return Table(
        "in_order", (Column("name", "Event"), *(Column(*each) for each in WITH)), rows, look="tight"
    )


def _budget(result: Result) -> Table:
    held = result.budget
    left = abs(held.gas_residual) + abs(held.motion_residual)
    terms = shares(result)
    return Table(
        "budget",
        (Column("name", "Share"), Column("energy", "Energy", "energy"),
         Column("share_ratio", "Of the charge's")),
        tuple(
            (NAMES.get(name, name), value, Said(share, short(share, "ratio")))
            for name, value in terms
            for share in [value / (held.total or 1.0)]
        ),
        note=f"The terms add up to {show(held.total, 'energy')}; the balances of gas and motion "
        f"close to {show(left, 'energy')}.",
        look="again",
    )  # fmt: skip


def _curves(result: Result) -> Table:
    """Return every curve, a column each, for a spreadsheet."""
    return Table(
        "curves",
        tuple(Column(each.name, each.label, each.dimension) for each in result.curves.values()),
        tuple(zip(*(each.values.tolist() for each in result.curves.values()), strict=True)),
    )


def _findings(result: Result) -> dict[str, Any]:
    """Return what stands in no table as it is."""
    held = result.budget
    return {
        "verdict": result.verdict,
        "parachute": result.contents,
        "tears_wall": result.tears_wall,
        "status": result.status,
        "message": result.message,
        "numbers": _numbers(result.numbers),
        "events": [_event(each) for each in result.events],
        "static_rule": static_rule.findings(result.rule),
        **both("held_peak", result.breakdown.held_peak, "gauge pressure"),
        "energy_budget": {
            "total_J": clean(held.total),
            "terms": [{"name": n, "energy_J": clean(value)} for n, value in held.terms.items()],
            "gas_residual_J": clean(held.gas_residual),
            "motion_residual_J": clean(held.motion_residual),
            "mass_residual_kg": clean(held.mass_residual),
        },
    }


def _numbers(held: Numbers) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in dataclasses.asdict(held).items():
        found |= both(name, value, KINDS[name]) if name in KINDS else {name: value}
    return {**found, "brake_energy_J": clean(found.pop("brake_energy"))}


def _event(event: Event) -> dict[str, Any]:
    values = (event.time, event.travel, event.gauge_pressure, event.velocity)
    found: dict[str, Any] = {"name": event.name}
    for (name, _, kind), value in zip(WITH, values, strict=True):
        found |= both(name, value, kind)
    return found
