"""What can be tried after a failed shot: the list of ``studies/why/next_tests.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from baypulse.case import units
from baypulse.case.model import Case
from baypulse.observed.causes import NEEDS
from baypulse.observed.sightings import Sighting, available
from baypulse.studies.why.next_test_readings import READINGS

INERT = "inert"
"""Danger of a test in which nothing burns."""

IGNITER = "igniter"
"""Danger of a test in which an igniter burns alone."""

LIVE = "live"
"""Danger of a test that is one more shot."""

READING = ("reads", "error", "floor", "low", "high")
"""Keys of an entry that tell which number is read, and how well."""


@dataclass(frozen=True)
class Reading:
    """A number that is read off a bay.

    Attributes
    ----------
    name : str
        One of :data:`baypulse.studies.why.next_test_readings.READINGS`.
    error, floor : float
        Standard deviation of a reading: a share of the true value, and a fixed part [SI].
    low, high : float
        Between which the instrument shows anything [SI].
    """

    name: str
    error: float
    floor: float
    low: float
    high: float

    @property
    def dimension(self) -> str:
        """Of the number."""
        return READINGS[self.name].dimension

    @property
    def label(self) -> str:
        """What it is, in words."""
        return READINGS[self.name].label


@dataclass(frozen=True)
class TightHolder:
    """A holder for the charge of one shot.

    Attributes
    ----------
    room : float
        Its volume over the bulk of the charge.
    burst, opening : float
        Pressure at which it opens [Pa gauge], and the diameter of the hole it leaves [m].
    """

    room: float
    burst: float
    opening: float


@dataclass(frozen=True)
class NextTest:
    """Something to try.

    Attributes
    ----------
    name, how : str
        In a few words, and as a plain sentence.
    danger : str
        :data:`INERT`, :data:`IGNITER` or :data:`LIVE`.
    minutes : float
        About how long it takes.
    needs : tuple of str
        What a case must have.
    looks : str
        Kind of sighting, or empty.
    reading : Reading or None
        Number that is read.
    sees : tuple of str
        Kinds of sighting that a shot gives.
    without : tuple of str
        Causes that a shot takes away.
    charge : float
        Factor of the charge.
    holder : TightHolder or None
        In which the charge is fired.
    after, not_after : tuple of str
        Answers after which alone, or never, it is offered.
    """

    name: str
    how: str
    danger: str
    minutes: float
    needs: tuple[str, ...] = ()
    looks: str = ""
    reading: Reading | None = None
    sees: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    charge: float = 1.0
    holder: TightHolder | None = None
    after: tuple[str, ...] = ()
    not_after: tuple[str, ...] = ()

    @property
    def inert(self) -> bool:
        """Whether nothing burns."""
        return self.danger == INERT

    def offered(self, case: Case, seen: Sequence[Sighting]) -> bool:
        """Say whether a test makes sense after what was seen of a case."""
        said = {each.said for each in seen}
        kinds = available(case)
        return (
            all(NEEDS[need](case) for need in self.needs)
            and (not self.looks or self.looks in kinds)
            and self.looks not in {each.kind.name for each in seen}
            and (not self.after or bool(said & set(self.after)))
            and not said & set(self.not_after)
        )


@cache
def next_test_list() -> tuple[NextTest, ...]:
    """Return every test, from ``studies/why/next_tests.toml``."""
    place = resources.files("baypulse") / "studies" / "why" / "next_tests.toml"
    found = tomllib.loads(place.read_text(encoding="utf-8"))
    return tuple(_test(name, entry) for name, entry in found.items())


def _test(name: str, entry: dict[str, Any]) -> NextTest:
    holder = entry.get("holder")
    plain: dict[str, Any] = {
        key: tuple(value) if isinstance(value, list) else value
        for key, value in entry.items()
        if key not in (*READING, "holder")
    }
    return NextTest(
        name=name,
        reading=_reading(entry) if "reads" in entry else None,
        holder=None if holder is None else TightHolder(
            float(holder["room"]),
            units.parse(holder["burst"], "gauge pressure"),
            units.parse(holder["opening"], "length"),
        ),
        **plain,
    )  # fmt: skip


def _reading(entry: dict[str, Any]) -> Reading:
    dimension = READINGS[entry["reads"]].dimension
    low, high = (units.parse(entry[key], dimension) for key in ("low", "high"))
    error = units.parse(entry["error"], "ratio")
    return Reading(
        entry["reads"], error, units.parse_spread(entry["floor"], dimension, 1.0), low, high
    )
