"""The report of pins against charge: page, figures, numbers, and every cell as a table."""

from __future__ import annotations

import csv
import io
from html import escape
from typing import Any

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import both, doubts
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.show.study_folder import StudyReport
from baypulse.show.text import charge
from baypulse.studies.pins import figures as drawn
from baypulse.studies.pins import text as words
from baypulse.studies.pins.compute import Burning, PinStudy, Rise, Spot

SHARES = (5, 50, 95)
"""Percent of the members below the three values of a number."""


def captions(study: PinStudy) -> dict[str, str]:
    """Return what each figure shows, by its name."""
    found = {
        f"map-{k + 1}": f"{words.kind(held)}: each cell is a number of pins with a charge. Dotted "
        "cells show no separation in most shots, hatched ones exceed a limit in most. A speed is "
        "the median of the shots that separated; a margin is strength over load of the cord's "
        "weakest link. The charges rise by equal factors."
        for k, held in enumerate(study.maps)
    }
    found["burning"] = (
        "The finest and the coarsest powder of the library in this bay. Whiskers: the 95 % "
        "interval of a chance; of a speed, nine of ten of the shots that separated."
    )
    return found


def pins_csv(study: PinStudy) -> str:
    """Return every cell as a row; what did not happen is left empty.

    Parameters
    ----------
    study : PinStudy
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    stream = io.StringIO()
    table: Any = None
    for held in study.maps:
        for spot in (spot for row in held.spots for spot in row):
            row = {"pins": held.thread, "count": spot.count, **_numbers(study, spot)}
            if table is None:
                table = csv.DictWriter(stream, list(row), lineterminator="\n")
                table.writeheader()
            table.writerow(row)
    return stream.getvalue()


def _numbers(study: PinStudy, spot: Spot) -> dict[str, Any]:
    """Return a cell's numbers under names that end in their unit."""
    trial = spot.trial
    found: dict[str, Any] = both(study.label.replace(" ", "_"), trial.charge, study.dimension)
    for name, each in (
        ("separates", trial.opens), ("joint_separates", spot.joint),
        ("exceeds_a_limit", trial.fails_hard),
    ):  # fmt: skip
        found |= {
            f"{name}_ratio": each.share, f"{name}_low_ratio": each.low,
            f"{name}_high_ratio": each.high,
        }  # fmt: skip
    for name, values, dimension in (
        ("separation_velocity", trial.clear_velocity, "velocity"),
        ("peak_pressure", trial.peak_pressure, "gauge pressure"),
        ("cord_load", trial.cord_load, "force"),
        ("cord_margin", spot.margin, "ratio"),
    ):
        for share, value in zip(SHARES, values, strict=True):
            found |= both(f"{name}_{share}_percent_below", value, dimension)
    return {**found, "simulated_shots": trial.opens.members}


def pins_numbers(study: PinStudy) -> dict[str, Any]:
    """Return everything about pins against charge, ready for JSON.

    Every name of a number that has a unit ends in it.

    Parameters
    ----------
    study : PinStudy
        Findings.
    """
    return {
        **head("pins", study.case),
        "headline": words.headline(study),
        "sentences": words.sentences(study),
        "simulated_shots": study.members,
        "seed": study.seed,
        "runs": study.runs,
        "confidence_ratio": 0.95,
        **both(f"present_{study.label.replace(' ', '_')}", study.present, study.dimension),
        "counts": list(study.counts),
        "maps": [
            {
                "pins": held.thread,
                "of_the_case": held.own,
                "cells": [{"count": spot.count, **_numbers(study, spot)}
                          for row in held.spots for spot in row],
            }
            for held in study.maps
        ],
        "burning": [_burning(study, each) for each in study.burnings],
        "more_pins_raise_the_chance": [_rise(study, each) for each in study.rises],
        **foot(study.case, ()),
    }  # fmt: skip


def _burning(study: PinStudy, each: Burning) -> dict[str, Any]:
    return {
        "powder": each.name,
        "quick": each.quick,
        "cells": [{"count": spot.count, **_numbers(study, spot)} for spot in each.spots],
    }


def _rise(study: PinStudy, rise: Rise) -> dict[str, Any]:
    return {
        "where": rise.where,
        **both(study.label.replace(" ", "_"), rise.charge, study.dimension),
        "fewer": {"count": rise.fewer.count, "chance": chance_numbers(rise.fewer.trial.opens)},
        "more": {"count": rise.more.count, "chance": chance_numbers(rise.more.trial.opens)},
    }


def _page(study: PinStudy, figures: dict[str, str]) -> str:
    case = study.case
    shown = captions(study)
    column = words.nearest(study)
    parts = [
        *study_parts.top(case, f"Charge of the case: {charge(case)}"),
        study_parts.box(words.headline(study), words.sentences(study)),
        study_parts.warnings((), doubts(case)),
        page.caution(),
        "<h2>Maps</h2>",
    ]
    for k, held in enumerate(study.maps):
        parts.append(page.figure(figures, shown, f"map-{k + 1}"))
        parts.append(
            f"<p>{escape(words.kind(held))} with "
            f"{escape(words.amount(study, float(study.charges[column])))}:</p>"
        )
        parts.append(page.table(
            ("Pins", "Separates", "Exceeds a limit", "Median speed", "Margin of the cord, 95 %"),
            words.rows(study, held, column), "again",
        ))  # fmt: skip
    if study.burnings:
        parts += ["<h2>Quick and slow powder</h2>", page.figure(figures, shown, "burning")]
    parts += [
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What these maps do not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_MAP)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{words.effort(study)}. Every cell is in pins.csv, with the same numbers in "
            "numbers.json, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(study)}", parts)


PINS = StudyReport(
    study="study of pins",
    figures=drawn.figures,
    captions=captions,
    numbers=pins_numbers,
    page=_page,
    own={"pins.csv": lambda study: pins_csv(study).encode()},
)
