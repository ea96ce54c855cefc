"""The report of a charge window: a page, figures, numbers, and the curve as a table."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.window import figures as windows
from baypulse.studies.window.data import window_csv, window_numbers
from baypulse.studies.window.page import captions, window_page
from baypulse.studies.window.text import comparison, summary

__all__ = ["WINDOW", "comparison", "summary", "window_csv", "window_numbers"]

WINDOW = StudyReport(
    study="window",
    figures=windows.figures,
    captions=captions,
    numbers=window_numbers,
    page=window_page,
    own={"window.csv": lambda window: window_csv(window).encode()},
)
