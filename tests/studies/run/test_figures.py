import re
import sys
import xml.etree.ElementTree as Tree
from dataclasses import replace
from itertools import pairwise

import matplotlib
import numpy as np
import pytest

from baypulse.case import quantities
from baypulse.case.casefile import reads
from baypulse.run.simulation import simulate
from baypulse.show import figure_files
from baypulse.show.document import Figure
from baypulse.show.figures import base
from baypulse.show.figures.labels import Labels, spread
from baypulse.studies.run import figures as plot
from baypulse.studies.run.balance_charts import shares
from report_cases import BENCH, run

EVERY = [
    "separates",
    "separates too hard",
    "partial separation",
    "no separation",
    "undecided",
    "bare",
    "flight",
    "cold gas",
]


def texts(figure):
    """Return what a figure says; a text on several lines is one."""
    found = [text.get_text() for axes in [figure, *figure.axes] for text in axes.texts]
    return [text.replace("\n", " ") for text in found if text]


@pytest.mark.parametrize("name", EVERY)
def test_every_figure_of_every_kind_of_run_is_drawn(name):
    result = run(name)
    for figure in plot.names(result):
        drawn = plot.figure(result, figure)
        assert figure_files.png(drawn).startswith(b"\x89PNG")
        tree = Tree.fromstring(figure_files.svg(drawn))
        assert tree.tag.endswith("svg")
        assert len(texts(drawn)) > 3


def test_the_runs_are_what_their_names_say():
    for name in (
        "separates",
        "separates too hard",
        "partial separation",
        "no separation",
        "undecided",
    ):
        assert run(name).verdict == name


def test_the_same_run_gives_the_same_bytes():
    result = run("separates")
    for name in ("course", "breakdown", "sketch"):
        one, two = plot.figure(result, name), plot.figure(result, name)
        assert figure_files.svg(one) == figure_files.svg(two)
        assert figure_files.png(one) == figure_files.png(two)


# 6894.757 Pa are 1 psi: NIST SP 811 (2008), appendix B.8
@pytest.mark.parametrize(
    ("system", "left", "right", "one", "other"),
    [("si", "kPa", "psi", 1e3, 6894.757), ("us", "psi", "kPa", 6894.757, 1e3)],
)
def test_the_first_unit_of_the_text_is_on_the_left(system, left, right, one, other):
    result = run("separates")
    with quantities.written_in(system):
        figure = plot.figure(result, "pressure")
    found = texts(figure)
    assert f"gauge pressure ({left})" in found and right in found
    peak = result.numbers.peak_pressure
    (label,) = [text for text in found if text.startswith("peak ")]
    assert list(map(float, re.findall(r"[\d.]+", label))) == pytest.approx(
        [peak / one, peak / other], rel=5e-3
    )
    (axes,) = figure.axes
    curve = max(axes.lines, key=lambda line: len(line.get_xdata()))
    at = result.numbers.peak_time * 1e3
    top = np.interp(at, curve.get_xdata(), curve.get_ydata())
    assert top == pytest.approx(peak / one, rel=1e-3)


HEADS = r"(?:gauge pressure|travel|separation|force|temperature|flow|cord load) \((.+)\)"
"""Names of the left scales, with their units."""

SYSTEMS = {
    "si": {"kPa", "mm", "m", "m/s", "N", "°C", "g/s"},
    "us": {"psi", "in", "ft", "ft/s", "lbf", "°F", "oz/s"},
}
"""Units of each system of units."""


@pytest.mark.parametrize("name", ["course", "inside", "cord", "pressure-travel"])
@pytest.mark.parametrize("system", SYSTEMS)
def test_no_figure_has_the_other_system_first(name, system):
    with quantities.written_in(system):
        found = texts(plot.figure(run("separates"), name))
    first = {match[1] for text in found if (match := re.fullmatch(HEADS, text))}
    assert first and first <= SYSTEMS[system]


def test_marks_pins_clear_and_levels():
    found = texts(plot.figure(run("separates"), "pressure"))
    assert {"pins fail", "clear"} <= set(found)
    for level in ("empty-bay rule: ", "friction: ", "friction and pins: "):
        assert any(text.startswith(level) for text in found)


def test_without_pins_nothing_speaks_of_pins():
    assert not any("pin" in text for text in texts(plot.figure(run("bare"), "pressure")))


def test_figures_that_make_no_sense_are_left_out():
    assert "cord" in plot.names(run("separates"))
    assert "cord" not in plot.names(run("bare"))
    assert "pressure-travel" not in plot.names(run("no separation"))
    assert "pressure-travel" in plot.names(run("partial separation"))


def test_an_unknown_figure_is_refused_with_the_names():
    with pytest.raises(ValueError, match="pressure-travel"):
        plot.figure(run("separates"), "pressures")
    with pytest.raises(ValueError, match="no figure 'cord'"):
        plot.figure(run("bare"), "cord")


def test_the_work_under_the_curve_is_what_the_sections_got():
    result = run("separates")
    (label,) = [t for t in texts(plot.figure(result, "pressure-travel")) if "work" in t]
    work = float(re.search(r": ([\d.]+) J", label).group(1))
    # friction and pins take the rest, of which the run keeps its own account; three digits shown
    spent = result.budget.terms["friction"] + result.budget.terms["pins"]
    assert work == pytest.approx(result.numbers.clear_energy + spent, rel=5e-3)
    assert result.numbers.clear_energy < work < 1.1 * result.numbers.clear_energy


def test_the_window_ends_soon_after_clear():
    result = run("separates")
    shown = base.window(result)
    assert shown.start < result.event("start").time
    assert result.event("clear").time < shown.stop < 3.0 * result.event("clear").time


def test_the_window_of_a_shut_bay_ends_with_the_run_or_at_a_tenth_of_the_peak():
    result = run("no separation")
    # the run is over as soon as the pressure can do no more, long before it is down to a tenth
    assert result.gauge_pressure[-1] > 0.1 * result.numbers.peak_pressure
    assert base.window(result).stop == result.time[-1] > result.numbers.peak_time
    # a record that goes on: p = P exp(-(t - t0)/T) is down to a tenth T ln 10 after its peak
    first = result.event("start").time
    time = np.linspace(first, first + 1.0, 2001)
    falling = {
        name: replace(curve, values=np.interp(time, result.time, curve.values))
        for name, curve in result.curves.items()
    }
    falling["time"] = replace(falling["time"], values=time)
    gauge = 8e3 * np.exp(-(time - first) / 0.1)
    falling["gauge_pressure"] = replace(falling["gauge_pressure"], values=gauge)
    shown = base.window(replace(result, curves=falling, events=[result.event("start")]))
    assert shown.stop - first == pytest.approx(1.05 * 0.1 * np.log(10.0), abs=1.1e-3)


def test_the_window_of_a_hanging_joint_holds_its_stop():
    result = run("partial separation")
    stops = [event.time for event in result.events if event.name == "joint stops"]
    assert base.window(result).stop > stops[-1]


def test_settings_of_the_user_change_nothing_and_are_put_back():
    result = run("separates")
    course = Figure("course", "", lambda: plot.figure(result, "course"))
    plain, _ = figure_files.drawn([course])
    with matplotlib.rc_context({"font.size": 30.0, "svg.fonttype": "path"}):
        assert figure_files.drawn([course])[0] == plain
        assert matplotlib.rcParams["font.size"] == 30.0


def test_no_state_of_pyplot_is_touched():
    plot.figure(run("separates"), "pressure")
    pyplot = sys.modules.get("matplotlib.pyplot")
    assert pyplot is None or not pyplot.get_fignums()


def test_inline_svg_has_its_own_identities_and_no_address():
    text = figure_files.svg(plot.figure(run("separates"), "course"))
    inside = figure_files.inline(text, "course", 'a "title" & more')
    assert inside.startswith('<svg role="img" aria-label="a &quot;title&quot; &amp; more" viewBox')
    assert "http" not in inside and "xlink" not in inside
    names = re.findall(r'\bid="([^"]+)"', inside)
    assert names and all(name.startswith("course-") for name in names)
    used = re.findall(r'(?:url\(#|href="#)([^")]+)', inside)
    assert used and set(used) <= set(names)
    Tree.fromstring(inside)


def test_budget_shares_add_up():
    for name in ("separates", "cold gas", "flight"):
        result = run(name)
        assert sum(v for _, v in shares(result)) == pytest.approx(result.budget.total, rel=1e-5)


def test_the_breakdown_ends_at_the_peak():
    result = run("separates")
    found = texts(plot.figure(result, "breakdown"))
    assert "all its heat, mixed at once" in found and "peak of the run" in found
    # of the bars only the last tells its whole pressure, the others what they add
    (label,) = [text for text in found if re.fullmatch(r"[\d.]+ kPa \([\d.]+ psi\)", text)]
    kilopascals, psi = map(float, re.findall(r"[\d.]+", label))
    assert psi == pytest.approx(result.numbers.peak_pressure / 6894.757, rel=5e-3)
    assert kilopascals == pytest.approx(result.numbers.peak_pressure / 1e3, rel=5e-3)


def test_the_sketch_names_the_dimensions():
    found = " ".join(texts(plot.figure(run("separates"), "sketch")))
    for words in ("tube 320 mm", "shoulder 76.0 mm", "charge of 3F", "vent 3.20 mm", "3 × #2-56"):
        assert words in found
    assert "0.500 g" not in found  # a figure travels without the caution


def test_a_name_with_letters_of_mathematics_or_no_font_is_drawn_as_it_is():
    result = simulate(reads(BENCH.replace('name = "vent"', 'name = "$x_1$ 孔"')))
    for name in ("sketch", "inside"):
        assert any("$x_1$ 孔" in text for text in texts(plot.figure(result, name)))
        figure_files.png(plot.figure(result, name))


@pytest.mark.parametrize(
    ("low", "high", "most", "first", "last", "places"),
    [
        (0.0, 10.0, 5, 0.0, 10.0, 0),
        (-1.0, 24.0, 6, 0.0, 20.0, 0),
        (0.0, 0.03, 4, 0.0, 0.03, 2),
        (-0.26, 1.0, 6, -0.25, 1.0, 2),
    ],
)
def test_ticks_are_round_and_inside(low, high, most, first, last, places):
    found, decimals = base.ticks(low, high, most)
    assert (found[0], decimals) == (pytest.approx(first), places)
    assert found[-1] == pytest.approx(last)
    assert np.allclose(np.diff(found), found[1] - found[0])


def test_spread_keeps_apart_and_inside():
    widths = [30.0, 30.0, 30.0, 30.0]
    centres = spread([1.0, 2.0, 50.0, 199.0], widths, 200.0)
    assert centres[0] >= 15.0 and centres[-1] <= 185.0
    assert all(b - a >= 30.0 - 1e-9 for a, b in pairwise(centres))
    assert spread([100.0], [20.0], 200.0) == [100.0]


def test_labels_keep_off_the_curve_and_each_other():
    _, (axes,) = base.panels("", [2.0])
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, 1.0)
    labels = Labels(axes)
    labels.avoid([0.0, 1.0], [0.5, 0.5])
    for name in ("one", "two"):
        labels.put(name, 0.5, 0.5, "above below")
    (a0, b0, a1, b1), (c0, d0, c1, d1) = labels.taken
    assert b1 < d0 or d1 < b0 or a1 < c0 or c1 < a0
    assert labels.ink[:, 1].min() > min(b1, d1) or labels.ink[:, 1].max() < max(b0, d0)
