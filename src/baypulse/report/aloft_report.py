"""The report of a charge aloft: a page, figures, numbers, and the chances as a table."""

from __future__ import annotations

from baypulse.plot import aloft as drawings
from baypulse.report.aloft_data import aloft_csv, aloft_numbers
from baypulse.report.aloft_page import CAPTIONS, aloft_page
from baypulse.report.aloft_text import compare, summary
from baypulse.report.study_folder import StudyReport

__all__ = ["ALOFT", "aloft_csv", "aloft_numbers", "compare", "summary"]

ALOFT = StudyReport(
    study="charge aloft",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=aloft_numbers,
    page=aloft_page,
    own={"aloft.csv": lambda aloft: aloft_csv(aloft).encode()},
)
