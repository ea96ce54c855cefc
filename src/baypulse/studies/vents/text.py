"""What the study of a vent says, in words: sentences, rows of tables."""

from __future__ import annotations

import math

from baypulse.case.drills import SYSTEMS
from baypulse.case.quantities import digits, often, percent, show
from baypulse.studies.vents.bleed import MATTERS, SLOWER, SLOWNESS
from baypulse.studies.vents.drill_patterns import COUNTS, own_drill
from baypulse.studies.vents.result import (
    FOUND,
    NO_BOUND,
    NOT_ENOUGH,
    NOT_NEEDED,
    Lower,
    Pattern,
    Upper,
    VentRemedy,
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

PRACTICE = (
    "Common practice, no source, drills one hole of 1/8 to 1/4 in (3.2 to 6.4 mm) into each bay, "
    "whatever its size."
)
"""What people do by habit."""

LIMITS_OF_THE_VENTS = (
    "The ascent counts a shoulder as tight, since tape, grease, paint or a shoulder that sits "
    "askew close its gap; the charge counts the gap as it is in the case. Both are on the safe "
    "side. The air at the mouth of the vent is taken to be still: wind along the tube, or a vent "
    "beside a shoulder or a fin, sees another pressure. Pins are as warm as on the pad; the cold "
    "makes them stronger. Cloth that lies on a hole closes it, so several holes are better than "
    "one. The hole is a sharp one of the discharge coefficient in the case. Grains blown out of "
    "the vent are not modelled. The charge is judged in the setting of the case; what it does "
    "elsewhere is another question. These holes are not the static ports of an altimeter."
)
"""Printed in every report of a vent."""


def hole(single: float) -> str:
    """Return a diameter for people."""
    return show(float(single), "length")


def _force(value: float) -> str:
    return show(float(value), "force")


def _share(value: float) -> str:
    """Return a share of something in percent, with few digits."""
    return f"{digits(100.0 * value, 2 if abs(value) < 0.995 else 3)} %"


def wanted(vents: Vents) -> str:
    """Return the chance that was asked for."""
    return f"{100.0 * vents.wanted:.6g} %"


def headline(vents: Vents) -> str:
    """Return the window, or that there is none."""
    lower, upper = vents.lower, vents.upper
    if upper.state == NOT_ENOUGH:
        return f"Even with no vent this charge opens the bay in less than {wanted(vents)} of shots"
    if lower.state == NOT_ENOUGH:
        return f"No vent keeps the joint below {_share(vents.share)} of its hold during the ascent"
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
    found = [_way(vents), *_smallest(vents), _gap(vents), _largest(vents), _present(vents)]
    found += [*matter(vents), _drills(vents), *_opened(vents)]
    return [sentence for sentence in found if sentence]


def _way(vents: Vents) -> str:
    top = vents.sealed
    what = "trapped air and drag pull" if vents.pulled else "trapped air (drag left out) pulls"
    return (
        f"With the vent closed and the shoulder tight, {what} at the joint with up "
        f"to {_force(top.force)}, {_share(top.force / vents.lower.hold)} of the "
        f"{_force(vents.lower.hold)} that pins and friction hold in {wanted(vents)} of the shots; "
        f"{_moment(top.time)}, at {show(top.altitude, 'length', ('m', 'ft'))} "
        "above sea level."
    )  # fmt: skip


def _moment(time: float) -> str:
    return f"{digits(time)} s after the launch"


def _smallest(vents: Vents) -> list[str]:
    """Return what the ascent needs, and what else is open on it."""
    lower = vents.lower
    limit = f"{_share(vents.share)} of the hold, {_force(vents.share * lower.hold)}"
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


def _gap(vents: Vents) -> str:
    """Return what the gap around the shoulder would do, were it open."""
    leaky = vents.leaky
    if leaky is None:
        return ""
    gap = show(vents.case.joint.clearance, "length")
    told = {
        NOT_NEEDED: "no vent would be needed",
        FOUND: f"{hole(leaky.single)} would be enough",
        NOT_ENOUGH: "no vent would be enough either",
    }[leaky.state]
    return (
        f"Were the gap of {gap} around the shoulder open, as the case has it, {told}; do not count "
        "on it."
    )


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
        return (
            f" With 95 % confidence this end lies within {hole(upper.low)} and {hole(upper.high)}."
        )
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
    holes = "1 hole" if vent.count == 1 else f"{vent.count} holes"
    drill = own_drill(vent)
    same = f", {drill} drill" if drill else ""
    one = f"; as one hole {hole(vent.single)}" if vent.count > 1 else ""
    return f"{holes} of {hole(vent.diameter)}{same}{one}"


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
        f"{_share(vents.present.force / vents.lower.hold)} of the hold at most; the bay separates "
        f"{often(vents.present_chance)}."
    )


def reference(vents: Vents) -> str:
    """Return the name of the vent by which it is told whether vents matter, or an empty text."""
    names = {shot.name for shot in vents.shots}
    order = ("present vent", "usual vent", "largest vent", "smallest vent")
    return next((name for name in order if name in names), "")


def _pair(vents: Vents, slow: bool) -> tuple[VentShot, VentShot] | None:
    """Return the shot with the vent closed and that with the vent of reference."""
    held = {shot.name: shot for shot in vents.shots if shot.slow == slow}
    name = reference(vents)
    return (held["no vent"], held[name]) if name and held else None


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
    """Return whether the vent matters for this burn, and for a slower one, with the numbers."""
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
    found = [
        f"Does it matter? The {NAMES[shot.name]}, {hole(shot.single)}{habit}, would let the "
        f"pressure fall to 1/e in {show(vents.bleed.hot, 'time')} with hot gas "
        f"({show(vents.bleed.cold, 'time')} with cold air); {burn}{clear}. {_taken(pair)} So "
        f"it {'matters' if matters(vents) else 'does not matter'} for this burn."
    ]
    slow = _pair(vents, slow=True)
    if slow is not None:
        told = {
            (False, True): "it would matter", (False, False): "it would not matter either",
            (True, True): "it would matter too", (True, False): "it would not matter",
        }[bool(matters(vents)), bool(matters(vents, slow=True))]  # fmt: skip
        found.append(
            f"With a powder that burns {SLOWER:g} times slower (damp, coarse or loose; estimate) "
            f"{told}. {_taken(slow)}"
        )
        if not matters(vents):
            found.append(_turn(vents))
    found += _too_far(vents)
    return found


def _turn(vents: Vents) -> str:
    """Return from how slow a powder on the vent would matter."""
    found = vents.turn
    if found is None:
        return (
            f"Not even {SLOWNESS[-1]:g} times slower would it take {100.0 * MATTERS:g} % of the "
            "peak."
        )
    told = (
        "the joint does not separate with or without it" if not found.opens
        else "the joint separates all the same" if found.still else "it keeps the joint shut"
    )  # fmt: skip
    return (
        f"It would begin to matter with a powder about {found.times:g} times slower, which burns "
        f"{show(found.burn_time, 'time')}: there it takes {_share(found.taken)} of the peak, "
        f"and {told}."
    )


def _too_far(vents: Vents) -> list[str]:
    """Return that the largest vent is for this burn only, where that is so."""
    return [
        "Do not go as far as the largest vent: with the slower powder the bay separates with it "
        f"in {percent(shot.opens.share)} % of the shots only."
        for shot in vents.shots
        if shot.slow and shot.name == "largest vent" and shot.opens.share < vents.wanted
    ]


def _taken(pair: tuple[VentShot, VentShot]) -> str:
    """Return what the vent takes of gas, pressure and chance."""
    closed, open_ = pair
    peak = 1.0 - open_.peak / closed.peak
    chances = (
        f"leaves the chance of separation at {percent(open_.opens.share)} %"
        if open_.opens.count == closed.opens.count
        else f"the chance of separation goes from {percent(closed.opens.share)} to "
        f"{percent(open_.opens.share)} %"
    )
    return (
        f"It takes {_share(open_.lost)} of the gas and {_share(peak)} of the peak pressure, and "
        f"{chances}."
    )


def pattern_words(pattern: Pattern) -> str:
    """Return a number of holes and their drill."""
    if pattern.count == 1:
        return f"1 hole of {pattern.drill.name}"
    return f"{pattern.count} holes of {pattern.drill.name}"


def _drills(vents: Vents) -> str:
    """Return a few patterns of holes near the middle of the window."""
    if not vents.patterns:
        return ""
    first = [each for each in vents.patterns if each.drill.system == SYSTEMS[0]]
    told = ", or ".join(pattern_words(each) for each in first or vents.patterns)
    return f"Near the middle of the window: {told}."


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


def remedy_rows(vents: Vents) -> list[tuple[str, str, str, str]]:
    """Return change, smallest, largest and whether there is a window."""
    return [
        (each.change, smallest_text(each.lower), largest_text(vents, each.upper), _gives(each))
        for each in vents.remedies
    ]


def _gives(remedy: VentRemedy) -> str:
    return "a window" if remedy.opens_window else "still none"


def drill_rows(vents: Vents) -> list[tuple[str, ...]]:
    """Return for each number of holes the drill of each system nearest to the middle."""
    rows = []
    for count in COUNTS:
        held = {
            each.drill.system: each.drill for each in vents.patterns if each.count == count
        }  # fmt: skip
        if held:
            cells = []
            for system in SYSTEMS:
                drill = held.get(system)
                cells.append("-" if drill is None else drill.name)
            rows.append((f"{count} hole{'s' * (count > 1)}", *cells))
    return rows


def shot_rows(vents: Vents) -> list[tuple[str, str, str, str, str, str, str]]:
    """Return what each vent does to the nominal shot: gas lost, peak, times, chance."""
    return [
        (
            f"{NAMES[shot.name]}{', slower powder' * shot.slow}",
            "-" if shot.single <= 0.0 else hole(shot.single),
            _share(shot.lost),
            show(shot.peak, "gauge pressure"),
            "-" if math.isnan(shot.burn_time) else show(shot.burn_time, "time"),
            "shut" if math.isnan(shot.clear_time) else show(shot.clear_time, "time"),
            f"{percent(shot.opens.share)} %",
        )
        for shot in vents.shots
    ]  # fmt: skip


def effort(vents: Vents) -> str:
    """Return what the answer took."""
    return (
        f"{vents.members:,} shots behind the largest vent, {vents.runs:,} runs in all, seed "
        f"{vents.seed}"
    )
