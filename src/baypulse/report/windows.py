"""The report of a charge window: a page, figures, numbers, and the curve as a table."""

from __future__ import annotations

from baypulse.plot import windows
from baypulse.report.study_folder import StudyReport
from baypulse.report.window_data import window_csv, window_numbers
from baypulse.report.window_page import captions, window_page
from baypulse.report.window_text import comparison, summary

__all__ = ["WINDOW", "comparison", "summary", "window_csv", "window_numbers"]

WINDOW = StudyReport(
    study="window",
    figures=windows.figures,
    captions=captions,
    numbers=window_numbers,
    page=window_page,
    own={"window.csv": lambda window: window_csv(window).encode()},
)
