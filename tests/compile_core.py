"""Compile what most tests need of the core: a run, an ensemble, the air of a bay on its way up."""

from __future__ import annotations

from pathlib import Path

from baypulse.case.casefile import read
from baypulse.members.ensemble import Ensemble
from baypulse.observed.flight_profile import profile
from baypulse.physics.core_folder import alone
from baypulse.physics.plain import compile_core
from baypulse.run.simulation import simulate
from baypulse.studies.ascent.compute import ascent

CASE = Path(__file__).parents[1] / "cases" / "main-98.toml"


def main() -> None:
    """Run one of each."""
    compile_core()
    with alone():  # what tests begin beside this finds it made
        case = read(CASE)
        simulate(case)
        Ensemble(case, 1)(0)
        ascent(case, profile(case))


if __name__ == "__main__":
    main()
