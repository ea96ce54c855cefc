"""The report of a rocket's joints: a page, figures, numbers."""

from __future__ import annotations

from baypulse.plot import joints
from baypulse.report.joints_data import joints_numbers
from baypulse.report.joints_page import captions, joints_page
from baypulse.report.joints_text import compare, summary
from baypulse.report.study_folder import StudyReport

__all__ = ["JOINTS", "compare", "joints_numbers", "summary"]

JOINTS = StudyReport(
    study="study of joints",
    figures=joints.figures,
    captions=captions,
    numbers=joints_numbers,
    page=joints_page,
)
