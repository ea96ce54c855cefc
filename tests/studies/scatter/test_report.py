import json
import re

import numpy as np
import pytest

import study_findings as made
from baypulse.case.model import Spread
from baypulse.members.chances import chance
from baypulse.run.result import VERDICTS
from baypulse.show import as_json, cells, folder, in_terminal
from baypulse.studies.scatter import words
from baypulse.studies.scatter.document import document
from baypulse.studies.scatter.influence import Influence, Swing
from baypulse.studies.scatter.rare import Rare
from baypulse.studies.scatter.result import Output
from report_cases import BENCH
from studies.run.test_report import Page
from studies.scatter.documents import HOSTILE, hostile


def numbers(scatter):
    """Return the numbers for programs, as they stand in the file."""
    return json.loads(as_json.text(as_json.numbers(document(scatter))))


def test_the_headline_says_how_often_it_opens_and_how_often_hard():
    assert words.headline(made.scatter()) == (
        "Separates in 96.0 % of 10,000 simulated shots (95.6 to 96.4), hard in under 4 %"
    )
    assert (
        words.headline(made.odd_scatter())
        == "Partial separation in over 96 % of the shots (all of 10,000 simulated shots)"
    )


def test_the_meaning_adds_up_verdicts():
    text = " ".join(words.meaning(made.scatter()))
    # 9430 + 170 come clear, 120 + 280 do not, of 10000
    assert "comes clear in 96.0 % (95.6 to 96.4), and separates too hard in under 4 %" in text
    assert (
        "does not separate in 4.0 % (3.6 to 4.4), one shot in 25: under 4 % do not separate and "
        "under 4 % separate only in part" in (text)
    )
    assert "Exceeded: separation velocity in under 4 %" in text
    assert "the parachute comes out in over 96 %" in text


def test_what_no_shot_did_is_told_as_counted():
    counts = dict.fromkeys(VERDICTS, 0) | {"separates": 300}
    rows = tuple(chance(name, count, 300) for name, count in counts.items())
    text = " ".join(words.meaning(made.changed(made.scatter(), verdicts=rows, members=300)))
    assert "No simulated shot separated too hard." in text
    assert "Every simulated shot separated." in text


@pytest.mark.parametrize(
    ("rare", "said"),
    [
        (Rare(1.2e-6, 8e-7, 1.9e-6, True, "", 300.0, 20_000, 55_000),
         "about 1 in 830,000 (1 in 530,000 to 1 in 1,200,000), by importance sampling with 55,000"),
        (Rare(0.25, 0.24, 0.26, True, "", 300.0, 20_000, 30_000), "is 25.0 % (24.0 to 26.0)"),
        (Rare(0.0, 0.0, 3e-4, False, "no member failed", 0.0, 10_000, 20_000),
         "not resolved: no member failed. By its count it is under 4 % at most."),
    ],
)  # fmt: skip
def test_a_rare_outcome_is_told_as_one_in_many(rare, said):
    scatter = made.changed(made.scatter(), rare=rare, rare_name="separates too hard")
    assert said in words.rare_sentence(scatter)
    assert said in " ".join(in_terminal.told(document(scatter)).split())


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
    (text,) = words.advice(scatter, output)
    assert text == (
        f"To narrow the greatest separation velocity, measure first: {labels[2]}. If it were "
        "known exactly, about 46 % (44 to 48) of the variance would go."
    )


def test_the_advice_says_when_inputs_act_together():
    scatter, output, labels = driven((0, 0.05, 0.75), (2, 0.25, 0.30), (3, 0.02, 0.35))
    text = " ".join(words.advice(scatter, output))
    assert "Inputs act together: one at a time they explain 32 % of the variance" in text
    assert f"{labels[0]} counts for 5 % alone and 75 % with others".lower() in text.lower()


def test_the_advice_is_silent_where_nothing_is_worth_measuring():
    scatter, output, _ = driven(*((k, 0.09, 0.11) for k in range(10)))
    text = " ".join(words.advice(scatter, output))
    assert text.startswith("No single measurement would say much more about the greatest separa")
    assert "9 % (7 to 11)" in text and "act together" not in text


def test_several_inputs_together_are_no_measurement():
    scatter, output, labels = driven(("all others together", 0.5, 0.6), (2, 0.3, 0.4))
    text = " ".join(words.advice(scatter, output))
    assert f"measure first: {labels[2]}. If it were known exactly, about 30 %" in text


def test_what_differs_from_pin_to_pin_is_not_measured_away():
    held = made.scatter().factors
    own = next(k for k, factor in enumerate(held) if len(factor.columns) > 1)
    scatter, output, labels = driven((own, 0.6, 0.65), (0, 0.3, 0.35))
    text = " ".join(words.advice(scatter, output))
    assert "differs from pin to pin" in text and f"Next: {labels[0]}, about 30 %" in text


def test_an_output_that_does_not_vary_gives_its_reason():
    (opens, *_) = made.odd_scatter().outputs
    assert words.advice(made.odd_scatter(), opens) == [
        "Whether the bay separates: it does not vary."
    ]


def test_every_input_that_scatters_is_listed_once_with_its_source():
    scatter = made.scatter()
    rows = numbers(scatter)["tables"]["inputs"]
    names = [row["name"] for row in rows]
    assert names.count("pull off") == 1
    pull_off = rows[names.index("pull off")]
    line = BENCH.splitlines().index('pull_off = { value = "22 N", spread = "20 %" }') + 1
    # a normal spread of 20 % of 22 N
    assert pull_off["value_N"] == 22.0
    assert pull_off["spread"] == "normal, 4.40 N (0.989 lbf), 20 %"
    assert pull_off["source"].startswith(f"case, line {line}")
    paths = words.scattered_paths(scatter.factors)
    assert len(rows) == len(paths) == len(set(paths))
    estimates = sum("estimate" in row["source"] for row in rows)
    assert estimates and f"{estimates}." in words.from_library(scatter)


@pytest.mark.parametrize(
    ("spread", "value", "dimension", "said"),
    [
        (Spread(distribution="normal", deviation=2.2), 22.0, "force",
         "normal, 2.20 N (0.495 lbf), 10 %"),
        (Spread(distribution="log-normal", deviation=0.02, low=0.01, high=0.1), 0.03, "time",
         "log-normal, 20.0 ms, 66.7 %, cut at 10.0 and 100 ms"),
        (Spread(distribution="uniform", low=0.01, high=0.02), 0.015, "length",
         "uniform, 10.0 to 20.0 mm (0.394 to 0.787 in)"),
        (Spread(distribution="sample", sample=(1.0, 3.0, 2.0)), 2.0, "force",
         "3 measured values, 1.00 to 3.00 N (0.225 to 0.674 lbf)"),
        (Spread(distribution="normal", deviation=5.0), 290.0, "temperature", "normal, 5.00 K"),
        (Spread(distribution="normal", deviation=0.1, group="batch", correlation=0.5), 1.0, "ratio",
         "normal, 0.100 (10 %), together with batch by 50 %"),
    ],
)  # fmt: skip
def test_a_spread_in_words(spread, value, dimension, said):
    assert words.spread_words(spread, value, dimension) == said


def test_members_stay_and_the_report_beside_them_is_replaced_whole(tmp_path):
    place = tmp_path / "a place 孔"
    members = place / "simulated-shots"
    members.mkdir(parents=True)
    (members / "part-000000.parquet").write_bytes(b"members")
    inode = (members / "part-000000.parquet").stat().st_ino
    first = folder.write(document(made.scatter()), place)
    assert "figures/bands.svg" in first
    second = folder.write(document(made.changed(made.scatter(), bands=(), outputs=())), place)
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
        folder.write(document(made.scatter()), tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(["simulated-shots", name])


def test_numbers_of_a_scatter_hold_the_findings():
    scatter = made.scatter()
    found = numbers(scatter)
    rows = {row["name"]: row for row in found["tables"]["chances"]}
    opens = rows["separates"]
    assert (opens["chance_count"], opens["chance_shots"], opens["chance_ratio"]) == (
        9430, 10_000, 0.943
    )  # fmt: skip
    assert rows["exceeds: separation velocity"]["chance_count"] == 170
    held = found["findings"]
    speed = next(row for row in held["distributions"] if row["name"] == "greatest_velocity")
    assert sum(speed["counts"]) == speed["happened"] == 9600
    median = speed["quantiles"][2]
    assert median["below_ratio"] == 0.5
    # a foot is 0.3048 m by definition
    assert median["value_ft_per_s"] * 0.3048 == pytest.approx(median["value_m_per_s"], rel=1e-8)
    assert median["value_m_per_s"] == pytest.approx(scatter.distributions[1].quantiles[2])
    told = {row["name"]: row for row in found["tables"]["numbers"]}["Greatest separation velocity"]
    assert told["median_m_per_s"] == median["value_m_per_s"] and told["happened_count"] == 9600
    band = held["bands"][0]
    assert np.allclose(band["below"][0]["values_Pa"], scatter.bands[0].values[0], rtol=1e-8)
    first = held["outputs"][1]["influences"][0]
    assert first["first_ratio"] == pytest.approx(scatter.outputs[1].influences[0].first)
    assert held["outputs"][1]["advice"] == words.advice(scatter, scatter.outputs[1])


def test_what_is_no_number_becomes_null_and_none():
    found = numbers(made.odd_scatter())
    assert found["findings"]["outputs"][1]["nominal_m_per_s"] is None
    quantiles = found["findings"]["distributions"][1]["quantiles"]
    assert quantiles[0]["value_m_per_s"] is None
    table = next(t for t in document(made.odd_scatter()).tables if t.name == "numbers")
    assert [cells.text(cell, column) for cell, column in
            zip(table.rows[1][2:], table.columns[2:], strict=True)] == ["none"] * 3  # fmt: skip


def test_what_to_measure_first_is_what_to_do_next():
    steps = document(made.scatter()).next_steps
    assert len(steps) == 2
    assert steps[1].startswith("To narrow the greatest separation velocity, measure first: ")


def test_text_of_the_case_cannot_become_markup(tmp_path):
    files = folder.write(document(hostile()), tmp_path / "r")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not {"script", "img", "iframe", "i"} & set(page.tags)
    for text in ("<script>alert(1)</script>", "<img src=x> & more", " ".join(HOSTILE.split())):
        assert text in page.text
