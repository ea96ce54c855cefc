"""The report of a leak-down test: a page, a figure, numbers."""

from __future__ import annotations

from baypulse.plot import leakdown as drawings
from baypulse.report.leakdown_data import leakdown_numbers
from baypulse.report.leakdown_page import CAPTIONS, leakdown_page
from baypulse.report.leakdown_text import compare, summary
from baypulse.report.study_folder import StudyReport

__all__ = ["LEAKDOWN", "compare", "leakdown_numbers", "summary"]

LEAKDOWN = StudyReport(
    study="leak-down test",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=leakdown_numbers,
    page=leakdown_page,
)
