"""Cautious limits of a case that gives none, by wall and cord, marked as defaults."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Any

from baypulse.case import units
from baypulse.case.model import Case, Provenance
from baypulse.case.origins import DEFAULT_LIMIT

SPEED = "60 ft/s"
"""Greatest separation velocity of a case that gives none; estimate."""


def default_limit(path: str, word: str = "") -> str:
    """Return a default limit as it would be typed.

    Parameters
    ----------
    path : str
        ``"limits.bay_pressure"``, ``"limits.separation_velocity"`` or ``"cord.anchor_strength"``.
    word : str
        The wall, or the type of the cord.
    """
    if path == "limits.separation_velocity":
        return SPEED
    return str(_table()[path.rpartition(".")[2]][word])


def limited(case: Case) -> Case:
    """Return a case with the default limits in place of those that nobody typed.

    A vessel or a mortar, which is no bay, keeps none.

    Parameters
    ----------
    case : Case
        As it was read.
    """
    if case.run.chamber == "vessel":
        return case
    provenance = dict(case.provenance)

    def filled(table: Any, key: str, home: str, dimension: str, word: str = "") -> Any:
        path = f"{home}.{key}"
        if table is None or getattr(table, key) is not None:
            return table
        text = default_limit(path, word)
        provenance[path] = Provenance(text=text, origin="default", source=DEFAULT_LIMIT)
        return replace(table, **{key: units.parse(text, dimension)})

    limits = filled(case.limits, "bay_pressure", "limits", "gauge pressure", case.bay.wall)
    limits = filled(limits, "separation_velocity", "limits", "velocity")
    word = case.cord.type if case.cord is not None else ""
    cord = filled(case.cord, "anchor_strength", "cord", "force", word)
    return replace(case, limits=limits, cord=cord, provenance=provenance)


@cache
def _table() -> dict[str, dict[str, str]]:
    place = resources.files("baypulse") / "case" / "data" / "limits.toml"
    return tomllib.loads(place.read_text(encoding="utf-8"))
