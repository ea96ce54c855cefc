"""Learn the numbers of the closures from all recorded shots at once, and compare structures.

    python benchmarks/calibrate.py              # every structure, with records left out
    python benchmarks/calibrate.py --structure "bed, flame, grains carried out"

Least squares with priors (the mode of the posterior, and its curvature there): the logarithm of
every measured figure against that of a run of the case through the ordinary front door. What is
learnt is one set of numbers for all records; beside it each record has what nobody knows of it
(powder lot, grain, gap, seat, charge, room), by the spreads of its case file. Each record is then
left out in turn, and predicted from the others by one step of Gauss and Newton: the sum of its
logarithmic scores says which structure predicts best. Nothing is drawn, so that the tables are the
same on every run.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests")]

from baypulse import simulate  # noqa: E402
from baypulse.case.casefile.keys import is_share, value_at  # noqa: E402
from baypulse.case.held_value import with_value  # noqa: E402
from baypulse.case.library import address, fact  # noqa: E402
from baypulse.case.model import Case  # noqa: E402
from recorded import Record, computed, records  # noqa: E402

NOTHING = -3.0
"""Logarithm of a figure over the measured one that stands for what did not happen at all."""

STRONG = 0.3
"""Correlation from which two numbers are said to belong together."""

STEP = 0.02
"""Of the finite differences, in standard deviations of the prior."""


@dataclass(frozen=True)
class Unknown:
    """A number that is to be learnt, whose prior is normal in it or in its logarithm.

    Attributes
    ----------
    name : str
        Of the number.
    place : callable
        Case to the address of the library, or to the path in the case.
    value, deviation : float
        Of the prior; the deviation is that of the logarithm where ``log``.
    log : bool
        Whether it is positive and of unsure size.
    """

    name: str
    place: Callable[[Case], str]
    value: float
    deviation: float
    log: bool = True

    def at(self, z: float) -> float:
        """Return the number z standard deviations of its prior from the middle."""
        if self.log:
            return self.value * math.exp(self.deviation * z)
        return self.value + self.deviation * z


def of_powder(name: str, value: float, deviation: float, log: bool = True) -> Unknown:
    """Return a number of the powder."""
    return Unknown(
        name, lambda case: address("powders", case.powder.grade, name), value, deviation, log
    )


def of_packing(name: str, value: float, deviation: float, log: bool = True) -> Unknown:
    """Return a number of how the charge is packed."""
    return Unknown(
        name, lambda case: address("packings", case.powder.packing, name), value, deviation, log
    )


COMMON = (
    of_powder("deposition_velocity", 0.2, 0.7),
    of_powder("afterburning_efficiency", 0.3, 0.7),
    of_powder("burnable_fraction", 0.9, 0.08, log=False),
    Unknown("convection", lambda case: address("walls", case.bay.wall, "convection"),
            fact(address("walls", "aluminium", "convection")).value, 0.4),
    Unknown("entrainment", lambda case: "bay.entrainment", 0.5, 1.0),
    Unknown("particle_diameter",
            lambda case: address("cloths", case.contents.cloth, "particle_diameter"),
            fact(address("cloths", "nylon", "particle_diameter")).value, 0.7),
)  # fmt: skip
STRAND = (of_powder("rate", 12e-3, 1.0), of_powder("rate_exponent", 0.5, 0.3, log=False))
BED = (of_powder("bed_time", 0.08, 1.0), of_powder("bed_exponent", 0.75, 0.25, log=False))
FLAME = (
    of_packing("flame_speed", 3.0, 1.2), of_packing("flame_exponent", 0.8, 0.3, log=False)
)  # fmt: skip
CARRIED = (of_packing("carried_share", 0.3, 0.8),)


@dataclass(frozen=True)
class Structure:
    """A way in which a charge may burn.

    Attributes
    ----------
    name : str
        In words.
    unknowns : tuple of Unknown
        What is learnt.
    powder : dict
        Keys of the case's powder that switch to it.
    carried : bool
        Whether grains leave with the gas.
    """

    name: str
    unknowns: tuple[Unknown, ...]
    powder: dict
    carried: bool = False


AT_ONCE = {"flame_spread": 2e-4}
STRUCTURES = (
    Structure("strand, rate and exponent of the library", COMMON, {"burning": "strand"} | AT_ONCE),
    Structure("strand, rate and exponent free", COMMON + STRAND, {"burning": "strand"} | AT_ONCE),
    Structure("bed in a time of its own", COMMON + BED, AT_ONCE),
    Structure("bed, flame", COMMON + BED + FLAME, {}),
    Structure("bed, grains carried out", COMMON + BED + CARRIED, AT_ONCE, carried=True),
    Structure("bed, flame, grains carried out", COMMON + BED + FLAME + CARRIED, {}, carried=True),
)


def lot_of(record: Record) -> str:
    """Return the powder lot of a record: one shoot, one lot."""
    return record.name if record.name.startswith("separation") else record.name.rsplit("-", 2)[0]


SHARED = {"powder.smallest_grain", "powder.largest_grain", "powder.moisture"}
"""Unknown inputs that are the same in all shots of a lot."""


def nuisances(record: Record) -> Iterator[tuple[str, list[str], float]]:
    """Yield what nobody knows of a record: its name, the paths it moves, and its deviation.

    All go by their logarithm. Powder lots differ by what moves the speeds of Mordecai's 45 powders
    from 37.7 to 49.9 m/s, some 15 % in rate.
    """
    lot = lot_of(record)
    yield f"rate, {lot}", ["powder.rate_factor"], 0.15
    groups: dict[str, list[str]] = {}
    for path, spread in record.case.spreads.items():
        if path == "bay.entrainment":
            continue  # one law for all
        groups.setdefault(spread.group or path, []).append(path)
    for name, paths in groups.items():
        value = value_at(record.case, paths[0])
        deviation = record.case.spreads[paths[0]].deviation
        if record.case.spreads[paths[0]].distribution != "log-normal":
            deviation /= value
        if deviation < 0.015:
            continue  # within what a shot scatters
        whose = lot if any(path in SHARED for path in paths) else record.name
        yield f"{name}, {whose}", paths, deviation


class Calibration:
    """All records under one structure: unknowns, residuals and their slopes."""

    def __init__(self, structure: Structure, found: list[Record]) -> None:
        self.structure, self.records = structure, found
        self.names = [unknown.name for unknown in structure.unknowns]
        self.own: list[list[tuple[int, list[str], float]]] = []
        places = {name: i for i, name in enumerate(self.names)}
        for record in found:
            mine = []
            for name, paths, deviation in nuisances(record):
                if name not in places:
                    places[name] = len(places)
                    self.names.append(name)
                mine.append((places[name], paths, deviation))
            self.own.append(mine)
        self.size = len(self.names)

    def case(self, i: int, z: np.ndarray) -> Case:
        """Return the case of record i with all unknowns as given."""
        case, structure = self.records[i].case, self.structure
        materials = dict(case.materials)
        typed: dict[str, float] = {}
        for unknown, score in zip(structure.unknowns, z, strict=False):
            if unknown.name == "particle_diameter" and case.contents is None:
                continue
            place, value = unknown.place(case), unknown.at(float(score))
            if place.startswith("bay."):
                typed[place] = value
            else:
                materials[place] = min(value, 1.0) if is_share(unknown.name) else value
        if not structure.carried:
            materials[address("packings", case.powder.packing, "carried_share")] = 0.0
        case = replace(case, materials=materials, powder=replace(case.powder, **structure.powder))
        for place, value in typed.items():
            case = with_value(case, place, value)
        for place, paths, deviation in self.own[i]:
            for path in paths:
                factor = math.exp(deviation * float(z[place]))
                case = with_value(case, path, value_at(case, path) * factor)
        return case

    def places(self, i: int) -> list[int]:
        """Return which unknowns record i depends on."""
        return [*range(len(self.structure.unknowns)), *(place for place, _, _ in self.own[i])]

    def errors(self, i: int, z: np.ndarray) -> np.ndarray:
        """Return the logarithms of computed over measured, by their standard deviations."""
        record = self.records[i]
        answers = computed(simulate(self.case(i, z)))
        found = []
        for quantity, measured in record.measured.items():
            value = answers[quantity]
            ratio = math.log(value / measured.middle) if value > 0.0 else NOTHING
            found.append(max(ratio, NOTHING) / measured.deviation)
        return np.array(found)

    def slopes(self, i: int, z: np.ndarray, at: np.ndarray) -> np.ndarray:
        """Return the derivatives of the errors of record i by all unknowns."""
        table = np.zeros((at.size, self.size))
        for place in self.places(i):
            moved = z.copy()
            moved[place] += STEP
            table[:, place] = (self.errors(i, moved) - at) / STEP
        return table

    def fit(self) -> tuple[np.ndarray, list[np.ndarray], list[np.ndarray]]:
        """Return the mode of the posterior, the errors there, and their slopes."""
        kept: dict[bytes, list[np.ndarray]] = {}

        def all_errors(z: np.ndarray) -> list[np.ndarray]:
            key = z.tobytes()
            if key not in kept:
                kept.clear()
                kept[key] = [self.errors(i, z) for i in range(len(self.records))]
            return kept[key]

        def slopes(z: np.ndarray) -> list[np.ndarray]:
            at = all_errors(z)
            return [self.slopes(i, z, at[i]) for i in range(len(self.records))]

        found = least_squares(
            lambda z: np.concatenate([*all_errors(z), z]), np.zeros(self.size),
            jac=lambda z: np.vstack([*slopes(z), np.eye(self.size)]), xtol=1e-3, ftol=1e-3,
            max_nfev=25,
        )  # fmt: skip
        return found.x, all_errors(found.x), slopes(found.x)


def covariance(slopes: list[np.ndarray], size: int) -> np.ndarray:
    """Return the posterior's covariance at its mode, in standard deviations of the prior."""
    H = np.eye(size)
    for J in slopes:
        H += J.T @ J
    return np.linalg.inv(H)


def left_out(
    task: Calibration, z: np.ndarray, errors: list[np.ndarray], slopes: list[np.ndarray]
) -> Iterator[tuple[Record, np.ndarray, np.ndarray]]:
    """Yield each record, with its errors when predicted by the others, and their deviations.

    Both in standard deviations of the measurement, which the second includes.
    """
    for i, record in enumerate(task.records):
        others = [k for k in range(len(task.records)) if k != i]
        C = covariance([slopes[k] for k in others], task.size)
        gradient = z + sum(slopes[k].T @ errors[k] for k in others)
        without = z - C @ gradient
        J = slopes[i]
        yield record, task.errors(i, without), np.sqrt(1.0 + np.einsum("ij,jk,ik->i", J, C, J))


def joint(structure: Structure, C: np.ndarray) -> Iterator[str]:
    """Yield what belongs together: strong correlations, and where time and exponent are free of it.

    The time of a bed at a pressure p has the logarithm log t - n log(p/p_0); at one pressure it
    does not depend on n, and the library gives it there.
    """
    deviation = np.sqrt(np.diag(C))
    n = len(structure.unknowns)
    R = (C / np.outer(deviation, deviation))[:n, :n]
    for i, k in zip(*np.nonzero(np.triu(np.abs(R) > STRONG, 1)), strict=True):
        one, two = structure.unknowns[i].name, structure.unknowns[k].name
        yield f"   correlation of {one} and {two}: {R[i, k]:+.2f}"
    names = [unknown.name for unknown in structure.unknowns]
    if "bed_time" in names:
        i, k = names.index("bed_time"), names.index("bed_exponent")
        time, exponent = structure.unknowns[i].deviation, structure.unknowns[k].deviation
        shift = C[i, k] * time / (C[k, k] * exponent)
        alone = math.sqrt(C[i, i] - C[i, k] ** 2 / C[k, k]) * time
        given = fact(address("powders", "2F", "bed_pressure")).value / 1e6
        free = given * math.exp(shift)
        yield f"   time and exponent are free of each other at {free:.2f} MPa, +- {alone:.0%}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--structure", help="only this one")
    wanted = parser.parse_args()
    found = [record for record in records() if record.taught]
    for structure in STRUCTURES:
        if wanted.structure not in (None, structure.name):
            continue
        task = Calibration(structure, found)
        z, errors, slopes = task.fit()
        C = covariance(slopes, task.size)
        print(f"\n== {structure.name}")
        misfit = sum(float(e @ e) for e in errors)
        print(f"   misfit {misfit:.1f} of {sum(e.size for e in errors)} figures, "
              f"priors {float(z @ z):.1f}")  # fmt: skip
        for k, unknown in enumerate(structure.unknowns):
            width = math.sqrt(C[k, k]) * unknown.deviation
            spread = f"{100 * width:.0f} %" if unknown.log else f"{width:.3f}"
            print(f"   {unknown.name:24s} {unknown.at(z[k]):.4g} +- {spread}")
        for line in joint(structure, C):
            print(line)
        score, inside, count = 0.0, 0, 0
        for record, gone, width in left_out(task, z, errors, slopes):
            i = task.records.index(record)
            ratios = []
            for q, measured in enumerate(record.measured.values()):
                ratios.append(
                    f"{math.exp(errors[i][q] * measured.deviation):.2f}"
                    f"/{math.exp(gone[q] * measured.deviation):.2f}"
                )
                count += 1
                inside += abs(gone[q]) < 1.645 * width[q]
                score -= 0.5 * (gone[q] / width[q]) ** 2 + math.log(width[q] * measured.deviation)
            print(f"   {record.name:24s} fitted/left out: {' '.join(ratios)}")
        print(
            f"   left out: score {score:.1f}, {inside} of {count} figures inside 90 %", flush=True
        )
        for name, value in sorted(zip(task.names, z, strict=True), key=lambda x: -abs(x[1]))[:8]:
            print(f"      far from its prior: {name} {value:+.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
