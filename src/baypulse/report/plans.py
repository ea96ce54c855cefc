"""Report folders of ground-test plans: a page, a PDF of two pages, numbers."""

from __future__ import annotations

from pathlib import Path

from baypulse.plot import sketch
from baypulse.plot.base import style
from baypulse.report import NUMBERS, PAGE, draw
from baypulse.report.data import to_json
from baypulse.report.plan_data import plan_numbers
from baypulse.report.plan_page import CAPTIONS, plan_page
from baypulse.report.plan_pdf import pdf
from baypulse.report.plan_text import compare, summary
from baypulse.report.study_folder import check, put
from baypulse.study.plan import Plan

__all__ = ["PAGE", "check_plan_target", "compare", "plan_numbers", "summary", "write_plan"]

PAPER = "plan.pdf"
"""What a plan's folder holds beside page, numbers and figures."""


def write_plan(plan: Plan, folder: str | Path) -> dict[str, Path]:
    """Write a plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    folder : str or pathlib.Path
        Made if missing. An earlier plan there is replaced.

    Returns
    -------
    dict of str to pathlib.Path
        Every file, by its place in the folder.

    Raises
    ------
    FileExistsError
        If there is something else than an earlier plan.
    OSError
        If the folder cannot be written.
    """
    check_plan_target(folder)
    with style():
        drawn = sketch.figure_of(plan.ground)
    files, inside = draw({"sketch": drawn}, CAPTIONS)
    files[PAPER] = pdf(plan)
    files[NUMBERS] = to_json(plan_numbers(plan)).encode()
    files[PAGE] = plan_page(plan, inside).encode()
    return put(files, folder)


def check_plan_target(folder: str | Path) -> None:
    """Refuse a place where something else than an earlier plan stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a plan is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    check(folder, "plan", PAPER)
