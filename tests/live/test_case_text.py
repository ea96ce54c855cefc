"""What is typed on the page is a case file that every other command reads to the same numbers."""

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.keys import key_at
from baypulse.errors import CaseError
from baypulse.live.case_text import with_typed
from baypulse.live.draft import Malformed, draft_of
from baypulse.live.form import form
from baypulse.run.simulation import simulate
from live.served import CASES

BENCH = (CASES / "bench-76.toml").read_text("utf-8")

SLIDERS = {
    "powder.mass": "1.20 g", "pins.count": "2", "contents.extraction_force": "3 lb",
    "openings[0].diameter": "1/8 in", "surroundings.temperature": "2 degC",
    "powder.rate_factor": "0.68", "pins.thread": "#4-40",
}  # fmt: skip


def test_sliders_are_what_an_editor_would_have_typed():
    by_hand = (
        BENCH.replace('value = "1.00 g"', 'value = "1.20 g"')
        .replace("count = 3", "count = 2")
        .replace('value = "9 N"', 'value = "3 lb"')
        .replace('diameter = "3.2 mm"', 'diameter = "1/8 in"')
        .replace('temperature = "18 degC"', 'temperature = "2 degC"')
        .replace('grade = "3F"', 'grade = "3F"\nrate_factor = "0.68"')
        .replace('thread = "#2-56"', 'thread = "#4-40"')
    )
    page, editor = draft_of({"text": BENCH, "typed": SLIDERS}).case(), reads(by_hand)
    for table in ("powder", "pins", "contents", "openings", "surroundings", "bay", "joint"):
        assert getattr(page, table) == getattr(editor, table), table
    assert page.spreads == editor.spreads
    assert simulate(page).numbers == simulate(editor).numbers


def test_comments_and_order_stay():
    text = 'title = "a"  # mine\n\n[bay]\nbore = "75 mm"  # calipers\n'
    assert with_typed(text, {"bay.bore": "76 mm"}) == text.replace("75 mm", "76 mm")


def test_line_ends_stay():
    text = BENCH.replace("\n", "\r\n")
    changed = with_typed(text, {"pins.count": "2", "joint.fit": "snug"})
    assert changed.count("\n") == changed.count("\r\n") == BENCH.count("\n") + 1
    assert draft_of({"text": text, "typed": {"pins.count": "2"}}).case().pins.count == 2


def test_an_empty_text_leaves_the_key_or_the_row_out():
    assert draft_of({"text": BENCH, "typed": {"openings[0]": ""}}).case().openings == ()
    no_pins = draft_of({"text": BENCH, "typed": {"pins.count": "0", "pins.thread": "M3"}})
    assert no_pins.case().pins is None
    back = draft_of({"text": BENCH, "typed": {"surroundings.temperature": ""}}).case()
    assert back.surroundings.temperature is None


def test_a_new_row_is_made_whole():
    typed = {"openings[1].name": "wire hole", "openings[1].diameter": "4 mm"}
    case = draft_of({"text": BENCH, "typed": typed}).case()
    assert [each.name for each in case.openings] == ["vent", "wire hole"]


def test_a_bay_without_a_file_is_what_new_writes(tmp_path, capsys, monkeypatch):
    from baypulse.cli import main

    monkeypatch.chdir(tmp_path)
    assert main(["new", "bay.toml", "--bore", "3 in", "--tube-length", "12 in", "--pull-off",
                 "5 1/2 lb", "--pins", "2", "--charge", "1.2 g"]) == 0  # fmt: skip
    typed = {"bay.bore": "3 in", "bay.tube_length": "12 in", "joint.pull_off": "5 1/2 lb",
             "pins.count": "2", "powder.mass": "1.2 g"}  # fmt: skip
    assert draft_of({"typed": typed}).written() == (tmp_path / "bay.toml").read_text("utf-8")


def test_what_is_wrong_is_said_in_the_words_of_the_file():
    with pytest.raises(CaseError) as from_file:
        reads(BENCH.replace('bore = "76 mm"', 'bore = "76 mn"').replace("count = 3", "count = 99"))
    with pytest.raises(CaseError) as from_page:
        draft_of({"text": BENCH, "typed": {"bay.bore": "76 mn", "pins.count": "99"}}).case()
    said = [[(each.key, each.text) for each in found.value.problems]
            for found in (from_file, from_page)]  # fmt: skip
    assert said[0] == said[1]
    assert len(said[0]) == 2


@pytest.mark.parametrize(
    "body",
    [
        {"typed": {"bay.nothing": "1"}}, {"typed": {"powder[0].mass": "1 g"}}, {"typed": []},
        {"typed": {"openings.diameter": "1 mm"}}, {"typed": {"openings[200].name": "a"}},
        {"text": 3}, {"typed": {"bay.bore": 3}}, {"system": "furlongs"}, {"name": "a\nb"},
        {"typed": {"openings[x].name": "a"}}, {"typed": {"library.powders.3F.colour": "1"}},
    ],
)  # fmt: skip
def test_a_question_that_no_page_asks_is_refused(body):
    with pytest.raises(Malformed):
        draft_of(body)


def test_a_text_that_is_no_case_says_why():
    for text in ("", "bay = 3", "[bay", "openings = 3", "x" * 2000):
        with pytest.raises(CaseError):
            draft_of({"text": text, "typed": {"bay.bore": "3 in", "openings[0].name": "a"}}).case()


def test_a_measured_number_takes_the_place_of_the_library_s():
    typed = {"library.powders.3F.bed_time": "28 ms", "library.knots.figure-8.efficiency": "80 %"}
    draft = draft_of({"text": BENCH, "typed": typed})
    by_hand = BENCH + (
        '\n[library.powders.3F]\nbed_time = "28 ms"\n'
        '[library.knots.figure-8]\nefficiency = "80 %"\n'
    )
    assert draft.case().materials == reads(by_hand).materials
    assert len(draft.case().materials) == 2
    # and goes again, with the entry that it stood in
    back = draft_of({"text": draft.written(), "typed": dict.fromkeys(typed, "")})
    assert back.case().materials == {}
    assert back.written().rstrip() == BENCH.rstrip()


@pytest.mark.parametrize("path", ["library.powders.9F.rate", "library.powders.3F.colour",
                                  "library.pistols.3F.rate", "library.powders"])  # fmt: skip
def test_a_number_that_the_library_does_not_have_is_refused(path: str):
    with pytest.raises(Malformed):
        draft_of({"text": BENCH, "typed": {path: "1"}})


def test_numbers_of_the_library_that_a_case_rests_on_have_fields():
    draft = draft_of({"text": BENCH, "typed": {"powder.grade": "2F"}})
    fields = {
        f"{table['name']}.{key['name']}"
        for table in form(draft, draft.case())["tables"] for key in table["keys"]
    }  # fmt: skip
    assert "library.powders.2F.rate" in fields
    assert "library.knots.figure-8.efficiency" in fields
    assert not any(path.startswith("library.powders.3F") for path in fields)
    assert all(key_at(path) for path in fields if path.startswith("library."))
