"""A drawing of the bay, to scale, that follows the numbers; SVG for the page."""

from __future__ import annotations

import math
from html import escape

from baypulse.case import geometry, quantities
from baypulse.case.model import Case

WIDE = 640.0
"""Width of the drawing [units of it]."""

TALLEST = 150.0
"""Greatest height of the tube [units]."""

EDGE = 14.0
"""Room on the left and right [units]."""

ABOVE = 30.0
"""Room over the tube, for names [units]."""

BELOW = 94.0
"""Room under the tube, for three dimensions [units]."""

LEVEL = 25.0
"""From one dimension to the next [units]."""

MOST_PINS = 8
"""Pins that are drawn; the number stands beside them."""


def drawing(case: Case) -> str:
    """Return the drawing.

    Parameters
    ----------
    case : Case
        Whose bay is drawn: tube, shoulder, pack, charge, pins and the widest opening.
    """
    tube, bore = case.bay.tube_length, case.bay.bore
    shoulder = min(case.joint.shoulder_length, tube)
    nose = max(0.2 * tube, 0.6 * bore)
    scale = min((WIDE - 2.0 * EDGE) / (tube + nose), TALLEST / bore)
    left = 0.5 * (WIDE - (tube + nose) * scale)
    lip, tall = left + tube * scale, bore * scale
    top, low = ABOVE, ABOVE + tall
    inside = lip - shoulder * scale
    packed = 0.0 if case.contents is None else float(geometry.packed_length(case))
    ahead = case.contents is not None and case.contents.charge_side == "ahead"
    # the free length is drawn on the side of the charge; how it is shared hardly anyone knows
    start = left if ahead else max(inside - packed * scale, left)
    parts = [
        _box("tube", left, top, tube * scale, tall),
        _box("wall", left - 6.0, top, 6.0, tall),
        _box("pack", start, top + 3.0, min(packed * scale, inside - left), tall - 6.0),
        _box("shoulder", inside, top + 2.0, shoulder * scale, tall - 4.0),
        _nose(lip, nose * scale, top, low),
        *_charge(case, inside - 12.0 if ahead else left + 12.0, top + 0.5 * tall),
        *_pins(case, inside + 0.5 * (lip - inside), top, low),
        *_vent(case, left + 0.3 * (inside - left), top),
        _dimension(left, lip, low + 16.0, tube),
        _dimension(inside, lip, low + 16.0 + LEVEL, shoulder),
    ]
    if packed > 0.0:
        parts.append(_dimension(start, start + packed * scale, low + 16.0 + 2.0 * LEVEL, packed))
    said = (
        f"Bay of {quantities.show(bore, 'length')} bore and {quantities.show(tube, 'length')} tube"
        f", shoulder {quantities.show(shoulder, 'length')}"
    )
    bore_said = f"bore {quantities.short(bore, 'length')}"
    parts.append(_text(left, low + 31.0 + LEVEL, bore_said, "start"))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {low + BELOW:.0f}" '
        f'role="img" aria-label="{escape(said)}">{"".join(parts)}</svg>'
    )


def _box(kind: str, x: float, y: float, wide: float, tall: float) -> str:
    return (
        f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{max(wide, 0.0):.1f}" '
        f'height="{max(tall, 0.0):.1f}"/>'
    )


def _text(x: float, y: float, text: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def _nose(lip: float, long: float, top: float, low: float) -> str:
    """Return the section that leaves, as far as it is drawn."""
    bend, tip, middle = lip + 0.8 * long, lip + long, 0.5 * (top + low)
    return (
        f'<path class="nose" d="M{lip:.1f} {top - 3:.1f} Q{bend:.1f} {top + 2:.1f} {tip:.1f} '
        f'{middle:.1f} Q{bend:.1f} {low - 2:.1f} {lip:.1f} {low + 3:.1f} Z"/>'
    )


def _dimension(start: float, stop: float, y: float, value: float) -> str:
    middle = min(max(0.5 * (start + stop), 40.0), WIDE - 40.0)
    return (
        f'<path class="measure" d="M{start:.1f} {y - 5:.1f}V{y + 5:.1f}M{stop:.1f} {y - 5:.1f}'
        f'V{y + 5:.1f}M{start:.1f} {y:.1f}H{stop:.1f}"/>'
        + _text(middle, y + 15.0, quantities.short(value, "length"))
    )


def _charge(case: Case, x: float, y: float) -> list[str]:
    """Return the charge: a disc whose area goes with a powder's mass."""
    if case.powder is None:
        return [_box("charge", x - 8.0, y - 12.0, 16.0, 24.0)]
    radius = min(max(9.0 * math.sqrt(case.powder.mass / 1e-3), 4.0), 22.0)
    return [f'<circle class="charge" cx="{x + 0.5 * radius:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>']


def _pins(case: Case, x: float, top: float, low: float) -> list[str]:
    if case.pins is None:
        return [_text(x, top - 10.0, "no pins")]
    count = case.pins.count
    shown = range(min(count, MOST_PINS))
    return [
        *(_box("pin", x - 3.0 + 9.0 * (k // 2), (top if k % 2 else low) - 8.0, 6.0, 16.0)
          for k in shown),
        _text(x, top - 12.0, f"{count} × {case.pins.thread}"),
    ]  # fmt: skip


def _vent(case: Case, x: float, top: float) -> list[str]:
    """Return the widest hole of the bay."""
    holes = [each for each in case.openings if each.hole_diameter > 0.0]
    if not holes:
        return []
    widest = max(holes, key=lambda each: each.hole_diameter)
    size = quantities.short(widest.hole_diameter, "length")
    return [
        f'<circle class="vent" cx="{x:.1f}" cy="{top:.1f}" r="5"/>',
        _text(x, top - 10.0, f"{quantities.shorten(widest.name, 18)} {size}"),
    ]
