"""The sentences of an ascent: what pulls at the joint, what trapped air could do, the way down."""

from __future__ import annotations

import math

import numpy as np

from baypulse.case.geometry import bore_area
from baypulse.case.quantities import digits, height, percent, short, show
from baypulse.studies.ascent.compute import AscentResult

AMPLE = 4.0
"""Margin over trapped air from which a joint does not depend on its vent; our choice."""

ENOUGH = 2.0
"""Margin from which a joint is said to have room; our choice."""

FELT = 100.0
"""Pressure below that outside from which the way down is told of [Pa]: 1 N on a bore of 110 mm."""

TRIFLE = 0.01
"""Share of the pull below which a part of it is not told."""

FAR = 100.0
"""Margin above which it is not told how far."""

LEAST_PRESSURE = 1.0
"""Pressure below which it is not told how little [Pa]."""


def headline(ascent: AscentResult) -> str:
    """Return the answer in a few words."""
    if ascent.force <= 0.0:
        return "Nothing pulls at the joint during the ascent"
    if ascent.undecided:
        return "The log cannot tell whether the joint stays closed during the ascent"
    times = f"it holds {margin(ascent)} the greatest pull"
    if ascent.parts >= 0.5:
        return (
            f"The joint comes apart during the ascent: in {percent(ascent.parts)} % of the rockets"
        )
    if ascent.margin < 1.0:
        return f"The joint may come apart during the ascent: in {percent(ascent.parts)} %"
    if ascent.margin < ENOUGH:
        return f"The joint stays closed during the ascent, with little room: {times}"
    return f"The joint stays closed during the ascent: {times}"


def wanted(ascent: AscentResult) -> str:
    """Return of which share of the rockets the low side of the hold is."""
    return f"{100.0 * ascent.wanted:g} %"


def margin(ascent: AscentResult) -> str:
    """Return how many times the greatest pull the joint holds."""
    if not math.isfinite(ascent.margin):
        return "nothing pulls"
    if ascent.margin > FAR:
        return f"more than {FAR:g} times"
    return f"{digits(ascent.margin)} times"


def meaning(ascent: AscentResult) -> list[str]:
    """Return what an ascent means, as sentences."""
    flight, k = ascent.climb.profile, ascent.climb.worst
    found = []
    if ascent.undecided:
        errors = np.zeros(1) if flight.speed_error is None else flight.speed_error
        error = float(errors[flight.doubtful].max()) if flight.doubtful.any() else 0.0
        found.append(
            f"The speed of the log is known to {show(error, 'velocity')} at worst, and with a "
            "speed that the log allows the joint may come apart; what follows is the likeliest "
            "reading of the log, and no verdict."
        )
    if ascent.force > 0.0:
        found.append(
            f"The joint is pulled most {show(float(flight.time[k]), 'time')} after launch, "
            f"{height(float(flight.altitude[k]))} above sea level, with {_n(ascent.force)}"
            f"{_parts(ascent)}. It holds {_n(ascent.held)} when nothing scatters, and "
            f"{_n(ascent.low)} or more in {wanted(ascent)} of the rockets (pins as warm as the "
            "pad, friction at its low side)."
        )
    most = float(ascent.sealed.difference[: flight.apogee + 1].max())
    trapped = most * float(bore_area(ascent.case))
    free = " So this joint does not depend on its vent." * (trapped < ascent.low / AMPLE)
    found.append(
        f"Without any opening, trapped air at {pressure(most)} would push with {_n(trapped)}, "
        f"{short(trapped / ascent.low, 'ratio')} of what the joint holds at its low side.{free}"
    )
    if ascent.lag is not None:
        found.append(
            f"The electronics bay lags: its altimeter shows up to {height(ascent.lag)} too little "
            "on the ascent."
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


def way_down(ascent: AscentResult) -> str:
    """Return what is left in the bay at apogee, and what presses on it on the way down."""
    climb, apogee = ascent.climb, ascent.climb.profile.apogee
    left = float(climb.difference[apogee])
    found = (
        f"At apogee the bay is {pressure(abs(left))} {'above' if left >= 0.0 else 'below'} the air "
        "outside."
    )
    lowest = float(climb.difference[apogee + 1 :].min(initial=0.0))
    if lowest < -FELT:
        found += (
            f" On the way down, as long as the joint stays closed, the bay is up to "
            f"{pressure(-lowest)} below the air outside, which presses the joint together with "
            f"{_n(-lowest * float(bore_area(ascent.case)))}."
        )
    return found


def next_steps(ascent: AscentResult) -> list[str]:
    """Return what to do where there is little room."""
    if ascent.undecided:
        return [
            "Give a log that holds the rocket's own speed beside its pressure, or leave --log out "
            "and give the ascent of the case, with the speed and the height at burnout."
        ]
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
        "Most of the pull is trapped air: a larger vent, or more of them (baypulse vents "
        f"{ascent.case.name}.toml says which); more pins hold it too, and then need more charge."
    ]


def pressure(value: float) -> str:
    """Return a difference of pressure."""
    if value < LEAST_PRESSURE:
        return f"less than {show(LEAST_PRESSURE, 'stress')}"
    return show(value, "stress")


def _n(value: float) -> str:
    return show(value, "force")
