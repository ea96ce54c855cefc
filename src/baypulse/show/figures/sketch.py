"""A sketch of the bay, to scale, with its dimensions."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case import geometry, quantities
from baypulse.case.model import Case
from baypulse.case.quantities import shorten
from baypulse.run.result import Result
from baypulse.show.figures.base import FAINT, INK, LETTER, PAPER, SOFT, WARM, WIDTH, blank, headline
from baypulse.show.figures.labels import spread, text_width

_SIDE = 0.25
"""Margin left and right [in]."""

_HEAD = 0.3
"""Room for the headline [in]."""

_ABOVE = 0.7
"""Room for labels over the tube [in]."""

_BELOW = 1.05
"""Room for dimensions under the tube [in]."""

_LONGEST = 24
"""Longest name of an opening [characters]."""


class _Sheet:
    """Axes with one unit an inch of paper, and the scale of the drawing."""

    def __init__(self, case: Case) -> None:
        tube = case.bay.tube_length
        self.overhang = max(0.16 * tube, 0.5 * case.bay.bore)  # section drawn beyond the lip
        self.behind = max(0.12 * tube, 0.3 * case.bay.bore)
        whole = self.behind + tube + self.overhang
        self.scale = min((WIDTH - 2.0 * _SIDE) / whole, 2.2 / case.bay.bore)
        self.tall = case.bay.bore * self.scale
        self.low = _BELOW + (0.26 if case.bay.coupler_intrusion else 0.0)
        self.height = _ABOVE + self.tall + self.low
        self.left = 0.5 * (WIDTH - whole * self.scale) + self.behind * self.scale

    def put(self, figure: Any, left: float, bottom: float) -> None:
        """Take a place in a figure, so far from its lower left corner [in]."""
        wide, tall = figure.get_size_inches()
        self.axes = figure.add_axes((left / wide, bottom / tall, WIDTH / wide, self.height / tall))
        self.axes.set_axis_off()
        self.axes.set_xlim(0.0, WIDTH)
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
        y = self.low - 0.22 - 0.26 * level
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
        centre = min(max(0.5 * (one + two), 0.5 * wide + 0.1), WIDTH - 0.5 * wide - 0.1)
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
    figure = blank(height(case) + _HEAD)
    headline(figure, "The bay, to scale")
    draw(case, figure)
    return figure


def height(case: Case) -> float:
    """Return how high the drawing is [in]; it is as wide as every figure of ours."""
    return _Sheet(case).height


def draw(case: Case, figure: Any, left: float = 0.0, bottom: float = 0.0) -> None:
    """Draw the bay into a figure.

    Parameters
    ----------
    case : Case
        With its dimensions.
    figure : matplotlib.figure.Figure
        To draw in.
    left, bottom : float
        Place of the drawing's lower left corner [in].
    """
    sheet = _Sheet(case)
    sheet.put(figure, left, bottom)
    tube, stroke = case.bay.tube_length, case.joint.shoulder_length
    back = case.bay.coupler_intrusion
    face = tube - stroke
    wall = max(case.bay.wall_thickness / case.bay.bore, 0.02)
    for low, high in ((-wall, 0.0), (1.0, 1.0 + wall)):
        sheet.box(-sheet.behind, tube, low, high, facecolor=FAINT)
    sheet.box(-sheet.behind, back, 0.0, 1.0, facecolor="#eceef1", hatch="xx", edgecolor=SOFT)
    names = [_charge(sheet, case, back)]
    names += _contents(sheet, case, back, face)
    names += _nose(sheet, case, face, tube)
    names += _pins(sheet, case, tube - 0.5 * stroke)
    for holes, what in _holes(sheet, case, back, face):
        # too many for one by one
        if holes and not _room(names + holes):
            x, y, _ = holes[len(holes) // 2]
            holes = [(x, y, f"{len(holes)} openings{what}")]
        names += holes
    _name(sheet, names)
    sheet.measure(0.0, tube, 1, "tube")
    sheet.measure(face, tube, 0, "shoulder")
    if back > 0.0:
        sheet.measure(0.0, back, 2, "coupler")
    bore = quantities.show(case.bay.bore, "length")
    free = quantities.show(geometry.free_volume(case).total, "volume")
    sheet.write(
        0.12, 0.34, f"bore {bore}, wall {quantities.show(case.bay.wall_thickness, 'length')} of "
        f"{case.bay.wall}; free volume {free}", ha="left",
    )  # fmt: skip
    sheet.write(0.12, 0.15, "Where charge, contents, pins and holes sit along the tube is not "
                "part of a case: drawn anywhere.", ha="left", color=SOFT)  # fmt: skip


Named = tuple[float, float, str]
"""A place on the paper [in] and the name to write over it."""


def _charge(sheet: _Sheet, case: Case, back: float) -> Named:
    spot = sheet.x(back) + 0.16
    middle = sheet.low + 0.28 * sheet.tall
    marker = "s" if case.holder is not None else "*" if case.powder is not None else "o"
    sheet.axes.plot([spot], [middle], marker, ms=9, mfc=WARM, mec=INK, mew=0.7,
                    zorder=6)  # fmt: skip
    # how much stands beside the caution only, and a figure travels without it
    if case.powder is not None:
        name = f"charge of {case.powder.grade}" + (" in a holder" if case.holder else "")
    else:
        assert case.cold_gas is not None
        name = f"reservoir of {case.cold_gas.gas}"
    return spot, middle, name


def _contents(sheet: _Sheet, case: Case, back: float, face: float) -> list[Named]:
    if case.contents is None:
        return []
    length = min(geometry.packed_length(case), max(face - back, 0.0))
    if length <= 0.0:
        return []
    sheet.box(face - length, face, 0.06, 0.94, facecolor="#f4f1e6", edgecolor=SOFT, hatch="\\\\")
    return [(sheet.x(face - 0.5 * length), sheet.low + 0.75 * sheet.tall,
             f"contents {quantities.show(case.contents.mass, 'mass')}")]  # fmt: skip


def _nose(sheet: _Sheet, case: Case, face: float, lip: float) -> list[Named]:
    end = lip + sheet.overhang
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
    weight = quantities.show(case.nose.mass, "mass")
    spot = (sheet.x(lip + 0.4 * sheet.overhang), sheet.low + 0.9 * sheet.tall)
    return [(*spot, f"section {weight}")]


def _pins(sheet: _Sheet, case: Case, at: float) -> list[Named]:
    if case.pins is None:
        return []
    x = sheet.x(at)
    for y in (sheet.low, sheet.low + sheet.tall):
        sheet.line([x, x], [y - 0.09, y + 0.09], lw=2.6)
    what = case.pins.thread if case.pins.strength is None else "pins"
    return [(x, sheet.low + sheet.tall + 0.09, f"{case.pins.count} × {what}")]


def _holes(
    sheet: _Sheet, case: Case, back: float, face: float
) -> tuple[tuple[list[Named], str], tuple[list[Named], str]]:
    """Draw openings; return their names and where they lead, to the outside and within."""
    found: list[Named] = []
    in_wall = [o for o in case.openings if {o.between, o.to} == {"bay", "outside"}]
    for k, hole in enumerate(in_wall):
        x = sheet.x(back + (face - back) * (k + 1.0) / (len(in_wall) + 1.0) * 0.9)
        half = max(0.5 * hole.hole_diameter * sheet.scale, 0.02)
        y = sheet.low + sheet.tall
        thick = max(case.bay.wall_thickness / case.bay.bore, 0.02) * sheet.tall
        sheet.axes.fill([x - half, x + half, x + half, x - half],
                        [y - 0.01, y - 0.01, y + thick + 0.01, y + thick + 0.01],
                        color=PAPER, ec=INK, lw=0.6, zorder=4)  # fmt: skip
        found.append((x, y + thick, _hole_name(hole)))
    inner = [o for o in case.openings if {o.between, o.to} == {"bay", "electronics"}]
    within: list[Named] = []
    for hole in inner:
        within.append((sheet.x(back), sheet.low + 0.85 * sheet.tall,
                       f"{_hole_name(hole)} to electronics"))  # fmt: skip
        half = max(0.5 * hole.hole_diameter * sheet.scale, 0.025)
        y = sheet.low + 0.85 * sheet.tall
        sheet.line([sheet.x(back)] * 2, [y - half, y + half], color=WARM, lw=3.0, zorder=6)
    return (found, ""), (within, " to electronics")


def _hole_name(hole: Any) -> str:
    times = f"{hole.count} × " if hole.count > 1 else ""
    size = quantities.short(hole.hole_diameter, "length")
    if hole.gap is not None:
        size = f"{quantities.short(hole.gap, 'length')} slot"
    return f"{shorten(hole.name, _LONGEST)} {times}{size}"


def _row(names: list[Named], row: int) -> tuple[list[Named], list[float]]:
    """Return every second name from the left, and how wide each is [in]."""
    mine = sorted(names)[row::2]
    return mine, [text_width(name) / 72.0 + 0.12 for _, _, name in mine]


def _room(names: list[Named]) -> bool:
    """Say whether names find room in two rows."""
    return all(sum(_row(names, row)[1]) <= WIDTH for row in range(2))


def _name(sheet: _Sheet, names: list[Named]) -> None:
    """Write the names over the tube in two rows, each with a line to its thing."""
    top = sheet.low + sheet.tall
    for row in range(2):
        mine, widths = _row(names, row)
        middles = spread([x for x, _, _ in mine], widths, WIDTH)
        y = top + (0.27 if row else 0.5)
        for (x, spot, name), middle in zip(mine, middles, strict=True):
            shown = name if math.isfinite(x) else ""
            self_y = y - 0.5 * LETTER / 72.0
            sheet.line([middle, x], [self_y, spot], color=SOFT, lw=0.6, zorder=5)
            sheet.write(middle, y + 0.02, shown, zorder=7,
                        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})  # fmt: skip
