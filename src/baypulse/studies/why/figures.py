"""Figures of a diagnosis: chances of the causes, simulated shots, and the next test."""

from __future__ import annotations

from typing import Any

from baypulse.show.figures.base import style
from baypulse.studies.why.explanation import Explained
from baypulse.studies.why.figures_of_curves import curves
from baypulse.studies.why.figures_of_odds import odds
from baypulse.studies.why.figures_of_tests import outlook, tests


def figures(found: Explained) -> dict[str, Any]:
    """Draw every figure of a diagnosis.

    Parameters
    ----------
    found : Explained
        Findings.

    Returns
    -------
    dict of str to matplotlib.figure.Figure
        ``"odds"``; ``"curves"`` where a leading cause can have been seen so; ``"tests"`` where
        there is one; ``"outlook"`` where one is recommended.
    """
    with style():
        made = {"odds": odds(found)}
        if found.typical:
            made["curves"] = curves(found)
        if found.tests.tests:
            made["tests"] = tests(found)
        chosen = found.tests.recommended
        if chosen is not None and any(each.known for each in chosen.outlooks):
            made["outlook"] = outlook(chosen)
        return made
