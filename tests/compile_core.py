"""Compile what most tests need of the core: runs, members, the air of a bay on its way up."""

from __future__ import annotations

from pathlib import Path

from baypulse.case.casefile import read
from baypulse.compile import first, whole
from baypulse.observed.flight_profile import profile
from baypulse.physics.core_folder import alone
from baypulse.physics.plain import compile_core
from baypulse.studies.ascent.compute import ascent

CASE = Path(__file__).parents[1] / "cases" / "main-98.toml"


def main() -> None:
    """Make the code of each."""
    compile_core()
    with alone():  # what tests begin beside this finds it made
        first()
        whole()
        case = read(CASE)
        ascent(case, profile(case))


if __name__ == "__main__":
    main()
