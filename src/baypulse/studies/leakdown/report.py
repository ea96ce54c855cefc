"""The report of a leak-down test: a page, a figure, numbers."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.leakdown import figures as drawings
from baypulse.studies.leakdown.data import leakdown_numbers
from baypulse.studies.leakdown.page import CAPTIONS, leakdown_page
from baypulse.studies.leakdown.text import compare, summary

__all__ = ["LEAKDOWN", "compare", "leakdown_numbers", "summary"]

LEAKDOWN = StudyReport(
    study="leak-down test",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=leakdown_numbers,
    page=leakdown_page,
)
