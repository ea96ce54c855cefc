"""What the charge window is made of: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from baypulse.case.model import Case
from baypulse.run.result import Breakdown, StaticRule

if TYPE_CHECKING:
    from baypulse.observed.contradiction import Contradiction
from baypulse.members.charge_results import Edge, Trial


@dataclass(frozen=True)
class Remedy:
    """One change to a case, and what it does to the window.

    Attributes
    ----------
    change : str
        In words, such as ``"2 pins in place of 3"``.
    least, most : float or None
        The window's ends with it, SI; None where no charge separates often enough, and where no
        limit is reached.
    """

    change: str
    least: float | None
    most: float | None

    @property
    def opens_window(self) -> bool:
        """Whether there is a window with this change."""
        return self.least is not None and (self.most is None or self.least <= self.most)


@dataclass(frozen=True)
class AfterShots:
    """The shots that a window rests on.

    Attributes
    ----------
    file : str
        Where they stand.
    shots : int
        How many.
    builds : int
        How many were weighed by them.
    effective : float
        How many equal builds these are worth.
    least : float or None
        The least charge before any of the shots [SI].
    contradiction : Contradiction or None
        Where what was seen lies outside what the case can do; no charge is recommended then.
    """

    file: str
    shots: int
    builds: int
    effective: float
    least: float | None
    contradiction: Contradiction | None


@dataclass(frozen=True)
class Window:
    """Between which charges a bay separates and nothing breaks.

    An answer has of the curve no more than the charge of the case, no limits, and remedies only
    where the window is empty (:class:`baypulse.studies.window.survey.Survey`).

    Attributes
    ----------
    case : Case
        The case.
    wanted : float
        Chance of separation that was asked for; no limit may be exceeded with more than its rest.
    path, label, dimension : str
        The input that is sought: ``"powder.mass"`` or ``"cold_gas.pressure"``.
    present : float
        Its value in the case, SI.
    members, seed : int
        Members behind each end, and their seed.
    least : Edge or None
        The least charge that opens the bay with the target reliability.
    most : Edge or None
        The most before a limit is exceeded more often than wanted.
    reasons : tuple of str
        Why an end is missing, or why there is no window: a sentence each.
    limits : tuple of Edge
        Where each limit alone would end the window, by fewer members, the first one first; those
        not reached within the search are left out.
    lowest, highest : float
        Charges between which was searched, SI.
    recommended, backup, both, after_failure : Trial or None
        With members of their own, drawn apart from those of the search: the ground-test charge on
        the ground; the second charge into a fresh bay; both at once; the second into a bay that
        the first failed to open (members are only those that failed).
    rule : Trial or None
        What the static rule's charge would do; None for a cold gas, and where it has no room.
    curve : tuple of Trial
        Points of the chance and of the numbers over the charge, rising, by fewer members.
    static_rule : StaticRule
        The rule's answer.
    breakdown : Breakdown or None
        From the rule's pressure to the transient one, at the recommended charge.
    remedies : tuple of Remedy
        What would open or widen the window, best first; empty where it is wide enough.
    as_it_is : Remedy or None
        The ends without any change, by the same few members as those of the changes; None where
        none was tried.
    runs : int
        Runs of the engine that the answer took.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    after : AfterShots or None
        The shots that it rests on; None where it rests on the spreads of the case alone.
    """

    case: Case
    wanted: float
    path: str
    label: str
    dimension: str
    present: float
    members: int
    seed: int
    least: Edge | None
    most: Edge | None
    reasons: tuple[str, ...]
    limits: tuple[Edge, ...]
    lowest: float
    highest: float
    recommended: Trial | None
    backup: Trial | None
    both: Trial | None
    after_failure: Trial | None
    rule: Trial | None
    curve: tuple[Trial, ...]
    static_rule: StaticRule
    breakdown: Breakdown | None
    remedies: tuple[Remedy, ...]
    as_it_is: Remedy | None
    runs: int
    warnings: tuple[str, ...]
    after: AfterShots | None = None

    @property
    def empty(self) -> bool:
        """Whether there is no charge that opens the bay often enough and breaks nothing."""
        return self.least is None or (
            self.most is not None and self.most.charge < self.least.charge
        )
