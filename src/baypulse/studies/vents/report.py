"""The report of a vent: a page, figures, numbers, and the ascent as a table."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.vents import figures as vents
from baypulse.studies.vents.data import vent_csv, vent_numbers
from baypulse.studies.vents.page import CAPTIONS, vent_page
from baypulse.studies.vents.summary import comparison, summary

__all__ = ["VENTS", "comparison", "summary", "vent_csv", "vent_numbers"]

VENTS = StudyReport(
    study="vents",
    figures=vents.figures,
    captions=lambda _: CAPTIONS,
    numbers=vent_numbers,
    page=vent_page,
    own={"vents.csv": lambda found: vent_csv(found).encode()},
)
