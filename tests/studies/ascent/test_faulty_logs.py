"""Logs with the faults of real ones: the speed is found within 10 %, or said to be unknown.

The flights are written here and known in closed form (textbook: constant acceleration, then coast
against gravity and drag by the square of the speed): with w = sqrt(g/k) and b = atan(v0/w), the
coast has v = w tan(b - t sqrt(g k)) and climbs ln(cos(b - t sqrt(g k))/cos b)/k. The faults (a
pressure that is wrong by a share of the dynamic pressure, most near Mach 1; repeated times; gaps;
wild readings) are invented after real ones, none of which is in the project.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.case.logs import read_flight
from baypulse.case.logs.air import pressures
from baypulse.observed.flight_profile import profile
from baypulse.observed.smoother import smooth
from baypulse.studies.ascent import words
from baypulse.studies.ascent.compute import ascent

CASES = Path(__file__).parents[3] / "cases"
G = 9.80665
FOOT = 0.3048  # m, exact by definition
PAD = 300.0
SOUND = 340.0


@dataclass
class Truth:
    """A flight in closed form."""

    time: np.ndarray
    height: np.ndarray
    speed: np.ndarray

    @property
    def fastest(self) -> float:
        return float(self.speed.max())


def flown(acceleration: float, burn: float, drag: float, rate: float = 50.0) -> Truth:
    """Return a flight from 3 s before its launch to its apogee; drag in 1/m."""
    v0, root = acceleration * burn, np.sqrt(G * drag)
    b = np.arctan(v0 * np.sqrt(drag / G))
    time = np.arange(-3.0, burn + b / root, 1.0 / rate)
    up = np.clip(time, 0.0, burn)
    coast = np.clip(b - (time - burn) * root, 0.0, b)
    height = 0.5 * acceleration * up**2 + np.log(np.cos(coast) / np.cos(b)) / drag
    speed = np.where(time < burn, acceleration * up, np.sqrt(G / drag) * np.tan(coast))
    return Truth(time, height, speed)


def port(truth: Truth) -> np.ndarray:
    """Return by how much the pressure shows too little altitude [m]: Cp v^2/(2 g)."""
    share = 0.04 + 0.25 * np.exp(-(((truth.speed / SOUND - 1.05) / 0.3) ** 2))
    return share * truth.speed**2 / (2.0 * G)


def log(
    path: Path, truth: Truth, shown: np.ndarray, own: np.ndarray | None,
    wild: float = 0.0, held: bool = False, gap: bool = False,
) -> Path:  # fmt: skip
    """Write a log of pressures, and of the logger's own speed where there is one."""
    rng = np.random.default_rng(4)
    shown = PAD + shown + rng.normal(0.0, 1.0, shown.size)
    struck = rng.random(shown.size) < wild
    shown = np.where(struck, shown + rng.choice([-900.0, 1500.0], shown.size), shown)
    time = np.floor(truth.time * 10.0) / 10.0 if held else truth.time
    rows = []
    for k in range(time.size):
        if gap and 2.2 < truth.time[k] < 3.6:
            continue
        speed = "" if own is None else f",{own[k]:.2f}"
        rows.append(f"{time[k]:.2f},{float(pressures(shown[k])):.1f}{speed}")
    head = "time,pressure" + ("" if own is None else ",speed")
    path.write_text(head + "\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def read(path: Path):
    """Return the profile and the ascent of the shown case with a log."""
    case = baypulse.load(CASES / "main-98.toml")
    found = profile(case, read_flight(path, pad_altitude=PAD))
    return found, ascent(case, found)


FAST = flown(115.0, 5.0, 2.0e-4)  # 575 m/s, Mach 1.7
FAULTS = {
    "the port": {},
    "wild readings": {"wild": 0.03},
    "repeated times": {"held": True},
    "a gap": {"gap": True},
    "all of them": {"wild": 0.03, "held": True, "gap": True},
}


@pytest.mark.parametrize("name", FAULTS)
@pytest.mark.parametrize("unit", ["m/s", "ft/s"])
def test_speed_beside_a_wrong_pressure_is_the_loggers_own(name, unit, tmp_path) -> None:
    factor = {"m/s": 1.0, "ft/s": FOOT}[unit]
    rng = np.random.default_rng(1)
    # an own speed is off by a share, and not by noise only
    own = (1.02 * FAST.speed + rng.normal(0.0, 1.0, FAST.time.size)) / factor
    path = log(tmp_path / "fast.csv", FAST, FAST.height - port(FAST), own, **FAULTS[name])
    found, held = read(path)
    assert f'column "speed", read in {unit}' in " ".join(found.notes)
    assert found.speed[found.burnout] == pytest.approx(FAST.fastest, rel=0.10)
    # the error that is said covers what is wrong, three deviations
    error = abs(found.speed[found.burnout] - FAST.fastest)
    assert error < 3.0 * found.speed_error[found.burnout]
    climbed = found.altitude[found.apogee] - PAD
    assert climbed == pytest.approx(FAST.height.max(), rel=0.02)
    assert not held.undecided
    assert held.parts < 0.01  # 5 times stronger than the truth's pull


@pytest.mark.parametrize("name", FAULTS)
def test_without_another_speed_a_log_past_mach_1_is_no_verdict(name, tmp_path) -> None:
    path = log(tmp_path / "fast.csv", FAST, FAST.height - port(FAST), None, **FAULTS[name])
    found, held = read(path)
    error = abs(found.speed[found.burnout] - FAST.fastest)
    assert error < 3.0 * found.speed_error[found.burnout]
    assert any("is known to" in note for note in found.notes)
    assert held.undecided
    assert words.headline(held) == (
        "The log cannot tell whether the joint stays closed during the ascent"
    )
    assert "own speed beside its pressure" in words.next_steps(held)[0]


def test_a_slow_log_needs_no_other_speed(tmp_path) -> None:
    slow = flown(40.0, 4.5, 2.0e-4)  # 180 m/s
    for faults in FAULTS.values():
        found, held = read(log(tmp_path / "slow.csv", slow, slow.height, None, **faults))
        assert found.speed[found.burnout] == pytest.approx(slow.fastest, rel=0.10)
        assert not found.doubtful[found.burnout]
        assert not held.undecided


def test_a_speed_that_is_not_of_the_climb_is_left_aside(tmp_path) -> None:
    path = log(tmp_path / "odd.csv", FAST, FAST.height, 1.6 * FAST.speed)
    found, _ = read(path)
    assert not any("logger's own" in note for note in found.notes)


def test_a_log_that_ends_on_the_way_up_says_so(tmp_path) -> None:
    short = Truth(*(each[FAST.time < 7.0] for each in (FAST.time, FAST.height, FAST.speed)))
    path = log(tmp_path / "short.csv", short, short.height - port(short), short.speed)
    found, _ = read(path)
    assert any("The log ends during the ascent" in note for note in found.notes)
    assert found.speed[found.burnout] == pytest.approx(FAST.fastest, rel=0.10)


def test_the_error_of_the_speed_is_the_scatter_over_many_logs() -> None:
    # a parabola, which has no jerk, and 60 drawings of noise: chi-squared of 59 within its limits
    time = np.arange(0.0, 8.0, 0.05)
    height = 80.0 * time - 0.5 * G * time**2
    rng = np.random.default_rng(9)
    runs = [smooth(time, height + rng.normal(0.0, 1.0, time.size)) for _ in range(60)]
    middle = runs[0].time.size // 2
    speeds = np.array([run.speed[middle] for run in runs])
    truth = 80.0 - G * runs[0].time[middle]
    said = float(np.median([run.error[middle] for run in runs]))
    assert abs(speeds.mean() - truth) < 4.0 * said / np.sqrt(60.0)
    # the share of a port is in what is said, so that it may be more than the scatter
    assert 0.5 * said < speeds.std() < 1.3 * said


def test_a_wild_reading_moves_no_speed() -> None:
    time = np.arange(0.0, 8.0, 0.05)
    height = 80.0 * time - 0.5 * G * time**2 + np.random.default_rng(2).normal(0.0, 0.5, time.size)
    plain = smooth(time, height)
    struck = height.copy()
    struck[[40, 41, 90]] += [5000.0, 5000.0, -3000.0]
    assert np.max(np.abs(smooth(time, struck).speed - plain.speed)) < 2.0
