"""Openings of a case put together: all that lead from one space to another as one round hole."""

from __future__ import annotations

from dataclasses import replace

from baypulse.case import equivalent_holes
from baypulse.case.model import Case, Opening
from baypulse.case.openings import hole_diameter

SLOT_GAUGE = 100e3
"""Gauge pressure [Pa] at which a slot is put together with holes, about the peak of a bay; our
choice."""

LEAK = ("bay", "electronics")
"""Both sides of a leak into the electronics bay."""

PORTS = ("electronics", "outside")
"""Both sides of its static ports."""

SLOT_KEYS = ("gap", "width", "length")
"""What a slot has in place of a diameter."""


def between(case: Case, sides: tuple[str, str]) -> list[int]:
    """Return which openings lead from one space to another, in either direction.

    Parameters
    ----------
    case : Case
        The case.
    sides : tuple of str
        Such as :data:`LEAK`.
    """
    return [k for k, o in enumerate(case.openings) if {o.between, o.to} == set(sides)]


def one_hole(case: Case, sides: tuple[str, str]) -> float:
    """Return the diameter of the hole that passes as much as all of them [m], 0 without any.

    It has the discharge coefficient of the first: sum(Cd A) = Cd_first pi D^2/4. A slot counts as
    the hole that passes as much at :data:`SLOT_GAUGE`.

    Parameters
    ----------
    case : Case
        The case.
    sides : tuple of str
        Such as :data:`LEAK`.
    """
    held = [case.openings[k] for k in between(case, sides)]
    if not held:
        return 0.0
    passed = sum(float(equivalent_holes.opening_area(case, o, SLOT_GAUGE)) for o in held)
    return float(hole_diameter(held[0].discharge, passed))


def with_one_hole(case: Case, sides: tuple[str, str], diameter: float) -> Case:
    """Return the case with one hole in place of all openings between two spaces.

    The first of them becomes the hole and the others are closed, so that every opening keeps its
    number. How wide they are no longer scatters.

    Parameters
    ----------
    case : Case
        The case; an opening is added where there is none.
    sides : tuple of str
        Such as :data:`LEAK`.
    diameter : float
        [m].
    """
    held = between(case, sides)
    openings = list(case.openings)
    if not held:
        openings.append(Opening(name="hole", between=sides[0], to=sides[1], diameter=diameter))
        return replace(case, openings=tuple(openings))
    for k in held:
        wide = diameter if k == held[0] else 0.0
        openings[k] = replace(
            openings[k], diameter=wide, gap=None, width=None, length=None, count=1
        )
    paths = hole_paths(case, sides)
    spreads = {path: spread for path, spread in case.spreads.items() if path not in paths}
    return replace(case, openings=tuple(openings), spreads=spreads)


def hole_paths(case: Case, sides: tuple[str, str]) -> list[str]:
    """Return the paths of the sizes of all openings between two spaces, the hole's first.

    Parameters
    ----------
    case : Case
        The case.
    sides : tuple of str
        Such as :data:`LEAK`.
    """
    places = between(case, sides)
    diameters = [f"openings[{k}].diameter" for k in places]
    return diameters + [f"openings[{k}].{key}" for k in places for key in SLOT_KEYS]
