"""The reports of a scatter study and of a sweep: a page, figures and numbers."""

from __future__ import annotations

from baypulse.plot import ensembles, sweeps
from baypulse.report import study_page
from baypulse.report.scatter_text import summary as scatter_summary
from baypulse.report.study_data import scatter_numbers, sweep_csv, sweep_numbers
from baypulse.report.study_folder import StudyReport
from baypulse.report.sweep_text import summary as sweep_summary

__all__ = [
    "MEMBERS", "SCATTER", "SWEEP", "scatter_numbers", "scatter_summary", "sweep_csv",
    "sweep_numbers", "sweep_summary",
]  # fmt: skip

MEMBERS = "simulated-shots"
"""The members of a scatter study, beside its report; writing the report leaves them alone."""

SCATTER = StudyReport(
    study="scatter",
    figures=ensembles.figures,
    captions=study_page.captions,
    numbers=scatter_numbers,
    page=study_page.scatter_page,
    kept=(MEMBERS,),
)

SWEEP = StudyReport(
    study="sweep",
    figures=sweeps.figures,
    captions=study_page.sweep_captions,
    numbers=sweep_numbers,
    page=study_page.sweep_page,
    own={"sweep.csv": lambda sweep: sweep_csv(sweep).encode()},
)
