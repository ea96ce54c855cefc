"""Ground-test plans for the tests of their reports: made-up windows, a few real shots a step."""

import dataclasses
import math
import warnings
from functools import cache

import pytest

import window_findings
from baypulse.case.casefile import reads
from baypulse.members.answered import Answered
from baypulse.observed.slide_distance import Slide
from baypulse.studies.plan.compute import GroundTestPlan, plan
from report_cases import BENCH

TITLE = "A title that goes on & on <b>with</b> $odd$ letters, over more than a line of the paper. "


def planned(window):
    """Return the plan that stands on a window, with 48 shots a step."""
    with pytest.MonkeyPatch.context() as patch, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        known = Answered(window, lambda progress: window)
        patch.setattr("baypulse.studies.plan.compute.answer", lambda case, **options: known)
        patch.setattr("baypulse.studies.plan.compute.SIDE_MEMBERS", 48)
        patch.setattr("baypulse.studies.plan.compute.HALF_MEMBERS", 32)
        return plan(window.case, wanted=window.wanted)


def about(text, name="bench"):
    """Return a made-up window of a case."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return window_findings.changed(window_findings.usual(), case=reads(text, name))


@cache
def usual() -> GroundTestPlan:
    return planned(window_findings.usual())


@cache
def of_cold_gas() -> GroundTestPlan:
    return planned(window_findings.of_cold_gas())


@cache
def in_flight() -> GroundTestPlan:
    setting = '[surroundings]\naltitude = "6000 m"\n\n[setting]\nkind = "flight"\n\n[limits]'
    return planned(about(BENCH.replace("[limits]", setting)))


@cache
def plain() -> GroundTestPlan:
    """Return a plan of a bay with nothing that can be left out, on a stand."""
    text = BENCH
    for table in ("contents", "cord"):
        head, _, rest = text.partition(f"[{table}]\n")
        text = head + rest.partition("\n\n")[2]
    head, _, rest = text.partition("[pins]\n")
    text = head + rest.partition("\n\n")[2]
    text = text.replace("[limits]", '[setting]\nkind = "stand"\n\n[limits]')
    return planned(window_findings.changed(about(text), most=None, backup=None, warnings=()))


@cache
def odd() -> GroundTestPlan:
    """Return a plan in which everything is too long: title, name, openings, pins, bore."""
    hole = '[[openings]]\nname = "hole with a long name, number {}"\ndiameter = "0.3 mm"\n\n'
    wire = hole.replace("diameter", 'between = "bay"\nto = "electronics"\ndiameter')
    holes = "".join(hole.format(k) for k in range(40)) + "".join(wire.format(k) for k in range(9))
    text = BENCH.replace('"A bay for the tests"', f'"{TITLE * 9}"')
    text = text.replace("count = 3", "count = 24").replace('bore = "76 mm"', 'bore = "300 mm"')
    text = text.replace('volume = "420 cm^3"', 'volume = "4 L"')
    text = text.replace("[cord]", f'{holes}[electronics]\nvolume = "1 L"\n\n[cord]')
    window = about(text, "name-without-any-space-that-is-much-wider-than-a-line-of-the-paper-" * 3)
    found = planned(window_findings.changed(window, warnings=window.warnings * 4))
    first, *more = found.steps
    nan = (math.nan,) * 3
    none = dataclasses.replace(first.trial, clear_velocity=nan)
    free = Slide(math.inf, "nothing", False)
    first = dataclasses.replace(first, trial=none, free_nose=math.nan, nose=free, stay_in=None)
    return dataclasses.replace(found, steps=(first, *more), reached=False)


KINDS = {make.__name__: make for make in (usual, of_cold_gas, in_flight, plain, odd)}
"""Makers of plans of all kinds, by name."""


def every():
    """Return name and plan of all kinds."""
    return [(name, make()) for name, make in KINDS.items()]
