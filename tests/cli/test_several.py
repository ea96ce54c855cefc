"""Several cases at once: the comparison first, one page for all of them, links both ways."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.observed.least_charges import least_charges
from baypulse.show import comparison
from baypulse.show.document import Column, Table
from case.whole_case import starter_text
from report_cases import BENCH

pytestmark = pytest.mark.usefixtures("unsaved_figures")


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def cases(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    monkeypatch.chdir(tmp_path)
    # a name that a page and an address must not take for their own
    Path("a & b.toml").write_text(BENCH, "utf-8")
    Path("gas.toml").write_text(starter_text("cold gas"), "utf-8")
    return ["a & b.toml", "gas.toml"]


def test_the_comparison_comes_first_then_the_caution_once_then_the_reports(
    cases: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", *cases]) == 0
    told = capsys.readouterr().out
    assert max(map(len, told.splitlines())) <= 88
    assert len(told.splitlines()) <= 24
    assert flat(told).count(flat(CAUTION)) == 1
    places = [told.index(text) for text in ("Runs at the nominal", "Energetic charges", "report: ")]
    assert places == sorted(places)
    assert re.findall(r"^(?:report|all of them): (.*)$", told, re.MULTILINE) == [
        str(Path("reports", *rest)) for rest in
        (("a & b", "index.html"), ("gas", "index.html"), ("index.html",))
    ]  # fmt: skip
    assert "Peak pressure" not in told


def test_full_has_everything_behind_the_comparison(
    cases: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", *cases, "--full"]) == 0
    told = capsys.readouterr().out
    assert told.index("Runs at the nominal") < told.index("Peak pressure")
    assert told.count("Peak pressure") >= 2 and told.count("WHERE THE ENERGY WENT") == 2


def test_one_page_leads_to_every_report_and_each_leads_back(cases: list[str]) -> None:
    assert main(["run", *cases]) == 0
    page = Path("reports", "index.html").read_text("utf-8")
    assert CAUTION in html.unescape(page)
    ways = re.findall(r'<th scope="row"><a href="([^"]+)">([^<]+)</a>', page)
    assert [html.unescape(name) for _, name in ways] == ["a & b", "gas"]
    from urllib.parse import unquote

    for way, _ in ways:
        report = Path("reports", unquote(html.unescape(way)))
        back = re.search(r'<a href="([^"]+)">All cases', report.read_text("utf-8"))
        assert back is not None
        assert (report.parent / back[1]).resolve() == Path("reports", "index.html").resolve()


def test_a_report_of_one_case_leads_nowhere(cases: list[str]) -> None:
    assert main(["run", cases[0]]) == 0
    assert "All cases" not in Path("reports", "a & b", "index.html").read_text("utf-8")
    assert not Path("reports", "index.html").exists()


def test_somebody_elses_page_is_not_written_over(
    cases: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", *cases]) == 0
    assert main(["run", *cases]) == 0
    Path("reports", "index.html").write_text("mine", "utf-8")
    capsys.readouterr()
    assert main(["run", *cases]) == 2
    assert "is no page of several cases" in capsys.readouterr().err
    assert Path("reports", "index.html").read_text("utf-8") == "mine"


def test_json_of_several_is_a_list_and_the_page_only_where_it_is_asked(
    cases: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", *cases, "--json"]) == 0
    assert [each["name"] for each in json.loads(capsys.readouterr().out)] == ["a & b", "gas"]
    assert not Path("reports").exists()
    assert main(["run", *cases, "--json", "--out", "there"]) == 0
    assert len(json.loads(capsys.readouterr().out)) == 2
    assert Path("there", "index.html").exists()


def test_checks_are_compared_and_shown_whole_on_request(
    cases: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(least_charges.__kwdefaults__, "members", 64)
    assert main(["check", *cases]) == 0
    brief = capsys.readouterr().out
    assert brief.index("What to measure first") < brief.index("Energetic charges")
    assert flat(brief).count(flat(CAUTION)) == 1
    assert "a & b" in brief and "gas" in brief and "[bay]" not in brief
    assert main(["check", *cases, "--full"]) == 0
    whole = capsys.readouterr().out
    assert whole.count("[bay]") == 2 and whole.count("What to measure next") == 2
    assert flat(whole).count(flat(CAUTION)) == 1


def test_a_study_without_a_comparison_of_its_own_has_its_answers_compared(
    tmp_path: Path,
) -> None:
    from baypulse.commands.each_case import Done, Study, _compared
    from review.documents import DOCUMENTS

    said = DOCUMENTS["review"]()
    table = _compared([Done(None, said, None, "")] * 2, Study("", lambda found: said))
    assert table.rows[0][:2] == (said.name, said.headline)


def test_the_page_is_known_by_its_mark_alone(tmp_path: Path) -> None:
    table = Table("t", (Column("case", "case"),), (("one",), ("two",)), title="Two")
    made = comparison.Comparison("run", table, (), {"one": "one folder"})
    comparison.write(made, tmp_path)
    page = tmp_path / "index.html"
    text = page.read_text("utf-8")
    assert 'href="one%20folder/index.html"' in text and ">two<" in text
    comparison.check(tmp_path)
    page.write_text(text.replace(comparison.MARK, ""), "utf-8")
    with pytest.raises(FileExistsError, match="is not replaced"):
        comparison.check(tmp_path)
