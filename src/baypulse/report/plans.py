"""The report of a ground-test plan: a page, a PDF of two pages, numbers."""

from __future__ import annotations

from typing import Any

from baypulse.plot import sketch
from baypulse.plot.base import style
from baypulse.report.plan_data import plan_numbers
from baypulse.report.plan_page import CAPTIONS, plan_page
from baypulse.report.plan_pdf import pdf
from baypulse.report.plan_text import compare, summary
from baypulse.report.study_folder import StudyReport
from baypulse.study.plan import Plan

__all__ = ["PLAN", "compare", "plan_numbers", "summary"]


def _figures(plan: Plan) -> dict[str, Any]:
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
