"""A study that knows its answer before it has all that its report shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from baypulse.members.blocks import Progress

Findings = TypeVar("Findings")


@dataclass(frozen=True)
class Answered(Generic[Findings]):
    """What is known of a case first, and how the rest is found.

    Attributes
    ----------
    findings : object
        Of the study: all that its answer tells.
    whole : callable
        From a progress, or None, to the findings with all that the report shows. Asked for once.
    """

    findings: Findings
    whole: Callable[[Progress | None], Findings]
