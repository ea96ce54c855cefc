"""A sketch of the bay, to scale, with its dimensions."""

from __future__ import annotations

from typing import Any

from baypulse.case import geometry, quantities
from baypulse.case.model import Case
from baypulse.case.quantities import shorten
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    FAINT,
    INK,
    LETTER,
    PAPER,
    SIDE,
    SOFT,
    WARM,
    WIDTH,
    axes_at,
    titled,
)
from baypulse.show.figures.labels import HINTED, fitting, rows_for, spread, text_width
from baypulse.show.figures.letters import with_units

_SIDE = 0.2
"""Margin left and right [in]."""

_ROW = 0.17
"""Height of a row of names over the tube, and of a line of what is said below it [in]."""

_LEVEL = 0.24
"""From dimension to dimension under the tube [in]."""

_MOST_ROWS = 5
"""Rows of names, above which openings are named together."""

_LONGEST = 24
"""Longest name of an opening [characters]."""

_NOTE = "Along the tube charge, contents, pins and holes are drawn anywhere: a case does not say."


class _Sheet:
    """Axes with one unit an inch of paper, and the scale of the drawing."""

    def __init__(self, case: Case, wide: float) -> None:
        tube = case.bay.tube_length
        self.wide = wide
        self.overhang = max(0.16 * tube, 0.5 * case.bay.bore)  # section drawn beyond the lip
        self.behind = max(0.12 * tube, 0.3 * case.bay.bore)
        whole = self.behind + tube + self.overhang
        self.scale = min((wide - 2.0 * _SIDE) / whole, 2.2 / case.bay.bore)
        self.tall = case.bay.bore * self.scale
        told, note = (
            with_units(text, 72.0 * (wide - 2.0 * SIDE) / (HINTED * LETTER))
            for text in (_told(case), _NOTE)
        )
        self.said, self.notes = [*told, *note], len(note)
        levels = 2 + (case.bay.coupler_intrusion > 0.0)
        self.low = 0.16 + _LEVEL * levels + _ROW * len(self.said)
        self.left = 0.5 * (wide - whole * self.scale) + self.behind * self.scale
        self.names = _names(self, case)
        self.rows = rows_for(_widths(self.names), wide)
        self.height = self.low + self.tall + 0.2 + _ROW * self.rows

    def put(self, figure: Any, left: float, bottom: float) -> None:
        """Take a place in a figure, so far from its lower left corner [in]."""
        self.axes = axes_at(figure, left, bottom, self.wide, self.height)
        self.axes.set_xlim(0.0, self.wide)
        self.axes.set_ylim(0.0, self.height)

    def x(self, along: float) -> float:
        """Place of a length from the closed face [m]."""
        return self.left + along * self.scale

    def box(self, start: float, stop: float, low: float, high: float, **look: Any) -> None:
        """Fill a rectangle; lengths along in m, heights as shares of the bore."""
        from matplotlib.patches import Rectangle

        shown: dict[str, Any] = {"facecolor": PAPER, "edgecolor": INK, "lw": 0.9} | look
        self.axes.add_patch(
            Rectangle(
                (self.x(start), self.low + low * self.tall),
                (stop - start) * self.scale, (high - low) * self.tall, **shown,
            )
        )  # fmt: skip

    def line(self, xs: list[float], ys: list[float], **look: Any) -> None:
        """Draw a line in inches of paper."""
        self.axes.plot(xs, ys, **({"color": INK, "lw": 0.9} | look))

    def write(self, x: float, y: float, text: str, **look: Any) -> None:
        """Write in inches of paper."""
        self.axes.text(x, y, text, **({"ha": "center", "va": "center"} | look))

    def measure(self, start: float, stop: float, level: int, name: str) -> None:
        """Draw a dimension under the tube."""
        y = self.low - 0.2 - _LEVEL * level
        one, two = self.x(start), self.x(stop)
        for edge in (one, two):
            self.line([edge, edge], [self.low - 0.06, y - 0.05], color=SOFT, lw=0.6)
        self.axes.annotate(
            "", (two, y), (one, y),
            arrowprops={"arrowstyle": "<->", "lw": 0.8, "color": INK, "shrinkA": 0, "shrinkB": 0,
                        "mutation_scale": 7},
        )  # fmt: skip
        text = f"{name} {quantities.show(stop - start, 'length')}"
        wide = text_width(text) / 72.0
        centre = min(max(0.5 * (one + two), 0.5 * wide + 0.1), self.wide - 0.5 * wide - 0.1)
        if wide + 0.1 > two - one:
            centre = one - 0.5 * wide - 0.08 if one > wide + 0.2 else two + 0.5 * wide + 0.08
        self.write(centre, y, text, bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8})


def sketch(result: Result) -> Any:
    """Draw the bay to scale from the case's dimensions."""
    return figure_of(result.case)


def figure_of(case: Case) -> Any:
    """Return a figure of the bay, to scale.

    Parameters
    ----------
    case : Case
        With its dimensions.
    """
    figure = titled("The bay, to scale", height(case) - 0.1)
    draw(case, figure)
    return figure


def height(case: Case, wide: float = WIDTH) -> float:
    """Return how high the drawing is when it is so wide [in]."""
    return _Sheet(case, wide).height


def draw(
    case: Case, figure: Any, left: float = 0.0, bottom: float = 0.0, wide: float = WIDTH
) -> None:
    """Draw the bay into a figure.

    Parameters
    ----------
    case : Case
        With its dimensions.
    figure : matplotlib.figure.Figure
        To draw in.
    left, bottom : float
        Place of the drawing's lower left corner [in].
    wide : float
        How wide it is [in].
    """
    sheet = _Sheet(case, wide)
    sheet.put(figure, left, bottom)
    tube, stroke = case.bay.tube_length, case.joint.shoulder_length
    back = case.bay.coupler_intrusion
    face = tube - stroke
    wall = max(case.bay.wall_thickness / case.bay.bore, 0.02)
    for low, high in ((-wall, 0.0), (1.0, 1.0 + wall)):
        sheet.box(-sheet.behind, tube, low, high, facecolor=FAINT)
    sheet.box(-sheet.behind, back, 0.0, 1.0, facecolor="#eceef1", hatch="xx", edgecolor=SOFT)
    _charge(sheet, case)
    _contents(sheet, case)
    _nose(sheet, case)
    if case.pins is not None:
        x = sheet.x(tube - 0.5 * stroke)
        for y in (sheet.low, sheet.low + sheet.tall):
            sheet.line([x, x], [y - 0.09, y + 0.09], lw=2.6)
    _holes(sheet, case)
    _write_names(sheet)
    sheet.measure(0.0, tube, 1, "tube")
    sheet.measure(face, tube, 0, "shoulder")
    if back > 0.0:
        sheet.measure(0.0, back, 2, "coupler")
    for k, text in enumerate(reversed(sheet.said)):
        sheet.write(SIDE, 0.1 + _ROW * k, text, ha="left", color=SOFT if k < sheet.notes else INK)


def _told(case: Case) -> str:
    """Return what is said below of the tube."""
    bore = quantities.show(case.bay.bore, "length")
    free = quantities.show(geometry.free_volume(case).total, "volume")
    wall = quantities.show(case.bay.wall_thickness, "length")
    return f"bore {bore}, wall {wall} of {case.bay.wall}; free volume {free}"


Named = tuple[float, float, str]
"""A place on the paper [in] and the name to write over it."""


def _names(sheet: _Sheet, case: Case) -> list[Named]:
    """Return the place and the name of everything in the bay, from the left."""
    top, tube = sheet.low + sheet.tall, case.bay.tube_length
    # how much stands beside the caution only, and a figure travels without it
    if case.powder is not None:
        charge = f"charge of {case.powder.grade}" + (" in a holder" if case.holder else "")
    else:
        assert case.cold_gas is not None
        charge = f"reservoir of {case.cold_gas.gas}"
    found: list[Named] = [(*_charge_spot(sheet, case), charge)]
    if case.contents is not None and (pack := _pack(case)):
        middle = sheet.x(0.5 * sum(pack))
        mass = quantities.show(case.contents.mass, "mass")
        found.append((middle, sheet.low + 0.75 * sheet.tall, f"contents {mass}"))
    lip = sheet.x(tube + 0.4 * sheet.overhang)
    weight = quantities.show(case.nose.mass, "mass")
    found.append((lip, sheet.low + 0.9 * sheet.tall, f"section {weight}"))
    if case.pins is not None:
        what = case.pins.thread if case.pins.strength is None else "pins"
        middle = sheet.x(tube - 0.5 * case.joint.shoulder_length)
        found.append((middle, top + 0.09, f"{case.pins.count} × {what}"))
    thick = max(case.bay.wall_thickness / case.bay.bore, 0.02) * sheet.tall
    out = [(x, top + thick, _hole_name(hole)) for x, hole in _outer(sheet, case)]
    back = sheet.x(case.bay.coupler_intrusion)
    within = [(back, sheet.low + 0.85 * sheet.tall, f"{_hole_name(hole)} to electronics")
              for hole in _inner(case)]  # fmt: skip
    for holes, what in ((out, ""), (within, " to electronics")):
        # too many for one by one
        if holes and rows_for(_widths(found + holes), sheet.wide) > _MOST_ROWS:
            x, y, _ = holes[len(holes) // 2]
            holes = [(x, y, f"{len(holes)} openings{what}")]
        found += holes
    return sorted(found)


def _widths(names: list[Named]) -> list[float]:
    """Return how wide each name is, from the left [in]."""
    return [text_width(name) / 72.0 + 0.12 for _, _, name in sorted(names)]


def _write_names(sheet: _Sheet) -> None:
    """Write the names over the tube in as many rows as they need, each with a line to its thing."""
    top = sheet.low + sheet.tall
    for row in reversed(range(sheet.rows)):
        mine = sheet.names[row :: sheet.rows]
        middles = spread([x for x, _, _ in mine], _widths(mine), sheet.wide)
        y = top + 0.27 + _ROW * row
        for (x, spot, name), middle in zip(mine, middles, strict=True):
            low = y - 0.5 * LETTER / 72.0
            sheet.line([middle, x], [low, spot], color=SOFT, lw=0.6, zorder=5)
            sheet.write(middle, y, fitting(name, 72.0 * sheet.wide - 8.0), zorder=7,
                        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.4})  # fmt: skip


def _charge_spot(sheet: _Sheet, case: Case) -> tuple[float, float]:
    return sheet.x(case.bay.coupler_intrusion) + 0.16, sheet.low + 0.28 * sheet.tall


def _charge(sheet: _Sheet, case: Case) -> None:
    marker = "s" if case.holder is not None else "*" if case.powder is not None else "o"
    spot, middle = _charge_spot(sheet, case)
    sheet.axes.plot([spot], [middle], marker, ms=9, mfc=WARM, mec=INK, mew=0.7,
                    zorder=6)  # fmt: skip


def _pack(case: Case) -> tuple[float, float] | None:
    """Return where the contents begin and end along the tube, if they take any room [m]."""
    face = case.bay.tube_length - case.joint.shoulder_length
    if case.contents is None:
        return None
    length = min(geometry.packed_length(case), max(face - case.bay.coupler_intrusion, 0.0))
    return (face - length, face) if length > 0.0 else None


def _contents(sheet: _Sheet, case: Case) -> None:
    pack = _pack(case)
    if pack is not None:
        sheet.box(*pack, 0.06, 0.94, facecolor="#f4f1e6", edgecolor=SOFT, hatch="\\\\")


def _nose(sheet: _Sheet, case: Case) -> None:
    lip = case.bay.tube_length
    face, end = lip - case.joint.shoulder_length, lip + sheet.overhang
    hollow = geometry.shoulder_bore(case) / case.bay.bore
    if hollow > 0.0:
        edge = 0.5 * (1.0 - min(hollow, 0.98))
        for low, high in ((0.0, edge), (1.0 - edge, 1.0)):
            sheet.box(face, end, low, high, facecolor="#dfe7ec")
    else:
        sheet.box(face, end, 0.0, 1.0, facecolor="#dfe7ec")
    middle, far = sheet.low + 0.5 * sheet.tall, sheet.x(end)
    xs = [far, far - 0.06, far + 0.06, far]  # broken off: the section goes on
    ys = [sheet.low, middle - 0.08, middle + 0.08, sheet.low + sheet.tall]
    sheet.line(xs, ys, color=PAPER, lw=5.0, solid_capstyle="butt")
    sheet.line(xs, ys, lw=0.9)


def _outer(sheet: _Sheet, case: Case) -> list[tuple[float, Any]]:
    """Return the openings of the wall, each with its place along the paper [in]."""
    back = case.bay.coupler_intrusion
    room = case.bay.tube_length - case.joint.shoulder_length - back
    found = [o for o in case.openings if {o.between, o.to} == {"bay", "outside"}]
    return [(sheet.x(back + room * (k + 1.0) / (len(found) + 1.0) * 0.9), hole)
            for k, hole in enumerate(found)]  # fmt: skip


def _inner(case: Case) -> list[Any]:
    """Return the openings into the electronics bay."""
    return [o for o in case.openings if {o.between, o.to} == {"bay", "electronics"}]


def _holes(sheet: _Sheet, case: Case) -> None:
    for x, hole in _outer(sheet, case):
        half = max(0.5 * hole.hole_diameter * sheet.scale, 0.02)
        y = sheet.low + sheet.tall
        thick = max(case.bay.wall_thickness / case.bay.bore, 0.02) * sheet.tall
        sheet.axes.fill([x - half, x + half, x + half, x - half],
                        [y - 0.01, y - 0.01, y + thick + 0.01, y + thick + 0.01],
                        color=PAPER, ec=INK, lw=0.6, zorder=4)  # fmt: skip
    for hole in _inner(case):
        half = max(0.5 * hole.hole_diameter * sheet.scale, 0.025)
        y = sheet.low + 0.85 * sheet.tall
        back = sheet.x(case.bay.coupler_intrusion)
        sheet.line([back] * 2, [y - half, y + half], color=WARM, lw=3.0, zorder=6)


def _hole_name(hole: Any) -> str:
    times = f"{hole.count} × " if hole.count > 1 else ""
    size = quantities.short(hole.hole_diameter, "length")
    if hole.gap is not None:
        size = f"{quantities.short(hole.gap, 'length')} slot"
    return f"{shorten(hole.name, _LONGEST)} {times}{size}"
