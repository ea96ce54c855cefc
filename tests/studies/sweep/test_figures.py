import numpy as np
import pytest

import study_findings as made
from baypulse.case import quantities
from baypulse.run.result import VERDICTS
from baypulse.studies.sweep import result
from baypulse.studies.sweep.document import document
from baypulse.studies.sweep.result import Axis
from studies.scatter.test_figures import POUND, PSI, drawn, sticking_out, texts
from studies.sweep.documents import SWEEPS


def figures(sweep, system=quantities.US):
    return drawn(document(sweep), system)


@pytest.mark.parametrize("name", SWEEPS)
def test_every_figure_is_drawn_and_no_letter_leaves_it(name):
    for system in (quantities.SI, quantities.US):
        for kind, figure in figures(SWEEPS[name](), system).items():
            assert len(texts(figure)) > 3, kind
            assert sticking_out(figure) == [], kind


def test_the_figures_have_their_names():
    assert list(figures(made.sweep_of_one())) == ["curves"]
    assert list(figures(made.sweep_of_two(1))) == [
        "verdicts", "map-peak_pressure", "map-greatest_velocity", "map-cord_load",
    ]  # fmt: skip


def test_the_verdicts_of_a_sweep_stand_above_the_curves():
    found = texts(figures(made.sweep_of_one())["curves"])
    order = [text for text in found if text in VERDICTS]
    assert order == ["no separation", "partial separation", "separates", "separates too hard"]
    assert "this case" in found and "mass of the powder (g above, grain below)" in found
    assert "nine of ten shots" in found
    assert "nine of ten shots" not in texts(figures(made.sweep_of_one(1))["curves"])


def test_curves_of_a_sweep_are_what_was_found():
    sweep = made.sweep_of_one()
    *_, cord = figures(sweep)["curves"].axes
    (curve,) = [line for line in cord.lines if line.get_linewidth() == 2.0]
    assert np.allclose(curve.get_xdata(), sweep.axes[0].values * 1e3)
    assert np.allclose(curve.get_ydata(), sweep.quantities[-1].middle / POUND, equal_nan=True)


def test_the_line_of_a_chance_lies_where_the_chance_is():
    # the made-up chance is 1/(1 + exp(-4 (m/0.15 g - pins - 0.8))): one half on the line
    # m = 0.15 g (pins + 0.8)
    (axes,) = figures(made.sweep_of_two())["map-separates"].axes
    lines = next(c for c in axes.collections if getattr(c, "filled", True) is False)
    level = list(lines.levels).index(50.0)
    line = np.concatenate(lines.allsegs[level])
    assert np.allclose(line[:, 0], 0.15 * (line[:, 1] + 0.8), atol=0.02)
    assert {"50 %", "90 %", "99 %"} <= set(texts(axes.figure))


def test_a_map_shows_its_limit_and_where_nothing_happens():
    found = texts(figures(made.sweep_of_two())["map-greatest_velocity"])
    assert "limit: 65.6 ft/s (20.0 m/s)" in found and "it does not happen" in found
    assert "count of the pins" in found and "this case" in found
    pressure = texts(figures(made.sweep_of_two())["map-peak_pressure"])
    assert not any("tube wall" in text for text in pressure)  # far outside what is shown
    # 30 psi in kPa
    assert f"30 ({30 * PSI / 1e3:.0f})" in pressure


def test_every_verdict_of_a_map_has_its_name_within_its_region():
    sweep = made.sweep_of_two()
    (axes,) = figures(sweep)["verdicts"].axes
    for code in np.unique(sweep.verdict):
        assert VERDICTS[code] in texts(axes.figure)
    assert len(axes.patches) == 4
    # a region's cells cover as many points as have the verdict
    cells = [len(patch.get_path().vertices) // 5 for patch in axes.patches]
    columns = [np.count_nonzero((sweep.verdict == c).any(axis=1)) for c in np.unique(sweep.verdict)]
    assert cells == columns


def test_a_count_has_whole_numbers_on_its_scale():
    sweep = made.odd_sweeps()["one column"]
    found = texts(figures(sweep)["curves"])
    assert {"0", "1", "2", "3", "4", "5", "6"} <= set(found)
    assert "0.5" not in found
    assert result.axis_scale(sweep.axes[1]).text(4.0) == "4"


def test_a_single_column_is_drawn_as_curves():
    sweep = made.odd_sweeps()["one column"]
    flat = result.flattened(sweep)
    assert flat.axes == sweep.axes[1:] and flat.verdict.shape == (7,)
    assert flat.quantities[0].middle.shape == (7,)
    assert "curves" in figures(sweep)


def test_ratios_stand_as_people_type_them():
    moisture = Axis("pins.moisture", "moisture of the pins", "ratio", np.array([0.005, 0.05]))
    friction = Axis("setting.stand_friction", "friction", "ratio", np.array([0.2, 0.5]))
    assert result.axis_scale(moisture).unit == "%"
    assert result.axis_scale(friction).text(0.35) == "0.350"
