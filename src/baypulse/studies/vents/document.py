"""What the study of a vent says: its window, the drills inside, whether it matters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple
from typing import Any

from baypulse.case.drills import SYSTEMS, source
from baypulse.case.quantities import capital, short
from baypulse.members.chances import Chance
from baypulse.show.cells import both, chance, clean, named
from baypulse.show.document import (
    Between,
    Column,
    Document,
    Figure,
    Part,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge
from baypulse.studies.vents import figures, words
from baypulse.studies.vents.drill_patterns import CLOGS
from baypulse.studies.vents.result import Lower, Upper, VentAscent, Vents

PRACTICE = (
    "Common practice, no source, drills one hole of 1/8 to 1/4 in (3.2 to 6.4 mm) into each bay, "
    "whatever its size."
)
"""What people do by habit."""

UNKNOWN = (
    "The ascent counts a shoulder as tight, since tape, grease, paint or a shoulder that sits "
    "askew close its gap; the charge counts the gap as it is in the case. Both are on the safe "
    "side. The air at the mouth of the vent is taken to be still: wind along the tube, or a vent "
    "beside a shoulder or a fin, sees another pressure. Pins are as warm as on the pad; the cold "
    "makes them stronger. Cloth that lies on a hole closes it, so several holes are better than "
    "one. The hole is a sharp one of the discharge coefficient in the case. Grains blown out of "
    "the vent are not modelled. The charge is judged in the setting of the case; what it does "
    "elsewhere is another question. These holes are not the static ports of an altimeter."
)
"""What the study does not know."""

CAPTIONS = {
    "window": "The strip on top says what can be said of each vent; the short bar above it is the "
    "95 % interval of the largest. Upper curve: greatest force during the ascent, trapped air and "
    "drag, over what pins and friction hold on their low side; dotted, were the gap around the "
    "shoulder open as in the case. Lower curve: chance that the charge opens the bay; points are "
    "computed, the lines only join them; dotted from the vent closed. The scale is logarithmic.",
    "drills": "Each row is a number of holes, its shaded band the window for one of them. Small "
    "marks are all drills inside, large ones of each system the nearest to the middle.",
    "climb": "Pressure of the bay above that outside from the launch to the end of the ascent, "
    "with the shoulder tight. Below: vents that let nearly all of it out, on a scale of their own.",
}
"""What each figure shows."""

SEPARATES = Column("separates", "Separates")
"""The chance that the bay separates."""

SINGLE = Column("single_hole", "As one hole", "length")
"""A vent by the diameter of the single hole of its area."""


ASCENT = (
    SINGLE, Column("force", "", "force"), Column("pressure_difference", "", "gauge pressure"),
    Column("drag", "", "force"), Column("time", "", "time"), Column("altitude", "", "altitude"),
)  # fmt: skip
"""The ascent with one vent, in the order of a :class:`VentAscent`."""


def document(vents: Vents) -> Document:
    """Return what was found about a vent.

    Parameters
    ----------
    vents : Vents
        Findings.
    """
    return of_case(
        vents.case,
        "vents",
        about=f"Vent in the case: {words.vent_words(vents)}; charge: {charge(vents.case)}",
        headline=words.headline(vents),
        sentences=tuple(words.answer(vents)),
        next_steps=tuple(words.next_steps(vents)),
        warnings=vents.warnings,
        sections=(
            *([Section("What would open it", (_remedies(vents),))] if vents.remedies else []),
            Section("The window", (_figure("window", vents),)),
            Section("Holes and drills", tuple(_drills(vents))),
            Section("Does the vent matter?", (*words.slower(vents), _shots(vents))),
            Section(
                "The ascent",
                (_figure("climb", vents), f"{capital(vents.way)}.", *words.gap(vents)),
            ),
        ),
        unknown=UNKNOWN,
        effort=f"{vents.members:,} shots behind the largest vent, {vents.runs:,} runs in all, "
        f"seed {vents.seed}.",
        findings=_findings(vents),
        files={
            "vents.csv": _ascent(vents),
            "separation.csv": Table("separation_curve", (SINGLE, SEPARATES), vents.chances),
        },
    )


def compare(found: Sequence[Vents]) -> Table:
    """Return a table of the vents of several cases.

    Parameters
    ----------
    found : sequence of Vents
        Findings, one a case.
    """
    return Table(
        "vents",
        (
            Column("case", "case"), Column("smallest", "smallest"), Column("largest", "largest"),
            Column("present", "in the case", "length", absent="none"), SEPARATES,
            Column("matters", "vent matters"),
        ),
        tuple(
            (vents.case.name, _smallest(vents.lower), _largest(vents, vents.upper),
             vents.vent.single or None, vents.present_chance, words.matters(vents))
            for vents in found
        ),
        title="Vents: the single hole that the ascent needs, and that the charge bears",
    )  # fmt: skip


def _figure(name: str, vents: Vents) -> Figure:
    return Figure(name, CAPTIONS[name], lambda: figures.DRAW[name](vents))


def _smallest(lower: Lower) -> Said:
    return Said(Quantity(lower.single, "length"), words.smallest_text(lower))


def _largest(vents: Vents, upper: Upper) -> Said:
    ends = Between(upper.single, upper.low, upper.high, "length")
    return Said(ends, words.largest_text(vents, upper))


def _remedies(vents: Vents) -> Table:
    """Return what changes would do."""
    return Table(
        "remedies",
        (
            Column("change", "Change"), Column("smallest", "Smallest"),
            Column("largest", "Largest"), SEPARATES, Column("opens_window", "Gives a window"),
        ),
        tuple(
            (each.change, _smallest(each.lower), _largest(vents, each.upper), each.upper.chance,
             each.opens_window)
            for each in vents.remedies
        ),
        note="Each change alone, by few shots: read sizes and directions, not digits. The chance "
        "is that with the largest vent.",
    )  # fmt: skip


def _drills(vents: Vents) -> list[Part]:
    """Return which holes to drill."""
    if not vents.patterns:
        return [PRACTICE]
    table = Table(
        "drills",
        (
            Column("count", "Holes"), Column("drill", "Drill"), Column("system", "Of the"),
            Column("hole_diameter", "Each", "length"), SINGLE,
        ),
        tuple(
            (each.count, each.drill.name, each.drill.system, each.drill.diameter, each.single)
            for each in vents.patterns
        ),
        title="Nearest to the middle of the window",
    )  # fmt: skip
    sizes = "; ".join(f"{system}: {source(system)}" for system in SYSTEMS)
    told = (
        f"{PRACTICE} No hole below {words.hole(CLOGS)} is offered: lint or soot closes it "
        f"(estimate). Sizes: {sizes}."
    )
    return [table, told, _figure("drills", vents)]


def _shots(vents: Vents) -> Table:
    """Return what each vent does to the nominal shot."""
    return Table(
        "shots",
        (
            Column("name", "Nominal shot"), SINGLE, Column("gas_lost", "Gas lost"),
            Column("peak_pressure", "Peak pressure", "gauge pressure"),
            Column("burn_time", "Burns", "time"),
            Column("clear_time", "Clear after", "time", absent="shut"), SEPARATES,
        ),
        tuple(
            (f"{words.NAMES[shot.name]}{', slower powder' * shot.slow}", shot.single,
             Said(Quantity(shot.lost, "ratio"), short(shot.lost, "ratio")), shot.peak,
             shot.burn_time, shot.clear_time, shot.opens)
            for shot in vents.shots
        ),
        note="Gas lost by the vent until the joint is clear, or until the peak where it does not "
        "separate; times from the first burning grain; the chance is of few shots, the same in "
        "each row.",
    )  # fmt: skip


def _ascent(vents: Vents) -> Table:
    """Return the ascent over the vent, for a spreadsheet."""
    ascents = (("tight", vents.pushes), ("gap open", vents.leaky_pushes))
    return Table(
        "ascent_curve",
        (
            Column("shoulder", ""), *ASCENT[:2], Column("share_of_retention", "", "ratio"),
            *ASCENT[2:],
        ),
        tuple(
            (shoulder, each.single, each.force, each.force / vents.lower.hold, each.pressure,
             each.drag, each.time, each.altitude)
            for shoulder, pushes in ascents
            for each in pushes
        ),
    )  # fmt: skip


def _findings(vents: Vents) -> dict[str, Any]:
    """Return what stands in no table."""
    bleed, turn = vents.bleed, vents.turn
    return {
        "reliability_ratio": clean(vents.wanted),
        "confidence_ratio": 0.95,
        "share_of_retention_ratio": clean(vents.share),
        "window": vents.is_window,
        "simulated_shots": vents.members,
        "seed": vents.seed,
        "runs": vents.runs,
        "vent": {
            "name": vents.vent.name,
            "assumed": vents.vent.assumed,
            "count": vents.vent.count,
            **both("hole_diameter", vents.vent.diameter, "length"),
            **both("single_hole", vents.vent.single, "length"),
            "place": vents.place,
        },
        "ascent": vents.way,
        "drag_included": vents.pulled,
        **both("greatest_hole_searched", vents.greatest, "length"),
        **both("retention_low_side", vents.lower.hold, "force"),
        "smallest": _lower(vents.lower),
        "smallest_with_gap_open": None if vents.leaky is None else _lower(vents.leaky),
        "largest": {
            "state": vents.upper.state,
            **both("single_hole", vents.upper.single, "length"),
            **both("low_single_hole", vents.upper.low, "length"),
            **both("high_single_hole", vents.upper.high, "length"),
            "separates": chance(vents.upper.chance),
        },
        "present": _end(vents.present, vents.present_chance),
        "closed": _end(vents.sealed, vents.sealed_chance),
        "matters": words.matters(vents),
        "matters_with_slower_powder": words.matters(vents, slow=True),
        "bleed": None if bleed is None else {
            **both("single_hole", bleed.single, "length"),
            **both("hot_time_constant", bleed.hot, "time"),
            **both("cold_time_constant", bleed.cold, "time"),
            **both("hot_temperature", bleed.temperature, "temperature"),
        },
        "matters_from": None if turn is None else {
            "times_slower_ratio": clean(turn.times),
            **both("burn_time", turn.burn_time, "time"),
            "taken_of_peak_ratio": clean(turn.taken),
            "separates_without_vent": turn.opens,
            "separates_with_vent": turn.still,
        },
        "drill_sources": {system: source(system) for system in SYSTEMS},
    }  # fmt: skip


def _lower(lower: Lower) -> dict[str, Any]:
    return {"state": lower.state, **both("single_hole", lower.single, "length")}


def _end(push: VentAscent, separates: Chance) -> dict[str, Any]:
    told = zip(ASCENT, astuple(push), strict=True)
    filed = dict(pair for column, value in told for pair in named(column.name, value, column))
    return {**filed, "separates": chance(separates)}
