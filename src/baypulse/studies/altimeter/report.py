"""The report of an altimeter: a page, figures, numbers, and the curves as a table."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.altimeter.data import altimeter_csv, altimeter_numbers
from baypulse.studies.altimeter.figures import figures
from baypulse.studies.altimeter.page import CAPTIONS, altimeter_page
from baypulse.studies.altimeter.text import compare, summary

__all__ = ["ALTIMETER", "altimeter_csv", "altimeter_numbers", "compare", "summary"]

ALTIMETER = StudyReport(
    study="altimeter",
    figures=figures,
    captions=lambda _: CAPTIONS,
    numbers=altimeter_numbers,
    page=altimeter_page,
    own={"altimeter.csv": lambda found: altimeter_csv(found).encode()},
)
