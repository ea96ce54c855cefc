"""Documents of ascents, for what holds for the document of every study."""

from ascent_findings import TEXTS, found
from baypulse.studies.ascent.document import document

DOCUMENTS = {f"ascent {name}": lambda name=name: document(found(name)) for name in TEXTS}
