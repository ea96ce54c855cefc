import csv
import io
import json
import math
import re
from pathlib import Path

import numpy as np
import pytest

import study_findings as made
from baypulse.case.casefile import reads
from baypulse.case.model import Spread
from baypulse.caution import CAUTION
from baypulse.members.chances import chance
from baypulse.members.factors import factors
from baypulse.run.result import VERDICTS
from baypulse.show.data import to_json
from baypulse.studies.scatter import data as scatter_data
from baypulse.studies.scatter import report as studies
from baypulse.studies.scatter import text as scatter_text
from baypulse.studies.scatter.influence import Influence, Swing
from baypulse.studies.scatter.rare import Rare
from baypulse.studies.scatter.result import Output
from baypulse.studies.sweep import data as sweep_data
from baypulse.studies.sweep import report
from baypulse.studies.sweep import text as sweep_text
from report_cases import BENCH
from studies.run.test_report import Page

FLAT = " ".join(CAUTION.split())
UNITS = {"Pa", "psi", "s", "m", "in", "N", "lbf", "J", "K", "degF", "kg", "g", "ratio", "m2", "in2",
         "m3", "in3", "1", "lb"}  # fmt: skip
"""Last parts of the units that stand at the end of a name."""


def scatters():
    yield made.scatter()
    yield made.odd_scatter()
    yield made.changed(made.scatter(), distributions=(), bands=(), outputs=(), limits=(),
                       contents=(), warnings=(), rare_name="separates too hard",
                       rare=Rare(1e-6, 8e-7, 2e-6, True, "", 300.0, 20_000, 55_000))  # fmt: skip


def every_sweep():
    yield from (made.sweep_of_one(), made.sweep_of_one(1), made.sweep_of_two())
    odd = made.odd_sweeps()
    yield from (odd["nothing happens"], odd["one column"], odd["one point"])


def whole(page):
    """Check that a page is whole and loads nothing, and return it."""
    text = page.read_text("utf-8")
    found = Page(text)
    assert found.open == [] and found.loads == []
    assert len(set(found.names)) == len(found.names)
    assert not {"script", "link", "img", "iframe"} & set(found.tags)
    assert "url(http" not in text and "@import" not in text
    assert found.text.count(FLAT) == 2
    return found


def test_a_scatter_report_holds_a_whole_page_figures_and_numbers(tmp_path):
    for k, scatter in enumerate(scatters()):
        files = studies.SCATTER.write(scatter, tmp_path / str(k))
        page = whole(files["index.html"])
        assert page.tags.count("svg") == len([f for f in files if f.endswith(".svg")])
        assert {"index.html", "numbers.json", "figures/chances.png"} <= set(files)
        assert all(path.stat().st_size > 500 for path in files.values())
        for sentence in [scatter_text.headline(scatter), *scatter_text.meaning(scatter)]:
            assert " ".join(sentence.split()) in page.text
        for warning in scatter.warnings:
            assert warning in page.text
        json.loads(files["numbers.json"].read_text("utf-8"))


def test_a_sweep_report_holds_a_whole_page_figures_and_the_table(tmp_path):
    for k, sweep in enumerate(every_sweep()):
        files = report.SWEEP.write(sweep, tmp_path / str(k))
        page = whole(files["index.html"])
        assert page.tags.count("svg") == len([f for f in files if f.endswith(".svg")])
        assert {"index.html", "numbers.json", "sweep.csv"} <= set(files)
        assert sweep_text.headline(sweep) in page.text
        json.loads(files["numbers.json"].read_text("utf-8"))


def test_texts_fit_the_terminal_and_end_with_the_caution():
    found = [scatter_text.summary(scatter) for scatter in scatters()]
    sweeps = [*every_sweep(), *made.odd_sweeps().values()]
    found += [sweep_text.summary(sweep) for sweep in sweeps]
    for text in found:
        assert max(map(len, text.splitlines())) <= 88
        assert " ".join(text.split()).endswith(FLAT)
        assert text.isascii() and text.endswith("\n")


def test_the_headline_says_how_often_it_opens_and_how_often_hard():
    assert scatter_text.headline(made.scatter()) == (
        "Separates in 96.0 % of 10,000 shots (95.6 to 96.4), hard in 1.7 %"
    )
    # 3.69e-4 is 1 - 0.025^(1/10000), the exact bound when nothing is seen (closed form)
    assert (
        scatter_text.headline(made.odd_scatter())
        == "Partial separation in all of 10,000 shots (at least 99.963 %)"
    )
    assert pytest.approx(3.69e-4, rel=1e-3) == 1.0 - 0.025**1e-4


def test_the_meaning_adds_up_verdicts():
    text = " ".join(scatter_text.meaning(made.scatter()))
    # 9430 + 170 come clear, 120 + 280 do not, of 10000
    assert "comes clear in 96.0 % (95.6 to 96.4), and separates too hard in 1.7 %" in text
    assert (
        "does not separate in 4.0 % (3.6 to 4.4), one shot in 25: 1.2 % do not separate and 2.8 % "
        "separate only in part" in (text)
    )
    assert "Exceeded: separation velocity in 1.7 %" in text
    assert "the parachute comes out in 99.38 %" in text


def test_what_no_shot_did_is_bounded():
    counts = dict.fromkeys(VERDICTS, 0) | {"separates": 300}
    rows = tuple(chance(name, count, 300) for name, count in counts.items())
    text = " ".join(scatter_text.meaning(made.changed(made.scatter(), verdicts=rows, members=300)))
    # 1 - 0.025^(1/300) = 1.22 %
    assert "No shot separated too hard: the chance of that is at most 1.2 %" in text
    assert "Every shot separated: the chance of that is at most 1.2 %" in text


@pytest.mark.parametrize(
    ("rare", "words"),
    [
        (Rare(1.2e-6, 8e-7, 1.9e-6, True, "", 300.0, 20_000, 55_000),
         "about 1 in 830,000 (1 in 530,000 to 1 in 1,200,000), by importance sampling with 55,000"),
        (Rare(0.25, 0.24, 0.26, True, "", 300.0, 20_000, 30_000), "is 25.0 % (24.0 to 26.0)"),
        (Rare(0.0, 0.0, 3e-4, False, "no member failed", 0.0, 10_000, 20_000),
         "not resolved: no member failed. It is at most 0.030 %"),
    ],
)  # fmt: skip
def test_a_rare_outcome_is_told_as_one_in_many(rare, words):
    scatter = made.changed(made.scatter(), rare=rare, rare_name="separates too hard")
    assert words in scatter_text.rare_sentence(scatter)
    assert words in " ".join(scatter_text.summary(scatter).split())


def driven(*rows, name="greatest_velocity"):
    """Return a study with one output and first and total indices of some factors."""
    held = made.scatter().factors
    influences = tuple(
        Influence(held[k].name if isinstance(k, int) else k, first, first - 0.02, first + 0.02,
                  total, total - 0.02, total + 0.02)
        for k, first, total in rows
    )  # fmt: skip
    swings = tuple(Swing(factor.name, 9.0, 11.0) for factor in held)
    output = Output(name, "greatest separation velocity", "velocity", 10.0, swings, influences, "")
    return made.changed(made.scatter(), outputs=(output,)), output, [each.label for each in held]


def test_the_advice_names_the_largest_first_order_index_and_what_would_go():
    scatter, output, labels = driven((0, 0.20, 0.75), (2, 0.46, 0.50), (3, 0.30, 0.35))
    (text,) = scatter_text.advice(scatter, output)
    assert text == (
        f"To narrow the greatest separation velocity, measure first: {labels[2]}. If it were "
        "known exactly, about 46 % (44 to 48) of the variance would go."
    )


def test_the_advice_says_when_inputs_act_together():
    scatter, output, labels = driven((0, 0.05, 0.75), (2, 0.25, 0.30), (3, 0.02, 0.35))
    text = " ".join(scatter_text.advice(scatter, output))
    assert "Inputs act together: one at a time they explain 32 % of the variance" in text
    assert f"{labels[0]} counts for 5 % alone and 75 % with others".lower() in text.lower()


def test_the_advice_is_silent_where_nothing_is_worth_measuring():
    scatter, output, _ = driven(*((k, 0.09, 0.11) for k in range(10)))
    text = " ".join(scatter_text.advice(scatter, output))
    assert text.startswith("No single measurement would say much more about the greatest separa")
    assert "9 % (7 to 11)" in text and "act together" not in text


def test_several_inputs_together_are_no_measurement():
    scatter, output, labels = driven(("all others together", 0.5, 0.6), (2, 0.3, 0.4))
    text = " ".join(scatter_text.advice(scatter, output))
    assert f"measure first: {labels[2]}. If it were known exactly, about 30 %" in text


def test_what_differs_from_pin_to_pin_is_not_measured_away():
    held = made.scatter().factors
    own = next(k for k, factor in enumerate(held) if len(factor.columns) > 1)
    scatter, output, labels = driven((own, 0.6, 0.65), (0, 0.3, 0.35))
    text = " ".join(scatter_text.advice(scatter, output))
    assert "differs from pin to pin" in text and f"Next: {labels[0]}, about 30 %" in text


def test_an_output_that_does_not_vary_gives_its_reason():
    (opens, *_) = made.odd_scatter().outputs
    assert scatter_text.advice(made.odd_scatter(), opens) == [
        "Whether the bay separates: it does not vary."
    ]


def test_every_input_that_scatters_is_listed_once_with_its_source():
    rows = scatter_text.scattered(made.scatter())
    names = [row[0] for row in rows]
    assert names.count("pull off") == 1
    pull_off = rows[names.index("pull off")]
    line = BENCH.splitlines().index('pull_off = { value = "22 N", spread = "20 %" }') + 1
    # a normal spread of 20 % of 22 N
    assert pull_off[2] == "normal, 4.40 N (0.989 lbf), 20 %"
    assert pull_off[3].startswith(f"case, line {line}")
    paths = scatter_text.scattered_paths(made.scatter().factors)
    assert len(rows) == len(paths) == len(set(paths))
    assert any("estimate" in row[3] for row in rows)
    assert f"{sum('estimate' in row[3] for row in rows)}." in scatter_text.from_library(
        made.scatter()
    )


@pytest.mark.parametrize(
    ("spread", "value", "dimension", "words"),
    [
        (Spread(distribution="normal", deviation=2.2), 22.0, "force",
         "normal, 2.20 N (0.495 lbf), 10 %"),
        (Spread(distribution="log-normal", deviation=0.02, low=0.01, high=0.1), 0.03, "time",
         "log-normal, 20.0 ms, 66.7 %, cut at 10.0 ms and 100 ms"),
        (Spread(distribution="uniform", low=0.01, high=0.02), 0.015, "length",
         "uniform, 10.0 mm (0.394 in) to 20.0 mm (0.787 in)"),
        (Spread(distribution="sample", sample=(1.0, 3.0, 2.0)), 2.0, "force",
         "3 measured values, 1.00 N (0.225 lbf) to 3.00 N (0.674 lbf)"),
        (Spread(distribution="normal", deviation=5.0), 290.0, "temperature", "normal, 5.00 K"),
        (Spread(distribution="normal", deviation=0.1, group="batch", correlation=0.5), 1.0, "ratio",
         "normal, 0.100 (10 %), together with batch by 50 %"),
    ],
)  # fmt: skip
def test_a_spread_in_words(spread, value, dimension, words):
    assert scatter_text.spread_words(spread, value, dimension) == words


def test_members_stay_and_the_report_beside_them_is_replaced_whole(tmp_path):
    place = tmp_path / "a place 孔"
    members = place / "simulated-shots"
    members.mkdir(parents=True)
    (members / "part-000000.parquet").write_bytes(b"members")
    inode = (members / "part-000000.parquet").stat().st_ino
    first = studies.SCATTER.write(made.scatter(), place)
    assert "figures/bands.svg" in first
    second = studies.SCATTER.write(made.changed(made.scatter(), bands=(), outputs=()), place)
    assert not (place / "figures" / "bands.svg").exists()
    assert (members / "part-000000.parquet").read_bytes() == b"members"
    assert (members / "part-000000.parquet").stat().st_ino == inode
    held = {p for p in place.rglob("*") if p.is_file()}
    assert held == set(second.values()) | {members / "part-000000.parquet"}
    assert [p.name for p in tmp_path.iterdir()] == [place.name]


@pytest.mark.parametrize("name", ["letter.txt", "curves.csv", "sweep.csv"])
def test_a_scatter_does_not_replace_what_is_not_its_own(name, tmp_path):
    (tmp_path / "simulated-shots").mkdir()
    (tmp_path / name).write_text("mine")
    with pytest.raises(FileExistsError, match=f"holds {re.escape(name)}.*nothing is replaced"):
        studies.SCATTER.write(made.scatter(), tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(["simulated-shots", name])


@pytest.mark.parametrize("name", ["simulated-shots", "curves.csv"])
def test_a_sweep_does_not_replace_what_is_not_its_own(name, tmp_path):
    (tmp_path / "index.html").write_text("")
    (tmp_path / name).write_text("mine")
    with pytest.raises(FileExistsError, match=f"holds {name}.*nothing is replaced"):
        report.SWEEP.check(tmp_path)


def test_a_page_or_figures_alone_may_be_anybodys(tmp_path):
    (tmp_path / "figures").mkdir()
    (tmp_path / "index.html").write_text("mine")
    for check in (studies.SCATTER.check, report.SWEEP.check):
        with pytest.raises(FileExistsError, match="something else than the report"):
            check(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(FileExistsError, match="is a file"):
        studies.SCATTER.check(tmp_path / "file")
    studies.SCATTER.check(tmp_path / "new")


def test_nothing_is_left_when_writing_stops_in_between(tmp_path, monkeypatch):
    place = tmp_path / "r"
    report.SWEEP.write(made.sweep_of_one(), place)
    before = {p: p.read_bytes() for p in place.rglob("*") if p.is_file()}
    write = Path.write_bytes

    def fail(self, data):
        if self.name == "numbers.json":
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(OSError, match="No space"):
        report.SWEEP.write(made.sweep_of_one(1), place)
    assert {p: p.read_bytes() for p in place.rglob("*") if p.is_file()} == before
    assert list(tmp_path.iterdir()) == [place]


def test_two_reports_of_one_study_are_the_same_bytes(tmp_path):
    for write, findings in (
        (studies.SCATTER.write, made.changed(made.scatter(), distributions=())),
        (report.SWEEP.write, made.sweep_of_one(1)),
    ):
        one, two = write(findings, tmp_path / "one"), write(findings, tmp_path / "two")
        assert list(one) == list(two)
        assert all(one[name].read_bytes() == two[name].read_bytes() for name in one)
        for name in ("one", "two"):
            for path in sorted((tmp_path / name).rglob("*"), reverse=True):
                path.rmdir() if path.is_dir() else path.unlink()


def floats_with_names(found, name=""):
    """Yield name and value of every number that is not whole, in lists by the list's name."""
    if isinstance(found, dict):
        for key, value in found.items():
            yield from floats_with_names(value, key)
    elif isinstance(found, list):
        for value in found:
            yield from floats_with_names(value, name)
    elif isinstance(found, float):
        yield name, found


@pytest.mark.parametrize("kind", ["scatter", "odd", "one", "two"])
def test_numbers_are_json_with_a_unit_in_each_name(kind):
    found = {
        "scatter": lambda: scatter_data.scatter_numbers(made.scatter()),
        "odd": lambda: scatter_data.scatter_numbers(made.odd_scatter()),
        "one": lambda: sweep_data.sweep_numbers(made.sweep_of_one()),
        "two": lambda: sweep_data.sweep_numbers(made.sweep_of_two()),
    }[kind]()
    found = json.loads(to_json(found))
    assert found["schema_version"] == 2 and found["caution"] == CAUTION
    assert found["study"] == ("sweep" if kind in ("one", "two") else "scatter")
    assert len(found["sha256"]) == 64 and found["seed"] == 1
    case = found.pop("case")
    assert case["source_text"] == BENCH
    names = {name for name, _ in floats_with_names(found)} - {"values", "effective_simulated_shots"}
    assert names and {name.rpartition("_")[2] for name in names} <= UNITS | {"K2", "K"}, names


def test_numbers_of_a_scatter_hold_the_findings():
    scatter = made.scatter()
    found = json.loads(to_json(scatter_data.scatter_numbers(scatter)))
    opens = next(row for row in found["verdicts"] if row["name"] == "separates")
    assert (opens["count"], opens["simulated_shots"], opens["share_ratio"]) == (9430, 10_000, 0.943)
    speed = next(row for row in found["distributions"] if row["name"] == "greatest_velocity")
    assert sum(speed["counts"]) == speed["happened"] == 9600
    median = speed["quantiles"][2]
    assert median["below_ratio"] == 0.5
    # a foot is 0.3048 m by definition
    assert median["value_ft_per_s"] * 0.3048 == pytest.approx(median["value_m_per_s"], rel=1e-8)
    assert median["value_m_per_s"] == pytest.approx(scatter.distributions[1].quantiles[2])
    band = found["bands"][0]
    assert np.allclose(band["below"][0]["values_Pa"], scatter.bands[0].values[0], rtol=1e-8)
    assert len(found["scattered"]) == len(scatter_text.scattered(scatter))
    first = found["outputs"][1]["influences"][0]
    assert first["first_ratio"] == pytest.approx(scatter.outputs[1].influences[0].first)
    assert found["outputs"][1]["advice"] == scatter_text.advice(scatter, scatter.outputs[1])


def test_what_is_no_number_becomes_null():
    found = scatter_data.scatter_numbers(made.odd_scatter())
    assert found["outputs"][1]["nominal_m_per_s"] is None
    assert found["distributions"][1]["quantiles"][0]["value_m_per_s"] is None
    sweep = sweep_data.sweep_numbers(made.sweep_of_one())
    speed = next(row for row in sweep["quantities"] if row["name"] == "greatest_velocity")
    assert speed["middle_m_per_s"][0] is None


def table(sweep):
    text = sweep_data.sweep_csv(sweep)
    assert "\r" not in text
    return list(csv.DictReader(io.StringIO(text)))


def test_the_table_of_a_sweep_has_a_row_a_point_and_units_in_its_names():
    sweep = made.sweep_of_two()
    rows = table(sweep)
    assert len(rows) == 21 * 7
    names = list(rows[0])
    assert names[:4] == ["powder.mass_kg", "powder.mass_g", "pins.count", "verdict"]
    assert all(
        name.endswith(("_kg", "_g", "_ratio", "_Pa", "_psi", "_m_per_s", "_ft_per_s", "_N", "_lbf"))
        for name in names
        if name not in ("verdict", "pins.count")
    )
    i, j = 9, 2
    row = rows[i * 7 + j]
    assert float(row["powder.mass_kg"]) == pytest.approx(sweep.axes[0].values[i])
    assert row["pins.count"] == "2" and row["verdict"] == VERDICTS[sweep.verdict[i, j]]
    by_name = {each.name: each for each in sweep.quantities}
    assert float(row["chance_separates_ratio"]) == pytest.approx(by_name["separates"].middle[i, j])
    assert float(row["cord_load_low_N"]) == pytest.approx(by_name["cord_load"].low[i, j])
    # a pound-force is 4.4482216152605 N by definition
    assert float(row["cord_load_lbf"]) * 4.4482216152605 == pytest.approx(float(row["cord_load_N"]))


def test_what_did_not_happen_is_an_empty_cell():
    rows = table(made.sweep_of_one(1))
    assert rows[0]["greatest_velocity_m_per_s"] == "" and rows[0]["verdict"] == "no separation"
    assert rows[-1]["greatest_velocity_m_per_s"] != ""
    assert "greatest_velocity_low_m_per_s" not in rows[0]


def test_crossings_lie_where_the_curve_passes_the_value():
    # by hand: a straight line from (0, 0) to (4, 8) passes 3 at 1.5
    x, y = np.array([0.0, 4.0]), np.array([0.0, 8.0])
    assert sweep_text.crossings(x, y, 3.0) == pytest.approx([1.5])
    y = np.array([0.0, math.nan])
    assert sweep_text.crossings(x, y, 3.0).size == 0


def test_the_sweep_says_where_chances_and_limits_are_reached():
    text = " ".join(sweep_text.meaning(made.sweep_of_one()))
    # the made-up chance is 1/(1 + exp(-(m - 0.35 g)/0.04 g)): 90 % at 0.35 + 0.04 ln 9 = 0.438 g;
    # the made-up speed 14 sqrt(m/0.5 g) m/s is 20 m/s at 0.5 (20/14)^2 = 1.02 g
    assert re.search(
        r"chance that it separates reaches 50 % at 0\.350 g .*?; 90 % at 0\.4[34]\d g", text
    )
    assert "reaches 20.0 m/s (65.6 ft/s), limit, at 1.02 g" in text
    sure = re.search(
        r"separates in 99 % .* hard in 1 % or less, from ([\d.]+) g .* to ([\d.]+) g", text
    )
    # from 0.35 + 0.04 ln 99 = 0.534 g to 1.1 - 0.06 ln 99 = 0.824 g; points are 0.035 g apart
    assert float(sure.group(1)) == pytest.approx(0.555) and float(sure.group(2)) == 0.8


def test_the_headline_of_a_sweep_says_where_it_opens():
    assert sweep_text.headline(made.sweep_of_one(1)) == (
        "Separates from 0.345 g (5.32 grain) to 1.08 g (16.7 grain)"
    )
    assert sweep_text.headline(made.sweep_of_one()).startswith("Mostly separates from 0.345 g")
    two = made.sweep_of_two(1)
    count = int((two.verdict == 2).sum())
    assert sweep_text.headline(two) == f"Separates at {count} of 147 points"
    nowhere = made.changed(two, verdict=two.verdict * 0)
    assert sweep_text.headline(nowhere).startswith("Separates nowhere")
    assert sweep_text.headline(made.odd_sweeps()["one column"]).endswith(
        "0 to 4 (count of the pins)"
    )


def test_the_map_of_the_terminal_has_a_letter_a_point():
    sweep = made.sweep_of_two()
    lines = sweep_text.summary(sweep).splitlines()
    rows = [line.split() for line in lines if re.match(r"\s+\d  [-.O#?]{21}$", line)]
    assert [row[0] for row in rows] == ["6", "5", "4", "3", "2", "1", "0"]
    letters = {code: sweep_text.LETTERS[name] for code, name in enumerate(VERDICTS)}
    assert rows[-1][1] == "".join(letters[code] for code in sweep.verdict[:, 0])


def test_text_of_the_case_cannot_become_markup(tmp_path):
    text = BENCH.replace("A bay for the tests", "<script>alert(1)</script> & <b>bold</b>")
    text = text.replace('name = "vent"', 'name = "<img src=x> & more"')
    text = text.replace('diameter = "3.2 mm"', 'diameter = { value = "3.2 mm", spread = "2 %" }')
    case = reads(text, "<i>name</i>")
    assert any("<img" in factor.label for factor in factors(case))
    limits = (chance("<iframe> limit", 1, 10),)
    scatter = made.changed(made.scatter(), case=case, factors=tuple(factors(case)), limits=limits,
                           warnings=("<img src=y>",))  # fmt: skip
    files = studies.SCATTER.write(scatter, tmp_path / "r")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not {"script", "img", "iframe", "i"} & set(page.tags)
    assert "<script>alert(1)</script>" in page.text and "<img src=x> & more" in page.text
    axis = made.changed(made.sweep_of_one().axes[0], label="<img src=z>")
    sweep = made.changed(made.sweep_of_one(), case=case, axes=(axis,))
    page = Page(report.SWEEP.write(sweep, tmp_path / "s")["index.html"].read_text("utf-8"))
    assert not {"script", "img", "i"} & set(page.tags) and "<img src=z>" in page.text
