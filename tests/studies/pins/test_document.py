"""Pins against charge, as a document and as figures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.run.result import Verdict
from baypulse.show import as_json, figure_files
from baypulse.studies.pins import figures as drawn
from baypulse.studies.pins.document import document
from report_cases import BENCH, without
from studies.pins.documents import pins, study


def cells():
    return as_json.numbers(document(study()))["tables"]["cells"]


def test_every_cell_is_a_row_of_the_table() -> None:
    charges = study().charges.size
    assert len([row for row in cells() if row["pins"]]) == 2 * 3 * charges
    spot = study().maps[1].spots[2][5]
    (row,) = [
        row for row in cells()
        if (row["pins"], row["count"]) == ("#4-40", 8)
        and row["charge_kg"] == pytest.approx(spot.trial.charge)
    ]  # fmt: skip
    assert row["separates_ratio"] == pytest.approx(spot.trial.opens.share)
    assert row["charge_g"] == pytest.approx(1e3 * spot.trial.charge)
    speed = row["separation_velocity_50_percent_below_m_per_s"]
    assert (np.nan if speed is None else speed) == pytest.approx(
        spot.trial.clear_velocity[1], nan_ok=True
    )


def test_cells_say_which_pins_and_which_powder() -> None:
    assert {row["pins"] for row in cells() if row["of_the_case"]} == {"#2-56"}
    assert {row["powder"] for row in cells() if row["powder"]} == {"4F", "1F"}
    assert document(study()).findings["counts"] == [0, 3, 8]


def test_the_first_screen_marks_the_pins_of_the_case() -> None:
    first = document(study()).first
    assert [row[0].text for row in first.rows] == ["0", "3 (this case)", "8"]
    assert first.title == "#2-56 pins, 1.00 g (15.4 grain)"


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
    assert [each.name for each in document(study()).figures] == ["map-1", "map-2", "burning"]
    first, second = (drawn.tables(study(), held) for held in study().maps)
    svg = figure_files.svg(first)
    assert "chance that it separates" in svg
    assert "margin of the cord" in svg
    texts = [text for axes in first.axes for text in axes.texts]
    bold = [text for text in texts if text.get_fontweight() == "bold"]
    # three titles, and the case's own cell in each table
    assert len(bold) == 6
    assert len(texts) >= 3 * 3 * study().charges.size
    # another kind of pins has no cell of the case
    other = [text for axes in second.axes for text in axes.texts]
    assert sum(text.get_fontweight() == "bold" for text in other) == 3


def test_a_bay_without_a_cord_has_no_margins() -> None:
    case = reads(without(BENCH, "cord"), "loose")
    bare = pins(case, counts=(2,), threads=("#2-56",), members=8)
    assert "margin of the cord" not in figure_files.svg(drawn.tables(bare, bare.maps[0]))
    assert np.isnan(bare.maps[0].spots[0][0].margin[0])
