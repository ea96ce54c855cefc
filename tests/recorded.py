"""Recorded shots as cases: what was measured, and the same figures of a computed run."""

from __future__ import annotations

import math
import tomllib
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import baypulse
from baypulse.case import units
from baypulse.case.model import Case
from baypulse.errors import RangeWarning
from baypulse.members import draws, factors
from baypulse.members.outcomes import TOLERANCE, run_members
from baypulse.run.result import EventKind, Result

FOLDER = Path(__file__).parent / "validation" / "records"

FIRST_SIGN = 300.0
"""Overpressure [Pa] at which a logger's barometer first shows that something burns."""

MEMBERS = 512
"""Shots of a band."""

KINDS = {
    "speed": "velocity", "relative_speed": "velocity", "aft_speed": "velocity",
    "nose_speed": "velocity", "push_time": "time", "rise_time": "time",
    "release_pressure": "gauge pressure", "peak_pressure": "gauge pressure",
    "clear_pressure": "gauge pressure",
}  # fmt: skip
"""Every quantity that is compared, and what it is measured in."""


@dataclass(frozen=True)
class Measured:
    """One measured quantity.

    Attributes
    ----------
    low, high : float
        Between which its mean lies, by the ways of reckoning it, in SI.
    shot : float
        Scatter from shot to shot, one standard deviation as a share.
    """

    low: float
    high: float
    shot: float

    @property
    def middle(self) -> float:
        """Return the geometric middle of both ends."""
        return math.sqrt(self.low * self.high)

    @property
    def deviation(self) -> float:
        """Return one standard deviation of its logarithm: evenly between both ends, and shots."""
        return math.hypot(math.log(self.high / self.low) / math.sqrt(12.0), self.shot)


@dataclass(frozen=True)
class Record:
    """A recorded shot.

    Attributes
    ----------
    name : str
        Of its case file.
    case : Case
        As read through the front door, unknown inputs as spreads.
    measured : mapping of str to Measured
        By quantity, of :data:`KINDS`.
    source, mark : str
        Where the figures are from, and who has seen them there.
    taught : bool
        Whether the numbers of the closures were learnt from it too.
    """

    name: str
    case: Case
    measured: Mapping[str, Measured]
    source: str
    mark: str
    taught: bool


@cache
def records() -> list[Record]:
    """Return all recorded shots."""
    entries = tomllib.loads((FOLDER / "measured.toml").read_text(encoding="utf-8"))
    found = []
    for name, entry in entries.items():
        measured = {
            quantity: Measured(
                units.parse(entry[quantity]["low"], kind),
                units.parse(entry[quantity]["high"], kind),
                entry[quantity]["shot"],
            )
            for quantity, kind in KINDS.items()
            if quantity in entry
        }
        with warnings.catch_warnings():
            # that it is no bay is said, and meant
            warnings.simplefilter("ignore", RangeWarning)
            case = baypulse.load(FOLDER / "cases" / f"{name}.toml")
        taught = entry.get("taught", True)
        found.append(Record(name, case, measured, entry["source"], entry["mark"], taught))
    return found


@cache
def _band(name: str) -> dict[str, tuple[float, float]]:
    (record,) = (record for record in records() if record.name == name)
    case = record.case
    found = factors.factors(case)
    points = draws.many_points(11, MEMBERS, factors.dimensions(found))
    flown = run_members(case, draws.values(case, found, points), MEMBERS, TOLERANCE)
    speed = flown.column("greatest_velocity")
    drawn = draws.member_case(case, flown.values)
    aft = _aft_share(drawn)
    columns = {
        "speed": speed,
        "relative_speed": speed,
        "aft_speed": aft * speed,
        "nose_speed": (1.0 - aft) * speed,
        "peak_pressure": flown.column("peak_pressure"),
        "push_time": flown.column("clear_time") - flown.column("first_pin_time"),
    }
    # a shot that does not come out has no speed at all
    ends = {
        quantity: np.quantile(np.nan_to_num(columns[quantity]), (0.05, 0.95))
        for quantity in record.measured
        if quantity in columns
    }
    return {quantity: (float(low), float(high)) for quantity, (low, high) in ends.items()}


def band(record: Record) -> dict[str, tuple[float, float]]:
    """Return the 5 % and 95 % ends of what the engine gives, over all that scatters."""
    return _band(record.name)


def inside(measured: Measured, low: float, high: float) -> bool:
    """Say whether some of what may have been measured lies inside a band."""
    return low <= measured.high and measured.low <= high


def _aft_share(case: Case) -> Any:
    """Return the share of the relative speed that the aft piece takes, by momentum."""
    contents = case.contents.mass if case.contents is not None else 0.0
    driven = case.nose.mass + contents
    return driven / (driven + case.airframe.mass)


def computed(result: Result) -> dict[str, float]:
    """Return the figures of a run that records give; NaN for what did not happen in it."""
    numbers, case = result.numbers, result.case
    found = dict.fromkeys(KINDS, math.nan)
    found["peak_pressure"] = numbers.peak_pressure
    if numbers.greatest_velocity is not None:
        found["speed"] = found["relative_speed"] = numbers.greatest_velocity
        found["aft_speed"] = _aft_share(case) * numbers.greatest_velocity
        found["nose_speed"] = numbers.greatest_velocity - found["aft_speed"]
    failing = [event for event in result.events if event.kind is EventKind.PIN_FAILS]
    clear = result.event("clear")
    if failing:
        released = failing[0].time
        found["release_pressure"] = failing[0].gauge_pressure
        time, gauge = result.time, result.gauge_pressure
        found["rise_time"] = released - float(time[np.argmax(gauge > FIRST_SIGN)])
        if clear is not None:
            found["push_time"] = clear.time - released
    if clear is not None:
        found["clear_pressure"] = clear.gauge_pressure
    return found
