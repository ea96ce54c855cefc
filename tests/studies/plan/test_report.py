import json
import re
import shutil
import subprocess
import warnings
from dataclasses import replace
from functools import cache

import pytest

import plan_findings as made
from baypulse.caution import CAUTION
from baypulse.show.data import fingerprint
from baypulse.show.figures.base import style
from baypulse.show.sheet import BOTTOM, SIDE, TALL, TOP, WIDE, Sheet, wrapped
from baypulse.studies.plan import advice
from baypulse.studies.plan import report as plans
from baypulse.studies.plan import text as plan_text
from baypulse.studies.plan.page import plan_page
from baypulse.studies.plan.pdf import pages, pdf
from studies.run.test_report import Page
from studies.scatter.test_report import FLAT, UNITS, floats_with_names, whole

INCH = 25.4
"""[mm], exact by definition."""

A4, LETTER = (210.0, 297.0), (8.5 * INCH, 11.0 * INCH)
"""ISO 216; ANSI/ASME Y14.1 size A."""


def flat(text):
    return " ".join(text.split())


def lines(figure):
    """Return the lines of text on a page, from the top down, each with its box in millimetres."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import RendererAgg

    # widths as in the file: those of a screen are rounded to its dots
    with style(), rc_context({"text.hinting": "none"}):
        figure.set_dpi(40.0 * INCH)
        # measures letters only, so it needs no canvas to draw on
        renderer = RendererAgg(8, 8, figure.dpi)
        texts = list(figure.texts)
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
    return [(page.get_size_inches() * INCH, lines(page)) for page in pages(made.KINDS[kind]())]


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
    for row in plan_text.ladder_rows(plan):
        assert flat(row[1]).split(" (")[0] in first
    for seen, _, _ in advice.decisions(plan.case):
        assert seen.split()[0] in first
    for name, _ in advice.record(plan.case):
        assert all(word in second.split() for word in name.split()), name
    assert "36.8 %" in second and "299" in second and "473" in second
    assert second.count("smoke") == advice.ROWS
    assert fingerprint(plan.case) in first and fingerprint(plan.case) in second
    assert plan_text.versions()["baypulse"] in second


def test_the_same_plan_gives_the_same_file():
    first, second = pdf(made.usual()), pdf(made.usual())
    assert first == second
    assert first.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", first)) == 2
    assert b"CreationDate" not in first and b"ModDate" not in first
    # whole fonts (TrueType), no outlines drawn by hand
    assert b"/FontFile2" in first and b"/Subtype /Type3" not in first


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs pdftotext of Poppler")
def test_the_text_of_the_paper_can_be_copied(tmp_path):
    place = tmp_path / "plan.pdf"
    place.write_bytes(pdf(made.in_flight()))
    ran = subprocess.run(["pdftotext", "-layout", str(place), "-"], capture_output=True, check=True)
    *sheets, rest = ran.stdout.decode().split("\f")
    assert len(sheets) == 2 and not rest.strip()
    assert all(FLAT in flat(sheet) for sheet in sheets)
    assert "flight" in sheets[0] and "Record" in sheets[1]


def test_a_plan_report_holds_a_whole_page_and_its_paper(tmp_path, monkeypatch):
    monkeypatch.setattr(
        "baypulse.studies.plan.report.pdf", lambda plan: plan.case.name.encode() * 200
    )
    for name in ("usual", "plain", "odd"):
        plan = made.KINDS[name]()
        files = plans.PLAN.write(plan, tmp_path / name)
        assert set(files) == {"index.html", "plan.pdf", "numbers.json", "figures/sketch.png",
                              "figures/sketch.svg"}  # fmt: skip
        assert all(path.stat().st_size > 500 for path in files.values())
        page = whole(files["index.html"])
        text = flat(page.text)
        for row in plan_text.ladder_rows(plan):
            assert all(flat(cell) in text for cell in row), name
        for sentence in [*plan_text.notes(plan), plan_text.PROOF, plan_text.unknown(plan)]:
            assert flat(sentence) in text
        for _, items in advice.checklist(plan.case):
            assert all(item in text for item in items)
        json.loads(files["numbers.json"].read_text("utf-8"))


def test_text_of_the_case_cannot_become_markup():
    page = Page(plan_page(made.odd(), {}))
    assert "<b>with</b> $odd$" in page.text


def test_the_summary_fits_the_terminal_and_ends_with_the_caution():
    for name, plan in made.every():
        text = plans.summary(plan)
        assert max(map(len, text.splitlines())) <= 88, name
        assert flat(text).endswith(FLAT)
        assert text.isascii() and text.endswith("\n")


def test_a_charge_far_from_practice_is_said_to_be_before_the_ladder():
    plan = made.usual()
    usual = plan.window.static_rule.empty.needed_mass
    for share, said in ((1.0, False), (3.0, True)):
        first = replace(plan.window.recommended, charge=share * usual)
        text = plans.summary(replace(plan, window=replace(plan.window, recommended=first)))
        before = text.partition("Step 1")[0]
        assert ("far from practice" in before) == said


def test_numbers_are_json_with_a_unit_in_each_name():
    for name, plan in made.every():
        found = json.loads(json.dumps(plans.plan_numbers(plan), allow_nan=False))
        assert found["caution"] == CAUTION
        # the case as it was read is the same in every report, and tested there
        assert found.pop("case")["values"]
        for key, _ in floats_with_names(found):
            assert key.split("_")[-1] in UNITS or key.endswith("_per_s"), (name, key)
        assert len(found["steps"]) == len(plan.steps)
        assert sum(v["count"] for v in found["steps"][0]["verdicts"]) == plan.members


def test_numbers_hold_both_units():
    found = plans.plan_numbers(made.usual())
    step = found["steps"][-1]
    assert step["charge_kg"] == 0.63e-3 and step["charge_g"] == pytest.approx(0.63)
    speed = "separation_velocity_below_95_percent"
    # the foot is 0.3048 m by definition
    assert step[f"{speed}_ft_per_s"] == pytest.approx(step[f"{speed}_m_per_s"] / 0.3048)
    assert found["recommended_charge_g"] == pytest.approx(0.63)


def test_the_ladder_is_told_in_both_units():
    row = plan_text.ladder_rows(made.usual())[-1]
    grams, grains = re.match(r"(\S+) g\n\((\S+) grain\)", row[1]).groups()
    # the grain is 64.79891 mg by definition
    assert float(grains) == pytest.approx(float(grams) / 0.06479891, rel=5e-3)
    assert re.fullmatch(r"\S+ to \S+ m/s\n\(\S+ to \S+ ft/s\)", row[4])
    assert row[7] == "clamped"


@pytest.mark.parametrize(
    ("low", "high", "dimension", "words"),
    [
        (4.04, 8.06, "velocity", "4.0 to 8.1 m/s\n(13 to 26 ft/s)"),
        (0.0005, 0.02, "length", "0.50 to 20 mm\n(0.020 to 0.79 in)"),
        (3.0, 3.0, "length", "3.0 m\n(9.8 ft)"),
        (float("nan"), float("nan"), "length", ""),
    ],
)
def test_a_range_in_words(low, high, dimension, words):
    assert plan_text.span(low, high, dimension) == words


def test_what_a_plan_says_depends_on_the_case():
    rows = dict(made.every())
    assert plan_text.ladder_head(rows["in_flight"])[-1] == "Separates in flight"
    assert any("6000 m" in note for note in plan_text.notes(rows["in_flight"]))
    assert not any("flight" in note for note in plan_text.notes(rows["usual"]))
    assert any("cannot prove it" in note for note in plan_text.notes(rows["odd"]))
    assert "In a fast shot" in plan_text.ladder_head(rows["plain"])
    assert "no limit found" in dict(plan_text.facts(rows["plain"]))["Window for 99 %"]
    assert any(note.startswith("* v") for note in plan_text.notes(rows["plain"]))
    first = plan_text.ladder_rows(rows["odd"])[0]
    assert first[4] == "none separates" and "no end" in first[6] and first[8] == ""


def test_a_gas_is_not_told_of_powder():
    told = Page(plan_page(made.of_cold_gas(), {})).text.replace(FLAT, "")
    assert not re.search(r"\b(powder|igniter|grains?|flame|weighed)\b", told.split("Record")[0])
    assert "Fill pressure" in told and "psi" in told


def test_the_decisions_never_say_to_double_and_give_no_times():
    for _, plan in made.every():
        for _, meaning, then in advice.decisions(plan.case):
            # how long to wait is the safety code's to say
            assert not re.search(r"\d", meaning + then)
        shut = next(
            then for seen, _, then in advice.decisions(plan.case) if "no separation" in seen
        )
        assert shut.startswith("Do not simply double")


def test_plans_are_compared():
    text = plans.compare([made.usual(), made.of_cold_gas()])
    assert "bench" in text and "cold" in text
    assert flat(text).endswith(FLAT)


def test_a_plan_does_not_replace_what_is_not_its_own(tmp_path):
    (tmp_path / "holiday.txt").write_text("mine", "utf-8")
    with pytest.raises(FileExistsError, match=r"holiday\.txt"):
        plans.PLAN.write(made.usual(), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["holiday.txt"]


def test_nothing_is_left_when_writing_stops_in_between(tmp_path, monkeypatch):
    monkeypatch.setattr("baypulse.studies.plan.report.pdf", lambda plan: plan.case.name.encode())
    plans.PLAN.write(made.usual(), tmp_path / "plan")
    before = {p.name: p.read_bytes() for p in (tmp_path / "plan").glob("*.*")}

    def full(folder, files):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("baypulse.show.study_folder.fill", full)
    with pytest.raises(OSError, match="No space"):
        plans.PLAN.write(made.in_flight(), tmp_path / "plan")
    assert {p.name: p.read_bytes() for p in (tmp_path / "plan").glob("*.*")} == before
    assert [p.name for p in tmp_path.iterdir()] == ["plan"]


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


def test_letters_that_the_font_lacks_do_no_harm():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        case = replace(made.usual().case, title="火箭 回収 \N{ROCKET}")
        plan = replace(made.usual(), window=replace(made.usual().window, case=case))
        assert pdf(plan).startswith(b"%PDF-")
