"""The page of the study of a cord: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.cord import text as words
from baypulse.studies.cord.result import Cords

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


def cord_page(cords: Cords, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    cords : Cords
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = cords.case
    own = "What the brake does" if cords.stages else "What a brake would do (estimate)"
    types = ("Type", "Strength", "Margin, nothing scatters", "Margin, 95 % of shots",
             f"Length for {cords.wanted:g}")  # fmt: skip
    parts = [
        *study_parts.top(case, f"Charge: {charge(case)}"),
        study_parts.box(words.headline(cords), words.meaning(cords)),
        study_parts.warnings(cords.warnings, doubts(case)),
        page.caution(),
        "<h2>Load against strength</h2>",
        page.table(("Of the shots", "5 % below", "50 %", "95 %", "99 %"), words.load_rows(cords)),
        page.table(("In series", "Strength", "Weakest of all in", "Load exceeds it in"),
                   words.link_rows(cords)),
        page.figure(figures, CAPTIONS, "cord"),
        "<h2>Length and type</h2>",
        page.figure(figures, CAPTIONS, "margins"),
        page.table(types, words.kind_rows(cords)),
        f"<h2>{own}</h2>",
        *(f"<p>{escape(sentence)}</p>" for sentence in words.braking(cords)),
        page.figure(figures, CAPTIONS, "stages"),
    ]  # fmt: skip
    if cords.stages:
        parts.append(
            page.table(("Stage", "Force", "Stroke", "Takes", "Nine of ten shots", "Torn in"),
                       words.stage_rows(cords))
        )  # fmt: skip
    parts.append(page.figure(figures, CAPTIONS, "brake"))
    if len(cords.brakes) > 1:
        parts.append(
            page.table(("Brake", "Load, nothing scatters", "95 % stay below", "Takes", "Margin",
                        "Stops in", "Parachute out"), words.brake_rows(cords))
        )  # fmt: skip
    parts += [
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_CORDS)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{cords.members:,} shots, the same of every cord, seed {cords.seed}; {cords.runs:,} "
            "runs, which part only where the cord first acts. They go on until the cord is slack "
            "again, whatever run.end_time says. The same numbers are in numbers.json, every point "
            "in cord.csv, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(cords)}", parts)
