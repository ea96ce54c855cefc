"""How far a charge is from what people use, why, and what one measurement would settle it."""

from __future__ import annotations

import math
from itertools import pairwise

from baypulse.case import geometry, quantities
from baypulse.studies.window.result import Window
from baypulse.studies.window.trials import TERMS, amount

LOW = 0.5
"""Ground-test charge over the empty-bay rule's, below which it is far from practice."""

HIGH = 2.0
"""Ground-test charge over the empty-bay rule's, above which it is far from practice."""

GAUGE = (
    "a pressure gauge on the bay in one ground test, or a logger's record of acceleration of one "
    "section (baypulse fit)"
)

MEASUREMENTS = {
    "unburnt powder": GAUGE,
    "slow burning, cold walls and contents": GAUGE,
    "slow mixing": GAUGE,
    "vents and leaks": "a leak-down with a gauge (baypulse leakdown)",
}
"""What settles each loss between the rule and the run."""

PULL = "the force that pulls the joint apart with and without one pin, by a luggage scale"


def times_practice(window: Window) -> float | None:
    """Return the ground-test charge over that of the empty-bay rule; None where one is missing.

    Parameters
    ----------
    window : Window
        Findings.
    """
    first, usual = window.recommended, window.static_rule.empty.needed_mass
    return None if first is None or not math.isfinite(usual) else float(first.charge / usual)


def is_far(times: float) -> bool:
    """Say whether a ground-test charge is far from practice, from what it is of the rule's."""
    return not LOW <= times <= HIGH


def far_from_practice(window: Window) -> str | None:
    """Say that the ground-test charge is far from the empty-bay rule's; None when it is not.

    Parameters
    ----------
    window : Window
        Findings.
    """
    times, rule = times_practice(window), window.static_rule
    if times is None or not is_far(times):
        return None
    usual = rule.empty.needed_mass
    said = (
        f"This is far from practice: {quantities.digits(times, 2)} times the "
        f"{amount(window, usual)} of the empty-bay rule (common practice, no source)."
    )
    if times < LOW or window.breakdown is None:
        held = quantities.show(float(geometry.shot_hold(window.case).pressure), "gauge pressure")
        asked = quantities.show(float(rule.needed_pressure), "gauge pressure")
        return (
            f"{said} The rule asks for {asked} and this joint gives way at {held} in a shot. What "
            f"would settle it: {PULL}."
        )
    changes = pairwise(window.breakdown.steps)
    change, name = min((b - a, name) for (_, a), (name, b) in changes if name in MEASUREMENTS)
    lost = quantities.show(float(abs(change)), "gauge pressure")
    return (
        f"{said} The largest loss between the rule's pressure and the run's is {TERMS[name]}, "
        f"{lost}. What would settle it: {MEASUREMENTS[name]}."
    )
