"""Each place of the engine's tables belongs to one quantity, and none is left over."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

from baypulse.engine import gasside, summits
from baypulse.engine import layout as at
from baypulse.engine.balance import Balance
from baypulse.engine.parameters import PER_OPENING, PER_VOLUME, RECORD, VOLUMES_AT
from baypulse.engine.rates import FORCES, Force
from baypulse.engine.stepper import Outcome


def numbered(module: ModuleType, first: str, last: str) -> list[int]:
    """Return the values of the constants of a module from one to another, as they stand."""
    text = Path(str(module.__file__)).read_text("utf-8")
    names = re.findall(r"^([A-Z][A-Z_0-9]*) = ", text, re.MULTILINE)
    return [getattr(module, name) for name in names[names.index(first) : names.index(last) + 1]]


def test_states_come_before_the_volumes() -> None:
    assert numbered(at, "DEPTH", "PACK_V") == list(range(VOLUMES_AT))


def test_a_volume_and_an_opening_have_as_many_places_as_quantities() -> None:
    assert numbered(at, "M_B", "GRAINS") == list(range(PER_VOLUME))
    assert numbered(at, "OUT_B", "OUT_GRAINS") == list(range(PER_OPENING))


def test_modes_end_with_the_pins_and_memory_with_its_size() -> None:
    assert numbered(at, "JOINT", "PINS") == list(range(at.PINS + 1))
    assert numbered(at, "PEAK_STRAIN", "MEMORY") == list(range(at.MEMORY + 1))


def test_tables_of_gas_and_of_what_is_reached_have_no_gap() -> None:
    assert numbered(gasside, "P_", "WORK") == list(range(gasside.WORK + 1))
    assert numbered(summits, "HIGH_PRESSURE", "HIGHS") == list(range(summits.HIGHS + 1))


def test_a_record_has_no_bytes_that_belong_to_no_field() -> None:
    # kept rows are found by all bytes of a record
    assert sum(RECORD[name].itemsize for name in RECORD.names or ()) == RECORD.itemsize


def test_enums_of_the_core_have_no_gap() -> None:
    assert len(Force) == FORCES
    for kind in (Force, Balance, Outcome):
        assert [int(member) for member in kind] == list(range(len(kind)))
