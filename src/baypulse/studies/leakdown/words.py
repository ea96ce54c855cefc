"""What a leak-down test says, in words, and what it writes into a case."""

from __future__ import annotations

import math

from baypulse import __version__
from baypulse.case.casefile.leak_entry import LeakEntry
from baypulse.case.quantities import about, chance, digits, percent, short, show, span
from baypulse.studies.leakdown.result import HOLE_DISCHARGE, LEAK, Falls, LeakDown, hole

NO = "does not matter"
"""Of a leak that hardly changes what the charge does."""

LITTLE = "matters a little"
"""Of a leak that changes it a little."""

YES = "matters"
"""Of a leak that changes whether the bay separates, or much of its pressure."""

LITTLE_LOSS = 0.03
"""Share of the held pressure from which a leak matters a little; our choice."""

MUCH_LOSS = 0.10
"""Share of the held pressure from which a leak matters; our choice."""

LOST = 0.01
"""Share of the shots that no longer open from which a leak matters; our choice."""

FEW = 3
"""Shots fewer than that tell nothing of a share; our choice."""

SMALL_CAUSE = 0.1
"""Causes of less than this share of the variance are not named in the sentence."""

_ADVICE = {
    "the time": "repeat the test, or film the gauge and give the record with --gauge",
    "the first reading": "use a finer gauge, or pump higher",
    "the last reading": "use a finer gauge, or watch a longer fall",
    "the free volume": "measure the volume of the packed contents",
    "the heat to the walls": "watch a fall of minutes, or one of tenths of a second",
    "the gauge's zero": "record until the pressure is nearly gone",
    "the room's temperature": "test where the temperature is steady, and no longer than needed",
    "the scatter of the readings": "record for longer, or more often",
}
"""What would narrow the interval, by what it comes from."""


def headline(leak: LeakDown) -> str:
    """Return the leak and whether it matters, in a few words."""
    estimate = leak.estimate
    if not estimate.measurable:
        return f"No leak can be told: at most {_hole(estimate.high)}, which {matters(leak)}"
    return f"A leak like {_hole(estimate.area)}, which {matters(leak)} for this charge"


def matters(leak: LeakDown) -> str:
    """Return whether the leak matters for the charge (:data:`NO`, :data:`LITTLE`, :data:`YES`)."""
    tight, leaking = leak.tight, leak.leaking
    loss = held_loss(leak)
    if tight.result.verdict != leaking.result.verdict or loss >= MUCH_LOSS:
        return YES
    if leak.lost - leak.gained >= max(LOST * leak.members, FEW):
        return YES
    return LITTLE if loss >= LITTLE_LOSS or leak.lost - leak.gained >= FEW else NO


def held_loss(leak: LeakDown) -> float:
    """Return by what share the leak lowers the peak of the bay held shut."""
    return 1.0 - leak.leaking.held / leak.tight.held if leak.tight.held > 0.0 else 0.0


def meaning(leak: LeakDown) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    leak : LeakDown
        Findings.
    """
    return [_size(leak), _causes(leak), *_matter(leak)]


def _size(leak: LeakDown) -> str:
    estimate = leak.estimate
    if not estimate.measurable:
        return (
            f"What was read does not tell the leak from none. Its effective area is at most "
            f"{area(estimate.high)} (95 %); that bound is used in what follows."
        )
    low, high = hole(estimate.low), hole(estimate.high)
    return (
        f"Effective area {area(estimate.area)}, with 95 % from {_mm2(estimate.low)} to "
        f"{_mm2(estimate.high)}: one round hole of {show(float(hole(estimate.area)), 'length')}, "
        f"within {span(float(low), float(high), 'length')}."
    )


def _causes(leak: LeakDown) -> str:
    named = [(name, share) for name, share in leak.estimate.causes if share >= SMALL_CAUSE]
    if not named:
        return ""
    listed = ", ".join(f"{name} ({about(share)})" for name, share in named)
    return f"The interval comes from {listed}; to narrow it, {_ADVICE[named[0][0]]}."


def _matter(leak: LeakDown) -> list[str]:
    tight, leaking = leak.tight, leak.leaking
    assert tight.opens is not None
    assert leaking.opens is not None
    clear = leaking.result.numbers.clear_time is not None
    until = "before the joint is clear" if clear else "up to the peak pressure"
    end = "the joint is clear" if clear else "the peak comes"
    bleed = (
        f"at the flow of the peak it would take {time(leak.bleed)} to empty the bay, and {end} "
        f"{time(leak.gone_until)} after the first burning"
    )
    found = [
        f"This leak {matters(leak)}: {percent(leak.gone)} % of the gas leaves through it {until}; "
        f"{bleed}. Held shut, the bay reaches {psi(leaking.held)} with it and {psi(tight.held)} "
        f"without; it separates in {chance(leaking.opens)} of the shots with it and in "
        f"{chance(tight.opens)} without."
    ]
    if tight.opens.count == 0 and leaking.opens.count == 0:
        found.append("The bay separates neither way, so first find a charge that opens it.")
    elif leak.lost or leak.gained:
        found.append(
            f"Of the same {tight.opens.members:,} shots, {leak.lost} open without the leak and not "
            f"with it, {leak.gained} the other way round."
        )
    if tight.result.verdict != leaking.result.verdict:
        found.append(
            f"With nothing scattering the verdict is {leaking.result.verdict} with it and "
            f"{tight.result.verdict} without."
        )
    found.append(_beside_the_case(leak))
    return found


def _beside_the_case(leak: LeakDown) -> str:
    told = leak.estimate.telling
    if leak.clearance <= 0.0:
        return "The case reckons with no gap around the shoulder, so without this leak it is tight."
    ratio = told / leak.clearance
    size = (
        f"{digits(ratio)} times that" if ratio >= 1.0 else f"{digits(100.0 * ratio, 2)} % of that"
    )
    return (
        f"The case reckons with a gap around the shoulder that leaks as {area(leak.clearance)} at "
        f"the pressures of this test; the leak is {size}, holds the gap, and takes its place."
    )


def plugged(leak: LeakDown) -> str:
    """Return what was taken as plugged."""
    if not leak.plugged:
        return "The case has no opening of its own in the bay; what leaked is all in the leak."
    listed = ", ".join(f"{name} ({_mm2(each)})" for name, each in leak.plugged)
    return (
        f"Taken as plugged during the test: {listed}. They stay in the case as they are. If one "
        "was left open, it is in the leak as well and counts twice: plug it and test again."
    )


def settled(leak: LeakDown) -> list[str]:
    """Return the sentences about what pumping does to the air."""
    held, estimate = leak.settling, leak.estimate
    found = [
        f"Pumping to {psi(leak.start)} warms the air by at least {held.warmer:.0f} K. As it "
        f"cools, {psi(held.drop)} go without any leak, two thirds of that within "
        f"{time(held.time)} (estimate). Wait {time(held.wait)} after pumping, hold the pressure "
        "with the pump meanwhile, and read then."
    ]
    if not estimate.measurable:
        return found
    if estimate.fresh < 0.02 * estimate.area:
        found.append(
            "If the first reading was taken straight after pumping, cooling alone explains the "
            "fall, and there may be no leak at all."
        )
    else:
        found.append(
            "If the first reading was taken straight after pumping, the leak is only about "
            f"{area(estimate.fresh)}."
        )
    return found


def area(value: float) -> str:
    """Return an area as people say that of a small hole, in both units."""
    return show(value, "area")


def psi(value: float) -> str:
    """Return a gauge pressure as people say it."""
    return show(value, "gauge pressure")


def _mm2(value: float) -> str:
    return short(value, "area")


def _hole(value: float) -> str:
    return f"one round hole of {short(float(hole(value)), 'length')}"


def time(value: float) -> str:
    """Return a time, long ones in minutes and hours."""
    if not math.isfinite(value):
        return "for ever"
    if value >= 600.0:
        return f"{value / 60.0:.0f} min" if value < 36_000.0 else f"{value / 3600.0:.0f} h"
    return show(value, "time")


def entry(leak: LeakDown, source: str) -> LeakEntry:
    """Return the opening that stands for the leak in a case file.

    Parameters
    ----------
    leak : LeakDown
        Findings.
    source : str
        Name of the file that the case was read from.
    """
    estimate = leak.estimate
    most = f"{1e3 * float(hole(estimate.high)):.4g} mm"
    if estimate.measurable:
        path = f"openings[{len(leak.case.openings)}].diameter"
        deviation = leak.measured_case.spreads[path].deviation or 0.0
        share = 100.0 * deviation / float(hole(estimate.area))
        value = (
            f'{{ value = "{1e3 * float(hole(estimate.area)):.4g} mm", spread = "{share:.3g} %", '
            'distribution = "log-normal" }'
        )
        size = (
            f"Effective area {_mm2(estimate.area)}, 95 % from {_mm2(estimate.low)} to "
            f"{_mm2(estimate.high)}."
        )
    else:
        value = (
            f'{{ value = "{0.5e3 * float(hole(estimate.high)):.4g} mm", distribution = "uniform", '
            f'low = "0 mm", high = "{most}" }}'
        )
        size = f"No leak can be told; effective area at most {_mm2(estimate.high)} (95 %)."
    names = ", ".join(name for name, _ in leak.plugged) or "nothing, there is no opening"
    remarks = [
        f"Leak-down test of {source}: {_test_words(leak)}",
        size,
        f"Plugged during the test: {names}.",
        "What leaks by the shoulder is in this leak, so joint.clearance is nothing here.",
        f"By baypulse {__version__}.",
    ]
    return LeakEntry(
        name=LEAK,
        diameter=value,
        discharge=HOLE_DISCHARGE,
        remarks=tuple("".join(c for c in each if c.isprintable()) for each in remarks),
    )


def _test_words(leak: LeakDown) -> str:
    test = leak.test
    if isinstance(test, Falls):
        times = ", ".join(time(each) for each in test.times)
        return f"{psi(test.start)} to {psi(test.end)} in {times}."
    return f"record {test.source}, from {psi(leak.start)} on."
