"""Made-up charge windows, for the tests of their figures and reports; nothing is run."""

import dataclasses
import math
from functools import cache

import numpy as np
from scipy.special import ndtr

from baypulse.case.casefile import reads
from baypulse.members.chances import chance
from baypulse.members.charge_results import Edge, Trial
from baypulse.run.breakdown import static_rule
from baypulse.run.result import Breakdown
from baypulse.studies.window.remedies import AS_IT_IS
from baypulse.studies.window.result import Remedy, Window
from report_cases import BENCH, TEXTS

NAMES = ("tube wall, hoop stress", "separation velocity", "cord and anchors")
NAN3 = (math.nan,) * 3
MEMBERS = 2048


@cache
def case():
    return reads(BENCH, "bench")


@cache
def cold():
    return reads(TEXTS["cold gas"], "cold")


def trial(name, charge, members, unit=1e-3):
    """Return a trial of a bay that separates at 0.28 of a unit and is too fast from 1.5 of it."""
    x = charge / unit
    opens = round(members * float(ndtr(math.log(x / 0.28) / 0.12)))
    fast = round(members * float(ndtr(math.log(x / 1.5) / 0.15)))
    speed = tuple(k * 20.0 * math.sqrt(x) for k in (0.8, 1.0, 1.2))
    return Trial(
        name, charge, chance("separates", opens, members),
        chance("a limit is exceeded", fast, members),
        tuple(chance(each, fast * (each == NAMES[1]), members) for each in NAMES),
        tuple(k * 1.6e5 * x for k in (0.7, 1.0, 1.4)), speed if opens else NAN3,
        tuple(1.03 * v for v in speed) if opens else NAN3,
        tuple(90.0 * v for v in speed) if opens else NAN3,
    )  # fmt: skip


def edge(charge, name, count, members=MEMBERS, low=None, high=None):
    low, high = low or 0.96 * charge, high or 1.05 * charge
    return Edge(charge, low, high, chance(name, count, members), name)


@cache
def usual():
    """Return the window of a bay with everything in it."""
    charges = 0.37e-3 * 1.3 ** np.arange(-3, 8)
    curve = [trial("", float(charge), 128) for charge in charges]
    curve.append(trial("as in the case", 0.5e-3, 128))
    after = dataclasses.replace(trial("after failure", 0.8e-3, 8), opens=chance("separates", 3, 8))
    rule = static_rule(case())
    steps = (("empty-bay rule", 1.38e5), ("all its heat, mixed at once", 4.0e5),
             ("unburnt powder", 3.7e5), ("slow burning, cold walls and contents", 3.4e5),
             ("slow mixing", 2.6e5), ("vents and leaks", 2.3e5),
             ("joint moves", 1.5e5))  # fmt: skip
    return Window(
        case=case(), wanted=0.99, path="powder.mass", label="charge", dimension="mass",
        present=0.5e-3, members=MEMBERS, seed=1,
        least=edge(0.37e-3, "separates", 2029), most=edge(1.06e-3, "separation velocity", 20),
        reasons=(), limits=(edge(1.04e-3, "separation velocity", 1, 128),
                            edge(2.1e-3, "cord and anchors", 1, 128)),
        lowest=1e-6, highest=3e-3, recommended=trial("recommended", 0.63e-3, 1024),
        backup=trial("backup", 0.79e-3, 512), both=trial("both", 1.42e-3, 512),
        after_failure=after, rule=trial("empty-bay rule", float(rule.empty.needed_mass), 512),
        curve=tuple(sorted(curve, key=lambda each: each.charge)), static_rule=rule,
        breakdown=Breakdown(steps, 2.3e5), remedies=(), as_it_is=None, runs=12_345,
        warnings=("in 12 % of the shots the tube tears at a pin's hole before that pin shears",),
    )  # fmt: skip


def changed(window, **fields):
    """Return a window with other values in some fields."""
    return dataclasses.replace(window, **fields)


NOTHING = {
    "recommended": None,
    "backup": None,
    "both": None,
    "after_failure": None,
    "breakdown": None,
}


def empty():
    """Return a window whose most lies below its least, with changes that were tried."""
    return changed(
        usual(), **NOTHING,
        most=edge(0.30e-3, "separation velocity", 20),
        reasons=("It takes 0.370 g to open the bay.",), as_it_is=Remedy(AS_IT_IS, 0.37e-3, 0.30e-3),
        remedies=(
            Remedy("a cord of 9.00 m (29.5 ft) in place of 6.00 m (19.7 ft), and more words",
                   0.37e-3, None),
            Remedy("2 pins in place of 3", 0.25e-3, 0.35e-3),
            Remedy("vent of 2.24 mm in place of 3.20 mm", 0.36e-3, 0.297e-3),
            Remedy("a tighter fit", 0.35e-3, 0.2e-3),
            Remedy("finer powder", None, 0.3e-3),
        ),
    )  # fmt: skip


def narrow():
    """Return a window that is there, and narrow, with changes that were tried."""
    return changed(
        usual(), most=edge(0.5e-3, "separation velocity", 20),
        as_it_is=Remedy(AS_IT_IS, 0.37e-3, 0.5e-3),
        remedies=(Remedy("2 pins in place of 3", 0.25e-3, 0.5e-3),
                  Remedy("a softer cord", 0.36e-3, 0.5e-3)),
    )  # fmt: skip


def never_opens():
    """Return a case that no charge opens often enough."""
    return changed(
        usual(), **NOTHING, least=None, rule=None,
        curve=tuple(dataclasses.replace(each, opens=chance("separates", 0, 128),
                                        clear_velocity=NAN3, greatest_velocity=NAN3, cord_load=NAN3)
                    for each in usual().curve),
        reasons=("Not even 3.00 g opens the bay",),
    )  # fmt: skip


def always_hard():
    """Return a case that exceeds a limit with any charge."""
    return changed(
        empty(), most=edge(0.0, "bay pressure", 2048, low=math.nan, high=math.nan),
        as_it_is=Remedy(AS_IT_IS, 0.37e-3, 0.0),
    )  # fmt: skip


def unlimited():
    """Return a window without an upper end, whose lower end has half an interval."""
    return changed(
        usual(), most=None, limits=(), after_failure=None, warnings=(),
        least=edge(0.37e-3, "separates", 2048, high=math.nan),
        reasons=("No limit ends the window up to 3.00 g; more was not looked at.",),
    )  # fmt: skip


def leaking():
    """Return a bay that separates with far too much only, for which nothing is recommended."""
    return changed(unlimited(), **NOTHING, least=edge(3e-3, "separates", 2048))


def of_cold_gas():
    """Return the window of a reservoir's fill pressure."""
    unit = 2e6
    curve = tuple(trial("", 0.3 * unit * 1.3**k, 128, unit) for k in range(6))
    own = trial("as in the case", float(cold().cold_gas.pressure), 128, unit)
    return changed(
        usual(), case=cold(), path="cold_gas.pressure", label="fill pressure",
        dimension="gauge pressure", present=own.charge, rule=None, static_rule=static_rule(cold()),
        least=edge(0.37 * unit, "separates", 2029), most=None, limits=(), lowest=1e3, highest=9e6,
        recommended=trial("recommended", 0.74 * unit, 1024, unit),
        backup=trial("backup", 0.92 * unit, 512, unit), both=trial("both", 1.66 * unit, 512, unit),
        after_failure=None, curve=tuple(sorted((*curve, own), key=lambda each: each.charge)),
        breakdown=Breakdown((("empty-bay rule", 1.8e5), ("heat, mixing and walls", 1.8e5),
                       ("vents and leaks", 1.79e5), ("joint moves", 0.8e5)), 1.79e5),
    )  # fmt: skip


def single_failure():
    """Return a window with one shot that failed, and one point of the curve."""
    return changed(
        usual(), after_failure=dataclasses.replace(trial("after failure", 0.79e-3, 1)),
        curve=usual().curve[3:4],
    )  # fmt: skip


def every():
    """Yield a name and a window of each kind."""
    for make in (usual, empty, narrow, never_opens, always_hard, unlimited, leaking, of_cold_gas,
                 single_failure):  # fmt: skip
        yield make.__name__, make()
