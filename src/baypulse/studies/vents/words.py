"""The sentences of the study of a vent: both ends of its window, whether it matters."""

from __future__ import annotations

import math

from baypulse.case.quantities import asked, often, short, show, span
from baypulse.studies.vents.bleed import MATTERS, SLOWER, SLOWNESS
from baypulse.studies.vents.drill_patterns import COUNTS, own_drill
from baypulse.studies.vents.result import (
    FOUND,
    INTEREST,
    NO_BOUND,
    NOT_ENOUGH,
    NOT_NEEDED,
    Lower,
    Upper,
    Vents,
    VentShot,
)

SELDOMER = 0.01
"""Fall of the chance of separation from which a vent is said to matter; our choice."""

NAMES = {
    "no vent": "vent closed", "usual vent": "usual vent", "smallest vent": "smallest vent",
    "present vent": "vent of the case", "largest vent": "largest vent",
}  # fmt: skip
"""What the vents are called."""


def hole(single: float) -> str:
    """Return a diameter for people."""
    return show(single, "length")


def _force(value: float) -> str:
    return show(value, "force")


def _share(value: float) -> str:
    return short(value, "ratio")


def headline(vents: Vents) -> str:
    """Return the window, or that there is none."""
    lower, upper = vents.lower, vents.upper
    if upper.state == NOT_ENOUGH:
        return (
            "Even with no vent this charge opens the bay in less than "
            f"{asked(vents.wanted)} of shots"
        )
    if lower.state == NOT_ENOUGH:
        return (
            f"No vent keeps the joint below {asked(vents.share)} of its retention during the ascent"
        )
    if not vents.is_window:
        return (
            f"No vent does for both: the ascent needs {hole(lower.single)}, the charge bears "
            f"{hole(upper.single)}"
        )
    bears = (
        f"the charge bears any up to {hole(vents.greatest)}" if upper.state == NO_BOUND
        else f"the charge bears up to {hole(upper.single)}"
    )  # fmt: skip
    if lower.state == NOT_NEEDED:
        return f"No vent is needed during the ascent; {bears}"
    return f"Vent of {hole(lower.single)} or more; {bears}"


def answer(vents: Vents) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    vents : Vents
        Findings.
    """
    found = [_sealed(vents), *_smallest(vents), _largest(vents), _present(vents)]
    return [*found, *matter(vents), *too_far(vents), *_opened(vents)]


def _sealed(vents: Vents) -> str:
    top = vents.sealed
    what = "trapped air and drag pull" if vents.pulled else "trapped air (drag left out) pulls"
    return (
        f"With the vent closed and the shoulder tight, {what} at the joint with up "
        f"to {_force(top.force)}, {_share(top.force / vents.lower.hold)} of the "
        f"{_force(vents.lower.hold)} that pins and friction hold in {asked(vents.wanted)} of the "
        f"shots; {show(top.time, 'time')} after the launch, at "
        f"{show(top.altitude, 'altitude')} above sea level."
    )  # fmt: skip


def _smallest(vents: Vents) -> list[str]:
    """Return what the ascent needs, and what else is open on it."""
    lower = vents.lower
    limit = f"{asked(vents.share)} of the retention, {_force(vents.share * lower.hold)}"
    found = []
    if lower.state == NOT_NEEDED:
        found.append(f"Smallest: no vent is needed; without one the force stays below {limit}.")
    elif lower.state == FOUND:
        found.append(f"Smallest: {hole(lower.single)} keeps the force at {limit}.")
    else:
        widest = vents.pushes[-1]
        if widest.drag > vents.share * lower.hold:
            found.append(
                f"Smallest: none. Drag alone pulls at the joint with {_force(widest.drag)}, more "
                f"than {limit}: no vent helps, more or stronger pins do."
            )
        else:
            found.append(
                f"Smallest: none up to {hole(vents.greatest)} keeps the force below {limit}."
            )
    others = _others(vents)
    if others:
        found.append(f"The bay also breathes through {others}, which stays open in all of this.")
    return found


def _others(vents: Vents) -> str:
    """Return the names of what else lets air out of the bay."""
    names = [
        opening.name for k, opening in enumerate(vents.case.openings)
        if k != vents.vent.index and "bay" in (opening.between, opening.to)
        and (opening.gap is not None or opening.hole_diameter > 0.0)
    ]  # fmt: skip
    return " and ".join(names)


def gap(vents: Vents) -> list[str]:
    """Return what the gap around the shoulder would do, were it open."""
    leaky = vents.leaky
    if leaky is None:
        return []
    wide = show(vents.case.joint.clearance, "length")
    told = {
        NOT_NEEDED: "no vent would be needed",
        FOUND: f"{hole(leaky.single)} would be enough",
        NOT_ENOUGH: "no vent would be enough either",
    }[leaky.state]
    return [
        f"Were the gap of {wide} around the shoulder open, as the case has it, {told}; do not "
        "count on it."
    ]


def _largest(vents: Vents) -> str:
    upper = vents.upper
    if upper.state == NOT_ENOUGH:
        others = _others(vents)
        cause = f"it is too small, or too much of it leaves through {others}" if others else (
            "it is too small, whatever the vent")  # fmt: skip
        return (
            f"Largest: none. With the vent closed the charge opens the bay {often(upper.chance)}: "
            f"{cause}; look at that first."
        )
    if upper.state == NO_BOUND:
        return (
            f"Largest: any. Even a hole of {hole(vents.greatest)}, the largest that was looked at, "
            f"leaves a bay that separates {often(upper.chance)}."
        )
    return (
        f"Largest: with {hole(upper.single)} the bay separates "
        f"{often(upper.chance)}.{_between(upper)}"
    )


def _between(upper: Upper) -> str:
    """Return where the largest vent lies with 95 % confidence, as far as the shots tell."""
    if math.isfinite(upper.low) and math.isfinite(upper.high):
        return f" The 95 % interval of this end is {span(upper.low, upper.high, 'length')}."
    if math.isfinite(upper.low):
        return f" With 95 % confidence this end lies above {hole(upper.low)}."
    if math.isfinite(upper.high):
        return f" With 95 % confidence this end lies below {hole(upper.high)}."
    return " So few shots give it no interval."


def vent_words(vents: Vents) -> str:
    """Return the case's own vent: number, drill and diameter."""
    vent = vents.vent
    if vent.single <= 0.0:
        return "no vent"
    drill = own_drill(vent)
    same = f", {drill} drill" if drill else ""
    one = f"; as one hole {hole(vent.single)}" if vent.count > 1 else ""
    return f"{_holes(vent.count)} of {hole(vent.diameter)}{same}{one}"


def _present(vents: Vents) -> str:
    if vents.vent.single <= 0.0:
        return f"The case has no vent: the bay separates {often(vents.present_chance)}."
    place = {
        "inside": "inside the window", "too small": "too small for the ascent",
        "too large": "too large for the charge",
        "neither": "too small for the ascent and too large for the charge",
    }[vents.place]  # fmt: skip
    return (
        f"The case has {vent_words(vents)}, {place}: during the ascent "
        f"{_share(vents.present.force / vents.lower.hold)} of the retention at most; the bay "
        f"separates {often(vents.present_chance)}."
    )


def reference(vents: Vents) -> str:
    """Return the name of the vent by which it is told whether vents matter, or an empty text."""
    names = {shot.name for shot in vents.shots}
    return next((name for name in INTEREST if name in names), "")


def _pair(vents: Vents, slow: bool) -> tuple[VentShot, VentShot] | None:
    """Return the shot with the vent closed and that with the vent of reference."""
    held = {shot.name: shot for shot in vents.shots if shot.slow == slow}
    name = reference(vents)
    return (held["no vent"], held[name]) if {"no vent", name} <= held.keys() else None


def matters(vents: Vents, slow: bool = False) -> bool | None:
    """Say whether a vent matters for the burn; None where it is not known.

    Parameters
    ----------
    vents : Vents
        Findings.
    slow : bool
        For the slower powder in place of the case's.
    """
    pair = _pair(vents, slow)
    if pair is None:
        return None
    closed, open_ = pair
    return (
        1.0 - open_.peak / closed.peak > MATTERS
        or closed.opens.share - open_.opens.share > SELDOMER
    )


def matter(vents: Vents) -> list[str]:
    """Return whether the vent matters for this burn, with the numbers."""
    pair = _pair(vents, slow=False)
    if pair is None or vents.bleed is None:
        return []
    shot = pair[1]
    burn = (
        "" if math.isnan(shot.burn_time)
        else f"the charge burns {show(shot.burn_time, 'time')} and "
    )  # fmt: skip
    habit = " by common practice, no source" * (shot.name == "usual vent")
    clear = (
        "the joint does not separate" if math.isnan(shot.clear_time)
        else f"the joint is clear after {show(shot.clear_time, 'time')}"
    )  # fmt: skip
    return [
        f"Does it matter? The {NAMES[shot.name]}, {hole(shot.single)}{habit}, would let the "
        f"pressure fall to 1/e in {show(vents.bleed.hot, 'time')} with hot gas "
        f"({show(vents.bleed.cold, 'time')} with cold air); {burn}{clear}. {_taken(pair)} So "
        f"it {'matters' if matters(vents) else 'does not matter'} for this burn."
    ]


def slower(vents: Vents) -> list[str]:
    """Return whether the vent would matter with a slower powder, and from which one on."""
    pair = _pair(vents, slow=True)
    if pair is None or vents.bleed is None:
        return []
    told = {
        (False, True): "it would matter", (False, False): "it would not matter either",
        (True, True): "it would matter too", (True, False): "it would not matter",
    }[bool(matters(vents)), bool(matters(vents, slow=True))]  # fmt: skip
    found = (
        f"With a powder that burns {SLOWER:g} times slower (damp, coarse or loose; estimate) "
        f"{told}. {_taken(pair)}"
    )
    return [found] if matters(vents) else [found, _turn(vents)]


def _turn(vents: Vents) -> str:
    """Return from how slow a powder on the vent would matter."""
    found = vents.turn
    if found is None:
        return f"Not even {SLOWNESS[-1]:g} times slower would it take {asked(MATTERS)} of the peak."
    told = (
        "the joint does not separate with or without it" if not found.opens
        else "the joint separates all the same" if found.still else "it keeps the joint shut"
    )  # fmt: skip
    return (
        f"It would begin to matter with a powder about {found.times:g} times slower, which burns "
        f"{show(found.burn_time, 'time')}: there it takes {_share(found.taken)} of the peak, "
        f"and {told}."
    )


def too_far(vents: Vents) -> list[str]:
    """Return that the largest vent is for this burn only, where that is so."""
    return [
        "Do not go as far as the largest vent: with the slower powder the bay separates with it "
        f"in {_share(shot.opens.share)} of the shots only."
        for shot in vents.shots
        if shot.slow and shot.name == "largest vent" and shot.opens.share < vents.wanted
    ]


def _taken(pair: tuple[VentShot, VentShot]) -> str:
    """Return what the vent takes of gas, pressure and chance."""
    closed, open_ = pair
    peak = 1.0 - open_.peak / closed.peak
    chances = (
        f"leaves the chance of separation at {_share(open_.opens.share)}"
        if open_.opens.count == closed.opens.count
        else f"the chance of separation goes from {_share(closed.opens.share)} to "
        f"{_share(open_.opens.share)}"
    )
    return (
        f"It takes {_share(open_.lost)} of the gas and {_share(peak)} of the peak pressure, and "
        f"{chances}."
    )


def next_steps(vents: Vents) -> list[str]:
    """Return which holes to drill, or where to look for a charge."""
    if vents.upper.state == NOT_ENOUGH:
        return [f"Find a charge that is enough: baypulse window {vents.case.name}.toml."]
    told = []
    for count in COUNTS:
        *others, last = [each.drill.name for each in vents.patterns if each.count == count] or [""]
        if last:
            names = f"{', '.join(others)} or {last}" if others else last
            told.append(f"{_holes(count)} of {names}")
    return [f"Drill, for the middle of the window, {'; or '.join(told)}."] if told else []


def _holes(count: int) -> str:
    return "1 hole" if count == 1 else f"{count} holes"


def _opened(vents: Vents) -> list[str]:
    """Return which changes would open an empty window."""
    if not vents.remedies:
        return []
    good = [each for each in vents.remedies if each.opens_window]
    if not good:
        if len(vents.remedies) == 1:
            return ["The one change tried gives no window."]
        return [f"None of the {len(vents.remedies)} changes tried gives a window."]
    told = "; ".join(f"{each.change}: {_ends(vents, each.lower, each.upper)}" for each in good[:3])
    return [f"What would open it: {told}."]


def smallest_text(lower: Lower) -> str:
    """Return the smallest vent in a cell."""
    return {NOT_NEEDED: "none needed", NOT_ENOUGH: "none helps"}.get(
        lower.state, hole(lower.single) if math.isfinite(lower.single) else ""
    )


def largest_text(vents: Vents, upper: Upper) -> str:
    """Return the largest vent in a cell."""
    return {NO_BOUND: f"any up to {hole(vents.greatest)}", NOT_ENOUGH: "charge too small"}.get(
        upper.state, hole(upper.single) if math.isfinite(upper.single) else ""
    )


def _ends(vents: Vents, lower: Lower, upper: Upper) -> str:
    return f"smallest {smallest_text(lower)}, largest {largest_text(vents, upper)}"
