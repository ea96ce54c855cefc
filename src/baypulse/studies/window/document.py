"""What a charge window says: the answer, its tables and figures, its numbers for programs."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case import quantities
from baypulse.members.charge_results import Edge, Trial
from baypulse.show import static_rule
from baypulse.show.cells import both, chance, clean
from baypulse.show.document import (
    Between,
    Column,
    Document,
    Figure,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge as charge_of
from baypulse.studies.window import figures, words
from baypulse.studies.window.result import Remedy, Window
from baypulse.studies.window.trial_values import NUMBERS, TRIALS, single
from baypulse.studies.window.trials import notes, rule_sentences, steps, worst

FILED = (*NUMBERS, ("clear_velocity", "velocity when clear", "velocity"))
"""Numbers of a trial in tables: name, label, dimension; those that are drawn, and one more."""

BELOW = (0.05, 0.5, 0.95)
"""Shares of the shots below the three values of a number."""

UNKNOWN = (
    "The window holds for the spreads listed and for this model; most spreads of the library are "
    "estimates. Limits that the case does not give, such as the strength of an anchor or a highest "
    "velocity, end no window. The intervals say how well so many shots pin an end down, not how "
    "well the model knows the bay: no measured pressure trace of a recovery bay was found to "
    "compare it with, and it knows no jet of flame on a wall, no shoulder that tilts and jams, no "
    "lines that tangle. A damp charge or a forgotten plug is in no spread. A ground test knows "
    "them all."
)
"""What the window does not know."""

CAPTIONS = {
    "window": "The strip on top says what can be said of each charge; the short bars above it "
    "are the 95 % intervals of the window's ends, the marks the charges that were looked at. "
    "Below, on the same scale: the two chances, and median and range of nine of ten shots in "
    "which it happened; heavy broken lines are limits at the nominal values. Points are "
    "computed, the lines only join them. The scale is logarithmic: equal steps are equal "
    "factors.",
    "trials": "Bars hold nine of ten shots, the heavy stroke is the median, heavy broken lines "
    "are limits.",
    "changes": "Each bar is the window with one change, alone. A hatched bar is the gap of an "
    "empty window. The number is most over least.",
}
"""What each figure shows."""


def document(window: Window) -> Document:
    """Return what a charge window says.

    Parameters
    ----------
    window : Window
        Findings.
    """
    changes = _changes(window)
    return of_case(
        window.case,
        "window",
        about=f"Charge in the case: {charge_of(window.case)}",
        headline=words.headline(window),
        sentences=tuple(words.answer(window)),
        next_steps=tuple(words.next_steps(window)),
        first=_chances(window),
        warnings=window.warnings,
        sections=(
            *(changes if window.empty else ()),
            Section("What ends the window", (_limits(window),)),
            Section("Curves", (_figure(window, "window"),)),
            _charge_by_charge(window),
            _beside_the_rule(window),
            *(() if window.empty else changes),
        ),
        unknown=UNKNOWN,
        effort=f"{quantities.capital(words.effort(window))}.",
        findings=_findings(window),
        files={"window.csv": _curve(window)},
    )


def _figure(window: Window, name: str) -> Figure:
    return Figure(name, CAPTIONS[name], lambda: figures.DRAW[name](window))


def _charge(window: Window, name: str, label: str) -> Column:
    """Return the column of a charge: a mass, or the gauge pressure of a fill."""
    what = window.label.replace(" ", "_")
    return Column(f"{name}_{what}" if name else what, label, window.dimension)


def _limits(window: Window) -> Table:
    """Return where each limit alone would end the window, those not reached last."""
    rows: list[tuple[Any, ...]] = [
        (edge.name, Between(edge.charge, edge.low, edge.high), edge.chance)
        for edge in window.limits
    ]
    last = window.curve[-1] if window.curve else None
    reached = {edge.name for edge in window.limits}
    if last is not None:
        far = f"not up to {quantities.show(last.charge, window.dimension)}"
        rows += [
            (each.name, Said(None, far), each) for each in last.limits if each.name not in reached
        ]
    return Table(
        "limits",
        (Column("name", "Limit"), _charge(window, "", "Exceeded too often from"),
         Column("exceeded", "There exceeded in")),
        tuple(rows),
        note=words.limits_note(window),
    )  # fmt: skip


def _chances(window: Window) -> Table:
    """Return how often each single charge separates the bay, and how often it is too much."""
    return Table(
        "charges",
        (
            Column("name", "Charge"), _charge(window, "", "Amount"),
            Column("separates", "Separates"),
            Column("a_limit_is_exceeded", "Exceeds a limit"), Column("most_often", "Most often"),
        ),
        tuple(
            (TRIALS[trial.name], trial.charge, trial.opens, trial.fails_hard, worst(trial) or None)
            for trial in single(window)
        ),
    )  # fmt: skip


def _charge_by_charge(window: Window) -> Section:
    """Return what single charges do: the numbers, and what is said of each."""
    said = [f"{quantities.capital(TRIALS[name])}: {text}" for name, text in notes(window).items()]
    numbers = Table(
        "numbers",
        (
            Column("name", "5 % / median / 95 %"),
            *(Column(name, quantities.capital(label), dimension, BELOW, "in no shot")
              for name, label, dimension in FILED),
        ),
        tuple(
            (TRIALS[trial.name], *(getattr(trial, name) for name, _, _ in FILED))
            for trial in single(window)
        ),
    )  # fmt: skip
    return Section("Charge by charge", (*said, _figure(window, "trials"), numbers))


def _beside_the_rule(window: Window) -> Section:
    """Return the static rule's answer, and what lies between it and the run."""
    parts: list[Any] = list(rule_sentences(window))
    if window.breakdown is not None:
        levels = [value for _, value in window.breakdown.steps]
        changes = [("the rule's promise", None), *steps(window.breakdown)]
        parts.append(
            Table(
                "breakdown",
                (
                    Column("name", "From the rule to the run"),
                    Column("change", "Change", "stress", absent=""),
                    Column("gauge_pressure", "Pressure", "gauge pressure"),
                ),
                tuple((*change, at) for change, at in zip(changes, levels, strict=True)),
            )
        )
    return Section("Beside the static rule", tuple(parts))


def _changes(window: Window) -> tuple[Section, ...]:
    """Return what changes would do, or nothing where none was tried."""
    if not window.remedies:
        return ()
    assert window.as_it_is is not None
    table = Table(
        "changes",
        (
            Column("change", "Change"),
            Column(_charge(window, "least", "").name, "Least", window.dimension, absent="none"),
            Column(_charge(window, "most", "").name, "Most", window.dimension, absent="not found"),
            Column("most_over_least_ratio", "Most over least"), Column("effect", "Effect"),
        ),
        tuple(_change(window, each) for each in (window.as_it_is, *window.remedies)),
        note=words.remedies_note(window),
    )  # fmt: skip
    title = f"What would {'open' if window.empty else 'widen'} it"
    return (Section(title, (table, _figure(window, "changes"))),)


def _change(window: Window, each: Remedy) -> tuple[Any, ...]:
    width = words.width(each.least, each.most)
    most = Said(None, "none") if each.most is not None and each.most <= 0.0 else each.most
    effect = None if each is window.as_it_is else words.effect(window, each)
    ratio = width if width is not None and math.isfinite(width) else None
    return (each.change, each.least, most, ratio, effect)


def _curve(window: Window) -> Table:
    """Return every point of the curve, for a spreadsheet."""
    limits = window.curve[0].limits if window.curve else ()
    # a name of the case may hold commas and line ends
    plain = ["_".join("".join(c if c.isalnum() else " " for c in each.name).split())
             for each in limits]  # fmt: skip
    return Table(
        "curve",
        (
            _charge(window, "", ""), Column("separates", ""), Column("a_limit_is_exceeded", ""),
            *(Column(f"exceeded_{name}", "", "ratio") for name in plain),
            *(Column(name, "", dimension, BELOW) for name, _, dimension in FILED),
        ),
        tuple(
            (trial.charge, trial.opens, trial.fails_hard, *(each.share for each in trial.limits),
             *(getattr(trial, name) for name, _, _ in FILED))
            for trial in window.curve
        ),
    )  # fmt: skip


def _findings(window: Window) -> dict[str, Any]:
    """Return what stands in no table."""

    def charge(name: str, value: float | None) -> dict[str, Any]:
        return both(_charge(window, name, "").name, value, window.dimension)

    def edge(each: Edge | None) -> dict[str, Any] | None:
        if each is None:
            return None
        return {
            "name": each.name, **charge("", each.charge), **charge("low", each.low),
            **charge("high", each.high), "chance": chance(each.chance),
        }  # fmt: skip

    def limits(trial: Trial) -> list[dict[str, Any]]:
        return [chance(each) for each in trial.limits]

    after = window.after
    return {
        "sought": window.path,
        "label": window.label,
        "target_reliability_ratio": clean(window.wanted),
        "confidence_ratio": 0.95,
        "empty": window.empty,
        "simulated_shots": window.members,
        "seed": window.seed,
        "runs": window.runs,
        **charge("present", window.present),
        **charge("lowest_searched", window.lowest),
        **charge("highest_searched", window.highest),
        "least": edge(window.least),
        "most": edge(window.most),
        "limits_exceeded": {TRIALS[each.name]: limits(each) for each in single(window)},
        "static_rule": static_rule.findings(window.static_rule),
        "after_shots": None if after is None else {
            "file": after.file, "shots": after.shots, "simulated_shots": after.builds,
            "effective_simulated_shots": clean(after.effective),
            **charge("least_before", after.least),
            "contradict_the_case": after.contradiction is not None,
        },
    }  # fmt: skip
