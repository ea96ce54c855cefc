"""Documents of runs, for what holds for the document of every study."""

from baypulse.studies.run.document import document
from report_cases import TEXTS, run

DOCUMENTS = {f"run {name}": lambda name=name: document(run(name)) for name in [*TEXTS, "undecided"]}
