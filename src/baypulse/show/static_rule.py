"""The static rule's answers as numbers for other programs."""

from __future__ import annotations

from typing import Any

from baypulse.run.result import RuleOf, StaticRule
from baypulse.show.cells import both


def findings(rule: StaticRule) -> dict[str, Any]:
    """Return what the static rule says, for the findings of a document."""
    return {
        "note": "common practice, no source",
        **both("bore_area", rule.area, "area"),
        **both("target_pressure", rule.target_pressure, "gauge pressure"),
        **both("target_force", rule.target_force, "force"),
        **both("needed_pressure", rule.needed_pressure, "gauge pressure"),
        "empty_bay": _of(rule.empty),
        "free_volume": _of(rule.free),
    }


def _of(each: RuleOf) -> dict[str, Any]:
    return {
        **both("volume", each.volume, "volume"),
        **both("promised_pressure", each.promised_pressure, "gauge pressure"),
        **both("target_mass", each.target_mass, "mass"),
        **both("needed_mass", each.needed_mass, "mass"),
    }
