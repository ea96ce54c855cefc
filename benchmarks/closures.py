"""What each closure does to a shot: switched off, or put to what it was before, one at a time.

python benchmarks/closures.py            # tables of the bench bay and of the main bay
python benchmarks/closures.py --write    # the same, put into docs/closures.md

Single runs at the values of the case, without any spread; a quarter of an hour of one core at most.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

import baypulse
from baypulse.case import geometry, library, params
from baypulse.case.model import Case
from baypulse.caution import CAUTION
from baypulse.engine import run
from baypulse.engine.parameters import ALWAYS, SHOULDER, Parameters
from baypulse.members.charges import greatest_charge
from baypulse.run.result import Result
from baypulse.run.simulation import interpret

ROOT = Path(__file__).parents[1]

CASES = ("bench-76", "main-98")
PAGE = ROOT / "docs" / "closures.md"
BEGIN, END = "<!-- from here by benchmarks/closures.py -->", "<!-- to here -->"

BRACKET, HALVINGS = (1 / 16, 8.0), 10
"""Charges, over the case's, between which the least that separates is looked for (but no more than
a holder takes), and how often the bracket is halved: to 0.5 % of the charge."""

Change = Callable[[Case], Case]


def within(table: str, **values: Any) -> Change:
    """Return a change of keys in one table of the case."""
    return lambda case: replace(case, **{table: replace(getattr(case, table), **values)})


def number(table: str, entry: Callable[[Case], str], name: str, value: float) -> Change:
    """Return a change of a number of the library, in the entry that the case names."""

    def change(case: Case) -> Case:
        place = library.address(table, entry(case), name)
        return replace(case, materials=case.materials | {place: value})

    return change


def powder(name: str, value: float) -> Change:
    """Return a change of a number of the case's powder."""
    return number("powders", lambda case: case.powder.grade, name, value)


def packing(name: str, value: float) -> Change:
    """Return a change of a number of the charge's packing."""
    return number("packings", lambda case: case.powder.packing, name, value)


def seat(name: str, value: float) -> Change:
    """Return a change of a number of how tightly the contents sit."""
    return number("packs", geometry.tightness, name, value)


def entrainment(factor: float) -> Change:
    """Return a change of the number of the entrainment."""

    def change(case: Case) -> Case:
        return within("bay", entrainment=factor * case.bay.entrainment)(case)

    return change


def cold_walls_off(case: Case) -> Case:
    """Return the case with a wall and cloth that take no heat; salts still settle on them."""
    assert case.contents is not None
    places = [("walls", case.bay.wall), ("cloths", case.contents.cloth)]
    off = {
        library.address(*place, name): 0.0
        for place in places
        for name in ("emissivity", "convection")
    }
    return replace(case, materials=case.materials | off)


def no_voids(case: Case) -> Case:
    """Return the case with a fibre that is no denser than the pack."""
    assert case.contents is not None
    density = case.contents.mass / (geometry.packed_length(case) * geometry.bore_area(case))
    return number("cloths", lambda c: c.contents.cloth, "fibre_density", float(density))(case)


def as_hole(P: Parameters) -> Parameters:
    """Return the gap of the shoulder as a hole of its mouth's effective area."""
    slot = P.opening_kind == SHOULDER
    return P._replace(
        opening_kind=np.where(slot, ALWAYS, P.opening_kind),
        opening_area=np.where(slot, P.opening_area * P.opening_discharge, P.opening_area),
    )


COLD = 233.15

VARIANTS: dict[str, Change] = {
    "burning of a strand, not of a bed": within("powder", burning="strand"),
    "flame over all grains in 2 ms": within("powder", flame_spread=2e-3),
    "no grains carried out": packing("carried_share", 0.0),
    "powder at -40 degC": within("powder", temperature=COLD),
    "no salts settle": powder("deposition_velocity", 0.0),
    "no afterburning": powder("afterburning_efficiency", 0.0),
    "afterburning complete": powder("afterburning_efficiency", 1.0),
    "walls and cloth take no heat": cold_walls_off,
    "no covolume": powder("covolume", 0.0),
    "entrainment times 3": entrainment(3.0),
    "entrainment over 3": entrainment(1.0 / 3.0),
    "mixing time typed, 30 ms": within("bay", mixing_time=30e-3),
    "gap of the shoulder as a hole": lambda case: case,
    "no vent": lambda case: replace(case, openings=()),
    "pins as strong as in a slow pull": number(
        "pin materials", lambda case: case.pins.material, "rate_strengthening", 0.0
    ),
    "contents only a volume taken off": within("contents", mass=0.0),
    "contents without voids": no_voids,
    "contents that do not hold themselves": seat("grip", 0.0),
    "charge ahead of the contents": within("contents", charge_side="ahead"),
    "contents loose": within("contents", tightness="loose", extraction_force=None),
    "contents snug": within("contents", tightness="snug", extraction_force=None),
    "contents tight": within("contents", tightness="tight", extraction_force=None),
    "contents drawn out by 10 N": within("contents", extraction_force=10.0),
    "contents drawn out by 250 N": within("contents", extraction_force=250.0),
    "nose slides on the ground, 0.4": within("setting", ground_friction=0.4),
}
"""Each closure as it was before, or at another value, by name."""

ON_FLOATS: dict[str, Callable[[Parameters], Parameters]] = {
    "gap of the shoulder as a hole": as_hole
}
"""What no case can say, and is done to the floats of the core."""


def fired(case: Case, name: str) -> Result:
    """Run a case, with what no case can say."""
    P = params.parameters(case)
    P = ON_FLOATS.get(name, lambda same: same)(P)
    track = run.integrate(P, case.run.end_time, case.run.tolerance)
    return interpret(case, P, track, run.observe(track, P))


def least_charge(case: Case, name: str) -> float:
    """Return the least charge that opens the bay in a single run [kg]; inf if none does."""
    assert case.powder is not None
    charge = case.powder.mass

    def opens(factor: float) -> bool:
        tried = within("powder", mass=factor * charge)(case)
        return fired(tried, name).numbers.clear_time is not None

    low, high = BRACKET
    high = min(high, greatest_charge(case) / charge)
    if not opens(high):
        return math.inf
    for _ in range(HALVINGS):
        middle = math.sqrt(low * high)
        low, high = (low, middle) if opens(middle) else (middle, high)
    return high * charge


def row(case: Case, name: str) -> list[str]:
    """Return one line of the table."""
    result = fired(case, name)
    numbers = result.numbers
    velocity = numbers.clear_velocity
    least = least_charge(case, name)
    load = numbers.cord_load
    return [
        name,
        f"{result.breakdown.held_peak / 1e3:.0f}",
        f"{numbers.peak_pressure / 1e3:.0f}",
        f"{1e3 * numbers.peak_time:.0f}",
        result.verdict if velocity is None else f"{velocity:.1f}",
        "" if load is None else f"{load:.0f}",
        "none" if math.isinf(least) else f"{1e3 * least:.2f}",
    ]


HEAD = ["", "held shut [kPa]", "peak [kPa]", "at [ms]", "clear [m/s]", "cord [N]", "least [g]"]


def table(name: str) -> str:
    """Return the table of one case, in Markdown."""
    case = baypulse.load(ROOT / "cases" / f"{name}.toml")
    assert case.powder is not None
    lines = [f"`{name}`, {1e3 * case.powder.mass:.2f} g:", "", _line(HEAD)]
    lines.append(_line(["---"] + ["---:"] * (len(HEAD) - 1)))
    lines.append(_line(row(case, "as shipped")))
    for variant, change in VARIANTS.items():
        lines.append(_line(row(change(case), variant)))
        print(lines[-1], file=sys.stderr)
    return "\n".join(lines)


def _line(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"


def main() -> int:
    """Print the tables, or put them into the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="put them into docs/closures.md")
    chosen = parser.parse_args()
    tables = "\n\n".join(table(name) for name in CASES)
    print(tables)
    print(f"\n{CAUTION}")
    if chosen.write:
        page = PAGE.read_text(encoding="utf-8")
        before, rest = page.split(BEGIN)
        after = rest.split(END)[1]
        PAGE.write_text(f"{before}{BEGIN}\n{tables}\n{END}{after}", encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
