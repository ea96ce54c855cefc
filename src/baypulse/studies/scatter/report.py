"""The report of a scatter: a page, figures and numbers."""

from __future__ import annotations

from baypulse.show.study_folder import StudyReport
from baypulse.studies.scatter import figures as ensembles
from baypulse.studies.scatter import page as study_page
from baypulse.studies.scatter.data import scatter_numbers

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
