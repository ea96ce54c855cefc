import csv
import io
import json
import math
import re
from pathlib import Path

import numpy as np
import pytest

import study_findings as made
from baypulse.run.result import VERDICTS
from baypulse.show import as_csv, as_json, folder, in_terminal
from baypulse.studies.sweep import words
from baypulse.studies.sweep.document import document
from studies.run.test_report import Page


def test_nothing_is_left_when_writing_stops_in_between(tmp_path, monkeypatch):
    place = tmp_path / "r"
    folder.write(document(made.sweep_of_one()), place)
    before = {p: p.read_bytes() for p in place.rglob("*") if p.is_file()}
    write = Path.write_bytes

    def fail(self, data):
        if self.name == "numbers.json":
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(OSError, match="No space"):
        folder.write(document(made.sweep_of_one(1)), place)
    assert {p: p.read_bytes() for p in place.rglob("*") if p.is_file()} == before
    assert list(tmp_path.iterdir()) == [place]


def table(sweep):
    """Return the rows of the file for spreadsheets."""
    text = as_csv.text(document(sweep).files["sweep.csv"])
    return list(csv.DictReader(io.StringIO(text)))


def test_the_table_of_a_sweep_has_a_row_a_point_and_units_in_its_names():
    sweep = made.sweep_of_two()
    rows = table(sweep)
    assert len(rows) == 21 * 7
    names = list(rows[0])
    assert names[:4] == ["powder_mass_kg", "powder_mass_g", "pins_count", "verdict"]
    assert all(
        name.endswith(("_kg", "_g", "_ratio", "_Pa", "_psi", "_m_per_s", "_ft_per_s", "_N", "_lbf"))
        for name in names
        if name not in ("verdict", "pins_count")
    )
    i, j = 9, 2
    row = rows[i * 7 + j]
    assert float(row["powder_mass_kg"]) == pytest.approx(sweep.axes[0].values[i])
    assert row["pins_count"] == "2" and row["verdict"] == VERDICTS[sweep.verdict[i, j]]
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
    assert words.crossings(x, y, 3.0) == pytest.approx([1.5])
    y = np.array([0.0, math.nan])
    assert words.crossings(x, y, 3.0).size == 0


def test_the_sweep_says_where_chances_and_limits_are_reached():
    text = " ".join(words.meaning(made.sweep_of_one()))
    # the made-up chance is 1/(1 + exp(-(m - 0.35 g)/0.04 g)): 90 % at 0.35 + 0.04 ln 9 = 0.438 g;
    # the made-up speed 14 sqrt(m/0.5 g) m/s is 20 m/s at 0.5 (20/14)^2 = 1.02 g
    assert re.search(
        r"chance that it separates reaches 50 % at 0\.350 g .*?; 90 % at 0\.4[34]\d g", text
    )
    assert "reaches 20.0 m/s (65.6 ft/s), limit, at 1.02 g" in text
    sure = re.search(r"separates in 99 % .* hard in 1 % or less, from ([\d.]+) to ([\d.]+) g", text)
    # from 0.35 + 0.04 ln 99 = 0.534 g to 1.1 - 0.06 ln 99 = 0.824 g; points are 0.035 g apart
    assert float(sure.group(1)) == pytest.approx(0.555) and float(sure.group(2)) == 0.8


def test_the_headline_of_a_sweep_says_where_it_opens():
    assert words.headline(made.sweep_of_one(1)) == (
        "Separates from 0.345 to 1.08 g (5.32 to 16.7 grain)"
    )
    assert words.headline(made.sweep_of_one()).startswith("Mostly separates from 0.345 to 1.08 g")
    two = made.sweep_of_two(1)
    count = int((two.verdict == 2).sum())
    assert words.headline(two) == f"Separates at {count} of 147 points"
    nowhere = made.changed(two, verdict=two.verdict * 0)
    assert words.headline(nowhere).startswith("Separates nowhere")
    assert words.headline(made.odd_sweeps()["one column"]).endswith("0 to 4 (count of the pins)")


def test_the_map_of_the_terminal_has_a_letter_a_point():
    sweep = made.sweep_of_two()
    lines = in_terminal.told(document(sweep)).splitlines()
    rows = [line.split() for line in lines if re.match(r"\s+\d  [-.O#?]{21}$", line)]
    assert [row[0] for row in rows] == ["6", "5", "4", "3", "2", "1", "0"]
    letters = {code: words.LETTERS[name] for code, name in enumerate(VERDICTS)}
    assert rows[-1][1] == "".join(letters[code] for code in sweep.verdict[:, 0])


def test_some_points_stand_on_the_first_screen_and_all_of_them_for_programs():
    sweep = made.sweep_of_one()
    told = in_terminal.told(document(sweep))
    assert re.search(r"0\.100 g +no separation", told) and re.search(r"1\.50 g +separates", told)
    found = json.loads(as_json.text(as_json.numbers(document(sweep))))["tables"]
    assert len(found["some_points"]) == 13
    assert len(found["sweep"]) == 41
    speed = next(each for each in sweep.quantities if each.name == "greatest_velocity")
    assert found["sweep"][0]["greatest_velocity_m_per_s"] is None
    assert found["sweep"][-1]["greatest_velocity_m_per_s"] == pytest.approx(speed.middle[-1])


def test_text_of_the_case_cannot_become_markup(tmp_path):
    axis = made.changed(made.sweep_of_one().axes[0], label="<img src=z>")
    sweep = made.changed(made.sweep_of_one(), axes=(axis,))
    page = Page(folder.write(document(sweep), tmp_path / "s")["index.html"].read_text("utf-8"))
    assert "img" not in page.tags and "<img src=z>" in page.text
