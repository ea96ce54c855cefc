"""What the page is told of a run is what the run gave, thinned and in people's units."""

import json
import warnings

import numpy as np
import pytest

from baypulse.case import quantities, static_rule
from baypulse.case.casefile import read
from baypulse.case.geometry import circle_area
from baypulse.case.held_value import with_value
from baypulse.errors import RangeWarning
from baypulse.live import band, drawing, form, ladder, quickness
from baypulse.live.answer import answer, points, readings
from baypulse.live.draft import draft_of
from baypulse.run.result import Verdict
from baypulse.run.simulation import simulate
from live.served import CASES

BENCH = read(CASES / "bench-76.toml")


@pytest.fixture(scope="module")
def run():
    return simulate(BENCH)


def test_curves_are_the_runs_own_points_in_the_units_of_their_axes(run):
    told = answer(run)["charts"]["pressure"]
    part = points(run)
    assert part.size <= 230
    assert told["line"]["x"] == pytest.approx(run.time[part] * 1e3, rel=1e-5)
    assert told["line"]["y"] == pytest.approx(run.gauge_pressure[part] / 1e3, rel=1e-5, abs=1e-9)
    assert told["x"]["label"].endswith("(ms)")
    assert told["y"]["label"].endswith("(kPa)")
    with quantities.written_in(quantities.US):
        psi = answer(run)["charts"]["pressure"]
    # 1 psi = 6894.757 Pa (NIST SP 811, from memory)
    assert psi["line"]["y"] == pytest.approx(
        run.gauge_pressure[part] / 6894.757, rel=1e-5, abs=1e-9
    )


def test_the_peak_is_among_the_points(run):
    highest = max(answer(run)["charts"]["pressure"]["line"]["y"])
    assert highest == pytest.approx(run.gauge_pressure.max() / 1e3, rel=1e-5)


def test_the_line_of_the_retention_is_force_over_bore(run):
    level = answer(run)["charts"]["pressure"]["levels"][0]
    force = run.numbers.pin_pressure * circle_area(0.076)
    # p = F / A of the bore alone
    assert level["at"] * 1e3 * np.pi * 0.076**2 / 4.0 == pytest.approx(force, rel=1e-5)
    assert (
        level["text"] == f"friction and pins {quantities.short(run.numbers.pin_pressure, 'stress')}"
    )


def test_every_point_has_its_reading(run):
    said = readings(run)
    assert len(said) == points(run).size
    k = int(np.argmax(run.gauge_pressure[points(run)]))
    peak = run.gauge_pressure[points(run)][k]
    assert quantities.short(float(peak), "gauge pressure") in said[k]


@pytest.mark.parametrize(
    "name", ["bench-76", "drogue-98", "thin-54", "cold-gas-98", "many-152", "high-76"]
)
def test_an_answer_is_json_and_carries_the_caution(name):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # the page says it beside the field
        told = answer(simulate(read(CASES / f"{name}.toml")))
    text = json.dumps(told, allow_nan=False)
    assert "Energetic charges burn, blind and maim" in text
    assert told["verdict"]["words"]
    for chart in told["charts"].values():
        for side in ("x", "y"):
            axis = chart[side]
            assert axis["low"] < axis["high"]
            assert len(axis["ticks"]) == len(axis["texts"]) >= 1
            assert [float(each) for each in axis["texts"]] == pytest.approx(axis["ticks"], abs=1e-6)


def test_the_drawing_escapes_what_a_file_says():
    text = (CASES / "bench-76.toml").read_text("utf-8").replace('"vent"', "'<script>\"&'")
    drawn = drawing.drawing(draft_of({"text": text}).case())
    assert "<script>" not in drawn
    assert "&lt;script&gt;" in drawn


def test_the_strip_agrees_with_single_shots_of_slow_and_quick_powder():
    told = ladder.strip(BENCH, lambda: False)
    steps = ladder.charges(BENCH)
    assert steps == sorted(steps)
    assert len(steps) == len(told["steps"]) == len(told["texts"])
    parts = {part["word"]: part for part in told["said"]}
    assert list(parts) == ["little", "test", "much"]
    low, high = parts["test"]["from"], parts["test"]["to"]

    def shot(index, end):
        case = quickness.held_at(with_value(BENCH, "powder.mass", steps[index]), end)
        return simulate(case)

    assert shot(low, -1.0).verdict.separated
    assert not shot(parts["little"]["to"], -1.0).verdict.separated
    assert shot(high, 1.0).verdict is Verdict.SEPARATES
    # beyond it a limit is exceeded, or it is more than twice the least
    beyond = parts["much"]["from"]
    assert shot(beyond, 1.0).verdict is Verdict.SEPARATES_TOO_HARD or (
        steps[beyond] > 2.0 * steps[low]
    )


def test_the_rules_charge_is_marked_where_it_stands():
    told = ladder.strip(BENCH, lambda: False)
    [mark] = told["marks"]
    case = BENCH
    # m = (p + pins / A) V / (R T) of the empty bay: the rule itself, by hand
    volume = circle_area(case.bay.bore) * (case.bay.tube_length - case.joint.shoulder_length)
    rule = simulate(case).rule
    mass = static_rule.charge_mass(rule.needed_pressure, volume)
    assert rule.empty.needed_mass == pytest.approx(mass)
    steps = ladder.charges(case)
    k = mark["at"] * (len(steps) - 1)
    assert steps[int(k)] <= mass <= steps[min(int(k) + 1, len(steps) - 1)]


def test_every_step_of_a_slider_is_read_as_it_stands():
    told = form.form(draft_of({"text": BENCH.source_text}), BENCH)
    for slider in told["sliders"]:
        for step in slider["steps"]:
            typed = {slider["path"]: step} if step else {slider["row"]: ""}
            draft_of({"text": BENCH.source_text, "typed": typed}).case()


def test_all_keys_of_a_case_are_on_the_page():
    from baypulse.case.casefile.keys import tables
    from baypulse.case.casefile.library_table import used_places

    told = form.form(draft_of({"text": BENCH.source_text}), BENCH)
    here = {(table["name"], key["name"]) for table in told["tables"] for key in table["keys"]}
    own = {(table.name, key) for table in tables().values() for key in table.keys}
    assert own <= here
    assert {f"{table}.{key}" for table, key in here - own} == {
        f"library.{place}" for place in used_places(BENCH)
    }


def test_slow_and_quick_are_the_tenths_of_the_librarys_spreads():
    from scipy.stats import norm

    assert norm.cdf(-quickness.TENTH) == pytest.approx(0.1, abs=1e-4)
    slow, quick = (quickness.factor(BENCH, end) for end in (-1.0, 1.0))
    assert slow * quick == pytest.approx(1.0)
    assert 0.5 < slow < 0.85


def test_the_band_holds_nine_in_ten_and_no_chance_is_surer_than_the_records(run):
    told = band.band(run, lambda: False)
    pressure = told["charts"]["pressure"]
    low, high = np.array(pressure["low"]), np.array(pressure["high"])
    assert np.all(low <= high)
    assert len(pressure["x"]) == low.size
    assert f"{band.SHOTS} simulated shots" in told["name"]
    assert quantities.RESTS_ON in told["said"]
    assert not any("100 %" in said or "100.0 %" in said for said in told["said"])


def test_a_stale_question_is_left():
    assert band.band(simulate(BENCH), lambda: True) is None
    assert ladder.strip(BENCH, lambda: True) is None
