"""What scatters: names, columns, and that it is exactly what a run depends on."""

from __future__ import annotations

import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse.case import cord_fields, library, params
from baypulse.case.casefile import read, reads
from baypulse.case.casefile.spreads import shares_cut
from baypulse.case.library import address
from baypulse.case.model import Case, Cord, Spread
from baypulse.errors import RangeWarning
from baypulse.members.factors import (
    LIBRARY,
    Factor,
    dimensions,
    factors,
    library_values,
    nominal_at,
    spread_at,
)

PATHS = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
BENCH = (Path(__file__).parents[2] / "cases" / "bench-76.toml").read_text(encoding="utf-8")


def shipped(path: Path) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # of loose powder in thin air
        return read(path)


def bench(old: str = "", new: str = "") -> Case:
    """Return the bench case with some text replaced."""
    assert old in BENCH
    return reads(BENCH.replace(old, new))


def named(found: list[Factor]) -> dict[str, Factor]:
    return {factor.name: factor for factor in found}


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_columns_are_used_once_each(path: Path) -> None:
    found = factors(shipped(path))
    columns = [column for factor in found for column in factor.columns]
    assert columns == list(range(dimensions(found)))
    assert dimensions([]) == 0


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_names_and_labels_tell_factors_apart(path: Path) -> None:
    found = factors(shipped(path))
    for words in ([f.name for f in found], [f.label for f in found]):
        assert len(set(words)) == len(words)
    for factor in found:
        assert "_" not in factor.label and len(factor.label) < 60


def test_labels_are_what_people_say() -> None:
    labels = {factor.name: factor.label for factor in factors(bench())}
    assert labels["bay.entrainment"] == "bay entrainment"
    assert labels["powder.mass"] == "powder mass"
    assert labels["library.powders.3F.bed_time"] == "burning time of a bed of 3F"
    stress = "library.pin materials.nylon 6/6.shear_strength"
    assert labels[stress] == "shear strength of nylon 6/6 (batch)"
    assert labels[f"{stress}, each pin"] == "strength of each pin"
    vent = bench('diameter = "3.2 mm"', 'diameter = { value = "3.2 mm", spread = "0.1 mm" }')
    assert named(factors(vent))["openings[0].diameter"].label == "vent diameter"


def depends(case: Case) -> list[Any]:
    """Return everything that a run of the case and its limits depend on, as numbers."""
    wall = library.wall(case.bay.wall, case.materials)
    links = cord_fields.cord_links(case) if case.cord is not None else []
    P = params.parameters(case)._asdict()
    return [*P.values(), wall.tensile_strength, *(strength for strength, _ in links)]


def differ(one: list[Any], other: list[Any]) -> bool:
    return not all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))


DEFINITIONS = {"rate_pressure", "reference_moisture", "reference_temperature"}
"""Numbers that a run uses and that are what they are by definition."""


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_the_library_scatters_where_the_run_depends_on_it(path: Path) -> None:
    # the pins bear on a weak wall as well as on a strong one, and air is thin at its limit
    case = shipped(path)
    ours = set(library_values(case))
    base = depends(case)
    for table in library.TABLES:
        for name in library.names(table):
            for number, fact in library.facts(table, name).items():
                place = address(table, name, number)
                if number in DEFINITIONS or fact.spread == 0.0:
                    assert place not in ours
                    continue
                acts = any(
                    differ(base, depends(replace(case, materials={place: factor * fact.value})))
                    for factor in (0.01, 1.1)
                )
                if number == "thin_air_none":
                    acts = address(table, name, "thin_air_full") in ours
                assert acts == (place in ours), place


def test_a_measured_value_replaces_the_librarys_scatter() -> None:
    place = "powders.3F.burnable_fraction"
    assert place in library_values(bench())
    assert place not in library_values(
        bench('grade = "3F"', 'grade = "3F"\nburnable_fraction = 0.8')
    )
    assert place not in library_values(replace(bench(), materials={place: 0.8}))
    pins = bench('thread = "#2-56"', 'thread = "#2-56"\nstrength = "120 N"')
    # a strength measured in a slow pull still gains in a shot, by a number that is the material's
    kept = [place for place in library_values(pins) if place.startswith("pin materials")]
    assert kept == [address("pin materials", "nylon 6/6", "rate_strengthening")]
    assert "threads.#2-56.root_diameter" not in library_values(pins)
    cord = bench('length = "4.5 m"', 'length = "4.5 m"\nbreak_load = "4 kN"')
    assert "cords.tubular nylon 1/2 in.break_load" not in library_values(cord)


def test_water_acts_only_where_it_is_not_the_reference() -> None:
    slope = "powders.3F.moisture_rate_slope"
    assert slope not in library_values(bench())
    assert slope in library_values(bench('grade = "3F"', 'grade = "3F"\nmoisture = "1 %"'))
    scattering = bench('grade = "3F"', 'grade = "3F"\nmoisture = { value = 0.005, spread = 0.001 }')
    assert slope in library_values(scattering)


MEASURED_PULL = 'extraction_force = { value = "9 N", spread = "30 %" }'


def without_cord(text: str) -> Case:
    return reads(text[: text.index("[cord]")] + text[text.index("[limits]") :])


def test_a_pull_scatters_with_or_without_a_cord() -> None:
    assert "contents.extraction_force" in named(factors(bench()))
    case = without_cord(BENCH)
    assert case.cord is None and "contents.extraction_force" in case.spreads
    # the contents hold back what pushes them, whoever pulls
    assert "contents.extraction_force" in named(factors(case))


def test_how_the_contents_sit_and_let_gas_through_scatters() -> None:
    found = named(factors(bench()))
    packs = {f"library.packs.unknown.{name}" for name in ("gap", "grip")}
    cloth = {f"library.cloths.nylon.{name}" for name in ("fibre_density", "particle_diameter")}
    assert packs | cloth | {"contents.space_behind"} <= set(found)
    assert not any(path.startswith("library.packs") for path in named(factors(cut_contents())))


def cut_contents() -> Case:
    return replace(bench(), contents=None)


def test_tightness_scatters_where_no_pull_was_measured() -> None:
    unsaid, tight = "library.packs.unknown.shear", "library.packs.tight.shear"
    assert unsaid not in named(factors(bench()))
    assert unsaid in named(factors(bench(MEASURED_PULL)))
    found = named(factors(bench(MEASURED_PULL, 'tightness = "tight"')))
    assert unsaid not in found and tight in found
    assert found[tight].label == "hold of tight contents on the tube"
    # a measured pull is better than a class
    both = bench(MEASURED_PULL, f'{MEASURED_PULL}\ntightness = "tight"')
    assert tight not in named(factors(both))
    assert unsaid in named(factors(without_cord(BENCH.replace(MEASURED_PULL, ""))))
    # wide, and never below nothing
    spread = spread_at(both, tight)
    assert spread.distribution == "log-normal" and spread.low == 0.0
    assert spread.deviation == pytest.approx(0.5 * nominal_at(both, tight))
    # 250 N of a parachute in 250 mm of a bore of 98 mm is within two deviations: Phi(-2) = 0.02275
    high = 250.0 / (np.pi * 0.098 * 0.25)
    assert shares_cut(nominal_at(both, tight), replace(spread, high=high))[1] > 0.02275


def test_what_is_level_or_not_there_does_not_scatter() -> None:
    with pytest.warns(RangeWarning, match="a spread of zero"):
        case = bench('spread = "2 %"', 'spread = "0 %"')
    assert "powder.mass" not in named(factors(case))
    cut = replace(bench(), contents=None)
    assert "contents.extraction_force" not in named(factors(cut))


GROUPS = """
[powder]
grade = "3F"
mass = { value = "0.50 g", spread = "2 %", group = "day", correlation = 0.25 }
moisture = { value = "1 %", spread = "0.1 %", group = "day" }
"""


def test_groups_have_a_column_in_common() -> None:
    start, end = BENCH.index("[powder]"), BENCH.index("[bay]")
    found = factors(reads(BENCH[:start] + GROUPS + BENCH[end:]))
    assert found[0] == Factor(
        "group day", "day (group)", ("powder.mass", "powder.moisture"), (0,), common=True
    )
    assert found[1] == Factor("powder.mass", "powder mass", ("powder.mass",), (1,))
    assert "powder.moisture" not in named(found)  # all of it is the group's


@pytest.mark.parametrize(
    ("extra", "own", "common"),
    [("", 3, 0), (', group = "lot"', 0, 1), (', group = "lot", correlation = 0.6', 3, 1)],
)
def test_pins_draw_their_own_strengths(extra: str, own: int, common: int) -> None:
    strength = f'strength = {{ value = "120 N", spread = "8 %"{extra} }}'
    found = named(factors(bench('thread = "#2-56"', f'thread = "#2-56"\n{strength}')))
    assert len(found["pins.strength"].columns if own else ()) == own
    assert ("pins.strength" in found) == bool(own)
    assert ("group lot" in found) == bool(common)


def test_unmeasured_pins_share_half_their_variance() -> None:
    case = bench()
    path = "library.pin materials.nylon 6/6.shear_strength"
    found = named(factors(case))
    assert len(found[path].columns) == 1 and found[path].common
    assert len(found[f"{path}, each pin"].columns) == 3
    assert spread_at(case, path).correlation == 0.5


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_the_librarys_scatter_is_physical(path: Path) -> None:
    case = shipped(path)
    for place in library_values(case):
        spread, value = spread_at(case, LIBRARY + place), nominal_at(case, LIBRARY + place)
        assert spread.deviation == library.fact(place).spread
        low = -np.inf if spread.low is None else spread.low
        high = np.inf if spread.high is None else spread.high
        assert low < value < high
        assert low >= 0.0 if value > 0.0 else high <= 0.0
        shares = ("burnable_fraction", "emissivity", "exposure", "efficiency", "permanent_set")
        if place.endswith(shares):
            assert high == 1.0


def test_nominal_values_come_from_the_case_or_the_library() -> None:
    case = bench()
    assert nominal_at(case, "powder.mass") == case.powder.mass  # type: ignore[union-attr]
    assert nominal_at(case, "library.powders.3F.rate") == library.powder("3F").rate
    changed = replace(case, materials={"powders.3F.rate": 0.01})
    assert nominal_at(changed, "library.powders.3F.rate") == 0.01


def test_a_case_made_in_python_needs_no_spreads() -> None:
    case = replace(bench(), spreads={})
    assert all(factor.name.startswith(LIBRARY) for factor in factors(case))
    one = Spread(distribution="uniform", low=4.0, high=5.0)
    assert isinstance(case.cord, Cord)
    assert named(factors(replace(case, spreads={"cord.length": one})))["cord.length"].columns == (
        0,
    )
