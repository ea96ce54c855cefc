"""Pins against charge: what every number and kind of pins does with every charge.

Pins set the pressure at which a joint begins to move. A charge that has burnt by then pushes the
same however many there are; one that still burns has more behind it the longer they hold; and one
too small for them does not open the bay at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from baypulse.case import library
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import number_at, value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Pins
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.charge_results import Trial, quantiles
from baypulse.members.charge_search import PILOT, Search
from baypulse.members.charge_table import ChargeTable, charge_table
from baypulse.members.charges import Charges, Tally, charge_path, trial_of
from baypulse.members.outcomes import Outcomes, weakest_strength
from baypulse.members.parts import StudyError
from baypulse.studies.pins.pin_kinds import MEASURED, pin_kinds

COLUMNS = 10
"""Charges of a map, in equal factors."""

MORE_PINS = 2
"""The greatest number of pins is so many times the case's."""

FEWEST_ROWS = 6
"""The greatest number of pins at the least."""

MOST_PINS = 24
"""The greatest number of pins at the most."""

BELOW = 0.5
"""First charge of a map, over the least of the case's own window."""

ABOVE = 1.6
"""Last charge of a map, over the most of the case's own window."""

SHOWN = 32
"""Members that are known in full with every charge of a map: speeds, pressures, loads, limits."""

BURNING_MEMBERS = 128
"""Members of a point in the comparison of quick and slow powder."""

BURNING_COUNTS = (0, 2, 4, 8, 12)
"""Pins in that comparison, beside those of the case: more than people fit, so that both ends show,
the harder opening and the bay that does not separate."""

OFTEN = 0.5
"""Chance from which a bay mostly separates."""

SELDOM = 0.05
"""Chance up to which it does not separate."""

NEARLY_ALL = 0.9
"""Chance of separation from which speeds are compared."""

GROWN = 1.05
"""Their ratio from which it is harder."""

DOUBT = 0.01
"""Chance that anything is called a rise of the chance of separation that is none."""


class _Draw(NamedTuple):
    """How members are drawn."""

    members: int
    seed: int
    workers: int
    tally: Tally


@dataclass(frozen=True)
class Spot:
    """One number of pins with one charge.

    Attributes
    ----------
    count : int
        Pins; 0 for none.
    trial : Trial
        What its members do: the chance of separation is that of all, everything else of those that
        are known in full.
    in_full : int
        How many are.
    joint : Chance
        That the joint separates, whatever becomes of the contents.
    margin : tuple of float
        Strength of the weakest link over the cord's load: the values below which 5, 50 and 95 %
        lie of the members whose cord pulls; NaN where none does.
    works : ndarray of bool, shape (members,)
        Which members separate and let their parachute go; the same members at every number of pins.
    speeds : ndarray, shape (members,)
        Separation velocity of each, NaN where the joint does not separate or it is not known in
        full [m/s].
    """

    count: int
    trial: Trial
    in_full: int
    joint: Chance
    margin: tuple[float, float, float]
    works: np.ndarray
    speeds: np.ndarray


@dataclass(frozen=True)
class Harder:
    """More pins that open a bay harder.

    Attributes
    ----------
    fewer, more : Spot
        Both open in nearly all shots.
    before, after : float
        Median speed of the members that separate with both [m/s].
    grown : float
        Median of the ratio of both, each member against itself: half as many members tell it better
        than they tell the ratio of the medians.
    """

    fewer: Spot
    more: Spot
    before: float
    after: float
    grown: float


@dataclass(frozen=True)
class PinMap:
    """All numbers of one kind of pins with all charges.

    Attributes
    ----------
    thread : str
        Kind of pins.
    own : bool
        Whether it is the case's.
    spots : tuple of tuple of Spot
        A row for each number of pins, a spot for each charge.
    """

    thread: str
    own: bool
    spots: tuple[tuple[Spot, ...], ...]


@dataclass(frozen=True)
class Burning:
    """One powder, and one charge of it, over the number of pins.

    Attributes
    ----------
    name : str
        Granulation.
    quick : bool
        Whether it is the finer of both.
    charge : float
        [kg].
    spots : tuple of Spot
        One for each number of pins.
    """

    name: str
    quick: bool
    charge: float
    spots: tuple[Spot, ...]


@dataclass(frozen=True)
class Rise:
    """More pins that raise the chance of separation.

    Attributes
    ----------
    where : str
        Kind of pins, or the powder.
    charge : float
        SI.
    fewer, more : Spot
        Of the same members so many more open with more pins that it is no chance: an exact sign
        test on those that differ.
    """

    where: str
    charge: float
    fewer: Spot
    more: Spot


@dataclass(frozen=True)
class PinStudy:
    """Pins against charge.

    Attributes
    ----------
    case : Case
        The case.
    label, dimension : str
        What the charge is called, and its dimension.
    present : float
        The charge of the case, SI.
    counts : tuple of int
        Numbers of pins, rising.
    charges : ndarray, shape (n,)
        Rising, SI; one of them is that of the case, if it lies between.
    maps : tuple of PinMap
        The case's own kind of pins first.
    burnings : tuple of Burning
        Quick and slow powder at the charge of the case and at its least charge; empty for a cold
        gas, and where the grains were measured.
    rises : tuple of Rise
        Where more pins raise the chance of separation.
    members, seed, runs : int
        Members of a spot of the maps, their seed, and all runs.
    """

    case: Case
    label: str
    dimension: str
    present: float
    counts: tuple[int, ...]
    charges: np.ndarray
    maps: tuple[PinMap, ...]
    burnings: tuple[Burning, ...]
    rises: tuple[Rise, ...]
    members: int
    seed: int
    runs: int


def pins(
    case: Case,
    *,
    counts: Sequence[int] = (),
    threads: Sequence[str] = (),
    span: tuple[float, float] | None = None,
    members: int = 128,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> PinStudy:
    """Fire every number and kind of pins with every charge.

    Parameters
    ----------
    case : Case
        With pins; its spreads and the library's scatter.
    counts : sequence of int, optional
        Numbers of pins, 0 for none; by default from none to twice those of the case.
    threads : sequence of str, optional
        Kinds from the library; by default the case's and its neighbours in size.
    span : tuple of float, optional
        Least and greatest charge [SI]; by default around the case's own window.
    members : int
        Behind the chances of each spot; the same scores at every spot with the same number of pins.
        All of them are known in full with the charge of the case, or the one next to it.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.

    Raises
    ------
    StudyError
        If the case has no pins, or a number, a kind or a charge is impossible.
    """
    if case.pins is None:
        raise StudyError(f"{case.name}: this case has no [pins] to set against the charge")
    kinds = pin_kinds(case, threads)
    rows = _counts(case.pins, counts)
    path = charge_path(case)
    spec = number_at(path)
    compared = rows if counts else sorted({*BURNING_COUNTS, case.pins.count})
    fired = 3 * members + COLUMNS * SHOWN
    expected = len(kinds) * len(rows) * fired + 4 * len(compared) * BURNING_MEMBERS
    tally = Tally(progress, expected + 20 * PILOT)
    least, charges = _charges(case, span, seed, workers, tally)
    present = float(value_at(case, path))
    whole = [float(charges[np.argmin(np.abs(np.log(charges / present)))])]
    draw = _Draw(members, seed, workers, tally)
    maps = [PinMap(kinds[0], True, _rows(case, kinds[0], rows, charges.tolist(), whole, draw))]
    # no pins are no pins of any kind
    bare = [row for row in maps[0].spots if row[0].count == 0]
    held = [count for count in rows if count > 0]
    for kind in kinds[1:]:
        own = _rows(case, kind, held, charges.tolist(), whole, draw) if held else ()
        maps.append(PinMap(kind, False, (*bare, *own)))
    burnings = tuple(_burnings(case, compared, least, _Draw(BURNING_MEMBERS, seed, workers, tally)))
    return PinStudy(
        case=case,
        label="charge" if case.powder is not None else "fill pressure",
        dimension=spec.dimension,
        present=present,
        counts=tuple(rows),
        charges=charges,
        maps=tuple(maps),
        burnings=burnings,
        rises=tuple(_rises(maps, burnings)),
        members=members,
        seed=seed,
        runs=tally.runs,
    )


def _counts(own: Pins, counts: Sequence[int]) -> list[int]:
    rows = sorted(set(counts)) or list(range(max(MORE_PINS * own.count, FEWEST_ROWS) + 1))
    if rows[0] < 0 or rows[-1] > MOST_PINS:
        raise StudyError(f"{rows[0]} to {rows[-1]} pins: the number of pins is 0 to {MOST_PINS}")
    return [count for count in rows if count <= MOST_PINS]


def _charges(
    case: Case, span: tuple[float, float] | None, seed: int, workers: int, tally: Tally
) -> tuple[float | None, np.ndarray]:
    """Return the least charge of the case, and the charges of the maps."""
    members = Charges(case, PILOT, seed, workers, tally)
    present = float(value_at(case, members.path))
    search = Search(members, 0.99, present)
    least, most = search.ends()
    if span is None:
        low = BELOW * (least or present)
        high = ABOVE * max(most or 0.0, 2.0 * (least or present), present / ABOVE)
        span = max(low, search.floor), min(high, search.ceiling)
    elif span[1] > search.ceiling:
        for _, sentence in consistency.problems(with_value(case, members.path, span[1])):
            raise StudyError(f"{case.name}: {sentence}; choose less for --charges")
    charges = np.geomspace(*span, COLUMNS)
    if span[0] <= present <= span[1]:
        charges[np.argmin(np.abs(np.log(charges / present)))] = present
    return least, charges


def _with_pins(case: Case, count: int, kind: str) -> Case:
    """Return the case with other pins; without any when there are none."""
    assert case.pins is not None
    if count == 0:
        kept = {path: s for path, s in case.spreads.items() if not path.startswith("pins.")}
        return replace(case, pins=None, spreads=kept)
    thread = case.pins.thread if kind == MEASURED else kind
    return replace(case, pins=replace(case.pins, count=count, thread=thread))


def _rows(
    case: Case, kind: str, counts: Sequence[int], charges: Sequence[float],
    whole: Sequence[float], draw: _Draw,
) -> tuple[tuple[Spot, ...], ...]:  # fmt: skip
    """Fire the same members with every number of pins, and all with some of the charges."""
    most = Charges(_with_pins(case, max(*counts, 1), kind), *draw)
    found = []
    table = None
    for count in counts:
        held = _with_pins(case, count, kind)
        first = [draw.members if charge in whole else SHOWN for charge in charges]
        table = charge_table(most.with_pins(held), charges, first, table)
        found.append(tuple(_spot(held, count, table, k, c) for k, c in enumerate(charges)))
        if count == 0:
            table = None
    return tuple(found)


def _spot(case: Case, count: int, table: ChargeTable, column: int, charge: float) -> Spot:
    works, parts, fired = table.works[column], table.parts[column], table.fired(column)
    speeds = np.full(works.size, np.nan)
    speeds[: fired.verdict.size] = fired.column("clear_velocity")
    opens = chance("separates", int(works.sum()), works.size)
    return Spot(
        count=count,
        trial=replace(trial_of(case, "", charge, fired), opens=opens),
        in_full=fired.verdict.size,
        joint=chance("the joint separates", int(parts.sum()), parts.size),
        margin=quantiles(margins(case, fired)),
        works=works,
        speeds=speeds,
    )


def margins(case: Case, outcomes: Outcomes) -> np.ndarray:
    """Return strength of the weakest link over the load of the cord, shape (members,).

    NaN where the cord does not pull.

    Parameters
    ----------
    case : Case
        The case.
    outcomes : Outcomes
        Of its members.
    """
    load = outcomes.column("cord_load")
    if case.cord is None:
        return np.full(load.shape, np.nan)
    strength = weakest_strength(draws.member_case(case, outcomes.values))
    return strength / np.where(load > 0.0, load, np.nan)


def _burnings(
    case: Case, counts: Sequence[int], least: float | None, draw: _Draw
) -> Iterator[Burning]:
    """Yield the finest and the coarsest powder of the library over the number of pins."""
    powder = case.powder
    if powder is None or powder.smallest_grain or powder.largest_grain:
        return
    grades = sorted(
        library.names("powders"),
        key=lambda name: library.powder(name, case.materials).largest_grain,
    )
    charges = sorted({powder.mass, *([least] if least else [])})
    told = sorted(charges, key=lambda charge: charge != powder.mass)
    for k in (0, -1):
        other = replace(case, powder=replace(powder, grade=grades[k]))
        rows = _rows(other, MEASURED, counts, charges, charges, draw)
        for charge in told:
            spots = tuple(row[charges.index(charge)] for row in rows)
            yield Burning(grades[k], k == 0, charge, spots)


def _rises(maps: Sequence[PinMap], burnings: Sequence[Burning]) -> Iterator[Rise]:
    """Yield where one number of pins separates more often than a smaller one, beyond chance."""
    from scipy.stats import binomtest

    columns = [(each.thread, column) for each in maps for column in zip(*each.spots, strict=True)]
    columns += [(each.name, each.spots) for each in burnings]
    for where, spots in columns:
        best = max(spots, key=lambda spot: spot.trial.opens.share)
        fewer = [spot for spot in spots if spot.count < best.count]
        worst = min(fewer, key=lambda spot: spot.trial.opens.share, default=best)
        gained = int((best.works & ~worst.works).sum())
        changed = int((best.works ^ worst.works).sum())
        # one of so many comparisons would come out so by chance
        level = DOUBT / len(columns)
        if changed and binomtest(gained, changed, 0.5, "greater").pvalue < level:
            yield Rise(where, best.trial.charge, worst, best)


def hardening(spots: Sequence[Spot]) -> Harder | None:
    """Return the fewest pins and those with the hardest opening, where it grows harder.

    Parameters
    ----------
    spots : sequence of Spot
        Over the number of pins, at one charge.

    Returns
    -------
    Harder or None
        Of the members that separate with both half are faster by a twentieth or more.
    """
    often = [spot for spot in spots if spot.trial.opens.share >= NEARLY_ALL]
    found = [_harder(often[0], spot) for spot in often[1:]]
    best = max(found, key=lambda each: each.grown, default=None)
    return best if best is not None and best.grown > GROWN else None


def _harder(fewer: Spot, more: Spot) -> Harder:
    both = np.isfinite(fewer.speeds) & np.isfinite(more.speeds)
    before, after = (float(np.median(spot.speeds[both])) for spot in (fewer, more))
    return Harder(
        fewer, more, before, after, float(np.median(more.speeds[both] / fewer.speeds[both]))
    )


def shutting(spots: Sequence[Spot]) -> tuple[Spot, Spot] | None:
    """Return the last number of pins that nearly always separates, the first that hardly ever does.

    Parameters
    ----------
    spots : sequence of Spot
        Over the number of pins, at one charge.
    """
    sure = [spot for spot in spots if spot.trial.opens.share >= 1.0 - SELDOM]
    shut = [
        spot for spot in spots
        if spot.trial.opens.share <= SELDOM and sure and spot.count > sure[-1].count
    ]  # fmt: skip
    return (sure[-1], shut[0]) if shut else None
