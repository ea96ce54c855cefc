"""Documents of made-up joints, for what holds for the document of every study."""

from baypulse.studies.joints.document import document
from joints_findings import every

DOCUMENTS = {
    f"joints {name}": lambda joints=held: document(joints) for name, held in every().items()
}
