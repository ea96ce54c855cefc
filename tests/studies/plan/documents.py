"""Documents of ground-test plans, for what holds for the document of every study."""

import plan_findings as made
from baypulse.studies.plan.document import document

DOCUMENTS = {
    f"plan {name}": lambda make=make: document(make()) for name, make in made.KINDS.items()
}
