"""The report of an ascent: a page, a figure, numbers, and the curves as a table."""

from __future__ import annotations

from html import escape
from io import StringIO
from typing import Any

import numpy as np

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import both, clean, doubts
from baypulse.show.study_data import foot, head
from baypulse.show.study_folder import StudyReport
from baypulse.studies.ascent import figures as drawings
from baypulse.studies.ascent import text as words
from baypulse.studies.ascent.compute import AscentResult

CAPTIONS = {
    "ascent": "Altitude; pressure of the bay above that outside, with the case's openings and "
    "without any; what pulls the joint apart (trapped air, and drag where its areas are given) "
    "against what holds it. Below zero the joint is pressed together.",
}
"""What the figure shows."""


def ascent_numbers(ascent: AscentResult) -> dict[str, Any]:
    """Return everything that was found about an ascent, ready for JSON.

    Parameters
    ----------
    ascent : Ascent
        Findings; the curves are in ``ascent.csv``.
    """
    climb, flight = ascent.climb, ascent.climb.profile
    up = slice(0, flight.apogee + 1)
    k = climb.worst
    return {
        **head("ascent", ascent.case),
        "answer": words.headline(ascent),
        "sentences": [*words.meaning(ascent), *words.advice(ascent)],
        "source": flight.source,
        "notes": list(flight.notes),
        "seed": ascent.seed,
        "reliability_ratio": clean(ascent.wanted),
        **both("greatest_speed", float(flight.speed[flight.burnout]), "velocity"),
        **both("apogee", float(flight.altitude[flight.apogee]), "length"),
        "worst": {
            "time_s": clean(float(flight.time[k])),
            **both("altitude", float(flight.altitude[k]), "length"),
            **both("force", ascent.force, "force"),
            **both("drag", None if flight.pull is None else float(flight.pull[k]), "force"),
            **both("pressure_difference", float(climb.difference[k]), "stress"),
        },
        **both("greatest_pressure_difference", float(climb.difference[up].max()), "stress"),
        **both("sealed_pressure_difference", float(ascent.sealed.difference[up].max()), "stress"),
        **both("held", ascent.held, "force"),
        **both("held_low_side", ascent.low, "force"),
        "margin_ratio": clean(ascent.margin),
        "parts_ratio": clean(ascent.parts),
        **both("altimeter_lag", ascent.lag, "length"),
        **foot(ascent.case, ()),
    }


def ascent_csv(ascent: AscentResult) -> str:
    """Return the curves as a table with a row for each time.

    Parameters
    ----------
    ascent : Ascent
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    climb, flight = ascent.climb, ascent.climb.profile
    columns = {
        "time_s": flight.time,
        "altitude_m": flight.altitude,
        "speed_m_per_s": flight.speed,
        "outside_pressure_Pa": flight.pressure,
        "outside_temperature_K": flight.temperature,
        "bay_pressure_Pa": climb.still.pressure[:, 0],
        "bay_temperature_K": climb.still.temperature[:, 0],
        "pull_N": climb.force,
    }
    if flight.pull is not None:
        columns["drag_pull_N"] = flight.pull
    if climb.still.pressure.shape[1] > 1:
        columns["electronics_pressure_Pa"] = climb.still.pressure[:, 1]
    text = StringIO()
    np.savetxt(
        text, np.column_stack(list(columns.values())), fmt="%.9g", delimiter=",",
        header=",".join(columns), comments="",
    )  # fmt: skip
    return text.getvalue()


def ascent_page(ascent: AscentResult, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    ascent : Ascent
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = ascent.case
    parts = [
        *study_parts.top(case, "The closed joint during the ascent"),
        study_parts.box(
            words.headline(ascent), [*words.meaning(ascent), *words.advice(ascent)]
        ),
        study_parts.warnings(ascent.climb.profile.notes, doubts(case)),
        page.figure(figures, CAPTIONS, "ascent"),
        "<h2>Numbers</h2>", page.pairs(words.rows(ascent)),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_ASCENT)}</p>",
        page.caution(),
        study_parts.footer(case, words.behind(ascent)),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(ascent)}", parts)


ASCENT = StudyReport(
    study="ascent",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=ascent_numbers,
    page=ascent_page,
    own={"ascent.csv": lambda ascent: ascent_csv(ascent).encode()},
)
