"""Pins against charge, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from baypulse.case import quantities
from baypulse.case.quantities import often
from baypulse.studies.pins.compute import NEARLY_ALL, SELDOM, hardening, shutting
from baypulse.studies.pins.pin_kinds import MEASURED
from baypulse.studies.pins.result import Burning, PinMap, PinStudy, Rise, Spot


def amount(study: PinStudy, value: float) -> str:
    """Return a charge as people say it."""
    gauge = " gauge" if study.dimension == "gauge pressure" else ""
    return quantities.show(value, study.dimension) + gauge


def pins_word(count: int) -> str:
    """Return "no pins", "1 pin" or "3 pins"."""
    return "no pins" if count == 0 else "1 pin" if count == 1 else f"{count} pins"


def headline(study: PinStudy) -> str:
    """Return what this case's pins do with its charge, and where the limits of both lie."""
    own = own_row(study)
    if own is None:
        return f"{study.maps[0].thread}: {len(study.counts)} numbers of pins looked at"
    sure = [spot.count for spot in own if spot.trial.opens.share >= 1.0 - SELDOM]
    with_charge = f"With {amount(study, study.present)}"
    if not sure:
        return f"{with_charge} no number of pins separates in 95 % of the shots"
    if len(sure) == len(own):
        return f"{with_charge} all up to {pins_word(max(sure))} open in 95 % of the shots or more"
    one = "separates" if sure == [1] else "separate"
    return f"{with_charge} {_listed(sure)} {one} in 95 % of the shots or more, the others in fewer"


def _listed(counts: Sequence[int]) -> str:
    """Return "no pins, 2 to 4 pins"."""
    texts: list[str] = []
    for count in counts:
        first = count
        while first - 1 in counts:
            first -= 1
        if count + 1 not in counts:
            texts.append(pins_word(count) if first == count else f"{first} to {pins_word(count)}")
    return ", ".join(texts)


def own_row(study: PinStudy) -> tuple[Spot, ...] | None:
    """Return the case's own kind of pins over their number, at the case's charge."""
    places = [k for k, value in enumerate(study.charges) if value == study.present]
    held = study.maps[0]
    return tuple(row[places[0]] for row in held.spots) if places and held.own else None


def of_own(study: PinStudy) -> list[str]:
    """Return what the case's own kind of pins does with its charge; nothing where that is not told.

    Parameters
    ----------
    study : PinStudy
        Findings.
    """
    own = own_row(study)
    return [] if own is None else _trend("", own, study)


def of_powders(study: PinStudy) -> list[str]:
    """Return what the comparison of powders says, and whether more pins separate more often.

    Parameters
    ----------
    study : PinStudy
        Findings.
    """
    found = []
    for each in study.burnings:
        found += _trend(f"{each.name} powder, ", each.spots, study)
    return [*found, *_compared(study.burnings), *_rises(study.rises, study)]


def _trend(name: str, spots: Sequence[Spot], study: PinStudy) -> list[str]:
    """Return how speed and chance go with the number of pins."""
    what = f"With {name}{amount(study, spots[0].trial.charge)}"
    harder, shut = hardening(spots), shutting(spots)
    parts = []
    if harder is not None:
        before, after = (quantities.show(v, "velocity") for v in (harder.before, harder.after))
        parts.append(
            f"more pins open harder: from {pins_word(harder.fewer.count)} to "
            f"{harder.more.count} the same shots part at {after} in place of {before} (medians), "
            f"and it still opens {often(harder.more.trial.opens)}"
        )
    if shut is not None:
        sure, first = shut
        parts.append(
            f"{pins_word(sure.count)} open {often(sure.trial.opens)}, and "
            f"{pins_word(first.count)} {often(first.trial.opens)}"
        )
    if not parts:
        ends = spots[0], spots[-1]
        if all(spot.trial.opens.share >= NEARLY_ALL for spot in spots):
            parts.append(
                f"the pins hardly matter: {_speed(ends[0])} with {pins_word(ends[0].count)}, "
                f"{_speed(ends[1])} with {ends[1].count}, opening {often(ends[1].trial.opens)}"
            )
        else:
            parts.append(
                f"it separates {often(ends[0].trial.opens)} with {pins_word(ends[0].count)}, and "
                f"{often(ends[1].trial.opens)} with {ends[1].count}"
            )
    return [f"{what}: {'; '.join(parts)}."]


def _speed(spot: Spot) -> str:
    value = spot.trial.clear_velocity[1]
    return quantities.show(value, "velocity") if math.isfinite(value) else "none"


def _compared(burnings: Sequence[Burning]) -> list[str]:
    """Return whether pins tell quick powder from slow, charge by charge."""
    found = []
    for quick in (each for each in burnings if each.quick):
        slow = next(s for s in burnings if not s.quick and s.charge == quick.charge)
        apart = [
            (q, s) for q, s in zip(quick.spots, slow.spots, strict=True)
            if q.trial.opens.low > s.trial.opens.high
        ]  # fmt: skip
        text = f"With {quantities.show(quick.charge, 'mass')}"
        if not apart:
            found.append(
                f"{text} no number of pins tells slow {slow.name} powder from quick {quick.name} "
                "in how often it separates, as far as so many shots show."
            )
            continue
        q, s = max(apart, key=lambda pair: pair[0].trial.opens.share - pair[1].trial.opens.share)
        found.append(
            f"{text} and {pins_word(q.count)} quick {quick.name} powder separates "
            f"{often(q.trial.opens)}, slow {slow.name} {often(s.trial.opens)}."
        )
    return found


def _rises(rises: Sequence[Rise], study: PinStudy) -> list[str]:
    """Return where more pins raise the chance of separation, or that they nowhere do."""
    if not rises:
        return ["Nowhere here do more pins raise the chance of separation."]
    best = max(rises, key=lambda r: r.more.trial.opens.share - r.fewer.trial.opens.share)
    fewer, more = best.fewer, best.more
    peaks = [quantities.show(s.trial.peak_pressure[1], "gauge pressure") for s in (fewer, more)]
    return [
        f"More pins can raise the chance of separation: {best.where}, "
        f"{amount(study, best.charge)}: {pins_word(fewer.count)} open {often(fewer.trial.opens)}, "
        f"{pins_word(more.count)} {often(more.trial.opens)}. The middle peak pressure is "
        f"{peaks[0]} with fewer and {peaks[1]} with more; the joint alone parts "
        f"{often(fewer.joint)} and {often(more.joint)}, but the parachute has to come out too."
    ]


def nearest(study: PinStudy) -> int:
    """Return the column of the case's charge, or of the charge next to it."""
    return min(
        range(study.charges.size), key=lambda k: abs(math.log(study.charges[k] / study.present))
    )


def kind(held: PinMap) -> str:
    """Return what a kind of pins is called at the head of a table."""
    return f"Pins {MEASURED}" if held.thread == MEASURED else f"{held.thread} pins"
