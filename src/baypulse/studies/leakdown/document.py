"""What a leak-down test says: the leak with its interval, and what it does to the charge."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baypulse.case.quantities import about, digits, likely, percent, show
from baypulse.show.cells import both, clean
from baypulse.show.document import (
    Between,
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Quantity,
    Said,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge
from baypulse.studies.leakdown import words
from baypulse.studies.leakdown.figures import fall
from baypulse.studies.leakdown.result import HOLE_DISCHARGE, Falls, LeakDown, LeakShot, hole

UNKNOWN = (
    "The leak is taken as one hole that stays as it is: a thin gap passes more of a high pressure "
    "than the hole that falls as fast, a lip that lifts, a tape that peels or "
    "a shoulder that tilts under the charge leaks more than on the bench, and a hot gas leaves "
    "faster than cold air, which the shot reckons with. The test says nothing of where the leak "
    "is: listen, or brush on soap water. The air in the bay is taken as settled to the temperature "
    "of the wall at the first reading; how fast the wall warms the air, and how much the room "
    "drifts meanwhile, are estimates with wide spreads. Everything that was left open is in the "
    "leak; the case's own openings are taken as plugged."
)
"""What the test does not know."""

CAPTION = (
    "Above: the fall of the gauge as measured, the fall through the leak that was found (line), "
    "and through the ends of its interval with the free volume as given (band). Below: the bay's "
    "pressure when the charge of this case is fired, nothing scattering: tight but for the case's "
    "own openings, with the leak in place of the gap around the shoulder, and as the case stands. "
    "The dashed level is what friction and pins hold. The verdicts are those with nothing "
    "scattering."
)
"""What the figure shows."""


def document(leak: LeakDown) -> Document:
    """Return what a leak-down test says.

    Parameters
    ----------
    leak : LeakDown
        Findings.
    """
    size, causes, matter, *more = words.meaning(leak)
    return of_case(
        leak.case,
        "leakdown",
        about=f"Charge: {charge(leak.case)}",
        headline=words.headline(leak),
        sentences=tuple(filter(None, (size, causes, matter, *more))),
        first=_shots(leak),
        warnings=leak.warnings,
        sections=(
            Section("The fall, and the shot", (Figure("fall", CAPTION, lambda: fall(leak)),)),
            Section("What was measured", (_measured(leak), words.plugged(leak), _causes(leak))),
            Section("Warm air after pumping", tuple(words.settled(leak))),
        ),
        unknown=UNKNOWN,
        effort=f"The same {leak.members:,} shots with the leak and without, seed {leak.seed}.",
        findings=_findings(leak),
    )


def compare(found: Sequence[LeakDown]) -> Table:
    """Return a table that compares the leaks of several cases.

    Parameters
    ----------
    found : sequence of LeakDown
        Findings.
    """
    return Table(
        "leaks",
        (
            Column("case", "case"), Column("hole", "hole", "length"),
            Column("gas_lost_ratio", "gas lost"),
            Column("held_pressure", "held shut", "gauge pressure"),
            Column("separates", "separates in"), Column("matters", "it"),
        ),
        tuple(_compared(leak) for leak in found),
        title="Leaks, from the same test",
    )  # fmt: skip


def _compared(leak: LeakDown) -> tuple[Any, ...]:
    estimate, opens = leak.estimate, leak.leaking.opens
    assert opens is not None
    size, low, high = (float(hole(each)) for each in
                       (estimate.telling, estimate.low, estimate.high))  # fmt: skip
    most = Said(high, f"at most {show(high, 'length')}")
    return (
        leak.case.name, Between(size, low, high) if estimate.measurable else most,
        Said(leak.gone, f"{percent(leak.gone)} %"), leak.leaking.held,
        Said(opens, likely(opens.share)), words.matters(leak),
    )  # fmt: skip


def _shots(leak: LeakDown) -> Table:
    def row(shot: LeakShot) -> tuple[Any, ...]:
        numbers = shot.result.numbers
        return (shot.name, shot.area, shot.result.verdict, numbers.peak_pressure, shot.held,
                numbers.clear_velocity, shot.opens)  # fmt: skip

    return Table(
        "shots",
        (
            Column("name", "Leak"), Column("effective_area", "Area", "area"),
            Column("verdict", "Verdict"), Column("peak_pressure", "Peak", "gauge pressure"),
            Column("held_pressure", "Held shut", "gauge pressure"),
            Column("clear_velocity", "When clear", "velocity"),
            Column("separates", "Separates in"),
        ),
        tuple(row(each) for each in (leak.tight, leak.leaking, leak.given)),
    )  # fmt: skip


def _measured(leak: LeakDown) -> Facts:
    """Return what was measured, and in what bay."""
    test = leak.test
    rows: list[Fact]
    if isinstance(test, Falls):
        rows = [
            Fact("from", "Gauge at the beginning", Quantity(test.start, "gauge pressure")),
            Fact("to", "Gauge at the end", Quantity(test.end, "gauge pressure")),
            Fact("times", "Time", ", ".join(words.time(each) for each in test.times)),
            Fact("time_error", "Each within", Quantity(test.time_error, "time")),
            Fact("gauge_error", "Gauge errs by", Quantity(test.gauge_error, "gauge pressure")),
        ]
    else:
        read = leak.estimate.readings
        assert read is not None
        told = "told by the record" if read.zero_told else "as stated, the record does not tell it"
        rows = [
            Fact("file", "Record", test.source),
            Fact("readings", "Readings", read.count),
            Fact("over", "Over", Quantity(float(read.time[-1]), "time")),
            Fact("effective_readings", "As good as so many that err each for itself",
                 Said(clean(read.effective), f"{read.effective:.0f}")),
            Fact("from", "First pressure, fitted", Quantity(read.start, "gauge pressure")),
            Fact("noise", "Noise of a reading", Quantity(read.noise, "gauge pressure")),
            Fact("gauge_error", "Gauge errs by", Quantity(test.gauge_error, "gauge pressure")),
            Fact("zero", "The gauge's zero", Quantity(read.zero, "gauge pressure")),
            Fact("zero_error", "Give or take", Quantity(read.zero_error, "gauge pressure")),
            Fact("zero_told", "The zero is", Said(read.zero_told, told)),
            Fact("notes", "How it was read", " ".join(test.notes)),
        ]  # fmt: skip
    assumed = ", assumed" if leak.volume_assumed else ""
    error = f"{digits(100.0 * leak.volume_error, 2)} %{assumed}"
    pressure, temperature = leak.air
    return Facts(
        "measured",
        (
            *rows,
            Fact("free_volume", "Free volume", Quantity(leak.volume, "volume")),
            Fact("free_volume_error_ratio", "Give or take", Said(clean(leak.volume_error), error)),
            Fact("bench_pressure", "Air of the bench", Quantity(pressure, "absolute pressure")),
            Fact("bench_temperature", "At", Quantity(temperature, "temperature")),
        ),
    )


def _causes(leak: LeakDown) -> Table:
    return Table(
        "interval_comes_from",
        (Column("name", "What the interval comes from"),
         Column("share_ratio", "Share of the variance")),
        tuple(
            (name, Said(clean(share), about(share)))
            for name, share in leak.estimate.causes
        ),
    )  # fmt: skip


def _findings(leak: LeakDown) -> dict[str, Any]:
    estimate, settling = leak.estimate, leak.settling
    areas = {"": estimate.area, "_low": estimate.low, "_high": estimate.high}
    found: dict[str, Any] = {}
    for end, value in areas.items():
        found |= both(f"effective_area{end}", value, "area")
        found |= both(f"hole_diameter{end}", float(hole(value)), "length")
    return {
        "matters": words.matters(leak),
        "measurable": estimate.measurable,
        "confidence_ratio": 0.95,
        **found,
        **both("effective_area_if_read_at_once", estimate.fresh, "area"),
        "hole_discharge_ratio": HOLE_DISCHARGE,
        "times_s": clean(leak.test.times) if isinstance(leak.test, Falls) else None,
        "plugged": [{"name": name, **both("effective_area", each, "area")}
                    for name, each in leak.plugged],
        **both("clearance_area", leak.clearance, "area"),
        "settling": {
            "warmer_K": clean(settling.warmer),
            **both("pressure_drop", settling.drop, "gauge pressure"),
            **both("time_constant", settling.time, "time"),
            **both("wait", settling.wait, "time"),
        },
        "separates_only_tight": leak.lost,
        "separates_only_with_leak": leak.gained,
        "gas_lost_ratio": clean(leak.gone),
        **both("gas_lost_until", leak.gone_until, "time"),
        **both("bleed_time", leak.bleed, "time"),
        "held_pressure_loss_ratio": clean(words.held_loss(leak)),
        "seed": leak.seed,
        "fall": {
            "time_s": clean(leak.times), "fitted_Pa": clean(leak.fitted),
            "low_Pa": clean(leak.lowest), "high_Pa": clean(leak.highest),
        },
    }  # fmt: skip
