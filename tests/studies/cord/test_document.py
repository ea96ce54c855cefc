"""What the document of a cord says of what was found."""

from __future__ import annotations

import csv
import io

import pytest

from baypulse.show import as_csv, as_json, figure_files, in_terminal
from baypulse.show.figures.cord_load import cord_load
from baypulse.studies.cord import figures, words
from baypulse.studies.cord.document import compare, document
from cord_findings import found


def flat(text: str) -> str:
    return " ".join(text.split())


def test_headline_follows_the_margin() -> None:
    assert words.headline(found("plain")).startswith("The cord holds: margin")
    assert words.headline(found("weak")).startswith("The cord does not hold")
    assert words.headline(found("never pulls")) == "The sections come to rest before the cord pulls"
    weak = found("weak")
    assert weak.links[0].name == "anchor"
    assert weak.exceeded.share > 0.05
    assert weak.exceeded.share == weak.links[0].exceeded.share


def test_what_to_do_is_said_of_a_weak_cord_only() -> None:
    assert document(found("weak")).next_steps == (
        "Take a stronger anchor: it is the weakest of all in series.",
    )
    assert not document(found("plain")).next_steps


def test_type_that_does_not_reach_the_margin_says_up_to_where() -> None:
    weak = found("weak")
    missing = [kind for kind in weak.kinds if kind.needed is None]
    assert missing
    sentence = words.length_sentence(weak, missing[0])
    assert "does not reach a margin of 3" in sentence
    # four times the 4.5 m of the case
    assert "up to 18.0 m (59.1 ft)" in sentence


def test_brake_is_told_by_stage() -> None:
    brake = document(found("brake"))
    told = flat(in_terminal.told(brake, full=True))
    # 60 N over 120 mm is 7.2 J a stage, 1 ft lbf = 1.3558 J
    assert "the 3 stages take 21.6 J (15.9 ft lbf)" in told
    assert told.count("7.20 J") >= 3
    rows = as_json.numbers(brake)["tables"]["stages"]
    assert [row["energy_J"] for row in rows] == pytest.approx([7.2] * 3)
    assert brake.findings["tried_stage_force_N"] is None
    assert "would not tear" in document(found("strong brake")).warnings[0]
    assert "As an estimate" in words.braking(found("plain"))[0]


def test_table_has_every_point_in_both_units() -> None:
    cords = found("plain")
    rows = list(csv.DictReader(io.StringIO(as_csv.text(document(cords).files["cord.csv"]))))
    assert len(rows) == sum(len(kind.points) for kind in cords.kinds) + len(cords.brakes) - 1
    assert sorted(int(row["stages"]) for row in rows)[-6:] == [1, 2, 3, 4, 5, 6]
    for row in rows:
        # 1 ft = 0.3048 m and 1 lbf = 4.4482216152605 N by definition
        assert float(row["length_m"]) == pytest.approx(0.0254 * float(row["length_in"]), rel=1e-8)
        newtons = float(row["load_95_percent_below_N"])
        assert newtons == pytest.approx(
            4.4482216152605 * float(row["load_95_percent_below_lbf"]), rel=1e-8
        )
        margin = float(row["margin_of_95_percent_ratio"] or "inf")
        assert row["holds_wanted_margin"] == str(margin >= 3.0).lower()


def test_a_cord_that_never_pulls_has_no_margin() -> None:
    never = document(found("never pulls"))
    assert never.findings["margin_of_95_percent_ratio"] is None
    assert [row["margin_of_95_percent_ratio"] for row in as_json.numbers(never)["tables"]["brakes"]
            ] == [None]  # fmt: skip


def test_figures_show_what_there_is() -> None:
    shown = {name: [figure.name for figure in document(found(name)).figures]
             for name in ("brake", "plain", "never pulls")}  # fmt: skip
    assert shown == {
        "brake": ["cord", "margins", "stages", "brake"], "plain": ["cord", "margins", "brake"],
        "never pulls": ["margins"],
    }  # fmt: skip
    text = figure_files.svg(figures.margins(found("plain")))
    for kind in found("plain").kinds:
        assert f">{kind.name}<" in text
    assert ">wanted: 3<" in text


def test_load_of_a_brake_that_holds_is_drawn_without_a_taut_cord() -> None:
    text = figure_files.svg(cord_load(found("strong brake").result))
    assert ">peak 4000 N<" in text and ">(899 lbf)<" in text  # below each other


def test_comparison_has_a_line_a_case() -> None:
    table = compare([found("plain"), found("weak"), found("brake")])
    assert [row[0] for row in table.rows] == ["plain", "weak", "brake"]
    told = in_terminal.comparison(table)
    assert "not up to 18.0 m (59.1 ft)" in flat(told)
    assert max(map(len, told.splitlines())) <= 88
