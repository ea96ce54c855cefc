"""Loggers' files, whole, odd and broken: the numbers back, and the exact sentence each gives.

The flight is written here: a shot straight up without drag, h = v t - g t^2 / 2, whose height and
times are known without the project. The sentences are the project's own.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pytest

from baypulse.case.logs import Flight, read_flight
from baypulse.errors import LogError

SPEED, GRAVITY, LAUNCH = 60.0, 9.81, 1.0
T = np.arange(400) * 0.05
H = np.maximum(SPEED * (T - LAUNCH) - 0.5 * GRAVITY * (T - LAUNCH) ** 2, 0.0) * (T > LAUNCH)
SPACE = np.flatnonzero(H > 80.0)  # rows that are above 80 km if km is meant
TOP = SPEED**2 / (2.0 * GRAVITY)  # m, of a body thrown up: v^2 / 2g, textbook
FOOT = 0.3048  # m, exact by definition (international foot of 1959)

TIME = 'Time is column "Time (s)", in s.'
ALTITUDE = 'Altitude is column "Altitude (m)", in m.'
PAD = "Altitudes begin at 0 m (0 ft) and are above the pad, which is 0 m (0 ft) above sea level."
HEAD = "Time (s),Altitude (m)"


def table(head=HEAD, sep=",", dec=".", times=T, heights=H, t_form="{:.2f}", extra=""):
    """Return the flight as text."""
    rows = [
        sep.join((t_form.format(t), f"{h:.2f}")).replace(".", dec) + extra
        for t, h in zip(times, heights, strict=True)
    ]
    return "\n".join([head, *rows] if head else rows) + "\n"


def stamps(form):
    """Return the flight with dates, in a form of ``strftime``."""
    begin = datetime.datetime(2030, 5, 1, 10, 59, 50)
    rows = [
        f"{(begin + datetime.timedelta(seconds=float(t))).strftime(form)},{h:.2f}"
        for t, h in zip(T, H, strict=True)
    ]
    return "Timestamp,Altitude (m)\n" + "\n".join(rows)


def clocks(begin):
    """Return the flight with times as h:mm:ss from a time of the day [s]."""
    rows = []
    for t, h in zip(T + begin, H, strict=True):
        rows.append(f"{int(t // 3600) % 24}:{int(t // 60) % 60:02d}:{t % 60:05.2f},{h:.2f}")
    return "Time,Altitude (m)\n" + "\n".join(rows)


def line(number, text, base=None):
    """Return the flight with one line replaced, counted from 1."""
    rows = (base or table()).split("\n")
    rows[number - 1] = text
    return "\n".join(rows)


def without(first, last):
    """Return the flight without the lines between two numbers."""
    rows = table().split("\n")
    return "\n".join(rows[: first - 1] + rows[last:])


def barometer(head, scale, digits=3):
    """Return a barometer's table: 101.3 kPa less 12 Pa a metre, in some unit of Pa."""
    rows = [
        f"{t:.2f},{(101_300.0 - 12.0 * h) / scale:.{digits}f}" for t, h in zip(T, H, strict=True)
    ]
    return head + "\n" + "\n".join(rows)


def reads(tmp_path: Path, text: str | bytes, **options) -> Flight:
    """Read a text as a file called flight.csv."""
    path = tmp_path / "flight.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_flight(path, **options)


WHOLE = {
    "plain": table(),
    "semicolons and decimal commas": table(sep=";", dec=",", head="Time (s);Altitude (m)"),
    "tabs": table(sep="\t", head="Time (s)\tAltitude (m)"),
    "tabs and decimal commas": table(sep="\t", dec=",", head="Time (s)\tAltitude (m)"),
    "blanks": table(sep="   ", head="Time (s)  Altitude (m)"),
    "blanks, header with single ones": table(sep=" ", head="Time (s) Altitude (m)"),
    "blanks at the ends": table(sep="  ").replace("\n", "  \n  ").replace("(s),", "(s) "),
    "a comma and a blank": table(sep=", "),
    "byte-order mark": "\ufeff" + table(),
    "UTF-16": table().encode("utf-16"),
    "UTF-16, no mark": table().encode("utf-16-le"),
    "UTF-16, no mark, big end first": table().encode("utf-16-be"),
    "Windows line ends": table().replace("\n", "\r\n"),
    "old line ends": table().replace("\n", "\r"),
    "blank lines": table().replace("\n", "\n\n"),
    "comments": "# invented\n// more, or less, of it\n" + line(60, "2.90,96.29\n# half way"),
    "header in a comment": "# " + table(),
    "titles and settings": "Logger\nSerial,1234,Rate,20\n\n" + table(),
    "no line end at the end": table()[:-1],
    "trailing separator": table(extra=","),
    "trailing separators, header too": table(head=HEAD + ",,", extra=",,"),
    "quoted": "\n".join(
        ",".join(f'"{cell}"' for cell in row.split(",")) for row in table().split("\n") if row
    ),
    "quoted decimal commas": "\n".join(
        ",".join(f'"{cell}"' for cell in row.replace(".", ";").split(",")).replace(";", ",")
        for row in table().split("\n")
        if row
    ),
    "a column of words": table(head=HEAD + ",State", extra=",coast"),
    "quoted words with separators": table(head=HEAD + ",State", extra=',"up, or down"'),
    "another instrument": table(head=HEAD + ",GPS altitude (m)", extra=",7"),
    "a speed beside": table(head=HEAD + ",Vertical speed (m/s)", extra=",7"),
    "minus signs of a typesetter": line(3, "0.05,\N{MINUS SIGN}0.00"),
}


@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_log_in_any_dress_gives_the_same_flight_and_three_notes(name, tmp_path) -> None:
    flight = reads(tmp_path, WHOLE[name])
    assert flight.time == pytest.approx(T, abs=1e-12)
    assert flight.altitude == pytest.approx(H, abs=0.006)  # two decimals
    assert flight.altitude.max() == pytest.approx(TOP, abs=0.02)
    assert flight.notes == (TIME, ALTITUDE, PAD)
    assert (flight.rows, flight.name) == (400, "flight.csv")


NAMED = [
    (table(head="t_ms,alt_m", times=1000.0 * T, t_form="{:.0f}"), "t_ms", "ms", "alt_m", "m"),
    (table(head="Elapsed sec,Altitude (feet)", heights=H / FOOT), "Elapsed sec", "s",
     "Altitude (feet)", "feet"),
    (table(head="T [min],Height AGL [FT]", times=T / 60.0, t_form="{:.6f}", heights=H / FOOT),
     "T [min]", "min", "Height AGL [FT]", "ft"),
    (table(head="FlightTime;Altitude\ns;ft", sep=";", heights=H / FOOT), "FlightTime", "s",
     "Altitude", "ft"),
    (table(head="Time,Altitude\n(s),(km)", heights=H, t_form="{:.2f}").replace("(km)", "[m]"),
     "Time", "s", "Altitude", "m"),
    (table(head="Zeit (s);Höhe (m)", sep=";", dec=",").encode("latin-1"), "Zeit (s)", "s",
     "Höhe (m)", "m"),
    (table(head="s,ft", heights=H / FOOT), "s", "s", "ft", "ft"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "when", "second", "what", "unit"), NAMED)
def test_units_are_read_from_the_header(text, when, second, what, unit, tmp_path) -> None:
    flight = reads(tmp_path, text)
    assert flight.time == pytest.approx(T, abs=1e-4)
    assert flight.altitude == pytest.approx(H, abs=0.006)
    assert flight.notes[:2] == (
        f'Time is column "{when}", in {second}.', f'Altitude is column "{what}", in {unit}.'
    )  # fmt: skip


MENDED = {
    "cells without numbers": (
        line(11, "0.45,NaN").replace("\n0.50,", "\n---,"), 398,
        "2 rows without a time or an altitude dropped (first: line 11)."),
    "an empty cell": (
        line(11, "0.45,"), 399, "1 row without a time or an altitude dropped (line 11)."),
    "a short row": (line(11, "0.45"), 399,
                    "1 row without a time or an altitude dropped (line 11)."),
    "a header again": (line(11, HEAD), 399,
                       "1 row without a time or an altitude dropped (line 11)."),
    "no number in the first rows": (line(2, "0.00,---"), 399,
                                    "1 row without a time or an altitude dropped (line 2)."),
    "a row without end": (
        table()[:-1].rsplit(",", 1)[0], 399,
        "The last row (line 401) breaks off and was dropped."),
    "a number without end": (
        line(401, "19.95,9", table(heights=H + 500.0).replace(",5", ",7", 0)).rstrip("\n"), 399,
        "1 row that breaks off at the end of the file, more than 2000 m/s away from the one "
        "before, dropped (line 401)."),
    "a wild last row": (
        line(401, "19.95,900.0"), 399,
        "1 row at the end of the file, more than 2000 m/s away from the one before, dropped "
        "(line 401)."),
    "zero bytes at the end": (table().encode() + b"\0" * 512, 400,
                              "512 zero bytes at the end of the file dropped."),
    "a spike": (line(101, "4.95,9000"), 399,
                "1 row more than 2000 m/s away from both neighbours dropped (line 101)."),
    "a first reading that is wild": (
        line(2, "0.00,9000"), 399,
        "1 row more than 2000 m/s away from both neighbours dropped (line 2)."),
    "two rows exchanged": (
        line(101, "5.00,161.52", line(102, "4.95,160.46")), 399,
        "1 row out of order in time dropped (line 102)."),
    "a time far ahead": (line(101, "99.0,160.0"), 399,
                         "1 row out of order in time dropped (line 101)."),
    "three late rows": (
        line(101, "4.95,160.6\n1.0,0\n1.1,0\n1.2,0"), 400,
        "3 rows out of order in time dropped (first: line 102)."),
    "a time twice": (
        line(101, "4.90,159.91"), 399,
        "1 row has the time of the row before, and their readings were averaged "
        "(first: line 100)."),
    "a gap": (
        without(152, 251), 300,
        "1 gap in time, the longest 5.05 s after line 151: between its ends the reading is taken "
        "as a straight line."),
    "above the air": (
        line(101, "4.95,90000"), 399,
        "1 row whose altitude is outside that of the air from -2 km to 80 km dropped (line 101)."),
    "a step that stays": (
        table(heights=H + 150.0 * (T > 16.0)), 400,
        "1 step of more than 2000 m/s, from which the rows after do not return at once; no speed "
        "is taken of them (first: line 323)."),
    "a number too large": (line(101, "4.95,1e300"), 399,
                           "1 row without a time or an altitude dropped (line 101)."),
}  # fmt: skip


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", MENDED)
def test_what_is_mended_is_said_with_its_line(name, tmp_path) -> None:
    text, left, note = MENDED[name]
    pad = 500.0 if name == "a number without end" else 0.0
    flight = reads(tmp_path, text, pad_altitude=pad)
    assert note in flight.notes
    assert flight.time.size == flight.pressure.size == flight.altitude.size == left
    assert np.all(np.diff(flight.time) > 0.0)
    assert flight.altitude.max() < TOP + 501.0


REFUSED = {
    "empty": ("", {}, ": is empty; a table with a time and an altitude or a pressure is wanted: "
              "copy the log from the instrument again"),
    "blank": (" \n\n", {}, ": is empty; a table with a time and an altitude or a pressure is "
              "wanted: copy the log from the instrument again"),
    "binary": (bytes(range(256)) * 9, {}, ": is not a text file (byte 0 at position 0); export "
               "the log as CSV and give that file"),
    "comments only": ("# a\n// b\n", {}, ": holds comments only; a table with a time and a "
                      "reading is wanted"),
    "prose": ("hello world\nthis is, no table\n", {}, ':1: no table of at least two columns of '
              'numbers was found ("hello world"); give a CSV file with a time (a number, mm:ss.s '
              "or 2030-05-01T10:00:00.0) and an altitude or a pressure in each row"),
    "header only": ("Time,Altitude\n", {}, ':1: no table of at least two columns of numbers was '
                    'found ("Time,Altitude"); give a CSV file with a time (a number, mm:ss.s or '
                    "2030-05-01T10:00:00.0) and an altitude or a pressure in each row"),
    "dates of another kind": (stamps("%d.%m.%Y %H:%M:%S"), {}, ":2: no table of at least two "
                              'columns of numbers was found ("01.05.2030 10:59:50,0.00"); give a '
                              "CSV file with a time (a number, mm:ss.s or 2030-05-01T10:00:00.0) "
                              "and an altitude or a pressure in each row"),
    "commas for both": (table(dec=","), {}, ":2: the row has 4 values and the header names 2 "
                        "columns (comma separated); where commas are decimal signs too, save the "
                        "table with semicolons between the columns or with decimal points"),
    "a column without a name": (table(sep=";", head="Time (s);Altitude (m)", extra=";7"), {},
                                ":2: the row has 3 values and the header names 2 columns "
                                "(semicolon separated); name every column in the header"),
    "a quote without end": ('"' + "1," * 100_000, {}, ": the table has no header; name the "
                            'columns with their units, as in "column 1 [s]" for the time and '
                            '"column 2 [ft]"'),
    "one endless line": ("x" * 300_000, {}, ':1: no table of at least two columns of numbers was '
                         f'found ("{"x" * 40}"); give a CSV file with a time (a number, mm:ss.s or '
                         "2030-05-01T10:00:00.0) and an altitude or a pressure in each row"),
    "no header": (table(head=""), {}, ": the table has no header; name the columns with their "
                  'units, as in "column 1 [s]" for the time and "column 2 [ft]"'),
    "row numbers": (table(head="Sample,Altitude (m)"), {}, ': there is no time; "Sample" counts '
                    "the rows: add a column of times, the number of the row divided by the rate "
                    "in Hz"),
    "no altitude": (table(head="Time (s),Volts"), {}, ': no header names an altitude; the columns '
                    'are "Time (s)", "Volts": name the right one with its unit, as in '
                    '"Volts [ft]"'),
    "two altitudes": (table(head=HEAD + ",Altitude (ft)", extra=",1"), {}, ': "Altitude (m)" and '
                      '"Altitude (ft)" may each be the altitude; name the column to read'),
    "a misspelt column": (table(), {"altitude": "Altitde"}, ': no column "Altitde"; the columns '
                          'are "Time (s)", "Altitude (m)": did you mean "Altitude (m)"?'),
    "a misspelt unit": (table(), {"altitude": "Altitude [fz]"}, ': column "Altitude [fz]": "fz" '
                        'is no unit of an altitude; write it as in "Altitude [ft]"'),
    "one name twice": (table(head="Time (s),Alt,Alt", extra=",1"), {"altitude": "alt"},
                       ': more than one column is called "alt"; say which, as in "column 2"'),
    "few rows": ("\n".join(table().split("\n")[:6]), {}, ": 5 rows with a time and an altitude, "
                 "and at least 8 are needed; give the whole log"),
    "two flights": (table() + table(head=""), {}, ":402: time goes back from 19.95 s to 0 s; "
                    "where the file holds two flights or tests, save each in a file of its own, "
                    "and where the clock started anew, delete the rows before"),
    "backwards": (table(times=T[::-1]), {}, ":3: time goes back from 19.95 s to 19.9 s; where the "
                  "file holds two flights or tests, save each in a file of its own, and where the "
                  "clock started anew, delete the rows before"),
    # 100 times the flight's speed, 51 m/s in the middle of the second from 1 s on
    "impossibly fast": (table(heights=100.0 * H), {}, ":18: from 0.8 s to 1.8 s the altitude "
                        "changes by 4486 m/s, which no rocket does; if the altitude is in feet, "
                        "taken here for metres (a factor of 3.28), it is 1367 m/s: name the "
                        'column "Altitude [ft]"'),
    "a time in too small a unit": (
        table(head="Time (us),Altitude (m)", times=1000.0 * T), {},
        ":3: from 5e-05 s to 0.005 s the altitude changes by 32630 m/s, which no rocket does; in "
        "feet (a factor of 3.28) it would be 9946 m/s, still too fast: check the unit of the time "
        "too"),
    "impossibly fast in feet": (table(head="Time (s),Altitude (ft)", heights=350.0 * H), {},
                                ":18: from 0.8 s to 1.8 s the altitude changes by 4786 m/s, which "
                                "no rocket does; check the unit of the altitude, and check the "
                                "unit of the time too"),
    "feet without a name": (table(head="time,alt", heights=H / FOOT), {}, ": before the top the "
                            "altitude, read in m, slows down as gravity does in feet (a factor of "
                            '3.28): name the column "alt [ft]" if it is in feet, or "alt [m]" if '
                            "it is not"),
    "above neither": (table(heights=H + 500.0), {}, ": the altitude begins at 500 m (1640 ft) and "
                      "is neither above the pad (it would begin near 0) nor above sea level, with "
                      "the pad at 0 m (0 ft); give the pad's altitude above sea level, or name "
                      'the column "Altitude [ft]", which would fit the pad'),
    "not above the pad": (table(head="Time (s),Altitude AGL (m)", heights=H + 2000.0), {},
                          ": the altitude begins at 2000 m (6562 ft) and is not above the pad, "
                          "with the pad at 0 m (0 ft); give the pad's altitude above sea level"),
    "in space": (table(head="Time (s),Altitude (km)"), {}, f":{2 + SPACE[0]}: "
                 f"{H[SPACE[0]]:.2f} km and {SPACE.size - 1} other readings "
                 "of the altitude are not between -2 km and 80 km of altitude; name the column "
                 'with its unit, as in "Altitude [ft]"'),
    "gauge pressure": (barometer("Time (s),P (psig)", 6894.757), {}, ': column "P (psig)" is a '
                       "gauge pressure (psi gauge); a flight needs an absolute one: if it is "
                       'absolute, name it "P [psi abs]"'),
    "a pressure in the wrong unit": (
        barometer("Time (s),P (Pa)", 100.0), {}, ': column "P (Pa)", read in Pa, begins at 1.013 '
        "kPa, and the air on a pad has 50 to 110 kPa abs; name the column with its unit; "
        '"P [hPa]" would fit the pad'),
    "a pressure without unit": (
        barometer("Time (s),P", 1000.0), {"pad_altitude": 3000.0}, ': column "P" names no unit, '
        "and its first reading, 101.3, does not tell it; name it with its unit, as in "
        '"P [hPa]", and give the pad\'s altitude'),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_read_is_refused_in_one_sentence(name, tmp_path) -> None:
    text, options, sentence = REFUSED[name]
    with pytest.raises(LogError) as caught:
        reads(tmp_path, text, **options)
    assert str(caught.value) == f"{tmp_path / 'flight.csv'}{sentence}"


def test_a_folder_and_a_missing_file_are_refused(tmp_path) -> None:
    with pytest.raises(LogError, match=r": is a folder; give a CSV file$"):
        read_flight(tmp_path)
    with pytest.raises(LogError, match=r": no such file; give the path of a CSV file$"):
        read_flight(tmp_path / "none.csv")


@pytest.mark.parametrize(
    ("text", "note"),
    [
        (stamps("%Y-%m-%dT%H:%M:%S.%fZ"), 'Column "Timestamp": dates are counted in seconds from '
         "the first row."),
        (stamps("%Y-%m-%d %H:%M:%S.%f"), 'Column "Timestamp": dates are counted in seconds from '
         "the first row."),
        (clocks(7.0), 'Column "Time": times are read as hours:minutes:seconds.'),
        (clocks(86_390.0), 'Column "Time": times are read as hours:minutes:seconds. The clock '
         "passes midnight."),
        (clocks(55.0).replace("\n0:", "\n"), 'Column "Time": times are read as minutes:seconds.'),
        (table(head="time,Altitude (m)", times=1000.0 * T, t_form="{:.0f}"), 'Time is column '
         '"time"; it names no unit and was read in ms, since its rows are 50.0 apart (else name '
         'it "time [s]").'),
        (table(head="time,Altitude (m)"), 'Time is column "time"; it names no unit and was read '
         'in s (else name it "time [ms]").'),
    ],
)  # fmt: skip
def test_times_of_many_kinds(text, note, tmp_path) -> None:
    flight = reads(tmp_path, text)
    assert flight.notes[0] == note
    assert flight.time - flight.time[0] == pytest.approx(T, abs=1e-6)


def test_asked_columns_and_units_go_before_the_header(tmp_path) -> None:
    text = table(head="a,b (m),Time (s),Altitude (m)", extra=",5,6", heights=H / FOOT)
    flight = reads(tmp_path, text, time="a [s]", altitude="B [ft]")
    assert flight.altitude == pytest.approx(H, abs=0.002)
    assert flight.notes[:2] == ('Time is column "a", in s.', 'Altitude is column "b (m)", in ft.')
    bare = reads(tmp_path, table(head=""), time="column 1 [s]", altitude="column 2 [m]")
    assert bare.altitude == pytest.approx(H, abs=0.006)


def test_above_the_pad_or_above_sea_level(tmp_path) -> None:
    pad = 366.0
    assert reads(tmp_path, table(), pad_altitude=pad).altitude == pytest.approx(H + pad, abs=0.006)
    sea = reads(tmp_path, table(heights=H + 380.0), pad_altitude=pad)
    assert sea.altitude == pytest.approx(H + 380.0, abs=0.006)
    assert sea.notes[2] == "Altitudes begin at 380 m (1247 ft) and are above sea level."
    said = reads(tmp_path, table(head="Time (s),Altitude ASL (m)", heights=H + 900.0))
    assert said.altitude == pytest.approx(H + 900.0, abs=0.006)


def test_a_barometer_is_preferred_and_its_unit_told_by_its_size(tmp_path) -> None:
    expected = 101_300.0 - 12.0 * H
    for head, scale in (("Time (s),Pressure", 100.0), ("Time (s),Pressure", 1000.0),
                        ("t [s],Baro (mbar)", 100.0), ("time s,P psia", 6894.757293168),
                        ("time s,press_inHg", 3386.389)):  # fmt: skip
        # the psi and the inch of mercury: NIST SP 811, appendix B.8, from memory
        flight = reads(tmp_path, barometer(head, scale, 5))
        assert flight.pressure == pytest.approx(expected, abs=0.2)
    assert flight.notes[1] == 'Pressure is column "press_inHg", in inHg, taken as absolute.'
    text = barometer("Time (s),Pressure (hPa),Altitude (m)", 100.0)
    both = reads(tmp_path, text.replace("\n", ",0\n").replace("(m),0", "(m)", 1) + ",0")
    assert both.notes[1] == (
        "The file has a pressure and an altitude: the pressure was taken, since it is what the "
        "bay feels."
    )
    assert both.pressure == pytest.approx(expected, abs=0.06)
    asked = reads(
        tmp_path, text.replace("\n", ",0\n").replace("(m),0", "(m)", 1), altitude="Altitude"
    )
    assert np.all(asked.altitude == 0.0)


def test_a_motors_pressure_is_left_aside(tmp_path) -> None:
    rows = [f"{t:.2f},{h:.1f},{h:.2f}" for t, h in zip(T, H, strict=True)]
    flight = reads(tmp_path, "Time (s),Pressure (psi),Altitude (m)\n" + "\n".join(rows))
    assert flight.altitude.max() == pytest.approx(TOP, abs=0.02)
    assert flight.notes[1] == (
        'Column "Pressure (psi)" does not begin at the pressure of the air on the pad and was '
        "left aside."
    )


def test_a_pressure_that_contradicts_the_pad_is_told(tmp_path) -> None:
    flight = reads(tmp_path, barometer("Time (s),P (hPa)", 100.0), pad_altitude=1500.0)
    assert flight.notes[-1] == (
        "By its pressure the log begins at 2.08 m (6.83 ft) above sea level, and the pad is at "
        "1500 m (4921 ft): check the pad's altitude."
    )


def test_feet_called_metres_are_told_by_gravity(tmp_path) -> None:
    flight = reads(tmp_path, table(heights=H / FOOT))
    assert flight.notes[2] == (
        "Before the top the altitude, read in m, slows down as gravity does in feet (a factor of "
        '3.28): name the column "Altitude [ft]" if it is in feet.'
    )


def test_thousands_between_commas_are_read_and_said(tmp_path) -> None:
    rows = [f"{t:.2f};{10.0 * h:,.0f}" for t, h in zip(T, H, strict=True)]
    flight = reads(tmp_path, "Time (s);Altitude (m)\n" + "\n".join(rows))
    assert flight.altitude == pytest.approx(10.0 * H, abs=0.6)
    assert flight.notes[1] == (
        'Column "Altitude (m)": commas between groups of three digits were read as thousands.'
    )


def test_an_hour_at_100_hz_keeps_every_row(tmp_path) -> None:
    t = np.arange(360_000) * 0.01
    h = 3000.0 * np.sin(np.pi * t / t[-1])
    text = "Time (s),Altitude (m),Volts\n" + "".join(
        f"{a:.2f},{b:.2f},3.7\n" for a, b in zip(t.tolist(), h.tolist(), strict=True)
    )
    path = tmp_path / "hour.csv"
    path.write_text(text)
    flight = read_flight(path)
    assert flight.rows == flight.time.size == 360_000
    assert np.max(np.abs(flight.altitude - h)) < 0.006


def test_the_shipped_log_needs_no_mending() -> None:
    path = Path(__file__).parents[3] / "cases" / "logs" / "saffron-plover.csv"
    flight = read_flight(path, pad_altitude=366.0)
    assert len(flight.notes) == 3  # the two columns, and what the altitudes are above
    assert flight.time[:3] == pytest.approx([0.0, 0.05, 0.1])
    # it was made with its top 2400 m above the pad and 0.3 m of noise
    assert flight.altitude.max() == pytest.approx(2766.0, abs=1.5)
    assert flight.altitude[-1] == pytest.approx(366.0, abs=1.5)
