"""Documents of made-up charge windows, for what holds for the document of every study."""

import window_findings as made
from baypulse.studies.window.document import document

DOCUMENTS = {
    f"window {name}": lambda window=window: document(window) for name, window in made.every()
}
