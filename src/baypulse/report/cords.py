"""The report of a cord: a page, figures, numbers, and every length as a table."""

from __future__ import annotations

from typing import Any

from baypulse import plot
from baypulse.plot import cords as drawings
from baypulse.report.cord_data import cord_csv, cord_numbers
from baypulse.report.cord_page import CAPTIONS, cord_page
from baypulse.report.cord_text import compare, summary
from baypulse.report.study_folder import StudyReport
from baypulse.study.cords import Cords

__all__ = ["CORD", "compare", "cord_csv", "cord_numbers", "summary"]


def _figures(cords: Cords) -> dict[str, Any]:
    """Return the study's figures, and the load of the nominal run if there is one."""
    figures = drawings.figures(cords)
    if "cord" in plot.names(cords.result):
        figures["cord"] = plot.figure(cords.result, "cord")
    return figures


CORD = StudyReport(
    study="cord",
    figures=_figures,
    captions=lambda _: CAPTIONS,
    numbers=cord_numbers,
    page=cord_page,
    own={"cord.csv": lambda cords: cord_csv(cords).encode()},
)
