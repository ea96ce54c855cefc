import dataclasses
import math
import re
import xml.etree.ElementTree as Tree

import matplotlib
import numpy as np
import pytest
from scipy.stats import binomtest

import study_findings as made
from baypulse.run.result import VERDICTS
from baypulse.show.figures import base, scales
from baypulse.show.figures import output as figures_output
from baypulse.studies.scatter import figures as ensembles
from baypulse.studies.scatter.influence import Swing
from baypulse.studies.scatter.result import Output
from baypulse.studies.sweep import figures as sweeps
from baypulse.studies.sweep import grid
from baypulse.studies.sweep.result import Axis

# exact, by definition of inch and pound (NIST SP 811, App. B)
PSI, POUND, FOOT = 6894.757293168, 4.4482216152605, 0.3048


def texts(figure):
    return [
        text.get_text() for axes in [figure, *figure.axes] for text in axes.texts if text.get_text()
    ]


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


def every_kind():
    yield "scatter", ensembles.figures(made.scatter())
    yield "odd scatter", ensembles.figures(made.odd_scatter())
    for members in (1, 500):
        yield "one", sweeps.figures(made.sweep_of_one(members))
        yield "two", sweeps.figures(made.sweep_of_two(members))
    for name, sweep in made.odd_sweeps().items():
        yield name, sweeps.figures(sweep)


def test_every_figure_is_drawn_and_no_letter_leaves_it():
    count = 0
    for kind, drawn in every_kind():
        for name, figure in drawn.items():
            if count < 10:
                assert figures_output.png(figure).startswith(b"\x89PNG"), (kind, name)
            assert Tree.fromstring(figures_output.svg(figure)).tag.endswith("svg")
            assert len(texts(figure)) > 3, (kind, name)
            assert sticking_out(figure) == [], (kind, name)
            count += 1
    assert count > 40


def test_the_figures_have_their_names():
    assert list(ensembles.figures(made.scatter())) == [
        "chances", "bands", "histograms", "drivers-separates", "drivers-greatest_velocity",
    ]  # fmt: skip
    assert list(sweeps.figures(made.sweep_of_one())) == ["curves"]
    assert list(sweeps.figures(made.sweep_of_two(1))) == [
        "verdicts", "map-peak_pressure", "map-greatest_velocity", "map-cord_load",
    ]  # fmt: skip
    bare = made.changed(made.scatter(), distributions=(), bands=(), outputs=())
    assert list(ensembles.figures(bare)) == ["chances"]


def test_a_bar_is_as_long_as_its_chance_and_the_whisker_as_the_interval():
    scatter = made.scatter()
    (axes,) = ensembles.figures(scatter)["chances"].axes
    bars = [patch.get_width() for patch in axes.patches[::2]]
    each = [*scatter.verdicts, *scatter.contents, *scatter.limits]
    assert bars == pytest.approx([100.0 * c.share for c in each])
    whiskers = [line.get_xdata() for line in axes.lines if line.get_linewidth() == 1.6]
    assert np.allclose(whiskers, [[100.0 * c.low, 100.0 * c.high] for c in each])
    # 9430 of 10000: scipy's exact interval (Clopper & Pearson 1934)
    ends = binomtest(9_430, 10_000).proportion_ci(0.95, "exact")
    text = f"94.3 %, {100 * ends.low:.1f} to {100 * ends.high:.1f}"
    assert text in texts(axes.figure)


def test_bands_hold_the_given_quantiles_in_the_units_of_the_scale():
    band = made.scatter().bands[0]
    axes = ensembles.figures(made.scatter())["bands"].axes[0]
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
    axes = ensembles.figures(made.scatter())["histograms"].axes[1]
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
    found = texts(ensembles.figures(made.odd_scatter())["histograms"])
    assert "14.5 psi (100 kPa) in each of them: it does not scatter" in found
    assert "it happened in no shot" in found
    assert any(re.match(r"off this scale: .*4,8\d\d shots", text) for text in found)


def test_a_tornado_reaches_from_the_nominal_value_to_both_ends():
    output = made.scatter().outputs[1]
    tornado, indices = ensembles.figures(made.scatter())["drivers-greatest_velocity"].axes
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
    figure = ensembles.figures(made.changed(whole, outputs=(output,)))["drivers-greatest_velocity"]
    found = texts(figure)
    labels = [factor.label for factor in whole.factors[:3]]
    rows = [text for text in found if text in labels]
    assert rows == [labels[1], labels[0], labels[2]]
    assert "low: none" in found


def test_the_verdicts_of_a_sweep_stand_above_the_curves():
    found = texts(sweeps.figures(made.sweep_of_one())["curves"])
    order = [text for text in found if text in VERDICTS]
    assert order == ["no separation", "partial separation", "separates", "separates too hard"]
    assert "this case" in found and "mass of the powder (g above, grain below)" in found
    assert "nine of ten shots" in found
    assert "nine of ten shots" not in texts(sweeps.figures(made.sweep_of_one(1))["curves"])


def test_curves_of_a_sweep_are_what_was_found():
    sweep = made.sweep_of_one()
    *_, cord = sweeps.figures(sweep)["curves"].axes
    (curve,) = [line for line in cord.lines if line.get_linewidth() == 2.0]
    assert np.allclose(curve.get_xdata(), sweep.axes[0].values * 1e3)
    assert np.allclose(curve.get_ydata(), sweep.quantities[-1].middle / POUND, equal_nan=True)


def test_the_line_of_a_chance_lies_where_the_chance_is():
    # the made-up chance is 1/(1 + exp(-4 (m/0.15 g - pins - 0.8))): one half on the line
    # m = 0.15 g (pins + 0.8)
    (axes,) = sweeps.figures(made.sweep_of_two())["map-separates"].axes
    lines = next(c for c in axes.collections if getattr(c, "filled", True) is False)
    level = list(lines.levels).index(50.0)
    line = np.concatenate(lines.allsegs[level])
    assert np.allclose(line[:, 0], 0.15 * (line[:, 1] + 0.8), atol=0.02)
    assert {"50 %", "90 %", "99 %"} <= set(texts(axes.figure))


def test_a_map_shows_its_limit_and_where_nothing_happens():
    found = texts(sweeps.figures(made.sweep_of_two())["map-greatest_velocity"])
    assert "limit: 65.6 ft/s (20.0 m/s)" in found and "it does not happen" in found
    assert "count of the pins" in found and "this case" in found
    pressure = texts(sweeps.figures(made.sweep_of_two())["map-peak_pressure"])
    assert not any("tube wall" in text for text in pressure)  # far outside what is shown
    # 30 psi in kPa
    assert f"30 ({30 * PSI / 1e3:.0f})" in pressure


def test_every_verdict_of_a_map_has_its_name_within_its_region():
    sweep = made.sweep_of_two()
    (axes,) = sweeps.figures(sweep)["verdicts"].axes
    for code in np.unique(sweep.verdict):
        assert VERDICTS[code] in texts(axes.figure)
    assert len(axes.patches) == 4
    # a region's cells cover as many points as have the verdict
    cells = [len(patch.get_path().vertices) // 5 for patch in axes.patches]
    columns = [np.count_nonzero((sweep.verdict == c).any(axis=1)) for c in np.unique(sweep.verdict)]
    assert cells == columns


def test_a_count_has_whole_numbers_on_its_scale():
    sweep = made.odd_sweeps()["one column"]
    found = texts(sweeps.figures(sweep)["curves"])
    assert {"0", "1", "2", "3", "4", "5", "6"} <= set(found)
    assert "0.5" not in found
    assert grid.axis_scale(sweep.axes[1]).text(4.0) == "4"


def test_a_single_column_is_drawn_as_curves():
    sweep = made.odd_sweeps()["one column"]
    flat = grid.flattened(sweep)
    assert flat.axes == sweep.axes[1:] and flat.verdict.shape == (7,)
    assert flat.quantities[0].middle.shape == (7,)
    assert "curves" in sweeps.figures(sweep)


def test_ratios_stand_as_people_type_them():
    moisture = Axis("pins.moisture", "moisture of the pins", "ratio", np.array([0.005, 0.05]))
    friction = Axis("setting.stand_friction", "friction", "ratio", np.array([0.2, 0.5]))
    assert grid.axis_scale(moisture).unit == "%"
    assert grid.axis_scale(friction).text(0.35) == "0.350"


def test_no_figure_of_a_scatter_study_names_the_charge():
    for figure in ensembles.figures(made.scatter()).values():
        assert not any(re.search(r"\b0\.50+ ?g\b", text) for text in texts(figure))


def test_the_same_findings_give_the_same_bytes_whatever_the_settings():
    plain = {name: figures_output.svg(f) for name, f in ensembles.figures(made.scatter()).items()}
    with matplotlib.rc_context({"font.size": 30.0, "axes.grid": True}):
        again = {
            name: figures_output.svg(f) for name, f in ensembles.figures(made.scatter()).items()
        }
    assert plain == again


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0"), (1.0, "100"), (0.5, "50.0"), (0.973, "97.3"), (0.9996, "99.960"),
        (0.0004, "0.040"), (0.017, "1.7"), (1.2e-6, "0.00012"), (0.1, "10.0"), (0.99, "99.0"),
    ],
)  # fmt: skip
def test_a_share_has_two_digits_of_what_is_left(share, text):
    assert scales.percent(share) == text


def test_an_interval_has_the_digits_of_its_share():
    assert scales.interval(0.943, 0.9383, 0.9475) == "93.8 to 94.8"
    assert scales.interval(0.0, 0.0, 3.69e-4) == "0 to 0.037"
    assert scales.interval(1.0, 0.99963, 1.0) == "99.963 to 100"


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
    assert scales.scale_of(dimension, value).text(value) == text


def test_a_name_of_mathematics_or_without_a_font_is_drawn_as_it_is():
    whole = made.scatter()
    odd = dataclasses.replace(whole.limits[0], name="$x_1$ 孔 & <b>")
    figure = ensembles.figures(made.changed(whole, limits=(odd,)))["chances"]
    assert "$x_1$ 孔 & <b>" in texts(figure)
    figures_output.png(figure)
    Tree.fromstring(figures_output.svg(figure))
