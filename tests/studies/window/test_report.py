import csv
import dataclasses
import io
import json
import math
import re

import numpy as np
import pytest

import window_findings as made
from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.members.chances import chance
from baypulse.show import text as show_text
from baypulse.show.data import to_json
from baypulse.studies.window import report as windows
from baypulse.studies.window import text as window_text
from baypulse.studies.window import trial_text
from baypulse.studies.window.compute import BACKUP_RULE, RECOMMENDED_RULE
from baypulse.studies.window.practice import far_from_practice
from baypulse.studies.window.result import Remedy
from baypulse.studies.window.trial_values import single
from report_cases import BENCH
from studies.run.test_report import Page
from studies.scatter.test_report import FLAT, UNITS, floats_with_names, whole

GRAIN = 64.79891e-6
"""[kg], exact by definition (NIST SP 811, App. B)."""


def flat(text):
    return " ".join(text.split())


def never(members):
    """Return the 95 % bound of what nothing showed: 1 - 0.025^(1/n), a closed form."""
    return 100.0 * (1.0 - 0.025 ** (1.0 / members))


def test_a_report_holds_a_whole_page_figures_numbers_and_the_curve(tmp_path):
    for make in (made.usual, made.empty, made.never_opens, made.of_cold_gas, made.single_failure):
        window = make()
        files = windows.WINDOW.write(window, tmp_path / make.__name__)
        assert {"index.html", "numbers.json", "window.csv", "figures/window.png"} <= set(files)
        assert all(path.stat().st_size > 300 for path in files.values())
        page = whole(files["index.html"])
        assert page.tags.count("svg") == len([f for f in files if f.endswith(".svg")])
        text = flat(page.text)
        for sentence in [window_text.headline(window), *window_text.answer(window),
                         *trial_text.rule_sentences(window), *window.warnings]:  # fmt: skip
            assert flat(sentence) in text
        json.loads(files["numbers.json"].read_text("utf-8"))


def test_the_summary_fits_the_terminal_and_ends_with_the_caution():
    for name, window in made.every():
        text = windows.summary(window)
        assert max(map(len, text.splitlines())) <= 88, name
        assert flat(text).endswith(FLAT)
        assert text.isascii() and text.endswith("\n")
        assert flat(window_text.headline(window)) in flat(text)


def test_the_headline_has_the_window_and_the_charge_to_prove_in_grams_and_grains():
    headline = window_text.headline(made.usual())
    match = re.fullmatch(
        r"Charge 0\.370 to 1\.06 g \(([\d.]+) to ([\d.]+) grain\); "
        r"ground-test charge 0\.630 g \(([\d.]+) grain\)", headline
    )  # fmt: skip
    grains = [float(text) for text in match.groups()]
    # three digits are right to half a unit of the last one, at most 0.5 %
    assert grains == pytest.approx([0.37e-3 / GRAIN, 1.06e-3 / GRAIN, 0.63e-3 / GRAIN], rel=5e-3)


@pytest.mark.parametrize(
    ("window", "words"),
    [
        (made.empty, "No charge opens this bay 99 % of the time without exceeding a limit"),
        (made.always_hard, "No charge opens this bay 99 % of the time without exceeding a limit"),
        (made.never_opens, "No charge up to 3.00 g (46.3 grain) opens this bay 99 % of the time"),
        (made.unlimited, "Charge 0.370 g (5.71 grain) or more; ground-test charge 0.630 g (9.72 "
                         "grain)"),
        (made.leaking,
         "No charge is recommended: this bay needs 3.00 g (46.3 grain) or more"),
        (made.of_cold_gas,
         "Fill pressure 107 psi (740 kPa) gauge or more; ground-test fill pressure 215 psi (1480 "
         "kPa) gauge"),
    ],
)  # fmt: skip
def test_the_headline_of_other_windows(window, words):
    assert window_text.headline(window()) == words


def test_no_charge_is_proposed_where_none_is_recommended():
    for make in (made.empty, made.always_hard, made.never_opens, made.leaking):
        text = windows.summary(make())
        assert (
            "ground-test charge 0" not in text
            and "Ground-test charge:" not in text
            and "Backup:" not in text
        )


def test_both_ends_come_with_their_chance_and_interval():
    least, most, own, others = window_text.answer(made.usual())
    # 2029 and 20 of 2048
    assert "Least: at 0.370 g (5.71 grain)" in least and "in 99.07 % of 2,048 shots" in least
    assert "within 0.355 to 0.389 g" in least
    assert "Most: at 1.06 g" in most and "in 0.98 % of 2,048 shots" in most
    assert "most often: separation velocity" in most
    assert own.startswith(
        "The case has 0.500 g (7.72 grain), within the window: it separates in all"
    )
    assert others.startswith("Backup: 0.790 g") and "common practice, no source" in others


@pytest.mark.parametrize(
    ("charge", "place"), [(0.2e-3, "below"), (0.6e-3, "within"), (1.3e-3, "above")]
)
def test_the_charge_of_the_case_has_its_place(charge, place):
    own = made.trial("as in the case", charge, 128)
    text = " ".join(window_text.answer(made.changed(made.usual(), curve=(own,))))
    assert f"{place} the window" in text


def test_an_end_that_the_shots_do_not_bound_says_so():
    edge = made.edge(0.4e-3, "separates", 2048)
    for low, high, words in (
        (0.38e-3, math.nan, "above 0.380 g (5.86 grain); how far"),
        (math.nan, 0.42e-3, "below 0.420 g (6.48 grain); how far"),
        (math.nan, math.nan, "So few shots give it no interval"),
    ):
        window = made.changed(made.usual(), least=made.changed(edge, low=low, high=high))
        assert words in " ".join(window_text.answer(window))


def test_an_empty_window_gives_its_reasons_and_what_would_open_it():
    window = made.empty()
    text = " ".join(window_text.answer(window))
    assert text.startswith(window.reasons[0])
    assert "2 pins in place of 3: 0.250 to 0.350 g (3.86 to 5.40 grain)" in text
    assert "tighter" not in text
    rows = {row[0]: row for row in window_text.remedy_rows(window)}
    # most over least: 0.30/0.37 as it is, 0.35/0.25 with fewer pins
    assert rows["as it is"][3] == "0.81"
    assert rows["2 pins in place of 3"][3:] == ("1.40", "opens a window")
    # 0.297/0.36 is 0.825, and 0.2/0.35 is 0.57, 1.4 times less than 0.81: neither is a window
    assert rows["vent of 2.24 mm in place of 3.20 mm"][4] == "still none; no clear effect"
    assert rows["a tighter fit"][4] == "still none; 1.4 times farther"
    assert rows["finer powder"][1] == "none" and "too seldom" in rows["finer powder"][4]


def test_changes_that_open_nothing_are_told():
    window = made.empty()
    none = made.changed(window, remedies=window.remedies[2:4])
    assert "None of the 2 changes tried opens a window" in " ".join(window_text.answer(none))
    one = made.changed(window, remedies=window.remedies[3:4])
    assert "The one change tried opens no window" in " ".join(window_text.answer(one))


def test_a_small_difference_of_few_shots_is_no_effect():
    window = made.narrow()
    # as it is 0.5/0.37 = 1.351; 0.5/0.36 is 2.8 % more, 0.5/0.25 is 48 % more
    assert [window_text.effect(window, each) for each in window.remedies] == [
        "1.5 times as wide", "no clear effect",
    ]  # fmt: skip
    assert window_text.effect(window, Remedy("x", 0.3e-3, None)) == "no limit is reached"
    # 0.42/0.4 is 1.05, 1.29 times less
    assert window_text.effect(window, Remedy("x", 0.4e-3, 0.42e-3)) == "1.3 times as narrow"
    assert window_text.effect(made.empty(), Remedy("x", 0.3e-3, 0.29e-3)) == (
        "still none; 1.2 times nearer"
    )
    assert window_text.effect(window, Remedy("x", 0.4e-3, 0.3e-3)) == "leaves no window"
    assert window_text.effect(made.always_hard(), Remedy("x", 0.4e-3, 0.3e-3)) == "still none"
    unlimited = made.changed(window, as_it_is=Remedy("as it is", 0.37e-3, None))
    assert window_text.effect(unlimited, Remedy("x", 0.4e-3, 0.9e-3)) == "a limit is reached"


def test_limits_not_reached_are_named_too():
    rows = window_text.limit_rows(made.usual())
    assert rows[0] == ("separation velocity", "1.04 g (16.0 grain)")
    assert [name for name, _ in rows] == [
        "separation velocity", "cord and anchors", "tube wall, hoop stress"
    ]  # fmt: skip
    assert rows[-1][1].startswith("not up to 2.32 g")


@pytest.mark.parametrize("members", [1, 8, 512, 2048])
def test_what_all_or_none_did_is_bounded(members):
    bound = never(members)
    none = show_text.often(chance("x", 0, members))
    found = float(re.search(r"at most ([\d.]+) %", none)[1])
    assert found == pytest.approx(bound, rel=0.03)
    every = show_text.often(chance("x", members, members))
    found = float(re.search(r"at least ([\d.]+) %", every)[1])
    assert 100.0 - found == pytest.approx(bound, rel=0.03)


def test_a_bay_that_failed_says_how_many_there_were_and_what_is_assumed():
    said = trial_text.notes(made.usual())["after failure"]
    assert said.startswith("Of 2,048 shots 8 failed to open with 0.630 g (9.72 grain)")
    # 3 of 8: Clopper and Pearson (1934), 8.52 to 75.5 %
    assert "opens 3 of those 8 (a chance of 8.5 to 75.5 %). So few say little." in said
    for words in ("gas has gone", "residue", "half burnt", "not modelled", "has not moved"):
        assert words in said
    one = trial_text.notes(made.single_failure())["after failure"]
    assert "Of 2,048 shots 1 failed" in one and "the backup opens it (a chance of 2.5 to" in one
    none = trial_text.notes(made.unlimited())["after failure"]
    assert "None of 2,048 shots failed to open" in none
    # 0.025^(1/2048) leaves 0.18 %
    assert never(2048) == pytest.approx(0.18, abs=0.005) and "at most 0.18 %" in none
    assert "none of 8" not in none


def test_both_at_once_are_told_not_to_fire_together_where_that_breaks_something():
    said = trial_text.notes(made.usual())
    assert "must not fire together" in said["both"]
    assert (
        RECOMMENDED_RULE in said["recommended"]
        and "1,024 shots drawn apart" in (said["recommended"])
    )
    assert said["backup"] == BACKUP_RULE and "common practice, no source" in BACKUP_RULE
    soft = made.changed(made.usual(), both=made.trial("both", 0.9e-3, 512))
    assert "must not" not in trial_text.notes(soft)["both"]
    gas = trial_text.notes(made.of_cold_gas())["both"]
    assert "two reservoirs at the mean of both pressures" in gas
    held = BENCH.replace("[bay]", '[holder]\nvolume = "2 cm^3"\nburst = "40 psig"\n'
                         'opening = "8 mm"\n\n[bay]', 1)  # fmt: skip
    window = made.changed(made.usual(), case=reads(held, "held"))
    assert "two holders" in trial_text.notes(window)["both"]


def test_the_static_rule_stands_beside_it_with_the_largest_terms():
    window = made.usual()
    text = " ".join(trial_text.rule_sentences(window))
    assert "common practice, no source" in text
    # 15 psi and the pins over the bore, times the empty tube, by R T of the rule
    usual = 1e3 * window.static_rule.empty.needed_mass
    assert f"takes {usual:.3f} g" in text and "times the ground-test charge" in text
    # made-up steps: 138 to 400 kPa, 340 to 260, 230 to 150
    assert "mixed with the bay's air at once: 38.0 psi (262 kPa) more" in text
    assert "11.6 psi (80.0 kPa) less" in text
    assert "vents" not in text
    # the rule asks for target and pins over the bore; the joint holds friction and pins
    assert "its target of 15.0 psi (103 kPa) and the pins over the bore" in text
    cold = " ".join(trial_text.rule_sentences(made.of_cold_gas()))
    assert "gives no fill for a cold gas" in cold and "The largest terms" in cold


@pytest.mark.parametrize(
    ("times", "words"),
    [
        (0.3, ("0.30 times the", "this joint gives way at", "by a luggage scale")),
        (0.6, None), (1.8, None),
        (2.5, ("2.5 times the", "hot gas and air that mix slowly, 11.6 psi", "a pressure gauge")),
    ],
)  # fmt: skip
def test_a_charge_far_from_practice_is_said_to_be_with_what_would_settle_it(times, words):
    window = made.usual()
    usual = window.static_rule.empty.needed_mass
    first = dataclasses.replace(window.recommended, charge=times * usual)
    said = far_from_practice(made.changed(window, recommended=first))
    if words is None:
        assert said is None
        return
    assert said is not None and all(word in said for word in words)
    assert "common practice, no source" in said
    assert said in window_text.answer(made.changed(window, recommended=first))
    # a gas has no such rule
    assert far_from_practice(made.of_cold_gas()) is None


def test_steps_of_the_bridge_add_up():
    bridge = made.usual().bridge
    total = sum(change for _, change in trial_text.steps(bridge))
    assert total == pytest.approx(bridge.steps[-1][1] - bridge.steps[0][1])


def test_ranges_stand_in_both_units():
    # a foot is 0.3048 m by definition
    assert trial_text.ranges((8.0, 10.0, 12.0), "velocity") == (
        "8.00 / 10.0 / 12.0 m/s (26.2 / 32.8 / 39.4 ft/s)"
    )
    assert trial_text.ranges(made.NAN3, "force") == "in no shot"


def test_the_comparison_has_a_row_for_each_case():
    found = [window for _, window in made.every()]
    text = windows.comparison(found)
    assert max(map(len, text.splitlines())) <= 88 and text.isascii()
    rows = [re.split(r"\s{2,}", line.strip()) for line in text.splitlines() if " g " in line
            or "psi  " in line]  # fmt: skip
    rows = [row for row in rows if row[0] in ("bench", "cold")]
    assert len(rows) == len(found)
    usual = 1e3 * made.usual().static_rule.empty.needed_mass
    assert rows[0] == ["bench", "0.370 g", "1.06 g", "0.630 g", f"{usual:.3f} g", "100 %",
                       "15.9 m/s", "separation velocity"]  # fmt: skip
    by_name = dict(zip([name for name, _ in made.every()], rows, strict=True))
    assert by_name["empty"][3] == "-" and by_name["empty"][-1] == "none: separation velocity"
    assert by_name["never_opens"][1] == "-" and by_name["never_opens"][-1] == "none: too seldom"
    assert by_name["unlimited"][2] == "-" and by_name["unlimited"][-1] == "no limit found"
    assert by_name["of_cold_gas"][:4] == ["cold", "107 psi", "-", "215 psi"]
    assert flat(text).endswith(FLAT)


def test_what_ends_a_window_goes_below_where_a_name_is_long():
    usual = made.usual()
    case = dataclasses.replace(usual.case, name="a-long-name-of-a-rocket-bay")
    text = windows.comparison([usual, made.changed(usual, case=case)])
    assert text.count("      ended by: separation velocity\n") == 2
    assert max(map(len, text.splitlines())) <= 88 and "..." not in text


@pytest.mark.parametrize("kind", ["usual", "empty", "never_opens", "of_cold_gas", "leaking"])
def test_numbers_are_json_with_a_unit_in_each_name(kind):
    found = json.loads(to_json(windows.window_numbers(dict(made.every())[kind])))
    assert found["study"] == "window" and found["caution"] == CAUTION
    assert len(found["sha256"]) == 64 and found["seed"] == 1
    found.pop("case")
    names = {name for name, _ in floats_with_names(found)}
    assert names and {name.rpartition("_")[2] for name in names} <= UNITS, names


def test_numbers_hold_the_findings():
    window = made.usual()
    found = json.loads(to_json(windows.window_numbers(window)))
    assert found["least"]["charge_kg"] == 0.37e-3 and found["least"]["charge_g"] == 0.37
    assert found["least"]["chance"]["count"] == 2029
    assert found["most"]["name"] == "separation velocity"
    assert found["recommended"]["charge_kg"] == 0.63e-3
    assert found["after_failure"]["separates"]["simulated_shots"] == 8
    assert found["static_rule"]["trial"]["name"] == "empty-bay rule"
    assert found["static_rule"]["note"] == "common practice, no source"
    assert len(found["curve"]) == len(window.curve) and found["runs"] == 12_345
    median = found["recommended"]["clear_velocity"][1]
    assert median["below_ratio"] == 0.5
    assert median["value_ft_per_s"] * 0.3048 == pytest.approx(median["value_m_per_s"], rel=1e-8)
    empty = json.loads(to_json(windows.window_numbers(made.empty())))
    assert empty["empty"] and empty["recommended"] is None
    assert empty["remedies"][1]["opens_window"] and empty["remedies"][4]["least_charge_kg"] is None
    cold = json.loads(to_json(windows.window_numbers(made.of_cold_gas())))
    assert cold["recommended"]["fill_pressure_Pa"] == 1.48e6
    assert cold["static_rule"]["empty_bay"]["needed_mass_kg"] is None


def test_the_curve_reads_back():
    window = made.usual()
    text = windows.window_csv(window)
    assert "\r" not in text
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == len(window.curve)
    for row, trial in zip(rows, window.curve, strict=True):
        assert float(row["charge_kg"]) == pytest.approx(trial.charge)
        assert float(row["charge_g"]) == pytest.approx(1e3 * trial.charge)
        assert int(row["simulated_shots"]) == 128
        assert float(row["chance_separates_ratio"]) == pytest.approx(trial.opens.share, abs=1e-9)
        assert float(row["chance_a_limit_is_exceeded_low_ratio"]) == pytest.approx(
            trial.fails_hard.low, abs=1e-9
        )
        assert float(row["peak_pressure_95_percent_Pa"]) == pytest.approx(trial.peak_pressure[2])
        assert float(row["chance_exceeded_separation_velocity_ratio"]) == pytest.approx(
            trial.limits[1].share
        )
    assert {name.rpartition("_")[2] for name in rows[0]} <= UNITS | {"shots"}
    charges = [float(row["charge_g"]) for row in rows]
    assert charges == sorted(charges)
    (first, *_) = csv.DictReader(io.StringIO(windows.window_csv(made.of_cold_gas())))
    assert first["fill_pressure_Pa"] == "600000"


def test_what_did_not_happen_is_an_empty_cell_and_null():
    window = made.never_opens()
    rows = list(csv.DictReader(io.StringIO(windows.window_csv(window))))
    assert all(row["clear_velocity_50_percent_m_per_s"] == "" for row in rows)
    found = windows.window_numbers(window)
    assert found["curve"][0]["greatest_velocity"][1]["value_m_per_s"] is None


def test_only_an_earlier_report_of_a_window_is_replaced(tmp_path):
    windows.WINDOW.write(made.usual(), tmp_path / "r")
    windows.WINDOW.write(made.unlimited(), tmp_path / "r")
    (tmp_path / "r" / "letter.txt").write_text("mine")
    with pytest.raises(FileExistsError, match=r"holds letter\.txt.*nothing is replaced"):
        windows.WINDOW.write(made.usual(), tmp_path / "r")
    assert "or more; ground-test charge" in (tmp_path / "r" / "index.html").read_text("utf-8")


def test_two_reports_of_one_window_are_the_same_bytes(tmp_path):
    one, two = (windows.WINDOW.write(made.empty(), tmp_path / name) for name in ("one", "two"))
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
    files = windows.WINDOW.write(window, tmp_path / "r")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not {"script", "img", "iframe", "i"} & set(page.tags)
    assert "<script>alert(1)</script>" in page.text
    rows = list(csv.reader(io.StringIO(files["window.csv"].read_text("utf-8"))))
    assert len({len(row) for row in rows}) == 1 and len(rows) == len(curve) + 1
    assert all(np.isfinite(float(cell)) for row in rows[1:] for cell in row if cell)


def test_each_single_charge_has_a_row_in_both_tables():
    window = made.usual()
    first = trial_text.chances_rows(window)
    second = trial_text.numbers_rows(window)
    assert len(first) == len(second) == len(single(window)) == 6
    assert first[0][0] == "ground test" and first[2][0] == "backup, the first having failed"
    assert first[3][4] == "separation velocity" and first[0][4] == "-"
