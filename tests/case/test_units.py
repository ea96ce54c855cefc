"""Units: the factors against pint, what is accepted, and what every refusal says."""

from __future__ import annotations

import locale
import math
import re
import subprocess
import sys
import time

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baypulse.case import quantities, units
from baypulse.case.unit_table import REFUSED, SCALES, UNITS
from baypulse.errors import UnitError

REGISTRY = pint.UnitRegistry()
SI = ("meter", "kilogram", "second", "kelvin", "radian")


@pytest.mark.parametrize("name", UNITS)
def test_every_factor_equals_pints(name: str) -> None:
    atom = UNITS[name]
    base = REGISTRY.Quantity(1.0, "dimensionless")
    for unit, power in zip(SI, atom.vector, strict=True):
        base = base * REGISTRY.Quantity(1.0, unit) ** power
    ours = atom.factor * base
    theirs = REGISTRY.Quantity(1.0, atom.pint_name)
    assert theirs.to(ours.units).magnitude == pytest.approx(
        atom.factor, rel=1e-6 if "Hg" in name else 1e-12
    )


@pytest.mark.parametrize("name", SCALES)
def test_temperatures_equal_pints(name: str) -> None:
    pint_name = {"C": "degree_Celsius", "F": "degree_Fahrenheit", "K": "kelvin"}[name[-1]]
    for number in (-40.0, 0.0, 59.0):
        theirs = REGISTRY.Quantity(number, pint_name).to("kelvin").magnitude
        assert units.parse(f"{number} {name}", "temperature") == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("dimension", units.DIMENSIONS)
def test_every_dimension_reads_its_example_and_shows_it(dimension: str) -> None:
    kind = units.DIMENSIONS[dimension]
    value = units.parse(kind.example, dimension)
    assert math.isfinite(value)
    assert re.fullmatch(units.pattern(dimension).strip("^$"), kind.example)
    for unit in kind.shown:
        assert units.convert(value, unit) != value or unit in ("", kind.si_unit, "K", "N")
        assert quantities.pretty(unit) in quantities.show(value, dimension, (unit,))
    if kind.si_unit:
        assert units.convert(value, kind.si_unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("75 mm", "length", 0.075),
        ("75mm", "length", 0.075),
        (" +7.5e1  mm ", "length", 0.075),
        (".5 in", "length", 0.0127),
        ("3.5 inches", "length", 0.0889),
        ("50 µm", "length", 50e-6),
        ("100 cm2", "area", 0.01),
        ("100 cm^2", "area", 0.01),
        ("100 cm²", "area", 0.01),
        ("2 L", "volume", 0.002),
        ("60 in^3", "volume", 60 * 0.0254**3),
        ("1.72 g/cm^3", "density", 1720.0),
        ("18.5 grain", "mass", 18.5 * 64.79891e-6),
        ("1 grains", "mass", 64.79891e-6),
        ("2 lb", "mass", 0.90718474),
        ("1 lbf", "force", 4.4482216152605),
        ("3 kgf", "force", 29.41995),
        ("12 psig", "gauge pressure", 82737.08751802033),
        ("82.7 kPa gauge", "gauge pressure", 82700.0),
        ("82.7 kPag", "gauge pressure", 82700.0),
        ("2 barg", "gauge pressure", 2e5),
        ("12 psi gauge", "gauge pressure", 82737.08751802033),
        ("1.2 bar abs", "absolute pressure", 1.2e5),
        ("98 kPaa", "absolute pressure", 98e3),
        ("29.92 inHg abs", "absolute pressure", 101320.7),
        ("14.7 psia", "absolute pressure", 101352.9),
        ("10 ksi", "stress", 68947572.9),
        ("15 degC", "temperature", 288.15),
        ("59 °F", "temperature", 288.15),
        ("300 K", "temperature", 300.0),
        ("60 ft/s", "velocity", 18.288),
        ("90 deg", "angle", math.pi / 2),
        ("12 %", "ratio", 0.12),
        ("0.65", "ratio", 0.65),
        (0.65, "ratio", 0.65),
        (1, "ratio", 1.0),
        ("80 W/m^2/K", "heat transfer", 80.0),
        ("-0.8 %/K", "per kelvin", -0.008),
        ("-0.008 1/K", "per kelvin", -0.008),
        ("108.5 J/kg/K", "heat capacity", 108.5),
        ("0.62 cm^3/g", "covolume", 0.62e-3),
        ("3 N*m", "energy", 3.0),
    ],
)
def test_accepted(text: str | float, dimension: str, value: float) -> None:
    assert units.parse(text, dimension) == pytest.approx(value, rel=1e-6)


AS_WRITTEN = [
    ("1/16 in", "length", "0.0625 inch"),
    ("1/16in", "length", "0.0625 inch"),
    ("3 1/2 in", "length", "3.5 inch"),
    ("3-1/2 in", "length", "3.5 inch"),
    ("-1/2 in", "length", "-0.5 inch"),
    ("½ in", "length", "0.5 inch"),
    ("3½ in", "length", "3.5 inch"),
    ("3 ⅝ in", "length", "3.625 inch"),
    ("25'", "length", "25 foot"),
    ('3.5"', "length", "3.5 inch"),
    ('3 1/2"', "length", "3.5 inch"),
    ("6' 4\"", "length", "76 inch"),
    ("6'4½\"", "length", "76.5 inch"),
    ("6'-4\"", "length", "76 inch"),
    ("6′ 4″", "length", "76 inch"),
    ("5 ft 3 in", "length", "63 inch"),
    ("5 feet 3 1/4 inches", "altitude", "63.25 inch"),
    ("3 feet", "length", "3 foot"),
    ("2 lbs", "mass", "2 pound"),
    ("5 pounds", "mass", "5 pound"),
    ("1 pound", "mass", "1 pound"),
    ("2 lb 3 oz", "mass", "35 ounce"),
    ("2 pounds 3.5 ounces", "mass", "35.5 ounce"),
    ("1.5 grams", "mass", "1.5 gram"),
    ("20 grains", "mass", "20 grain"),
    ("22 lbs/ft^3", "density", "22 pound/foot**3"),
    ("1/2", "ratio", "0.5 dimensionless"),
    ("1/2 %", "ratio", "0.5 percent"),
    ("5 lb", "force", "5 pound_force"),
    ("5 lbs", "force", "5 pound_force"),
    ("5 pounds", "force", "5 pound_force"),
    ("3 lb 4 oz", "force", "52 ounce_force"),
    ("12 oz", "force", "12 ounce_force"),
    ("2.2 kg", "force", "2.2 kilogram_force"),
    ("900 g", "force", "900 gram_force"),
]


@pytest.mark.parametrize(("text", "dimension", "in_pints_words"), AS_WRITTEN)
def test_values_are_read_as_people_write_them(
    text: str, dimension: str, in_pints_words: str
) -> None:
    number, _, unit = in_pints_words.partition(" ")
    theirs = REGISTRY.Quantity(float(number), unit).to_base_units().magnitude
    assert units.parse(text, dimension) == pytest.approx(theirs, rel=1e-12)
    assert re.search(units.pattern(dimension), text)


@pytest.mark.parametrize(
    ("text", "dimension", "unit"),
    [
        ("5 lb", "force", "lbf"),
        ("3 lb 4 oz", "force", "lbf"),
        ("900 grams", "force", "gf"),
        ("5 lbf", "force", ""),
        ("3 kg*m/s^2", "force", ""),
        ("5 lb", "mass", ""),
    ],
)
def test_a_scales_reading_is_known_as_one(text: str, dimension: str, unit: str) -> None:
    assert units.scale_reading(text, dimension) == unit


@pytest.mark.parametrize(
    ("text", "dimension", "sentence"),
    [
        ("5 ft 13 in", "length", '"5 ft 13 in" has 13 in beside ft; 12 in are 1 ft'),
        ("2 lb 16 oz", "mass", '"2 lb 16 oz" has 16 oz beside lb; 16 oz are 1 lb'),
        ("1/0 in", "length", '"1/0 in" divides by zero'),
        ("3 5/2 in", "length", '"3 5/2 in" has a fraction of one or more behind a whole number: '
         "write 5.5"),
        ("25'", "angle", "\"25'\" is a length; an angle is wanted, such as \"90 deg\""),
        ("5 lbm", "force", '"5 lbm" is a mass; a force is wanted, such as "90 N"; for the reading '
         'of a scale write "5 lbf"'),
        ("3 - 1/2 in", "length", None),
        ("3 -1/2 in", "length", None),
        ("3 + 1/2 in", "length", None),
        ("3.5 1/2 in", "length", None),
        ("1/2/3 in", "length", None),
        ("1/2.5 in", "length", None),
        ("1/2 1/2 in", "length", None),
        ("5 ft - 3 in", "length", None),
        ("5.5 ft 3 in", "length", None),
        ("3 in 5 ft", "length", None),
        ("5 ft 3 oz", "length", None),
        ("5 ft 3", "length", "\"5 ft 3\" is a volume; a length is wanted, such as \"75 mm\""),
        ("3''", "length", None),
        ("5 m 3 cm", "length", None),
    ],
)  # fmt: skip
def test_no_other_arithmetic_is_read(text: str, dimension: str, sentence: str | None) -> None:
    with pytest.raises(UnitError) as caught:
        units.parse(text, dimension)
    assert str(caught.value) == sentence or (
        sentence is None and "no arithmetic is read" in str(caught.value)
    )
    # the schema knows no sizes: it lets through what is only too large or divides by zero
    assert sentence is not None or not re.search(units.pattern(dimension), text)


@pytest.mark.parametrize(
    ("text", "dimension", "sentence"),
    [
        ("3 mn", "length", 'unknown unit "mn"; did you mean "mm"?'),
        ("12 MM", "length", 'unknown unit "MM"; did you mean "mm"?'),
        ("12 PSIG", "gauge pressure", 'unknown unit "PSIG"; did you mean "psig"?'),
        ("12 psg", "gauge pressure", 'unknown unit "psg"; did you mean "psig"?'),
        ("60 fps", "velocity", 'unknown unit "fps"; did you mean "ft/s"?'),
        ("8 gr", "mass", 'gr is ambiguous: write "grain" (64.8 mg) or "g"'),
        ("8 Gr", "mass", 'unknown unit "Gr"; did you mean "g"?'),
        ("3 mm", "mass", '"3 mm" is a length; a mass is wanted, such as "1.2 g"'),
        (
            "15 psig",
            "stress",
            '"15 psig" is a gauge pressure; a stress is wanted, such as "69 MPa"',
        ),
        ("3 mm gauge", "length", '"3 mm gauge": only a pressure is gauge or absolute'),
        ("5 degC*m", "length", '"degC" stands alone, for a temperature; here write K'),
        ("1,5 mm", "length", '"1,5 mm" has a comma in the number: write 1.5'),
        ("5", "length", '"5" has no unit; write a length, such as "75 mm"'),
        (5, "length", '5 has no unit; write a length, such as "75 mm", in quotes'),
        ("", "mass", 'the text is empty; write a mass, such as "1.2 g"'),
        (True, "ratio", 'true is not a ratio, such as "12 %"'),
        (float("nan"), "ratio", 'nan is not a finite number; write a ratio, such as "12 %"'),
        ("inf m", "length", '"inf m" is not a finite number; write a length, such as "75 mm"'),
        ("1e999 m", "length", '"1e999 m" is not a finite number; write a length, such as "75 mm"'),
        ("1e308 km", "length", '"1e308 km" is not a finite number'),
        ("1 0 mm", "length", None),
        ("0x10 mm", "length", None),
        ("1_000 mm", "length", None),
        ("٣ mm", "length", None),
        ("3 mm; 4 mm", "length", None),
        ("3 (mm)", "length", None),
        ("3 mm^9", "length", None),
        ("3 mm**2", "area", None),
        ("3 mm mm", "area", None),
        ("3 mm/", "length", None),
    ],
)
def test_refused(text: str | float, dimension: str, sentence: str | None) -> None:
    with pytest.raises(UnitError) as caught:
        units.parse(text, dimension)
    if sentence is None:
        sentence = str(caught.value)
        assert (
            "no arithmetic is read" in sentence
            or "does not start with a number" in sentence
            or ("unknown unit" in sentence)
        )
    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("12 psi", "gauge pressure", "write psig or psia"),
        ("12 kPa", "absolute pressure", '"12 kPa gauge" above the air outside, or "12 kPa abs"'),
        ("30 psia", "gauge pressure", "subtract the pressure of the air outside"),
        ("98 kPa gauge", "absolute pressure", "add the pressure of the air outside"),
    ],
)
def test_pressure_must_say_gauge_or_absolute(text: str, dimension: str, words: str) -> None:
    with pytest.raises(UnitError, match=re.escape(words)):
        units.parse(text, dimension)


@pytest.mark.parametrize("text", ["9**9**9**9 m", "9^9^9 m", "(" * 70 + " m", "m" * 80, "9" * 5000])
def test_arithmetic_is_refused_at_once(text: str) -> None:
    begin = time.perf_counter()
    with pytest.raises(UnitError):
        units.parse(text, "length")
    assert time.perf_counter() - begin < 0.05


@pytest.mark.parametrize("name", REFUSED)
def test_names_that_are_refused_are_no_units(name: str) -> None:
    assert name not in UNITS
    with pytest.raises(UnitError, match='"'):
        units.parse(f"3 {name}", "mass")


@pytest.mark.parametrize(
    ("text", "dimension", "value", "deviation"),
    [
        ("12 %", "force", 90.0, 10.8),
        (0.12, "force", 90.0, 10.8),
        ("2 lbf", "force", 90.0, 8.896443230521),
        ("5 K", "temperature", 288.15, 5.0),
        ("9 degF", "temperature", 288.15, 5.0),
        ("2 psi", "gauge pressure", 1e5, 13789.514586336728),
        ("2 psig", "gauge pressure", 1e5, 13789.514586336728),
        ("0 %", "length", 0.0, 0.0),
        ("10 %", "ratio", -8.0, 0.8),
    ],
)
def test_spread(text: str | float, dimension: str, value: float, deviation: float) -> None:
    assert units.parse_spread(text, dimension, value) == pytest.approx(deviation)


@pytest.mark.parametrize(
    ("text", "dimension", "value", "words"),
    [
        ("-3 %", "force", 90.0, "cannot be negative"),
        ("3 mm", "force", 90.0, "a force is wanted"),
        ("3 %", "temperature", 288.0, "has no meaning"),
        ("3 %", "force", 0.0, "of zero is zero"),
        (True, "force", 90.0, "is not a spread"),
    ],
)
def test_refused_spread(text: str | bool, dimension: str, value: float, words: str) -> None:
    with pytest.raises(UnitError, match=words):
        units.parse_spread(text, dimension, value)


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (142.0, "force", "142 N (31.9 lbf)"),
        (104800.0, "gauge pressure", "105 kPa (15.2 psi)"),
        (0.0012, "mass", "1.20 g (18.5 grain)"),
        (0.075, "length", "75.0 mm (2.95 in)"),
        (9144.0, "length", "9144 m (30000 ft)"),
        (101325.0, "absolute pressure", "101 kPa abs (14.7 psia)"),
        (288.15, "temperature", "15.0 °C (59.0 °F)"),
        (0.0, "force", "0 N (0 lbf)"),
        (0.12, "ratio", "0.12 (12 %)"),
        (1e-6, "ratio", "1e-06"),
        (0.09996, "length", "100 mm (3.94 in)"),
        (12345.6, "force", "12350 N (2775 lbf)"),
        (-0.5, "force", "-0.500 N (-0.112 lbf)"),
        (1e-12, "force", "1.00e-12 N (2.25e-13 lbf)"),
    ],
)
def test_show(value: float, dimension: str, text: str) -> None:
    assert quantities.show(value, dimension) == text


def test_beside_keeps_what_was_typed() -> None:
    assert quantities.beside("82.7 kPa gauge", "gauge pressure") == "82.7 kPa gauge (12.0 psi)"
    assert quantities.beside("18.5 grain", "mass") == "18.5 grain (1.20 g)"
    assert quantities.beside("0.9", "ratio") == "0.9"
    assert quantities.beside("2 lbs", "mass") == "2 lbs (907 g)"
    assert quantities.beside('3 1/2"', "length") == '3 1/2" (88.9 mm)'
    assert quantities.beside("5 lb", "force") == "5 lb (22.2 N)"


def test_quantity_is_pints() -> None:
    assert units.quantity(1.0, "m/s", "ft/s").magnitude == pytest.approx(3.280839895)
    assert units.quantity(300.0, "K", "degC").magnitude == pytest.approx(26.85)
    assert units.quantity(1720.0, "kg/m^3", "g/cm3").magnitude == pytest.approx(1.72)
    assert units.quantity(3.0, "N").magnitude == 3.0


@given(st.floats(1e-9, 1e9), st.sampled_from(sorted(units.DIMENSIONS)))
def test_shown_value_reads_back(value: float, dimension: str) -> None:
    unit = units.DIMENSIONS[dimension].shown[0]
    unit = "psig" if dimension == "gauge pressure" else unit
    number = units.convert(value, unit)
    assert units.parse(f"{number!r} {unit}", dimension) == pytest.approx(value, rel=1e-9, abs=1e-10)


@given(st.text(max_size=100), st.sampled_from(sorted(units.DIMENSIONS)))
def test_any_text_is_read_or_refused_with_a_sentence(text: str, dimension: str) -> None:
    try:
        assert math.isfinite(units.parse(text, dimension))
    except UnitError as error:
        assert str(error)


def test_locale_does_not_matter() -> None:
    before = locale.setlocale(locale.LC_NUMERIC)
    for name in ("de_DE.UTF-8", "fr_FR.UTF-8", "C"):
        try:
            locale.setlocale(locale.LC_NUMERIC, name)
        except locale.Error:
            continue
        assert units.parse("1.5 mm", "length") == 0.0015
        assert quantities.show(0.0015, "length") == "1.50 mm (0.0591 in)"
    locale.setlocale(locale.LC_NUMERIC, before)


def test_reading_needs_no_pint() -> None:
    code = (
        "import sys; from baypulse.case import casefile; "
        "sys.exit(int('pint' in sys.modules or 'matplotlib' in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
