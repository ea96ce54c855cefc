"""What pins against charge say: a map for each kind of pins, quick and slow powder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from baypulse.show.cells import both, chance
from baypulse.show.document import Column, Document, Figure, Part, Said, Section, Table, of_case
from baypulse.show.phrases import charge
from baypulse.studies.pins import figures, words
from baypulse.studies.pins.compute import SHOWN
from baypulse.studies.pins.result import PinMap, PinStudy, Rise, Spot

BELOW = (0.05, 0.5, 0.95)
"""Shares of the shots below the three values of a number."""

UNKNOWN = (
    "A cell counts a hundred shots or so, and away from the charge of the case its speeds, loads "
    "and limits about thirty: read steps from cell to cell, not digits. A bay that opens with one "
    "charge is taken to open with more, and one whose pins hold to hold with more pins. A speed is "
    "that of the shots that separated; where few do, these are the strong ones. Pins of one lot "
    "are taken to differ as the spreads say, and to fail one after another; a shoulder that tilts "
    "on its last pin, or pins that bind in their holes, are not in this model. The limits are "
    "those of the case."
)
"""What the maps do not know."""

MAP = (
    "Each cell is a number of pins with a charge. Dotted cells show no separation in most shots, "
    "hatched ones exceed a limit in most. A speed is the median of the shots that separated; a "
    "margin is strength over load of the cord's weakest link. The charges rise by equal factors."
)
"""What a map shows."""

BURNING = (
    "The finest and the coarsest powder of the library in this bay. Whiskers: the 95 % interval of "
    "a chance; of a speed, nine of ten of the shots that separated."
)
"""What the comparison of powders shows."""


def document(study: PinStudy) -> Document:
    """Return what pins against charge say.

    Parameters
    ----------
    study : PinStudy
        Findings.
    """
    compared = Figure("burning", BURNING, lambda: figures.burning(study))
    powders: tuple[Part, ...] = (*words.of_powders(study), *([compared] if study.burnings else []))
    return of_case(
        study.case,
        "pins",
        about=f"Charge of the case: {charge(study.case)}",
        headline=words.headline(study),
        sentences=tuple(words.of_own(study)),
        first=_by_number(study, study.maps[0], 1),
        sections=(
            Section("Maps", tuple(_maps(study))),
            Section("Quick and slow powder", powders),
        ),
        unknown=UNKNOWN,
        effort=f"{study.members:,} shots in each cell, of which away from the charge of the case "
        f"{min(SHOWN, study.members)} give all but the chance of separation; {study.runs:,} runs "
        f"in all, seed {study.seed}.",
        findings={
            "simulated_shots": study.members,
            "seed": study.seed,
            "runs": study.runs,
            "confidence_ratio": 0.95,
            **both(f"present_{study.label.replace(' ', '_')}", study.present, study.dimension),
            "counts": list(study.counts),
            "more_pins_raise_the_chance": [_rise(study, each) for each in study.rises],
        },
        files={"pins.csv": _cells(study)},
    )


def compare(studies: Sequence[PinStudy]) -> Table:
    """Return a table of the answers of several cases.

    Parameters
    ----------
    studies : sequence of PinStudy
        Findings of each.
    """
    return Table(
        "pins",
        (Column("case", "case"), Column("headline", "pins")),
        tuple((study.case.name, words.headline(study)) for study in studies),
        title="Pins of all cases",
    )


def _maps(study: PinStudy) -> Iterator[Figure | Table]:
    for k, held in enumerate(study.maps, 1):
        yield Figure(
            f"map-{k}", f"{words.kind(held)}: {MAP}",
            lambda held=held: figures.tables(study, held),  # type: ignore[misc]
        )  # fmt: skip
        if k > 1:
            yield _by_number(study, held, k)


def _by_number(study: PinStudy, held: PinMap, k: int) -> Table:
    """Return what each number of pins does with the charge next to the case's."""
    column = words.nearest(study)
    own = study.case.pins.count if held.own and study.case.pins is not None else None
    return Table(
        f"by_number_{k}",
        (
            Column("count", "Pins"), Column("separates", "Separates"),
            Column("exceeds_a_limit", "Exceeds a limit"),
            Column("separation_velocity", "Median speed", "velocity", absent="none"),
            Column("cord_margin_ratio", "Margin of the cord, 95 %"),
        ),
        tuple(
            (
                Said(spot.count, f"{spot.count}{' (this case)' * (spot.count == own)}"),
                spot.trial.opens, spot.trial.fails_hard, spot.trial.clear_velocity[1],
                spot.margin[0],
            )
            for spot in (row[column] for row in held.spots)
        ),
        title=f"{words.kind(held)}, {words.amount(study, float(study.charges[column]))}",
        look="again",
    )  # fmt: skip


def _cells(study: PinStudy) -> Table:
    """Return every cell of every map, and of the comparison of powders, as a row."""
    maps = [((held.thread, held.own, None, None), row) for held in study.maps for row in held.spots]
    powders = [((None, None, each.name, each.quick), each.spots) for each in study.burnings]
    return Table(
        "cells",
        (
            Column("pins", ""), Column("of_the_case", ""), Column("powder", ""),
            Column("quick", ""), Column("count", ""),
            Column(study.label.replace(" ", "_"), "", study.dimension), Column("separates", ""),
            Column("joint_separates", ""), Column("simulated_shots_in_full", ""),
            Column("exceeds_a_limit", ""),
            Column("separation_velocity", "", "velocity", BELOW),
            Column("peak_pressure", "", "gauge pressure", BELOW),
            Column("cord_load", "", "force", BELOW), Column("cord_margin", "", "ratio", BELOW),
        ),
        tuple((*of, *_numbers(spot)) for of, spots in [*maps, *powders] for spot in spots),
    )  # fmt: skip


def _numbers(spot: Spot) -> tuple[Any, ...]:
    trial = spot.trial
    return (spot.count, trial.charge, trial.opens, spot.joint, spot.in_full, trial.fails_hard,
            trial.clear_velocity, trial.peak_pressure, trial.cord_load, spot.margin)  # fmt: skip


def _rise(study: PinStudy, rise: Rise) -> dict[str, Any]:
    return {
        "where": rise.where,
        **both(study.label.replace(" ", "_"), rise.charge, study.dimension),
        "fewer": {"count": rise.fewer.count, "chance": chance(rise.fewer.trial.opens)},
        "more": {"count": rise.more.count, "chance": chance(rise.more.trial.opens)},
    }
