"""The report of a charge aloft: text, page, numbers, table and figures say what was found."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from baypulse.studies.aloft.page import aloft_page

from aloft_findings import found
from baypulse.case import quantities
from baypulse.case.quantities import percent
from baypulse.caution import CAUTION
from baypulse.members.chances import chance
from baypulse.show.phrases import WIDE
from baypulse.studies.aloft import figures as drawings
from baypulse.studies.aloft import report
from baypulse.studies.aloft import text as words
from baypulse.studies.aloft.first_failure import Height
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE
from baypulse.studies.aloft.result import Aloft

INFINITE = Height(math.inf, 4000.0, math.inf)
NOWHERE = Height(-math.inf, -math.inf, -math.inf)


@cache
def made(name: str) -> Aloft:
    """Return a study, or one changed into what is rare."""
    if name in ("loose", "cold gas", "weak"):
        return found(name)
    study = found("loose")
    sources = study.sources
    if name == "holds everywhere":
        sources = tuple(replace(each, height=INFINITE) for each in sources)
        high = replace(study.highest, opens=chance("separates", 256, 256))
        return replace(study, sources=sources, levels=(*study.levels[:-1], high))
    # nothing opens: no least charge, no source
    none = [chance("separates", 0, 256)] * len(sources[0].chances)
    levels = tuple(
        replace(each, opens=none[0], clear_time=None, clear_velocity=None, cord_margin=None)
        for each in study.levels
    )
    need = replace(study.home_need, least=None, share_at_highest=0.3, charge=None, opens=None)
    lost = replace(
        study,
        sources=tuple(replace(s, height=NOWHERE, chances=tuple(none)) for s in sources[:2]),
        levels=levels,
        home_need=need,
        needs=tuple(replace(need, altitude=each.altitude) for each in study.needs),
        steps=tuple(replace(each, least=None, clear_velocity=None) for each in study.steps),
        missing="No cold gas is compared.",
        warnings=("mind <b> this",),
    )
    return replace(lost, case=replace(study.case, title="A <b> title", note="A <i> note"))


NAMES = ("loose", "cold gas", "holds everywhere", "nothing")


def flat(text: str) -> str:
    return " ".join(unescape(text).split())


@pytest.mark.parametrize("name", NAMES)
def test_every_report_is_whole(name: str, tmp_path: Path) -> None:
    files = report.ALOFT.write(made(name), tmp_path / "report")
    assert {"index.html", "numbers.json", "aloft.csv"} <= set(files)
    page = files["index.html"].read_text("utf-8")
    assert flat(CAUTION) in flat(page)
    assert "<script" not in page
    assert "<b> t" not in page
    assert "nan" not in flat(page).replace("nanometre", "").lower().split()
    numbers = json.loads(files["numbers.json"].read_text("utf-8"))
    assert numbers["caution"] == CAUTION
    assert numbers["study"] == "aloft"
    for figure in ("curves", "steps", "sources"):
        assert f"figures/{figure}.png" in files
        assert f'id="{figure}"' in page
    if name == "loose":
        assert set(report.ALOFT.write(made(name), tmp_path / "report")) == set(files)


@pytest.mark.parametrize("name", NAMES)
def test_terminal_is_narrow_and_says_the_same_as_the_page(name: str) -> None:
    study = made(name)
    text = report.summary(study)
    assert all(len(line) <= WIDE for line in text.splitlines())
    assert flat(CAUTION) in flat(text)
    page = aloft_page(study, {})
    for sentence in (*words.meaning(study), *words.needs(study), *words.source_sentences(study)):
        assert flat(sentence) in flat(page)
        assert flat(sentence) in flat(text)


def test_sentences_hold_the_numbers() -> None:
    study = made("loose")
    high = study.highest
    assert percent(high.opens.share) in words.headline(study)
    told = " ".join(words.meaning(study))
    assert "9.00 km (29,500 ft)" in told  # 9 km is 29 528 ft
    first, last = study.steps[0].least, study.steps[-1].least
    assert first is not None and last is not None
    assert quantities.show(study.present * first / last, "mass") in told
    assert f"{quantities.digits(last / first)} times as much" in told
    assert "estimate with wide scatter" in told
    needs = words.needs(study)
    assert len(needs) == 3
    for need, sentence in zip(study.needs, needs[1:], strict=True):
        assert need.least is not None and need.charge is not None
        assert quantities.show(need.least.charge, "mass") in sentence
        assert quantities.show(need.charge, "mass") in sentence
        assert ("more than this bay stands" in sentence) == bool(need.limit)
    loose = study.sources[0].height
    assert math.isfinite(loose.altitude) and math.isfinite(loose.high)
    for altitude in (loose.altitude, loose.high):
        assert words.height(altitude) in words.trusted(study, study.sources[0])


def test_advice_follows_what_holds() -> None:
    study = made("loose")

    def with_heights(*heights: float) -> str:
        sources = tuple(
            replace(each, height=Height(altitude, 0.0, math.inf))
            for each, altitude in zip(study.sources, heights, strict=True)
        )
        return words.advice(replace(study, sources=sources))

    assert "loose powder, as in the case, will do; but above about 6 km" in with_heights(
        9e3, 1e3, 1e3
    )
    assert f"do not trust {LOOSE}; {HOLDER} as described" in with_heights(8e3, 9e3, math.inf)
    assert f"do not trust {LOOSE}; {COLD_GAS} as described" in with_heights(8e3, 8e3, math.inf)
    assert "no source as described here" in with_heights(8e3, 8e3, 8.9e3)
    low = replace(study, levels=study.levels[:2], needs=study.needs[:1])
    assert "guess" not in words.advice(low)  # 3 km


def test_rare_findings_are_told_and_not_made_up() -> None:
    everywhere = made("holds everywhere")
    assert words.headline(everywhere).startswith("Separates at 9.00 km")
    assert "sure only up to 4.00 km" in words.trusted(everywhere, everywhere.sources[0])
    nothing = made("nothing")
    told = " ".join((*words.meaning(nothing), *words.needs(nothing)))
    assert "no charge that was tried opens this bay at the test site" in told
    assert "no margin to keep" in told
    assert "in more than 30.0 % of the shots" in told
    assert "at the test site already, not in 99 %" in words.trusted(nothing, nothing.sources[0])
    assert "no margin to keep" in " ".join(words.needs(made("weak")))
    home = replace(
        made("loose"),
        steps=tuple(
            replace(each, least=0.001 / (k + 1)) for k, each in enumerate(made("loose").steps)
        ),
    )
    assert "the test site is the harder place" in " ".join(words.ground_test(home))


def test_csv_and_json_hold_the_chances() -> None:
    study = made("loose")
    rows = list(csv.DictReader(io.StringIO(report.aloft_csv(study))))
    assert len(rows) == sum(each.altitudes.size for each in study.sources)
    numbers = report.aloft_numbers(study)
    listed = [
        (source["name"], point["altitude_m"], point["separates"]["share_ratio"])
        for source in numbers["sources"]
        for point in source["altitudes"]
    ]
    for row, (name, altitude, share) in zip(rows, listed, strict=True):
        assert row["source"] == name
        assert float(row["altitude_m"]) == pytest.approx(altitude)
        assert float(row["altitude_ft"]) == pytest.approx(altitude / 0.3048)
        assert float(row["separates_ratio"]) == pytest.approx(share)
        assert float(row["separates_low_ratio"]) <= share <= float(row["separates_high_ratio"])
    assert json.loads(json.dumps(numbers, allow_nan=False)) == numbers


def test_comparison_has_a_row_for_each_case() -> None:
    text = report.compare([made("loose"), made("weak"), made("nothing")])
    assert all(len(line) <= WIDE for line in text.splitlines())
    rows = text.splitlines()
    assert sum(line.strip().startswith(("loose", "weak")) for line in rows) == 3
    assert flat(CAUTION) in flat(text)


@pytest.mark.parametrize("name", NAMES)
def test_figures_write_every_name_inside(name: str) -> None:
    import matplotlib.text

    for title, figure in drawings.figures(made(name)).items():
        figure.canvas.draw()
        whole = figure.bbox
        for text in figure.findobj(matplotlib.text.Text):
            if text.get_text().strip():
                box = text.get_window_extent()
                assert box.x0 >= whole.x0 - 2.0 and box.x1 <= whole.x1 + 2.0, (title, text)
                assert box.y0 >= whole.y0 - 2.0 and box.y1 <= whole.y1 + 2.0, (title, text)
