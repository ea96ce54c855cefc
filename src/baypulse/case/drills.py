"""Drills that people own: inch fractions, number drills, metric."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from baypulse.case import units

SYSTEMS = ("inch fractions", "number drills", "metric")
"""Systems of sizes, each a table of ``case/data/drills.toml``."""


@dataclass(frozen=True)
class Drill:
    """A drill.

    Attributes
    ----------
    name : str
        As it is stamped: ``"1/8 in"``, ``"#30"``, ``"3.2 mm"``.
    system : str
        One of :data:`SYSTEMS`.
    diameter : float
        [m].
    """

    name: str
    system: str
    diameter: float


@cache
def drills(system: str) -> tuple[Drill, ...]:
    """Return the drills of a system, the smallest first.

    Parameters
    ----------
    system : str
        One of :data:`SYSTEMS`.
    """
    table = _tables()[system]
    if "sizes" in table:
        named = [(f"#{k + 1}", size) for k, size in enumerate(table["sizes"])]
    else:
        counts = range(table["first"], table["last"] + 1)
        named = [(_name(k, table["step"], table["unit"]), k * table["step"]) for k in counts]
    found = [
        Drill(name, system, units.parse(f"{size:.6f} {table['unit']}", "length"))
        for name, size in named
    ]
    return tuple(sorted(found, key=lambda drill: drill.diameter))


def source(system: str) -> str:
    """Return where the sizes of a system are from."""
    return str(_tables()[system]["source"])


def _name(count: int, step: float, unit: str) -> str:
    if unit == "in":
        return f"{Fraction(count * step)} in"
    return f"{count * step:.1f} {unit}"


def _tables() -> dict[str, Any]:
    place = resources.files("baypulse") / "case" / "data" / "drills.toml"
    return tomllib.loads(place.read_text(encoding="utf-8"))
