"""The report of an altimeter: a page, figures, numbers, and the curves as a table."""

from __future__ import annotations

from baypulse.plot.altimeter import figures
from baypulse.report.altimeter_data import altimeter_csv, altimeter_numbers
from baypulse.report.altimeter_page import CAPTIONS, altimeter_page
from baypulse.report.altimeter_text import compare, summary
from baypulse.report.study_folder import StudyReport

__all__ = ["ALTIMETER", "altimeter_csv", "altimeter_numbers", "compare", "summary"]

ALTIMETER = StudyReport(
    study="altimeter",
    figures=figures,
    captions=lambda _: CAPTIONS,
    numbers=altimeter_numbers,
    page=altimeter_page,
    own={"altimeter.csv": lambda found: altimeter_csv(found).encode()},
)
