"""The sentences of a fit: what was learnt, what it means for the next shot, what to doubt."""

from __future__ import annotations

import math

from baypulse.case.casefile.keys import key_at
from baypulse.case.quantities import about, capital, chance, digits, likely, percent, short, show
from baypulse.case.spec import Number
from baypulse.observed.measured import BAROMETER, DIMENSIONS, PRESSURE
from baypulse.show.phrases import case_file
from baypulse.studies.fit.logger_figures import CORD, MASS_RATIO
from baypulse.studies.fit.responses import AVERAGED, BEHIND, DRIFT, FIRED, LAG, SCALE, ZERO
from baypulse.studies.fit.result import NOTHING, Fit, Fitted, LoggerFigure, RecordFit
from baypulse.studies.fit.unknowns import Unknown

LITTLE = 0.7
"""Posterior over prior standard deviation above which little was learnt."""

WELL = 0.4
"""The same, below which much was learnt."""

TOGETHER = 0.95
"""Correlation beyond which two unknowns cannot be told apart."""

FAR = 2.5
"""Standard deviations of the prior beyond which an answer is at odds with what was known."""

POOR = 0.08
"""Error of the fit over the peak from which it is poor; a good gauge has 0.01 to 0.02; estimate."""

ENOUGH_DRAWS = 100
"""Independent draws from which an interval means something."""

CHANGED = 0.01
"""Chances that differ by less are the same."""

BESIDE = {
    FIRED: "fired at", LAG: "lag of the gauge", ZERO: "zero of the record", DRIFT: "drift",
    SCALE: "share of the bay's pressure", AVERAGED: "averaged over",
    BEHIND: "behind the acceleration",
}  # fmt: skip

OFF = 0.25
"""A case's own measure that differs from a logger's by more than this share is named; estimate."""

RINGING = 1.5
"""A fit that misses by no more than so many times what the readings scatter by themselves is not
poor."""

DRIFTS = 0.01
"""Drift over the peak from which it is said."""

RELIABLE = 0.99
"""Chance of separation of the next shot below which it is said what to look for."""

LOST = 0.05
"""Share of a peak that a logger may lose before it is said."""


def headline(fit: Fit) -> str:
    """Return the answer in a few words."""
    learnt = [each for each in fit.fitted if each.learnt]
    if not learnt:
        return "Nothing was learnt: what was measured does not tell the unknowns"
    best = min(learnt, key=lambda each: each.left)
    more = len(learnt) - 1
    rest = f", and {more} more" if more else ""
    return f"Learnt: {best.unknown.label} {value_text(best.unknown, best.after.middle)}{rest}"


def sentences(fit: Fit) -> list[str]:
    """Return what it means for the next shot, what hangs together, and what the loggers say."""
    return [*prediction(fit), *_together(fit), *loggers(fit)]


def warnings(fit: Fit) -> list[str]:
    """Return what to know before trusting it."""
    found = [*_at_odds(fit), *(text for record in fit.records for text in _poor(record))]
    found += _of_numbers(fit)
    if fit.sampling is not None and fit.sampling.effective < ENOUGH_DRAWS:
        found.append(
            f"The sampling is worth only {fit.sampling.effective:.0f} independent draws; trust the "
            "fit without --sample more."
        )
    return [*found, *fit.notes]


def next_steps(fit: Fit) -> list[str]:
    """Return what to do with what was learnt."""
    found = []
    if fit.opens_after.share < RELIABLE:
        found.append(
            "This is no reason for more powder by itself: look first for what lets the gas out or "
            "holds the joint."
        )
    if any(each.learnt for each in fit.fitted):
        new = case_file(f"{fit.name}-fitted")
        found.append(
            f"With --write {new} the answer becomes a new case; then: baypulse window {new}"
        )
    return found


def prediction(fit: Fit) -> list[str]:
    """Return what it means for the next shot, as sentences."""
    before, after, written = fit.opens_before, fit.opens_after, fit.opens_written
    text = f"The next shot of this case opens the bay with a chance of {chance(after)}; "
    if abs(after.share - before.share) < CHANGED:
        text += "before the fit it was as high."
    else:
        text += f"before the fit it was {likely(before.share)}."
    found = [text]
    if abs(written.share - after.share) > CHANGED:
        found.append(
            f"A case file with the fitted values says {likely(written.share)}: it cannot hold "
            "that the errors of the unknowns hang together."
        )
    return found


def learnt(each: Fitted) -> str:
    """Return how much was learnt of an unknown, and how much of its spread is left."""
    much = (
        "nothing" if not each.learnt
        else "much" if each.left < WELL else "something" if each.left < LITTLE else "a little"
    )  # fmt: skip
    return f"{much}; {left(each.left)} left"


def left(share: float) -> str:
    """Return how much of a spread is left."""
    return f"{digits(100.0 * min(share, 1.0), 2)} %"


def _together(fit: Fit) -> list[str]:
    """Return which unknowns cannot be told apart."""
    found = []
    for i, one in enumerate(fit.fitted):
        for k in range(i):
            r = float(fit.correlation[i, k])
            if abs(r) > TOGETHER:
                how = "one up, the other down" if r < 0.0 else "both up, or both down"
                found.append(
                    f"{capital(fit.fitted[k].unknown.label)} and {one.unknown.label} cannot be "
                    f"told apart (correlation {digits(r, 2)}: {how}, fits as well); measure one of "
                    "them in another way, or fit only one."
                )
    return found


def _at_odds(fit: Fit) -> list[str]:
    found = []
    for each in fit.fitted:
        if abs(each.moved) > FAR:
            side = "above" if each.moved > 0.0 else "below"
            found.append(
                f"{capital(each.unknown.label)} came out {digits(abs(each.moved), 2)} standard "
                f"deviations {side} what was known before: check the unit of the record, the "
                "charge and the bay's measures before you believe it."
            )
    return found


def of_record(record: RecordFit) -> list[str]:
    """Return how well a record is met, and what was found beside."""
    prepared = record.prepared
    kind, size = prepared.record.kind, prepared.record.time.size
    text = (
        f"{prepared.record.source}: the fit misses the {size:,} readings by "
        f"{show(record.error, DIMENSIONS[kind])}, "
        f"{digits(100.0 * record.error / prepared.peak, 2)} % of the highest"
    )
    if record.effective < 0.5 * size:
        text += (
            f"; the misses hang together, so the record counts as {max(record.effective, 1.0):.0f} "
            "readings"
        )
    found = [f"{text}."]
    for each in record.unsure:
        if each.name == DRIFT and abs(each.value) > max(
            2.0 * each.deviation, DRIFTS * prepared.peak
        ):
            found.append(
                f"The record drifts by {show(each.value, DIMENSIONS[kind])} from its beginning to "
                "its end; the fit took that out."
            )
        if each.name == LAG and each.left < NOTHING and kind == PRESSURE:
            found.append(f"The gauge lags by about {show(each.value, 'time')}.")
    return found


def _poor(record: RecordFit) -> list[str]:
    """Return that a record is not met, if it is not."""
    prepared = record.prepared
    if record.error / prepared.peak <= POOR:
        return []
    if prepared.record.kind == BAROMETER:
        return [
            "The barometer does not follow a share of the bay's pressure: the electronics bay has "
            "another way out, or the igniter's own pulse. Leave it out if it decides the answer."
        ]
    if record.error <= RINGING * prepared.noise:
        return []
    return [
        "The fit is poor: the model does not draw this record with any values it may take. Look at "
        "the residuals before you use the numbers; an open path, a wrong charge or a wrong volume "
        "in the case comes first."
    ]


def _of_numbers(fit: Fit) -> list[str]:
    """Return whether the single numbers fit together."""
    count = len(fit.numbers)
    if not count or fit.misfit <= count + 3.0 * math.sqrt(2.0 * count):
        return []
    worst = max(fit.numbers, key=lambda n: abs(n.after.middle - n.scalar.value) / n.scalar.error)
    return [
        f"The single numbers do not fit together within their errors; the worst is "
        f"{worst.scalar.kind.label} of {worst.shot}. One of the shots differed from the case, or "
        "an error is larger than said."
    ]


def loggers(fit: Fit) -> list[str]:
    """Return what the loggers in the sections say of the separation and of the case."""
    told = {each.name: each for each in fit.loggers}
    if not told:
        return []
    speed, energy = (
        show(told[name].measured, told[name].dimension) for name in ("speed", "energy")
    )
    found = [
        f"By what was logged the sections part with "
        f"{'at least ' if told['speed'].least else ''}{speed} and {energy}."
    ]
    peak = told.get("peak")
    if peak is not None:
        levels = (show(told[name].measured, "stress") for name in ("release", "peak", "clear"))
        found.append(
            "The pressure by mass times acceleration over the bore's area, net of friction, is "
            "{} at release, {} at its greatest, {} when clear.".format(*levels)
        )
        lost = 1.0 - peak.after.middle / peak.true.middle
        if lost > LOST:
            found.append(
                f"The logger loses {about(lost)} of the peak between its readings; "
                f"with it, it is {show(peak.measured / (1.0 - lost), 'stress')}."
            )
    found += [_of_case(each, fit) for each in fit.loggers if _differs(each, fit)]
    return found


def _differs(each: LoggerFigure, fit: Fit) -> bool:
    """Say whether a logger contradicts a measure that the case states."""
    stated = _stated(each, fit)
    return math.isfinite(stated) and abs(each.measured / stated - 1.0) > OFF and not each.least


def _stated(each: LoggerFigure, fit: Fit) -> float:
    """Return what the case says of a figure by itself; NaN where it says nothing."""
    if each.name == "travel":
        return fit.case.joint.shoulder_length
    return each.before if each.name in (MASS_RATIO, CORD) else math.nan


def _of_case(each: LoggerFigure, fit: Fit) -> str:
    """Return what a logger says against the case."""
    logged, stated = (
        digits(v) if each.dimension == "ratio" else show(v, each.dimension)
        for v in (each.measured, _stated(each, fit))
    )
    if each.name == "travel":
        return (
            f"The push ended after {logged} of travel, and joint.shoulder_length is {stated}: "
            "measure the shoulder, and check the masses of the sections."
        )
    if each.name == MASS_RATIO:
        return (
            f"The nose is {logged} times the airframe's mass by both changes of speed, and "
            f"{stated} by nose.mass and airframe.mass of the case: weigh both as they flew, "
            "propellant burnt."
        )
    return (
        f"The cord was taut after {logged} if nothing slowed the sections, and cord.length is "
        f"{stated}: check the cord, or what else held the sections."
    )


def effort(fit: Fit) -> str:
    """Return what the numbers rest on."""
    how = (
        f"Most probable values by least squares with a robust loss, seed {fit.seed}; chances from "
        f"{fit.members} shots each, after the fit with draws of the posterior."
    )
    if fit.sampling is None:
        how += (
            " Bands of curves and ranges of what was measured are of such draws, each moved until "
            "it meets the data."
        )
    else:
        s = fit.sampling
        how += (
            f" The posterior was sampled: {s.walkers} walkers, {s.steps} steps, "
            f"{percent(s.acceptance)} % of moves taken, worth {s.effective:.0f} independent draws."
        )
    return how


def value_text(unknown: Unknown, value: float) -> str:
    """Return a value of an unknown: shares in percent, factors as they are."""
    if is_factor(unknown):
        return digits(value)
    return short(value, "ratio") if unknown.dimension == "ratio" else show(value, unknown.dimension)


def is_factor(unknown: Unknown) -> bool:
    """Say whether an unknown is a number without a unit that is no share of anything."""
    spec = key_at(unknown.path).spec if unknown.dimension == "ratio" else None
    return isinstance(spec, Number) and spec.high > 1.0
