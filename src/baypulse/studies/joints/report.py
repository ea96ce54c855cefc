"""The report of a rocket's joints: a page, figures, numbers."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.joints import figures as joints
from baypulse.studies.joints.data import joints_numbers
from baypulse.studies.joints.page import captions, joints_page
from baypulse.studies.joints.text import compare, summary

__all__ = ["JOINTS", "compare", "joints_numbers", "summary"]

JOINTS = StudyReport(
    study="study of joints",
    figures=joints.figures,
    captions=captions,
    numbers=joints_numbers,
    page=joints_page,
)
