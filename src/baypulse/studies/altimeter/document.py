"""What the study of the electronics bay says: static ports first, then the charge's pulse."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from baypulse.case.quantities import show
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
from baypulse.studies.altimeter import figures, port_figure, port_words, words
from baypulse.studies.altimeter.compute import ADD_HOLE
from baypulse.studies.altimeter.electronics_pulse import CONVECTION
from baypulse.studies.altimeter.result import SHARES, Altimeters, ElectronicsBay, Leak, Shown
from baypulse.studies.altimeter.static_ports import StaticPorts

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

NO_WAY = (
    "No opening leads from the bay into the electronics bay, so no pulse of the charge reaches the "
    f"altimeter; if there is one, {ADD_HOLE}"
)
"""Where the charge has no way in."""

PORTS_UNKNOWN = (
    "The lag of static ports is that of steady flow through plain holes, with the air in the bay "
    "as warm as the standard atmosphere outside. Burrs, paint and tape make holes smaller; where "
    "they sit on the tube matters as much: behind a shoulder, a screw or a fin can they read the "
    "airflow. Which area is too large rests on common practice, no source."
)
"""What is not known of static ports."""

CAPTIONS = {
    "ports": "How far the altimeter is behind over the diameter of each static port, the number of "
    "holes being the case's (three where it has none). Level line: the lag that is allowed, a "
    "tenth of the wanted error; upright lines: rules of practice, and this case.",
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


def document(found: ElectronicsBay) -> Document:
    """Return what was found about an electronics bay.

    Parameters
    ----------
    found : ElectronicsBay
        Findings.
    """
    case, ports, pulse = found.case, found.ports, found.pulse
    port_section = Section(
        "The static ports",
        (
            Figure("ports", CAPTIONS["ports"], lambda: port_figure.ports(ports)),
            _lags(ports), _rules(ports), *port_words.notes(ports),
        ),
    )  # fmt: skip
    if pulse is None:
        return of_case(
            case,
            "altimeter",
            about=f"Electronics bay of {show(ports.volume, 'volume')}",
            headline=port_words.headline(ports),
            sentences=(*port_words.meaning(ports), NO_WAY),
            next_steps=tuple(port_words.next_steps(ports)),
            sections=(port_section,),
            unknown=PORTS_UNKNOWN,
            effort="A closed formula; no shot was simulated.",
            findings={"static_ports": _ports(ports)},
        )
    aloft = Table(
        "same_pulse_at",
        (Column("altitude", "At", "altitude"), TOO_LOW),
        tuple(
            (h if h else Said(Quantity(h, "altitude"), "sea level"), error)
            for h, error in pulse.aloft
        ),
    )
    return of_case(
        case,
        "altimeter",
        about=f"Charge: {charge(case)}",
        headline=f"{port_words.headline(ports)}. {words.headline(pulse)}",
        sentences=(*port_words.meaning(ports), *words.meaning(pulse)),
        next_steps=(*port_words.next_steps(ports), *words.next_steps(pulse)),
        first=_shots(pulse),
        warnings=pulse.warnings,
        sections=(
            port_section,
            Section(
                "The pulse and the altitude",
                (_figure("pulse", pulse), _figure("filter", pulse), *words.seen(pulse)),
            ),
            Section("Leak and static ports", (_figure("leak", pulse), _changes(pulse))),
            Section("The same pulse at other altitudes", (*words.aloft(pulse), aloft)),
        ),
        unknown=f"{PORTS_UNKNOWN} {UNKNOWN}",
        effort=f"{pulse.members:,} shots, seed {pulse.seed}; {pulse.followed:,} of them were "
        f"followed point by point; {pulse.runs:,} runs. They end with the gas: cord and brake are "
        "left out.",
        findings={"static_ports": _ports(ports), **_findings(pulse)},
        curves={"altimeter.csv": _curves(pulse)},
    )


def compare(found: Sequence[ElectronicsBay]) -> Table:
    """Return a table of the altimeters of several cases.

    Parameters
    ----------
    found : sequence of ElectronicsBay
        Findings, one a case.
    """
    return Table(
        "altimeters",
        (
            Column("case", "case"), Column("static_ports", "static ports"),
            Column("behind_by", "behind by", "altitude"), TOO_LOW, BEYOND,
            Column("leak", "leak", "length", absent="none"),
            Column("largest_leak", "largest leak", "length", absent="none"),
        ),
        tuple(
            (each.case.name, each.ports.verdict.value, _lag(each.ports.fastest.ports),
             *_compared(each.pulse))
            for each in found
        ),
        title="Altimeters: static ports with the lag at the fastest climb; the charge's pulse, and "
        "the leak as one hole beside the largest that keeps the wanted error",
    )  # fmt: skip


def _compared(pulse: Altimeters | None) -> tuple[Any, ...]:
    if pulse is None:
        return 0.0, _lasting(0.0), None, None
    return pulse.nominal.low, _lasting(pulse.nominal.beyond), pulse.leak.present, pulse.leak.largest


def _lag(value: float) -> Quantity | Said:
    """Return a lag as a cell."""
    held = Quantity(value, "altitude")
    return held if math.isfinite(value) else Said(held, port_words.behind(value))


def _lags(ports: StaticPorts) -> Table:
    """Return how far the altimeter is behind at several speeds."""
    return Table(
        "static_port_lags",
        (
            Column("speed", "Climbing at", "velocity"), Column("name", "that is", absent=""),
            Column("behind_by", "behind by", "altitude"), Column("later_by", "later by", "time"),
            Column("filter_behind_by", "by its filter alone", "altitude"),
        ),
        tuple(
            (each.speed, each.name or None, _lag(each.ports),
             each.delay if math.isfinite(each.delay) else None, each.smoothing)
            for each in ports.lags
        ),
        title="How far the altimeter is behind",
    )  # fmt: skip


def _rules(ports: StaticPorts) -> Table:
    """Return rules of practice with their drills."""
    return Table(
        "static_port_rules",
        (
            Column("rule", "Common practice, no source"), Column("area", "all together", "area"),
            Column("drills", "drills"), Column("behind_by", "behind by", "altitude"),
        ),
        tuple(
            (each.name, each.area, "; ".join(port_words.drill_names(each)), _lag(each.lag))
            for each in ports.rules
        ),
        title="What to drill",
        note="Behind by: at the fastest climb.",
    )  # fmt: skip


def _ports(ports: StaticPorts) -> dict[str, Any]:
    """Return the ports in numbers; the tables have the rest."""
    return {
        "verdict": ports.verdict.value,
        **both("volume", ports.volume, "volume"),
        "count": ports.count,
        **both("as_one_hole", ports.diameter, "length"),
        "discharge_ratio": clean(ports.discharge),
        **both("fastest_climb", ports.climb, "velocity"),
        "fastest_climb_is_mach_1": ports.assumed,
        **both("behind_by", ports.fastest.ports, "altitude"),
        **both("allowed_behind_by", ports.allowed, "altitude"),
        **both("smallest_one_hole", ports.smallest, "length"),
        **both("gust_reaches_sensor_in", ports.gust, "time"),
    }


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
