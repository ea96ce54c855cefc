"""What holds for the document of every study, whatever it says."""

import csv
import importlib
import io
import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from importlib import resources
from itertools import combinations
from pathlib import Path

import jsonschema
import pytest
from matplotlib.text import Text

from baypulse.case.unit_table import DIMENSIONS
from baypulse.caution import CAUTION
from baypulse.show import as_csv, as_json, cells, folder, in_terminal
from baypulse.show.document import Figure
from baypulse.show.figures.base import style

STUDIES = Path(__file__).parents[1] / "studies"

DOCUMENTS = {
    name: make
    for module in (
        *(f"studies.{place.parent.name}" for place in sorted(STUDIES.glob("*/documents.py"))),
        "review",
    )
    for name, make in importlib.import_module(f"{module}.documents").DOCUMENTS.items()
}
"""What makes the documents of every study, by a name for the test."""

SUFFIXES = {
    cells.suffix(unit)
    for kind in DIMENSIONS.values()
    for unit in (kind.si_unit, kind.filed)
    if unit
} | {"ratio", "bit", "shots", "readings", "draws"}
"""Ends of the names of numbers that have a unit, from the table of kinds of value; what is counted
may be an effective number, which is not whole."""


PHONE = 366.0 / 96.0
"""Width of the column of a page on a screen 390 dots wide, less its margins of 12 [in]: of the dots
of CSS there are 96 in an inch (CSS Values and Units Module Level 3, section 6.2; from memory)."""

SMALLEST = 11.0 * 72.0 / 96.0
"""Letters of 11 such dots [points]."""


class Page(HTMLParser):
    """The text of a page, the tags that stand open, and what it would load."""

    VOID = frozenset({"meta", "br", "img", "link", "input", "hr"})

    def __init__(self, text):
        super().__init__()
        self.text, self.open, self.loads, self.ids, self.tags = "", [], [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag not in self.VOID:
            self.open.append(tag)
        self.ids += [value for name, value in attrs if name == "id"]
        self.loads += [
            value for name, value in attrs
            if name in ("src", "href", "xlink:href") and not value.startswith(("#", "data:"))
        ]  # fmt: skip

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not {"style", "script"} & set(self.open):
            self.text += data


def flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module", params=sorted(DOCUMENTS))
def document(request):
    return drawn_once(DOCUMENTS[request.param]())


def drawn_once(document):
    """Return a document whose figures are drawn when they are first asked for, and kept."""

    def once(part):
        return replace(part, draw=cache(part.draw)) if isinstance(part, Figure) else part

    return replace(document, sections=tuple(
        replace(section, parts=tuple(map(once, section.parts))) for section in document.sections
    ))  # fmt: skip


def test_the_numbers_have_the_shape_that_is_shipped(document):
    schema = json.loads(
        resources.files("baypulse.show").joinpath("report.schema.json").read_text("utf-8")
    )
    jsonschema.validate(json.loads(as_json.text(as_json.numbers(document))), schema)


def test_every_number_of_a_kind_with_a_unit_ends_in_it(document):
    def check(held, name):
        if isinstance(held, dict):
            for key, value in held.items():
                check(value, key)
        elif isinstance(held, list):
            for value in held:
                check(value, name)
        elif isinstance(held, float):
            assert any(name == end or name.endswith(f"_{end}") for end in SUFFIXES), name

    found = as_json.numbers(document)
    check(found["findings"], "findings")
    check(found["tables"], "tables")


def test_the_terminal_has_the_answer_first_and_the_caution_once_at_the_end(document):
    for full in (False, True):
        text = in_terminal.told(document, full=full)
        assert max(map(len, text.splitlines())) <= 88
        assert flat(text).endswith(flat(CAUTION))
        assert flat(text).count(flat(CAUTION)) == 1
        assert flat(text).lower().index(flat(document.headline).lower()) < 250
    assert len(in_terminal.told(document).splitlines()) <= 60


def drawn_texts(made):
    """Return every text of a figure that is seen, and its box in points, by matplotlib itself."""
    made.draw_without_rendering()
    found = []
    for place in [made, *made.axes]:
        for text in place.texts:
            if text.get_text().strip():
                # without the line that an annotation draws
                box = Text.get_window_extent(text, made.canvas.get_renderer())
                found.append((text, box.transformed(made.dpi_scale_trans.inverted())))
    return found


def test_every_text_of_a_figure_is_large_enough_within_it_and_on_no_other(document):
    for figure in document.figures:
        with style():
            made = figure.draw()
            texts = drawn_texts(made)
        wide, tall = made.get_size_inches()
        assert wide <= PHONE
        for text, _ in texts:
            assert text.get_fontsize() >= SMALLEST, (figure.name, text.get_text())
        slack = 1.0 / 72.0
        outside = [
            text.get_text() for text, box in texts
            if min(box.x0, box.y0) < -slack or box.x1 > wide + slack or box.y1 > tall + slack
        ]  # fmt: skip
        assert not outside, figure.name
        over = [
            (one.get_text(), two.get_text())
            for (one, first), (two, second) in combinations(texts, 2)
            if min(first.x1, second.x1) - max(first.x0, second.x0) > slack
            # a box has room for letters that go below the line
            and min(first.y1, second.y1) - max(first.y0, second.y0) > 2.0 * slack
        ]
        assert not over, figure.name


def test_a_report_is_whole_and_loads_nothing(document, tmp_path):
    files = folder.write(document, tmp_path / "report")
    page = Page(files["index.html"].read_text("utf-8"))
    assert not page.open and not page.loads
    assert len(page.ids) == len(set(page.ids))
    text = flat(page.text)
    for sentence in (document.headline, *document.sentences, *document.warnings, CAUTION):
        assert flat(sentence) in text
    for figure in document.figures:
        assert files[f"figures/{figure.name}.png"].stat().st_size > 2000
        assert f'id="{figure.name}"' in files["index.html"].read_text("utf-8")


def test_its_files_for_spreadsheets_have_a_cell_in_every_column(document):
    for name, table in document.files.items():
        rows = list(csv.reader(io.StringIO(as_csv.text(table))))
        assert len({len(row) for row in rows}) == 1, name
        assert len(rows) == len(table.rows) + 1
        assert all(re.fullmatch(r"\w+", head) for head in rows[0]), name
