"""What an ascent says, in words: sentences, rows, the text of the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from baypulse.case.geometry import bore_area
from baypulse.case.quantities import digits, percent, show
from baypulse.caution import CAUTION
from baypulse.observed.climb import MEMBERS
from baypulse.show.text import WIDE, wrapped
from baypulse.studies.ascent.compute import AscentResult

AMPLE, ENOUGH = 4.0, 2.0
"""Margins from which a joint is said to be far from parting, and to have room; our choice."""

FELT = 100.0
"""Pressure below that outside from which the way down is told of [Pa]: 1 N on a bore of 110 mm."""

TRIFLE = 0.01
"""Share of the pull below which a part of it is not told."""

FAR = 100.0
"""Margin above which it is not told how far."""

LIMITS_OF_THE_ASCENT = (
    "The joint is taken as closed, straight and still. Under thrust the sections press on each "
    "other, and no pull of drag is counted then; bending, spin and the shock of the sound barrier "
    "are left out. Air is taken to be as still outside the vents as the altitude says: a hole "
    "near a shoulder, a fin or a corner sees a pressure of its own, which no altitude tells. "
    "Walls and pins keep the temperature that they have on the pad, where pins are weakest: that "
    "of the case, and warmer where the case was measured higher up. Pins that cool during the "
    "ascent with the tube hold more, which is not counted. The gap of the shoulder counts as an "
    "opening as wide as the case says; grease, paint or tape close it."
)
"""Printed in every report of an ascent."""


def headline(ascent: AscentResult) -> str:
    """Return the answer in a few words."""
    if ascent.force <= 0.0:
        return "Nothing pulls at the joint during the ascent"
    times = f"it holds {_margin(ascent)} the greatest pull"
    if ascent.parts >= 0.5:
        return (
            f"The joint comes apart during the ascent: in {percent(ascent.parts)} % of the rockets"
        )
    if ascent.margin < 1.0:
        return f"The joint may come apart during the ascent: in {percent(ascent.parts)} %"
    if ascent.margin < ENOUGH:
        return f"The joint stays closed during the ascent, with little room: {times}"
    return f"The joint stays closed during the ascent: {times}"


def meaning(ascent: AscentResult) -> list[str]:
    """Return what an ascent means, as sentences."""
    climb, flight = ascent.climb, ascent.climb.profile
    found = []
    share = f"{100.0 * ascent.wanted:g}"
    if ascent.force > 0.0:
        k = climb.worst
        text = (
            f"The joint is pulled most {show(float(flight.time[k]), 'time')} after launch, "
            f"{_h(float(flight.altitude[k]))} above sea level, with {_n(ascent.force)}"
        )
        text += _parts(ascent)
        found.append(
            f"{text}. It holds {_n(ascent.held)} when nothing scatters, and {_n(ascent.low)} or "
            f"more in {share} % of the rockets (pins as warm as the pad, friction at its low side)."
        )
    closed = ascent.sealed
    most = float(closed.difference[: flight.apogee + 1].max())
    trapped = most * float(bore_area(ascent.case))
    found.append(
        f"Without any opening, trapped air at {_p(most)} would push with {_n(trapped)}, "
        f"{_share(trapped / ascent.low)} of what the joint holds at its low side."
    )
    if trapped < ascent.low / AMPLE:
        found.append("So this joint does not depend on its vent.")
    left = float(climb.difference[flight.apogee])
    found.append(
        f"At apogee the bay is {_p(abs(left))} {'above' if left >= 0.0 else 'below'} the air "
        "outside."
    )
    after = climb.difference[flight.apogee + 1 :]
    if after.size and float(after.min()) < -FELT:
        lowest = float(after.min())
        found.append(
            f"On the way down, as long as the joint stays closed, the bay is up to {_p(-lowest)} "
            f"below the air outside, which presses the joint together with "
            f"{_n(-lowest * float(bore_area(ascent.case)))}."
        )
    if ascent.lag is not None:
        found.append(
            f"The electronics bay lags: its altimeter shows up to {_h(ascent.lag)} too little on "
            "the ascent."
        )
    return found


def _parts(ascent: AscentResult) -> str:
    """Return what of the greatest pull is trapped air, and what drag."""
    flight = ascent.climb.profile
    if flight.pull is None:
        return ""
    drag = float(flight.pull[ascent.climb.worst])
    air = ascent.force - drag
    if abs(drag) < TRIFLE * ascent.force:
        return ", all of it trapped air"
    if abs(air) < TRIFLE * ascent.force:
        return ", all of it drag"
    if drag < 0.0:
        return f": {_n(air)} by trapped air, less {_n(-drag)} of drag that presses it together"
    return f": {_n(air)} by trapped air and {_n(drag)} by drag"


def advice(ascent: AscentResult) -> list[str]:
    """Return what to do about it, as sentences."""
    if ascent.margin >= ENOUGH:
        return []
    flight, worst = ascent.climb.profile, ascent.climb.worst
    drag = 0.0 if flight.pull is None else float(flight.pull[worst])
    if drag > 0.5 * ascent.force:
        return [
            "Most of the pull is drag, which no vent takes away: more or stronger pins, or a nose "
            "section that is lighter or has more of the drag."
        ]
    return [
        "Most of the pull is trapped air: a larger vent, or more of them (baypulse vents says "
        "which); more pins hold it too, and then need more charge."
    ]


def rows(ascent: AscentResult) -> list[tuple[str, str]]:
    """Return numbers of an ascent with their names."""
    flight = ascent.climb.profile
    found = [
        ("Ascent", flight.source),
        ("Greatest speed", show(float(flight.speed[flight.burnout]), "velocity")),
        ("Apogee above sea level", _h(float(flight.altitude[flight.apogee]))),
        ("Time to apogee", show(float(flight.time[flight.apogee]), "time")),
        ("Greatest pull on the joint", _n(ascent.force)),
        ("Greatest pressure over the joint",
         _p(float(ascent.climb.difference[: flight.apogee + 1].max()))),
        ("Held when nothing scatters", _n(ascent.held)),
        (f"Held in {100.0 * ascent.wanted:g} % of the rockets", _n(ascent.low)),
        ("Margin", _margin(ascent)),
        ("Joints that part", f"{percent(ascent.parts)} %"),
    ]  # fmt: skip
    return found


def _margin(ascent: AscentResult) -> str:
    if not math.isfinite(ascent.margin):
        return "nothing pulls"
    if ascent.margin > FAR:
        return f"more than {FAR:g} times"
    return f"{digits(ascent.margin)} times"


def summary(ascent: AscentResult) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    ascent : Ascent
        Findings.

    Returns
    -------
    str
        Headline, sentences, numbers, notes, the caution.
    """
    lines = wrapped(f"{ascent.name}: {' '.join(ascent.case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(ascent).upper(), "  ", "  ")]
    for sentence in (*meaning(ascent), *advice(ascent)):
        lines += wrapped(sentence, "  ", "  ")
    lines += [""]
    for name, value in rows(ascent):
        lines += wrapped(f"{name}: {value}", "  ", "    ")
    notes = ascent.climb.profile.notes
    lines += ["", "  Notes"] * bool(notes)
    for text in notes:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def compare(found: Sequence[AscentResult]) -> str:
    """Return a table that compares several ascents, for the terminal.

    Parameters
    ----------
    found : sequence of Ascent
        Findings of each.
    """
    lines = ["Ascents compared", ""]
    for ascent in found:
        text = (
            f"{ascent.name}: pull {_n(ascent.force)}, held {_n(ascent.low)} or more, "
            f"margin {_margin(ascent)}; parts in {percent(ascent.parts)} %"
        )
        lines += wrapped(text, "  ", "    ")
    return "\n".join(lines) + "\n"


def behind(ascent: AscentResult) -> str:
    """Return what the numbers rest on."""
    return (
        f"{MEMBERS:,} joints drawn, seed {ascent.seed}. The air of the bay flows through the "
        "openings of the case as in a shot, without burning; its walls warm it. The same numbers "
        "are in numbers.json, the curves in ascent.csv, beside this page."
    )


def _share(share: float) -> str:
    return f"{digits(100.0 * share, 2)} %"


def _n(value: float) -> str:
    return show(value, "force")


def _p(value: float) -> str:
    if value < 1.0:
        return "less than 1 Pa"
    return show(value, "stress", ("Pa" if value < 100.0 else "kPa", "psi"))


def _h(value: float) -> str:
    return show(value, "length", ("m", "ft"))
