"""What a charge window says, and its numbers and tables."""

import csv
import dataclasses
import io
import math
import re

import numpy as np
import pytest

import window_findings as made
from baypulse.case import quantities
from baypulse.case.casefile import reads
from baypulse.members.chances import chance
from baypulse.show import as_csv, as_json, folder, in_terminal
from baypulse.show.document import Said
from baypulse.show.figures.base import style
from baypulse.studies.window import trials, words
from baypulse.studies.window.comparison import bars, compare
from baypulse.studies.window.compute import BACKUP_RULE, RECOMMENDED_RULE
from baypulse.studies.window.document import document
from baypulse.studies.window.practice import far_from_practice
from baypulse.studies.window.result import Remedy
from report_cases import BENCH
from show.test_documents import Page

GRAIN = 64.79891e-6
"""[kg], exact by definition (NIST SP 811, App. B)."""


def tables(window):
    """Return the tables of a window as programs read them."""
    return as_json.numbers(document(window))["tables"]


def never(members):
    """Return the 95 % bound of what nothing showed: 1 - 0.025^(1/n), a closed form."""
    return 100.0 * (1.0 - 0.025 ** (1.0 / members))


def test_the_headline_has_the_window_and_the_charge_to_prove_in_grams_and_grains():
    headline = words.headline(made.usual())
    match = re.fullmatch(
        r"Charge 0\.370 to 1\.05 g \(([\d.]+) to ([\d.]+) grain\); "
        r"ground-test charge 0\.630 g \(([\d.]+) grain\)", headline
    )  # fmt: skip
    grains = [float(text) for text in match.groups()]
    # three digits are right to half a unit of the last one, at most 0.5 %
    assert grains == pytest.approx([0.37e-3 / GRAIN, 1.05e-3 / GRAIN, 0.63e-3 / GRAIN], rel=5e-3)


@pytest.mark.parametrize(
    ("window", "headline"),
    [
        (made.empty, "No charge opens this bay 99 % of the time without exceeding a limit"),
        (made.always_hard, "No charge opens this bay 99 % of the time without exceeding a limit"),
        (made.never_opens, "No charge up to 3.00 g (46.3 grain) opens this bay 99 % of the time"),
        (made.unlimited, "Charge 0.370 g (5.71 grain) or more; ground-test charge 0.630 g (9.72 "
                         "grain)"),
        (made.leaking,
         "No charge is recommended: this bay needs 3.00 g (46.3 grain) or more"),
        (made.of_cold_gas,
         "Fill pressure 740 kPa (107 psi) gauge or more; ground-test fill pressure 1480 kPa (215 "
         "psi) gauge"),
    ],
)  # fmt: skip
def test_the_headline_of_other_windows(window, headline):
    assert words.headline(window()) == headline


def test_both_ends_come_with_their_chance_and_interval():
    least, most, own, others = words.answer(made.usual())
    # 2029 and 20 of 2048
    assert (
        "Least: at 0.370 g (5.71 grain)" in least and "(99.07 % of 2,048 simulated shots)" in least
    )
    assert "in over 96 % of the shots" in least
    assert "within 0.355 to 0.389 g" in least
    assert "Most: at 1.06 g" in most and "(0.98 % of 2,048 simulated shots)" in most
    assert "most often: separation velocity" in most
    assert own.startswith(
        "The case has 0.500 g (7.72 grain), within the window: it separates in over 96 % of the "
        "shots (all of "
    )
    assert others.startswith("Backup: 0.790 g") and "common practice, no source" in others


@pytest.mark.parametrize(
    ("charge", "place"), [(0.2e-3, "below"), (0.6e-3, "within"), (1.3e-3, "above")]
)
def test_the_charge_of_the_case_has_its_place(charge, place):
    own = made.trial("as in the case", charge, 128)
    text = " ".join(words.answer(made.changed(made.usual(), curve=(own,))))
    assert f"{place} the window" in text


def test_an_end_that_the_shots_do_not_bound_says_so():
    edge = made.edge(0.4e-3, "separates", 2048)
    for low, high, told in (
        (0.38e-3, math.nan, "above 0.380 g (5.86 grain); how far"),
        (math.nan, 0.42e-3, "below 0.420 g (6.48 grain); how far"),
        (math.nan, math.nan, "So few shots give it no interval"),
    ):
        window = made.changed(made.usual(), least=made.changed(edge, low=low, high=high))
        assert told in " ".join(words.answer(window))


def test_an_empty_window_gives_its_reasons_and_what_would_open_it():
    window = made.empty()
    text = " ".join(words.answer(window))
    assert text.startswith(window.reasons[0])
    assert "2 pins in place of 3: 0.250 to 0.350 g (3.86 to 5.40 grain)" in text
    assert "tighter" not in text
    rows = {row["change"]: row for row in tables(window)["changes"]}
    # most over least: 0.30/0.37 as it is, 0.35/0.25 with fewer pins
    assert rows["as it is"]["most_over_least_ratio"] == pytest.approx(0.81, abs=0.005)
    fewer = rows["2 pins in place of 3"]
    assert fewer["most_over_least_ratio"] == pytest.approx(1.4)
    assert fewer["effect"] == "opens a window"
    # 0.297/0.36 is 0.825, and 0.2/0.35 is 0.57, 1.4 times less than 0.81: neither is a window
    effects = {name: row["effect"] for name, row in rows.items()}
    assert effects["vent of 2.24 mm in place of 3.20 mm"] == "still none; no clear effect"
    assert effects["a tighter fit"] == "still none; 1.4 times farther"
    assert rows["finer powder"]["least_charge_kg"] is None
    assert "too seldom" in effects["finer powder"]


def test_changes_that_open_nothing_are_told():
    window = made.empty()
    none = made.changed(window, remedies=window.remedies[2:4])
    assert "None of the 2 changes tried opens a window" in " ".join(words.answer(none))
    one = made.changed(window, remedies=window.remedies[3:4])
    assert "The one change tried opens no window" in " ".join(words.answer(one))


def test_a_small_difference_of_few_shots_is_no_effect():
    window = made.narrow()
    # as it is 0.5/0.37 = 1.351; 0.5/0.36 is 2.8 % more, 0.5/0.25 is 48 % more
    assert [words.effect(window, each) for each in window.remedies] == [
        "1.5 times as wide", "no clear effect",
    ]  # fmt: skip
    assert words.effect(window, Remedy("x", 0.3e-3, None)) == "no limit is reached"
    # 0.42/0.4 is 1.05, 1.29 times less
    assert words.effect(window, Remedy("x", 0.4e-3, 0.42e-3)) == "1.3 times as narrow"
    assert words.effect(made.empty(), Remedy("x", 0.3e-3, 0.29e-3)) == (
        "still none; 1.2 times nearer"
    )
    assert words.effect(window, Remedy("x", 0.4e-3, 0.3e-3)) == "leaves no window"
    assert words.effect(made.always_hard(), Remedy("x", 0.4e-3, 0.3e-3)) == "still none"
    unlimited = made.changed(window, as_it_is=Remedy("as it is", 0.37e-3, None))
    assert words.effect(unlimited, Remedy("x", 0.4e-3, 0.9e-3)) == "a limit is reached"


@pytest.mark.parametrize("members", [1, 8, 512, 2048])
def test_what_all_or_none_did_is_bounded(members):
    bound = never(members)
    none = quantities.often(chance("x", 0, members))
    # by the count, or by the records where those support less
    least = 100.0 * (1.0 - quantities.SUPPORTED)
    assert int(re.search(r"under (\d+) %", none)[1]) == math.ceil(max(bound, least))
    every = quantities.often(chance("x", members, members))
    assert int(re.search(r"over (\d+) %", every)[1]) == math.floor(100.0 - max(bound, least))


def test_a_bay_that_failed_says_how_many_there_were_and_what_is_assumed():
    said = trials.notes(made.usual())["after failure"]
    assert said.startswith("Of 2,048 simulated shots 8 failed to open with 0.630 g (9.72 grain)")
    # 3 of 8: Clopper and Pearson (1934), 8.52 to 75.5 %
    assert "opens 3 of those 8 (a chance of 37.5 % (8.5 to 75.5)). So few say little." in said
    for word in ("gas has gone", "residue", "half burnt", "not modelled", "has not moved"):
        assert word in said
    one = trials.notes(made.single_failure())["after failure"]
    assert "Of 2,048 simulated shots 1 failed" in one
    # 0.025 is left by one of one: Clopper and Pearson
    assert "the backup opens it (a chance of over 2 %)" in one
    none = trials.notes(made.unlimited())["after failure"]
    assert "None of 2,048 simulated shots failed to open" in none
    assert "none of 8" not in none


def test_both_at_once_are_told_not_to_fire_together_where_that_breaks_something():
    said = trials.notes(made.usual())
    assert "must not fire together" in said["both"]
    assert (
        RECOMMENDED_RULE in said["recommended"]
        and "1,024 simulated shots drawn apart" in (said["recommended"])
    )
    assert said["backup"] == BACKUP_RULE and "common practice, no source" in BACKUP_RULE
    soft = made.changed(made.usual(), both=made.trial("both", 0.9e-3, 512))
    assert "must not" not in trials.notes(soft)["both"]
    gas = trials.notes(made.of_cold_gas())["both"]
    assert "two reservoirs at the mean of both pressures" in gas
    held = BENCH.replace("[bay]", '[holder]\nvolume = "2 cm^3"\nburst = "40 psig"\n'
                         'opening = "8 mm"\n\n[bay]', 1)  # fmt: skip
    window = made.changed(made.usual(), case=reads(held, "held"))
    assert "two holders" in trials.notes(window)["both"]


def test_the_static_rule_stands_beside_it_with_the_largest_terms():
    window = made.usual()
    text = " ".join(trials.rule_sentences(window))
    assert "common practice, no source" in text
    # 15 psi and the pins over the bore, times the empty tube, by R T of the rule
    usual = 1e3 * window.static_rule.empty.needed_mass
    assert f"takes {usual:.3f} g" in text and "times the ground-test charge" in text
    # made-up steps: 138 to 400 kPa, 340 to 260, 230 to 150
    assert "mixed with the bay's air at once: 262 kPa (38.0 psi) more" in text
    assert "80.0 kPa (11.6 psi) less" in text
    assert "vents" not in text
    # the rule asks for target and pins over the bore; the joint holds friction and pins
    assert "its target of 103 kPa (15.0 psi) and the pins over the bore" in text
    cold = " ".join(trials.rule_sentences(made.of_cold_gas()))
    assert "gives no fill for a cold gas" in cold and "The largest terms" in cold


@pytest.mark.parametrize(
    ("times", "told"),
    [
        (0.3, ("0.30 times the", "this joint gives way at", "by a luggage scale")),
        (0.6, None), (1.8, None),
        (2.5, ("2.5 times the", "hot gas and air that mix slowly, 80.0 kPa", "a pressure gauge")),
    ],
)  # fmt: skip
def test_a_charge_far_from_practice_is_said_to_be_with_what_would_settle_it(times, told):
    window = made.usual()
    usual = window.static_rule.empty.needed_mass
    first = dataclasses.replace(window.recommended, charge=times * usual)
    said = far_from_practice(made.changed(window, recommended=first))
    if told is None:
        assert said is None
        return
    assert said is not None and all(word in said for word in told)
    assert "common practice, no source" in said
    assert said in words.answer(made.changed(window, recommended=first))
    # a gas has no such rule
    assert far_from_practice(made.of_cold_gas()) is None


def test_steps_of_the_breakdown_add_up():
    breakdown = made.usual().breakdown
    total = sum(change for _, change in trials.steps(breakdown))
    assert total == pytest.approx(breakdown.steps[-1][1] - breakdown.steps[0][1])


def test_limits_not_reached_are_named_too():
    rows = tables(made.usual())["limits"]
    assert rows[0]["name"] == "separation velocity" and rows[0]["charge_g"] == 1.04
    assert [row["name"] for row in rows] == [
        "separation velocity", "cord and anchors", "tube wall, hoop stress"
    ]  # fmt: skip
    assert rows[-1]["charge_said"].startswith("not up to 2.32 g")


def test_the_comparison_has_a_row_for_each_case():
    found = compare([window for _, window in made.every()])
    times = made.usual().recommended.charge / made.usual().static_rule.empty.needed_mass
    rows = {
        name: dict(zip([column.name for column in found.columns], row, strict=True))
        for (name, _), row in zip(made.every(), found.rows, strict=True)
    }
    usual = {name: cell.text if isinstance(cell, Said) else cell
             for name, cell in rows["usual"].items()}  # fmt: skip
    assert usual == {
        "case": "bench", "ground_test": "0.630 g",
        # a scale shows steps of 0.05 g there, and the most is rounded to the safe side
        "window": "0.370 to 1.05 g",
        "separates": "over 96 %", "rests_on": "no shot", "of_the_rule": f"{times:.2g}",
        "next": "plan",
    }  # fmt: skip
    assert rows["empty"]["window"] == rows["never_opens"]["window"] == "none"
    assert rows["empty"]["ground_test"] is None and rows["empty"]["next"] == "check"
    assert rows["unlimited"]["window"] == "0.370 g or more"
    assert rows["of_cold_gas"]["ground_test"].text.endswith(" kPa")
    assert rows["of_cold_gas"]["of_the_rule"] is None


@pytest.mark.parametrize(("times", "told"), [(0.3, "far: 0.30"), (1.0, "1.0"), (2.5, "far: 2.5")])
def test_the_comparison_marks_what_is_far_from_practice(times, told):
    window = made.usual()
    charge = times * window.static_rule.empty.needed_mass
    first = made.trial("recommended", charge, 1024)
    (row,) = compare([made.changed(window, recommended=first)]).rows
    assert row[5].text == told


def test_the_comparison_fits_the_terminal_with_a_line_a_bay():
    found = compare([window for _, window in made.every()])
    lines = in_terminal.comparison(found).splitlines()
    heads = [line for line in lines if line.startswith("    bench  ")]
    assert len(heads) == sum(row[0] == "bench" for row in found.rows)
    assert max(map(len, lines)) <= 88


def test_the_figure_of_all_windows_has_a_row_a_bay_and_a_scale_for_each_kind():
    windows = [window for _, window in made.every()]
    with style():
        figure = bars(windows)
    kinds = {window.dimension for window in windows}
    assert len(figure.axes) == len(kinds) == 2
    names = [text.get_text() for axes in figure.axes for text in axes.texts]
    assert sum(name in ("bench", "cold") for name in names) == len(windows)
    diamonds = [
        line for axes in figure.axes for line in axes.lines if line.get_marker() == "D"
    ]  # fmt: skip
    # the rule has no charge of a cold gas; the scale is a logarithm of grams
    assert len(diamonds) == sum(window.dimension == "mass" for window in windows)
    usual = made.usual().static_rule.empty.needed_mass
    assert diamonds[0].get_xdata()[0] == pytest.approx(math.log10(1e3 * usual))


def test_numbers_hold_the_findings():
    window = made.usual()
    found, shown = document(window).findings, tables(window)
    assert found["least"]["charge_kg"] == 0.37e-3 and found["least"]["charge_g"] == 0.37
    assert found["least"]["chance"]["count"] == 2029
    assert found["most"]["name"] == "separation velocity" and found["runs"] == 12_345
    assert found["static_rule"]["note"] == "common practice, no source"
    charges = {row["name"]: row for row in shown["charges"]}
    assert charges["ground test"]["charge_kg"] == 0.63e-3
    assert charges["ground test"]["most_often"] is None
    assert charges["backup, the first having failed"]["separates_shots"] == 8
    assert charges["both at once"]["most_often"] == "separation velocity"
    assert len(charges) == len(shown["numbers"]) == 6
    speeds = shown["numbers"][0]
    assert speeds["clear_velocity_50_percent_below_ft_per_s"] * 0.3048 == pytest.approx(
        speeds["clear_velocity_50_percent_below_m_per_s"], rel=1e-8
    )
    empty = document(made.empty())
    assert empty.findings["empty"] and "ground test" not in {row[0] for row in empty.first.rows}
    cold = document(made.of_cold_gas())
    assert cold.findings["static_rule"]["empty_bay"]["needed_mass_kg"] is None
    assert tables(made.of_cold_gas())["charges"][0]["fill_pressure_Pa"] == 1.48e6


def test_the_curve_reads_back():
    window = made.usual()
    rows = list(csv.DictReader(io.StringIO(as_csv.text(document(window).files["window.csv"]))))
    assert len(rows) == len(window.curve)
    for row, trial in zip(rows, window.curve, strict=True):
        assert float(row["charge_kg"]) == pytest.approx(trial.charge)
        assert float(row["charge_g"]) == pytest.approx(1e3 * trial.charge)
        assert int(row["separates_shots"]) == 128
        assert float(row["separates_ratio"]) == pytest.approx(trial.opens.share, abs=1e-9)
        assert float(row["a_limit_is_exceeded_low_ratio"]) == pytest.approx(
            trial.fails_hard.low, abs=1e-9
        )
        assert float(row["peak_pressure_95_percent_below_Pa"]) == pytest.approx(
            trial.peak_pressure[2]
        )
        assert float(row["exceeded_separation_velocity_ratio"]) == pytest.approx(
            trial.limits[1].share
        )
    charges = [float(row["charge_g"]) for row in rows]
    assert charges == sorted(charges)


def test_what_did_not_happen_is_an_empty_cell_and_null():
    window = made.never_opens()
    rows = list(csv.DictReader(io.StringIO(as_csv.text(document(window).files["window.csv"]))))
    assert all(row["clear_velocity_50_percent_below_m_per_s"] == "" for row in rows)
    first = tables(window)["curve"][0]
    assert first["greatest_velocity_50_percent_below_m_per_s"] is None


def test_two_reports_of_one_window_are_the_same_bytes(tmp_path):
    one, two = (folder.write(document(made.empty()), tmp_path / name) for name in ("one", "two"))
    assert all(one[name].read_bytes() == two[name].read_bytes() for name in one)


def test_text_of_the_case_cannot_become_markup(tmp_path):
    text = BENCH.replace("A bay for the tests", "<script>alert(1)</script> & <b>bold</b>")
    hostile = '<img src=x>, "quoted"\nand a line'
    curve = tuple(made.changed(trial, limits=(chance(hostile, 1, 128),))
                  for trial in made.usual().curve)  # fmt: skip
    window = made.changed(
        made.empty(), case=reads(text, "<i>name</i>"), curve=curve,
        limits=(made.edge(1e-3, hostile, 1, 128),), warnings=(hostile,),
        most=made.edge(0.3e-3, hostile, 20), reasons=(hostile,),
        remedies=(Remedy(hostile, 0.2e-3, 0.3e-3),),
    )  # fmt: skip
    files = folder.write(document(window), tmp_path / "r")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not {"script", "img", "iframe", "i"} & set(page.tags)
    assert "<script>alert(1)</script>" in page.text
    rows = list(csv.reader(io.StringIO(files["window.csv"].read_text("utf-8"))))
    assert len({len(row) for row in rows}) == 1 and len(rows) == len(curve) + 1
    assert all(np.isfinite(float(cell)) for row in rows[1:] for cell in row if cell)
