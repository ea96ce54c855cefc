"""What a ground-test plan says: the ladder, its tables, what to tick off, its numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from baypulse.case import quantities
from baypulse.case.quantities import about, asked, likely, short
from baypulse.observed.slide_distance import Slide
from baypulse.show.cells import both, chance
from baypulse.show.document import (
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.figures import sketch
from baypulse.studies.plan import advice, words
from baypulse.studies.plan.compute import GroundTestPlan, LadderStep
from baypulse.studies.plan.pdf import pdf
from baypulse.studies.plan.success_count import lower_bound, shots_needed
from baypulse.studies.window import comparison

SUCCESSES = (1, 2, 3, 5, 10, 20, 30, 59, 90)
"""Shots that all succeed, whose lower bound is told."""

CHANCES = (0.9, 0.95, 0.99)
"""Chances for which the plan tells how many shots show them."""

BELOW = (0.05, 0.5, 0.95)
"""Shares of the shots below the three values of a number."""


def document(plan: GroundTestPlan) -> Document:
    """Return what a ground-test plan says.

    Parameters
    ----------
    plan : GroundTestPlan
        The plan.
    """
    case, found = plan.case, plan.window
    outline = Figure(
        "sketch", "The bay to scale, from the dimensions of the case.",
        lambda: sketch.figure_of(plan.ground),
    )  # fmt: skip
    decisions = Table(
        "decisions",
        (Column("seen", "Seen or heard"), Column("meaning", "What it means"),
         Column("next", "Next")),
        tuple(advice.decisions(case)), look="cards", note=advice.SOURCE,
    )  # fmt: skip
    made = of_case(
        case,
        "plan",
        about=f"Charge: {words.holder(plan)}",
        headline=words.headline(plan),
        sentences=tuple(words.sentences(plan)),
        next_steps=tuple(words.next_steps(plan)),
        warnings=found.warnings,
        first=_ladder(plan),
        sections=(
            Section("Before the first shot", (outline, _facts(plan))),
            Section("How far both sections go", (_ways(plan), words.notes(plan))),
            Section("What each outcome means for the next step", (decisions,)),
            Section("Before, at and after every shot", (_checklist(plan),)),
            Section("How many successes prove what", (_successes(), _needed(), words.PROOF)),
            Section("Record", (
                Table("blanks", tuple(Column(name, name) for name in advice.BLANKS),
                      (("",) * len(advice.BLANKS),), look="form"),
                Table("record", tuple(Column(name, name) for name in advice.record(case)),
                      tuple(advice.blank_rows(case)), look="form"),
            )),
        ),
        unknown=words.UNKNOWN,
        effort=f"Seed {found.seed}; {found.members:,} shots behind each end of the window, "
        f"{plan.members:,} behind each step, {plan.runs:,} runs.",
        findings=_findings(plan),
        style="plan.css",
    )  # fmt: skip
    return replace(made, attached={"plan.pdf": lambda: pdf(made, plan.ground)})


def compare(plans: Sequence[GroundTestPlan]) -> Table:
    """Return a table of several plans.

    Parameters
    ----------
    plans : sequence of GroundTestPlan
        One a case.
    """
    return Table(
        "plans",
        (Column("case", "case"), Column("steps", "steps"), Column("first", "first shot"),
         Column("last", "last"), *comparison.COLUMNS),
        tuple(
            (
                plan.case.name, len(plan.steps),
                *(comparison.amount(plan.steps[k].charge, plan.window) for k in (0, -1)),
                *comparison.cells(plan.window),
            )
            for plan in plans
        ),
        title="Ground tests side by side",
        note=f"{comparison.NOTE} Next: the first shot of each, by its page. {quantities.RESTS_ON}",
    )  # fmt: skip


def picture(plans: Sequence[GroundTestPlan]) -> Figure:
    """Return the figure of the windows behind several plans.

    Parameters
    ----------
    plans : sequence of GroundTestPlan
        One a case.
    """
    return comparison.picture([plan.window for plan in plans])


def _charge(plan: GroundTestPlan) -> tuple[Column, Column]:
    """Return the first columns of a ladder: the step and its charge."""
    label = "Charge" if plan.case.powder is not None else "Fill pressure, gauge"
    name = plan.window.label.replace(" ", "_")
    return Column("step", "Step"), Column(name, label, plan.window.dimension)


def _ladder(plan: GroundTestPlan) -> Table:
    """Return what every step of the ladder does."""
    columns = [
        *_charge(plan), Column("likely", "Most likely"), Column("others", "And else"),
        Column("separation_velocity", "Separation speed, 5 / 50 / 95 %", "velocity", BELOW,
               "none separates"),
    ]  # fmt: skip
    rows = [
        [number, step.charge, *words.outcome(step), step.trial.clear_velocity]
        for number, step in enumerate(plan.steps, 1)
    ]
    if words.flies(plan):
        columns.append(Column("separates_in_flight", "Separates in flight"))
        for row, step in zip(rows, plan.steps, strict=True):
            assert step.aloft is not None
            row.append(Said(step.aloft, likely(step.aloft.share, whole=True)))
    return Table("ladder", tuple(columns), tuple(tuple(row) for row in rows), "The ladder",
                 look="cards ladder")  # fmt: skip


def _ways(plan: GroundTestPlan) -> Table:
    """Return how far the joint and both sections go at every step."""
    slid = "If the cord parts, it slides up to" if plan.case.cord is not None else (
        "In a fast shot it slides up to"
    )  # fmt: skip
    return Table(
        "ways",
        (
            *_charge(plan),
            Column("travel_without_separation", "If it stays in, it moves, 5 / 50 / 95 %",
                   "length", BELOW, ""),
            Column("nose_distance", "Section goes", "length"),
            Column("airframe_distance", "Airframe goes", "length"),
            Column("nose_without_cord", slid, "length", absent=""),
        ),
        tuple(_way(number, step) for number, step in enumerate(plan.steps, 1)),
        look="cards",
    )  # fmt: skip


def _way(number: int, step: LadderStep) -> tuple[Any, ...]:
    def said(slide: Slide) -> Said:
        return Said(slide.distance, words.way(slide))

    none = step.trial.clear_velocity[1] != step.trial.clear_velocity[1]
    free = None if none else Said(step.free_nose, words.length(step.free_nose))
    return (number, step.charge, step.shut_travel, said(step.nose), said(step.airframe), free)


def _facts(plan: GroundTestPlan) -> Facts:
    """Return what is fixed before the first shot."""
    found = plan.window
    charge, label = _charge(plan)[1].name, "charge" if plan.case.powder is not None else "fill"

    def rows() -> Iterator[Fact]:
        assert found.recommended is not None
        prove = Quantity(found.recommended.charge, found.dimension)
        yield Fact(f"recommended_{charge}", f"Ground-test {label}", prove)
        yield Fact("window", f"Window for {asked(found.wanted)}", words.between_ends(plan))
        yield Fact("pull_off", "Pull-off without pins", Quantity(plan.friction, "force"))
        if plan.case.pins is not None:
            name = f"Pins, {plan.case.pins.count} together, in a slow pull"
            yield Fact("pins_together", name, Quantity(plan.pins, "force"))
        held = Quantity(plan.held_pressure, "gauge pressure")
        yield Fact("held_pressure", "Held in a shot up to, gauge", held)
        backup = Quantity(plan.backup, found.dimension)
        yield Fact(f"backup_{charge}", "Backup, tested alone", backup)

    return Facts("facts", tuple(rows()))


def _checklist(plan: GroundTestPlan) -> Table:
    """Return what is to be ticked off, a column for each group."""
    groups = advice.checklist(plan.case)
    most = max(len(items) for _, items in groups)
    columns = [[f"{advice.BOX} {item}" for item in items] for _, items in groups]
    return Table(
        "checklist",
        tuple(Column(name, name, absent="") for name, _ in groups),
        tuple(zip(*(items + [""] * (most - len(items)) for items in columns), strict=True)),
        look="ticks",
        note=advice.SOURCE,
    )


def _successes() -> Table:
    return Table(
        "successes",
        (Column("succeeded", "Succeeded"), Column("lower_bound", "shows at least", "ratio")),
        tuple(
            (Said(n, f"{n} of {n}"), Said(bound, short(bound, "ratio")))
            for n, bound in ((n, lower_bound(n, n)) for n in SUCCESSES)
        ),
    )


def _needed() -> Table:
    return Table(
        "needed",
        (Column("chance", "To show a chance of", "ratio"),
         Column("shots_if_none_fails", "shots, if none fails"),
         Column("shots_if_one_may_fail", "shots, if one may fail")),
        tuple((Said(c, about(c)), shots_needed(c), shots_needed(c, 1)) for c in CHANCES),
    )  # fmt: skip


def _findings(plan: GroundTestPlan) -> dict[str, Any]:
    """Return what stands in no table."""
    found = plan.window
    assert found.least is not None
    charge, kind = _charge(plan)[1].name, found.dimension
    most = None if found.most is None else found.most.charge
    return {
        "reliability_ratio": found.wanted,
        "path": found.path,
        "seed": found.seed,
        "simulated_shots_window": found.members,
        "simulated_shots_step": plan.members,
        "runs": plan.runs,
        **both(f"least_{charge}", found.least.charge, kind),
        **both(f"most_{charge}", most, kind),
        **both(f"half_{charge}", plan.half, kind),
        "reaches_recommended": plan.reached,
        "steps": [_step(step) for step in plan.steps],
    }


def _step(step: LadderStep) -> dict[str, Any]:
    peaks = zip((5, 50, 95), step.trial.peak_pressure, strict=True)
    return {
        "verdicts": [chance(each) for each in step.verdicts],
        "parachute_stays_in": None if step.stay_in is None else chance(step.stay_in),
        "separates_with_parachute_out": chance(step.trial.opens),
        "limits_exceeded": [chance(each) for each in step.trial.limits],
        "peak_pressure": [
            {"below_percent": share, **both("peak_pressure", peak, "gauge pressure")}
            for share, peak in peaks
        ],
        "nose": _end(step.nose),
        "airframe": _end(step.airframe),
    }


def _end(slide: Slide) -> dict[str, Any]:
    return {"stopped_by": slide.stopped_by, "computed_to_its_end": slide.computed}
