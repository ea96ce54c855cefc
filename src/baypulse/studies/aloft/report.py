"""The report of a charge aloft: a page, figures, numbers, and the chances as a table."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.aloft import figures as drawings
from baypulse.studies.aloft.data import aloft_csv, aloft_numbers
from baypulse.studies.aloft.page import CAPTIONS, aloft_page
from baypulse.studies.aloft.text import compare, summary

__all__ = ["ALOFT", "aloft_csv", "aloft_numbers", "compare", "summary"]

ALOFT = StudyReport(
    study="charge aloft",
    figures=drawings.figures,
    captions=lambda _: CAPTIONS,
    numbers=aloft_numbers,
    page=aloft_page,
    own={"aloft.csv": lambda aloft: aloft_csv(aloft).encode()},
)
