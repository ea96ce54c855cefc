"""The page in a real browser: from a first visit to an answer, by hand and by keyboard."""

from __future__ import annotations

import socket
import time
from contextlib import contextmanager

import pytest

from baypulse.case.casefile import read
from baypulse.run.simulation import simulate
from live.served import BENCH, CASES, FLAGS, NO_BROWSER, browser_program, served

PROGRAM = browser_program()

pytestmark = pytest.mark.skipif(PROGRAM is None, reason=NO_BROWSER)

MEASURED = {
    "inside diameter of the tube": "3 in", "tube, open lip to closed end": "12 in",
    "shoulder inside the tube": "3 in", "tube that the packed parachute fills": "4 1/2 in",
    "all ahead of the joint": "1 lb 6 oz", "all behind the joint, pack not counted": "4.6 lb",
    "force that starts the joint, no pins": "5 1/2 lb", "force that pulls the pack out": "3 lb",
}  # fmt: skip
"""What a builder measures, as it is typed."""

SLOW = 30_000
"""Milliseconds for what a busy machine does late."""


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        program = driver.chromium.launch(executable_path=PROGRAM, args=FLAGS)
        yield program
        program.close()


class Looked:
    """A page, with all that it asked for and complained of."""

    def __init__(self, browser, found, width=1200, height=900):
        self.tab = browser.new_page(viewport={"width": width, "height": height})
        self.tab.set_default_timeout(SLOW)
        self.asked, self.errors = [], []
        self.tab.on("request", lambda request: self.asked.append(request.url))
        self.tab.on("pageerror", lambda error: self.errors.append(str(error)))
        self.tab.on("console", self.heard)
        self.tab.goto(found.address)
        self.settled()

    def heard(self, message):
        if message.type in ("error", "warning"):
            self.errors.append(message.text)

    def settled(self, kind="drawn"):
        """Wait until what was changed last is on the page."""
        self.tab.wait_for_selector(f"body[data-{kind}]", state="attached")
        end = time.monotonic() + SLOW / 1e3
        while time.monotonic() < end:
            now = self.tab.evaluate(
                "[performance.getEntriesByType('mark').filter(m => m.name.startsWith('change'))"
                ".at(-1).name.slice(7), document.body.dataset." + kind + "]"
            )
            if now[0] == now[1]:
                return
            time.sleep(0.02)
        raise AssertionError(f"not {kind}: {now}")

    def opened(self, place):
        """Open what is folded, by a key: an answer may move it from under a click."""
        self.tab.locator(f"{place} > summary").press("Enter")

    def said(self, place):
        return self.tab.inner_text(place)


@contextmanager
def listening(found):
    """Hold the connection of a page, so that the program stays between two of them."""
    with socket.create_connection(("127.0.0.1", found.port)) as line:
        host = found.own["Host"]
        line.sendall(f"GET {found.root}here HTTP/1.1\r\nHost: {host}\r\n\r\n".encode())
        yield


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    with served(tmp_path_factory.mktemp("work"), BENCH) as found, listening(found):
        yield found


@pytest.fixture
def page(browser, bench):
    looked = Looked(browser, bench)
    yield looked
    looked.tab.close()
    assert looked.errors == []
    own = f"http://127.0.0.1:{bench.port}{bench.root}"
    assert [url for url in looked.asked if not url.startswith((own, "data:", "blob:"))] == []


def test_from_a_first_visit_to_an_answer_of_ones_own(browser, tmp_path):
    with served(tmp_path) as found:
        looked = Looked(browser, found)
        for label, text in MEASURED.items():
            looked.tab.get_by_label(label, exact=True).fill(text)
            looked.tab.keyboard.press("Tab")
        looked.settled()
        assert looked.said("#headline").startswith(("Separates", "No separation", "Partial"))
        assert "Energetic charges burn, blind and maim" in looked.said("#caution")
        # what was typed stays, whatever came back meanwhile
        for label, text in MEASURED.items():
            assert looked.tab.get_by_label(label, exact=True).input_value() == text
        looked.tab.fill("#file", "mine.toml")
        looked.tab.click("#save")
        looked.tab.get_by_text("wrote mine.toml").wait_for()
        looked.settled()
        shown = looked.said("#numbers")
        looked.tab.close()
        assert looked.errors == []
    case = read(tmp_path / "mine.toml")
    peak = simulate(case).numbers.peak_pressure
    from baypulse.case import quantities

    with quantities.written_in(quantities.US):
        assert quantities.show(peak, "gauge pressure") in shown


def test_every_control_is_moved_by_keyboard(page):
    tab = page.tab
    page.settled("banded")
    tab.wait_for_selector("#charge[aria-valuetext]")
    for name in ("#charge", "#slider-pins", "#slider-force", "#slider-vent", "#slider-air",
                 "#slider-quickness"):  # fmt: skip
        control = tab.locator(name)
        control.focus()
        before, said = control.input_value(), control.get_attribute("aria-valuetext")
        tab.keyboard.press("ArrowRight")
        page.settled()
        assert control.input_value() != before, name
        assert control.get_attribute("aria-valuetext") != said, name
        assert tab.evaluate("document.activeElement.id") == name[1:]
    page.settled("read")
    cursor = tab.locator("#cursor")
    cursor.focus()
    said, at = page.said("#reading"), int(cursor.input_value())
    for _ in range(12):
        tab.keyboard.press("ArrowRight")
    assert page.said("#reading") != said
    assert cursor.get_attribute("aria-valuetext") == page.said("#reading")
    # and it stays where it was put when the next answer comes
    tab.locator("#slider-pins").focus()
    tab.keyboard.press("ArrowLeft")
    page.settled("read")
    assert int(cursor.input_value()) == at + 12
    assert "gauge" in page.said("#reading")
    # and all of it is reached by Tab alone
    tab.locator("#open").focus()
    reached = set()
    for _ in range(40):
        tab.keyboard.press("Tab")
        reached.add(tab.evaluate("document.activeElement.id"))
    assert {"charge", "cursor", "keep", "slider-pins", "slider-vent", "thread", "file"} <= reached


def test_a_chart_is_read_by_pointing_at_it(page):
    page.settled("read")
    said = page.said("#reading")
    box = page.tab.locator("#chart-pressure").bounding_box()
    page.tab.mouse.move(box["x"] + 0.8 * box["width"], box["y"] + 0.5 * box["height"])
    page.tab.mouse.move(box["x"] + 0.81 * box["width"], box["y"] + 0.5 * box["height"])
    page.tab.wait_for_timeout(100)
    assert page.said("#reading") != said


def test_what_is_wrong_stands_beside_its_field_and_goes_away(page):
    field = page.tab.get_by_label("inside diameter of the tube", exact=True)
    field.fill("76 mn")
    field.press("Tab")
    page.tab.get_by_text('did you mean "mm"?').wait_for()
    assert field.get_attribute("aria-invalid") == "true"
    assert page.said("#headline") == "Not understood yet"
    # the others stay as they are
    page.tab.wait_for_timeout(300)
    other = page.tab.get_by_label("tube, open lip to closed end", exact=True)
    assert other.input_value() == "320 mm"
    assert page.tab.locator("#slider-pins").is_visible()
    field.fill("76 mm")
    field.press("Tab")
    page.settled()
    assert field.get_attribute("aria-invalid") is None
    assert page.said("#headline") != "Not understood yet"


def test_settings_are_kept_and_compared(page):
    page.settled("banded")
    for _ in range(4):
        page.tab.click("#keep")
        page.tab.locator("#charge").focus()
        page.tab.keyboard.press("ArrowRight")
        page.settled()
    assert page.tab.locator("#keep").is_disabled()
    assert page.tab.locator("#kept thead th").count() == 5
    assert "powder mass" in page.said("#kept")
    page.tab.locator("#kept button").first.click()
    assert page.tab.locator("#kept thead th").count() == 4
    assert page.tab.locator("#keep").is_enabled()


def test_every_other_key_is_under_more(page):
    page.opened("#more")
    page.tab.locator("#tables summary", has_text="joint").first.click()
    field = page.tab.locator("[id='field-joint.clearance']")
    field.fill("0.2 mm")
    field.press("Tab")
    page.settled()
    assert page.said("#problems") == ""
    # and the numbers of the library, of which another word brings others
    page.tab.locator("#tables summary", has_text="library: powders, 3F").first.click()
    assert page.tab.locator("[id='field-library.powders.3F.rate']").is_visible()
    page.tab.locator("#tables summary", has_text="powder").first.click()
    page.tab.locator("[id='field-powder.grade']").select_option("2F")
    page.tab.locator("#tables summary", has_text="library: powders, 2F").first.wait_for()
    field = page.tab.locator("[id='field-joint.clearance']")
    field.fill("9 m")
    field.press("Tab")
    page.tab.get_by_text("allowed 0 mm to 5 mm").wait_for()


def test_the_units_change_everywhere(page):
    assert "kPa (" in page.said("#numbers")
    page.tab.get_by_label("inches").check()
    page.settled()
    assert "psi (" in page.said("#numbers")


def test_what_was_seen_is_ticked_and_a_report_is_shown(page):
    tab = page.tab
    page.opened("#shot")
    tab.get_by_label("no separation", exact=True).check()
    tab.get_by_label("partial separation", exact=True).check()
    # one answer of a kind
    assert not tab.get_by_label("no separation", exact=True).is_checked()
    tab.click("#add-shot")
    tab.get_by_text("save the case first").wait_for()
    tab.click("[data-study=run]")
    shown = tab.frame_locator("#report-page").locator("h1")
    shown.wait_for()
    assert shown.inner_text() == "76 mm bench bay"


def test_the_bays_of_a_rocket_are_tabs(browser, tmp_path):
    rocket = str(CASES / "rockets" / "saffron-plover.toml")
    with served(tmp_path, rocket) as found:
        looked = Looked(browser, found)
        tabs = looked.tab.get_by_role("tab")
        names = tabs.all_inner_texts()
        assert len(names) == 2
        first = looked.said("#headline"), looked.said("#numbers")
        tabs.nth(1).click()
        looked.settled()
        assert tabs.nth(1).get_attribute("aria-selected") == "true"
        assert (looked.said("#headline"), looked.said("#numbers")) != first
        assert looked.said("#problems") == ""
        looked.tab.close()
        assert looked.errors == []


@pytest.mark.parametrize("width", [1200, 768, 390])
def test_nothing_is_cut_or_scrolls_sideways(browser, bench, width):
    looked = Looked(browser, bench, width, 844)
    looked.settled("banded")
    looked.tab.click("#keep")
    looked.opened("#more")
    looked.tab.locator("#tables summary").first.click()
    assert looked.tab.evaluate("document.documentElement.scrollWidth") <= width
    cut = looked.tab.evaluate(
        "[...document.querySelectorAll('p, h1, h2, li, td, th, label, button, small, strong,"
        " output, summary')].filter(e => e.offsetParent && !e.closest('.unseen, .wide') &&"
        " e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')"
        ".map(e => e.textContent.slice(0, 60))"
    )
    assert cut == []
    out = looked.tab.evaluate(
        "[...document.querySelectorAll('svg text')].filter(e => {"
        " const a = e.getBoundingClientRect(), b = e.ownerSVGElement.getBoundingClientRect();"
        " return a.left < b.left - 1 || a.right > b.right + 1 || a.bottom > b.bottom + 1; })"
        ".map(e => e.textContent)"
    )
    assert out == []
    looked.tab.close()
    assert looked.errors == []


def test_closing_the_page_ends_the_program(browser, tmp_path):
    with served(tmp_path, BENCH) as found:
        looked = Looked(browser, found)
        looked.tab.reload()  # is no closing
        looked.settled()
        time.sleep(4.0)
        assert found.process.poll() is None
        looked.tab.close()
        assert found.process.wait(30) == 0
