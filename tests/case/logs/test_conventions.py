"""Invented logs of one known flight in every dress: read right, or refused; never silently wrong.

The flight is a shot straight up without drag (h = v t - g t^2 / 2, textbook) from a pad at 1500 m,
so that its altitudes have thousands. Each file is that flight in one convention of numbers, one
separator, one encoding and one unit; whoever cannot be read must be refused in a sentence that
begins with the file.
"""

from __future__ import annotations

import csv
import io
import itertools

import numpy as np
import pytest

from baypulse.case.logs import read_flight, read_gauge
from baypulse.errors import LogError

SPEED, GRAVITY, PAD = 200.0, 9.81, 1500.0
T = np.arange(0.0, 45.0, 0.5)
H = PAD + np.maximum(SPEED * T - 0.5 * GRAVITY * T**2, 0.0)

FOOT = 0.3048  # m, exact by definition (international foot of 1959)
FACTORS = {"m": 1.0, "ft": FOOT, "km": 1000.0}

# thousands, decimal sign
CONVENTIONS = {
    "plain": ("", "."), "comma": ("", ","), "english": (",", "."), "german": (".", ","),
    "swiss": ("'", "."), "swiss typeset": ("\u2019", "."), "blank": (" ", "."),
    "french": (" ", ","), "fixed blank": ("\u00a0", ","), "narrow blank": ("\u202f", ","),
}  # fmt: skip
SEPARATORS = (",", ";", "\t", " ")
ENCODINGS = ("utf-8", "utf-16", "cp1252")
DRESSES = [
    (convention, separator, encoding, unit, digits)
    for convention, separator, encoding in itertools.product(CONVENTIONS, SEPARATORS, ENCODINGS)
    for unit, digits in (("ft", 1), ("m", 0), ("km", 3))
]


def written(value: float, digits: int, thousands: str, decimal: str) -> str:
    """Write a number in a convention."""
    return f"{value:,.{digits}f}".replace(",", "\0").replace(".", decimal).replace("\0", thousands)


def flight_file(convention, separator, encoding, unit, digits, quoted) -> bytes:
    """Return the flight in one dress."""
    thousands, decimal = CONVENTIONS[convention]
    text = io.StringIO()
    quoting = csv.QUOTE_ALL if quoted else csv.QUOTE_NONE
    table = csv.writer(
        text, delimiter=separator, quoting=quoting, escapechar=None if quoted else "\0"
    )
    table.writerow(["Time(s)", f"Altitude({unit})"])
    for t, h in zip(T, H, strict=True):
        table.writerow(
            [written(t, 1, thousands, decimal),
             written(h / FACTORS[unit], digits, thousands, decimal)]
        )  # fmt: skip
    # what was marked as in need of quotes is written without any
    return text.getvalue().replace("\0", "").encode(encoding, errors="replace")


@pytest.mark.parametrize("separator", SEPARATORS, ids=["comma", "semicolon", "tab", "blank"])
def test_every_dress_is_read_right_or_refused(separator, tmp_path) -> None:
    right, refused = 0, []
    for dress in DRESSES:
        if dress[1] != separator:
            continue
        for quoted in (False, True):
            if quoted and separator == " ":
                continue  # blanks part columns in runs, with no quotes
            path = tmp_path / "flight.csv"
            path.write_bytes(flight_file(*dress, quoted))
            try:
                flight = read_flight(path, pad_altitude=PAD)
            except LogError as error:
                assert str(error).startswith(f"{path}")
                refused.append((*dress, quoted, str(error)))
                continue
            last_digit = FACTORS[dress[3]] * 10.0 ** -dress[4]
            assert flight.time == pytest.approx(T, abs=1e-9), dress
            assert flight.altitude == pytest.approx(H, abs=0.51 * last_digit), dress
            assert flight.rows == T.size, dress
            right += 1
    # a comma or a blank cannot part columns and thousands or decimals both, unless quoted
    clash = {",": {","}, " ": {" "}}.get(separator, set())
    for convention, _, encoding, *_, quoted, sentence in refused:
        signs = set(CONVENTIONS[convention])
        lost = encoding == "cp1252" and "\u202f" in signs  # that encoding has no such sign
        assert (clash & signs and not quoted) or lost, (convention, encoding, quoted, sentence)
    assert right >= 60


AMBIGUOUS = {
    "commas in every row, whole seconds": ("Time (s);Altitude (ft)", "{:d};20,{:03d}"),
    "points and commas": ("Time (s);Altitude (ft)", "{:d};2{mark}{:03d}"),
}


@pytest.mark.parametrize("name", AMBIGUOUS)
def test_what_may_be_thousands_or_decimals_is_refused(name, tmp_path) -> None:
    head, form = AMBIGUOUS[name]
    rows = [form.format(k, 100 + 7 * k, mark=".,"[k % 2]) for k in range(40)]
    path = tmp_path / "flight.csv"
    path.write_text(head + "\n" + "\n".join(rows) + "\n", "utf-8")
    with pytest.raises(LogError, match="may be thousands or decimals"):
        read_flight(path)


def test_thousands_in_every_row_are_told_by_the_other_columns(tmp_path) -> None:
    path = tmp_path / "flight.csv"
    high = 20_684.0 - 4.905 * (T - 20.0) ** 2
    for decimal, sign in ((".", ","), (",", ".")):
        rows = [
            f"{t:.1f}".replace(".", decimal) + ";" + f"{h:,.0f}".replace(",", sign)
            for t, h in zip(T, high, strict=True)
        ]
        path.write_text("Time (s);Altitude ASL (m)\n" + "\n".join(rows) + "\n", "utf-8")
        flight = read_flight(path)
        assert flight.altitude == pytest.approx(high, abs=0.51)
        assert any("were read as thousands" in note for note in flight.notes)


def test_a_gauge_record_with_apostrophes_keeps_every_row(tmp_path) -> None:
    time = np.arange(500) * 1e-3
    pressure = 100_000.0 * np.exp(-time / 0.2)
    rows = [f"{t:.3f},{written(p, 1, chr(39), '.')}" for t, p in zip(time, pressure, strict=True)]
    path = tmp_path / "gauge.csv"
    path.write_text("Time (s),Pressure (Pa gauge)\n" + "\n".join(rows), "utf-8")
    gauge = read_gauge(path)
    assert gauge.pressure == pytest.approx(pressure, abs=0.051)
    assert 'Column "Pressure (Pa gauge)": apostrophes or fixed blanks between groups of three ' \
        "digits were read as thousands." in gauge.notes  # fmt: skip


@pytest.mark.parametrize(
    ("header", "unit"),
    [("Time (s),Altitude (dm)", "dm"), ("Time (s),Altitude (yd)", "yd"), ("Time (s),alt_yd", "yd"),
     ("Time (s),Altitude yards", "yards"), ("Time (h:m),Altitude (m)", "h:m"),
     ("Time (s),Altitude (hPa)", "hPa"), ("Time (m),Altitude (m)", "m")],
)  # fmt: skip
def test_an_unknown_unit_is_refused_by_its_name(header, unit, tmp_path) -> None:
    path = tmp_path / "flight.csv"
    rows = [f"{t:.1f},{h - PAD:.1f}" for t, h in zip(T, H, strict=True)]
    path.write_text(header + "\n" + "\n".join(rows), "utf-8")
    with pytest.raises(LogError, match=f'"{unit}" is no unit of'):
        read_flight(path)
    # what the sentence proposes is then read
    asked = {kind: f"column {k} [{u}]" for k, (kind, u) in
             enumerate((("time", "s"), ("altitude", "m")), 1)}  # fmt: skip
    assert read_flight(path, **asked).altitude == pytest.approx(H - PAD, abs=0.051)


@pytest.mark.parametrize("share", [0.1, 0.3])
def test_a_fifth_of_the_cells_of_a_stretch_must_be_numbers(share, tmp_path) -> None:
    path = tmp_path / "flight.csv"
    lost = np.arange(T.size) % round(1.0 / share) == 2
    rows = [
        f"{t:.1f},{'4#7' if gone else f'{h - PAD:.1f}'}"
        for t, h, gone in zip(T, H, lost, strict=True)
    ]
    path.write_text("Time (s),Altitude (m)\n" + "\n".join(rows), "utf-8")
    if share > 0.2:
        with pytest.raises(LogError, match=r':4: "4#7" in column "Altitude \(m\)" is no number'):
            read_flight(path)
    else:
        assert read_flight(path).time.size == T.size - lost.sum()


@pytest.mark.parametrize(
    "line",
    [
        "Apogee: 1532' AGL",
        "# Apogee 1532 ft",
        "Units: feet",
        "// altitude in feet",
        "Units: imperial",
    ],
)
def test_feet_that_a_line_beside_the_table_says(line, tmp_path) -> None:
    path = tmp_path / "flight.csv"
    rows = [f"{t:.1f},{(h - PAD) / FOOT:.1f}" for t, h in zip(T, H, strict=True)]
    path.write_text(f"{line}\nTime (s),Altitude\n" + "\n".join(rows), "utf-8")
    flight = read_flight(path)
    assert flight.altitude == pytest.approx(H - PAD, abs=0.02)
    assert any("was read in ft, since line 1 says" in note for note in flight.notes)


def test_feet_and_metres_in_two_lines_are_refused(tmp_path) -> None:
    path = tmp_path / "flight.csv"
    rows = [f"{t:.1f},{(h - PAD) / FOOT:.1f}" for t, h in zip(T, H, strict=True)]
    path.write_text(
        "Apogee: 1532 ft\nField elevation: 204 m MSL\nTime (s),Altitude\n" + "\n".join(rows),
        "utf-8",
    )
    with pytest.raises(LogError, match="line 1 speaks of feet and line 2 of metres"):
        read_flight(path)
