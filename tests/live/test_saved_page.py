"""The page that is saved: small, alone, and within one per cent of the runs themselves."""

import json
import re

import numpy as np
import pytest

from baypulse.case import quantities
from baypulse.case.casefile import read
from baypulse.case.held_value import with_value
from baypulse.cli import main
from baypulse.live import saved_page
from baypulse.live.grid import CLOSE, grid
from baypulse.run.simulation import simulate
from live.served import BENCH, FLAGS, NO_BROWSER, browser_program

CASE = read(BENCH)

PROGRAM = browser_program()

LARGEST = 5_000_000
"""Bytes of a saved page."""

OWN = 3e-4
"""Relative difference of a simulated shot from a single run, by the tolerance of its steps."""


@pytest.fixture(scope="module")
def found():
    return grid(CASE)


@pytest.fixture(scope="module")
def page(found):
    return saved_page._page(saved_page._data(found))


def test_interpolated_numbers_are_within_one_per_cent_of_runs_of_their_own(found):
    assert 0.0 < found.error < CLOSE
    # a third and more of all places are interpolated, else the grid would be no grid
    assert found.interpolated > len(found.lanes) * len(found.charges) / 3
    places = [(lane, k) for lane in found.lanes.values() for k in np.flatnonzero(lane.interpolated)]
    for lane, k in places[:: len(places) // 40]:
        run = simulate(with_value(lane.case, "powder.mass", found.charges[k])).numbers
        peak, speed, _ = lane.numbers[:, k]
        assert peak == pytest.approx(run.peak_pressure, rel=CLOSE + OWN)
        if run.clear_velocity is None:
            assert np.isnan(speed)
        else:
            assert speed == pytest.approx(run.clear_velocity, rel=CLOSE + OWN)


def test_computed_places_are_those_of_single_runs(found):
    for lane in list(found.lanes.values())[::4]:
        k = int(np.flatnonzero(~lane.interpolated)[5])
        run = simulate(with_value(lane.case, "powder.mass", found.charges[k]))
        assert lane.numbers[0, k] == pytest.approx(run.numbers.peak_pressure, rel=OWN)
        words, _ = saved_page._verdict(lane.outcomes.verdict[k], lane.outcomes.contents[k])
        from baypulse.studies.run.words import headline

        assert words == headline(run)


def test_the_error_is_stated(found, page):
    data = json.loads(re.search(r'id="data">(.*?)</script>', page, re.DOTALL).group(1))
    assert f"{quantities.percent(found.error)} %" in data["interpolation"]
    assert "Energetic charges burn, blind and maim" in data["caution"]


def test_it_is_small_and_asks_for_nothing(page):
    assert len(page.encode()) < LARGEST
    assert "default-src 'none'" in page
    loaded = re.findall(r"""<(?:script|link|img|iframe)[^>]*? (?:src|href)="([^"]*)""", page)
    assert set(loaded) == {"data:,"}
    assert "import " not in page[page.index('<script type="module">') :][:200]


def test_no_text_of_a_case_ends_its_element():
    text = json.dumps({"title": "</script><script>alert(1)</script>"}).replace("<", "\\u003c")
    shown = saved_page._page(json.loads(text))
    assert "</script><script>alert" not in shown


@pytest.mark.skipif(PROGRAM is None, reason=NO_BROWSER)
@pytest.mark.parametrize("width", [1200, 390])
def test_it_works_without_a_network(page, found, tmp_path, width):
    from playwright.sync_api import sync_playwright

    file = tmp_path / "page.html"
    file.write_text(page, "utf-8")
    asked, errors = [], []
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=PROGRAM, args=FLAGS)
        context = browser.new_context(offline=True, viewport={"width": width, "height": 844})
        tab = context.new_page()
        tab.on("request", lambda request: asked.append(request.url))
        tab.on("pageerror", lambda error: errors.append(str(error)))
        tab.on("console", lambda told: errors.append(told.text) if told.type == "error" else None)
        tab.goto(file.as_uri())
        tab.wait_for_selector("body[data-drawn]", state="attached")
        tab.locator("#slider-pins").focus()
        tab.keyboard.press("ArrowLeft")
        tab.locator("#slider-quickness").focus()
        tab.keyboard.press("ArrowRight")
        tab.locator("#charge").focus()
        for _ in range(5):
            tab.keyboard.press("ArrowRight")
        pins, quick, charge = map(int, tab.get_attribute("body", "data-drawn").split())
        lane = found.lanes[found.pins[pins], found.steps[quick]]
        assert (lane.pins, lane.step) == (2, 0.5)
        shown = tab.inner_text("#numbers")
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
        browser.close()
    run = simulate(with_value(lane.case, "powder.mass", found.charges[charge])).numbers
    kilopascals = float(re.search(r"peak pressure\s+([\d.]+) kPa", shown).group(1))
    # as shown with three digits
    assert kilopascals * 1e3 == pytest.approx(run.peak_pressure, rel=CLOSE + OWN + 0.005)
    assert errors == []
    assert asked == [file.as_uri()]


def test_what_cannot_be_saved_is_said_before_anything_is_computed(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there.html").write_text("mine", "utf-8")
    rocket = str(BENCH).replace("bench-76", "rockets/saffron-plover")
    for case, file in ([], "x.html"), ([BENCH], "x.txt"), ([BENCH], "there.html"), (
        [rocket], "x.html"), ([BENCH], "no/x.html"):  # fmt: skip
        assert main(["live", *case, "--save", file]) == 2
        assert "save" in capsys.readouterr().err
    assert (tmp_path / "there.html").read_text("utf-8") == "mine"
    assert len(list(tmp_path.iterdir())) == 1
