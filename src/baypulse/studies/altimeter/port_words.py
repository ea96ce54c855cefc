"""What is said of static ports: right or not, how far behind, what to drill."""

from __future__ import annotations

import math

from baypulse.case.quantities import show
from baypulse.studies.altimeter.altitude_error import FILTER_TIME, SAMPLE_RATE
from baypulse.studies.altimeter.static_ports import (
    GUST,
    LONGEST,
    PortRule,
    PortVerdict,
    StaticPorts,
)

SAID = {
    PortVerdict.MISSING: "There are no static ports",
    PortVerdict.TOO_SMALL: "The static ports are too small",
    PortVerdict.RIGHT: "The static ports are right",
    PortVerdict.TOO_LARGE: "The static ports are larger than they need be",
}
"""The verdict in words."""


def headline(ports: StaticPorts) -> str:
    """Return whether the ports are right, in a few words."""
    said = SAID[ports.verdict]
    if ports.verdict is PortVerdict.MISSING:
        return said
    return f"{said}: {behind(ports.fastest.ports)} behind at {climb(ports)}"


def meaning(ports: StaticPorts) -> list[str]:
    """Return the sentences behind it."""
    taken = (
        " Nobody said how fast this rocket climbs, so Mach 1 is taken; give --climb or the case's "
        "[ascent]."
    ) * ports.assumed
    rules = " to ".join(show(hole(each, ports.count or 3), "length") for each in ports.rules)
    practice = f"common practice, no source, has {ports.count or 3} of {rules}"
    if ports.verdict is PortVerdict.MISSING:
        return [
            f"Without them no altimeter works; for {show(ports.volume, 'volume')} of free volume "
            f"{practice}.{taken}"
        ]
    own = ports.diameter / math.sqrt(ports.count)
    text = (
        f"{ports.count} of {show(own, 'length')} for {show(ports.volume, 'volume')} of free "
        f"volume; for a lag of {show(ports.allowed, 'altitude')} "
        f"{show(ports.smallest / math.sqrt(ports.count), 'length')} each would do, and {practice}."
    )
    return [text + taken]


def behind(lag: float) -> str:
    """Return a lag in words."""
    return show(lag, "altitude") if math.isfinite(lag) else f"more than {show(LONGEST, 'altitude')}"


def climb(ports: StaticPorts) -> str:
    """Return the fastest climb in words."""
    return f"{show(ports.climb, 'velocity')}{' (Mach 1)' * ports.assumed}"


def hole(rule: PortRule, count: int) -> float:
    """Return the diameter of each of so many holes that make a rule's area [m]."""
    return math.sqrt(4.0 * rule.area / math.pi / count)


def next_steps(ports: StaticPorts) -> list[str]:
    """Return what to drill."""
    if ports.verdict is PortVerdict.RIGHT:
        return []
    sparse, ample = ports.rules
    rule = sparse if sparse.lag <= ports.allowed else ample
    size = " or ".join(drill_names(rule))
    if ports.verdict is PortVerdict.TOO_LARGE:
        return [
            f"Nothing is gained by ports of this size; {size} around the tube would do. Wind on "
            "one side reaches the sensor undamped through large ones."
        ]
    if rule.lag > ports.allowed:
        least = show(ports.smallest / math.sqrt(rule.patterns[-1][0]), "length")
        return [f"Drill {rule.patterns[-1][0]} holes of {least} at least around the tube: more "
                "than common practice has, as this climb is so fast."]  # fmt: skip
    return [f"Drill {size} around the tube, even and clean, away from steps and screws."]


def drill_names(rule: PortRule) -> list[str]:
    """Return the drills of a rule, such as ``3 of 3.3 mm or 9/64 in``, one for each number."""
    counts = sorted({count for count, _ in rule.patterns})
    return [
        f"{count} of {' or '.join(drill.name for n, drill in rule.patterns if n == count)}"
        for count in counts
    ]


def notes(ports: StaticPorts) -> list[str]:
    """Return what else is known of the ports."""
    fast = ports.fastest
    text = [
        "The lag grows with the square of the speed and falls with the square of the area; it is "
        "the same at every altitude, and counts for a descent too. At apogee, where the rocket "
        "hardly climbs, there is none. An altimeter that smooths over "
        f"{show(FILTER_TIME, 'time')} (estimate) is {show(fast.smoothing, 'altitude')} behind at "
        "the fastest climb by its filter alone. Near Mach 1 the shock on the tube shows as a wrong "
        "altitude whatever the ports are.",
    ]
    if math.isfinite(ports.gust):
        text.append(
            f"A gust or an eddy of {show(GUST, 'gauge pressure')} (estimate) reaches the sensor in "
            f"{show(ports.gust, 'time')}, the interval of {SAMPLE_RATE:g} samples a second being "
            f"{show(1.0 / SAMPLE_RATE, 'time')}: no port that follows the climb keeps it out. "
            "Several ports around the tube do, in part."
        )
    return text
