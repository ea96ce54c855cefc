"""What the study of a cord says: load against strength, lengths and types, the brake."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from baypulse.case.quantities import digits, show
from baypulse.show.cells import both, chance, clean
from baypulse.show.document import (
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
from baypulse.show.figures.cord_load import cord_load
from baypulse.show.phrases import charge, of_the_shots
from baypulse.studies.cord import figures, words
from baypulse.studies.cord.result import SHARES, CordKind, Cords

UNKNOWN = (
    "A margin is the strength of the weakest link over the peak load, of the shots in which the "
    "bay separates. Other types are run with the same knot, wear and anchor, although a knot "
    "weakens aramid more than nylon. The load comes from a curve of load against stretch that is "
    "an estimate for most types, pulled slowly; strength is that of a slow pull too. The model "
    "moves the sections along one line: it knows no stretch wave, no cord that tangles or saws on "
    "an edge, no heat of the charge on the cord, and no drag of an opening parachute, which pulls "
    "later and often harder. A brake is rigid until it tears and pulls evenly over its stroke; a "
    "real one begins with a peak and scatters from fold to fold. Pull one with a scale."
)
"""What the study does not know."""

CAPTIONS = {
    "margins": "Strength of the weakest link over the peak load, that 95 % of the shots have at "
    "least; the same shots at every point. Heavy: the case's own type. Marks: the length from "
    "which on the wanted margin is held. Longer cords give more and let the sections slow down.",
    "cord": "With nothing scattering: load of the cord from the moment it first pulls, beside what "
    "its weakest link stands.",
    "stages": "With nothing scattering: the energy of the separation when the first stage begins "
    "to tear, what each stage takes of it, and what is left. Friction and drag on the way take "
    "some of what is left.",
    "brake": "Bars: between which nine of ten shots lie; heavy tick: the middle shot; mark: with "
    "nothing scattering, as is the energy that the brake takes. Stopped: in how many shots the "
    "sections come to rest in the brake.",
}
"""What each figure shows."""

MARGIN = Column("margin_of_95_percent_ratio", "Margin in 95 % of the shots", absent="no load")
"""The margin that is looked for."""


def document(cords: Cords) -> Document:
    """Return what was found about a cord.

    Parameters
    ----------
    cords : Cords
        Findings.
    """
    case = cords.case
    assert case.cord is not None
    return of_case(
        case,
        "cord",
        about=f"Charge: {charge(case)}; cord: {case.cord.type}, {show(case.cord.length, 'length')}",
        headline=words.headline(cords),
        sentences=tuple(words.meaning(cords)),
        next_steps=tuple(words.next_steps(cords)),
        first=_links(cords),
        warnings=cords.warnings,
        sections=(
            Section("Load against strength", tuple(_load(cords))),
            Section(
                "Length and type",
                (_figure("margins", lambda: figures.margins(cords)), _kinds(cords)),
            ),
            _brake(cords),
        ),
        unknown=UNKNOWN,
        effort=f"{cords.members:,} shots, the same of every cord, seed {cords.seed}; "
        f"{cords.runs:,} runs, which part only where the cord first acts. They go on until the "
        "cord is slack again, whatever run.end_time says.",
        findings=_findings(cords),
        files={"cord.csv": _points(cords)},
    )


def compare(found: Sequence[Cords]) -> Table:
    """Return a table of the cords of several cases.

    Parameters
    ----------
    found : sequence of Cords
        Findings, one a case.
    """
    return Table(
        "cords",
        (
            Column("case", "case"), Column("load_95_percent_below", "95 % stay below", "force"),
            Column("weakest", "weakest link"), MARGIN,
            Column("needed_length", f"length for {found[0].wanted:g}"),
        ),
        tuple(
            (cords.case.name, cords.load.loads[2], cords.links[0].name, cords.load.margin,
             _needed(cords, cords.own))
            for cords in found
        ),
        title="Cords: load, and margin that 95 % of the shots have at least",
    )  # fmt: skip


def _figure(name: str, draw: Any) -> Figure:
    return Figure(name, CAPTIONS[name], draw)


def _links(cords: Cords) -> Table:
    """Return everything that the load goes through."""
    return Table(
        "links",
        (
            Column("name", "In series"), Column("strength", "Strength", "force"),
            Column("weakest", "Weakest of all"), Column("exceeded", "Load exceeds it"),
        ),
        tuple((link.name, link.strength, link.weakest, link.exceeded) for link in cords.links),
        note="Strength with knot and wear.",
    )  # fmt: skip


def _load(cords: Cords) -> list[Part]:
    """Return what the shots carry and stand, and the load over time where there is one."""
    margins = [
        Said(Quantity(each, "ratio"), digits(each) if math.isfinite(each) else "no load")
        for each in cords.margins
    ]
    rows = [
        ("peak load", cords.load.loads, "force"),
        *((f"strength: {link.name}", link.strengths, "force") for link in cords.links),
        ("speed after the jerk", cords.rebound, "velocity"),
    ]
    told = [(name, *(Quantity(each, kind) for each in values)) for name, values, kind in rows]
    table = Table("shots", of_the_shots(SHARES, "none"), (*told, ("margin", *margins)))
    if cords.result.numbers.cord_load is None:
        return [table]
    return [table, _figure("cord", lambda: cord_load(cords.result))]


def _needed(cords: Cords, kind: CordKind) -> Said:
    length = None if kind.needed is None else Quantity(kind.needed.length, "length")
    return Said(length, words.needed(cords, kind))


def _kinds(cords: Cords) -> Table:
    """Return every type: strength, margins at the present length, and the length it needs."""
    return Table(
        "types",
        (
            Column("name", "Type"), Column("strength", "Strength", "force"),
            Column("weakest_link", "Weakest link"),
            Column("nominal_margin_ratio", "Margin, nothing scatters", absent="no load"), MARGIN,
            Column("needed_length", f"Length for {cords.wanted:g}"),
        ),
        tuple(
            (f"{kind.name}{' (this case)' * kind.own}", kind.strength, kind.weakest, kind.nominal,
             kind.present.load.margin, _needed(cords, kind))
            for kind in cords.kinds
        ),
    )  # fmt: skip


def _brake(cords: Cords) -> Section:
    """Return what the brake does, or what one would do."""
    parts: list[Part] = list(words.braking(cords))
    if cords.parting_energy is not None:
        parts.append(_figure("stages", lambda: figures.stages(cords)))
    if cords.stages:
        parts.append(_stages(cords))
    if len(cords.brakes) > 1:
        parts.append(_figure("brake", lambda: figures.brake(cords)))
    parts.append(_brakes(cords))
    title = "What the brake does" if cords.stages else "What a brake would do (estimate)"
    return Section(title, tuple(parts))


def _stages(cords: Cords) -> Table:
    """Return what each stage of the brake takes."""
    return Table(
        "stages",
        (
            Column("name", "Stage"), Column("force", "Force", "force"),
            Column("stroke", "Stroke", "length"), Column("length", "Cord held", "length"),
            Column("energy", "Takes", "energy"),
            Column("energies", "Takes at most, 5 / 50 / 95 / 99 % of shots", "energy", SHARES),
            Column("torn", "Torn"),
        ),
        tuple(
            (f"{k}: {stage.name}", stage.force, stage.stroke, stage.length, stage.energy,
             stage.energies, stage.torn)
            for k, stage in enumerate(cords.stages, start=1)
        ),
    )  # fmt: skip


def _brakes(cords: Cords) -> Table:
    """Return the cord with and without stages."""
    return Table(
        "brakes",
        (
            Column("stages", "Brake"), Column("nominal_load", "Load, nothing scatters", "force"),
            Column("load_95_percent_below", "95 % stay below", "force"),
            Column("energy", "Takes", "energy"), MARGIN, Column("stopped", "Stops"),
            Column("parachute_out", "Parachute out", absent="not asked"),
        ),
        tuple(
            (Said(each.stages, words.stages(each.stages)), each.nominal, each.load.loads[2],
             each.energy, each.load.margin, each.stopped, each.contents_out)
            for each in cords.brakes
        ),
    )  # fmt: skip


def _points(cords: Cords) -> Table:
    """Return every cord and brake that was run, for a spreadsheet."""
    own = len(cords.stages)
    rows = [
        (kind.name, kind.own, own, point.length, point.load)
        for kind in cords.kinds
        for point in kind.points
    ]
    rows += [
        (cords.own.name, True, each.stages, cords.own.present.length, each.load)
        for each in cords.brakes
        if each.stages != own
    ]
    return Table(
        "points",
        (
            Column("type", ""), Column("own", ""), Column("stages", ""),
            Column("length", "", "length"), Column("load", "", "force", SHARES), MARGIN,
            Column("without_load", "", "ratio"), Column("holds_wanted_margin", ""),
        ),
        tuple(
            (*named, load.loads, load.margin, load.unloaded, load.margin >= cords.wanted)
            for *named, load in rows
        ),
    )  # fmt: skip


def _findings(cords: Cords) -> dict[str, Any]:
    """Return what stands in no table."""
    force, stroke = (None if math.isnan(each) else each for each in cords.trial)
    return {
        "wanted_margin_ratio": clean(cords.wanted),
        "shots": cords.members,
        "seed": cords.seed,
        "runs": cords.runs,
        "separates": chance(cords.opened),
        **both("nominal_load", cords.nominal_load, "force"),
        "nominal_margin_ratio": clean(cords.own.nominal),
        "margin_of_95_percent_ratio": clean(cords.load.margin),
        "without_load_ratio": clean(cords.load.unloaded),
        "exceeds_a_strength": chance(cords.exceeded),
        **both("shortest_length", cords.shortest, "length"),
        **both("longest_length", cords.longest, "length"),
        **both("energy_when_brake_begins", cords.parting_energy, "energy"),
        **both("tried_stage_force", force, "force"),
        **both("tried_stage_stroke", stroke, "length"),
    }
