"""What the study of a charge aloft says: altitudes, differences, charges, sources of gas."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from baypulse.case import geometry
from baypulse.case.quantities import digits, height, percent
from baypulse.show.cells import both, chance, clean
from baypulse.show.document import (
    Between,
    Column,
    Document,
    Figure,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge
from baypulse.studies.aloft import figures, words
from baypulse.studies.aloft.result import Aloft, Need, SourceAloft, cord_margin

BELOW = (0.05, 0.5, 0.95)
"""Shares of the shots below each of three values."""

UNKNOWN = (
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
"""What the study does not know."""

CAPTIONS = {
    "steps": "With nothing scattering, from the ground test at the test site to the highest "
    "altitude asked for: each row adds one difference to those above it. Tick in the first column: "
    "gauge pressure that overcomes friction and pins. Another order would share the effects out "
    "otherwise.",
    "curves": "With nothing scattering: the same charge at the test site and at the highest "
    "altitude asked for. Level lines: gauge pressure that overcomes friction and pins.",
    "sources": "Share of the same shots that separate, with 95 % intervals. Each curve ends to be "
    "trusted where it falls below the target reliability. The lone point of each is at the test "
    "site, set up as in the ground test.",
}
"""What each figure shows."""

PEAK = ("peak_pressure", "Peak pressure", "gauge pressure")
"""Name, label and kind of the greatest pressure."""

HOLD = Column("hold_pressure", "It takes", "gauge pressure")
"""The pressure that overcomes friction, seal and pins."""

SPEED = ("clear_velocity", "Speed when clear", "velocity")
"""Name, label and kind of the separation velocity."""

ALTITUDE = Column("altitude", "Altitude", "altitude")
"""The column of a place's altitude."""

WHERE = Column("name", "Where")
"""The column that says whether it is the test site."""


def document(aloft: Aloft) -> Document:
    """Return what was found of a charge aloft.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    return of_case(
        aloft.case,
        "aloft",
        about=f"Charge: {charge(aloft.case)}",
        headline=words.headline(aloft),
        sentences=tuple(words.meaning(aloft)),
        next_steps=tuple(words.next_steps(aloft)),
        first=_levels(aloft),
        warnings=aloft.warnings,
        sections=(
            Section(
                "The same charge at the test site and aloft",
                (_figure("curves", aloft), _nominal(aloft), _scatter(aloft)),
            ),
            Section("One difference at a time", (_figure("steps", aloft), _steps(aloft))),
            Section("The same margin at altitude", (*words.needs(aloft), _needs(aloft))),
            Section(
                "Loose powder, a holder, or cold gas",
                (*words.source_sentences(aloft), _figure("sources", aloft), _sources(aloft)),
            ),
        ),
        unknown=UNKNOWN,
        effort=f"{aloft.members:,} shots, the same at every altitude and of every source, seed "
        f"{aloft.seed}; {aloft.runs:,} runs.",
        findings=_findings(aloft),
        files={"aloft.csv": _over_altitude(aloft)},
    )


def compare(found: Sequence[Aloft]) -> Table:
    """Return a table of the same charges aloft of several cases.

    Parameters
    ----------
    found : sequence of Aloft
        Findings, one a case.
    """
    return Table(
        "cases",
        (
            Column("case", "case"), Column("test_site", "test site"), Column("aloft", "aloft"),
            Column("holds_up_to", "its source holds to"),
            Column("charge_of_same_margin", "same margin", absent="none"),
            Column("limit_exceeded_too_often", "which exceeds", absent=""),
        ),
        tuple(
            (
                aloft.case.name, aloft.levels[0].trial.opens, aloft.highest.trial.opens,
                words.reach(aloft, aloft.sources[0]),
                _charge(aloft, aloft.needs[-1].charge), aloft.needs[-1].limit or None,
            )
            for aloft in found
        ),
        title="Aloft: chance of separation at the test site and at the highest altitude; charge of "
        "like margin there",
    )  # fmt: skip


def _figure(name: str, aloft: Aloft) -> Figure:
    return Figure(name, CAPTIONS[name], lambda: figures.DRAW[name](aloft))


def _charge(aloft: Aloft, value: float | None) -> Quantity | None:
    return None if value is None else Quantity(value, aloft.dimension)


def _levels(aloft: Aloft) -> Table:
    """Return what the charge does at every altitude."""
    return Table(
        "levels",
        (
            ALTITUDE, WHERE, Column("separates", "Separates"),
            Column("limit_exceeded", "Exceeds a limit"),
            Column("nominal_clear_velocity", *SPEED[1:], absent="does not separate"),
            Column("nominal_cord_margin_ratio", "Margin of the cord", absent="no load"),
        ),
        tuple(
            (level.altitude, level.name, level.trial.opens, level.trial.fails_hard,
             level.result.numbers.clear_velocity, cord_margin(level.result.numbers))
            for level in aloft.levels
        ),
        note="Speed and margin are with nothing scattering.",
    )  # fmt: skip


def _nominal(aloft: Aloft) -> Table:
    """Return the air and the shot at every altitude, with nothing scattering."""
    shots = [(level.result.case, level.result.numbers) for level in aloft.levels]
    return Table(
        "nominal",
        (
            ALTITUDE, Column("air_pressure", "Air", "absolute pressure"),
            Column("air_temperature", "Temperature", "temperature"),
            Column("nominal_peak_pressure", *PEAK[1:]), HOLD,
            Column("nominal_burnt", "Burns", "ratio"),
            Column("nominal_clear_time", "Clear after", "time"),
            Column("nominal_cord_load", "Cord load", "force"),
            Column("nominal_verdict", "Verdict"),
        ),
        tuple(
            (case.surroundings.altitude, *geometry.air(case), one.peak_pressure, one.pin_pressure,
             _burns(one.burnt), one.clear_time, one.cord_load, str(level.result.verdict))
            for (case, one), level in zip(shots, aloft.levels, strict=True)
        ),
        title="With nothing scattering",
    )  # fmt: skip


def _scatter(aloft: Aloft) -> Table:
    """Return how the shots scatter at every altitude."""
    return Table(
        "scatter",
        (
            ALTITUDE, Column(*PEAK, BELOW), Column("burnt", "Burns", "ratio", BELOW),
            Column(*SPEED, BELOW, "in no shot"),
            Column("cord_load", "Cord load", "force", BELOW, "in no shot"),
        ),
        tuple(
            (level.altitude, level.trial.peak_pressure, _burns(*level.burnts),
             level.trial.clear_velocity, level.trial.cord_load)
            for level in aloft.levels
        ),
        title="5 / 50 / 95 % of the shots below",
    )  # fmt: skip


def _burns(*shares: float) -> Said:
    """Return the share of the charge that burns, or several of them, in percent."""
    text = " / ".join(percent(share) for share in shares)
    return Said(shares if len(shares) > 1 else shares[0], f"{text} %")


def _steps(aloft: Aloft) -> Table:
    """Return what every difference does, and the least charge over that of the row before."""
    least, numbers = zip(*((step.least, step.result.numbers) for step in aloft.steps), strict=True)
    factors = [None] + [
        Said(after / before, f"x {digits(after / before)}") if before and after else None
        for before, after in pairwise(least)
    ]
    return Table(
        "steps",
        (
            Column("effect", "With"), Column(*PEAK), HOLD, Column(*SPEED),
            Column("cord_margin_ratio", "Margin of the cord", absent="no load"),
            Column("least_charge", f"Least {aloft.label}", aloft.dimension, absent="none"),
            Column("of_the_one_before_ratio", "Of the one before", absent=""),
        ),
        tuple(
            (Said(step.effect, step.label), one.peak_pressure, one.pin_pressure,
             one.clear_velocity, cord_margin(one), step.least, factor)
            for step, one, factor in zip(aloft.steps, numbers, factors, strict=True)
        ),
    )  # fmt: skip


def _needs(aloft: Aloft) -> Table:
    """Return at the test site and every altitude: least charge, same margin, what that does."""
    # an answer knows of the test site alone
    levels = aloft.levels if aloft.needs else aloft.levels[:1]
    known = zip(levels, (aloft.home_need, *aloft.needs), strict=True)
    return Table(
        "charges",
        (
            ALTITUDE, WHERE,
            Column("least_charge", f"Least {aloft.label}", aloft.dimension, absent="none"),
            Column("charge_of_same_margin", "Same margin as at the test site", aloft.dimension,
                   absent="none"),
            Column("separates", "Separates"), Column("limit_exceeded", "Exceeds a limit"),
            Column("limit_exceeded_too_often", "Too often", absent=""),
        ),
        tuple(
            (need.altitude, level.name, _least(need), need.charge, need.opens, need.fails_hard,
             need.limit or None)
            for level, need in known
        ),
    )  # fmt: skip


def _least(need: Need) -> Between | None:
    least = need.least
    return None if least is None else Between(least.charge, least.low, least.high)


def _sources(aloft: Aloft) -> Table:
    """Return every source: its chance at each altitude asked for, how high it holds."""
    asked = [level.altitude for level in aloft.levels[1:]]
    return Table(
        "sources",
        (
            Column("name", "Source"), Column("separates_at_test_site", "At the test site"),
            *(Column(f"separates_aloft_{k}", height(altitude))
              for k, altitude in enumerate(asked, start=1)),
            Column("holds_up_to", "Holds the target reliability up to"),
        ),
        tuple(
            (Said(each.name, words.named(each)), each.chances[0],
             *(words.chance_at(each, altitude) for altitude in asked), _held(aloft, each))
            for each in aloft.sources
        ),
    )  # fmt: skip


def _held(aloft: Aloft, source: SourceAloft) -> Said:
    return Said(Between(*source.height, "altitude"), words.reach(aloft, source))


def _over_altitude(aloft: Aloft) -> Table:
    """Return the chance of every source at every altitude, for a spreadsheet."""
    return Table(
        "over_altitude",
        (
            Column("source", ""), Column("own", ""), Column("altitude", "", "altitude"),
            Column("separates", ""),
        ),
        tuple(
            (source.name, source.own, float(altitude), each)
            for source in aloft.sources
            for altitude, each in zip(source.altitudes, source.chances, strict=True)
        ),
    )  # fmt: skip


def _findings(aloft: Aloft) -> dict[str, Any]:
    """Return what stands in no table."""
    return {
        "reliability_ratio": clean(aloft.wanted),
        "simulated_shots": aloft.members,
        "seed": aloft.seed,
        "runs": aloft.runs,
        **both("present_charge", aloft.present, aloft.dimension),
        "margin_at_test_site_ratio": clean(aloft.margin),
        **both("highest_altitude_tried", aloft.top, "altitude"),
        "clear_times_s": [clean(level.clear_times) for level in aloft.levels],
        "charges": [
            {
                **both("altitude", need.altitude, "altitude"),
                **both("highest_charge_tried", need.highest, aloft.dimension),
                "separates_at_highest_ratio": clean(need.share_at_highest),
                "separates_at_least": None if need.least is None else chance(need.least.chance),
            }
            for need in (aloft.home_need, *aloft.needs)
        ],
        "sources": [
            {
                "name": each.name,
                "own": each.own,
                "assumed": each.assumed,
                "holds_at_test_site": each.height.altitude > -math.inf,
                "holds_at_all_tried": each.height.altitude == math.inf,
            }
            for each in aloft.sources
        ],
        "source_missing": aloft.missing,
    }
