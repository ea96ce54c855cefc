"""The levels that the numbers and curves of a study are drawn beside."""

from __future__ import annotations

from baypulse import geometry, library
from baypulse.cord_fields import cord_strength
from baypulse.model import Case
from baypulse.study.findings import Limit


def levels(case: Case) -> dict[str, tuple[Limit, ...]]:
    """Return the limits beside each number or curve, by its name.

    Parameters
    ----------
    case : Case
        The case; limits are those of its nominal values.
    """
    wall = library.wall(case.bay.wall, case.materials).tensile_strength
    burst = wall / geometry.hoop_stress(case, 1.0)
    pressure = [Limit("tube wall", burst)]
    if case.limits.bay_pressure is not None:
        pressure.append(Limit("limit of the bay", case.limits.bay_pressure))
    found = {"peak_pressure": tuple(pressure), "gauge_pressure": tuple(pressure)}
    if case.limits.separation_velocity is not None:
        limit = (Limit("limit", case.limits.separation_velocity),)
        found |= {"greatest_velocity": limit, "separation_velocity": limit}
    if case.cord is not None:
        strength, link = cord_strength(case)
        found["cord_load"] = (Limit(link, strength),)
    found["travel"] = (Limit("shoulder out", case.joint.shoulder_length),)
    return found
