"""A charge window as numbers for other programs: ``numbers.json`` and ``window.csv``."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case import units
from baypulse.members.charge_results import Edge, Trial
from baypulse.show.data import CUSTOMARY, both, clean, rule_of, suffix
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.window.result import Remedy, Window
from baypulse.studies.window.text import answer, effect, headline
from baypulse.studies.window.trial_text import notes, rule_sentences
from baypulse.studies.window.trial_values import NUMBERS

SHARES = (0.05, 0.5, 0.95)
"""Shares of the members below the three values of a number."""

_KEPT = (
    *((name, dimension) for name, _, dimension in NUMBERS),
    ("clear_velocity", "velocity"),
)
"""Numbers of a trial that are kept: those that are drawn, and the speed when clear."""


def window_numbers(window: Window) -> dict[str, Any]:
    """Return everything about a charge window, ready for JSON.

    Every name of a number that has a unit ends in it.

    Parameters
    ----------
    window : Window
        Findings.
    """
    rule, bridge = window.static_rule, window.bridge
    return {
        **head("window", window.case),
        "headline": headline(window),
        "sentences": answer(window),
        "path": window.path,
        "label": window.label,
        "reliability_ratio": clean(window.wanted),
        "confidence_ratio": 0.95,
        "empty": window.empty,
        "simulated_shots": window.members,
        "seed": window.seed,
        "runs": window.runs,
        **charge(window, "present", window.present),
        **charge(window, "lowest_searched", window.lowest),
        **charge(window, "highest_searched", window.highest),
        "after_shots": _after(window),
        "least": _edge(window, window.least),
        "most": _edge(window, window.most),
        "reasons": list(window.reasons),
        "limits": [_edge(window, edge) for edge in window.limits],
        "recommended": _trial(window, window.recommended),
        "backup": _trial(window, window.backup),
        "after_failure": _trial(window, window.after_failure),
        "both": _trial(window, window.both),
        "notes": notes(window),
        "static_rule": {
            "note": "common practice, no source",
            "sentences": rule_sentences(window),
            **both("target_pressure", rule.target_pressure, "gauge pressure"),
            **both("needed_pressure", rule.needed_pressure, "gauge pressure"),
            "empty_bay": rule_of(rule.empty),
            "free_volume": rule_of(rule.free),
            "trial": _trial(window, window.rule),
        },
        "breakdown": None if bridge is None else [
            {"name": name, **both("gauge_pressure", value, "gauge pressure")}
            for name, value in bridge.steps
        ],
        "remedies": [_remedy(window, each) for each in window.remedies],
        "curve": [_trial(window, trial) for trial in window.curve],
        **foot(window.case, window.warnings),
    }  # fmt: skip


def charge(window: Window, name: str, value: float | None) -> dict[str, Any]:
    """Return a charge under names that say what it is and end in the unit.

    Parameters
    ----------
    window : Window
        Whose charge it is.
    name : str
        Which one; may be empty.
    value : float or None
        SI.
    """
    what = window.label.replace(" ", "_")
    return both(f"{name}_{what}" if name else what, value, window.dimension)


def _after(window: Window) -> dict[str, Any] | None:
    after = window.after
    if after is None:
        return None
    return {
        "file": after.file,
        "shots": after.shots,
        "simulated_shots": after.builds,
        "effective_simulated_shots": clean(after.effective),
        **charge(window, "least_before", after.least),
        "contradict_the_case": after.contradiction is not None,
        "contradicting_shots": [] if after.contradiction is None else [
            {"name": each.name, **charge(window, "", each.shot.charge),
             "saw": list(each.shot.row.saw), "separates_by_the_case_ratio": clean(each.before),
             "as_unlikely_ratio": clean(each.misfit)}
            for each in after.contradiction.shots
        ],
    }  # fmt: skip


def _edge(window: Window, edge: Edge | None) -> dict[str, Any] | None:
    if edge is None:
        return None
    return {
        "name": edge.name,
        **charge(window, "", edge.charge),
        **charge(window, "low", edge.low),
        **charge(window, "high", edge.high),
        "chance": chance_numbers(edge.chance),
    }


def _trial(window: Window, trial: Trial | None) -> dict[str, Any] | None:
    if trial is None:
        return None
    found: dict[str, Any] = {
        "name": trial.name,
        **charge(window, "", trial.charge),
        "separates": chance_numbers(trial.opens),
        "a_limit_is_exceeded": chance_numbers(trial.fails_hard),
        "limits_exceeded": [chance_numbers(each) for each in trial.limits],
    }
    for name, dimension in _KEPT:
        found[name] = [
            {"below_ratio": share, **both("value", value, dimension)}
            for share, value in zip(SHARES, getattr(trial, name), strict=True)
        ]
    return found


def _remedy(window: Window, remedy: Remedy) -> dict[str, Any]:
    return {
        "change": remedy.change,
        **charge(window, "least", remedy.least),
        **charge(window, "most", remedy.most),
        "opens_window": remedy.opens_window,
        "effect": effect(window, remedy),
    }


def window_csv(window: Window) -> str:
    """Return the curve as a table with a row for each charge; what did not happen is left empty.

    Parameters
    ----------
    window : Window
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    rows = [_row(window, trial) for trial in window.curve]
    names = list(rows[0]) if rows else []
    lines = [",".join(names), *(",".join(row[name] for name in names) for row in rows)]
    return "\n".join(lines) + "\n"


def _row(window: Window, trial: Trial) -> dict[str, str]:
    """Return the cells of one charge by the names of their columns."""
    row: dict[str, str] = {}

    def add(name: str, value: float, dimension: str) -> None:
        row[f"{name}_{suffix(units.SI_UNITS[dimension])}"] = _cell(value)
        other = CUSTOMARY.get(dimension)
        if other is not None:
            row[f"{name}_{suffix(other)}"] = _cell(units.convert(float(value), other))

    add(window.label.replace(" ", "_"), trial.charge, window.dimension)
    row["simulated_shots"] = str(trial.opens.members)
    for name, each in (("separates", trial.opens), ("a_limit_is_exceeded", trial.fails_hard)):
        for end, value in (("", each.share), ("_low", each.low), ("_high", each.high)):
            add(f"chance_{name}{end}", value, "ratio")
    for each in trial.limits:
        # a name of the case may hold commas and line ends
        plain = "_".join("".join(c if c.isalnum() else " " for c in each.name).split())
        add(f"chance_exceeded_{plain}", each.share, "ratio")
    for name, dimension in _KEPT:
        for share, value in zip(("5", "50", "95"), getattr(trial, name), strict=True):
            add(f"{name}_{share}_percent", value, dimension)
    return row


def _cell(value: float) -> str:
    return f"{value:.9g}" if math.isfinite(value) else ""
