"""What the document of a charge aloft says."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from baypulse.case import quantities
from baypulse.members.chances import chance
from baypulse.members.charge_results import Edge
from baypulse.show import as_json
from baypulse.show.figures.base import style
from baypulse.studies.aloft import words
from baypulse.studies.aloft.document import compare, document
from baypulse.studies.aloft.first_failure import Height
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE
from studies.aloft.documents import DOCUMENTS, made


def test_sentences_hold_the_numbers() -> None:
    study = made("loose")
    least = Edge(0.0004, 0.00035, math.nan, chance("separates", 254, 256), "separates")
    hard = replace(study.home_need, altitude=9000.0, least=least, charge=0.0008,
                   opens=chance("separates", 255, 256),
                   fails_hard=chance("a limit is exceeded", 64, 256), limit="the cord")  # fmt: skip
    home = replace(study.home_need, least=Edge(0.00035, 0.0003, 0.00036, least.chance, "separates"))
    steps = tuple(replace(each, least=0.0004 * 2.0**k) for k, each in enumerate(study.steps[:3]))
    trial = replace(study.highest.trial, opens=chance("separates", 64, 256),
                    fails_hard=chance("a limit is exceeded", 64, 256))  # fmt: skip
    high = replace(study.highest, burnts=(0.5, 0.75, 0.9), trial=trial)
    told = document(replace(study, home_need=home, needs=(hard,), steps=steps,
                            levels=(study.levels[0], high)))  # fmt: skip
    assert told.headline == (
        "Separates at the test site, too seldom at 9000 m (29530 ft): in 25.0 % of the shots"
    )
    assert told.sentences == (
        "A limit is exceeded too often: in 25.0 % of the shots at 9000 m (29530 ft).",
        "The ground test proves what is the same at altitude: free volume, leaks, fit, packing, "
        "igniter and holder.",
        "It does not prove what differs at 9000 m (29530 ft): thin air, inside and out (least "
        "charge x 2.00), powder burns worse (least charge x 2.00).",
        "With nothing scattering it takes 0.400 g (6.17 grain) to open the bay at the test site "
        "and 1.60 g (24.7 grain) at 9000 m (29530 ft), 4.00 times as much.",
        "How much of a loose charge burns at 9000 m (29530 ft) is an estimate with wide scatter: "
        "75.0 % in the middle shot, 50.0 to 90.0 % in nine of ten.",
    )
    # the case has 0.70 g: a quarter of it on the ground, twice its least at altitude
    assert told.next_steps[0].startswith(
        "A ground test that is to stand for 0.700 g (10.8 grain) at altitude is one with 0.175 g "
        "(2.70 grain)"
    )
    assert words.needs(replace(study, home_need=home, needs=(hard,))) == [
        "At the test site the least charge that opens the bay in 99 % of the shots is 0.350 g "
        "(5.40 grain) (95 % interval 0.300 to 0.360 g (4.63 to 5.56 grain)); the case has 0.700 g "
        "(10.8 grain), 2.00 times that.",
        "At 9000 m (29530 ft) the least is 0.400 g (6.17 grain) (95 % interval 0.350 g (5.40 "
        "grain) to beyond the search); the same margin is 0.800 g (12.3 grain), which opens the "
        "bay there in over 96 % of the shots and exceeds a limit in 25.0 % of them (the cord): "
        "more than this bay stands. The same margin is not to be had at altitude; take weaker or "
        "fewer pins, or another source.",
    ]


def test_altitudes_come_in_feet_first_where_that_is_asked_for() -> None:
    with quantities.written_in(quantities.US):
        assert document(made("loose")).headline.startswith(
            "Separates at the test site, too seldom at 29530 ft (9000 m): in "
        )


def test_advice_follows_what_holds() -> None:
    study = made("loose")

    def with_heights(*heights: float) -> str:
        sources = tuple(
            replace(each, height=Height(altitude, 0.0, math.inf))
            for each, altitude in zip(study.sources, heights, strict=True)
        )
        return words.advice(replace(study, sources=sources))

    assert (
        "loose powder, as in the case, will do; but above about 6000 m (19690 ft) loose powder is "
        "a guess"
    ) in with_heights(9e3, 1e3, 1e3)
    assert f"do not trust {LOOSE}; {HOLDER} as described" in with_heights(8e3, 9e3, math.inf)
    assert f"do not trust {LOOSE}; {COLD_GAS} as described" in with_heights(8e3, 8e3, math.inf)
    assert "no source as described here" in with_heights(8e3, 8e3, 8.9e3)
    low = replace(study, levels=study.levels[:2], needs=study.needs[:1])
    assert "guess" not in words.advice(low)  # 3 km


def test_rare_findings_are_told_and_not_made_up() -> None:
    everywhere = made("holds everywhere")
    assert words.headline(everywhere).startswith("Separates at 9000 m (29530 ft) too")
    assert "sure only up to 4000 m (13120 ft)" in words.trusted(everywhere, everywhere.sources[0])
    nothing = made("nothing")
    told = " ".join((*words.meaning(nothing), *words.needs(nothing)))
    assert "no charge that was tried opens this bay at the test site" in told
    assert "no margin to keep" in told
    assert "in more than 30.0 % of the shots" in told
    assert "at the test site already, not in 99 %" in words.trusted(nothing, nothing.sources[0])
    assert "no margin to keep" in " ".join(words.needs(made("weak")))
    (mend, *_) = words.next_steps(nothing)
    assert mend == "Mend first what keeps the bay shut at the test site."
    assert "the test site: there it takes " in words.next_steps(made("weak"))[0]
    home = replace(
        made("loose"),
        steps=tuple(
            replace(each, least=0.001 / (k + 1)) for k, each in enumerate(made("loose").steps)
        ),
    )
    assert "the test site is the harder place" in " ".join(words.ground_test(home))


def test_csv_and_json_hold_the_chances() -> None:
    study = made("loose")
    numbers = as_json.numbers(document(study))
    rows = numbers["tables"]["over_altitude"]
    assert len(rows) == sum(each.altitudes.size for each in study.sources)
    own = [row["separates_ratio"] for row in rows if row["own"]]
    assert own[0] == pytest.approx(numbers["tables"]["levels"][0]["separates_ratio"])
    high = next(row for row in rows if row["altitude_m"] == 9000.0)
    assert high["altitude_ft"] == pytest.approx(9000.0 / 0.3048)
    assert high["separates_ratio"] == numbers["tables"]["levels"][-1]["separates_ratio"]
    assert high["source"] == LOOSE
    assert high["separates_low_ratio"] <= high["separates_ratio"] <= high["separates_high_ratio"]


def test_comparison_has_a_row_for_each_case() -> None:
    table = compare([made("loose"), made("weak"), made("nothing")])
    assert [row[0] for row in table.rows] == ["loose", "weak", "loose"]
    assert table.rows[1][3:] == ("not at the test site", None, None)


@pytest.mark.parametrize("system", [quantities.SI, quantities.US])
@pytest.mark.parametrize("name", DOCUMENTS)
def test_figures_write_every_name_inside(name: str, system: str) -> None:
    import matplotlib.text

    with quantities.written_in(system), style():
        drawn = {each.name: each.draw() for each in DOCUMENTS[name]().figures}
    for title, figure in drawn.items():
        figure.draw_without_rendering()
        whole = figure.bbox
        for text in figure.findobj(matplotlib.text.Text):
            if text.get_text().strip():
                box = text.get_window_extent()
                assert box.x0 >= whole.x0 - 2.0 and box.x1 <= whole.x1 + 2.0, (title, text)
                assert box.y0 >= whole.y0 - 2.0 and box.y1 <= whole.y1 + 2.0, (title, text)
