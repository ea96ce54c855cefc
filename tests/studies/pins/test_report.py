"""Pins against charge, as figures, page, numbers and table."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from functools import cache
from html import unescape

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.run.result import Verdict
from baypulse.show.data import to_json
from baypulse.show.figures import output
from baypulse.studies.pins import figures as drawn
from baypulse.studies.pins import report as pin_report
from baypulse.studies.pins import text as pin_text
from baypulse.studies.pins.compute import PinStudy, pins
from report_cases import BENCH

FLAT_CAUTION = " ".join(CAUTION.split())


@cache
def study() -> PinStudy:
    return pins(reads(BENCH, "bench"), counts=(0, 3, 8), threads=("#2-56", "#4-40"), members=24)


def test_every_cell_is_a_row_of_the_table() -> None:
    rows = list(csv.DictReader(io.StringIO(pin_report.pins_csv(study()))))
    assert len(rows) == 2 * 3 * study().charges.size
    spot = study().maps[1].spots[2][5]
    row = next(
        row for row in rows
        if (row["pins"], row["count"]) == ("#4-40", "8")
        and float(row["charge_kg"]) == pytest.approx(spot.trial.charge)
    )  # fmt: skip
    assert float(row["separates_ratio"]) == spot.trial.opens.share
    assert float(row["charge_g"]) == pytest.approx(1e3 * spot.trial.charge)
    speed = row["separation_velocity_50_percent_below_m_per_s"]
    assert (float(speed) if speed else np.nan) == pytest.approx(
        spot.trial.clear_velocity[1], nan_ok=True
    )


def test_numbers_are_json_with_units_and_caution() -> None:
    numbers = json.loads(to_json(pin_report.pins_numbers(study())))
    assert numbers["caution"] == CAUTION
    assert [each["pins"] for each in numbers["maps"]] == ["#2-56", "#4-40"]
    assert numbers["maps"][0]["of_the_case"]
    assert len(numbers["maps"][0]["cells"]) == 3 * study().charges.size
    assert {each["powder"] for each in numbers["burning"]} == {"4F", "1F"}
    assert numbers["counts"] == [0, 3, 8]


def test_the_report_holds_what_it_shows(tmp_path) -> None:
    files = pin_report.PINS.write(study(), tmp_path / "bench-pins")
    assert {"index.html", "numbers.json", "pins.csv", "figures/map-1.png", "figures/map-2.svg",
            "figures/burning.png"} <= set(files)  # fmt: skip
    page = unescape((tmp_path / "bench-pins" / "index.html").read_text("utf-8"))
    assert FLAT_CAUTION in " ".join(page.split())
    assert page.count("<figure") == 3
    assert pin_text.LIMITS_OF_THE_MAP in page
    # a second time it is replaced; beside something strange it is not
    pin_report.PINS.write(study(), tmp_path / "bench-pins")
    (tmp_path / "bench-pins" / "mine.txt").write_text("x")
    with pytest.raises(FileExistsError, match=r"mine\.txt"):
        pin_report.PINS.write(study(), tmp_path / "bench-pins")


def test_text_says_what_the_cells_say() -> None:
    text = " ".join(pin_text.summary(study()).split())
    assert FLAT_CAUTION in text
    assert text.count("this case") == 1
    assert "#4-40 pins, 1.00 g" in text
    for sentence in pin_text.sentences(study()):
        assert sentence.endswith((".", ")"))
        assert " in in " not in sentence
        assert "opens all" not in sentence
    assert max(len(line) for line in pin_text.summary(study()).splitlines()) <= 100
    both = pin_text.comparison([study(), study()])
    assert both.count("bench: ") == 2


def test_cells_are_shaded_by_what_most_shots_do() -> None:
    spot = study().maps[0].spots[0][0]

    def with_shares(opens: float, hard: float):
        trial = replace(
            spot.trial, opens=replace(spot.trial.opens, share=opens),
            fails_hard=replace(spot.trial.fails_hard, share=hard),
        )  # fmt: skip
        return replace(spot, trial=trial)

    assert drawn.region(with_shares(0.2, 0.0)) == Verdict.NO_SEPARATION.code
    assert drawn.region(with_shares(0.9, 0.1)) == Verdict.SEPARATES.code
    assert drawn.region(with_shares(1.0, 0.6)) == Verdict.SEPARATES_TOO_HARD.code


def test_figures_write_every_cell_and_frame_the_case() -> None:
    figures = drawn.figures(study())
    assert list(figures) == ["map-1", "map-2", "burning"]
    svg = output.svg(figures["map-1"])
    assert "chance that it separates" in svg
    assert "margin of the cord" in svg
    texts = [text for axes in figures["map-1"].axes for text in axes.texts]
    bold = [text for text in texts if text.get_fontweight() == "bold"]
    # three titles, and the case's own cell in each table
    assert len(bold) == 6
    assert len(texts) >= 3 * 3 * study().charges.size
    # another kind of pins has no cell of the case
    other = [text for axes in figures["map-2"].axes for text in axes.texts]
    assert sum(text.get_fontweight() == "bold" for text in other) == 3


def test_a_bay_without_a_cord_has_no_margins() -> None:
    from report_cases import without

    case = reads(without(BENCH, "cord"), "loose")
    bare = pins(case, counts=(2,), threads=("#2-56",), members=8)
    assert "margin of the cord" not in output.svg(drawn.figures(bare)["map-1"])
    assert "cord margin" in pin_text.summary(bare)
    assert np.isnan(bare.maps[0].spots[0][0].margin[0])
