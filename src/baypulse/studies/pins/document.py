"""What pins against charge say: the answer, its tables and figures, its numbers for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baypulse.show.cells import both, chance
from baypulse.show.document import Column, Document, Figure, Part, Said, Section, Table, of_case
from baypulse.show.text import charge
from baypulse.studies.pins import figures, words
from baypulse.studies.pins.compute import PinStudy, Rise, Spot

BELOW = (0.05, 0.5, 0.95)
"""Shares of the shots below the three values of a number."""

UNKNOWN = (
    "Every cell counts a few hundred shots: read steps from cell to cell, not digits. A speed is "
    "that of the shots that separated; where few do, these are the strong ones. Pins of one lot "
    "are taken to differ as the spreads say, and to fail one after another; a shoulder that tilts "
    "on its last pin, or pins that bind in their holes, are not in this model. The limits are "
    "those of the case."
)
"""What pins against charge do not know."""

MAP = (
    "each cell is a number of pins with a charge. Dotted cells show no separation in most shots, "
    "hatched ones exceed a limit in most. A speed is the median of the shots that separated; a "
    "margin is strength over load of the cord's weakest link. The charges rise by equal factors."
)
"""What the figure of a map shows."""

BURNING = (
    "The finest and the coarsest powder of the library in this bay. Whiskers: the 95 % interval of "
    "a chance; of a speed, nine of ten of the shots that separated."
)
"""What the figure of quick and slow powder shows."""


def document(study: PinStudy) -> Document:
    """Return what pins against charge say.

    Parameters
    ----------
    study : PinStudy
        Findings.
    """
    own = study.maps[0]
    maps: list[Part] = [_drawn(study, 0)]
    for k in range(1, len(study.maps)):
        maps += [_at_one_charge(study, k), _drawn(study, k)]
    sections = [Section("Maps", tuple(maps))]
    if study.burnings:
        curves = Figure("burning", BURNING, lambda: figures.burning(study))
        sections.append(Section("Quick and slow powder", (*words.burning(study), curves)))
    return of_case(
        study.case,
        "pins",
        about=f"Charge in the case: {charge(study.case)}",
        headline=words.headline(study),
        sentences=tuple(words.sentences(study)),
        first=_at_one_charge(study, 0),
        sections=tuple(sections),
        unknown=UNKNOWN,
        effort=f"{study.members:,} shots in each cell, {study.runs:,} runs in all, seed "
        f"{study.seed}.",
        findings={
            "simulated_shots": study.members,
            "seed": study.seed,
            "runs": study.runs,
            "confidence_ratio": 0.95,
            **both(f"present_{_charge_name(study)}", study.present, study.dimension),
            "counts": list(study.counts),
            "of_the_case": own.thread if own.own else None,
            "more_pins_raise_the_chance": [_rise(study, each) for each in study.rises],
        },
        files={
            "pins.csv": _cells(study, "cells", "pins", [
                (held.thread, spot) for held in study.maps for row in held.spots for spot in row
            ]),
            **({"burning.csv": _cells(study, "burning", "powder", [
                (each.name, spot) for each in study.burnings for spot in each.spots
            ])} if study.burnings else {}),
        },
    )  # fmt: skip


def compare(studies: Sequence[PinStudy]) -> Table:
    """Return the answers of several cases.

    Parameters
    ----------
    studies : sequence of PinStudy
        Findings, one a case.
    """
    return Table(
        "studies",
        (Column("case", "case"), Column("answer", "answer")),
        tuple((study.case.name, words.headline(study)) for study in studies),
        title="All cases",
    )


def _charge_name(study: PinStudy) -> str:
    return study.label.replace(" ", "_")


def _drawn(study: PinStudy, k: int) -> Figure:
    held = study.maps[k]
    return Figure(f"map-{k + 1}", f"{words.kind(held)}: {MAP}", lambda: figures.tables(study, held))


def _at_one_charge(study: PinStudy, k: int) -> Table:
    """Return what every number of one kind of pins does with the charge nearest the case's."""
    held, column = study.maps[k], words.nearest(study)
    own = study.case.pins.count if held.own and study.case.pins is not None else None
    return Table(
        f"map_{k + 1}",
        (
            Column("count", "Pins"), Column("separates", "Separates"),
            Column("exceeds_a_limit", "Exceeds a limit"),
            Column("separation_velocity", "Median speed", "velocity", absent="none"),
            Column("cord_margin_ratio", "Cord margin"),
        ),
        tuple(
            (
                Said(spot.count, f"{spot.count} (this case)") if spot.count == own else spot.count,
                spot.trial.opens, spot.trial.fails_hard, spot.trial.clear_velocity[1],
                spot.margin[0],
            )
            for spot in (row[column] for row in held.spots)
        ),
        title=f"{words.kind(held)}, {words.amount(study, float(study.charges[column]))}",
        note="Cord margin: strength over load that 95 % of the shots have at least.",
    )  # fmt: skip


def _cells(study: PinStudy, name: str, first: str, spots: Sequence[tuple[str, Spot]]) -> Table:
    """Return a row for each number of pins with each charge, for programs."""
    return Table(
        name,
        (
            Column(first, ""), Column("count", ""),
            Column(_charge_name(study), "", study.dimension), Column("separates", ""),
            Column("joint_separates", ""), Column("exceeds_a_limit", ""),
            Column("separation_velocity", "", "velocity", BELOW),
            Column("peak_pressure", "", "gauge pressure", BELOW),
            Column("cord_load", "", "force", BELOW), Column("cord_margin", "", "ratio", BELOW),
        ),
        tuple(
            (what, spot.count, spot.trial.charge, spot.trial.opens, spot.joint,
             spot.trial.fails_hard, spot.trial.clear_velocity, spot.trial.peak_pressure,
             spot.trial.cord_load, spot.margin)
            for what, spot in spots
        ),
    )  # fmt: skip


def _rise(study: PinStudy, rise: Rise) -> dict[str, Any]:
    return {
        "where": rise.where,
        **both(_charge_name(study), rise.charge, study.dimension),
        "fewer": {"count": rise.fewer.count, "chance": chance(rise.fewer.trial.opens)},
        "more": {"count": rise.more.count, "chance": chance(rise.more.trial.opens)},
    }
