"""The sentences of a run: verdict, reasons, what to do next, what happened."""

from __future__ import annotations

from itertools import groupby

from baypulse.case.quantities import capital, show
from baypulse.run.result import Event, EventKind, Parachute, Result, Verdict
from baypulse.show.phrases import case_file

VERDICTS = {
    Verdict.SEPARATES: "Separates",
    Verdict.SEPARATES_TOO_HARD: "Separates too hard",
    Verdict.PARTIAL_SEPARATION: "Partial separation",
    Verdict.NO_SEPARATION: "No separation",
    Verdict.UNDECIDED: "Undecided",
}
"""What a verdict is called in a headline."""

CONTENTS = {
    Parachute.COMES_OUT: "the parachute comes out",
    Parachute.STAYS_IN: "the parachute stays in the tube",
    Parachute.NOT_ASKED: "",
}
"""What became of the parachute, behind the verdict."""

CHANGES = {
    Verdict.NO_SEPARATION: "Smaller openings, a looser fit, fewer or weaker pins, a holder "
    "that makes more of the powder burn, or more powder each raise the share reached.",
    Verdict.PARTIAL_SEPARATION: "Once moving, what counts is pressure that lasts: close what is "
    "open, ease the fit along the whole shoulder, and only then think of more powder.",
    Verdict.SEPARATES_TOO_HARD: "Less powder, or fewer pins: pins set the pressure at which the "
    "motion starts, so fewer of them let go more softly. A limit on the cord also yields to a "
    "longer or more elastic cord.",
    Verdict.UNDECIDED: "Nothing follows from this run about the charge.",
}
"""What would change a verdict that nobody wants."""


def headline(result: Result) -> str:
    """Return the verdict in a few words."""
    words = VERDICTS[result.verdict]
    contents = CONTENTS[result.contents]
    if not contents or not result.verdict.separated:
        return words
    return f"{words}, {'and' if result.contents is Parachute.COMES_OUT else 'but'} {contents}"


def brief(result: Result) -> str:
    """Return the verdict in fewer words, where several stand below each other."""
    stays = result.verdict.separated and result.contents is Parachute.STAYS_IN
    return f"{VERDICTS[result.verdict]}{', pack stays in' * stays}"


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
    if result.verdict.separated and result.case.cord is not None and not _cord_pulled(result):
        apart, end = (float(result.curves[name].values[-1]) for name in ("travel", "time"))
        found.append(
            f"the cord never comes taut: after {show(end, 'time')} the sections are "
            f"{show(apart, 'length')} apart on {show(result.case.cord.length, 'length')} of cord, "
            "so nothing is said of its load"
        )
    if not result.good and result.message not in found:
        found.append(result.message)
    return [f"{capital(text.rstrip('.'))}." for text in found]


def _cord_pulled(result: Result) -> bool:
    """Say whether the cord, or its brake, took a load."""
    return result.numbers.cord_load is not None


def _ran_into_pins(result: Result) -> bool:
    """Say whether pins failed though the pressure alone never overcame them.

    The bay held shut has a peak above the run's own, and asks for another run.
    """
    needed = result.numbers.pin_pressure
    failed = any(event.kind is EventKind.PIN_FAILS for event in result.events)
    below = failed and result.numbers.peak_pressure < needed
    return below and result.breakdown.held_peak < needed


def next_steps(result: Result) -> list[str]:
    """Return what would change an unwanted verdict, and the command that looks at all spreads."""
    found = [CHANGES[result.verdict]] if result.verdict in CHANGES else []
    if result.verdict.separated and result.contents is Parachute.STAYS_IN:
        found.append(
            "For the parachute: more cord between the nose and the packing, a looser packing, or "
            "more speed when clear."
        )
    if result.verdict is not Verdict.UNDECIDED:
        found.append(
            "The least and the most charge for all that scatters: baypulse window "
            f"{case_file(result.case.name)}"
        )
    return found


def happened(result: Result) -> list[tuple[str, Event]]:
    """Return name and data of each event, pins that do the same at once as one."""

    def together(event: Event) -> tuple[object, ...]:
        return (event.kind, event.time) if event.kind.of_pin else (id(event),)

    groups = [list(group) for _, group in groupby(result.events, together)]
    return [(_name(group), group[0]) for group in groups]


def _name(group: list[Event]) -> str:
    if len(group) == 1:
        return group[0].name
    numbers = f"{group[0].number} to {group[-1].number}"
    return group[0].kind.replace("pin", "pins").format(numbers).removesuffix("s")
