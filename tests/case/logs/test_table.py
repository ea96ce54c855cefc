"""Tables as text: any separator, decimal sign and encoding gives the same numbers back."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baypulse.case.logs import header_words, read_flight, read_gauge, table
from baypulse.errors import LogError

ONE_FOLDER = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)

NUMBERS = st.one_of(
    st.floats(-1e6, 1e6).map(lambda value: f"{value:.4f}"),
    st.floats(-1e6, 1e6).map(lambda value: f"{value:.3e}"),
    st.integers(-(10**6), 10**6).map(str),
)
MISSING = st.sampled_from(["", "NaN", "---", "n/a", "null"])
DRESS = st.sampled_from(
    [(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), (" ", "."), (" ", ",")]
)


@st.composite
def tables(draw):
    """Draw rows of texts, and the bytes of a file that holds them."""
    separator, decimal = draw(DRESS)
    width = draw(st.integers(2, 5))
    cell = st.one_of(NUMBERS, MISSING) if separator != " " else NUMBERS
    first = draw(st.lists(NUMBERS, min_size=width, max_size=width))
    rows = [first, first, *draw(st.lists(st.lists(cell, min_size=width, max_size=width)))]
    quote = draw(st.sampled_from(["", '"'])) if separator != " " else ""
    pad = draw(st.sampled_from(["", " "])) if separator in ",;" else ""
    end = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    header = [f"{quote}Wert é {k}{quote}".replace(" ", "_") for k in range(width)]
    lines = [separator.join(header)]
    for row in rows:
        shown = [f"{quote}{part.replace('.', decimal)}{quote}" for part in row]
        lines.append((separator + pad).join(shown))
        if draw(st.integers(0, 9)) == 0:
            lines.append(draw(st.sampled_from(["", "# a remark; with, signs", "// 1,2;3"])))
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"]))
    return rows, (end.join(lines) + end).encode(encoding)


def as_number(text: str) -> float:
    """Read a number as Python does, NaN where it is none."""
    try:
        return float(text)
    except ValueError:
        return math.nan


@ONE_FOLDER
@given(tables())
def test_any_dress_gives_the_same_numbers(tmp_path, drawn) -> None:
    rows, data = drawn
    path = tmp_path / "any.csv"
    path.write_bytes(data)
    read = table.read(path)
    for column in range(len(rows[0])):
        # Python's own float() reads the same texts
        expected = np.array([as_number(row[column]) for row in rows])
        np.testing.assert_array_equal(read.numbers(column)[0], expected)


SOUND = "Time (s),Altitude (m),Note\n" + "\n".join(
    f"{0.1 * k:.1f},{max(0.0, 50.0 * k - 2.5 * k * k):.1f},up" for k in range(30)
)
DAMAGE = [
    "",
    ",",
    ";",
    "\n",
    '"',
    "\0",
    "nan",
    "1e999",
    "-1e17",
    "1e-300",
    "#",
    "\t",
    " ",
    "é",
    "ft",
]


@ONE_FOLDER
@pytest.mark.filterwarnings("error")
@given(
    st.lists(
        st.tuples(st.integers(0, len(SOUND)), st.integers(0, 60), st.sampled_from(DAMAGE)),
        min_size=1, max_size=4,
    ),
    st.sampled_from(["utf-8", "utf-16", "utf-16-be"]),
)  # fmt: skip
def test_a_damaged_file_is_read_or_refused(tmp_path, damages, encoding) -> None:
    text = SOUND
    for at, cut, sign in damages:
        text = text[:at] + sign + text[at + cut :]
    path = tmp_path / "damaged.csv"
    path.write_bytes(text.encode(encoding))
    try:
        flight = read_flight(path)
    except LogError as error:
        assert str(error).startswith(f"{path}:")
        assert "\n" not in str(error)
    else:
        assert flight.time.size >= 8
        assert np.all(np.diff(flight.time) > 0.0)
        assert np.all(np.isfinite(flight.altitude) & (flight.pressure > 0.0))


@ONE_FOLDER
@pytest.mark.filterwarnings("error")
@given(
    st.one_of(st.binary(max_size=400), st.text(' \t,;.:-+#/\n"0123456789eEnaTs()[]', max_size=400))
)
def test_noise_is_refused_in_a_sentence(tmp_path, noise) -> None:
    path = tmp_path / "noise.csv"
    path.write_bytes(noise if isinstance(noise, bytes) else noise.encode())
    for read in (read_flight, read_gauge):
        with pytest.raises(LogError):
            read(path)


def test_lines_are_those_of_the_file(tmp_path) -> None:
    path = tmp_path / "lines.csv"
    path.write_text("title\n\na;b\n\n1;2\n# no\n3;4\n\n\n5;6\n")
    read = table.read(path)
    assert read.names == ("a", "b")
    assert read.lines.tolist() == [5, 7, 10]
    assert read.numbers(1)[0].tolist() == [2.0, 4.0, 6.0]


@pytest.mark.parametrize(
    ("header", "quantity", "name", "unit"),
    [
        ("Altitude (ft)", "altitude", "Altitude", "ft"),
        ("Altitude [m] AGL", "altitude", "Altitude  AGL", "m"),
        ("alt_ft", "altitude", "alt", "ft"),
        ("Altitude Feet", "altitude", "Altitude", "feet"),
        ("Height (m ASL)", "altitude", "Height", "m"),
        ("t/ms", "time", "t", "ms"),
        ("Elapsed, SEC", "time", "Elapsed", "s"),
        ("pressure_kPa_abs", "pressure", "pressure", "kPa abs"),
        ("P [PSIA]", "pressure", "P", "psi abs"),
        ("P (bar g)", "pressure", "P", "bar gauge"),
        ("Pressure mmHg", "pressure", "Pressure", "mmHg"),
    ],
)
def test_headers_are_taken_apart(header, quantity, name, unit) -> None:
    found = header_words.split(header, quantity)
    assert found[0] == name
    assert found[1] is not None and found[1].text == unit


@pytest.mark.parametrize(
    ("header", "kind"),
    [
        ("Time", "time"), ("t [s]", "time"), ("ms", "time"), ("Barometric altitude", "altitude"),
        ("AltitudeAGL", "altitude"), ("Pressure altitude (ft)", "altitude"), ("P (Pa)", "pressure"),
        ("Vertical speed (m/s)", ""), ("Altitude rate", ""), ("State", ""), ("Temp (C)", ""),
        ("Max altitude", ""), ("Battery voltage", ""),
    ],
)  # fmt: skip
def test_what_a_header_names(header, kind) -> None:
    assert list(header_words.kinds(header)) == ([kind] if kind else [])


def test_a_decimal_comma_in_every_row_is_no_separator(tmp_path) -> None:
    path = tmp_path / "comma.csv"
    path.write_text("time\theight\n0,5\t1,5\n0,5\t1,5\n2,5\t\n", "utf-8")
    np.testing.assert_array_equal(table.read(path).numbers(1)[0], [1.5, 1.5, math.nan])
