"""The reader: lines, provenance, spreads, warnings, and the shipped cases."""

from __future__ import annotations

import dataclasses
import time
import tomllib
import warnings
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import baypulse
from baypulse.case import geometry
from baypulse.case.casefile import read, reads
from baypulse.case.casefile.consistency import ABSURD_PRESSURE
from baypulse.case.casefile.keys import tables, top_keys
from baypulse.case.casefile.toml_lines import key_lines
from baypulse.case.model import Case, Spread
from baypulse.errors import CaseError, RangeWarning
from case.whole_case import starter_text

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
THIN_AIR = pytest.mark.filterwarnings("ignore:.*loose charge:baypulse.errors.RangeWarning")
BASE = (Path(__file__).parents[2] / "cases" / "bench-76.toml").read_text(encoding="utf-8")


def small(extra: str = "", **replaced: str) -> str:
    """Return a small case; keyword arguments replace the text of a value."""
    values = {"mass": "0.5 g", "pull_off": '"22 N"', **replaced}
    return f"""title = "small"
[powder]
grade = "3F"
mass = "{values["mass"]}"
[bay]
bore = "76 mm"
tube_length = "320 mm"
wall = "card"
wall_thickness = "2 mm"
[nose]
mass = "480 g"
[airframe]
mass = "1.9 kg"
[joint]
shoulder_length = "76 mm"
pull_off = {values["pull_off"]}
{extra}"""


def test_there_are_seven_shipped_cases() -> None:
    assert [path.stem for path in CASES] == [
        "bench-76",
        "cold-gas-98",
        "drogue-98",
        "high-76",
        "main-98",
        "many-152",
        "thin-54",
    ]


@THIN_AIR
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_shipped_case(path: Path) -> None:
    case = read(path)
    assert case.name == path.stem
    assert "nvented" in case.note
    assert geometry.free_volume(case).total > 1e-4
    assert case.source_text == path.read_bytes().decode("utf-8")


@THIN_AIR
def test_shipped_cases_differ_in_kind() -> None:
    cases = {path.stem: read(path) for path in CASES}
    assert cases["cold-gas-98"].cold_gas is not None and cases["cold-gas-98"].powder is None
    assert cases["main-98"].holder is not None
    assert cases["drogue-98"].openings[0].diameter == pytest.approx(0.038)
    assert cases["many-152"].electronics is not None
    assert cases["many-152"].pins is not None and cases["many-152"].pins.count == 6
    assert cases["thin-54"].surroundings.altitude == 9000.0
    assert cases["thin-54"].nose.shape == "tangent ogive"
    assert {case.setting.kind for case in cases.values()} == {"clamped", "stand", "flight"}
    typed = [
        case.provenance[path].origin == "case" for case in cases.values() for path in case.spreads
    ]
    assert sum(typed) >= 12


def test_values_are_in_si() -> None:
    case = read(next(path for path in CASES if path.stem == "main-98"))  # inches and pounds
    assert case.bay.bore == pytest.approx(3.86 * 0.0254)
    assert case.nose.mass == pytest.approx(2.9 * 0.45359237)
    assert case.limits.bay_pressure == pytest.approx(75 * 6894.757293168)
    assert case.surroundings.temperature == pytest.approx(295.372, abs=1e-3)
    assert case.limits.separation_velocity == pytest.approx(18.288)


@THIN_AIR
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_value_has_its_provenance(path: Path) -> None:
    case = read(path)
    lines = case.source_text.splitlines()
    wanted = set(top_keys())
    for table in tables().values():
        held = getattr(case, table.name)
        rows = held if table.repeated else () if held is None else (held,)
        for index, _ in enumerate(rows):
            stem = f"{table.name}[{index}]" if table.repeated else table.name
            wanted |= {f"{stem}.{key}" for key in table.keys}
    assert set(case.provenance) == wanted
    for key, origin in case.provenance.items():
        name = key.rpartition(".")[2]
        assert origin.origin in ("case", "default", "library")
        if origin.origin == "case":
            assert origin.line is not None
            assert lines[origin.line - 1].startswith(f"{name} = "), key
            first = origin.text.splitlines()[0].replace('"', "")
            assert first in case.source_text.replace('"', "")
        else:
            assert origin.line is None
            assert origin.text or name == "note"


def test_a_default_says_so() -> None:
    case = reads(small())
    assert case.provenance["bay.entrainment"].origin == "default"
    assert case.provenance["bay.entrainment"].source == "estimate"
    assert case.provenance["rule.target"].source == "common practice, no source"
    assert case.provenance["powder.smallest_grain"].origin == "library"
    assert case.provenance["powder.mass"].text == "0.5 g"
    assert case.bay.entrainment == 0.5 and case.bay.mixing_time is None


@pytest.mark.parametrize(
    ("text", "value", "spread"),
    [
        ('{ value = "22 N" }', 22.0, None),
        (
            '{ value = "22 N", spread = "20 %" }',
            22.0,
            Spread(distribution="normal", deviation=4.4, low=0.0, high=5e3),
        ),
        (
            '{ value = "22 N", spread = "3 N", low = "10 N", high = "30 N", group = "pulls" }',
            22.0,
            Spread(distribution="normal", deviation=3.0, low=10.0, high=30.0, group="pulls"),
        ),
        (
            '{ value = "22 N", spread = "3 N", group = "pulls", correlation = "60 %" }',
            22.0,
            Spread(
                distribution="normal",
                deviation=3.0,
                low=0.0,
                high=5e3,
                group="pulls",
                correlation=0.6,
            ),
        ),
        (
            '{ value = "22 N", distribution = "log-normal", spread = 0.5 }',
            22.0,
            Spread(distribution="log-normal", deviation=11.0, low=0.0, high=5e3),
        ),
        (
            '{ value = "22 N", distribution = "uniform", low = "18 N", high = "30 N" }',
            22.0,
            Spread(distribution="uniform", low=18.0, high=30.0),
        ),
        (
            '{ value = "22 N", distribution = "triangular", low = "18 N", high = "30 N" }',
            22.0,
            Spread(distribution="triangular", low=18.0, high=30.0),
        ),
        (
            '{ sample = ["20 N", "22 N", "27 N"] }',
            23.0,
            Spread(distribution="sample", sample=(20.0, 22.0, 27.0)),
        ),
    ],
)
def test_spread_forms(text: str, value: float, spread: Spread | None) -> None:
    case = reads(small(pull_off=text))
    assert case.joint.pull_off == pytest.approx(value)
    kept = case.spreads.get("joint.pull_off")
    if spread is None:
        assert kept is None
        return
    assert kept is not None
    for field in dataclasses.fields(Spread):
        ours = getattr(kept, field.name)
        expected = getattr(spread, field.name)
        assert ours == (
            pytest.approx(expected) if isinstance(expected, (float, tuple)) else expected
        )


def test_a_default_that_is_a_guess_scatters_unless_it_is_typed() -> None:
    case = reads(small('[contents]\nmass = "200 g"\nvolume = "300 cm^3"\n'))
    assert case.spreads == {
        "powder.ignition_delay": Spread(
            distribution="log-normal", deviation=pytest.approx(0.0015), low=0.0, high=5.0
        ),
        "bay.entrainment": Spread(
            distribution="log-normal", deviation=pytest.approx(0.4), low=1e-4, high=100.0
        ),
        # what the program leaves out of a bay is never nothing
        "bay.model_agreement": Spread(
            distribution="log-normal", deviation=pytest.approx(0.2), low=0.05, high=20.0
        ),
        "contents.space_behind": Spread(
            distribution="normal", deviation=pytest.approx(0.15), low=0.0, high=1.0
        ),
    }
    # what pulls the pack out is no longer a number of the model: it scatters with the library
    assert case.provenance["contents.extraction_force"].origin == "library"
    assert case.provenance["contents.tightness"].text == '"unknown"'
    typed = small().replace("wall = ", 'entrainment = "0.8"\nwall = ')
    assert "bay.entrainment" not in reads(typed).spreads
    assert reads(typed).provenance["bay.entrainment"].origin == "case"


LEVEL = "this value does not scatter; give a spread, or the value alone"
ADVICE = 'give less spread, another distribution, or "low" and "high" of your own'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{ value = "22 N", spread = "0 %" }', f"a spread of zero: {LEVEL}"),
        ('{ value = "22 N", spread = "0 N" }', f"a spread of zero: {LEVEL}"),
        (
            '{ sample = ["22 N", "22 N"] }',
            f"measured values that are all alike: {LEVEL}",
        ),
        # Phi(-1) = 0.15866, Phi(-2) = 0.02275 (tables of the normal distribution)
        (
            '{ value = "22 N", spread = "22 N" }',
            "this normal spread is cut: 16 % below the allowed 0 N (0 lbf) is never drawn, the "
            f"rest more often; {ADVICE}",
        ),
        (
            '{ value = "22 N", spread = "11 N" }',
            "this normal spread is cut: 2.3 % below the allowed 0 N (0 lbf) is never drawn, the "
            f"rest more often; {ADVICE}",
        ),
        (
            '{ value = "2500 N", spread = "1250 N" }',
            "this normal spread is cut: 2.3 % below the allowed 0 N (0 lbf) and 2.3 % above the "
            f"allowed 5000 N (1124 lbf) are never drawn, the rest more often; {ADVICE}",
        ),
    ],
)
def test_a_spread_that_is_none_or_is_cut_is_a_warning(text: str, told: str) -> None:
    with pytest.warns(RangeWarning) as caught:
        reads(small(pull_off=text))
    (warning,) = caught
    assert str(warning.message) == f"case.toml:16: joint.pull_off: {told}"


@pytest.mark.parametrize(
    "text",
    [
        '{ value = "22 N", spread = "7 N" }',  # Phi(-22/7) = 0.0008
        '{ value = "22 N", spread = "22 N", distribution = "log-normal" }',
        '{ value = "22 N", spread = "22 N", low = "2 N", high = "60 N" }',  # as somebody wants it
        '{ value = "22 N", distribution = "uniform", low = "0 N", high = "30 N" }',
    ],
)
def test_a_spread_that_is_cut_little_or_on_purpose_is_none(text: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        reads(small(pull_off=text))


def test_a_remark_becomes_the_source() -> None:
    case = reads(small(pull_off='{ value = "22 N", source = "five pulls" }'))
    assert case.provenance["joint.pull_off"].source == "five pulls"
    assert case.provenance["joint.pull_off"].text == "22 N"


def test_spreads_inside_repeated_tables() -> None:
    extra = """
[[openings]]
name = "first"
diameter = "3 mm"
[[openings]]
name = "second"
diameter = { value = "5 mm", spread = "0.1 mm" }
"""
    case = reads(small(extra))
    assert case.spreads["openings[1].diameter"].deviation == pytest.approx(1e-4)
    assert case.provenance["openings[1].diameter"].line == 23


def test_dotted_and_inline_tables_are_the_same_case() -> None:
    bare = small().replace('[nose]\nmass = "480 g"\n', "")
    dotted = bare.replace("[powder]", 'nose.mass = "480 g"\n[powder]')
    inline = bare.replace('title = "small"', 'title = "small"\nnose = { mass = "480 g" }')
    assert reads(dotted).nose == reads(inline).nose == reads(small()).nose
    assert reads(inline).provenance["nose.mass"].line == 2


def test_bom_and_windows_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + small().replace("\n", "\r\n").encode())
    case = read(path)
    assert case.name == "windows"
    assert case.bay == reads(small()).bay
    assert case.provenance["bay.bore"].line == 6


def test_site_pressure_that_does_not_fit_the_altitude_is_a_warning() -> None:
    extra = '[surroundings]\naltitude = "1800 m"\npressure = "1013 hPa abs"\n'
    with pytest.warns(RangeWarning, match=r"case\.toml:19: surroundings\.pressure: .* not reduced"):
        reads(small(extra))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        reads(small(extra.replace("1013", "820")))
        reads(small('[surroundings]\npressure = "820 hPa abs"\n'))


@pytest.mark.parametrize(
    ("case", "told"),
    [
        (
            small('[surroundings]\naltitude = "7 km"\n'),
            r"case\.toml:18: surroundings\.altitude: a loose charge in air of 41.*use a holder",
        ),
        (
            small().replace("wall = ", 'mixing_time = "0.5 s"\nwall = '),
            r"case\.toml:\d+: bay\.mixing_time: 500 ms lies outside the range .* 10.0 ms to 100 ms",
        ),
        (
            small().replace(
                small()[small().index("[powder]") : small().index("[bay]")],
                '[cold_gas]\ngas = "carbon dioxide"\nvolume = "20 cm^3"\n'
                'pressure = "850 psig"\norifice = "3 mm"\n',
            ),
            r"case\.toml:\d+: cold_gas\.pressure: carbon dioxide at .* is no ideal gas",
        ),
    ],
)
def test_values_outside_the_range_of_a_closure_are_a_warning(case: str, told: str) -> None:
    with pytest.warns(RangeWarning, match=told):
        reads(case)


def test_range_edges_are_allowed() -> None:
    for edge in ("1 mg", "200 g"):
        try:
            assert reads(small(mass=edge)).powder is not None
        except CaseError as error:
            assert "by the static rule" in str(error)  # 200 g is in range and absurd in this bay
    with pytest.raises(CaseError, match=r"allowed 0\.001 g to 200 g"):
        reads(small(mass="200.001 g"))


def test_every_problem_is_listed_once_and_in_order() -> None:
    text = small(mass="0.5 gr", pull_off='"22 mm"').replace('bore = "76 mm"', "bore = 76")
    with pytest.raises(CaseError) as caught:
        reads(text, file="mine.toml")
    lines = [problem.line for problem in caught.value.problems]
    assert lines == [4, 6, 16]
    assert str(caught.value).splitlines()[0].startswith("mine.toml:4: powder.mass: gr is ambiguous")


def test_a_whole_case_is_read_in_50_ms() -> None:
    reads(starter_text())
    begin = time.perf_counter()
    for _ in range(5):
        reads(starter_text())
    assert (time.perf_counter() - begin) / 5 < 0.050


def test_case_from_text_has_its_name() -> None:
    case = reads(small(), "mine")
    assert isinstance(case, Case)
    assert (case.name, case.title) == ("mine", "small")


LAYOUTS = [
    ("a = 1\nb = 2", {"a": 1, "b": 2}),
    ('[t]\n# [no]\nk = """\n[x]\ny = 1\n"""\nz = 2', {"t": 1, "t.k": 3, "t.z": 7}),
    ("[t]\nk = '''\n\"\"\"\nq'''\nz = 2", {"t": 1, "t.k": 2, "t.z": 5}),
    ('a.b . "c d" = 1\n', {"a": 1, "a.b": 1, "a.b.c d": 1}),
    ("[[r]]\nk=1\n[[r]]\nk=2\n[r.s]\nm=3",
     {"r": 1, "r[0]": 1, "r[0].k": 2, "r[1]": 3, "r[1].k": 4, "r[1].s": 5, "r[1].s.m": 6}),
    ('v = { a = "x}", b = [1,\n{ c = 2 }] }', {"v": 1, "v.a": 1, "v.b": 1, "v.b[0]": 1, "v.b[1]": 2,
                                                "v.b[1].c": 2}),
    ('k = "a\\"b # c" # d\nl = 1', {"k": 1, "l": 2}),
    ('k = """a""""\nl = 1', {"k": 1, "l": 2}),
    ("k = 2024-05-01 10:00:00 # x\nl = 1.5e3", {"k": 1, "l": 2}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "lines"), LAYOUTS)
def test_lines_of_keys(text: str, lines: dict[str, int]) -> None:
    tomllib.loads(text)
    assert key_lines(text) == lines


@given(st.text(max_size=60))
def test_the_line_scanner_ends_on_any_text(text: str) -> None:
    key_lines(text)


WORDS = (
    "bore",
    "mass",
    '"76 mm"',
    "[bay]",
    "{",
    "}",
    "=",
    "\n",
    '"',
    "nan",
    "[[openings]]",
    "\0",
    "1e999",
)


@given(st.integers(0, len(BASE)), st.integers(0, 40), st.sampled_from(WORDS))
def test_a_damaged_case_is_read_or_refused(at: int, cut: int, word: str) -> None:
    damaged = BASE[:at] + word + BASE[at + cut :]
    try:
        with warnings.catch_warnings():
            # a case that is read, with a doubt about it
            warnings.simplefilter("ignore", RangeWarning)
            reads(damaged)
    except CaseError as error:
        assert error.problems
        lines = damaged.count("\n") + 1
        assert all(problem.line is None or 1 <= problem.line <= lines for problem in error.problems)


MORTAR = """
[run]
chamber = "vessel"
"""


def test_only_a_case_that_is_no_bay_may_have_the_pressure_of_a_vessel() -> None:
    # 28.3 g where 28.3 grain was meant: one ounce in a bay of 1.1 L, a slip of the unit
    with pytest.raises(CaseError) as caught:
        reads(small(mass="28.3 g"))
    (problem,) = caught.value.problems
    assert problem.key == "powder.mass" and problem.line == 4
    unit, way_out = problem.text.index("check the unit of the mass"), problem.text.index("chamber")
    assert unit < way_out and "1 g is 15.4 grain" in problem.text and "no bay" in problem.text
    with pytest.warns(RangeWarning, match="taken as a vessel, not as a bay: 28.3 g.*mistyped"):
        case = reads(small(mass="28.3 g", extra=MORTAR))
    assert case.run.chamber == "vessel"
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        # below the guard the word changes nothing, and a bay is what a case is unless it says so
        assert reads(small(mass="28.3 grain", extra=MORTAR)).powder == (
            reads(small(mass="28.3 grain")).powder
        )
        assert reads(small()).run.chamber == "bay"


def test_a_vessel_runs_beyond_the_pressure_of_any_bay() -> None:
    # 10 g in 98 cm^3, what the table of Noble and Abel calls a density of 0.1: how such pressures
    # compare with theirs is in tests/validation
    text = small(mass="10 g", pull_off='"5 kN"', extra=MORTAR)
    # held, so that the charge burns in what the table calls a closed vessel
    text = text.replace('pull_off = "5 kN"', 'pull_off = "5 kN"\nseal_drag = "5 kN"')

    text = text.replace('tube_length = "320 mm"', 'tube_length = "98 mm"')
    with pytest.warns(RangeWarning, match="taken as a vessel"):
        case = reads(text)
    assert geometry.free_volume(case).total == pytest.approx(1e-4, rel=0.01)
    assert baypulse.simulate(case).numbers.peak_pressure > ABSURD_PRESSURE


@pytest.mark.parametrize(
    ("table", "old", "new"),
    [
        ("[contents]", "drag_out", "extraction_force"),
        ("[powder]", "burnt_ceiling", "burnable_fraction"),
        ("[library.powders.3F]", "burnt_ceiling", "burnable_fraction"),
    ],
)
def test_a_renamed_key_is_answered_with_its_new_name_and_its_line(
    table: str, old: str, new: str
) -> None:
    if table == "[powder]":
        text = small().replace('grade = "3F"', f'grade = "3F"\n{old} = 0.5')
        line = 4
    else:
        text = f"{small()}{table}\n{old} = 0.5\n"
        line = text[: text.index(old)].count("\n") + 1
    with pytest.raises(CaseError) as caught:
        reads(text)
    said = f"case.toml:{line}: {table[1:-1]}.{old}: is now called {new}; write that"
    assert said in str(caught.value)
