"""What the study of an ascent says: the pull on the closed joint beside what holds it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baypulse.case.quantities import capital, height, short
from baypulse.observed.climb import MEMBERS
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
from baypulse.studies.ascent import figures, words
from baypulse.studies.ascent.compute import AscentResult

UNKNOWN = (
    "The joint is taken as closed, straight and still. Under thrust the sections press on each "
    "other, and no pull of drag is counted then; bending, spin and the shock of the sound barrier "
    "are left out. Air is taken to be as still outside the vents as the altitude says: a hole "
    "near a shoulder, a fin or a corner sees a pressure of its own, which no altitude tells. "
    "Walls and pins keep the temperature that they have on the pad, where pins are weakest: that "
    "of the case, and warmer where the case was measured higher up. Pins that cool during the "
    "ascent with the tube hold more, which is not counted. The gap of the shoulder counts as an "
    "opening as wide as the case says; grease, paint or tape close it."
)
"""What the study does not know."""

CAPTION = (
    "Altitude; pressure of the bay above that outside, with the case's openings and without any; "
    "what pulls the joint apart (trapped air, and drag where its areas are given) against what "
    "holds it. Below zero the joint is pressed together."
)
"""What the figure shows."""


def document(ascent: AscentResult) -> Document:
    """Return what was found about an ascent.

    Parameters
    ----------
    ascent : AscentResult
        Findings.
    """
    drawn = Figure("ascent", CAPTION, lambda: figures.ascent(ascent))
    return of_case(
        ascent.case,
        "ascent",
        about="The closed joint during the ascent",
        headline=words.headline(ascent),
        sentences=tuple(words.meaning(ascent)),
        next_steps=tuple(words.next_steps(ascent)),
        first=_facts(ascent),
        warnings=tuple(ascent.climb.profile.notes),
        sections=(Section("", (drawn, words.way_down(ascent))),),
        unknown=UNKNOWN,
        effort=f"{MEMBERS:,} joints drawn, seed {ascent.seed}. The air of the bay flows through "
        "the openings of the case as in a shot, without burning; its walls warm it.",
        findings=_findings(ascent),
        curves={"ascent.csv": _curves(ascent)},
    )


def compare(found: Sequence[AscentResult]) -> Table:
    """Return a table that compares several ascents.

    Parameters
    ----------
    found : sequence of AscentResult
        Findings of each.
    """
    return Table(
        "ascents",
        (
            Column("case", "case"), Column("pull", "pull", "force"),
            Column("held_low_side", "held or more", "force"), Column("margin", "margin"),
            Column("parts", "parts"),
        ),
        tuple(
            (ascent.name, ascent.force, ascent.low, words.margin(ascent), _parts(ascent))
            for ascent in found
        ),
        title="Ascents compared",
    )  # fmt: skip


def _parts(ascent: AscentResult) -> Said:
    return Said(Quantity(ascent.parts, "ratio"), short(ascent.parts, "ratio"))


def _facts(ascent: AscentResult) -> Facts:
    """Return the numbers of the flight and of the joint."""
    flight = ascent.climb.profile
    apogee = float(flight.altitude[flight.apogee])
    most = float(ascent.climb.difference[: flight.apogee + 1].max())

    def force(value: float) -> Quantity:
        return Quantity(value, "force")

    return Facts(
        "ascent",
        (
            Fact("source", "Ascent", flight.source),
            Fact("greatest_speed", "Greatest speed",
                 Quantity(float(flight.speed[flight.burnout]), "velocity")),
            Fact("apogee", "Apogee above sea level",
                 Said(Quantity(apogee, "length"), height(apogee))),
            Fact("time_to_apogee", "Time to apogee",
                 Quantity(float(flight.time[flight.apogee]), "time")),
            Fact("force", "Greatest pull on the joint", force(ascent.force)),
            Fact("greatest_pressure_difference", "Greatest pressure over the joint",
                 Said(Quantity(most, "stress"), capital(words.pressure(most)))),
            Fact("held", "Held when nothing scatters", force(ascent.held)),
            Fact("held_low_side", f"Held in {words.wanted(ascent)} of the rockets",
                 force(ascent.low)),
            Fact("margin_ratio", "Margin", Said(ascent.margin, words.margin(ascent))),
            Fact("parts", "Joints that part", _parts(ascent)),
        ),
    )  # fmt: skip


def _curves(ascent: AscentResult) -> Table:
    """Return the flight, the air inside and outside, and the pull, over time."""
    flight, still = ascent.climb.profile, ascent.climb.still
    held: list[tuple[str, Any, str]] = [
        ("time", flight.time, "time"),
        ("altitude", flight.altitude, "length"),
        ("speed", flight.speed, "velocity"),
        ("outside_pressure", flight.pressure, "absolute pressure"),
        ("outside_temperature", flight.temperature, "temperature"),
        ("bay_pressure", still.pressure[:, 0], "absolute pressure"),
        ("bay_temperature", still.temperature[:, 0], "temperature"),
        ("pull", ascent.climb.force, "force"),
    ]
    if flight.pull is not None:
        held.append(("drag_pull", flight.pull, "force"))
    if still.pressure.shape[1] > 1:
        held.append(("electronics_pressure", still.pressure[:, 1], "absolute pressure"))
    return Table(
        "curves",
        tuple(Column(name, "", dimension) for name, _, dimension in held),
        tuple(zip(*(values.tolist() for _, values, _ in held), strict=True)),
    )


def _speed_error(ascent: AscentResult) -> float | None:
    """Return the standard deviation of the greatest speed [m/s], None where a case says it."""
    flight = ascent.climb.profile
    return None if flight.speed_error is None else float(flight.speed_error[flight.burnout])


def _findings(ascent: AscentResult) -> dict[str, Any]:
    """Return what stands in no table."""
    climb, flight = ascent.climb, ascent.climb.profile
    k = climb.worst
    sealed = float(ascent.sealed.difference[: flight.apogee + 1].max())
    return {
        "seed": ascent.seed,
        "reliability_ratio": clean(ascent.wanted),
        "log_cannot_tell": ascent.undecided,
        **both("speed_error", _speed_error(ascent), "velocity"),
        "worst": {
            "time_s": clean(float(flight.time[k])),
            **both("altitude", float(flight.altitude[k]), "length"),
            **both("drag", None if flight.pull is None else float(flight.pull[k]), "force"),
            **both("pressure_difference", float(climb.difference[k]), "stress"),
        },
        **both("sealed_pressure_difference", sealed, "stress"),
        **both("altimeter_lag", ascent.lag, "length"),
    }
