"""What a run says, in words: sentences, rows of tables, the text of the terminal."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

from baypulse.case import quantities
from baypulse.caution import CAUTION
from baypulse.constants import STANDARD_GRAVITY
from baypulse.run.result import Check, Event, EventKind, Parachute, Result, Verdict
from baypulse.show.data import doubts
from baypulse.show.text import WIDE, charge, columns

LIMITS_OF_THE_MODEL = (
    "One run takes one value for every unknown and says nothing about scatter; for that there is "
    "the command scatter. The widest unknowns are the time in which air mixes "
    "into the burning gas, the burning law, the share of the powder that burns, the friction of "
    "the joint, and the heat given to tube and contents: many of these numbers are estimates, and "
    "the list of what was read says which. No measured pressure trace of a recovery bay was found "
    "to compare with. The model has one pressure and two zones of gas in the bay and moves the "
    "sections along one line: it knows no jet of flame on a wall, no shoulder that tilts and jams, "
    "no lines that tangle. A ground test knows them all."
)
"""Printed in every report."""

_VERDICTS = {
    Verdict.SEPARATES: "Separates",
    Verdict.SEPARATES_TOO_HARD: "Separates too hard",
    Verdict.PARTIAL_SEPARATION: "Partial separation",
    Verdict.NO_SEPARATION: "No separation",
    Verdict.UNDECIDED: "Undecided",
}

_CONTENTS = {
    Parachute.COMES_OUT: "the parachute comes out",
    Parachute.STAYS_IN: "the parachute stays in the tube",
    Parachute.NOT_ASKED: "",
}

_CHANGES = {
    Verdict.NO_SEPARATION: "Smaller openings, a looser fit, fewer or weaker pins, a holder "
    "that makes more of the powder burn, or more powder each raise the share reached.",
    Verdict.PARTIAL_SEPARATION: "Once moving, what counts is pressure that lasts: close what is "
    "open, ease the fit along the whole shoulder, and only then think of more powder.",
    Verdict.SEPARATES_TOO_HARD: "Less powder, or fewer pins: pins set the pressure at which the "
    "motion starts, so fewer of them let go more softly. A limit on the cord also yields to a "
    "longer or more elastic cord.",
    Verdict.UNDECIDED: "Nothing follows from this run about the charge.",
}


@dataclass(frozen=True)
class MarginRow:
    """One line of the table of margins.

    Attributes
    ----------
    name, value, limit, margin : str
        As printed.
    met : bool
        Whether the check is met.
    """

    name: str
    value: str
    limit: str
    margin: str
    met: bool


def headline(result: Result) -> str:
    """Return the verdict in a few words."""
    words = _VERDICTS[result.verdict]
    contents = _CONTENTS[result.contents]
    if not contents or not result.verdict.separated:
        return words
    return f"{words}, {'and' if result.contents is Parachute.COMES_OUT else 'but'} {contents}"


def reasons(result: Result) -> list[str]:
    """Return the sentences behind the verdict, each with a capital and a full stop."""
    found = list(result.reasons)
    if not found and result.verdict is Verdict.SEPARATES:
        found = ["the joint comes clear and no limit of this case is exceeded"]
    if _ran_into_pins(result):
        found.append(
            "the pins failed below the pressure that shears them at rest: the section was already "
            "moving when it met them"
        )
    if not result.good and result.message not in found:
        found.append(result.message)
    return [f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in found]


def _ran_into_pins(result: Result) -> bool:
    """Say whether pins failed though the pressure alone never overcame them."""
    failed = any(event.kind is EventKind.PIN_FAILS for event in result.events)
    return failed and result.bridge.held_peak < result.numbers.pin_pressure


def change(result: Result) -> str:
    """Return what would change an unwanted verdict, or an empty text."""
    text = _CHANGES.get(result.verdict, "")
    if result.verdict.separated and result.contents is Parachute.STAYS_IN:
        text += (
            " For the parachute: more cord between the nose and the packing, a looser packing, or "
            "more speed when clear."
        )
    return text.strip()


def rows(result: Result) -> list[MarginRow]:
    """Return the table of margins."""
    return [_row(check) for check in result.checks]


def _row(check: Check) -> MarginRow:
    over = check.must == "exceed"
    name = f"pressure against {check.name}" if over else check.name
    if not math.isfinite(check.margin):
        margin = "no limit"
    elif check.met:
        margin = f"{quantities.digits(check.margin)} times"
    else:
        margin = f"{quantities.digits(100.0 * check.margin)} % of it" if over else (
            f"{quantities.digits(1.0 / check.margin)} times over"
        )  # fmt: skip
    return MarginRow(
        name=name[:1].upper() + name[1:],
        value=quantities.show(check.value, check.dimension),
        limit=f"{'needs' if over else 'limit'} {quantities.show(check.limit, check.dimension)}",
        margin=margin,
        met=check.met,
    )


def key_numbers(result: Result) -> list[tuple[str, str]]:
    """Return name and value of the numbers that people ask for first."""
    held = result.numbers
    found = [
        ("Peak pressure", f"{quantities.show(held.peak_pressure, 'gauge pressure')} gauge, after "
                          f"{quantities.show(held.peak_time, 'time')}"),
        ("Friction alone holds to", quantities.show(held.slip_pressure, "gauge pressure")),
    ]  # fmt: skip
    if result.case.pins is not None:
        pins = quantities.show(held.pin_pressure, "gauge pressure")
        found.append(("Friction and pins hold to", f"{pins} in a shot"))
    if held.clear_velocity is not None and held.clear_time is not None:
        found.append(("Clear after", quantities.show(held.clear_time, "time")))
        found.append(
            ("Separation velocity when clear", quantities.show(held.clear_velocity, "velocity"))
        )
    if held.greatest_velocity is not None:
        found.append(
            ("Greatest separation velocity", quantities.show(held.greatest_velocity, "velocity"))
        )
    if held.clear_energy is not None:
        found.append(("Energy of the separation", _energy(held.clear_energy)))
    else:
        stroke = result.case.joint.shoulder_length
        found.append(("Greatest travel", f"{quantities.show(held.greatest_travel, 'length')} of "
                                         f"{quantities.show(stroke, 'length')}"))  # fmt: skip
    if result.case.powder is not None and math.isfinite(held.burnt):
        found.append(("Powder burnt", f"{100.0 * held.burnt:.0f} %"))
    if held.cord_load is not None:
        jerk = quantities.digits(held.cord_load / (result.case.nose.mass * STANDARD_GRAVITY))
        load = quantities.show(held.cord_load, "force")
        found.append(("Cord load, peak", f"{load}, as {jerk} g on the section that leaves"))
    if held.brake_energy:
        torn = sum(energy > 0.0 for energy in held.brake_energy)
        found.append(("Taken by the cord's brake", f"{_energy(sum(held.brake_energy))}, by {torn} "
                      f"of {len(held.brake_energy)} stages"))  # fmt: skip
    if held.velocity_after_jerk is not None:
        found.append(
            ("Speed after the jerk", quantities.show(held.velocity_after_jerk, "velocity"))
        )
    if held.electronics_pulse is not None:
        found.append(("Pulse in the electronics bay",
                      quantities.show(held.electronics_pulse, "gauge pressure")))  # fmt: skip
    return found


def happened(result: Result) -> list[tuple[str, Event]]:
    """Return name and data of each event, pins that do the same at once as one."""
    found: list[tuple[str, Event]] = []
    group: list[Event] = []
    for event in [*result.events, None]:
        if group and (event is None or not _together(group[-1], event)):
            found.append((_of_pins(group), group[0]))
            group = []
        if event is not None and event.kind.of_pin:
            group.append(event)
        elif event is not None:
            found.append((event.name, event))
    return found


def _together(one: Event, two: Event) -> bool:
    return two.kind is one.kind and two.time == one.time


def _of_pins(group: list[Event]) -> str:
    if len(group) == 1:
        return group[0].name
    numbers = f"{group[0].number} to {group[-1].number}"
    return group[0].kind.replace("pin", "pins").format(numbers).removesuffix("s")


def _energy(value: float) -> str:
    return quantities.show(value, "energy").replace("*", " ")


def static_rule(result: Result) -> list[tuple[str, str]]:
    """Return the static rule's answers, name and value."""
    rule = result.rule
    found = [
        ("Its target", quantities.show(rule.target_pressure, "gauge pressure")),
        ("Force of the target on the bore", quantities.show(rule.target_force, "force")),
    ]
    for name, each in (("Empty-bay rule", rule.empty), ("Free-volume rule", rule.free)):
        promised = quantities.show(each.promised_pressure, "gauge pressure")
        found.append((f"{name}: volume", quantities.show(each.volume, "volume")))
        found.append((f"{name}: promises for this charge", promised))
        if math.isfinite(each.target_mass):
            found.append(
                (f"{name}: powder for the target", quantities.show(each.target_mass, "mass"))
            )
            with_pins = quantities.show(each.needed_mass, "mass")
            found.append((f"{name}: powder for target and pins", with_pins))
    return found


def summary(result: Result) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    result : Result
        A run.

    Returns
    -------
    str
        Verdict and reasons, numbers and margins, the static rule, the caution.
    """
    lines = [f"{result.case.name}: {' '.join(result.case.title.split())}", ""]
    lines += [f"  {headline(result).upper()}"]
    for sentence in [*reasons(result), change(result)]:
        lines += textwrap.wrap(sentence, WIDE, initial_indent="  ", subsequent_indent="  ")
    lines += ["", f"  Charge: {charge(result.case)}", ""]
    lines += columns(key_numbers(result))
    lines += ["", "  Margins (1 is just enough)"]
    table = rows(result)
    widths = [max(len(getattr(row, part)) for row in table) for part in ("name", "value", "limit")]
    for row in table:
        cells = [
            text.ljust(wide)
            for text, wide in zip((row.name, row.value, row.limit), widths, strict=True)
        ]
        lines.append(f"    {'  '.join(cells)}  {row.margin}{'' if row.met else '  NOT MET'}")
    lines += ["", "  Static rule, for comparison (common practice, no source)"]
    lines += columns(static_rule(result))
    found = doubts(result.case)
    lines += ["", "  Doubts"] * bool(found)
    for text in found:
        lines += textwrap.wrap(text, WIDE, initial_indent="    ", subsequent_indent="    ")
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"
