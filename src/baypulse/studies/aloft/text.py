"""What the study of a charge aloft says, in words: sentences, rows of tables, the summary."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from baypulse.case import units
from baypulse.case.quantities import capital, digits, interval, percent, show
from baypulse.caution import CAUTION
from baypulse.members.chances import Chance
from baypulse.show.text import WIDE, charge, cut, wrapped
from baypulse.studies.aloft.altitude_case import BURNING
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE
from baypulse.studies.aloft.result import Aloft, AltitudeStep, Level, Need, SourceAloft

DOUBTFUL = 6000.0
"""Altitude above which loose powder is a guess, whatever the numbers say [m]: loose charges are
trusted up to about 6 to 9 km, common practice, no source."""

MATTERS = 0.02
"""Relative change of the least charge from which on a difference is worth a word."""

LIMITS_OF_ALOFT = (
    "Nobody has published a measurement of a charge in a bay in thin air. How much of a loose "
    "charge burns there is an estimate with a wide scatter, and a holder is taken to make all of "
    "it burn that burns at the test site. Pins and cord are taken to be as cold as the standard "
    "air: for opening that is the hard end, since a bay keeps some warmth of the pad and of the "
    "flight. The powder itself, its igniter and the friction of the joint are taken to be as at "
    "the test site, though a cold fit may bind and moisture freezes. What cold does to the cord "
    "is an estimate. The air is that of the standard atmosphere, colder where the day at the test "
    "site is typed as colder than that (a warmer one is not counted), and real air may be 20 K "
    "from it. The rocket is at the top of its path: both sections free, no spin, no wind but the "
    "drag that the case states. To separate means that the parachute comes out too, where the "
    "case asks for that. Air trapped in a bay without vents is not counted. A cold gas is an "
    "ideal gas: for a liquefied one, such as carbon dioxide, cold takes far more of the pressure."
)
"""Printed in every report of a charge aloft."""


def height(altitude: float) -> str:
    """Return an altitude in both systems, such as ``"9.00 km (29,500 ft)"``.

    Parameters
    ----------
    altitude : float
        [m].
    """
    feet = units.convert(altitude, "ft")
    rounded = round(feet, -2) if feet >= 1000.0 else round(feet, -1)
    metres = f"{altitude / 1000.0:.2f} km" if altitude >= 995.0 else f"{altitude:.0f} m"
    return f"{metres} ({rounded:,.0f} ft)"


def chance_text(each: Chance) -> str:
    """Return a chance with its interval, such as ``"0 % (95 % interval 0 to 0.36 %)"``."""
    return f"{percent(each.share)} % (95 % interval {interval(each.share, each.low, each.high)} %)"


def headline(aloft: Aloft) -> str:
    """Return what becomes of the charge up there, in a few words."""
    high, home = aloft.highest, aloft.levels[0]
    where = height(high.altitude)
    if high.opens.share >= aloft.wanted:
        return f"Separates at {where} too: in {percent(high.opens.share)} % of the shots"
    if home.opens.share < aloft.wanted:
        return (
            f"Separates too seldom, at the test site and at {where}: in "
            f"{percent(home.opens.share)} and {percent(high.opens.share)} % of the shots"
        )
    return (
        f"Separates at the test site, too seldom at {where}: in {percent(high.opens.share)} % of "
        "the shots"
    )


def meaning(aloft: Aloft) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    home = aloft.levels[0]
    found = [
        f"At the test site, at {height(home.altitude)}, this charge opens the bay in "
        f"{chance_text(home.opens)} of the shots; "
        + "; ".join(
            f"at {height(level.altitude)} in {chance_text(level.opens)}"
            for level in aloft.levels[1:]
        )
        + "."
    ]
    if any(level.fails_hard.share > 1.0 - aloft.wanted for level in aloft.levels):
        found.append(
            "A limit is exceeded in "
            + "; ".join(
                f"{percent(level.fails_hard.share)} % of them "
                f"{'at the test site' if level is home else 'at ' + height(level.altitude)}"
                for level in aloft.levels
            )
            + "."
        )
    return [*found, *ground_test(aloft), burning(aloft)]


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
    if aloft.levels[0].opens.share < aloft.wanted:
        found.append(
            "Here it fails at the test site already, more often than is wanted: mend that first."
        )
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
    """Return which ground test stands for the charge up there, a sentence."""
    where = height(aloft.highest.altitude)
    ratio = high / home
    text = (
        f"With nothing scattering it takes {_charge(aloft, home)} to open the bay at the test site "
        f"and {_charge(aloft, high)} at {where}, {digits(ratio)} times as much. "
    )
    if ratio <= 1.0:
        return (
            f"{text}So the test site is the harder place of the two, as far as this model is right."
        )
    return (
        f"{text}So a ground test that is to stand for {_charge(aloft, aloft.present)} at altitude "
        f"is one with {_charge(aloft, aloft.present / ratio)}, as far as this model is right; a "
        "ground test with the full charge proves the strength of the bay and the cord."
    )


def burning(aloft: Aloft) -> str:
    """Return what is known of the burning in thin air, a sentence."""
    high, name = aloft.highest, aloft.sources[0].name
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
            " With nothing scattering the air there is just thick enough, so the steps above show "
            "no effect of it: what counts is its scatter."
        )
    return text


def needs(aloft: Aloft) -> list[str]:
    """Return the sentences about the charge that gives the same margin up there.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    wanted = f"{100.0 * aloft.wanted:.6g} %"
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
            f"than {percent(need.share_at_highest)} % of the shots."
        )
    text = f"At {where} the least is {_edge(aloft, need)}"
    if need.charge is None or need.opens is None or need.fails_hard is None:
        return f"{text}."
    text += (
        f"; the same margin is {_charge(aloft, need.charge)}, which opens the bay there in "
        f"{percent(need.opens.share)} % of the shots"
    )
    if need.limit:
        text += (
            f" and exceeds a limit in {percent(need.fails_hard.share)} % of them ({need.limit}): "
            "more than this bay stands. The same margin is not to be had at altitude; take weaker "
            "or fewer pins, or another source"
        )
    else:
        text += f" and exceeds a limit in {percent(need.fails_hard.share)} %"
    return f"{text}."


def source_sentences(aloft: Aloft) -> list[str]:
    """Return how high each source is to be trusted, what was assumed, and which to use.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    found = [f"{capital(each.name)}{_own(each)}: {trusted(aloft, each)}." for each in aloft.sources]
    found += [each.assumed for each in aloft.sources if each.assumed]
    return [*found, *([aloft.missing] if aloft.missing else []), advice(aloft)]


def _own(source: SourceAloft) -> str:
    return " (this case)" if source.own else ""


def trusted(aloft: Aloft, source: SourceAloft) -> str:
    """Return up to which altitude a source opens the bay with the target reliability, in words."""
    wanted = f"{100.0 * aloft.wanted:.6g} %"
    held = source.height
    if held.altitude == -math.inf:
        share = percent(source.chances[0].share)
        return f"opens the bay in {share} % of the shots at the test site already, not in {wanted}"
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
                "; but above about 6 km loose powder is a guess, and a holder that bursts costs "
                "little"
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
    best = max(aloft.sources, key=lambda each: _share_at(each, where))
    return (
        f"{text}no source as described here holds the target reliability; {best.name} comes "
        f"nearest, with {percent(_share_at(best, where))} %. More of it within the limits, fewer "
        "or weaker pins, or a tighter bay."
    )


def _share_at(source: SourceAloft, altitude: float) -> float:
    return source.chances[int(source.altitudes.searchsorted(altitude))].share


def level_rows(aloft: Aloft) -> list[tuple[str, ...]]:
    """Return every altitude: the air, the chances, and the numbers with nothing scattering."""
    return [
        (
            f"{'test site, ' if level.name == 'test site' else ''}{height(level.altitude)}",
            show(level.pressure, "absolute pressure"),
            show(level.temperature, "temperature"),
            chance_text(level.opens), f"{percent(level.fails_hard.share)} %",
            _gauge(level.peak_pressure), _gauge(level.hold_pressure),
            _given(level.clear_time, "time"), _given(level.clear_velocity, "velocity"),
            _margin(level.cord_margin),
        )
        for level in aloft.levels
    ]  # fmt: skip


def step_rows(aloft: Aloft) -> list[tuple[str, ...]]:
    """Return every step: peak, what holds, speed, cord margin, least charge, its factor."""
    rows: list[tuple[str, ...]] = []
    before: AltitudeStep | None = None
    for step in aloft.steps:
        factor = ""
        if before is not None and before.least is not None and step.least is not None:
            factor = f"x {digits(step.least / before.least)}"
        rows.append(
            (
                step.label, _gauge(step.peak_pressure), _gauge(step.hold_pressure),
                _given(step.clear_velocity, "velocity"), _margin(step.cord_margin),
                "none" if step.least is None else show(step.least, aloft.dimension), factor,
            )
        )  # fmt: skip
        before = step
    return rows


def need_rows(aloft: Aloft) -> list[tuple[str, ...]]:
    """Return at home and every altitude: least charge, the same margin, and what that does."""
    return [
        (
            f"{'home, ' if need is aloft.home_need else ''}{height(need.altitude)}",
            "none" if need.least is None else _edge(aloft, need),
            "none" if need.charge is None else _charge(aloft, need.charge),
            "" if need.opens is None else f"{percent(need.opens.share)} %",
            "" if need.fails_hard is None else f"{percent(need.fails_hard.share)} %",
        )
        for need in (aloft.home_need, *aloft.needs)
    ]  # fmt: skip


def source_rows(aloft: Aloft) -> list[tuple[str, ...]]:
    """Return every source: its chance at home and at each altitude asked for, how high it holds."""
    asked = [level.altitude for level in aloft.levels[1:]]
    return [
        (
            f"{each.name}{_own(each)}", f"{percent(each.chances[0].share)} %",
            *(f"{percent(_share_at(each, altitude))} %" for altitude in asked),
            _height_cell(aloft, each),
        )
        for each in aloft.sources
    ]  # fmt: skip


def _height_cell(aloft: Aloft, source: SourceAloft) -> str:
    held = source.height.altitude
    if math.isinf(held):
        return "not at the test site" if held < 0.0 else f"{height(aloft.top)} and more"
    return height(held)


def _charge(aloft: Aloft, value: float) -> str:
    gauge = " gauge" if aloft.dimension == "gauge pressure" else ""
    return show(value, aloft.dimension) + gauge


def _edge(aloft: Aloft, need: Need) -> str:
    assert need.least is not None
    ends = [
        "beyond the search" if math.isnan(end) else _charge(aloft, end)
        for end in (need.least.low, need.least.high)
    ]
    return f"{_charge(aloft, need.least.charge)} (95 % interval {ends[0]} to {ends[1]})"


def _gauge(value: float) -> str:
    return show(value, "gauge pressure")


def _given(value: float | None, dimension: str) -> str:
    return "does not open" if value is None else show(value, dimension)


def _margin(value: float | None) -> str:
    return "no load" if value is None else digits(value)


def summary(aloft: Aloft) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    aloft : Aloft
        Findings.

    Returns
    -------
    str
        Headline and meaning, altitudes, steps, charges, sources, warnings, the caution.
    """
    case = aloft.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(aloft).upper(), "  ", "  ")]
    for sentence in meaning(aloft):
        lines += wrapped(sentence, "  ", "    ")
    lines += ["", *wrapped(f"Charge: {charge(case)}", "  ", "  ")]
    lines += ["", "  Altitude: separates; peak pressure; speed when clear; margin of the cord"]
    lines += cut(_table([_level_line(level) for level in aloft.levels]))
    lines += ["", f"  One difference at a time: peak pressure; least {aloft.label}"]
    lines += cut(_table([(row[0], row[1], row[5], row[6]) for row in step_rows(aloft)]))
    lines += ["", "  The same margin"]
    for sentence in needs(aloft):
        lines += wrapped(sentence, "    ", "      ")
    lines += ["", "  Source of the gas"]
    for sentence in source_sentences(aloft):
        lines += wrapped(sentence, "    ", "      ")
    lines += ["", "  Warnings"] * bool(aloft.warnings)
    for text in aloft.warnings:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def _level_line(level: Level) -> tuple[str, ...]:
    return (
        f"{'test site' if level.name == 'test site' else height(level.altitude)}",
        f"{percent(level.opens.share)} %", _gauge(level.peak_pressure),
        _given(level.clear_velocity, "velocity"), _margin(level.cord_margin),
    )  # fmt: skip


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        f"    {'  '.join(c.ljust(w) for c, w in zip(row, widths, strict=True))}".rstrip()
        for row in rows
    ]


def compare(found: Sequence[Aloft]) -> str:
    """Return a table of several cases, for the terminal.

    Parameters
    ----------
    found : sequence of Aloft
        Findings, one a case.
    """
    rows = [("case", "test site", "aloft", "its source holds to", "same margin")]
    for aloft in found:
        need = aloft.needs[-1]
        same = "none" if need.charge is None else _charge(aloft, need.charge)
        held = aloft.sources[0].height.altitude
        reach = f"{min(held, aloft.top) / 1000.0:.1f} km{' and more' if held > aloft.top else ''}"
        rows.append(
            (
                aloft.case.name, f"{percent(aloft.levels[0].opens.share)} %",
                f"{percent(aloft.highest.opens.share)} %",
                "not at test site" if held == -math.inf else reach,
                f"{same}{', exceeds a limit' if need.limit else ''}",
            )
        )  # fmt: skip
    where = height(found[0].highest.altitude)
    lines = [f"Aloft: chance of separation, test site and {where}; charge of like margin"]
    return "\n".join([*lines, *cut(_table(rows)), "", *textwrap.wrap(CAUTION, WIDE)]) + "\n"
