"""Documents of made-up sweeps, for what holds for the document of every study."""

import study_findings as made
from baypulse.studies.sweep.document import document

SWEEPS = {
    "of one": made.sweep_of_one, "of one shot": lambda: made.sweep_of_one(1),
    "of two": made.sweep_of_two, "of two, one shot": lambda: made.sweep_of_two(1),
    **{name: lambda name=name: made.odd_sweeps()[name] for name in made.odd_sweeps()},
}  # fmt: skip

DOCUMENTS = {f"sweep {name}": lambda make=make: document(make()) for name, make in SWEEPS.items()}
