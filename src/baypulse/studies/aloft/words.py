"""The sentences of a charge aloft: what the ground test proves, the charge, the source of gas."""

from __future__ import annotations

import math

from baypulse.case.quantities import asked, capital, digits, height, likely, percent, show, span
from baypulse.members.chances import Chance
from baypulse.studies.aloft.altitude_case import BURNING
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE, own_source
from baypulse.studies.aloft.result import Aloft, AltitudeStep, Need, SourceAloft

DOUBTFUL = 6000.0
"""Altitude above which loose powder is a guess, whatever the numbers say [m]: loose charges are
trusted up to about 6 to 9 km, common practice, no source."""

MATTERS = 0.02
"""Relative change of the least charge from which on a difference is worth a word."""


def headline(aloft: Aloft) -> str:
    """Return what becomes of the charge up there, in a few words."""
    home, *_, high = (level.trial.opens.share for level in aloft.levels)
    where = height(aloft.highest.altitude)
    if high >= aloft.wanted:
        return f"Separates at {where} too: in {likely(high)} of the shots"
    if home < aloft.wanted:
        return (
            f"Separates too seldom, at the test site and at {where}: in {likely(home)} and "
            f"{likely(high)} of the shots"
        )
    return f"Separates at the test site, too seldom at {where}: in {likely(high)} of the shots"


def meaning(aloft: Aloft) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    hard = [
        f"in {likely(level.trial.fails_hard.share)} of the shots at "
        f"{height(level.altitude) if level in aloft.levels[1:] else 'the test site'}"
        for level in aloft.levels
        if level.trial.fails_hard.share > 1.0 - aloft.wanted
    ]
    found = [f"A limit is exceeded too often: {', '.join(hard)}."] if hard else []
    return [*found, *ground_test(aloft), burning(aloft)]


def next_steps(aloft: Aloft) -> list[str]:
    """Return what to do: mend the bay, the ground test that stands for the charge, the source.

    Nothing as long as the sources are not compared.
    """
    if not aloft.sources:
        return []
    first, last = aloft.steps[0].least, aloft.steps[-1].least
    found = []
    if aloft.levels[0].trial.opens.share < aloft.wanted:
        least = aloft.home_need.least
        takes = f": there it takes {_charge(aloft, least.charge)} or more" if least else ""
        found.append(f"Mend first what keeps the bay shut at the test site{takes}.")
    elif first is not None and last is not None and last > first:
        found.append(
            f"A ground test that is to stand for {_charge(aloft, aloft.present)} at altitude is "
            f"one with {_charge(aloft, aloft.present * first / last)}, as far as this model is "
            "right; one with the full charge proves the strength of the bay and the cord."
        )
    return [*found, advice(aloft)]


def ground_test(aloft: Aloft) -> list[str]:
    """Return what the ground test at home proves and what it does not.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    where = height(aloft.highest.altitude)
    found = [
        "The ground test proves what is the same at altitude: free volume, leaks, fit, packing, "
        "igniter and holder."
    ]
    first, *rest = aloft.steps
    last = rest[-1]
    if first.least is None:
        found.append(
            "With nothing scattering no charge that was tried opens this bay at the test site, so "
            "nothing can be carried over to another altitude."
        )
        return found
    strong, weak = [], []
    before: AltitudeStep = first
    for step in rest:
        name = step.label.partition(" (")[0]
        if before.least is None or step.least is None:
            strong.append(f"{name} (no charge opens it then)" if before.least else name)
        elif abs(step.least / before.least - 1.0) >= MATTERS:
            strong.append(f"{name} (least charge x {digits(step.least / before.least)})")
        else:
            weak.append(name)
        before = step
    text = f"It does not prove what differs at {where}"
    text += f": {', '.join(strong)}." if strong else ", which is little here."
    if strong and weak:
        text += f" Hardly any difference: {', '.join(weak)}."
    found.append(text)
    if last.least is not None:
        found.append(_stands_for(aloft, first.least, last.least))
    return found


def _stands_for(aloft: Aloft, home: float, high: float) -> str:
    """Return how much more it takes up there than on the ground, a sentence."""
    text = (
        f"With nothing scattering it takes {_charge(aloft, home)} to open the bay at the test site "
        f"and {_charge(aloft, high)} at {height(aloft.highest.altitude)}, {digits(high / home)} "
        "times as much"
    )
    if high <= home:
        text += ": the test site is the harder place of the two, as far as this model is right"
    return f"{text}."


def burning(aloft: Aloft) -> str:
    """Return what is known of the burning in thin air, a sentence."""
    high, name = aloft.highest, own_source(aloft.home).name
    if name == COLD_GAS:
        return (
            "The reservoir is closed at the test site; at altitude its gas is as cold as the air, "
            "and its pressure falls with it."
        )
    if name == HOLDER:
        return (
            "Powder in a holder is taken to burn as well at altitude as at the test site, until "
            "the holder bursts and after it; nobody has measured that."
        )
    low, middle, most = (percent(share) for share in high.burnts)
    text = (
        f"How much of a loose charge burns at {height(high.altitude)} is an estimate with wide "
        f"scatter: {middle} % in the middle shot, {low} to {most} % in nine of ten."
    )
    step = next((each for each in aloft.steps if each.effect == BURNING), None)
    before = aloft.steps[aloft.steps.index(step) - 1] if step is not None else None
    if step is not None and before is not None and step.least == before.least:
        text += (
            " With nothing scattering the air there is just thick enough, so one difference at a "
            "time shows no effect of it: what counts is its scatter."
        )
    return text


def needs(aloft: Aloft) -> list[str]:
    """Return the sentences about the charge that gives the same margin up there.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    wanted = asked(aloft.wanted)
    least = aloft.home_need.least
    if least is None:
        found = [
            f"At the test site not even {_charge(aloft, aloft.home_need.highest)}, the most that "
            f"was looked at, opens the bay in {wanted} of the shots, so there is no margin to keep."
        ]
    else:
        assert aloft.margin is not None
        found = [
            f"At the test site the least {aloft.label} that opens the bay in {wanted} of the shots "
            f"is {_edge(aloft, aloft.home_need)}; the case has {_charge(aloft, aloft.present)}, "
            f"{digits(aloft.margin)} times that"
            + (": there is no margin to keep." if aloft.margin < 1.0 else ".")
        ]
    return found + [_need(aloft, need) for need in aloft.needs]


def _need(aloft: Aloft, need: Need) -> str:
    where = height(need.altitude)
    if need.least is None:
        return (
            f"At {where} there is no such {aloft.label}: not even "
            f"{_charge(aloft, need.highest)}, the most that was looked at, opens the bay in more "
            f"than {likely(need.share_at_highest)} of the shots."
        )
    text = f"At {where} the least is {_edge(aloft, need)}"
    if need.charge is None or need.opens is None or need.fails_hard is None:
        return f"{text}."
    text += (
        f"; the same margin is {_charge(aloft, need.charge)}, which opens the bay there in "
        f"{likely(need.opens.share)} of the shots"
    )
    if need.limit:
        text += (
            f" and exceeds a limit in {likely(need.fails_hard.share)} of them ({need.limit}): "
            "more than this bay stands. The same margin is not to be had at altitude; take weaker "
            "or fewer pins, or another source"
        )
    else:
        text += f" and exceeds a limit in {likely(need.fails_hard.share)}"
    return f"{text}."


def source_sentences(aloft: Aloft) -> list[str]:
    """Return how high each source is to be trusted, and what was assumed.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    found = [f"{capital(named(each))}: {trusted(aloft, each)}." for each in aloft.sources]
    found += [each.assumed for each in aloft.sources if each.assumed]
    return [*found, *([aloft.missing] if aloft.missing else [])]


def named(source: SourceAloft) -> str:
    """Return the name of a source, and whether it is the case's own."""
    return f"{source.name}{' (this case)' if source.own else ''}"


def trusted(aloft: Aloft, source: SourceAloft) -> str:
    """Return up to which altitude a source opens the bay with the target reliability, in words."""
    wanted = asked(aloft.wanted)
    held = source.height
    if held.altitude == -math.inf:
        share = likely(source.chances[0].share)
        return f"opens the bay in {share} of the shots at the test site already, not in {wanted}"
    if held.altitude == math.inf:
        text = (
            f"opens the bay in {wanted} of the shots up to {height(aloft.top)}, the highest tried"
        )
        if held.low == -math.inf:
            text += "; so few shots do not make that sure"
        elif math.isfinite(held.low):
            text += f"; by so many shots that is sure only up to {height(held.low)}"
        return text
    low = "test site" if held.low == -math.inf else height(held.low)
    high = "above what was tried" if held.high == math.inf else height(held.high)
    text = (
        f"opens the bay in {wanted} of the shots up to {height(held.altitude)} "
        f"(95 % interval {low} to {high})"
    )
    return f"{text}; it is not to be trusted above that" if source.name == LOOSE else text


def advice(aloft: Aloft) -> str:
    """Return which source to use at the highest altitude asked for, a sentence."""
    where = aloft.highest.altitude
    good = {each.name: each for each in aloft.sources if each.height.altitude >= where}
    own = aloft.sources[0]
    text = f"For {height(where)}: "
    if own.name in good:
        text += f"by these numbers {own.name}, as in the case, will do"
        if own.name == LOOSE and where > DOUBTFUL:
            text += (
                f"; but above about {height(DOUBTFUL)} loose powder is a guess, and a holder that "
                "bursts costs little"
            )
        return f"{text}."
    for name in (HOLDER, COLD_GAS, LOOSE):
        if name in good:
            if good[name].own:
                continue
            return f"{text}do not trust {own.name}; {name} as described here holds the chance."
    if len(aloft.sources) == 1:
        return (
            f"{text}this {own.name} does not hold the target reliability; more of it, fewer or "
            "weaker pins, or a tighter bay would."
        )
    best = max(aloft.sources, key=lambda each: chance_at(each, where).share)
    return (
        f"{text}no source as described here holds the target reliability; {best.name} comes "
        f"nearest, with {likely(chance_at(best, where).share)}. More of it within the limits, "
        "fewer or weaker pins, or a tighter bay."
    )


def chance_at(source: SourceAloft, altitude: float) -> Chance:
    """Return the chance that a source opens the bay at one of the altitudes tried."""
    return source.chances[int(source.altitudes.searchsorted(altitude))]


def reach(aloft: Aloft, source: SourceAloft) -> str:
    """Return up to which altitude a source holds the target reliability, for a table."""
    held = source.height.altitude
    if math.isinf(held):
        return "not at the test site" if held < 0.0 else f"{height(aloft.top)} and more"
    return height(held)


def _charge(aloft: Aloft, value: float) -> str:
    gauge = " gauge" if aloft.dimension == "gauge pressure" else ""
    return show(value, aloft.dimension) + gauge


def _edge(aloft: Aloft, need: Need) -> str:
    assert need.least is not None
    held = need.least
    if math.isfinite(held.low) and math.isfinite(held.high):
        ends = span(held.low, held.high, aloft.dimension)
    else:
        low, high = (
            _charge(aloft, end) if math.isfinite(end) else "beyond the search"
            for end in (held.low, held.high)
        )
        ends = f"{low} to {high}"
    return f"{_charge(aloft, held.charge)} (95 % interval {ends})"
