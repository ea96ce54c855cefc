"""The report of a diagnosis: a page, figures, numbers, and all causes as a table."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.why import figures as drawings
from baypulse.studies.why.data import why_csv, why_numbers
from baypulse.studies.why.page import CAPTIONS, why_page
from baypulse.studies.why.summary import comparison, summary

__all__ = ["WHY", "comparison", "summary", "why_csv", "why_numbers"]

WHY = StudyReport(
    study="diagnosis",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=why_numbers,
    page=why_page,
    own={"why.csv": lambda found: why_csv(found).encode()},
)
