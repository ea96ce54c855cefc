"""Documents of cords, for what holds for the document of every study."""

from baypulse.studies.cord.document import document
from cord_findings import TEXTS, found

DOCUMENTS = {f"cord {name}": lambda name=name: document(found(name)) for name in TEXTS}
