import re
import shutil
import subprocess
import warnings
from dataclasses import replace
from functools import cache

import pytest

import plan_findings as made
from baypulse.case import quantities
from baypulse.caution import CAUTION
from baypulse.show import as_html, as_json, identity, in_terminal
from baypulse.show.figures.base import style
from baypulse.show.sheet import BOTTOM, SIDE, TALL, TOP, WIDE, Sheet, wrapped
from baypulse.show.written_line import WrittenLine
from baypulse.studies.plan import advice, words
from baypulse.studies.plan.document import compare, document
from baypulse.studies.plan.pdf import pages, pdf

INCH = 25.4
"""[mm], exact by definition."""

A4, LETTER = (210.0, 297.0), (8.5 * INCH, 11.0 * INCH)
"""ISO 216; ANSI/ASME Y14.1 size A."""


def flat(text):
    return " ".join(text.split())


FLAT = flat(CAUTION)


def paper(plan):
    return pdf(document(plan), plan.ground)


def table(plan, name):
    """Return a table of a plan's document."""
    return next(part for part in document(plan).tables if part.name == name)


def lines(figure):
    """Return the lines of text on a page, from the top down, each with its box in millimetres."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import RendererAgg

    # widths as in the file: those of a screen are rounded to its dots
    with style(), rc_context({"text.hinting": "none"}):
        figure.set_dpi(40.0 * INCH)
        # measures letters only, so it needs no canvas to draw on
        renderer = RendererAgg(8, 8, figure.dpi)
        texts = figure.findobj(WrittenLine)
        assert not figure.texts
        for axes in figure.axes:
            texts += axes.texts
        found = []
        for text in texts:
            if text.get_text().strip():
                box = text.get_window_extent(renderer)
                corners = (box.x0 / 40, TALL - box.y1 / 40, box.x1 / 40, TALL - box.y0 / 40)
                found.append((corners, text.get_text()))
    return found


@cache
def sheets(kind):
    """Return size and lines of both pages of a plan."""
    plan = made.KINDS[kind]()
    drawn = pages(document(plan), plan.ground)
    return [(page.get_size_inches() * INCH, lines(page)) for page in drawn]


def test_a_page_is_held_by_both_papers():
    assert min(A4[0], LETTER[0]) >= WIDE
    assert min(A4[1], LETTER[1]) >= TALL
    # a quarter of an inch is what printers usually leave white (from memory)
    assert min(SIDE, TOP, BOTTOM) > 0.25 * INCH


@pytest.mark.parametrize("name", made.KINDS)
def test_the_paper_has_two_pages_with_the_caution_and_nothing_runs_over(name):
    assert len(sheets(name)) == 2
    for size, held in sheets(name):
        assert tuple(size) == pytest.approx((WIDE, TALL))
        assert FLAT in flat(" ".join(text for _, text in held))
        for (left, top, right, bottom), text in held:
            assert left >= SIDE - 1.0 and right <= WIDE - SIDE + 1.0, text
            assert top >= TOP - 1.0 and bottom <= TALL - 0.25 * INCH, text


@pytest.mark.parametrize("name", made.KINDS)
def test_no_line_on_the_paper_covers_another(name):
    for _, held in sheets(name):
        for k, ((left, top, right, bottom), text) in enumerate(held):
            for (l2, t2, r2, b2), other in held[k + 1 :]:
                across = min(right, r2) - max(left, l2)
                down = min(bottom, b2) - max(top, t2)
                # boxes of letters reach a little over their lines
                assert across < 0.4 or down < 0.6, (text, other)


def test_the_paper_holds_ladder_decisions_checklist_record_and_foot():
    plan = made.usual()
    first, second = (flat(" ".join(text for _, text in held)) for _, held in sheets("usual"))
    for charge in ("0.470 g", "0.500 g", "0.550 g", "0.630 g"):
        assert charge in first
    for seen, _, _ in advice.decisions(plan.case):
        assert seen.split()[0] in first
    for name in advice.record(plan.case):
        assert all(word in second.split() for word in name.split()), name
    assert "36.8 %" in second and "299" in second and "473" in second
    assert second.count("smoke") == advice.ROWS
    mark = identity.fingerprint([plan.case])
    assert mark in first and mark in second
    assert identity.versions()["baypulse"] in second


def test_the_same_plan_gives_the_same_file():
    first, second = paper(made.usual()), paper(made.usual())
    assert first == second
    assert first.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", first)) == 2
    assert b"CreationDate" not in first and b"ModDate" not in first
    # whole fonts (TrueType), no outlines drawn by hand
    assert b"/FontFile2" in first and b"/Subtype /Type3" not in first


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext of Poppler")
def test_the_text_of_the_paper_can_be_copied(tmp_path):
    place = tmp_path / "plan.pdf"
    place.write_bytes(paper(made.in_flight()))
    ran = subprocess.run(["pdftotext", "-layout", str(place), "-"], capture_output=True, check=True)
    *sheets, rest = ran.stdout.decode().split("\f")
    assert len(sheets) == 2 and not rest.strip()
    assert all(FLAT in flat(sheet) for sheet in sheets)
    assert "flight" in sheets[0] and "Record" in sheets[1]


def test_a_charge_far_from_practice_is_said_to_be_before_the_ladder():
    plan = made.usual()
    usual = plan.window.static_rule.empty.needed_mass
    for share, said in ((1.0, False), (3.0, True)):
        first = replace(plan.window.recommended, charge=share * usual)
        changed = replace(plan, window=replace(plan.window, recommended=first))
        before = in_terminal.told(document(changed)).partition("The ladder")[0]
        assert ("far from practice" in before) == said


def test_numbers_hold_both_units():
    found = as_json.numbers(document(made.usual()))
    step = found["tables"]["ladder"][-1]
    assert step["charge_kg"] == 0.63e-3 and step["charge_g"] == pytest.approx(0.63)
    speed = "separation_velocity_95_percent_below"
    # the foot is 0.3048 m by definition
    assert step[f"{speed}_ft_per_s"] == pytest.approx(step[f"{speed}_m_per_s"] / 0.3048)
    assert found["tables"]["facts"]["recommended_charge_g"] == pytest.approx(0.63)
    assert len(found["findings"]["steps"]) == 4
    assert sum(each["count"] for each in found["findings"]["steps"][0]["verdicts"]) == 48


def test_a_way_has_two_digits_and_the_unit_of_the_text_first():
    assert words.length(3.0) == "3.0 m (9.8 ft)"
    assert words.length(0.02) == "20 mm (0.79 in)"
    with quantities.written_in(quantities.US):
        assert words.length(3.0) == "9.8 ft (3.0 m)"
    assert table(made.usual(), "ways").rows[-1][4].text == "clamped"


def test_what_a_plan_says_depends_on_the_case():
    flying, usual, odd, plain = (
        made.KINDS[name]() for name in ("in_flight", "usual", "odd", "plain")
    )
    assert table(flying, "ladder").columns[-1].label == "Separates in flight"
    assert any("6000 m" in sentence for sentence in words.sentences(flying))
    assert not any("flight" in sentence for sentence in words.sentences(usual))
    assert any("cannot prove it" in sentence for sentence in words.sentences(odd))
    assert table(plain, "ways").columns[-1].label == "In a fast shot it slides up to"
    assert words.between_ends(usual) == "0.370 to 1.06 g (5.71 to 16.4 grain)"
    assert words.between_ends(plain) == "0.370 g (5.71 grain) or more, no limit found"
    assert "* v²/(2 µ g)" in words.notes(plain)
    assert words.headline(usual) == (
        "Ground test in 4 steps, from 0.470 g (7.25 grain) to 0.630 g (9.72 grain)"
    )
    assert "none separates" in in_terminal.told(document(odd))
    assert table(odd, "ways").rows[0][3].text == "no end* nothing stops it"
    assert table(odd, "ways").rows[0][-1] is None


def test_the_record_to_fill_in_stands_on_the_page_only():
    found = document(made.usual())
    page = as_html.page(found, {"sketch": ""})
    assert page.count("☐ smoke") == advice.ROWS
    assert "☐ smoke" not in in_terminal.told(found, full=True)
    assert "record" not in as_json.numbers(found)["tables"]


def test_a_gas_is_not_told_of_powder():
    found = document(made.of_cold_gas())
    told = flat(in_terminal.told(found, full=True))
    told = told.replace(FLAT, "").replace(flat(words.UNKNOWN), "")
    assert not re.search(r"\b(powder|igniter|grains?|flame|weighed)\b", told)
    assert "psi" in told
    assert table(made.of_cold_gas(), "ladder").columns[1].label == "Fill pressure, gauge"


def test_plans_are_compared():
    rows = compare([made.usual(), made.of_cold_gas()]).rows
    assert [row[0] for row in rows] == ["bench", "cold"]
    assert rows[0][3].text == "0.630 g" and rows[0][3].value.value == 0.63e-3


def test_the_decisions_never_say_to_double_and_give_no_times():
    for _, plan in made.every():
        for _, meaning, then in advice.decisions(plan.case):
            # how long to wait is the safety code's to say
            assert not re.search(r"\d", meaning + then)
        shut = next(
            then for seen, _, then in advice.decisions(plan.case) if "no separation" in seen
        )
        assert shut.startswith("Do not simply double")


def test_a_paragraph_wraps_to_its_width_and_loses_nothing():
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    text = "Keep clear of both ends, " * 6 + "x" * 90
    for wide in (8.0, 20.0, 45.0):
        rows = wrapped(text, wide)
        assert "".join(rows).replace(" ", "") == text.replace(" ", "")
        for row in rows:
            # matplotlib's own outline of the letters
            path = TextPath((0, 0), row, size=100, prop=FontProperties(family="DejaVu Sans"))
            assert path.get_extents().width / 100.0 <= wide * 1.01


def test_a_sheet_knows_when_it_is_full():
    sheet = Sheet(8.0)
    while not sheet.overflows:
        sheet.text("a line")
    assert sheet.y == pytest.approx(TALL - BOTTOM, abs=sheet.line)


def test_only_the_page_that_is_used_is_drawn(monkeypatch):
    from baypulse.show.figures import sketch

    calls, draw = [], sketch.draw
    monkeypatch.setattr(sketch, "draw", lambda *where: calls.append(where) or draw(*where))
    first, second = pages(document(made.usual()), made.usual().ground)
    assert len(calls) == 1
    assert len(first.axes) == 1 and not second.axes


def test_letters_that_the_font_lacks_do_no_harm():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        case = replace(made.usual().case, title="火箭 回収 \N{ROCKET}")
        plan = replace(made.usual(), window=replace(made.usual().window, case=case))
        assert paper(plan).startswith(b"%PDF-")
