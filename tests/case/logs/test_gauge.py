"""Gauges' files: gauge or absolute, and the exact sentence where the file does not tell.

The fall of pressure is written here: an exponential, whose values are known without the project.
The sentences are the project's own.
"""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.case.logs import Gauge, read_gauge
from baypulse.errors import LogError

T = np.arange(120.0)
FALL = 34_000.0 * np.exp(-T / 30.0)  # Pa; 2 % is left at the end
TO_REST = 34_000.0 * np.exp(-T / 12.0)  # 5e-5 is left
AIR = 98_200.0
PSI = 6894.757293168  # Pa, NIST SP 811, appendix B.8, from memory
SHOT_TIME = np.arange(500) * 1e-3
SINCE = np.maximum(SHOT_TIME - 0.1, 0.0)
SHOT = 5e6 * SINCE * np.exp(-20.0 * SINCE)


def table(head, values, scale=1.0, times=T):
    """Return a gauge's table with pressures in some unit of Pa."""
    rows = [f"{t:.8g},{value / scale:.4f}" for t, value in zip(times, values, strict=True)]
    return head + "\n" + "\n".join(rows) + "\n"


def reads(tmp_path, text, **options) -> Gauge:
    """Read a text as a file called gauge.csv."""
    path = tmp_path / "gauge.csv"
    path.write_text(text, encoding="utf-8")
    return read_gauge(path, **options)


READ = [
    (table("Time (s),Pressure (psig)", FALL, PSI), T, FALL,
     'Pressure is column "Pressure (psig)", in psi gauge.'),
    (table("t s,p kPa(g)", FALL, 1e3), T, FALL, 'Pressure is column "p kPa(g)", in kPa gauge.'),
    (table("Time (s),Pressure (kPa)", FALL, 1e3), T, FALL,
     'Pressure is column "Pressure (kPa)", in kPa, taken as gauge, since an absolute one is never '
     "so low."),
    (table("Time (s),Pressure (hPa)", TO_REST + AIR, 1e2), T, TO_REST,
     'Pressure is column "Pressure (hPa)", in hPa; it is taken as absolute, since it rests near '
     "1 bar, and the 98.2 kPa at rest were subtracted."),
    (table("Time (ms),P (psia)", SHOT + AIR, PSI, 1e3 * SHOT_TIME), SHOT_TIME, SHOT,
     'Pressure is column "P (psia)", in psi abs; it is absolute, and the 98.2 kPa at rest were '
     "subtracted."),
    (table("min,bar", FALL, 1e5, T / 60.0), T, FALL,
     'Pressure is column "bar", in bar, taken as gauge, since an absolute one is never so low.'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "times", "pressure", "note"), READ)
def test_gauge_and_absolute_are_told_apart(text, times, pressure, note, tmp_path) -> None:
    gauge = reads(tmp_path, text)
    assert gauge.time == pytest.approx(times, abs=1e-4)
    # digits of the file, and what is left of the fall when it is taken as at rest
    assert gauge.pressure == pytest.approx(pressure, abs=6.0)
    assert gauge.notes[-1] == note
    assert gauge.rows == times.size
    assert gauge.name == "gauge.csv"


def test_noise_does_not_hide_the_rest(tmp_path) -> None:
    rng = np.random.default_rng(5)
    noisy = SHOT + AIR + rng.normal(0.0, 500.0, SHOT.size)
    gauge = reads(tmp_path, table("Time (s),P (kPa abs)", noisy, 1e3, SHOT_TIME))
    # the mean of 25 readings of 500 Pa of noise, four standard errors
    assert gauge.pressure - SHOT == pytest.approx(noisy - SHOT - AIR, abs=4.0 * 500.0 / 5.0)


def test_a_shot_that_ends_below_the_air_outside_rests_at_its_beginning(tmp_path) -> None:
    shot = SHOT - 700.0 * (SHOT_TIME > 0.4)  # the gas has cooled
    gauge = reads(tmp_path, table("Time (s),P (kPa abs)", shot + AIR, 1e3, SHOT_TIME))
    assert gauge.pressure == pytest.approx(shot, abs=0.1)


def test_noise_that_hides_a_drift_is_no_rest(tmp_path) -> None:
    noise = np.random.default_rng(6).normal(0.0, 300.0, T.size)
    with pytest.raises(LogError, match="has no stretch at rest"):
        reads(tmp_path, table("Time (s),P (kPa abs)", TO_REST + AIR + noise, 1e3))


REFUSED = {
    "absolute, still falling": (
        table("Time (s),P (kPa abs)", FALL + AIR, 1e3), ': column "P (kPa abs)" is absolute (kPa '
        "abs), and the log has no stretch at rest that gives the pressure of the air outside; "
        'subtract that pressure and name the column "P [kPa gauge]"'),
    "absolute, held": (
        table("Time (s),P (psia)", 1e4 * np.exp(-T / 3000.0) + AIR, PSI), ': column "P (psia)" is '
        "absolute (psi abs), and the log has no stretch at rest that gives the pressure of the "
        'air outside; subtract that pressure and name the column "P [psi gauge]"'),
    "not said, still falling": (
        table("Time (s),P (hPa)", FALL + AIR, 1e2), ': column "P (hPa)" (hPa) does not say gauge '
        'or absolute; name it "P [hPa gauge]", or subtract the pressure of the air outside first'),
    "not said, constant": (
        table("Time (s),P (kPa)", 0.0 * T + AIR, 1e3), ': column "P (kPa)" (kPa) does not say '
        'gauge or absolute; name it "P [kPa gauge]", or subtract the pressure of the air outside '
        "first"),
    "no unit": (table("Time (s),Pressure", FALL, 1e3), ': column "Pressure" names no unit; name '
                'it with its unit, as in "Pressure [psig]" or "Pressure [kPa gauge]"'),
    "below vacuum": (table("Time (s),P (psig)", FALL - 2e5, PSI), ":121: a gauge pressure of "
                     "-199.4 kPa is below vacuum; name the column with its unit, as in "
                     '"P [psig]"'),
    "absolute below vacuum": (
        table("Time (s),P (kPa abs)", FALL - 2e4, 1e3), ":121: an absolute pressure of -19.36 kPa "
        "is below vacuum; if it is a gauge's, name the column \"P [kPa gauge]\""),
    "no pressure": (table("Time (s),Volts", FALL, 1e3), ': no header names a pressure; the '
                    'columns are "Time (s)", "Volts": name the right one with its unit, as in '
                    '"Volts [psig]"'),
    "no header": (table("", FALL, 1e3), ": the table has no header; name the columns with their "
                  'units, as in "column 1 [s]" for the time and "column 2 [psig]"'),
    "few rows": (table("s,kPa", FALL[:7], 1e3, T[:7]), ": 7 rows with a time and a pressure, and "
                 "at least 8 are needed; give the whole log"),
    "two tests": (table("s,kPa", FALL, 1e3) + table("s,kPa", FALL, 1e3), ":123: time goes back "
                  "from 119 s to 0 s; where the file holds two flights or tests, save each in a "
                  "file of its own, and where the clock started anew, delete the rows before"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_doubt_is_a_sentence(name, tmp_path) -> None:
    text, sentence = REFUSED[name]
    with pytest.raises(LogError) as caught:
        reads(tmp_path, text)
    assert str(caught.value) == f"{tmp_path / 'gauge.csv'}{sentence}"


def test_what_a_refusal_proposes_is_then_read(tmp_path) -> None:
    text = table("Time (s),P (kPa)", FALL + AIR, 1e3)
    gauge = reads(tmp_path, text, pressure="P [kPa gauge]")
    assert gauge.pressure == pytest.approx(FALL + AIR, abs=0.1)
    bare = reads(tmp_path, table("", FALL, 1e3), time="column 1 [s]", pressure="column 2 [kPa]")
    assert bare.pressure == pytest.approx(FALL, abs=0.1)
