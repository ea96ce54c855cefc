import dataclasses
import math
import re
import xml.etree.ElementTree as Tree

import matplotlib
import numpy as np
import pytest
from scipy.stats import binomtest

import study_findings as made
from baypulse.case import quantities
from baypulse.show import figure_files
from baypulse.show.figures import base, scales
from baypulse.studies.scatter.document import document
from baypulse.studies.scatter.influence import Swing
from baypulse.studies.scatter.result import Output

# exact, by definition of inch and pound (NIST SP 811, App. B)
PSI, POUND, FOOT = 6894.757293168, 4.4482216152605, 0.3048


def drawn(said, system=quantities.US):
    """Return every figure of a document by its name; SI would hide a unit that is forgotten."""
    with base.style(), quantities.written_in(system):
        return {each.name: each.draw() for each in said.figures}


def figures(scatter, system=quantities.US):
    return drawn(document(scatter), system)


def texts(figure):
    """Return what a figure says; a text on several lines is one."""
    found = [text.get_text() for axes in [figure, *figure.axes] for text in axes.texts]
    return [text.replace("\n", " ") for text in found if text]


def sticking_out(figure):
    """Return the texts that leave the figure [with their boxes]."""
    renderer = figure.canvas.get_renderer()
    wide, tall = figure.get_size_inches() * figure.dpi
    found = []
    with base.style():
        for axes in [figure, *figure.axes]:
            for text in axes.texts:
                box = text.get_window_extent(renderer)
                if box.x0 < -1 or box.y0 < -1 or box.x1 > wide + 1 or box.y1 > tall + 1:
                    found.append((text.get_text(), box))
    return found


def test_every_figure_is_drawn_and_no_letter_leaves_it():
    for scatter in (made.scatter(), made.odd_scatter()):
        for system in (quantities.SI, quantities.US):
            for name, figure in figures(scatter, system).items():
                assert len(texts(figure)) > 3, name
                assert sticking_out(figure) == [], name


def test_the_figures_have_their_names():
    assert set(figures(made.scatter())) == {
        "chances", "bands", "histograms", "drivers-separates", "drivers-greatest_velocity",
    }  # fmt: skip
    bare = made.changed(made.scatter(), distributions=(), bands=(), outputs=())
    assert list(figures(bare)) == ["chances"]


def test_a_bar_is_as_long_as_its_chance_and_the_whisker_as_the_interval():
    scatter = made.scatter()
    (axes,) = figures(scatter)["chances"].axes
    bars = [patch.get_width() for patch in axes.patches[::2]]
    each = [*scatter.verdicts, *scatter.contents, *scatter.limits]
    assert bars == pytest.approx([100.0 * c.share for c in each])
    whiskers = [line.get_xdata() for line in axes.lines if line.get_linewidth() == 1.6]
    assert np.allclose(whiskers, [[100.0 * c.low, 100.0 * c.high] for c in each])
    # 9430 of 10000: scipy's exact interval (Clopper & Pearson 1934)
    ends = binomtest(9_430, 10_000).proportion_ci(0.95, "exact")
    text = f"94.3 % ({100 * ends.low:.1f} to {100 * ends.high:.1f})"
    assert text in texts(axes.figure)


def test_bands_hold_the_given_quantiles_in_the_units_of_the_scale():
    band = made.scatter().bands[0]
    axes = figures(made.scatter())["bands"].axes[0]
    curves = [line.get_ydata() for line in axes.lines if len(line.get_xdata()) == band.times.size]
    for wanted in (*band.values, band.nominal):
        assert any(np.allclose(curve, wanted / PSI, rtol=1e-6) for curve in curves)
    found = texts(axes.figure)
    assert {"median", "nominal run", "5 to 95 %", "25 to 75 %", "psi", "kPa", "in", "mm",
            "ft/s", "m/s"} <= set(found)  # fmt: skip
    assert "limit of the bay: 36.3 psi (250 kPa)" in found
    assert "tube wall: 899 psi (6200 kPa), above this scale" in found


def test_a_histogram_holds_every_shot_and_marks_the_quantiles():
    held = made.scatter().distributions[1]
    axes = figures(made.scatter())["histograms"].axes[1]
    (steps,) = [patch for patch in axes.patches if hasattr(patch, "get_data")]
    values, edges, _ = steps.get_data()
    assert np.sum(values) == held.happened == 9_600
    assert np.allclose(edges, held.edges / FOOT, rtol=1e-9)
    lines = [line.get_xdata()[0] for line in axes.lines if line.get_linestyle() == "--"]
    wanted = [held.quantiles[k] / FOOT for k in (0, 2, 4)]
    assert np.allclose(sorted(lines)[:3], wanted, rtol=1e-9)
    found = texts(axes.figure)
    assert "Greatest separation velocity, in 96.0 % of shots" in found
    assert "Peak pressure, in every shot" in found
    assert "limit: 65.6 ft/s" in found


def test_numbers_that_do_not_scatter_or_never_happen_are_said_in_words():
    found = texts(figures(made.odd_scatter())["histograms"])
    assert "14.5 psi (100 kPa) in each of them: it does not scatter" in found
    assert "it happened in no shot" in found
    assert any(re.match(r"off this scale: .*4,8\d\d shots", text) for text in found)


def test_a_tornado_reaches_from_the_nominal_value_to_both_ends():
    output = made.scatter().outputs[1]
    tornado, indices = figures(made.scatter())["drivers-greatest_velocity"].axes
    totals = {each.factor: each.total for each in output.influences}
    order = sorted(totals, key=lambda name: -totals[name])[:10]
    swings = {swing.factor: swing for swing in output.swings}
    for row, name in enumerate(order):
        ends = sorted(
            patch.get_x() + patch.get_width()
            for patch in tornado.patches if round(patch.get_y() + 0.3) == row
        )  # fmt: skip
        assert np.allclose(ends, sorted([swings[name].low / FOOT, swings[name].high / FOOT]))
    dots = [line.get_xdata()[0] for line in indices.lines if line.get_marker() == "o"]
    assert np.allclose(dots[:10], [totals[name] for name in order])
    assert texts(tornado.figure).count("low") == 10


def test_a_factor_that_makes_a_number_come_or_go_stands_on_top():
    whole = made.scatter()
    names = [factor.name for factor in whole.factors[:3]]
    output = Output(
        "greatest_velocity", "speed", "velocity", 10.0,
        (Swing(names[0], 9.0, 12.0), Swing(names[1], math.nan, 10.5), Swing(names[2], 10.0, 10.0)),
        (), "",
    )  # fmt: skip
    figure = figures(made.changed(whole, outputs=(output,)))["drivers-greatest_velocity"]
    found = texts(figure)
    labels = [factor.label for factor in whole.factors[:3]]
    rows = [text for text in found if text in labels]
    assert rows == [labels[1], labels[0], labels[2]]
    assert "low: none" in found


def test_no_figure_of_a_scatter_study_names_the_charge():
    for figure in figures(made.scatter()).values():
        assert not any(re.search(r"\b0\.50+ ?g\b", text) for text in texts(figure))


def test_the_same_findings_give_the_same_bytes_whatever_the_settings():
    plain = {name: figure_files.svg(f) for name, f in figures(made.scatter()).items()}
    with matplotlib.rc_context({"font.size": 30.0, "axes.grid": True}):
        again = {name: figure_files.svg(f) for name, f in figures(made.scatter()).items()}
    assert plain == again


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0"), (1.0, "100"), (0.5, "50.0"), (0.973, "97.3"), (0.9996, "99.960"),
        (0.0004, "0.040"), (0.017, "1.7"), (1.2e-6, "0.00012"), (0.1, "10.0"), (0.99, "99.0"),
    ],
)  # fmt: skip
def test_a_share_has_two_digits_of_what_is_left(share, text):
    assert quantities.percent(share) == text


def test_an_interval_has_the_digits_of_its_share():
    assert quantities.interval(0.943, 0.9383, 0.9475) == "93.8 to 94.8"
    assert quantities.interval(0.0, 0.0, 3.69e-4) == "0 to 0.037"
    assert quantities.interval(1.0, 0.99963, 1.0) == "99.963 to 100"


@pytest.mark.parametrize(
    ("dimension", "value", "text"),
    [
        ("gauge pressure", PSI * 12.5, "12.5 psi (86.2 kPa)"),
        ("velocity", 3.048, "10.0 ft/s (3.05 m/s)"),
        ("force", POUND * 100, "100 lbf (445 N)"),
        ("length", 0.0254, "1.00 in (25.4 mm)"),
        ("length", 3.048, "10.0 ft (3.05 m)"),
        ("mass", 1.2e-3, "1.20 g (18.5 grain)"),
        ("time", 0.012, "12.0 ms"),
        ("time", 2.5, "2.50 s"),
        ("temperature", 293.15, "68.0 °F (20.0 °C)"),
        ("ratio", 0.12, "12.0 %"),
    ],
)
def test_values_stand_in_two_units(dimension, value, text):
    with quantities.written_in(quantities.US):
        assert scales.scale_of(dimension, value).text(value) == text


def test_a_name_of_mathematics_or_without_a_font_is_drawn_as_it_is():
    whole = made.scatter()
    odd = dataclasses.replace(whole.limits[0], name="$x_1$ 孔 & <b>")
    figure = figures(made.changed(whole, limits=(odd,)))["chances"]
    assert "$x_1$ 孔 & <b>" in texts(figure)
    figure_files.png(figure)
    Tree.fromstring(figure_files.svg(figure))
