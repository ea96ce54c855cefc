"""Pins against charge: what every number and kind of pins does with every charge.

Pins set the pressure at which a joint begins to move. A charge that has burnt by then pushes the
same however many there are; one that still burns has more behind it the longer they hold; and one
too small for them does not open the bay at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from scipy.special import bdtrc

from baypulse.case import library
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import number_at, value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Pins
from baypulse.members import draws
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.charge_results import quantiles
from baypulse.members.charge_search import PILOT, Search
from baypulse.members.charge_table import ChargeTable, charge_table
from baypulse.members.charges import Charges, Tally, charge_path, trial_of
from baypulse.members.outcomes import Outcomes, weakest_strength
from baypulse.members.parts import StudyError
from baypulse.studies.pins.pin_kinds import MEASURED, pin_kinds
from baypulse.studies.pins.result import Burning, Harder, PinMap, PinStudy, Rise, Spot

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


def answer(
    case: Case,
    *,
    counts: Sequence[int] = (),
    threads: Sequence[str] = (),
    span: tuple[float, float] | None = None,
    members: int = 128,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Answered[PinStudy]:
    """Fire every number and kind of pins with every charge, the case's own kind first.

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

    Returns
    -------
    Answered
        With the case's own kind of pins; the others, and powders, come after.

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
    of_a_kind = len(rows) * (3 * members + COLUMNS * SHOWN)
    tally = Tally(progress, of_a_kind + 3 * PILOT)
    least, charges = _charges(case, span, seed, workers, tally)
    present = float(value_at(case, path))
    whole = [float(charges[np.argmin(np.abs(np.log(charges / present)))])]
    draw = _Draw(members, seed, workers, tally)
    first = PinMap(kinds[0], True, _rows(case, kinds[0], rows, charges.tolist(), whole, draw))
    known = PinStudy(
        case=case,
        label="charge" if case.powder is not None else "fill pressure",
        dimension=spec.dimension,
        present=present,
        counts=tuple(rows),
        charges=charges,
        maps=(first,),
        burnings=(),
        rises=(),
        members=members,
        seed=seed,
        runs=tally.runs,
    )

    def rest(progress: Progress | None) -> PinStudy:
        others = (len(kinds) - 1) * of_a_kind
        tally.go_on(progress, others + 4 * len(compared) * BURNING_MEMBERS)
        maps = [first]
        # no pins are no pins of any kind
        bare = [row for row in first.spots if row[0].count == 0]
        held = [count for count in rows if count > 0]
        for kind in kinds[1:]:
            own = _rows(case, kind, held, charges.tolist(), whole, draw) if held else ()
            maps.append(PinMap(kind, False, (*bare, *own)))
        few = _Draw(BURNING_MEMBERS, seed, workers, tally)
        burnings = tuple(_burnings(case, compared, least, few))
        rises = tuple(_rises(maps, burnings))
        return replace(known, maps=tuple(maps), burnings=burnings, rises=rises, runs=tally.runs)

    return Answered(known, rest)


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
    first = [draw.members if charge in whole else SHOWN for charge in charges]
    found = []
    fewer: ChargeTable | None = None
    like: ChargeTable | None = None
    for count in counts:
        held = _with_pins(case, count, kind)
        like = charge_table(most.with_pins(held), charges, first, fewer, like)
        found.append(tuple(_spot(held, count, like, k, c) for k, c in enumerate(charges)))
        # a joint that no pin holds may have crept
        fewer = like if count > 0 else None
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
        if changed and bdtrc(gained - 1, changed, 0.5) < level:
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
