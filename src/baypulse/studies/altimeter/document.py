"""What the study of the electronics bay says: pulse, altitude, leak against static ports."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baypulse.show.cells import both, chance, clean
from baypulse.show.document import (
    Column,
    Document,
    Figure,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge, of_the_shots
from baypulse.studies.altimeter import figures, words
from baypulse.studies.altimeter.electronics_pulse import CONVECTION
from baypulse.studies.altimeter.result import SHARES, Altimeters, Leak, Shown

UNKNOWN = (
    "The standard atmosphere turns pressure into altitude, as an altimeter does that knows "
    "nothing of the day's weather. The gas that leaks in keeps its heat during the shot, so the "
    f"pulse is rather too high than too low. Behind it the walls cool it with {CONVECTION:g} "
    "W/m^2/K, an estimate that decides how deep the suction is. The outside of the static ports "
    "is taken to stand at the surroundings' pressure: gas from the separating joint that blows "
    "past them, and the airflow of a moving rocket, are not in the model. A wire hole is a plain "
    "hole here; wires and tape in it make it smaller. The largest leak is a hole of just that "
    "size: what spread a case gives its leaks has no part in it. What a given altimeter makes of "
    "such a pulse, and what its software drops, only its maker and a test can say. How large an "
    "error does no harm is for you to say; 30 m, where nothing else is given, is an estimate. "
    "A baffle before the leak, or a box around the altimeter with a port of its own to the "
    "outside, can keep the pulse off the sensor; neither is computed here."
)
"""What the study does not know."""

CAPTIONS = {
    "pulse": "With nothing scattering. Above: pressure in the bay and in the electronics bay, over "
    "the outside's. Below: by how much the altimeter is wrong; below zero it shows too low. Level "
    "lines: the wanted error, either way.",
    "filter": "With nothing scattering, over seconds: the error behind a filter of first order. "
    "Hatched: between which the greatest error lies that an altimeter shows which samples before "
    "it smooths, as the pulse falls between its samples.",
    "leak": "With nothing scattering: by how much the altimeter shows too low, at most, over the "
    "leak and the static ports, each put together as one hole. Heavy line: the wanted error with "
    "nothing scattering; upright line: the largest leak, for the wanted share of the shots.",
}
"""What each figure shows."""

TOO_LOW = Column("too_low_by", "Too low by", "altitude")
"""By how much an altimeter shows too low, at most."""

BEYOND = Column("beyond_wanted_for", "Beyond the wanted error for")
"""For how long it is wrong by more than the wanted error."""


def document(found: Altimeters) -> Document:
    """Return what was found about an altimeter.

    Parameters
    ----------
    found : Altimeters
        Findings.
    """
    aloft = Table(
        "same_pulse_at",
        (Column("altitude", "At", "altitude"), TOO_LOW),
        tuple(
            (h if h else Said(Quantity(h, "altitude"), "sea level"), error)
            for h, error in found.aloft
        ),
    )
    return of_case(
        found.case,
        "altimeter",
        about=f"Charge: {charge(found.case)}",
        headline=words.headline(found),
        sentences=tuple(words.meaning(found)),
        next_steps=tuple(words.next_steps(found)),
        first=_shots(found),
        warnings=found.warnings,
        sections=(
            Section(
                "The pulse and the altitude",
                (_figure("pulse", found), _figure("filter", found), *words.seen(found)),
            ),
            Section("Leak and static ports", (_figure("leak", found), _changes(found))),
            Section("The same pulse at other altitudes", (*words.aloft(found), aloft)),
        ),
        unknown=UNKNOWN,
        effort=f"{found.members:,} shots, seed {found.seed}; {found.followed:,} of them were "
        f"followed point by point; {found.runs:,} runs. They end with the gas: cord and brake are "
        "left out.",
        findings=_findings(found),
        curves={"altimeter.csv": _curves(found)},
    )


def compare(found: Sequence[Altimeters]) -> Table:
    """Return a table of the altimeters of several cases.

    Parameters
    ----------
    found : sequence of Altimeters
        Findings, one a case.
    """
    return Table(
        "altimeters",
        (
            Column("case", "case"), TOO_LOW, BEYOND, Column("leak", "leak", "length"),
            Column("largest_leak", "largest leak", "length", absent="none"),
        ),
        tuple(
            (each.case.name, each.nominal.low, _lasting(each.nominal.beyond), each.leak.present,
             each.leak.largest)
            for each in found
        ),
        title="Altimeters: the error, and the leak as one hole beside the largest that keeps the "
        "wanted error",
    )  # fmt: skip


def _figure(name: str, found: Altimeters) -> Figure:
    return Figure(name, CAPTIONS[name], lambda: figures.DRAW[name](found))


def _lasting(time: float) -> Quantity | Said:
    lasting = Quantity(time, "time")
    return lasting if time else Said(lasting, "not at all")


def _shots(found: Altimeters) -> Table:
    """Return how the shots scatter."""

    def heights(values: Sequence[float]) -> list[Quantity]:
        return [Quantity(each, "altitude") for each in values]

    return Table(
        "shots",
        of_the_shots(SHARES),
        (
            ("shows too low by", *heights(found.lows)),
            ("beyond the wanted error for", *map(_lasting, found.durations)),
            ("shows too high by (suction)", *heights(found.highs)),
        ),
    )  # fmt: skip


def _changes(found: Altimeters) -> Table:
    """Return what changes do."""
    return Table(
        "changes",
        (
            Column("name", "With nothing scattering"), TOO_LOW, BEYOND,
            Column("filtered", "Behind a filter", "altitude"),
        ),
        tuple(
            (each.name or "as it is", each.low, _lasting(each.beyond), abs(each.filtered[1]))
            for each in (found.nominal, *found.changes)
        ),
    )  # fmt: skip


def _curves(found: Altimeters) -> Table:
    """Return the curves with nothing scattering."""
    held = found.pulse
    return Table(
        "curves",
        (
            Column("time", "", "time"),
            Column("bay_gauge_pressure", "", "gauge pressure"),
            Column("electronics_gauge_pressure", "", "gauge pressure"),
            Column("altitude_error", "", "altitude"),
            Column("filtered_altitude_error", "", "altitude"),
        ),
        tuple(
            zip(held.times, held.bay - held.ambient, held.electronics - held.ambient,
                found.errors, found.filtered, strict=True)
        ),
    )  # fmt: skip


def _findings(found: Altimeters) -> dict[str, Any]:
    """Return what stands in no table."""
    held = found.pulse
    return {
        **both("wanted_error", found.error, "altitude"),
        "reliability_ratio": clean(found.wanted),
        "simulated_shots": found.members,
        "simulated_shots_followed": found.followed,
        "seed": found.seed,
        "runs": found.runs,
        **both("outside", held.ambient, "absolute pressure"),
        **both("altitude_before", found.altitude, "altitude"),
        **both("too_high_from", found.bounds[0], "absolute pressure"),
        **both("too_low_from", found.bounds[1], "absolute pressure"),
        "nominal": _shown(found.nominal),
        "changes": [_shown(each) for each in found.changes],
        "separated": held.opened,
        **both("hottest_gas_in_electronics", held.hottest, "temperature"),
        **both("products_in_electronics", held.products, "mass"),
        "leak": _leak(found.leak),
        **both("static_ports_as_one_hole", found.ports, "length"),
        "map": {
            "leak_m": clean(found.leak_grid),
            "static_ports_m": clean(found.port_grid),
            "too_low_by_m": clean(list(found.grid)),
        },
    }


def _shown(each: Shown) -> dict[str, Any]:
    return {
        "name": each.name or "as it is",
        **both("too_low_by", each.low, "altitude"),
        **both("too_low_at", each.low_time, "time"),
        **both("too_low_beyond_wanted_for", each.low_beyond, "time"),
        **both("too_high_by", each.high, "altitude"),
        **both("too_high_at", each.high_time, "time"),
        **both("too_high_beyond_wanted_for", each.high_beyond, "time"),
        **both("pulse", each.pressure, "gauge pressure"),
        "sampled": [both("error", value, "altitude") for value in each.sampled],
        "filtered": [both("error", value, "altitude") for value in each.filtered],
    }


def _leak(leak: Leak) -> dict[str, Any]:
    return {
        **both("present", leak.present, "length"),
        "present_stays_below": chance(leak.present_chance),
        **both("largest", leak.largest, "length"),
        **both("largest_low", leak.low, "length"),
        **both("largest_high", leak.high, "length"),
        "stays_below": None if leak.chance is None else chance(leak.chance),
        "largest_is_largest_tried": leak.at_ceiling,
        "discharge_ratio": clean(leak.discharge),
    }
