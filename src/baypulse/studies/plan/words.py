"""The sentences of a ground-test plan: headline, what each step does, what to know of it."""

from __future__ import annotations

import math

from baypulse.case.quantities import likely, show
from baypulse.members.chances import Chance
from baypulse.observed.slide_distance import CORD, FRICTION, HELD, JOINT, Slide
from baypulse.show.phrases import case_file
from baypulse.studies.plan.compute import GroundTestPlan, LadderStep
from baypulse.studies.window.practice import far_from_practice
from baypulse.studies.window.trials import amount, span

ENDS = {
    CORD: "to the cord's end",
    FRICTION: "by friction",
    HELD: "clamped",
    JOINT: "stays in the tube",
}
"""What ends the way of a section, in words."""

UNKNOWN = (
    "The chances hold for the spreads of the case and of the library, most of which are estimates, "
    "and no measured pressure trace of a recovery bay was found to compare the model with. Damp "
    "powder, a forgotten plug, a shoulder that tilts and jams, lines that tangle, or a section "
    "that falls off a table before it slides are in none of them. Where the test and the plan "
    "disagree, believe the test, and stop until you know why."
)
"""What the plan does not know."""

PROOF = (
    "Successes of the very same charge and set-up, one after another. The lower bound is the "
    "chance of success that they show with 95 % confidence (exact binomial, Clopper and Pearson "
    "1934): three of three show no more than 37 %. Say before the first shot how many there will "
    "be; after any change count from nothing."
)
"""What the table of successes means."""


def holder(plan: GroundTestPlan) -> str:
    """Return what the charge is and what it is in."""
    case = plan.case
    if case.powder is not None:
        held = "loose" if case.holder is None else "in its holder"
        return f"{case.powder.grade} powder, {held}"
    assert case.cold_gas is not None
    return f"{case.cold_gas.gas}, reservoir of {show(case.cold_gas.volume, 'volume')}"


def between_ends(plan: GroundTestPlan) -> str:
    """Return both ends of the window."""
    found = plan.window
    assert found.least is not None
    if found.most is None:
        return f"{amount(found, found.least.charge)} or more, no limit found"
    return span(found, found.least.charge, found.most.charge)


def headline(plan: GroundTestPlan) -> str:
    """Return the ladder in a few words."""
    first, last = (amount(plan.window, plan.steps[k].charge) for k in (0, -1))
    if len(plan.steps) == 1:
        return f"Ground test in one step: {last}"
    return f"Ground test in {len(plan.steps)} steps, from {first} to {last}"


def outcome(step: LadderStep) -> tuple[str, str]:
    """Return the most probable verdict with its chance, and what else happens."""

    def told(what: str, chance: Chance) -> str:
        return f"{what} {likely(chance.share, whole=True)}"

    often = sorted(step.verdicts, key=lambda each: -each.count)
    first, *rest = [told(each.name, each) for each in often if each.count]
    if step.stay_in is not None and step.stay_in.count:
        rest.append(f"{told('parachute stays in:', step.stay_in)} of those that separate")
    return first, "; ".join(rest)


def flies(plan: GroundTestPlan) -> bool:
    """Say whether the case is a shot in flight, which the test is not."""
    return plan.steps[0].aloft is not None


def length(value: float) -> str:
    """Return how far something slides, with the two digits that are known of it."""
    return show(value, "length", significant=2) if math.isfinite(value) else "no end"


def way(slide: Slide) -> str:
    """Return how far a section goes, and what ends that; a star where a formula says so."""
    if slide.stopped_by == HELD:
        return ENDS[HELD]
    star = "" if slide.computed else "*"
    return f"{length(slide.distance)}{star} {ENDS.get(slide.stopped_by, 'nothing stops it')}"


def sentences(plan: GroundTestPlan) -> list[str]:
    """Return what has to be known before the ladder is climbed.

    Parameters
    ----------
    plan : GroundTestPlan
        The plan.
    """
    far = far_from_practice(plan.window)
    found = [] if far is None else [far]
    if flies(plan):
        altitude = show(plan.case.surroundings.altitude, "length")
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
    return [
        *found,
        f"In half of the shots about {amount(plan.window, plan.half)} is enough. Chances and "
        f"speeds are of {plan.members:,} simulated shots at each step.",
    ]


def notes(plan: GroundTestPlan) -> str:
    """Return what has to be known to read how far both sections go."""
    stars = any(not s.computed for step in plan.steps for s in (step.nose, step.airframe))
    formula = "* v²/(2 µ g), with the friction coefficients of the case. " if stars else ""
    slide = "without cord" if plan.case.cord is not None else "of a fast shot"
    return (
        "The ways of both sections are those of the shot without scatter, along the line of the "
        f"tube. {formula}The slide {slide} is v²/(2 µ g) of the 95 % speed. No number here is a "
        "safety distance: the site's safety officer sets that."
    )


def next_steps(plan: GroundTestPlan) -> list[str]:
    """Return what to do with the plan."""
    return [
        "Print plan.pdf from the report: checklist, record, and what each outcome means.",
        "Fire from step 1 up and write down every shot. What they teach of this bay: baypulse "
        f"shots {case_file(plan.case.name)}",
    ]
