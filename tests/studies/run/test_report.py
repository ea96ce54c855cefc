import json
import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from baypulse import simulate
from baypulse.case import quantities
from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.show import as_csv, as_json, cells, folder, identity, in_terminal
from baypulse.studies.run import words
from baypulse.studies.run.document import answer, compare, document
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
FLAT = " ".join(CAUTION.split())


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


def key_numbers(name):
    """Return what people read of the first numbers, by their labels."""
    return {row.label: cells.fact(row) for row in document(run(name)).first.rows}


def table(name, which):
    """Return the rows of one table of a run, as programs read them, by the name of the row."""
    return {row["name"]: row for row in as_json.numbers(document(run(name)))["tables"][which]}


@pytest.mark.parametrize("name", HEADLINES)
def test_the_headline_says_what_became_of_joint_and_parachute(name):
    assert words.headline(run(name)) == HEADLINES[name]


@pytest.mark.parametrize("name", HEADLINES)
def test_the_answer_is_what_is_told_of_the_whole(name):
    assert in_terminal.told(answer(run(name))) == in_terminal.told(document(run(name)))


def test_the_verdict_asks_for_one_run_only(monkeypatch):
    def more(*given):
        raise AssertionError("a run of the bay held shut")

    monkeypatch.setattr("baypulse.run.simulation.breakdown", more)
    assert answer(simulate(reads(BENCH, "bench"))).headline == HEADLINES["separates"]


def test_a_bay_that_stays_shut_says_how_far_it_got_and_what_would_change_it():
    text = in_terminal.told(document(run("no separation")))
    assert re.search(r"reached \d+ ?% of the pressure that overcomes friction and pins", text)
    flat = " ".join(text.split())
    assert "more powder" in flat and "fewer or weaker pins" in flat
    assert "Greatest travel" in text and "Clear after" not in text


def test_a_cord_that_never_comes_taut_is_told_so():
    text = BENCH.replace('length = "4.5 m"', 'length = "150 m"')
    result = simulate(reads(text + "\n[setting]\nground_friction = 0.4\n", "long cord"))
    said = " ".join(words.reasons(result))
    assert "The cord never comes taut: after " in said and "150 m (492 ft) of cord" in said
    assert "never comes taut" not in " ".join(words.reasons(run("separates")))


def test_what_to_do_next_follows_the_verdict():
    (step,) = words.next_steps(run("separates"))
    assert step.endswith("baypulse window separates.toml")
    soft, quoted = words.next_steps(run("separates too hard"))
    assert soft.startswith("Less powder, or fewer pins")
    assert quoted.endswith('baypulse window "separates too hard.toml"')
    assert words.next_steps(run("undecided")) == ["Nothing follows from this run about the charge."]


def test_margins_say_what_is_missing_or_over():
    hard = table("separates too hard", "margins")["Greatest separation velocity"]
    assert not hard["met"] and hard["must"] == "stay below" and hard["limit_m_per_s"] == 3.0
    assert hard["margin_ratio"] == pytest.approx(3.0 / hard["value_m_per_s"])
    assert hard["margin_ratio"] < 1.0
    shut = table("no separation", "margins")["Pressure held shut, against friction and pins"]
    assert not shut["met"] and shut["must"] == "exceed"
    assert shut["margin_ratio"] == pytest.approx(shut["value_Pa"] / shut["limit_Pa"])
    assert shut["margin_ratio"] < 1.0


def test_units_of_the_system_in_use_stand_first():
    si = key_numbers("separates")
    assert re.match(r"[\d.]+ kPa \([\d.]+ psi\) gauge, after [\d.]+ ms", si["Peak pressure"])
    assert re.match(r"[\d.]+ m/s \([\d.]+ ft/s\)", si["Separation velocity when clear"])
    assert re.match(r"[\d.]+ N \([\d.]+ lbf\), as [\d.]+ g ", si["Cord load, peak"])
    with quantities.written_in(quantities.US):
        us = key_numbers("separates")
    assert re.match(r"[\d.]+ psi \([\d.]+ kPa\) gauge, after [\d.]+ ms", us["Peak pressure"])
    # 6894.757 Pa are 1 psi: NIST SP 811 (2008), appendix B.8
    kilopascals, psi, _ = map(float, re.findall(r"[\d.]+", si["Peak pressure"]))
    assert psi * 6.894757 == pytest.approx(kilopascals, rel=5e-3)
    assert kilopascals == pytest.approx(run("separates").numbers.peak_pressure / 1e3, rel=5e-3)


def test_the_jerk_is_the_load_over_the_weight_of_the_section():
    text = key_numbers("separates")["Cord load, peak"]
    jerk = float(re.search(r"as ([\d.]+) g", text).group(1))
    load = run("separates").numbers.cord_load
    assert jerk == pytest.approx(load / (0.480 * 9.80665), rel=5e-3)


def test_curves_are_those_of_the_result():
    result = run("separates")
    lines = as_csv.text(document(result).curves["curves.csv"]).splitlines()
    names, values = lines[0].split(","), np.genfromtxt(lines[1:], delimiter=",")
    assert values.shape[0] == result.time.size
    stems = {re.sub(r"_(kg_per_s|g_per_s|m_per_s|ft_per_s|[A-Za-z]+)$", "", n) for n in names}
    assert stems == set(result.curves)
    column = dict(zip(names, values.T, strict=True))
    assert np.allclose(column["gauge_pressure_Pa"], result.gauge_pressure, rtol=1e-8, atol=1e-6)
    assert np.allclose(column["gauge_pressure_psi"] * 6894.757293, column["gauge_pressure_Pa"],
                       rtol=1e-8, atol=1e-4)  # fmt: skip
    assert np.allclose(column["wall_temperature_degF"],
                       column["wall_temperature_K"] * 1.8 - 459.67, atol=1e-5)  # fmt: skip
    assert np.allclose(column["separation_velocity_ft_per_s"] * 0.3048,
                       column["separation_velocity_m_per_s"], atol=1e-7)  # fmt: skip


@pytest.mark.parametrize("name", HEADLINES)
def test_numbers_are_those_of_the_result(name):
    found = json.loads(as_json.text(as_json.numbers(document(run(name)))))
    numbers = found["findings"]["numbers"]
    assert numbers["peak_pressure_Pa"] == pytest.approx(run(name).numbers.peak_pressure)
    assert numbers["peak_pressure_psi"] * 6894.757293 == pytest.approx(numbers["peak_pressure_Pa"])
    assert found["findings"]["verdict"] == run(name).verdict
    assert [each["name"] for each in found["findings"]["events"]] == [
        event.name for event in run(name).events
    ]
    assert len(found["sha256"]) == 64
    assert set(found["versions"]) == {"baypulse", "python", "numpy", "scipy", "numba"}


def test_the_case_is_kept_as_it_was_read():
    found = as_json.numbers(document(run("separates")))["case"]["separates"]
    assert found["source_text"] == BENCH
    bore = found["values"]["bay.bore"]
    assert (bore["value_m"], bore["text"], bore["origin"]) == (0.076, "76 mm", "case")
    assert bore["line"] == BENCH.splitlines().index('bore = "76 mm"') + 1
    assert found["values"]["bay.mixing_time"]["origin"] == "default"
    assert found["values"]["openings[0].diameter"]["value_m"] == 0.0032
    assert found["spreads"]["joint.pull_off"]["deviation"] == pytest.approx(4.4)


def test_a_value_that_is_no_number_becomes_null():
    found = document(run("cold gas")).findings
    assert found["static_rule"]["empty_bay"]["target_mass_kg"] is None
    assert cells.clean(float("inf")) is None
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_json.text({"a": float("nan")})


def test_two_runs_of_one_case_give_the_same_bytes(tmp_path):
    one = folder.write(document(run("separates")), tmp_path / "one")
    again = simulate(reads(BENCH, "separates"))
    two = folder.write(document(again), tmp_path / "two")
    assert list(one) == list(two)
    for name in one:
        assert one[name].read_bytes() == two[name].read_bytes(), name


def test_the_hash_follows_the_text():
    one, two = run("separates").case, run("no separation").case
    assert identity.fingerprint([one]) == identity.fingerprint([reads(BENCH, "another name")])
    assert identity.fingerprint([one]) != identity.fingerprint([two])


def test_an_earlier_report_is_replaced_whole(tmp_path):
    place = tmp_path / "a place" / "Bücher 孔"
    first = folder.write(document(run("separates")), place)
    assert "figures/cord.svg" in first
    second = folder.write(document(run("bare")), place)
    assert {p for p in place.rglob("*") if p.is_file()} == set(second.values())
    assert not (place / "figures" / "cord.svg").exists()
    assert [p.name for p in place.parent.iterdir()] == [place.name]


def test_an_empty_folder_is_used(tmp_path):
    folder.write(document(run("bare")), tmp_path)
    assert (tmp_path / "index.html").exists()


@pytest.mark.parametrize("name", ["letter.txt", "index.html"])
def test_a_folder_of_somebody_else_is_left_alone(name, tmp_path):
    (tmp_path / name).write_text("mine")
    with pytest.raises(FileExistsError, match=r"not replaced|nothing is replaced"):
        folder.write(document(run("bare")), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_a_file_added_to_a_report_is_not_thrown_away(tmp_path):
    folder.write(document(run("bare")), tmp_path / "r")
    (tmp_path / "r" / "my notes.txt").write_text("mine")
    with pytest.raises(FileExistsError, match=r"my notes\.txt"):
        folder.write(document(run("bare")), tmp_path / "r")
    assert (tmp_path / "r" / "my notes.txt").read_text() == "mine"


def test_nothing_is_left_when_writing_stops_in_between(tmp_path, monkeypatch):
    place = tmp_path / "r"
    folder.write(document(run("separates")), place)
    before = {p: p.read_bytes() for p in place.rglob("*") if p.is_file()}

    write = Path.write_bytes

    def fail(self, data):
        if self.name == "curves.csv":
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(OSError, match="No space"):
        folder.write(document(run("bare")), place)
    assert {p: p.read_bytes() for p in place.rglob("*") if p.is_file()} == before
    assert list(tmp_path.iterdir()) == [place]


def test_the_old_report_is_put_back_when_the_new_one_cannot_take_its_place(tmp_path, monkeypatch):
    place = tmp_path / "r"
    folder.write(document(run("separates")), place)
    before = (place / "numbers.json").read_bytes()

    rename = Path.rename

    def fail(self, to):
        if ".new-" in self.parent.name:
            raise KeyboardInterrupt
        return rename(self, to)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(KeyboardInterrupt):
        folder.write(document(run("bare")), place)
    assert (place / "numbers.json").read_bytes() == before
    assert list(tmp_path.iterdir()) == [place]


def test_text_of_the_case_cannot_become_markup(tmp_path):
    text = BENCH.replace("A bay for the tests", "<script>alert(1)</script> & <b>bold</b>")
    text = text.replace('name = "vent"', 'name = "<img src=x> & more"')
    text = text.replace('note = "Invented."', 'note = "<iframe>"')
    files = folder.write(document(simulate(reads(text, "<i>name</i>"))), tmp_path / "r")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not {"script", "img", "iframe", "i"} & set(page.tags)
    assert "<script>alert(1)</script> & <b>bold</b>" in page.text
    assert "<img src=x> & more" in page.text


def test_events_of_pins_that_act_together_are_one_row():
    names = [name for name, _ in words.happened(run("separates"))]
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


def test_runs_of_several_cases_are_compared_by_verdict_and_narrowest_margin():
    opened, shut = run("separates"), run("no separation")
    table = compare([opened, shut])
    rows = {row[0]: row for row in table.rows}
    assert len(rows) == 2
    good, bad = rows[opened.case.name], rows[shut.case.name]
    assert good[1].startswith("Separates") and bad[1].startswith("No separation")
    assert good[4].value.value == opened.numbers.clear_velocity and bad[4] is None
    # the least margin, and what it is of
    margin, _, what = bad[5].partition(" ")
    least = min(shut.checks, key=lambda check: check.margin)
    assert float(margin) == pytest.approx(least.margin, rel=5e-3) and float(margin) < 1.0
    assert what == least.name.lower()
