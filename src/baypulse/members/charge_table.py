"""What the same members do with several charges, fired where nothing else tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from baypulse.engine.ensemble import Until
from baypulse.members.charges import Charges, works
from baypulse.members.outcomes import Outcomes, joined

UNKNOWN = -1


@dataclass(frozen=True)
class ChargeTable:
    """Members with several charges.

    Attributes
    ----------
    bays : Charges
        The members.
    charges : ndarray, shape (charges,)
        Rising [SI].
    works, parts : ndarray of bool, shape (charges, members)
        Whether a member separates and lets its parachute go, and whether its joint separates: as
        it was fired, else as it did with other charges.
    shut : ndarray of bool, shape (charges, members)
        Which members were fired, or were told of by fewer pins, and kept all their pins.
    first : tuple of int
        How many members were asked for with each charge.
    seen : Outcomes
        Of those, one behind the other, without their values.
    places : ndarray of int, shape (charges, members)
        Where each stands there.
    """

    bays: Charges
    charges: np.ndarray
    works: np.ndarray
    parts: np.ndarray
    shut: np.ndarray
    first: tuple[int, ...]
    seen: Outcomes
    places: np.ndarray

    def fired(self, charge: int) -> Outcomes:
        """Return what the members that were asked for did with one of the charges."""
        member = np.arange(self.first[charge])
        amounts = np.full(member.size, self.charges[charge])
        found = self.seen.some(self.places[charge, member])
        return replace(found, values=_values(self.bays, member, amounts))


def charge_table(
    bays: Charges, charges: Sequence[float], first: Sequence[int],
    fewer: ChargeTable | None = None, like: ChargeTable | None = None,
) -> ChargeTable:  # fmt: skip
    """Fire members with several charges, no more than it takes to know what each does with all.

    What separates with one charge is taken to separate with every higher one, as in the searches of
    a window: where charges tell otherwise, what is between them is taken not to.

    Parameters
    ----------
    bays : Charges
        The members.
    charges : sequence of float
        Rising [SI].
    first : sequence of int
        How many members are known in full with each of them, whatever others tell.
    fewer : ChargeTable, optional
        The same members and charges with fewer pins, but some, and as many asked for. Pins that
        held the bay shut hold it with others beside them too, and the gas does the same then: of
        bench-76 to 0.5 % of the peak pressure, in 1,000 members of which none opened.
    like : ChargeTable, optional
        The same members and charges of a bay that opens at about the same: where to look first.
    """
    amounts = np.asarray(charges, dtype=float)
    asked = np.arange(bays.members) < np.array(first)[:, None]
    held = np.zeros_like(asked) if fewer is None else fewer.shut
    opening, parting = np.full((2, *asked.shape), UNKNOWN, dtype=np.int8)
    opening[held] = parting[held] = 0
    shut = held.copy()
    places = np.zeros(asked.shape, dtype=np.int32)
    parts: list[Outcomes] = []

    def keep(column: np.ndarray, member: np.ndarray, outcomes: Outcomes) -> None:
        places[column, member] = sum(each.verdict.size for each in parts) + np.arange(member.size)
        parts.append(outcomes)

    if fewer is not None:
        column, member = np.nonzero(held & asked)
        keep(column, member, fewer.seen.some(fewer.places[column, member]))
    column, member = np.nonzero(asked & ~held)
    while True:
        if member.size:
            whole = asked[column, member]
            until = Until.END if whole.any() else Until.OPEN
            outcomes = _fired(bays, member, amounts[column], until)
            opening[column, member], parting[column, member] = works(outcomes), outcomes.opened
            shut[column, member] = (outcomes.column("pins_failed") == 0.0) & ~outcomes.opened
            # of those that only tell of others nothing else is looked at
            kept = np.flatnonzero(whole)
            keep(column[kept], member[kept], outcomes.some(kept))
        unknown = (_told_by_others(opening) == UNKNOWN) | (_told_by_others(parting) == UNKNOWN)
        if not unknown.any():
            break
        column, member = _middle(unknown) if like is None else _nearest(unknown, like.works)
    return ChargeTable(
        bays, amounts, _told_by_others(opening) == 1, _told_by_others(parting) == 1, shut,
        tuple(asked.sum(axis=1).tolist()), joined(parts), places,
    )  # fmt: skip


def _middle(unknown: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the middle one of the charges that are left of each member, and which members."""
    middle = unknown.sum(axis=0) // 2 + 1
    member = np.flatnonzero(unknown.any(axis=0))
    return (unknown.cumsum(axis=0) == middle).argmax(axis=0)[member], member


def _nearest(unknown: np.ndarray, works: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return of each member that is left the charge next to the least that opens one like it."""
    least = np.where(works.any(axis=0), works.argmax(axis=0), works.shape[0])
    away = np.abs(np.arange(works.shape[0])[:, None] - least)
    member = np.flatnonzero(unknown.any(axis=0))
    return np.where(unknown, away, works.shape[0] + 1).argmin(axis=0)[member], member


def _told_by_others(known: np.ndarray) -> np.ndarray:
    """Return what is known of members, and what other charges tell of those that are not."""
    below = np.maximum.accumulate(known == 1, axis=0)
    above = np.flip(np.maximum.accumulate(np.flip(known == 0, axis=0), axis=0), axis=0)
    told = np.where(above, 0, np.where(below, 1, UNKNOWN))
    return np.where(known == UNKNOWN, told, known)


def _values(bays: Charges, member: np.ndarray, charges: np.ndarray) -> dict[str, np.ndarray]:
    """Return the values of members, each with a charge of its own."""
    values = {path: drawn[member] for path, drawn in bays.values.items()}
    scale = values.get(bays.path, np.full(member.size, bays.present))
    return values | {bays.path: charges / bays.present * scale}


def _fired(bays: Charges, member: np.ndarray, charges: np.ndarray, until: Until) -> Outcomes:
    """Fire members, each with a charge of its own."""
    return bays.with_values(_values(bays, member, charges)).fire(bays.present, until=until)
