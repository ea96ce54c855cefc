"""What the ``numbers.json`` of all studies have: head, foot, chances, limits."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.case.model import Case
from baypulse.caution import CAUTION
from baypulse.members.chances import Chance
from baypulse.members.quantities import Limit
from baypulse.show.data import (
    both,
    case_as_read,
    clean,
    doubts,
    fingerprint,
    suffix,
    versions,
)

SCHEMA_VERSION = 2
"""Version of the layout of both studies' ``numbers.json``; grows when a key changes its meaning."""


def head(study: str, case: Case) -> dict[str, Any]:
    """Return what the numbers of every study begin with."""
    return {
        "schema_version": SCHEMA_VERSION,
        "study": study,
        "name": case.name,
        "title": case.title,
    }


def foot(case: Case, warnings: tuple[str, ...]) -> dict[str, Any]:
    """Return what the numbers of every study end with."""
    return {
        "warnings": list(warnings),
        "case": case_as_read(case),
        "doubts": doubts(case),
        "caution": CAUTION,
        "versions": versions(),
        "sha256": fingerprint(case),
    }


def chance_numbers(each: Chance) -> dict[str, Any]:
    """Return a chance for JSON."""
    return {
        "name": each.name,
        "count": each.count,
        "simulated_shots": each.members,
        "share_ratio": clean(each.share),
        "low_ratio": clean(each.low),
        "high_ratio": clean(each.high),
    }


def listed(values: Any) -> Any:
    """Return an array as lists of numbers, None for what is none."""
    if isinstance(values, np.ndarray):
        return [listed(each) for each in values] if values.ndim > 1 else [
            clean(each) for each in values.tolist()
        ]  # fmt: skip
    return [clean(each) for each in values]


def in_si(name: str, dimension: str) -> str:
    """Return the name of a list of SI values."""
    return f"{name}_{suffix(units.SI_UNITS[dimension])}"


def limit_numbers(limits: tuple[Limit, ...], dimension: str) -> list[dict[str, Any]]:
    """Return limits with their labels, in both units."""
    return [{"label": limit.label, **both("value", limit.value, dimension)} for limit in limits]
