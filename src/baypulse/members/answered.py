"""A study that knows its answer before it has all that its report shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from baypulse.members.blocks import Progress

Findings = TypeVar("Findings")
Told = TypeVar("Told")


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

    def told_by(self, tell: Callable[[Findings], Told]) -> Answered[Told]:
        """Return the same as something tells it, such as a document.

        Parameters
        ----------
        tell : callable
            From findings to what is said of them.
        """
        return Answered(tell(self.findings), lambda progress: tell(self.whole(progress)))
