"""The report of a sweep: a page, figures and numbers."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.sweep import figures as sweeps
from baypulse.studies.sweep import page
from baypulse.studies.sweep.data import sweep_csv, sweep_numbers

SWEEP = StudyReport(
    study="sweep",
    figures=sweeps.figures,
    captions=page.sweep_captions,
    numbers=sweep_numbers,
    page=page.sweep_page,
    own={"sweep.csv": lambda sweep: sweep_csv(sweep).encode()},
)
