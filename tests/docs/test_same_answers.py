"""The move into the rooms of the house changed no answer.

``tests/before/numbers.json.gz`` holds every number of the shipped studies' reports as they were
before the move, by report and by unit. Names, and the places where numbers stand, have changed;
the numbers must still be there. Whoever changes an answer on purpose deletes this test and that
file with it: they are a record of one move.
"""

import gzip
import json
from math import isclose
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

REPORTS = TESTS.parent / "reports"

BEFORE = json.loads(gzip.decompress((TESTS / "before" / "numbers.json.gz").read_bytes()))

NOT_A_FINDING = ("case", "versions", "schema_version")
"""Parts of a report that say what was read and what it was made with."""


def numbers(held, name=""):
    """Yield the name and the value of every number, however deep."""
    if isinstance(held, dict):
        for key, value in held.items():
            yield from numbers(value, key)
    elif isinstance(held, list):
        for value in held:
            yield from numbers(value, name)
    elif isinstance(held, (int, float)) and not isinstance(held, bool):
        yield name, held


def rounded(value):
    """Return a number with the nine digits that files hold; some had more before."""
    return float(f"{value:.9g}")


def kept():
    """Return the reports of before whose numbers the repository keeps."""
    return [name for name in BEFORE if (REPORTS / name / "numbers.json").exists()]


def test_most_of_the_reports_are_looked_at():
    # the numbers of pins, scatter and sweep are larger than what the repository keeps
    assert len(kept()) >= len(BEFORE) - 3


@pytest.mark.parametrize("report", kept())
def test_every_number_of_before_stands_with_its_unit(report):
    found = json.loads((REPORTS / report / "numbers.json").read_text("utf-8"))
    for part in NOT_A_FINDING:
        found.pop(part)
    there = [(name, rounded(value)) for name, value in numbers(found)]
    everywhere = {value for _, value in there}
    for unit, values in BEFORE[report].items():
        ends = {value for name, value in there if name == unit or name.endswith(f"_{unit}")}
        # a share or a count may have got a longer name
        ends = everywhere if unit in ("", "ratio") else ends
        gone = {rounded(value) for value in values} - ends
        if unit == "in":
            # heights are filed in feet now, and no longer in inches
            feet = {value for name, value in there if name.endswith("_ft")}
            gone = {
                value
                for value in gone
                if not any(isclose(value / 12.0, ft, rel_tol=1e-8) for ft in feet)
            }
        assert not gone, unit
