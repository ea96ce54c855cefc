"""What the study of the electronics bay says: sentences, rows of tables, the terminal's text."""

from __future__ import annotations

import math
from collections.abc import Sequence

from baypulse.case import units
from baypulse.case.quantities import digits, interval, percent
from baypulse.case.quantities import show as _show
from baypulse.caution import CAUTION
from baypulse.members.chances import Chance
from baypulse.show.text import charge, columns, cut, wrapped
from baypulse.studies.altimeter.altitude_error import FILTER_TIME, SAMPLE_RATE
from baypulse.studies.altimeter.electronics_pulse import CONVECTION, TAIL
from baypulse.studies.altimeter.result import Altimeters, Leak, Shown, Spans

NOTHING = 0.05
"""Error [m] below which an altimeter shows nothing of it."""

LIMITS_OF_THE_STUDY = (
    "The standard atmosphere turns pressure into altitude, as an altimeter does that knows "
    "nothing of the day's weather. The gas that leaks in keeps its heat during the shot, so the "
    f"pulse is rather too high than too low. Behind it the walls cool it with {CONVECTION:g} "
    "W/m^2/K, an estimate that decides how deep the suction is. The outside of the static ports "
    "is taken to stand at the surroundings' pressure: gas from the separating joint that blows "
    "past them, and the airflow of a moving rocket, are not in the model. A wire hole is a plain "
    "hole here; wires and tape in it make it smaller. The largest leak is a hole of just that "
    "size: what spread a case gives its leaks has no part in it. What a given altimeter makes of "
    "such a pulse, and what its software drops, only its maker and a test can say. How large an "
    "error does no harm is for you to say; 30 m, where nothing else is given, is an estimate."
)
"""Printed in every report of an altimeter."""


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
        return f"{text}, and more than is wanted in {percent(1.0 - safe.share)} % of the shots"
    return f"{text}, less than the {_height(found.error)} that are allowed"


def answer(found: Altimeters) -> list[str]:
    """Return the sentences behind the headline."""
    sentences = [_pulse(found), _scatter(found), largest(found), *_advice(found)]
    return [each for each in sentences if each]


def _pulse(found: Altimeters) -> str:
    one = found.nominal
    if one.low < NOTHING:
        return "With nothing scattering no pressure worth the name reaches the electronics bay."
    text = (
        f"With nothing scattering the pressure in the electronics bay rises by "
        f"{_show(one.pressure, 'gauge pressure')}, {_show(one.low_time, 'time')} after "
        f"the firing command. Pressure up is altitude down: instead of {_height(found.altitude)} "
        f"the altimeter shows {_height(found.altitude - one.low)}"
    )
    if one.beyond == 0.0:
        return f"{text}."
    return (
        f"{text}, and is wrong by more than {_height(found.error)} {_for(one.beyond)}. One that "
        "fires the main below a set height, or the drogue when it sees a descent, may do so at "
        "that moment."
    )


def _scatter(found: Altimeters) -> str:
    return (
        f"Half of the shots stay below an error of {_height(found.lows[1])}, 95 % below "
        f"{_height(found.lows[2])}; it stays below the wanted {_height(found.error)} in "
        f"{chance_text(found.leak.present_chance)} of them."
    )


def largest(found: Altimeters) -> str:
    """Return the largest leak in a sentence."""
    leak = found.leak
    whole = f"All ways into the electronics bay together are {_size(leak.present)} as one hole"
    asked = f"less than {_height(found.error)} in {100.0 * found.wanted:g} % of the shots"
    if leak.largest is None:
        return (
            f"{whole}; even the smallest hole tried is too large for an error of {asked}: seal it "
            "all, and give the electronics bay more static ports."
        )
    if leak.at_ceiling:
        return f"{whole}; up to {_size(leak.largest)}, the largest tried, the error is {asked}."
    between = _between(leak)
    text = f"{whole}; for an error of {asked} they may be {_size(leak.largest)}{between}"
    if leak.largest >= leak.present:
        return f"{text}: they are small enough."
    times = (leak.present / leak.largest) ** 2
    return f"{text}: they have {digits(times)} times the area."


def _between(leak: Leak) -> str:
    ends = [_size(end) if math.isfinite(end) else "" for end in (leak.low, leak.high)]
    if all(ends):
        return f" (95 % interval {ends[0]} to {ends[1]})"
    return ""


def _advice(found: Altimeters) -> list[str]:
    leak = found.leak
    if leak.present_chance.share >= found.wanted:
        return ["Nothing has to be done about it; look at the seal again before every flight."]
    goal = ""
    if leak.largest is not None:
        goal = f" until what is left is no wider than {_size(leak.largest)} in all"
    text = [f"Seal the bulkhead: putty, hot glue or a gland in every wire hole{goal}."]
    wider = [each for each in found.changes if "static ports" in each.name]
    if wider:
        last = wider[-1]
        text.append(
            f"More static ports lower the pulse and shorten it: with {last.name} the altimeter "
            f"shows up to {_height(last.low)} too low"
            + (f", {_beyond(last)} beyond the wanted error" if last.beyond else "")
            + ". Keep them as large as the altimeter's manual allows."
        )
    elif found.ports == 0.0:
        text.append("Give the electronics bay static ports: without them no altimeter works.")
    text.append(
        "A baffle before the leak, or a box around the altimeter with a port of its own to the "
        "outside, can keep the pulse off the sensor; neither is computed here."
    )
    return text


def seen(found: Altimeters) -> list[str]:
    """Return what an altimeter that samples and smooths sees, suction, heat and soot."""
    one = found.nominal
    if one.low < NOTHING:
        return []
    raw, smooth = ((abs(a), abs(b)) for a, b in (one.sampled, one.filtered))
    text = [
        f"An altimeter that takes {SAMPLE_RATE:g} samples a second sees between {_height(raw[0])} "
        f"and {_height(raw[1])} of it, as the pulse falls between its samples; one that also "
        f"smooths over {_show(FILTER_TIME, 'time')} shows between {_height(smooth[0])} and "
        f"{_height(smooth[1])}, and takes seconds to forget it (both figures of altimeters are "
        "estimates). A short pulse is smoothed away only in part: a smaller leak is the better "
        "filter."
    ]
    text.append(_suction(found))
    text.append(
        f"The gas in the electronics bay reaches {_show(found.pulse.hottest, 'temperature')} "
        "on the average, more where it comes in."
        + (
            f" {1e3 * units.convert(found.pulse.products, 'g'):.2g} mg of the charge's products "
            "come with it: a good half of them are salts and soot that settle on the board, draw "
            "water, conduct and corrode. Soot in the electronics bay after a flight is the sign of "
            "this leak."
            if found.case.powder is not None
            else ""
        )
    )
    return text


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
        f"{_show(one.high_time, 'time')} after the firing command"
    )
    if one.high_beyond > 0.0:
        return f"{text}, {_for(one.high_beyond)} more than the wanted error."
    return f"{text}, less than the wanted error."


def shot_rows(found: Altimeters) -> list[tuple[str, str, str, str, str]]:
    """Return how the shots scatter: name, and the values at 5, 50, 95 and 99 %."""
    return [
        ("shows too low by, at most", *_four(found.lows, _height)),
        (f"wrong by more than {_height(found.error)} for", *_four(found.durations, _duration)),
        ("shows too high by, at most (suction)", *_four(found.highs, _height)),
    ]


def _four(values: Spans, show: object) -> tuple[str, str, str, str]:
    a, b, c, d = (show(value) for value in values)  # type: ignore[operator]
    return a, b, c, d


def change_rows(found: Altimeters) -> list[tuple[str, str, str, str]]:
    """Return what changes do: name, error, for how long beyond the wanted one, smoothed error."""
    return [
        (each.name or "as it is", _height(each.low), _beyond(each), _height(abs(each.filtered[1])))
        for each in (found.nominal, *found.changes)
    ]


def aloft_rows(found: Altimeters) -> list[tuple[str, str]]:
    """Return how much the same pulse weighs at other altitudes: altitude, error."""
    return [
        ("sea level" if h == 0.0 else _height(h), _height(error)) for h, error in found.aloft
    ]  # fmt: skip


def aloft_note(found: Altimeters) -> str:
    """Return why the same pulse is worse high up."""
    low, high = found.aloft[0], found.aloft[-1]
    if low[1] < NOTHING:
        return ""
    return (
        f"Thin air makes it worse: the same pulse in pascals means {_height(low[1])} at sea level "
        f"and {_height(high[1])} at {_height(high[0])}, since an altitude of air weighs less "
        "there. The charge does not give the same pulse at altitude; run the case with its "
        "altitude."
    )


def chance_text(each: Chance) -> str:
    """Return a chance with its interval."""
    return f"{percent(each.share)} % (95 % interval {interval(each.share, each.low, each.high)} %)"


def _height(value: float) -> str:
    """Return an altitude, or a difference of two, in metres and feet."""
    if value == 0.0:
        return "0 m"
    return f"{digits(value)} m ({digits(units.convert(value, 'ft'))} ft)"


def _size(value: float) -> str:
    """Return a diameter in millimetres and inches."""
    return _show(value, "length", ("mm", "in"))


def _duration(value: float) -> str:
    return "not at all" if value == 0.0 else _show(value, "time")


def _beyond(each: Shown) -> str:
    return _duration(each.beyond)


def _for(value: float) -> str:
    if value > 0.99 * TAIL:
        return f"for more than {_show(TAIL, 'time')}, after which it was not followed"
    return f"for {_show(value, 'time')}"


def summary(found: Altimeters) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    found : Altimeters
        Findings.
    """
    case = found.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(found).upper(), "  ", "  ")]
    for sentence in answer(found):
        lines += wrapped(sentence, "  ", "  ")
    lines += ["", *wrapped(f"Charge: {charge(case)}", "  ", "  ")]
    lines += ["", "  Of the shots, half and 95 % stay below"]
    lines += cut(columns([(row[0], f"{row[2]};  {row[3]}") for row in shot_rows(found)]))
    lines += ["", "  What changes do, with nothing scattering: too low by, beyond the wanted error"]
    lines += cut(columns([(row[0], f"{row[1]};  {row[2]}") for row in change_rows(found)]))
    lines += [""]
    for sentence in [*seen(found), aloft_note(found)]:
        lines += wrapped(sentence, "  ", "  ")
    lines += ["", "  Warnings"] * bool(found.warnings)
    for text in found.warnings:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *wrapped(CAUTION, "", "")]
    return "\n".join(lines) + "\n"


def compare(cases: Sequence[Altimeters]) -> str:
    """Return a table that compares several cases.

    Parameters
    ----------
    cases : sequence of Altimeters
        Findings.
    """
    lines = ["Altimeters: too low by, for how long beyond the wanted error; the leak as one hole,"]
    lines += ["and the largest that keeps the error wanted"]
    rows = []
    for each in cases:
        most = "none" if each.leak.largest is None else _size(each.leak.largest)
        rows.append(
            (each.case.name, f"{_height(each.nominal.low)}; {_beyond(each.nominal)}; "
             f"{_size(each.leak.present)}; {most}")
        )  # fmt: skip
    return "\n".join([*lines, *cut(columns(rows))]) + "\n"
