"""The sentences of the study of the electronics bay: error, scatter, leak, what to do."""

from __future__ import annotations

import math

from baypulse.case.quantities import asked, digits, likely, often, show, span
from baypulse.studies.altimeter.altitude_error import FILTER_TIME, SAMPLE_RATE
from baypulse.studies.altimeter.electronics_pulse import TAIL
from baypulse.studies.altimeter.result import Altimeters, Leak

NOTHING = 0.05
"""Error [m] below which an altimeter shows nothing of it."""


def headline(found: Altimeters) -> str:
    """Return how the altimeter fares, in a few words."""
    wrong = found.nominal.beyond
    if found.nominal.low < NOTHING:
        return "The altimeter feels nothing of the charge"
    text = f"The altimeter shows up to {_height(found.nominal.low)} too low"
    if wrong > 0.0:
        return f"{text}, and is wrong by more than {_height(found.error)} {_for(wrong)}"
    safe = found.leak.present_chance
    if safe.share < found.wanted:
        return f"{text}, and more than is wanted in {likely(1.0 - safe.share)} of the shots"
    return f"{text}, less than the {_height(found.error)} that are allowed"


def meaning(found: Altimeters) -> list[str]:
    """Return the sentences behind the headline."""
    scatter = (
        f"The error stays below the wanted {_height(found.error)} "
        f"{often(found.leak.present_chance)}."
    )
    return [*_pulse(found), scatter, largest(found)]


def _pulse(found: Altimeters) -> list[str]:
    one = found.nominal
    if one.low < NOTHING:
        return ["With nothing scattering no pressure worth the name reaches the electronics bay."]
    text = (
        f"With nothing scattering the pressure in the electronics bay rises by "
        f"{show(one.pressure, 'gauge pressure')}, {show(one.low_time, 'time')} after "
        f"the firing command. Pressure up is altitude down: instead of {_height(found.altitude)} "
        f"the altimeter shows {_height(found.altitude - one.low)}."
    )
    if one.beyond == 0.0:
        return [text]
    return [
        text,
        "One that fires the main below a set height, or the drogue when it sees a descent, may do "
        "so at that moment.",
    ]


def largest(found: Altimeters) -> str:
    """Return the largest leak in a sentence."""
    leak = found.leak
    whole = f"All ways into the electronics bay together are {_size(leak.present)} as one hole"
    error = f"less than {_height(found.error)} in {asked(found.wanted)} of the shots"
    if leak.largest is None:
        return f"{whole}; even the smallest hole tried is too large for an error of {error}."
    if leak.at_ceiling:
        return f"{whole}; up to {_size(leak.largest)}, the largest tried, the error is {error}."
    text = f"{whole}; for an error of {error} they may be {_size(leak.largest)}{_between(leak)}"
    if leak.largest >= leak.present:
        return f"{text}: they are small enough."
    times = (leak.present / leak.largest) ** 2
    return f"{text}: they have {digits(times)} times the area."


def _between(leak: Leak) -> str:
    if math.isfinite(leak.low) and math.isfinite(leak.high):
        return f", 95 % interval {span(leak.low, leak.high, 'length')}"
    return ""


def next_steps(found: Altimeters) -> list[str]:
    """Return what to do about the leak."""
    leak = found.leak
    if leak.present_chance.share >= found.wanted:
        return ["Nothing has to be done about it; look at the seal again before every flight."]
    seal = "Seal the bulkhead: putty, hot glue or a gland in every wire hole"
    if leak.largest is None:
        steps = [f"{seal}, and give the electronics bay more static ports."]
    else:
        steps = [f"{seal} until what is left is no wider than {_size(leak.largest)} in all."]
    wider = [each for each in found.changes if "static ports" in each.name]
    if wider:
        last = wider[-1]
        beyond = f", {show(last.beyond, 'time')} beyond the wanted error" if last.beyond else ""
        steps.append(
            f"More static ports lower the pulse and shorten it: with {last.name} the altimeter "
            f"shows up to {_height(last.low)} too low{beyond}. Keep them as large as the "
            "altimeter's manual allows."
        )
    elif found.ports == 0.0:
        steps.append("Give the electronics bay static ports: without them no altimeter works.")
    return steps


def seen(found: Altimeters) -> list[str]:
    """Return what an altimeter that samples and smooths sees, suction, heat and soot."""
    one = found.nominal
    if one.low < NOTHING:
        return []
    raw, smooth = (
        span(abs(lucky), abs(unlucky), "altitude") for lucky, unlucky in (one.sampled, one.filtered)
    )
    soot = (
        f" {show(found.pulse.products, 'mass')} of the charge's products come with it: a good half "
        "of them are salts and soot that settle on the board, draw water, conduct and corrode. "
        "Soot in the electronics bay after a flight is the sign of this leak."
    ) * (found.case.powder is not None)
    return [
        f"An altimeter that takes {SAMPLE_RATE:g} samples a second sees {raw} of it, as the pulse "
        f"falls between its samples; one that also smooths over {show(FILTER_TIME, 'time')} shows "
        f"{smooth}, and takes seconds to forget it (both figures of altimeters are estimates). A "
        "short pulse is smoothed away only in part: a smaller leak is the better filter.",
        _suction(found),
        f"The gas in the electronics bay reaches {show(found.pulse.hottest, 'temperature')} "
        f"on the average, more where it comes in.{soot}",
    ]


def _suction(found: Altimeters) -> str:
    one = found.nominal
    if one.high < NOTHING:
        return "No suction worth the name follows: the altimeter does not show too high."
    held = found.pulse
    below = float(held.ambient - held.bay.min())
    cause = (
        "The bay itself falls below the outside's pressure, as its gas cools and the nose still "
        "moves, and draws air out of the electronics bay"
        if below > held.ambient - found.bounds[0]
        else "When the hot gas has left and the rest cools, the electronics bay draws air in"
    )
    text = (
        f"{cause}: the altimeter then shows up to {_height(one.high)} too high, "
        f"{show(one.high_time, 'time')} after the firing command"
    )
    if one.high_beyond > 0.0:
        return f"{text}, {_for(one.high_beyond)} more than the wanted error."
    return f"{text}, less than the wanted error."


def aloft(found: Altimeters) -> list[str]:
    """Return why the same pulse is worse high up."""
    low, high = found.aloft[0], found.aloft[-1]
    if low[1] < NOTHING:
        return []
    return [
        f"Thin air makes it worse: the same pulse in pascals means {_height(low[1])} at sea level "
        f"and {_height(high[1])} at {_height(high[0])}, since an altitude of air weighs less "
        "there. The charge does not give the same pulse at altitude; run the case with its "
        "altitude."
    ]


def _height(value: float) -> str:
    return show(value, "altitude")


def _size(value: float) -> str:
    return show(value, "length")


def _for(value: float) -> str:
    if value > 0.99 * TAIL:
        return f"for more than {show(TAIL, 'time')}, after which it was not followed"
    return f"for {show(value, 'time')}"
