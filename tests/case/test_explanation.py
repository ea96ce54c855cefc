"""The reference names every key and reads as a case; the explanation leaves nothing out."""

from __future__ import annotations

import re
import tomllib
import warnings
from pathlib import Path

import pytest

from baypulse.case import geometry, library, units
from baypulse.case.casefile import read, reads
from baypulse.case.casefile.keys import tables
from baypulse.case.default_limits import default_limit
from baypulse.case.explanation import explain
from baypulse.case.origins import DEFAULT_LIMIT
from baypulse.case.spec import Choice
from case.whole_case import KINDS, starter_text

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
THIN_AIR = pytest.mark.filterwarnings("ignore:.*loose charge:baypulse.errors.RangeWarning")


@pytest.mark.parametrize("kind", KINDS)
def test_starter_reads_without_a_warning(kind: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        case = reads(starter_text(kind), "starter")
    assert (case.powder is None) == (kind == "cold gas")
    assert (case.cold_gas is None) == (kind == "powder")
    assert case.pins is not None and case.cord is not None and case.contents is not None


def test_limits_that_nobody_typed_are_known_as_defaults() -> None:
    case = reads(starter_text("powder"), "starter")
    assert case.limits.bay_pressure is not None and case.limits.separation_velocity is not None
    marked = {p for p, each in case.provenance.items() if each.source == DEFAULT_LIMIT}
    assert marked == {"limits.bay_pressure", "limits.separation_velocity", "cord.anchor_strength"}


def test_every_wall_and_every_cord_has_a_default_limit() -> None:
    for wall in library.names("walls"):
        psi = float(default_limit("limits.bay_pressure", wall).split()[0])
        assert 40.0 <= psi <= 60.0
    for cord in library.names("cords"):
        place = library.address("cords", cord, "break_load")
        half = 0.5 * library.fact(place).value
        given = units.parse(default_limit("cord.anchor_strength", cord), "force")
        assert given == pytest.approx(half, rel=0.05)


def test_a_typed_limit_stands_and_a_vessel_has_none() -> None:
    text = starter_text("powder").replace("# anchor_strength", "anchor_strength")
    case = reads(text, "typed")
    assert case.provenance["cord.anchor_strength"].typed
    vessel = reads(text.replace("# chamber = \"bay\"", "chamber = \"vessel\"").replace(
        "# [run]", "[run]"), "vessel")  # fmt: skip
    assert vessel.run.chamber == "vessel" and vessel.limits.bay_pressure is None


@pytest.mark.parametrize("kind", KINDS)
def test_starter_shows_every_key_with_its_help(kind: str) -> None:
    text = starter_text(kind)
    joined = re.sub(r"\n# ", " ", text)
    for table in tables().values():
        if kind == "cold gas" and table.name in ("powder", "holder"):
            continue
        assert re.search(rf"^(# )?{re.escape(table.header)}$", text, re.MULTILINE), table.name
        for key in table.keys.values():
            assert re.search(rf"^(# )?{key.name} = ", text, re.MULTILINE), key.name
            assert " ".join(key.spec.help.split()) in joined, key.name
            if isinstance(key.spec, Choice) and key.spec.table:
                assert all(f'"{name}"' in joined for name in library.names(key.spec.table))
    assert max(map(len, text.splitlines())) <= 90


def test_starter_reads_with_every_table_opened() -> None:
    text = starter_text("powder")
    opened, drop, slot = [], False, False
    for line in text.splitlines():
        if re.match(r"(# )?\[", line):
            drop = "cold_gas" in line
            slot = "openings" in line
        plain = re.sub(r"^# (?=\[+[a-z_]+\]+$|[a-z_]+ = )", "", line)
        clash = plain.startswith(("fit = ", "packing_density = ", "hollow_", "shoulder_bore"))
        # an opening with a diameter is no slot
        clash = clash or (slot and plain.startswith(("gap = ", "width = ", "length = ")))
        opened.append(line if clash or drop else plain)
    case = reads("\n".join(opened))
    assert case.holder is not None and case.electronics is not None and len(case.openings) == 1
    tomllib.loads(text)


@THIN_AIR
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_explanation_names_every_value_and_its_origin(path: Path) -> None:
    case = read(path)
    text = explain(case)
    for key, origin in case.provenance.items():
        name = key.rpartition(".")[2]
        if "." not in key:
            continue
        (row,) = [
            line
            for line in section(text, key.rpartition(".")[0])
            if line.startswith(f"  {name} = ")
        ]
        if origin.origin == "case":
            assert f"(line {origin.line}" in row
            if key not in case.spreads:
                assert origin.text in row
        else:
            assert f"({origin.origin}" in row
    assert text.count("scatters: ") == len(case.spreads)


def test_explanation_shows_the_class_by_which_contents_are_pulled_out() -> None:
    text = explain(reads(starter_text()))
    rows = section(text, "contents")
    assert '  tightness = "unknown" (default)' in rows
    assert any(row.startswith("    shear = 450 Pa") and "spread 110 %" in row for row in rows)
    assert "  extraction_force = the library, by tightness (library)" in rows
    # 450 Pa x pi x 75 mm x 500 cm^3 over the bore's area = 12.0 N over 113 mm
    assert "  force that pulls the pack out = 12.0 N (2.70 lbf), over 113 mm (4.46 in)" in text


def section(text: str, path: str) -> list[str]:
    """Return the lines of one table of an explanation."""
    lines = text.splitlines()
    start = lines.index(f"[{path}]") + 1
    end = next(i for i in range(start, len(lines)) if not lines[i])
    return lines[start:end]


def test_explanation_gives_typed_people_and_si_units() -> None:
    text = explain(reads(starter_text()))
    assert "  mass = 1.2 g (18.5 grain) = 0.0012 kg (line " in text
    assert "  pull_off = 25 N (5.62 lbf) (line " in text
    assert "    break_load = 1500 lbf (6672 N), spread 10 % (library; from memory: " in text
    assert "  ignition_delay = 5.00 ms = 0.005 s (default; estimate)" in text
    assert "  entrainment = 0.5 (50 %) (default; estimate)" in text
    assert "  mixing_time = the law of entrainment (default)" in text


def test_explanation_says_what_a_scales_reading_was_taken_for() -> None:
    text = explain(reads(starter_text().replace('pull_off = "25 N"', 'pull_off = "5 lbs"')))
    # 5 lb hanging from a scale pull with 5 lbf = 22.2411 N
    assert "  pull_off = 5 lbs (22.2 N) = 22.2411 N (line " in text
    assert ", the reading of a scale, taken as lbf)\n" in text


def test_explanation_says_how_values_scatter() -> None:
    text = explain(reads(starter_text()))
    assert (
        "  entrainment = 0.5 (50 %) (default; estimate)\n"
        "    scatters: log-normal, standard deviation 0.4, between 0.0001 (0.01 %) and 100 "
        "(default; estimate)\n"
    ) in text
    mixed = starter_text().replace(
        '# mixing_time = "30 ms"',
        'mixing_time = { value = "30 ms", spread = "70 %", distribution = "log-normal", '
        'low = "10 ms", high = "100 ms" }',
    )
    # the score of 10 ms is ln(1/3)/s, of 100 ms ln(10/3)/s, with exp(s^2) = (1 + sqrt(2.96))/2
    assert (
        "    scatters: log-normal, standard deviation 0.021 s, between 10.0 ms and 100 ms, "
        "2.4 % cut off below, 1.5 % cut off above\n"
    ) in explain(reads(mixed))
    typed = starter_text().replace(
        'pull_off = "25 N"',
        'pull_off = { value = "25 N", spread = "5 N", group = "day", correlation = 0.5 }',
    )
    assert (
        "    scatters: normal, standard deviation 5 N, between 0 N (0 lbf) and 5000 N (1124 lbf), "
        "together with group day (correlation 0.5)\n"
    ) in explain(reads(typed))


def test_explanation_derives_volume_and_hold() -> None:
    case = reads(starter_text())
    text = explain(case)
    assert f"  free volume = {geometry.free_volume(case).total * 1e6:.0f} cm³" in text
    assert f"  static hold (in a slow pull) = {geometry.static_hold(case).total:.0f} N" in text
    assert "    contents: - 500 cm³ (30.5 in³)" in text
    assert "3 of 128 N (28.9 lbf) each" in text
