"""Pins against charge, as figures, numbers and tables."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from baypulse.case import quantities
from baypulse.run.result import Verdict
from baypulse.show import as_json, figure_files
from baypulse.show.figures.base import style
from baypulse.studies.pins import figures as drawn
from baypulse.studies.pins.compute import PinMap
from baypulse.studies.pins.document import compare, document
from studies.pins.documents import study, without_cord


def figure(held: PinMap):
    with style():
        return drawn.tables(study(), held)


def test_every_cell_is_a_row_of_the_table() -> None:
    rows = as_json.numbers(document(study()))["tables"]["cells"]
    assert len(rows) == 2 * 3 * study().charges.size
    spot = study().maps[1].spots[2][5]
    row = next(
        row for row in rows
        if (row["pins"], row["count"]) == ("#4-40", 8)
        and row["charge_kg"] == pytest.approx(spot.trial.charge)
    )  # fmt: skip
    assert row["separates_ratio"] == pytest.approx(spot.trial.opens.share)
    assert row["charge_g"] == pytest.approx(1e3 * spot.trial.charge)
    speed = row["separation_velocity_50_percent_below_m_per_s"]
    assert (np.nan if speed is None else speed) == pytest.approx(
        spot.trial.clear_velocity[1], nan_ok=True
    )


def test_numbers_tell_the_powders_and_the_kind_of_the_case() -> None:
    numbers = as_json.numbers(document(study()))
    assert numbers["findings"]["counts"] == [0, 3, 8]
    assert numbers["findings"]["of_the_case"] == "#2-56"
    assert {row["powder"] for row in numbers["tables"]["burning"]} == {"4F", "1F"}


def test_the_first_screen_has_the_kind_and_the_charge_of_the_case() -> None:
    found = document(study())
    assert found.headline.startswith("With 1.00 g (15.4 grain) this bay separates ")
    assert found.first.title == "#2-56 pins, 1.00 g (15.4 grain)"
    assert found.first.rows[1][0] == (3, "3 (this case)")
    other = next(part for part in found.tables if part.name == "map_2")
    assert other.title == "#4-40 pins, 1.00 g (15.4 grain)"
    assert [row[0] for row in other.rows] == [0, 3, 8]
    assert [row[0] for row in compare([study(), without_cord()]).rows] == ["bench", "loose"]


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
    own = figure(study().maps[0])
    svg = figure_files.svg(own)
    assert "chance that it separates" in svg
    assert "margin of the cord" in svg
    texts = [text for axes in own.axes for text in axes.texts]
    bold = [text for text in texts if text.get_fontweight() == "bold"]
    # three titles, and the case's own cell in each table
    assert len(bold) == 6
    assert len(texts) >= 3 * 3 * study().charges.size
    # another kind of pins has no cell of the case
    other = [text for axes in figure(study().maps[1]).axes for text in axes.texts]
    assert sum(text.get_fontweight() == "bold" for text in other) == 3


def test_a_figure_has_the_unit_first_that_the_text_has() -> None:
    with quantities.written_in(quantities.US):
        assert "median separation velocity (ft/s)" in figure_files.svg(figure(study().maps[0]))
    assert "median separation velocity (m/s)" in figure_files.svg(figure(study().maps[0]))


def test_a_bay_without_a_cord_has_no_margins() -> None:
    with style():
        assert "margin of the cord" not in figure_files.svg(
            drawn.tables(without_cord(), without_cord().maps[0])
        )
    assert np.isnan(without_cord().maps[0].spots[0][0].margin[0])
