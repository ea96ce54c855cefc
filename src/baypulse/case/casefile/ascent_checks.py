"""Checks of the ascent."""

from __future__ import annotations

from collections.abc import Iterator

from baypulse.case import quantities
from baypulse.case.model import Case
from baypulse.constants import STANDARD_GRAVITY

Finding = tuple[str, str]
"""Path of the key that the line is taken from, and the sentence."""

MOST_ACCELERATION = 300.0 * STANDARD_GRAVITY
"""Thrust over mass that no rocket of this kind reaches [m/s^2]; estimate."""


def problems(case: Case) -> Iterator[Finding]:
    """Find an ascent that cannot be.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    ascent = case.ascent
    if ascent is None:
        return
    fore, whole = ascent.fore_drag_area, ascent.drag_area
    if fore is not None and fore > whole:
        yield (
            "ascent.fore_drag_area",
            f"{_a(fore)} ahead of the joint is more than the {_a(whole)} of the whole rocket",
        )
    mean = ascent.burnout_speed**2 / (2.0 * ascent.burnout_height)
    if mean > MOST_ACCELERATION:
        yield (
            "ascent.burnout_speed",
            f"{quantities.show(ascent.burnout_speed, 'velocity')} after "
            f"{quantities.show(ascent.burnout_height, 'length', ('m', 'ft'))} takes "
            f"{mean / STANDARD_GRAVITY:.0f} g: check the units of speed and height",
        )


def _a(area: float) -> str:
    return quantities.show(area, "area")
