"""Old trials that compare two ways of loading: free space over the powder, and windage.

Chambers, gaps and travel were mostly not given: what is not stated runs over what such mortars
had (estimates). Speeds are in vacuum from ranges, as the sources' transcription
(``manthey/ballistics``, transcribed) has them.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import product

from scipy.optimize import brentq

from baypulse import simulate
from baypulse.case.model import Case
from recorded import computed, records

MONTAGU = {"filled": (21.9, 38.0), "empty, fine": (14.5, 18.1), "empty, grains": (5.5, 5.5)}
"""Montagu 1792, pp. 11-15: speeds [m/s] of a 3 in iron ball over 11.66 g, 58 degrees."""

FITS, HOLDS = 14e-6, (60e-6, 200e-6)
"""Chamber that the charge fills, and what the whole chamber may hold [m^3]; the first is mass over
bulk density, the second an estimate (a mortar of 4.4 in had 153 cm^3)."""

BRADDOCK_CHAMBER = {"fitting": (37.6, 41.0), "large": (18.7, 22.8)}
"""Braddock 1832, p. 35: 56.7 g under 29.03 kg, 8 in; speeds [m/s]."""

LARGE, FITTING = (0.7e-3, 1.5e-3), 70e-6
"""Chambers [m^3]: of order a kilogram of powder, from memory; and of the charge."""

WORN = {"8 in": (18.0, 30.3), "4.5 in": (32.4, 55.7)}
"""Braddock 1832, p. 68: speeds [m/s] of a worn and of a new shell."""

NEW_GAP = (0.25e-3, 1.0e-3)
"""Gap of a new shell [m]; estimate. A worn one may have up to three millimetres."""

WIDEST_GAP = 3e-3


def speed(case: Case) -> float:
    """Return the speed of a shot [m/s]; 0 of one that does not come out."""
    found = computed(simulate(case))["speed"]
    return found if found > 0.0 else 0.0


def _known(name: str) -> Case:
    case = next(record.case for record in records() if record.name == name)
    return replace(case, spreads={})


def with_gap(case: Case, gap: float) -> Case:
    """Return the case with another windage [m]: the ring's length goes with the gap's root."""
    (ring,) = case.openings
    assert ring.gap is not None and ring.length is not None
    length = ring.length * math.sqrt(gap / ring.gap)
    return replace(case, openings=(replace(ring, gap=gap, length=length),))


def three_inch(chamber: float, travel: float, gap: float, grade: str = "2F") -> Case:
    """Return Montagu's mortar, cut to half a calibre."""
    case = _known("small-mortar-iron-1oz")
    bore = 76.2e-3
    assert case.powder is not None
    case = replace(
        case, powder=replace(case.powder, mass=11.66e-3, grade=grade, smallest_grain=None,
                             largest_grain=None),
        bay=replace(case.bay, bore=bore, tube_length=travel + chamber / (0.25 * math.pi * bore**2)),
        nose=replace(case.nose, mass=1.65), joint=replace(case.joint, shoulder_length=travel),
        openings=(replace(case.openings[0], width=math.pi * bore, length=0.011),),
        setting=replace(case.setting, attitude=math.radians(58.0)),
    )  # fmt: skip
    return with_gap(case, gap)


def eight_inch(chamber: float, gap: float) -> Case:
    """Return Braddock's mortar of 8 in with 56.7 g."""
    case = _known("eight-inch-mortar-57g")
    case = replace(
        case, bay=replace(case.bay, extra_volume=chamber), nose=replace(case.nose, mass=29.03)
    )
    return with_gap(case, gap)


def four_inch(gap: float) -> Case:
    """Return a mortar of 4.5 in with 28.3 g under 3.63 kg; chamber of another of its size."""
    case = _known("small-mortar-iron-1oz")
    assert case.powder is not None
    case = replace(
        case, nose=replace(case.nose, mass=3.63), powder=replace(case.powder, mass=28.3e-3)
    )
    return with_gap(case, gap)


@cache
def free_space() -> tuple[tuple[float, float], ...]:
    """Return speeds of Montagu's ball with the space filled and empty, over what was not given."""
    return tuple(
        (speed(three_inch(FITS, travel, gap)), speed(three_inch(chamber, travel, gap)))
        for chamber, travel, gap in product(HOLDS, (0.015, 0.030), (0.25e-3, 0.5e-3))
    )


@cache
def chambers() -> tuple[tuple[float, float], ...]:
    """Return speeds of Braddock's shell from the fitting and the large chamber."""
    return tuple(
        (speed(eight_inch(FITTING, gap)), speed(eight_inch(chamber, gap)))
        for chamber, gap in product(LARGE, (0.25e-3, 0.5e-3, 1.0e-3))
    )


@cache
def worn_gap(which: str, new: float) -> float:
    """Return the gap [m] that gives the worn shell's share of the new shell's speed."""
    make = four_inch if which == "4.5 in" else lambda gap: eight_inch(0.9e-3, gap)
    worn, sound = WORN[which]
    wanted = worn / sound * speed(make(new))
    return float(brentq(lambda gap: speed(make(gap)) - wanted, new, WIDEST_GAP, xtol=1e-5))


def energies(pairs: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Return the least and the greatest ratio of energies, first over second."""
    found = [(one / two) ** 2 for one, two in pairs]
    return min(found), max(found)
