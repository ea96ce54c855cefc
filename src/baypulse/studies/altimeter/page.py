"""The page of the study of the electronics bay: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.altimeter import text as words
from baypulse.studies.altimeter.result import Altimeters

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


def altimeter_page(found: Altimeters, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    found : Altimeters
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = found.case
    parts = [
        *study_parts.top(case, f"Charge: {charge(case)}"),
        study_parts.box(words.headline(found), words.answer(found)),
        study_parts.warnings(found.warnings, doubts(case)),
        page.caution(),
        "<h2>The pulse and the altitude</h2>",
        page.figure(figures, CAPTIONS, "pulse"),
        page.figure(figures, CAPTIONS, "filter"),
        *(f"<p>{escape(sentence)}</p>" for sentence in words.seen(found)),
        page.table(("Of the shots", "5 % below", "50 %", "95 %", "99 %"), words.shot_rows(found)),
        "<h2>Leak and static ports</h2>",
        page.figure(figures, CAPTIONS, "leak"),
        page.table(
            ("With nothing scattering", "Too low by", "Beyond the wanted error for",
             "Behind a filter"), words.change_rows(found),
        ),
        "<h2>The same pulse at other altitudes</h2>",
        f"<p>{escape(words.aloft_note(found))}</p>",
        page.table(("At", "Too low by"), words.aloft_rows(found)),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_STUDY)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{found.members:,} shots, seed {found.seed}; {found.followed:,} of them were followed "
            f"point by point; {found.runs:,} runs. They end with the gas: cord and brake are left "
            "out. The same numbers are in numbers.json, the curves in altimeter.csv, beside this "
            "page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(found)}", parts)
