"""Figures of a scatter: chances, bands, histograms, and what drives a number."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.members.chances import Chance
from baypulse.show.figures.base import (
    FAINT,
    INK,
    LEFT,
    LINE,
    MAIN,
    PANEL,
    PAPER,
    SIDE,
    SMALL,
    SOFT,
    WARM,
    WIDTH,
    TimeSpan,
    axes_at,
    filled,
    finite,
    panels,
    points,
    ruler,
    titled,
    write,
)
from baypulse.show.figures.labels import (
    Labels,
    NameOver,
    broken,
    name_widths,
    names_over,
    rows_for,
)
from baypulse.show.figures.rows import BAR, row_line, row_panels
from baypulse.show.figures.scales import (
    FAR,
    LIGHT,
    MIDDLE,
    VERDICT_LOOKS,
    corner,
    draw_limits,
    empty,
    scale_of,
    set_height,
)
from baypulse.studies.scatter.influence import Influence, Swing
from baypulse.studies.scatter.result import Band, Distribution, Output, Scatter

STILL = 1e-5
"""Width of a histogram, as a share of its values, below which these are one and the same."""


def chances(scatter: Scatter) -> Any:
    """Draw the chance of every verdict, of the contents, and of exceeding each limit."""
    groups = [("", scatter.verdicts), ("parachute", scatter.contents),
              ("a limit is exceeded", scatter.limits)]  # fmt: skip
    rows: list[str | Chance] = []
    for name, group in groups:
        rows += [name] * bool(name and group) + list(group)
    names = [row if isinstance(row, str) else row.name for row in rows]
    bold = [row for row, entry in enumerate(rows) if isinstance(entry, str)]
    title = f"Chances, of {scatter.members:,} shots"
    numbers = ["" if isinstance(row, str) else quantities.chance(row) for row in rows]
    figure, (axes,) = row_panels(title, names, numbers, bold=bold)
    axes.set_xlim(0.0, 100.0)
    for row, entry in enumerate(rows):
        if not isinstance(entry, str):
            _chance_bar(axes, row, entry)
    ruler(axes, "bottom", "chance (%); whiskers and numbers: 95 % interval")
    return figure


def _chance_bar(axes: Any, row: int, chance: Chance) -> None:
    look = VERDICT_LOOKS.get(chance.name, (LIGHT, "", INK))
    filled(axes.barh, row, 100.0 * chance.share, look=look, height=BAR)
    low, high = 100.0 * chance.low, 100.0 * chance.high
    axes.plot([low, high], [row, row], color=INK, lw=1.6, solid_capstyle="butt", clip_on=False)
    for end in (low, high):
        axes.plot([end, end], [row - 0.18, row + 0.18], color=INK, lw=1.2, clip_on=False)


def bands(scatter: Scatter) -> Any:
    """Draw how the curves scatter, on one axis of time."""
    members = scatter.bands[0].members
    heights = [2.4, *([1.7] * (len(scatter.bands) - 1))]
    figure, places = panels(f"How the curves scatter, {members:,} shots", heights)
    times = scatter.bands[0].times
    window = TimeSpan(float(times[0]), float(times[-1]))
    for number, (axes, band) in enumerate(zip(places, scatter.bands, strict=True)):
        _band(axes, band, window, named=number == 0)
    window.write(places[-1])
    return figure


def _band(axes: Any, band: Band, window: TimeSpan, named: bool) -> None:
    """Draw one panel; the first one names its parts."""
    window.dress(axes)
    both = np.concatenate((band.values.ravel(), band.nominal))
    scale = scale_of(band.dimension, both)
    if not np.isfinite(both).any():
        empty(axes, f"{band.label}: no simulated shot has such a curve")
        return
    set_height(axes, scale, both, band.limits, above=0.3)
    scale.upright(axes)
    x = band.times * window.scale
    y = scale.to(band.values)
    labels = Labels(axes)
    corner(axes, labels, band.label)
    pairs = len(band.shares) // 2
    looks = ((LIGHT, "", FAINT), (MIDDLE, "////", PAPER))
    for k in range(pairs):
        paper, hatch, ink = looks[min(k, 1)]
        axes.fill_between(x, y[k], y[-1 - k], facecolor=paper, edgecolor=ink, hatch=hatch or None,
                          lw=0.0, zorder=1 + 0.1 * k)  # fmt: skip
        for edge in (y[k], y[-1 - k]):
            axes.plot(x, edge, color=SOFT, lw=0.6, zorder=2)
    nominal = scale.to(band.nominal)
    axes.plot(x, y[pairs], color=MAIN, lw=2.0, zorder=4)
    axes.plot(x, nominal, color=WARM, lw=1.5, ls=(0, (5, 2)), zorder=4)
    for curve in (*y, nominal):
        labels.avoid(x, curve)
    draw_limits(axes, labels, scale, band.limits)
    if named:
        edges = [(x, curve) for curve in (*y, nominal)]
        for text, curve, colour in (
            ("median", y[pairs], MAIN),
            ("nominal run", nominal, WARM),
            *((_range(band.shares, k), y[-1 - k], SOFT) for k in range(pairs)),
        ):
            others = [edge for edge in edges if edge[1] is not curve]
            labels.along(text, x, curve, colour, others)


def _range(shares: tuple[float, ...], k: int) -> str:
    return f"{100.0 * shares[k]:.3g} to {100.0 * shares[-1 - k]:.3g} %"


def histograms(scatter: Scatter) -> Any:
    """Draw how each number scatters, a panel each."""
    found = scatter.distributions
    shown = [_Panel(held) for held in found]
    top = sum(each.head + each.tall + each.foot for each in shown)
    figure = titled("How the numbers scatter", top)
    for each in shown:
        top -= each.head + each.tall
        _histogram(axes_at(figure, LEFT, top, PANEL, each.tall), each)
        top -= each.foot
    return figure


def _still(held: Distribution) -> str:
    """Return why there is nothing to draw of a number, or an empty text."""
    if not held.happened or not np.any(held.counts):
        return "it happened in no shot"
    if float(np.ptp(held.edges)) <= STILL * float(np.abs(held.edges).max()):
        value = scale_of(held.dimension, held.edges).text(float(held.edges.mean()))
        return f"{value} in each of them: it does not scatter"
    return ""


class _Panel:
    """One histogram: its limits, what is said above it, and the room that it takes [in]."""

    def __init__(self, held: Distribution) -> None:
        self.held = held
        share = held.happened / max(held.members, 1)
        often = (
            "in every shot" if held.happened == held.members
            else f"in {quantities.short(share, 'ratio')} of shots"
        )  # fmt: skip
        heading = f"{quantities.capital(held.label)}, {often}"
        room = 72.0 * (WIDTH - LEFT - SIDE)
        self.heading = broken(heading, room, bold=True)[0]
        self.still = _still(held)
        self.said = broken(self.still, room)[0] if self.still else []
        self.names: list[NameOver] = []
        self.tall, self.foot = 0.02, 0.12
        if not self.still:
            self._arrange(room)
        lines = len(self.heading) + len(self.said)
        lines += rows_for(name_widths(self.names), 72.0 * PANEL) if self.names else 0
        self.head = (LINE * lines + 10.0) / 72.0

    def _arrange(self, room: float) -> None:
        """Find the limits of the scale, and the names of what is marked on it."""
        held = self.held
        self.tall, self.foot = 0.95, 0.62
        self.scale = scale_of(held.dimension, held.quantiles)
        self.edges = self.scale.to(held.edges)
        edges = self.edges
        near = [limit for limit in held.limits if _near(self.scale.to(limit.value), edges)]
        ends = [edges[0], edges[-1], *(self.scale.to(limit.value) for limit in near)]
        beside = 0.03 * float(max(ends) - min(ends))
        self.reach = float(min(ends)) - beside, float(max(ends)) + beside
        gone = [f"{limit.label} {self.scale.short(limit.value)}" for limit in held.limits
                if limit not in near]  # fmt: skip
        beyond = held.happened - int(np.sum(held.counts))
        gone += [f"{beyond:,} shots"] * (beyond > 0)
        if gone:
            self.said = broken(f"off this scale: {'; '.join(gone)}", room)[0]
        self.names = sorted([
            *(NameOver(self.scale.to(value), f"{_quantile(part)}: {self.scale.short(value)}")
              for part, value in zip(held.shares, held.quantiles, strict=True)
              if part in (0.05, 0.5, 0.95) and math.isfinite(value)),
            *(NameOver(self.scale.to(limit.value),
                       f"{limit.label}: {self.scale.short(limit.value)}", WARM, True)
              for limit in near),
        ])  # fmt: skip


def _histogram(axes: Any, shown: _Panel) -> None:
    held, top = shown.held, 72.0 * shown.head - 10.0
    look: Any = {"va": "top", "linespacing": 1.05}
    up = top + 0.5 * LINE
    write(axes, 0.0, 1.0, "\n".join(shown.heading), up=up, fontweight="bold", **look)
    if shown.said:
        up -= LINE * len(shown.heading)
        write(axes, 0.0, 1.0, "\n".join(shown.said), up=up, color=SOFT, **look)
    if shown.still:
        return
    axes.set_xlim(*shown.reach)
    axes.set_ylim(0.0, 1.12 * float(held.counts.max()))
    axes.stairs(held.counts, shown.edges, fill=True, facecolor=MIDDLE, edgecolor=MAIN, lw=0.9)
    ruler(axes, "left", "shots", whole=True)
    shown.scale.level(axes, held.label)
    for x, _, colour, heavy in shown.names:
        axes.axvline(x, color=colour, lw=2.0 if heavy else 1.1, zorder=3,
                     ls=(0, (7, 3)) if heavy else (0, (3, 2)))  # fmt: skip
    up = float(points(axes)[1])
    names_over(axes, shown.names, up, up + 5.0)


def _quantile(share: float) -> str:
    return "median" if share == 0.5 else f"{100.0 * share:.3g} %"


def _near(value: float, edges: np.ndarray) -> bool:
    """Say whether a limit can be drawn without making the histogram narrow."""
    wide = float(edges[-1] - edges[0])
    return float(edges[0]) - 0.3 * wide <= value <= float(edges[-1]) + (FAR - 2.0) * wide


MOST_ROWS = 10
"""Rows of a figure of drivers."""


def has_swings(output: Output) -> bool:
    """Say whether any factor alone changes an output."""
    return any(_width(swing, output.nominal) > 0.0 for swing in output.swings)


def _width(swing: Swing, nominal: float) -> float:
    """Return how far a factor alone moves an output; infinitely if it makes it come or go."""
    values = [value for value in (swing.low, swing.high, nominal) if math.isfinite(value)]
    if len(values) < 3:
        return math.inf if values else 0.0
    return max(values) - min(values)


def rows_of(output: Output) -> list[tuple[str, Swing | None, Influence | None]]:
    """Return name, swing and indices of the factors that count most, the first on top.

    Parameters
    ----------
    output : Output
        With swings, indices, or both; ordered by the total index where there is one, else by the
        swing.
    """
    swings = {swing.factor: swing for swing in output.swings}
    indices = {each.factor: each for each in output.influences if math.isfinite(each.total)}
    names = sorted(
        dict.fromkeys([*indices, *swings]),
        key=lambda name: (
            -indices[name].total if name in indices else 0.0,
            -_width(swings[name], output.nominal) if name in swings else 0.0,
        ),
    )
    # what stands for several inputs cannot be moved alone, and comes last
    several = [name for name in names if swings and name not in swings]
    single = [name for name in names if name not in several]
    kept = [*single[: MOST_ROWS - len(several)], *several]
    return [(name, swings.get(name), indices.get(name)) for name in kept]


def drivers(scatter: Scatter, output: Output) -> Any:
    """Draw how far each factor alone moves an output, beside its Sobol' indices."""
    labels = {factor.name: factor.label for factor in scatter.factors}
    rows = rows_of(output)
    with_swings, with_indices = has_swings(output), bool(output.influences)
    figure, places = row_panels(
        f"What drives: {output.label}", [labels.get(name, name) for name, _, _ in rows],
        head=0.42, foot=0.66, shares=(0.58, 0.36) if with_swings and with_indices else (1.0,),
    )  # fmt: skip
    if with_swings:
        _tornado(places[0], [swing for _, swing, _ in rows], output)
    if with_indices:
        _indices(places[-1], [each for _, _, each in rows])
    return figure


def _tornado(axes: Any, swings: list[Swing | None], output: Output) -> None:
    """Draw a bar from the nominal value to that at both ends of each factor alone."""
    nominal = output.nominal
    ends = [v for swing in swings if swing is not None for v in (swing.low, swing.high)]
    scale = scale_of(output.dimension, [nominal, *ends])
    good = scale.to(finite(np.array([nominal, *ends])))
    least, most = float(good.min()), float(good.max())
    room = (most - least) or max(abs(most), 1.0)
    size = points(axes)
    # room for the words at both ends
    wide = 30.0 if all(math.isfinite(value) for value in (nominal, *ends)) else 52.0
    margin = wide / max(float(size[0]) - 2.0 * wide, 1.0) * room
    axes.set_xlim(least - margin, most + margin)
    middle = scale.to(nominal)
    if math.isfinite(nominal):
        axes.axvline(middle, color=INK, lw=0.9, zorder=1)
    for row, swing in enumerate(swings):
        if swing is not None:
            _swing(axes, row, scale.to(swing.low), scale.to(swing.high), middle)
    note = "" if math.isfinite(nominal) else "; none with the nominal values"
    said = broken(f"each alone, at its 10 and 90 % point{note}", float(size[0]))[0]
    write(axes, 0.0, 1.0, "\n".join(said), up=4.0, linespacing=1.05)
    scale.level(axes)


def _swing(axes: Any, row: int, low: float, high: float, middle: float) -> None:
    """Draw the bars to both ends of one factor, and name the ends."""
    looks = {"low": (LIGHT, "\\\\\\\\"), "high": (MAIN, None)}
    ends = sorted(
        ((end, name) for end, name in ((low, "low"), (high, "high")) if math.isfinite(end))
    )
    if not math.isfinite(middle):
        middle = ends[0][0] if ends else math.nan
    # the longer bar first, so that two on one side are both seen
    for end, name in sorted(ends, key=lambda each: -abs(each[0] - middle)):
        paper, hatch = looks[name]
        axes.barh(row, end - middle, left=middle, height=BAR, facecolor=paper, edgecolor=INK,
                  lw=0.7, hatch=hatch, zorder=2)  # fmt: skip
    if len(ends) == 2 and ends[0][0] < ends[1][0]:
        _end(axes, row, min(ends[0][0], middle), ends[0][1], "right")
        _end(axes, row, max(ends[1][0], middle), ends[1][1], "left")
    elif len(ends) == 2 and ends[0][0] != middle:
        _end(axes, row, low, "low, high", "left" if low > middle else "right")
    elif len(ends) == 1:
        end, name = ends[0]
        other = "high" if name == "low" else "low"
        sides = ("left", "right") if end >= middle else ("right", "left")
        _end(axes, row, end, name, sides[0])
        _end(axes, row, middle, f"{other}: none", sides[1])


def _end(axes: Any, row: int, at: float, text: str, side: str) -> None:
    """Write a word at the end of a bar, its own side next to the bar."""
    axes.annotate(text, (at, row), xytext=(-4.0 if side == "right" else 4.0, 0.0),
                  textcoords="offset points", ha=side, va="center", fontsize=SMALL,
                  color=INK)  # fmt: skip


def _indices(axes: Any, found: list[Influence | None]) -> None:
    """Draw first-order and total indices with their intervals."""
    ends = [v for each in found if each for v in (each.first_high, each.total_high, each.total)]
    axes.set_xlim(0.0, min(max([1.0, *(e for e in ends if math.isfinite(e))]), 1.3))
    size = points(axes)
    for row, each in enumerate(found):
        row_line(axes, row)
        if each is None:
            continue
        for value, low, high, lift, mark, paper in (
            (each.first, each.first_low, each.first_high, -0.12, "s", MAIN),
            (each.total, each.total_low, each.total_high, 0.12, "o", PAPER),
        ):
            if not math.isfinite(value):
                continue
            axes.plot([max(low, 0.0), max(high, 0.0)], [row + lift] * 2, color=MAIN, lw=1.0)
            axes.plot([max(value, 0.0)], [row + lift], mark, mfc=paper, mec=MAIN, mew=1.0, ms=4.2,
                      clip_on=False, zorder=4)  # fmt: skip
    ruler(axes, "bottom", "share of the variance")
    # the marks stand beside their names: no box of its own
    up = 1.0 + 9.0 / size[1]
    for high, mark, paper, text in ((LINE, "s", MAIN, "alone"), (0.0, "o", PAPER, "with others")):
        axes.plot([4.0 / size[0]], [up + high / size[1]], mark, mfc=paper, mec=MAIN, ms=4.2,
                  clip_on=False, transform=axes.transAxes)  # fmt: skip
        write(axes, 0.0, up, text, right=10.0, up=high, va="center")
