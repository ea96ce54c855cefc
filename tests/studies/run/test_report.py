import csv
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from baypulse import simulate
from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.show import data as report_data
from baypulse.studies.run import data as run_data
from baypulse.studies.run import report
from baypulse.studies.run import text as report_text
from report_cases import BENCH, run

HEADLINES = {
    "separates": "Separates, and the parachute comes out",
    "separates too hard": "Separates too hard, and the parachute comes out",
    "partial separation": "Partial separation",
    "no separation": "No separation",
    "undecided": "Undecided",
    "bare": "Separates",
    "flight": "Separates, and the parachute comes out",
    "cold gas": "No separation",
}
EVERY = list(HEADLINES)
FLAT = " ".join(CAUTION.split())
PEAK = re.compile(r"Peak pressure ([\d.]+) psi \(([\d.]+) kPa\) gauge, after ([\d.]+) ms")


class Page(HTMLParser):
    """Collects what a page would load, and checks that its tags close."""

    VOID = ("meta", "br", "link", "img", "input", "hr")

    def __init__(self, text):
        super().__init__()
        self.loads, self.anchors, self.names, self.open, self.words = [], [], [], [], []
        self.tags = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        if tag not in self.VOID:
            self.open.append(tag)
        for name, value in attributes:
            if name in ("src", "href", "data", "srcset", "action", "poster"):
                (self.anchors if value.startswith("#") else self.loads).append(value)
            if name == "id":
                self.names.append(value)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in self.VOID:
            self.open.pop()

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


@pytest.mark.parametrize("name", EVERY)
def test_a_report_holds_a_whole_page(name, tmp_path):
    result = run(name)
    files = report.write_report(result, tmp_path / "report")
    assert {"index.html", "numbers.json", "curves.csv", "figures/course.svg"} <= set(files)
    assert all(path.stat().st_size > 500 for path in files.values())
    text = files["index.html"].read_text("utf-8")
    page = Page(text)
    assert page.open == [] and page.loads == []
    assert set(page.anchors) <= {f"#{each}" for each in page.names}
    assert len(set(page.names)) == len(page.names)
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    assert "url(http" not in text and "@import" not in text
    assert page.tags.count("svg") == len([f for f in files if f.endswith(".svg")])
    assert page.text.count(FLAT) == 2
    assert HEADLINES[name] in page.words
    psi, kilopascals, moment = map(float, PEAK.search(page.text).groups())
    assert psi == pytest.approx(result.numbers.peak_pressure / 6894.757, rel=5e-3)
    assert kilopascals == pytest.approx(result.numbers.peak_pressure / 1e3, rel=5e-3)
    assert moment == pytest.approx(result.numbers.peak_time * 1e3, rel=5e-3)


@pytest.mark.parametrize("name", EVERY)
def test_the_summary_has_verdict_margins_rule_and_caution(name):
    result = run(name)
    text = report_text.summary(result)
    assert result.verdict.upper() in text
    assert FLAT in " ".join(text.split())
    assert "Static rule" in text and "common practice, no source" in text
    for check in result.checks:
        (line,) = [
            s
            for s in text.splitlines()
            if s.startswith("    ")
            and check.name in s.lower()
            and ("needs" in s or "limit" in s)
            and ("and pins" in s) == ("and pins" in check.name)
        ]
        assert ("NOT MET" in line) == (not check.met)
    assert text.isascii()


def test_a_bay_that_stays_shut_says_how_far_it_got_and_what_would_change_it():
    text = report_text.summary(run("no separation"))
    assert re.search(r"reached \d+ ?% of the pressure that overcomes friction and pins", text)
    flat = " ".join(text.split())
    assert "more powder" in flat and "fewer or weaker pins" in flat


def test_margins_say_what_is_missing_or_over():
    hard = {row.name: row for row in report_text.rows(run("separates too hard"))}
    assert hard["Greatest separation velocity"].margin.endswith("times over")
    assert not hard["Greatest separation velocity"].met
    shut = {row.name: row for row in report_text.rows(run("no separation"))}
    assert shut["Pressure against friction and pins"].margin.endswith("% of it")


def test_units_of_people_and_si_stand_side_by_side():
    numbers = dict(report_text.key_numbers(run("separates")))
    assert re.match(r"[\d.]+ psi \([\d.]+ kPa\)", numbers["Peak pressure"])
    assert re.match(r"[\d.]+ m/s \([\d.]+ ft/s\)", numbers["Separation velocity when clear"])
    assert re.match(r"[\d.]+ N \([\d.]+ lbf\), as [\d.]+ g ", numbers["Cord load, peak"])


def test_the_jerk_is_the_load_over_the_weight_of_the_section():
    result = run("separates")
    text = dict(report_text.key_numbers(result))["Cord load, peak"]
    jerk = float(re.search(r"as ([\d.]+) g", text).group(1))
    assert jerk == pytest.approx(result.numbers.cord_load / (0.480 * 9.80665), rel=5e-3)


def test_curves_have_units_in_every_name_and_the_values_of_the_result():
    result = run("separates")
    text = run_data.csv(result)
    assert "\r" not in text
    rows = list(csv.reader(text.splitlines()))
    names, table = rows[0], np.array(rows[1:], dtype=float)
    units = ("s", "Pa", "psi", "K", "degF", "ratio", "kg", "g", "m", "in", "m_per_s", "ft_per_s",
             "N", "lbf", "kg_per_s", "g_per_s")  # fmt: skip
    assert all(name.endswith(tuple(f"_{unit}" for unit in units)) for name in names)
    assert table.shape[0] == result.time.size
    stems = {re.sub(r"_(kg_per_s|g_per_s|m_per_s|ft_per_s|[A-Za-z]+)$", "", n) for n in names}
    assert stems == set(result.curves)
    column = dict(zip(names, table.T, strict=True))
    assert np.allclose(column["gauge_pressure_Pa"], result.gauge_pressure, rtol=1e-8, atol=1e-6)
    assert np.allclose(column["gauge_pressure_psi"] * 6894.757293, column["gauge_pressure_Pa"],
                       rtol=1e-8, atol=1e-4)  # fmt: skip
    assert np.allclose(column["wall_temperature_degF"],
                       column["wall_temperature_K"] * 1.8 - 459.67, atol=1e-5)  # fmt: skip
    assert np.allclose(column["separation_velocity_ft_per_s"] * 0.3048,
                       column["separation_velocity_m_per_s"], atol=1e-7)  # fmt: skip


@pytest.mark.parametrize("name", EVERY)
def test_numbers_are_json_with_a_unit_in_each_name(name):
    found = json.loads(report_data.to_json(run_data.numbers(run(name))))
    numbers = found["numbers"]
    assert numbers["peak_pressure_psi"] * 6894.757293 == pytest.approx(numbers["peak_pressure_Pa"])
    assert found["verdict"] == run(name).verdict and found["caution"] == CAUTION
    for group in (numbers, found["static_rule"], *found["events"], *found["checks"]):
        for key, value in group.items():
            if isinstance(value, float):
                assert key.rpartition("_")[2] in {"Pa", "psi", "s", "m", "in", "N", "lbf", "J",
                                                  "K", "degF", "kg", "g", "ratio", "m2", "in2",
                                                  "m3", "in3"}, key  # fmt: skip
    assert len(found["sha256"]) == 64
    assert set(found["versions"]) == {"baypulse", "python", "numpy", "scipy", "numba"}


def test_the_case_is_kept_as_it_was_read():
    found = run_data.numbers(run("separates"))["case"]
    assert found["source_text"] == BENCH
    bore = found["values"]["bay.bore"]
    assert (bore["value_m"], bore["text"], bore["origin"]) == (0.076, "76 mm", "case")
    assert bore["line"] == BENCH.splitlines().index('bore = "76 mm"') + 1
    assert found["values"]["bay.mixing_time"]["origin"] == "default"
    assert found["values"]["openings[0].diameter"]["value_m"] == 0.0032
    assert found["spreads"]["joint.pull_off"]["deviation"] == pytest.approx(4.4)


def test_a_value_that_is_no_number_becomes_null():
    found = run_data.numbers(run("cold gas"))
    assert found["static_rule"]["empty_bay"]["target_mass_kg"] is None
    assert report_data.clean(float("inf")) is None
    with pytest.raises(ValueError, match="not JSON compliant"):
        report_data.to_json({"a": float("nan")})


def test_two_runs_of_one_case_give_the_same_bytes(tmp_path):
    one = report.write_report(run("separates"), tmp_path / "one")
    again = simulate(reads(BENCH, "separates"))
    two = report.write_report(again, tmp_path / "two")
    assert list(one) == list(two)
    for name in one:
        assert one[name].read_bytes() == two[name].read_bytes(), name


def test_the_hash_follows_the_text():
    one, two = run("separates").case, run("no separation").case
    assert report_data.fingerprint(one) == report_data.fingerprint(reads(BENCH, "another name"))
    assert report_data.fingerprint(one) != report_data.fingerprint(two)


def test_an_earlier_report_is_replaced_whole(tmp_path):
    place = tmp_path / "a place" / "Bücher 孔"
    first = report.write_report(run("separates"), place)
    assert "figures/cord.svg" in first
    second = report.write_report(run("bare"), place)
    assert {p for p in place.rglob("*") if p.is_file()} == set(second.values())
    assert not (place / "figures" / "cord.svg").exists()
    assert [p.name for p in place.parent.iterdir()] == [place.name]


def test_an_empty_folder_is_used(tmp_path):
    report.write_report(run("bare"), tmp_path)
    assert (tmp_path / "index.html").exists()


@pytest.mark.parametrize("name", ["letter.txt", "index.html"])
def test_a_folder_of_somebody_else_is_left_alone(name, tmp_path):
    (tmp_path / name).write_text("mine")
    with pytest.raises(FileExistsError, match="not replaced"):
        report.write_report(run("bare"), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_a_file_added_to_a_report_is_not_thrown_away(tmp_path):
    report.write_report(run("bare"), tmp_path / "r")
    (tmp_path / "r" / "my notes.txt").write_text("mine")
    with pytest.raises(FileExistsError, match=r"my notes\.txt"):
        report.write_report(run("bare"), tmp_path / "r")
    assert (tmp_path / "r" / "my notes.txt").read_text() == "mine"


def test_nothing_is_left_when_writing_stops_in_between(tmp_path, monkeypatch):
    place = tmp_path / "r"
    report.write_report(run("separates"), place)
    before = {p: p.read_bytes() for p in place.rglob("*") if p.is_file()}

    write = Path.write_bytes

    def fail(self, data):
        if self.name == "curves.csv":
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(OSError, match="No space"):
        report.write_report(run("bare"), place)
    assert {p: p.read_bytes() for p in place.rglob("*") if p.is_file()} == before
    assert list(tmp_path.iterdir()) == [place]


def test_the_old_report_is_put_back_when_the_new_one_cannot_take_its_place(tmp_path, monkeypatch):
    place = tmp_path / "r"
    report.write_report(run("separates"), place)
    before = (place / "numbers.json").read_bytes()

    rename = Path.rename

    def fail(self, to):
        if ".new-" in self.name:
            raise KeyboardInterrupt
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(KeyboardInterrupt):
        report.write_report(run("bare"), place)
    assert (place / "numbers.json").read_bytes() == before
    assert list(tmp_path.iterdir()) == [place]


def test_text_of_the_case_cannot_become_markup(tmp_path):
    text = BENCH.replace("A bay for the tests", "<script>alert(1)</script> & <b>bold</b>")
    text = text.replace('name = "vent"', 'name = "<img src=x> & more"')
    text = text.replace('note = "Invented."', 'note = "<iframe>"')
    files = report.write_report(simulate(reads(text, "<i>name</i>")), tmp_path / "r")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not {"script", "img", "iframe", "b", "i"} & set(page.tags)
    assert "<script>alert(1)</script>" in page.text
    assert "<img src=x> & more" in page.text


def test_events_of_pins_that_act_together_are_one_row():
    names = [name for name, _ in report_text.happened(run("separates"))]
    assert "pins 1 to 3 fail" in names and "pin 1 fails" not in names
    assert names[0] == "start" and "cord taut" in names


def test_a_notebook_shows_verdict_pressure_and_caution():
    html = run("separates")._repr_html_()
    page = Page(html)
    assert page.open == [] and page.loads == [] and page.tags.count("svg") == 1
    assert "Separates, and the parachute comes out" in page.text and FLAT in page.text


def test_the_caution_is_word_for_word():
    assert CAUTION == (
        "Energetic charges burn, blind and maim. This is a calculation, not a permission: "
        "prove it by a ground test with nobody in line with either end, eye and ear protection "
        "on, and the igniter disconnected until everyone is clear. Follow local law, your club's "
        "or range's safety code and the maker's instructions; where they differ from this page, "
        "they win."
    )
