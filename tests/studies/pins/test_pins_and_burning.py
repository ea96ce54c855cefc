"""What pins do to a bay: harder or not at all, by how fast the charge burns; and now and then more
pins open a bay that fewer leave half shut.

The same members are fired with every number of pins: a member has strengths for the most pins, and
fewer pins have the first of them. The shots that the statements rest on are run by a second solver
too, scipy's DOP853 (Hairer, Norsett & Wanner, II.10).
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from baypulse.case import params
from baypulse.case.casefile import read, reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event import EventCode
from baypulse.members import draws
from baypulse.members.chances import Chance, chance
from baypulse.members.charges import with_charge, works
from baypulse.members.ensemble import Ensemble
from baypulse.members.factors import factors
from baypulse.members.outcomes import Outcomes, run_members
from quick_bays import STRAND
from tools import at_event, scipy_advance

CASES = Path(__file__).parents[3] / "cases"
MEMBERS = 256
PSI = 6894.757293168361


def light_nose(grade: str) -> Case:
    """Return a bay made for the statement: a light nose, a short shoulder, a wide vent."""
    text = STRAND
    for old, new in (
        ('mass = "480 g"', 'mass = "100 g"'), ('"76 mm"\npull', '"40 mm"\npull'),
        ('diameter = "3.2 mm"', 'diameter = "15 mm"'), ('grade = "3F"', f'grade = "{grade}"'),
        ('mass = "0.50 g"', 'mass = "2.0 g"'),
        ('volume = "420 cm^3"', 'volume = "420 cm^3"\ntightness = "snug"'),
    ):  # fmt: skip
        assert text.count(old) == 1
        text = text.replace(old, new)
    # what the model leaves out is taken as known, since the statements are about what it says
    return with_value(reads(text, "light-nose"), "bay.model_agreement", 1.0)


def cold_gas(psi: float) -> Case:
    """Return the bay of cold gas with weak pins, and a gas that comes slowly enough for them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        case = with_charge(read(CASES / "cold-gas-98.toml"), psi * PSI)
    case = with_value(with_value(case, "cold_gas.orifice", 4.2e-3), "pins.strength", 56.0)
    return with_value(case, "bay.model_agreement", 1.0)


def pinned(case: Case, count: int) -> Case:
    if count:
        return with_value(case, "pins.count", count)
    kept = {path: s for path, s in case.spreads.items() if not path.startswith("pins.")}
    return replace(case, pins=None, spreads=kept)


def fired(case: Case, counts: tuple[int, ...]) -> dict[int, Outcomes]:
    """Fire the same members with each number of pins."""
    top = pinned(case, max(counts))
    plan = Ensemble(top, MEMBERS, 1)
    drawn = draws.values(top, plan.factors, plan.points(0))
    found = {}
    for count in counts:
        held = pinned(case, count)
        paths = {path for factor in factors(held) for path in factor.paths}
        values = {
            path: column[:, :count] if column.ndim == 2 else column
            for path, column in drawn.items()
            if path in paths
        }
        found[count] = run_members(held, values, MEMBERS)
    return found


def working(outcomes: Outcomes) -> Chance:
    return chance("works", int(works(outcomes).sum()), MEMBERS)


def second_solver(case: Case) -> tuple[float | None, bool]:
    """Return velocity when clear, and whether the parachute comes out, by DOP853."""
    track = run.integrate(params.parameters(case), case.run.end_time, 1e-9, advance=scipy_advance)
    happened = [index for _, index in track.events]
    if EventCode.CLEAR not in happened:
        return None, False
    y = at_event(track, EventCode.CLEAR)
    return float(y[at.NOSE_V] - y[at.FRAME_V]), EventCode.CONTENTS_OUT in happened


def test_more_pins_open_a_quick_charge_harder_and_keep_a_slow_one_shut() -> None:
    quick, slow = (fired(light_nose(grade), (1, 7)) for grade in ("4F", "1F"))
    assert working(quick[1]).share == 1.0
    assert working(quick[7]).low > 0.95
    # those that open both ways, so that no weak shot drops out of the comparison
    speeds = [quick[count].column("clear_velocity") for count in (1, 7)]
    both = ~np.isnan(speeds[0] + speeds[1])
    gain = speeds[1][both] / speeds[0][both]
    assert np.median(gain) > 1.05
    # hardly ever softer
    assert chance("harder", int((gain > 1.0).sum()), int(both.sum())).low > 0.9
    # one pin lets every one open, if one in a hundred too hard
    assert slow[1].opened.all() and working(slow[1]).low > 0.97
    assert working(slow[7]).high < 0.5
    assert working(slow[7]).high < working(quick[7]).low


def test_another_solver_finds_the_quick_charge_harder_and_the_slow_one_shut() -> None:
    (soft, _), (hard, out) = (second_solver(pinned(light_nose("4F"), n)) for n in (1, 7))
    assert out
    assert hard > 1.05 * soft
    opened, shut = (second_solver(pinned(light_nose("1F"), n)) for n in (1, 7))
    assert opened[1] and shut == (None, False)


def test_more_pins_let_the_contents_out_of_a_bay_that_is_too_soft_without() -> None:
    """The pins hold until the gas has more pressure; with too many of them it does not separate."""
    found = fired(cold_gas(160.0), (0, 2, 4, 8))
    none, two, four, eight = (working(found[count]) for count in (0, 2, 4, 8))
    assert none.high < 0.2 and two.high < four.low and four.low > 0.7
    assert eight.high < 0.2
    # the joint itself opens either way: what is missing is speed
    assert found[0].opened.all() and found[4].opened.mean() > 0.95
    peaks = [found[count].column("peak_pressure") for count in (0, 4)]
    assert np.all(peaks[1] > peaks[0])
    speeds = [found[count].column("clear_velocity") for count in (0, 4)]
    both = ~np.isnan(speeds[1])
    assert np.all(speeds[1][both] > speeds[0][both])


@pytest.mark.parametrize(("count", "out"), [(0, False), (2, False), (4, True)])
def test_another_solver_lets_the_same_contents_out(count: int, out: bool) -> None:
    velocity, came = second_solver(pinned(cold_gas(160.0), count))
    assert velocity is not None and came is out


def test_more_pins_lower_the_chance_of_a_small_charge() -> None:
    case = with_charge(reads(STRAND, "bench"), 0.25e-3)
    found = fired(case, (3, 5, 7))
    three, five, seven = (working(found[count]) for count in (3, 5, 7))
    assert three.low > five.high and five.low > seven.high
    # no member that fewer pins keep shut is opened by more
    assert not np.any(works(found[7]) & ~works(found[3]))
