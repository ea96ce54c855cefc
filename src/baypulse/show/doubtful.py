"""What is possible and unlikely in the cases that a document is of."""

from __future__ import annotations

from collections.abc import Sequence

from baypulse.case.casefile import consistency
from baypulse.case.model import Case


def doubts(cases: Sequence[Case]) -> list[str]:
    """Return what is doubtful, a sentence each, with the case's name where there are several.

    Parameters
    ----------
    cases : sequence of Case
        What was read.
    """
    return [
        f"{case.name}: {key}: {sentence}" if len(cases) > 1 else f"{key}: {sentence}"
        for case in cases
        for key, sentence in consistency.doubts(case)
    ]
