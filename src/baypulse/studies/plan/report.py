"""The report of a ground-test plan: a page, a PDF of two pages, numbers."""

from __future__ import annotations

from typing import Any

from baypulse.show.figures import sketch
from baypulse.show.figures.base import style
from baypulse.show.study_folder import StudyReport
from baypulse.studies.plan.compute import GroundTestPlan
from baypulse.studies.plan.data import plan_numbers
from baypulse.studies.plan.page import CAPTIONS, plan_page
from baypulse.studies.plan.pdf import pdf
from baypulse.studies.plan.text import compare, summary

__all__ = ["PLAN", "compare", "plan_numbers", "summary"]


def _figures(plan: GroundTestPlan) -> dict[str, Any]:
    with style():
        return {"sketch": sketch.figure_of(plan.ground)}


PLAN = StudyReport(
    study="plan",
    figures=_figures,
    captions=lambda _: CAPTIONS,
    numbers=plan_numbers,
    page=plan_page,
    own={"plan.pdf": lambda plan: pdf(plan)},
)
