"""A review: what its studies say, word for word, every table, figures for print, every input."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from baypulse.case import library
from baypulse.case.casefile import reads
from baypulse.caution import CAUTION
from baypulse.review import inputs
from baypulse.review.document import document
from baypulse.review.known import Known
from baypulse.show import folder
from baypulse.show.document import Document, Facts, Quantity
from report_cases import BENCH
from review.documents import MISSING, made


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return folder.write(document(made()), tmp_path_factory.mktemp("review") / "made-up-review")


def flat(text: str) -> str:
    return " ".join(text.split())


def test_every_sentence_of_the_studies_stands_on_the_page(files: dict[str, Path]) -> None:
    import html

    page = flat(html.unescape(re.sub("<[^>]+>", " ", files["index.html"].read_text("utf-8"))))
    told = [
        entry.told for chapter in made().chapters for entry in chapter.entries
        if isinstance(entry.told, Document)
    ]  # fmt: skip
    assert len(told) == 6
    for each in told:
        for sentence in (each.headline, *each.sentences, each.unknown):
            assert flat(sentence) in page
    assert f"Not computed. {MISSING[:1].upper()}{MISSING[1:]}." in page
    assert page.count(flat(CAUTION)) == 1


def test_the_contents_lead_to_every_chapter(files: dict[str, Path]) -> None:
    page = files["index.html"].read_text("utf-8")
    ways = re.findall(r'<li><a href="#([\w-]+)">', page)
    assert ways == ["basis", *(chapter.name for chapter in made().chapters), "inputs"]
    for way in ways:
        assert page.count(f'<h2 id="{way}">') == 1


def test_every_table_is_a_file_and_none_takes_the_place_of_another(
    files: dict[str, Path],
) -> None:
    said = document(made())
    names = [part.name for part in said.tables]
    assert len(names) == len(set(names))
    assert not set(said.files) & set(said.curves)
    for part in said.tables:
        rows = list(csv.reader(io.StringIO(files[f"tables/{part.name}.csv"].read_text("utf-8"))))
        assert len(rows) == 1 + (1 if isinstance(part, Facts) else len(part.rows))
    # the curves of an ascent, as its own report has them
    assert "tables/curves_ascent_main_ascent.csv" in files


def test_a_number_of_a_table_is_that_of_the_study(files: dict[str, Path]) -> None:
    text = files["tables/window_main_charges.csv"].read_text("utf-8")
    rows = {row["name"]: row for row in csv.DictReader(io.StringIO(text))}
    assert rows["ground test"]["charge_g"] == "0.63"


def test_figures_are_fit_for_print(files: dict[str, Path]) -> None:
    """The width and the dots are read from the files: PNG by its size and its pHYs chunk."""
    from PIL import Image

    figures = {name.rpartition(".")[0] for name in files if name.startswith("figures/")}
    assert len(figures) >= 8
    for name in figures:
        with Image.open(files[f"{name}.png"]) as png:
            assert png.info["dpi"][0] == pytest.approx(300.0, abs=0.1)
            assert png.size[0] / 300.0 == pytest.approx(3.8, abs=0.01)
        pdf = files[f"{name}.pdf"].read_bytes()
        assert pdf.startswith(b"%PDF-") and pdf.rstrip().endswith(b"%%EOF")
        box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ", pdf)
        # a point is a 72nd of an inch
        assert box is not None and float(box[1]) / 72.0 == pytest.approx(3.8, abs=0.01)
        svg = files[f"{name}.svg"].read_text("utf-8")
        assert svg.startswith("<?xml")
        sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)px", svg)]
        # its view is in points
        assert sizes and min(sizes) >= 8.0, (name, min(sizes, default=None))


def test_a_plan_is_there_to_be_printed(files: dict[str, Path]) -> None:
    assert files["plans/main.pdf"].read_bytes().startswith(b"%PDF-")


@pytest.mark.usefixtures("unsaved_figures")
def test_a_review_is_replaced_whole(files: dict[str, Path], tmp_path: Path) -> None:
    place = tmp_path / "review"
    folder.write(document(made()), place)
    (place / "tables" / "old.csv").write_text("old", "utf-8")
    folder.write(document(made()), place)
    assert not (place / "tables" / "old.csv").exists()
    (place / "mine.txt").write_text("mine", "utf-8")
    with pytest.raises(FileExistsError, match=r"mine\.txt"):
        folder.write(document(made()), place)


def test_every_value_of_a_case_is_an_input_with_its_source() -> None:
    case = reads(BENCH, "bench")
    rows = {each.path: each for each in inputs.of_case(case)}
    mass = rows["powder.mass"]
    assert mass.value == Quantity(case.powder.mass, "mass")  # type: ignore[union-attr]
    assert mass.known is Known.NOT_SAID
    assert rows["powder.grade"].known is Known.CHOICE
    assert rows["surroundings.altitude"].value == Quantity(case.surroundings.altitude, "altitude")
    assert "above sea level" in rows["surroundings.altitude"].meaning
    assert set(case.spreads) - {path for path in case.spreads if path.startswith("library.")} <= {
        path for path, each in rows.items() if each.spread
    }
    typed = reads(
        BENCH.replace('mass = "1.00 g"',
                      'mass = { value = "1.00 g", spread = "2 %", source = "weighed to 0.01 g" }'),
        "bench",
    )  # fmt: skip
    (weighed,) = [each for each in inputs.of_case(typed) if each.path == "powder.mass"]
    assert weighed.known is Known.MEASURED and "weighed to 0.01 g" in weighed.source
    # two percent of a gram, by hand
    assert weighed.spread is not None and "0.0200 g" in weighed.spread


def test_the_library_is_listed_once_and_a_replaced_number_beside_it() -> None:
    case = reads(BENCH, "bench")
    own = reads(BENCH + '\n[library.powders.3F]\nbulk_density = "900 kg/m^3"\n', "own")
    one, both = inputs.of_library([case]), inputs.of_library([case, case, own])
    assert len({each.path for each in one}) == len(one) == len(both) - 1
    fact = library.fact("powders.3F.bulk_density")
    values = [each.value.value for each in both if each.path == "powders.3F.bulk_density"]
    assert values == [fact.value, 900.0]


def test_the_counts_add_up() -> None:
    held = inputs.of_case(reads(BENCH, "bench"))
    table = inputs.counts({"bench": held})
    assert sum(row[1] for row in table.rows) == len(held)


def test_every_logged_shot_stands_with_its_day(files: dict[str, Path]) -> None:
    rows = list(csv.DictReader(io.StringIO(files["tables/logged_shots.csv"].read_text("utf-8"))))
    assert [row["date"] for row in rows] == ["2031-05-17", ""]
    assert [row["shot"] for row in rows] == ["shot 1, 2031-05-17", "shot 2"]
    page = files["index.html"].read_text("utf-8")
    assert "Logged shots" in page and "2031-05-17" in page and "not said" in page


def test_without_a_log_no_table_of_shots_stands_there() -> None:
    told = document(made()._replace(shots={}))
    assert not any(part.name == "logged_shots" for part in told.tables)
