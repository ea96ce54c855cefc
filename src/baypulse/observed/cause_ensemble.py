"""Members of a case in which a cause was at work, and what became of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from baypulse.case.model import Case
from baypulse.members.draws import member_case
from baypulse.members.outcomes import Outcomes, joined
from baypulse.observed.causes import Cause


@dataclass(frozen=True)
class CauseEnsemble:
    """Shots of a case in which one cause, or a pair of them, was at work.

    Attributes
    ----------
    causes : tuple of Cause
        One, or two.
    case : Case
        The case the members scatter about, with whatever other number of pins and open paths the
        causes need; run it with `values`, by :func:`baypulse.members.outcomes.run_members`.
    values : mapping
        What was drawn, by path; arrays with the members first, the same base points for every
        cause. A member that a cause changes has it in its values.
    outcomes : Outcomes
        What became of the members.
    usable : ndarray of bool, shape (members,)
        False for a member that has no room for its charge, or whose run stopped early: it counts
        as never seen.
    """

    causes: tuple[Cause, ...]
    case: Case
    values: Mapping[str, np.ndarray]
    outcomes: Outcomes
    usable: np.ndarray

    @property
    def name(self) -> str:
        """The cause, or both of them."""
        return name_of(self.causes)

    @cached_property
    def drawn(self) -> Case:
        """The case with the members' values put in their places."""
        return member_case(self.case, self.values)

    @cached_property
    def left(self) -> dict[str, np.ndarray]:
        """What the members leave to be seen, by kind: kept from the first look at it on."""
        return {}

    @property
    def members(self) -> int:
        """How many."""
        return self.usable.size

    def some(self, which: np.ndarray | slice) -> CauseEnsemble:
        """Return some of the members, with what became of them.

        Parameters
        ----------
        which : ndarray of int, shape (n,), or slice
            Their places.
        """
        values = {path: drawn[which] for path, drawn in self.values.items()}
        outcomes = self.outcomes.some(which)
        return replace(self, values=values, outcomes=outcomes, usable=self.usable[which])

    def and_further(self, further: CauseEnsemble) -> CauseEnsemble:
        """Return these members and, behind them, further ones of the same causes.

        Parameters
        ----------
        further : CauseEnsemble
            Of the same case.
        """
        values = {
            path: np.concatenate([drawn, further.values[path]])
            for path, drawn in self.values.items()
        }
        outcomes = joined([self.outcomes, further.outcomes])
        usable = np.concatenate([self.usable, further.usable])
        return replace(self, values=values, outcomes=outcomes, usable=usable)


def name_of(causes: tuple[Cause, ...]) -> str:
    """Return what a cause or a pair of causes is called."""
    return " and ".join(cause.name for cause in causes)
