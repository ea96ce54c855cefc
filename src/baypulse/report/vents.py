"""The report of a vent: a page, figures, numbers, and the ascent as a table."""

from __future__ import annotations

from baypulse.plot import vents
from baypulse.report.study_folder import StudyReport
from baypulse.report.vent_data import vent_csv, vent_numbers
from baypulse.report.vent_page import CAPTIONS, vent_page
from baypulse.report.vent_summary import comparison, summary

__all__ = ["VENTS", "comparison", "summary", "vent_csv", "vent_numbers"]

VENTS = StudyReport(
    study="vents",
    figures=vents.figures,
    captions=lambda _: CAPTIONS,
    numbers=vent_numbers,
    page=vent_page,
    own={"vents.csv": lambda found: vent_csv(found).encode()},
)
