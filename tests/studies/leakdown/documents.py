"""Documents of leak-down tests of several kinds."""

from baypulse.studies.leakdown.document import document
from studies.leakdown.test_document import TESTS, found

DOCUMENTS = {f"leakdown {name}": lambda name=name: document(found(name)) for name in TESTS}
"""What makes each, by a name for the test."""
