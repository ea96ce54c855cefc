import math
import xml.etree.ElementTree as Tree
from itertools import pairwise

import numpy as np
import pytest

import window_findings as made
from baypulse.members.quantities import levels
from baypulse.show import figure_files
from baypulse.show.figures import charge_ruler
from baypulse.studies.window import figures as windows
from baypulse.studies.window import trial_values
from studies.scatter.test_figures import sticking_out, texts

GRAIN = 64.79891e-6
"""[kg], exact by definition (NIST SP 811, App. B)."""


def over(window):
    return windows.DRAW["window"](window)


def upright(axes):
    """Return where upright lines stand, in the unit of the charge."""
    return [
        10.0 ** line.get_xdata()[0]
        for line in axes.lines
        if len(line.get_xdata()) == 2 and line.get_xdata()[0] == line.get_xdata()[1]
        and line.get_transform() == axes.get_xaxis_transform()
    ]  # fmt: skip


def test_every_figure_is_drawn_and_no_letter_leaves_it():
    for kind, window in made.every():
        drawn = {
            name: draw(window)
            for name, draw in windows.DRAW.items()
            if name != "changes" or window.remedies
        }
        assert ("changes" in drawn) == bool(window.remedies)
        for name, figure in drawn.items():
            assert len(texts(figure)) > 3, (kind, name)
            assert sticking_out(figure) == [], (kind, name)
    # one whose change has letters of its own for a sign
    figure = windows.DRAW["changes"](made.empty())
    assert Tree.fromstring(figure_files.svg(figure)).tag.endswith("svg")
    assert figure_files.png(figure).startswith(b"\x89PNG")


def test_the_ends_of_the_window_and_the_marks_stand_in_every_panel():
    window = made.usual()
    figure = over(window)
    marked = [0.37, 1.06, 0.63, 0.79, 0.5, 1e3 * float(window.static_rule.empty.needed_mass)]
    for axes in figure.axes[1:]:
        found = upright(axes)
        assert all(any(x == pytest.approx(at) for x in found) for at in marked)
    said = " ".join(texts(figure))
    for name in ("ground test 0.630 g", "backup 0.790 g", f"empty-bay rule {marked[-1]:.3f} g",
                 "case 0.500 g", "the window", "too little"):  # fmt: skip
        assert name in said


def test_the_curves_go_through_the_computed_points():
    window = made.usual()
    axes = over(window).axes[1]
    x = [math.log10(1e3 * trial.charge) for trial in window.curve]
    for name in ("opens", "fails_hard"):
        share = [100.0 * getattr(trial, name).share for trial in window.curve]
        points = [line for line in axes.lines if len(line.get_xdata()) == len(x)]
        assert any(np.allclose(line.get_xydata(), np.column_stack((x, share))) for line in points)
        joined = [line for line in axes.lines if len(line.get_xdata()) > 100]
        # monotone between monotone points (Fritsch and Carlson 1980, from memory)
        assert all(np.all(np.diff(line.get_ydata()) >= -1e-9) for line in joined)
    whiskers = {tuple(np.round(line.get_ydata(), 6)) for line in axes.lines
                if len(line.get_ydata()) == 2}  # fmt: skip
    for trial in window.curve:
        ends = (100.0 * trial.opens.low, 100.0 * trial.opens.high)
        assert tuple(np.round(ends, 6)) in whiskers


def test_the_intervals_of_the_ends_are_drawn():
    window = made.usual()
    lines = [line.get_xdata() for line in over(window).axes[0].lines if len(line.get_xdata()) == 2]
    for edge in (window.least, window.most):
        ends = np.log10(1e3 * np.array([edge.low, edge.high]))
        assert any(np.allclose(line, ends) for line in lines)


def test_limits_are_drawn_where_they_are():
    window = made.usual()
    (limit,) = levels(window.case)["greatest_velocity"]
    what = "greatest separation velocity"
    (axes,) = [
        axes for axes in over(window).axes if what in [text.get_text() for text in axes.texts]
    ]
    level = [line.get_ydata()[0] for line in axes.lines if len(set(line.get_ydata())) == 1]
    assert any(value == pytest.approx(limit.value) for value in level)
    assert "limit: 30.0 m/s (98.4 ft/s)" in texts(over(window))


def test_what_never_happened_has_no_panel():
    said = texts(over(made.never_opens()))
    assert "peak pressure" in said
    assert not any("velocity" in text or "cord" in text for text in said)


@pytest.mark.parametrize(
    ("window", "names"),
    [
        (made.usual, ["separates too seldom", "the window", "exceeds a limit too often"]),
        (
            made.empty,
            ["separates too seldom", "too seldom and too hard", "exceeds a limit too often"],
        ),
        (made.always_hard, ["too seldom and too hard", "exceeds a limit too often"]),
        (made.never_opens, ["separates too seldom", "too seldom and too hard"]),
        (made.unlimited, ["separates too seldom", "separates; no limit found"]),
    ],
)
def test_every_charge_lies_in_one_stretch(window, names):
    found = windows.stretches(window())
    assert [each.names[0] for each in found] == names
    assert found[0].low == 0.0 and math.isinf(found[-1].high)
    assert all(a.high == b.low for a, b in pairwise(found))


def test_charges_that_are_the_same_share_a_mark():
    window = made.usual()
    same = made.changed(window, backup=made.trial("backup", window.recommended.charge, 512))
    names = [mark.name for mark in windows.marks(same)]
    assert "ground test, backup 0.630 g" in names
    assert len(names) == len(windows.marks(window)) - 1


def test_grains_stand_over_grams():
    figure = over(made.usual())
    axes = figure.axes[0]
    low, high = axes.get_xlim()
    top = [text for text in axes.texts if text.get_transform() == axes.transAxes]
    numbers = [text for text in top if text.get_text().replace(".", "").isdigit()]
    assert len(numbers) >= 3
    for text in numbers:
        grams = 10.0 ** (low + text.get_position()[0] * (high - low))
        assert grams * 1e-3 / GRAIN == pytest.approx(float(text.get_text()), rel=1e-6)


def test_a_cold_gas_is_drawn_in_pressures():
    said = texts(over(made.of_cold_gas()))
    assert "fill pressure (psi)" in said and "fill pressure (kPa)" in said
    assert "ground test 1480 kPa" in said


@pytest.mark.parametrize(("low", "high"), [(-1.2, 0.4), (-0.3, -0.27), (2.0, 4.5), (0.5, 0.524)])
def test_numbers_on_a_logarithmic_scale_do_not_touch(low, high):
    found = charge_ruler.log_ticks(low, high, 392.0)
    assert len(found) >= 2
    logs = np.log10(found)
    assert logs[0] >= low - 1e-9 and logs[-1] <= high + 1e-9
    assert np.diff(logs).min() / (high - low) * 392.0 >= 30.0


def test_single_charges_are_drawn_from_5_to_95_percent():
    window = made.usual()
    figure = windows.DRAW["trials"](window)
    velocity = figure.axes[0]
    bars = [(bar.get_x(), bar.get_x() + bar.get_width()) for bar in velocity.patches]
    for trial in trial_values.single(window):
        ends = np.array(trial.greatest_velocity)[[0, 2]]
        assert any(np.allclose(bar, ends) for bar in bars)
    assert "ground test: 0.630 g" in texts(figure)


def test_changes_are_bars_from_least_to_most():
    window = made.empty()
    figure = windows.DRAW["changes"](window)
    (axes,) = figure.axes
    bars = [(bar.get_x(), bar.get_x() + bar.get_width()) for bar in axes.patches]
    assert any(np.allclose(bar, np.log10([0.25, 0.35])) for bar in bars)
    assert any(np.allclose(sorted(bar), np.log10([0.30, 0.37])) for bar in bars)
    said = texts(figure)
    # 0.35 over 0.25
    assert "most/least 1.40" in said
    assert said.count("empty") == 3 and "no limit" in said and "too seldom" in said
