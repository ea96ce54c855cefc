"""The report of a cord: a page, figures, numbers, and every length as a table."""

from __future__ import annotations

from typing import Any

from baypulse.show.study_folder import StudyReport
from baypulse.studies.cord import figures as drawings
from baypulse.studies.cord.data import cord_csv, cord_numbers
from baypulse.studies.cord.page import CAPTIONS, cord_page
from baypulse.studies.cord.result import Cords
from baypulse.studies.cord.text import compare, summary
from baypulse.studies.run import figures as plot

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
