"""Numbers of the library that a case replaces: what is read, what acts, what scatters."""

from __future__ import annotations

import tomllib
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.case import geometry, library, params
from baypulse.case.casefile import read, reads
from baypulse.case.casefile.fitted_values import Entry, with_values
from baypulse.case.casefile.joint_retention import hold, hold_deviation
from baypulse.case.casefile.keys import LIBRARY, key_at, library_range, value_at
from baypulse.case.casefile.library_table import acts, header
from baypulse.case.casefile.rocket_reader import read_rocket
from baypulse.case.explanation import explain
from baypulse.case.library import address, parts_of
from baypulse.case.model import Case
from baypulse.case.spec import Number
from baypulse.errors import CaseError, RangeWarning
from baypulse.members import draws
from baypulse.members.factors import dimensions, factors, library_values
from baypulse.studies.aloft.altitude_case import at_home, cold_factors
from baypulse.studies.fit.unknowns import with_priors
from baypulse.studies.scatter.words import source_of

CASES = Path(__file__).parents[2] / "cases"
PATHS = sorted(CASES.glob("*.toml"))
BED = (CASES / "bench-76.toml").read_text(encoding="utf-8")
# the law of a strand, whose rate is a plain speed, acts only when it is asked for
BENCH = BED.replace('grade = "3F"', 'grade = "3F"\nburning = "strand"')
NUMBERS = [
    (table, name, number)
    for table in library.TABLES
    for name in library.names(table)
    for number in library.facts(table, name)
]
NYLON = "pin materials.nylon 6/6.shear_strength"


def bench(table: str, name: str, *lines: str) -> Case:
    """Return the bench case with numbers of one entry replaced."""
    return reads("\n".join([BENCH.rstrip(), header(table, name), *lines]))


@pytest.mark.parametrize(("table", "name", "number"), NUMBERS)
def test_every_number_of_the_library_can_be_typed(table: str, name: str, number: str) -> None:
    fact = library.fact(address(table, name, number))
    line = f'{number} = "{fact.text}"'
    if fact.value:
        spread = "2 K" if fact.dimension == "temperature" else "1 %"
        line = f'{number} = {{ value = "{fact.text}", spread = "{spread}" }}'
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # most of them do not act here
        case = bench(table, name, line)
    assert case.materials == {address(table, name, number): fact.value}
    # the library's own number, typed, changes nothing
    assert library.entry(table, name, case.materials) == library.entry(table, name)
    path = LIBRARY + address(table, name, number)
    assert case.provenance[path].line == len(BENCH.splitlines()) + 2
    assert value_at(case, path) == fact.value
    if fact.value:
        deviation = 2.0 if fact.dimension == "temperature" else 0.01 * abs(fact.value)
        assert case.spreads[path].deviation == pytest.approx(deviation)


@pytest.mark.parametrize(("table", "name", "number"), NUMBERS)
def test_ranges_keep_the_sign_and_hold_the_library(table: str, name: str, number: str) -> None:
    spec = key_at(LIBRARY + address(table, name, number)).spec
    assert isinstance(spec, Number)
    value = library.fact(address(table, name, number)).value
    assert spec.low <= value <= spec.high and spec.low < spec.high
    assert (spec.low, spec.high) == library_range(table, number)
    assert spec.low >= 0.0 if value > 0.0 else value == 0.0 or spec.high <= 0.0
    if number in ("burnable_fraction", "condensed_heat_share", "emissivity", "efficiency"):
        assert spec.high == 1.0


@pytest.mark.parametrize("place", [address(*each) for each in NUMBERS])
def test_an_address_comes_apart_and_its_header_is_toml(place: str) -> None:
    table, name, number = parts_of(place)
    assert address(table, name, number) == place
    read_back = tomllib.loads(f"{header(table, name)}\n{number} = 1")
    assert read_back == {"library": {table: {name: {number: 1}}}}


def test_a_typed_number_reaches_the_core() -> None:
    typed = bench("powders", "3F", 'rate = "10 mm/s"')
    assert params.parameters(typed).rate == pytest.approx(
        params.parameters(reads(BENCH)).rate * 10.0 / 12.0
    )
    # grains that burn through in half the time have twice the speed
    half = 500.0 * library.powder("3F").bed_time
    halved = reads(f'{BED}\n{header("powders", "3F")}\nbed_time = "{half} ms"\n')
    assert params.parameters(halved).rate == pytest.approx(2.0 * params.parameters(reads(BED)).rate)
    weaker = bench("pin materials", "nylon 6/6", 'shear_strength = "60 MPa"')
    # a round rod shears at its section times its strength: textbook
    ratio = geometry.pin_strength(weaker) / geometry.pin_strength(reads(BENCH))
    assert ratio == pytest.approx(60.0 / 68.95)


def test_keys_may_be_dotted_or_in_one_table() -> None:
    inline = reads(f'{BENCH}\n[library]\npowders.3F.rate = {{ value = "10 mm/s", spread = "9 %" }}')
    table = bench("powders", "3F", 'rate = { value = "10 mm/s", spread = "9 %" }')
    assert inline.materials == table.materials and inline.spreads == table.spreads


def acting(path: Path) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        return read(path)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_what_scatters_acts(path: Path) -> None:
    case = acting(path)
    assert [place for place in library_values(case) if not acts(case, place)] == []


def test_what_does_not_act_is_warned_of() -> None:
    with pytest.warns(RangeWarning, match=r"powders\.4F\.rate: this does not act: .*\[library\."):
        bench("powders", "4F", 'rate = "10 mm/s"')
    for text, number in ((BED, 'rate = "10 mm/s"'), (BENCH, 'bed_time = "40 ms"')):
        # each law of burning leaves the numbers of the other alone
        with pytest.warns(RangeWarning, match=r"3F\.\w+: this does not act: .*depend on it"):
            reads(f"{text}\n{header('powders', '3F')}\n{number}\n")
    with pytest.warns(RangeWarning, match="pitch: this does not act: .*does not depend on it"):
        bench("threads", "#2-56", 'pitch = "0.5 mm"')
    measured = BENCH.replace('thread = "#2-56"', 'thread = "#2-56"\nstrength = "120 N"')
    with pytest.warns(RangeWarning, match=f"{NYLON}: this does not act.*measured value"):
        reads(f'{measured}\n{header("pin materials", "nylon 6/6")}\nshear_strength = "60 MPa"')
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        bench("powders", "3F", 'rate = "10 mm/s"')
        # only a charge aloft takes it, and no key of the case names a fibre
        bench("fibres", "nylon", 'strength_slope = "-0.3 %/K"')


def drawn(case: Case) -> dict[str, np.ndarray]:
    found = factors(case)
    u = draws.unit_points(3, 0, dimensions(found))
    return draws.values(case, found, u)


def test_a_typed_spread_is_drawn_and_none_is_known() -> None:
    path = "library.powders.3F.rate"
    known = bench("powders", "3F", 'rate = "10 mm/s"')
    assert path not in drawn(known) and path in drawn(reads(BENCH))
    spread = bench("powders", "3F", 'rate = { value = "10 mm/s", spread = "5 %" }')
    column = drawn(spread)[path]
    assert column.mean() == pytest.approx(0.010, rel=2e-3)
    assert column.std() == pytest.approx(0.0005, rel=2e-2)
    cut = bench(
        "powders", "3F",
        'rate = { value = "10 mm/s", distribution = "uniform", low = "8 mm/s", high = "14 mm/s" }',
    )  # fmt: skip
    column = drawn(cut)[path]
    assert 0.008 <= column.min() < 0.0081 and 0.0139 < column.max() <= 0.014
    # nothing else of the case moves with it
    assert [f.name for f in factors(spread)] == [f.name for f in factors(reads(BENCH))]
    assert len(factors(known)) == len(factors(reads(BENCH))) - 1


def test_what_the_library_takes_as_given_scatters_when_typed_so() -> None:
    path = "library.powders.3F.rate_pressure"
    assert path not in drawn(reads(BENCH))
    assert path in drawn(
        bench("powders", "3F", 'rate_pressure = { value = "1 bar", spread = "3 %" }')
    )
    wet = bench("powders", "3F", 'reference_moisture = { value = "0.5 %", spread = "0.1 %" }')
    assert {"library.powders.3F.reference_moisture", "library.powders.3F.moisture_rate_slope"} <= (
        drawn(wet).keys()
    )


def test_typed_pin_material_scatters_pin_by_pin() -> None:
    line = 'shear_strength = { value = "60 MPa", spread = "10 %" }'
    case = bench("pin materials", "nylon 6/6", line)
    names = {factor.name: factor for factor in factors(case)}
    path = LIBRARY + NYLON
    assert names[path].common and len(names[f"{path}, each pin"].columns) == 3
    column = drawn(case)[path]
    assert column.shape == (draws.BLOCK, 3)
    # half of the variance is the batch's: the correlation of two pins
    assert np.corrcoef(column.T)[0, 1] == pytest.approx(0.5, abs=0.06)
    assert column.std() == pytest.approx(6e6, rel=0.03)
    own = bench("pin materials", "nylon 6/6", line.replace("}", ', group = "bag" }'))
    assert {f.name for f in factors(own)} >= {"group bag"}
    alike = drawn(own)[path]
    assert np.ptp(alike, axis=1) == pytest.approx(0.0)


def test_hold_scatters_by_the_typed_spread() -> None:
    base = replace(reads(BENCH), spreads={})
    wide = bench("pin materials", "nylon 6/6",
                 'shear_strength = { value = "68.95 MPa", spread = "20 %" }')  # fmt: skip
    known = bench("pin materials", "nylon 6/6", 'shear_strength = "68.95 MPa"')
    shear = {LIBRARY + NYLON: wide.spreads[LIBRARY + NYLON]}
    known, wide = replace(known, spreads={}), replace(wide, spreads=shear)
    assert hold(wide) == pytest.approx(hold(base)) == pytest.approx(hold(known))
    # variances add: JCGM 100:2008, 5.1.2; five times the spread, 25 times the variance
    of_nylon = hold_deviation(base) ** 2 - hold_deviation(known) ** 2
    assert hold_deviation(wide) ** 2 - hold_deviation(known) ** 2 == pytest.approx(
        25.0 * of_nylon, rel=1e-3
    )


def test_grains_and_roots_stay_in_order() -> None:
    with pytest.raises(
        CaseError, match=r"library\.powders\.3F\.smallest_grain: the smallest grain"
    ):
        bench("powders", "3F", 'smallest_grain = "2 mm"')
    with pytest.raises(CaseError, match=r"#2-56\.root_diameter: #2-56 has a root of 3\.00 mm"):
        bench("threads", "#2-56", 'root_diameter = "3 mm"')


def test_a_table_name_without_quotes_is_told_how_to_have_them() -> None:
    with pytest.raises(CaseError, match=r'need quotes, such as \[library\."pin materials"\.'):
        reads(f"{BENCH}\n[library.pin materials.acetal]\n")


def test_what_cold_does_is_known_when_typed_without_a_spread() -> None:
    strong = BENCH.replace('thread = "#2-56"', 'thread = "#2-56"\nstrength = "120 N"')
    names = {factor.name for factor in cold_factors(at_home(reads(strong)))}
    assert "library.pin materials.nylon 6/6.temperature_slope" in names
    with pytest.warns(RangeWarning, match="this does not act"):
        typed = reads(
            f'{strong}\n[library."pin materials"."nylon 6/6"]\ntemperature_slope = "-1 %/K"'
        )
    assert names - {f.name for f in cold_factors(at_home(typed))} == {
        "library.pin materials.nylon 6/6.temperature_slope"
    }


def test_check_shows_what_was_replaced() -> None:
    case = bench("powders", "3F", 'rate = { value = "10 mm/s", spread = "5 %", source = "mine" }',
                 'burnable_fraction = "80 %"')  # fmt: skip
    text = explain(case)
    line = len(BENCH.splitlines()) + 2
    assert (
        "\n[library.powders.3F]\n"
        f"  rate = 0.0100 m/s (0.0328 ft/s), typed as 10 mm/s (line {line}; mine) in place of the "
        "library's 12 mm/s (0.0120 m/s, 0.0394 ft/s), spread 30 %\n"
        "    scatters: normal, standard deviation 0.0005 m/s"
    ) in text
    assert "    does not scatter: without a spread it is taken as known\n" in text
    assert "    rate: replaced, see [library.powders.3F]\n" in text
    assert source_of(case, "library.powders.3F.rate") == f"case, line {line}; mine"
    assert text.count("scatters: ") == len(case.spreads)


def test_text_makes_the_same_case_and_a_fit_leaves_the_library_alone(tmp_path: Path) -> None:
    case = bench("powders", "3F", 'rate = { value = "10 mm/s", spread = "5 %" }')
    assert reads(case.source_text) == case
    entry = Entry("bay.mixing_time", '{ value = "23 ms", spread = "18 %" }')
    _, fitted = with_values(case.source_text, [entry], [], "fitted", "fitted.toml")
    assert fitted.materials == case.materials
    assert fitted.spreads["library.powders.3F.rate"] == case.spreads["library.powders.3F.rate"]
    own = Entry("library.powders.3F.rate", '{ value = "9 mm/s", spread = "3 %" }')
    text, fitted = with_values(case.source_text, [own], [], "fitted", "fitted.toml")
    assert fitted.materials == {"powders.3F.rate": 0.009}
    assert 'rate = { value = "9 mm/s", spread = "3 %" } # fitted; was { value = "10 mm' in text


def test_a_replaced_number_can_be_fitted() -> None:
    case = bench("powders", "3F", 'rate_exponent = { value = 0.5, spread = "20 %" }')
    _, (unknown,), found = with_priors(case, ["library.powders.3F.rate_exponent"])
    assert (unknown.value, unknown.origin) == (0.5, "the case")
    assert "library.powders.3F.rate_exponent" in {factor.name for factor in found}


def test_rockets_keep_what_their_cases_replace(tmp_path: Path) -> None:
    drogue = (CASES / "rockets" / "plover-drogue-98.toml").read_text("utf-8")
    main = (CASES / "main-98.toml").read_text("utf-8")
    number = f'\n{header("pin materials", "nylon 6/6")}\nshear_strength = "60 MPa"\n'
    (tmp_path / "drogue.toml").write_text(drogue + number, "utf-8")
    (tmp_path / "main.toml").write_text(main + number, "utf-8")
    (tmp_path / "both.toml").write_text(
        'title = "both"\n[[bays]]\nname = "d"\ncase = "drogue.toml"\n[[bays]]\nname = "m"\n'
        'case = "main.toml"\n', "utf-8",
    )  # fmt: skip
    rocket = read_rocket(tmp_path / "both.toml")
    first = rocket.bays[0].case
    assert first.materials == {NYLON: 60e6}
    assert reads(first.source_text).materials == first.materials
    assert first.other_joints[0].hold == pytest.approx(hold(rocket.bays[1].plain))


def test_a_shot_runs_with_it() -> None:
    slow = baypulse.simulate(bench("powders", "3F", 'rate = "3 mm/s"'))
    own = baypulse.simulate(reads(BENCH))
    rises = [
        result.time[int(np.argmax(result.gauge_pressure))] for result in (slow, own)
    ]  # fmt: skip
    assert rises[0] > rises[1]
