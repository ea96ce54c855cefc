"""What a ground-test plan says of its case: sentences and rows of tables; the terminal's text."""

from __future__ import annotations

import math
from collections.abc import Sequence

from baypulse.case import quantities, units
from baypulse.caution import CAUTION
from baypulse.members.chances import Chance
from baypulse.observed.slide_distance import CORD, FRICTION, HELD, JOINT, Slide
from baypulse.show.data import doubts, versions
from baypulse.show.text import wrapped
from baypulse.studies.plan.compute import GroundTestPlan, LadderStep
from baypulse.studies.plan.success_count import lower_bound, shots_needed
from baypulse.studies.window.practice import far_from_practice

SUCCESSES = (1, 2, 3, 5, 10, 20, 30, 59, 90)
"""Shots that all succeed, whose lower bound is told."""

WANTED = (0.9, 0.95, 0.99)
"""Chances for which the plan tells how many shots show them."""

ENDS = {
    CORD: "to the cord's end",
    FRICTION: "by friction",
    HELD: "clamped",
    JOINT: "stays in the tube",
}
"""What ends the way of a section, in words."""

PLAIN = str.maketrans({"²": "^2", "³": "^3", "µ": "mu"})
"""What stands for letters that not every terminal has."""

UNKNOWN = (
    "What these numbers do not know: the chances hold for the spreads of the case and of the "
    "library, most of which are estimates, and no measured pressure trace of a recovery bay was "
    "found to compare the model with. Damp powder, a forgotten plug, a shoulder that tilts and "
    "jams, lines that tangle, or a section that falls off a table before it slides are in none of "
    "them. Where the test and the plan disagree, believe the test, and stop until you know why."
)
"""Printed at the foot of every plan."""


def holder(plan: GroundTestPlan) -> str:
    """Return what the charge is and what it is in."""
    case = plan.case
    if case.powder is not None:
        held = "loose" if case.holder is None else "in its holder"
        return f"{case.powder.grade} powder, {held}"
    assert case.cold_gas is not None
    return f"{case.cold_gas.gas}, reservoir of {quantities.show(case.cold_gas.volume, 'volume')}"


def charge(plan: GroundTestPlan, value: float) -> str:
    """Return a charge as it is weighed, or read on a gauge."""
    text = quantities.show(value, plan.window.dimension)
    return text if plan.case.powder is not None else f"{text} gauge"


def facts(plan: GroundTestPlan) -> list[tuple[str, str]]:
    """Return name and value of what is fixed before the first shot."""
    found = plan.window
    assert found.least is not None and found.recommended is not None
    most = "no limit found" if found.most is None else charge(plan, found.most.charge)
    wanted = f"Window for {100.0 * found.wanted:.6g} %"
    rows = [
        ("Charge", holder(plan)),
        ("Ground-test charge", charge(plan, found.recommended.charge)),
        (wanted, f"{charge(plan, found.least.charge)} to {most}"),
        ("Pull-off without pins", quantities.show(plan.friction, "force")),
    ]  # fmt: skip
    if plan.case.pins is not None:
        pins = quantities.show(plan.pins, "force")
        rows.append((f"Pins, {plan.case.pins.count} together", f"{pins} in a slow pull"))
    held = quantities.show(plan.held_pressure, "gauge pressure")
    rows.append(("Held in a shot up to", f"{held} gauge"))
    if found.backup is not None:
        rows.append(("Backup, tested alone", charge(plan, found.backup.charge)))
    return [(name, value.replace("^3", "³")) for name, value in rows]


def ladder_head(plan: GroundTestPlan) -> list[str]:
    """Return the head of the ladder's table."""
    word = "Charge" if plan.case.powder is not None else "Fill pressure"
    slid = "If the cord parts, it slides" if plan.case.cord is not None else "In a fast shot"
    found = [
        "No.", word, "Most likely", "And else", "Separation speed, 5 to 95 %",
        "If it stays in, it moves", "Section goes", "Airframe goes", slid,
    ]  # fmt: skip
    return [*found, "Separates in flight"] if _flies(plan) else found


def ladder_rows(plan: GroundTestPlan) -> list[list[str]]:
    """Return a row for each step of the ladder; what is to stand on a line of its own does."""
    return [_row(plan, number, step) for number, step in enumerate(plan.steps, 1)]


def _row(plan: GroundTestPlan, number: int, step: LadderStep) -> list[str]:
    likely, others = outcome(step)
    speed = step.trial.clear_velocity
    none = math.isnan(speed[1])
    found = [
        str(number),
        charge(plan, step.charge).replace(" (", "\n("),
        likely,
        others,
        "none separates" if none else span(speed[0], speed[2], "velocity"),
        span(step.shut_travel[0], step.shut_travel[2], "length"),
        way(step.nose),
        way(step.airframe),
        "" if none else f"up to {length(step.free_nose)}".replace(" (", "\n("),
    ]
    return found if step.aloft is None else [*found, about(step.aloft)]


def _flies(plan: GroundTestPlan) -> bool:
    return plan.steps[0].aloft is not None


def outcome(step: LadderStep) -> tuple[str, str]:
    """Return the most probable verdict with its chance, and what else happens."""
    often = sorted(step.verdicts, key=lambda each: -each.count)
    first, *rest = [f"{each.name} {about(each)}" for each in often if each.count]
    if step.stay_in is not None and step.stay_in.count:
        rest.append(f"parachute stays in: {about(step.stay_in)} of those that separate")
    return first, "; ".join(rest)


def about(each: Chance) -> str:
    """Return a chance to whole per cent, as far as so few members know it.

    Parameters
    ----------
    each : Chance
        Of members.
    """
    share = 100.0 * each.share
    if share > 99.0:
        return "over 99 %"
    return "under 1 %" if share < 1.0 else f"{share:.0f} %"


def span(low: float, high: float, dimension: str) -> str:
    """Return a range in both units, a line each, or nothing where it never happened."""
    if math.isnan(low):
        return ""
    pair = _units(high, dimension)
    ends = [[quantities.digits(units.convert(v, unit), 2) for v in (low, high)] for unit in pair]
    texts = [one if one == two else f"{one} to {two}" for one, two in ends]
    return f"{texts[0]} {pair[0]}\n({texts[1]} {pair[1]})"


def length(value: float) -> str:
    """Return a distance in both units, with two digits."""
    return flat(span(value, value, "length")) if math.isfinite(value) else "no end"


def flat(text: str) -> str:
    """Return a cell's text on one line."""
    return " ".join(text.split())


def _units(value: float, dimension: str) -> tuple[str, str]:
    if dimension == "velocity":
        return "m/s", "ft/s"
    return ("m", "ft") if value >= 0.1 else ("mm", "in")


def way(slide: Slide) -> str:
    """Return how far a section goes, and what ends that; a star where a formula says so."""
    if slide.stopped_by == HELD:
        return ENDS[HELD]
    star = "" if slide.computed else "*"
    ending = ENDS.get(slide.stopped_by, "nothing stops it")
    return f"{length(slide.distance)}{star}\n{ending}"


def notes(plan: GroundTestPlan) -> list[str]:
    """Return what has to be known to read the ladder, a sentence or two each."""
    found = []
    if _flies(plan):
        altitude = quantities.show(plan.case.surroundings.altitude, "length")
        found.append(
            f"The case is a shot in flight, at {altitude}; the test is not. The ladder is computed "
            "for the same bay on a stand at sea level, and what separates here need not separate "
            "at altitude: the last column says how often it would."
        )
    if not plan.reached:
        found.append(
            "The ladder ends below the ground-test charge: on the ground that charge exceeds a "
            "limit too often. Such a ground test cannot prove it."
        )
    found.append(
        f"In half of the shots about {charge(plan, plan.half)} is enough. Chances and speeds are "
        f"of {plan.members:,} shots at each step; the ways of both sections are those of the shot "
        "without scatter, along the line of the tube."
    )
    if any(not s.computed for step in plan.steps for s in (step.nose, step.airframe)):
        found.append("* v²/(2 µ g), with the friction coefficients of the case.")
    stopped = "v²/(2 µ g) of the 95 % speed"
    found.append(
        f"The slide {'without cord' if plan.case.cord is not None else 'of a fast shot'} is "
        f"{stopped}. No number here is a safety distance: the site's safety officer sets that."
    )
    return found


def successes() -> tuple[list[str], list[str]]:
    """Return how many successes are looked at, and the lower bound that each shows."""
    bounds = [f"{100.0 * lower_bound(n, n):.1f} %" for n in SUCCESSES]
    return [f"{n} of {n}" for n in SUCCESSES], bounds


def needed() -> list[list[str]]:
    """Return a row for each target reliability: shots if none fails, and if one may fail."""
    return [
        [f"{100.0 * chance:g} %", str(shots_needed(chance)), str(shots_needed(chance, 1))]
        for chance in WANTED
    ]


PROOF = (
    "Successes of the very same charge and set-up, one after another. The lower bound is the "
    "chance of success that they show with 95 % confidence (exact binomial, Clopper and Pearson "
    "1934): three of three show no more than 37 %. Say before the first shot how many there will "
    "be; after any change count from nothing."
)
"""What the table of successes means."""


def unknown(plan: GroundTestPlan) -> str:
    """Return what the numbers do not know, and what is doubtful in this case."""
    found = [*plan.window.warnings, *doubts(plan.case)]
    return f"{UNKNOWN} Of this case: {'; '.join(found)}." if found else UNKNOWN


def foot(plan: GroundTestPlan) -> str:
    """Return what made the plan."""
    found = plan.window
    used = ", ".join(f"{name} {number}" for name, number in versions().items())
    return (
        f"Made with {used}. Case {plan.case.name}; seed {found.seed}; {found.members:,} shots "
        f"behind each end of the window, {plan.members:,} behind each step, {plan.runs:,} runs."
    )


def headline(plan: GroundTestPlan) -> str:
    """Return the ladder in a few words."""
    first, last = (charge(plan, plan.steps[k].charge) for k in (0, -1))
    if len(plan.steps) == 1:
        return f"One step: {last}"
    return f"{len(plan.steps)} steps, from {first} to {last}"


def summary(plan: GroundTestPlan) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    str
        The ladder with its predictions, what to know, the caution.
    """
    case = plan.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(f"GROUND TEST: {headline(plan)}", "  ", "  "), ""]
    lines += _pairs(facts(plan))
    far = far_from_practice(plan.window)
    if far is not None:
        lines += ["", *wrapped(far, "  ", "    ")]
    head = ladder_head(plan)
    for row in ladder_rows(plan):
        lines += ["", f"  Step {row[0]}: {flat(row[1])}"]
        told = [(name, flat(cell)) for name, cell in zip(head[2:], row[2:], strict=True) if cell]
        lines += _pairs(told)
    lines.append("")
    for sentence in [*notes(plan), *plan.window.warnings, *doubts(case)]:
        lines += wrapped(sentence, "  ", "    ")
    lines += ["", *wrapped(CAUTION, "", "")]
    return "\n".join(lines).translate(PLAIN) + "\n"


def _pairs(rows: Sequence[tuple[str, str]]) -> list[str]:
    """Return indented lines of names and values, long values on several."""
    wide = max(len(name) for name, _ in rows)
    found = []
    for name, value in rows:
        found += wrapped(value, f"    {name.ljust(wide)}  ", " " * (wide + 6))
    return found


def compare(plans: Sequence[GroundTestPlan]) -> str:
    """Return a table of several plans for the terminal.

    Parameters
    ----------
    plans : sequence of Plan
        At least one.
    """
    rows = [["case", "steps", "first", "last", "it separates", "separation speed"]]
    for plan in plans:
        first, last = plan.steps[0], plan.steps[-1]
        speed = last.trial.clear_velocity
        rows.append(
            [
                plan.case.name, str(len(plan.steps)), charge(plan, first.charge),
                charge(plan, last.charge), about(last.trial.opens),
                flat(span(speed[0], speed[2], "velocity")),
            ]
        )  # fmt: skip
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)) for row in rows]
    lines = [f"  {line.rstrip()}" for line in lines]
    return (
        "\n".join(["", "Ground tests side by side", *lines, "", *wrapped(CAUTION, "", "")]) + "\n"
    )
