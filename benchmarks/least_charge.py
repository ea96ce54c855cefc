"""How little is known of the least charge of a 98 mm bay, before and after ground tests.

    python benchmarks/least_charge.py

Every member of ``cases/main-98.toml`` (library and case with all their spreads) has a least charge
of its own that opens the joint and brings the parachute out. Its 90 % band is the spread of what
this program knows. The shots are invented, one file of shots each, and go through the product's
own front door: they are logged, the builds are weighed by them, and the members are drawn anew.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import baypulse
from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.charges import Charges, Points, Tally, greatest_charge, works
from baypulse.members.factors import Factor, dimensions
from baypulse.members.thresholds import Thresholds
from baypulse.observed.build_weights import learn
from baypulse.observed.shot_log import read_log
from baypulse.observed.shot_to_shot import lasting_columns
from baypulse.studies.window.compute import window

ROOT = Path(__file__).parents[1]

CASE = ROOT / "cases" / "main-98.toml"

TYPICAL, SMALL = "2.0 g", "0.7 g"
"""Charges of the invented shots: of practice, and one that does not separate."""

OPENED = f'[[shots]]\ncharge = "{TYPICAL}"\nsaw = ["separated", "all pins sheared"]\n'
SHUT = f'[[shots]]\ncharge = "{SMALL}"\nsaw = ["no separation"]\n'

LOGS = {
    "before any shot": "",
    f"one that separated at {TYPICAL}": OPENED,
    f"one that did not separate at {SMALL}, three that separated at {TYPICAL}": SHUT + 3 * OPENED,
}
"""What was logged, by what it is called."""

BUILDS = 1024
"""Builds at first that are weighed by the shots."""

SHARES = (0.05, 0.5, 0.95)
MEMBERS = 512


@dataclass(frozen=True)
class Band:
    """The least charge of all members.

    Attributes
    ----------
    low, middle, high : float
        That opens 5 %, half and 95 % of them [kg]; infinite for what no charge opens.
    builds : float
        How many independent builds the shots left; all of them before any.
    """

    low: float
    middle: float
    high: float
    builds: float

    @property
    def factor(self) -> float:
        """Upper over lower end."""
        return self.high / self.low


def scattering(lasting: bool) -> Points:
    """Return what draws members in which only what lasts scatters, or only what is new in a shot.

    The rest stays at its middle.
    """

    def points(found: Sequence[Factor], count: int, seed: int, skip: int) -> np.ndarray:
        whole = draws.many_points(seed, (skip + 1) * count, dimensions(found))
        u = np.array(whole[skip * count :][:count])
        still = np.ones(u.shape[1], dtype=bool)
        still[list(lasting_columns(found).values())] = False
        u[:, still if lasting else ~still] = 0.5
        return u

    return points


def band(case: Case, log: str = "", points: Points | None = None, workers: int = 2) -> Band:
    """Return the band of the least charge after shots, as text of their file."""
    builds = float(MEMBERS)
    if log:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "main-98.shots.toml"
            file.write_text(log, encoding="utf-8")
            learnt = learn(case, read_log(file, case), workers=workers, members=BUILDS)
        learnt.refuse()
        points, builds = learnt.points, learnt.effective
    charges = Charges(case, MEMBERS, 1, workers, Tally(), points=points)
    opens = Thresholds(lambda charge, which: works(charges.fire(charge, which)), charges.members)
    ceiling = greatest_charge(case)
    ends = []
    for share in SHARES:
        rank = max(round(share * charges.members), 1)
        found = opens.bracket(rank, charges.present, 1e-5, ceiling)
        ends.append(np.inf if found is None else found[1])
    return Band(*(float(end) for end in ends), builds)


def bands(workers: int = 2) -> dict[str, Band]:
    """Return the bands of all logs, and before any of them of what lasts and does not, alone."""
    case = baypulse.load(CASE)
    found = {name: band(case, log, workers=workers) for name, log in LOGS.items()}
    for what, lasting in (
        ("what all shots share", True),
        ("what differs from shot to shot", False),
    ):
        found[f"before any shot, {what} alone"] = band(
            case, points=scattering(lasting), workers=workers
        )
    return found


def upper_end(workers: int = 2) -> float:
    """Return what ``baypulse window --reliability "95 %"`` calls the least charge [kg]."""
    found = window(baypulse.load(CASE), wanted=0.95, members=MEMBERS, workers=workers)
    assert found.least is not None
    return found.least.charge


def main() -> int:
    for name, found in bands().items():
        print(
            f"{name:60s} {1e3 * found.low:.2f} to {1e3 * found.high:.2f} g, middle "
            f"{1e3 * found.middle:.2f} g, factor {found.factor:.1f}, {found.builds:.0f} builds"
        )
    print(f"{'window --reliability 95 %':60s} {1e3 * upper_end():.2f} g")
    return 0


if __name__ == "__main__":
    sys.exit(main())
