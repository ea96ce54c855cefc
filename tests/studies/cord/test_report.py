"""The report of a cord: text, page, numbers, table and figures say what was found."""

from __future__ import annotations

import csv
import io
import json
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from baypulse.case import quantities
from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.show.figures import output
from baypulse.show.text import WIDE
from baypulse.studies.cord import figures as drawings
from baypulse.studies.cord import report
from baypulse.studies.cord import text as words
from baypulse.studies.cord.compute import cord
from baypulse.studies.cord.result import Cords
from baypulse.studies.run import figures as plot
from report_cases import BENCH

BRAKE = '\n[[brakes]]\nname = "tape <b> & folds"\ncount = 3\nforce = "60 N"\nstroke = "120 mm"\n'

# a charge that separates in every shot
SURE = BENCH.replace('mass = "1.00 g"', 'mass = "1.60 g"')

TEXTS = {
    "plain": SURE,
    "brake": SURE + BRAKE,
    "strong brake": SURE + BRAKE.replace('"60 N"', '"4 kN"').replace("count = 3", "count = 1"),
    "weak": SURE.replace("[cord]\n", '[cord]\nanchor_strength = "300 N"\n'),
    # a nose that slides along the ground
    "never pulls": SURE.replace('length = "4.5 m"', 'length = "150 m"')
    + "\n[setting]\nground_friction = 0.4\n",
}


@cache
def found(name: str) -> Cords:
    return cord(reads(TEXTS[name], name), wanted=3.0, members=64)


def flat(text: str) -> str:
    return " ".join(unescape(text).split())


@pytest.mark.parametrize("name", TEXTS)
def test_every_report_is_whole(name: str, tmp_path: Path) -> None:
    files = report.CORD.write(found(name), tmp_path / "report")
    assert {"index.html", "numbers.json", "cord.csv"} <= set(files)
    page = files["index.html"].read_text("utf-8")
    assert flat(CAUTION) in flat(page)
    assert "<script" not in page
    assert "<b> & folds" not in page
    numbers = json.loads(files["numbers.json"].read_text("utf-8"))
    assert numbers["caution"] == CAUTION
    assert numbers["study"] == "cord"
    # once more, over what stands there
    assert set(report.CORD.write(found(name), tmp_path / "report")) == set(files)
    for figure in ("margins", "brake"):
        assert (f"figures/{figure}.png" in files) == (figure in drawings.figures(found(name)))


@pytest.mark.parametrize("name", TEXTS)
def test_terminal_text_fits_and_cautions(name: str) -> None:
    text = report.summary(found(name))
    assert max(len(line) for line in text.splitlines()) <= WIDE
    assert flat(CAUTION) in flat(text)
    assert words.headline(found(name)).upper() in flat(text)


def test_text_says_load_strength_and_length() -> None:
    told = flat(report.summary(found("plain")))
    cords = found("plain")
    assert quantities.show(cords.nominal_load, "force") in told
    assert quantities.show(cords.links[0].strength, "force") in told
    for kind in cords.kinds:
        assert kind.name in told
        assert words.needed_text(cords, kind) in told


def test_headline_follows_the_margin() -> None:
    assert words.headline(found("plain")).startswith("The cord holds: margin")
    assert words.headline(found("weak")).startswith("The cord does not hold")
    assert words.headline(found("never pulls")) == "The sections come to rest before the cord pulls"
    weak = found("weak")
    assert weak.links[0].name == "anchor"
    assert weak.exceeded.share > 0.05
    assert weak.exceeded.share == weak.links[0].exceeded.share


def test_type_that_does_not_reach_the_margin_says_up_to_where() -> None:
    weak = found("weak")
    missing = [kind for kind in weak.kinds if kind.needed is None]
    assert missing
    sentence = words.length_sentence(weak, missing[0])
    assert "does not reach a margin of 3" in sentence
    assert quantities.show(weak.longest, "length") in sentence


def test_brake_is_told_by_stage() -> None:
    told = flat(" ".join(words.braking(found("brake"))))
    assert "the 3 stages take 21.6 J" in told
    assert [row[3].split(" (")[0] for row in words.stage_rows(found("brake"))] == ["7.20 J"] * 3
    assert "Warnings" in report.summary(found("strong brake"))
    assert "as an estimate" in flat(" ".join(words.braking(found("plain")))).lower()


def test_table_has_every_point_in_both_units() -> None:
    cords = found("plain")
    rows = list(csv.DictReader(io.StringIO(report.cord_csv(cords))))
    assert len(rows) == sum(len(kind.points) for kind in cords.kinds)
    for row in rows:
        # 1 ft = 0.3048 m and 1 lbf = 4.4482216152605 N by definition
        assert float(row["length_m"]) == pytest.approx(0.0254 * float(row["length_in"]), rel=1e-8)
        newtons = float(row["load_95_percent_below_N"])
        assert newtons == pytest.approx(
            4.4482216152605 * float(row["load_95_percent_below_lbf"]), rel=1e-8
        )
        margin = float(row["margin_of_95_percent_ratio"] or "inf")
        assert row["holds_wanted_margin"] == str(margin >= 3.0).lower()


def test_numbers_hold_what_was_found() -> None:
    cords = found("brake")
    numbers = report.cord_numbers(cords)
    assert numbers["loads"][2]["load_N"] == pytest.approx(cords.load.loads[2], rel=1e-8)
    assert [each["energy_J"] for each in numbers["stages"]] == pytest.approx([7.2] * 3)
    assert numbers["trial"] is None
    assert len(numbers["types"]) == len(cords.kinds)
    never = json.dumps(report.cord_numbers(found("never pulls")), allow_nan=False)
    assert '"margin_of_95_percent_ratio": null' in never


def test_figures_show_what_there_is() -> None:
    assert set(drawings.figures(found("brake"))) == {"margins", "stages", "brake"}
    assert set(drawings.figures(found("plain"))) == {"margins", "brake"}
    assert set(drawings.figures(found("never pulls"))) == {"margins"}
    text = output.svg(drawings.figures(found("plain"))["margins"])
    for kind in found("plain").kinds:
        assert f">{kind.name}<" in text
    assert ">wanted: 3<" in text


def test_run_of_a_case_with_a_brake_draws_its_load() -> None:
    assert "cord" in plot.names(found("brake").result)
    assert "cord" in plot.names(found("strong brake").result)
    assert output.png(plot.figure(found("strong brake").result, "cord")).startswith(b"\x89PNG")


def test_comparison_has_a_line_a_case() -> None:
    text = report.compare([found("plain"), found("weak"), found("brake")])
    for name in ("plain", "weak", "brake"):
        assert any(line.strip().startswith(name) for line in text.splitlines())
    assert max(len(line) for line in text.splitlines()) <= WIDE
    assert flat(CAUTION) in flat(text)


def test_folder_with_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(FileExistsError, match=r"notes\.txt"):
        report.CORD.write(found("plain"), tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]
