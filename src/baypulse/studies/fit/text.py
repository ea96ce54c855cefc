"""What a fit says, in words: sentences, rows, the text of the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable

from baypulse.case import quantities
from baypulse.case.casefile.keys import key_at
from baypulse.case.quantities import capital, percent
from baypulse.case.spec import Number
from baypulse.caution import CAUTION
from baypulse.observed.measured import BAROMETER, DIMENSIONS, PRESSURE
from baypulse.show.text import WIDE, wrapped
from baypulse.studies.fit.logger_figures import CORD, MASS_RATIO
from baypulse.studies.fit.responses import AVERAGED, DRIFT, FACTORS, FIRED, LAG, SCALE, ZERO
from baypulse.studies.fit.result import (
    NOTHING,
    Fit,
    Fitted,
    LoggerFigure,
    NumberFit,
    Range,
    RecordFit,
)
from baypulse.studies.fit.unknowns import Unknown, prior_origin

LITTLE, WELL = 0.7, 0.4
"""Posterior over prior standard deviation above which little, and below which much was learnt."""

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
}  # fmt: skip

OFF = 0.25
"""A case's own measure that differs from a logger's by more than this share is named; estimate."""

RINGING = 1.5
"""A fit that misses by no more than so many times what the readings scatter by themselves is not
poor."""

LOST = 0.05
"""Share of a peak that a logger may lose before it is said."""

LIMITS_OF_THE_FIT = (
    "The answer is as good as the model: what it leaves out (pressure waves, grains blown out, a "
    "joint that cocks) is pressed into the numbers that are free. Numbers that were not fitted "
    "keep the spread of the case and the library, and widen every interval. Intervals take the "
    "posterior as normal about its top, unless it was sampled. What was learnt of one shot is "
    "taken to hold for the next: another lot of powder, other packing or other weather may differ. "
    "The gauge is taken to sit in the bay, and to follow the pressure with one time constant."
)
"""Printed in every report of a fit."""


def headline(fit: Fit) -> str:
    """Return the answer in a few words."""
    learnt = [each for each in fit.fitted if each.learnt]
    if not learnt:
        return "Nothing was learnt: what was measured does not tell the unknowns"
    best = min(learnt, key=lambda each: each.left)
    more = len(learnt) - 1
    rest = f", and {more} more" if more else ""
    return f"Learnt: {best.unknown.label} {value_text(best.unknown, best.after.middle)}{rest}"


def meaning(fit: Fit) -> list[str]:
    """Return what was learnt and what was not, as sentences."""
    found = [_learnt(each) for each in fit.fitted]
    found += _together(fit)
    found += _at_odds(fit)
    found += loggers(fit)
    found += [text for record in fit.records for text in _of_record(fit, record)]
    found += _of_numbers(fit)
    found += _others(fit)
    if fit.sampling is not None and fit.sampling.effective < ENOUGH_DRAWS:
        found.append(
            f"The sampling is worth only {fit.sampling.effective:.0f} independent draws; trust the "
            "fit without --sample more."
        )
    return found


def prediction(fit: Fit) -> list[str]:
    """Return what it means for the next shot, as sentences."""
    before, after, written = fit.opens_before, fit.opens_after, fit.opens_written
    text = (
        f"The next shot of this case opens the bay with a chance of {percent(after.share)} % "
        f"({percent(after.low)} to {percent(after.high)} %); "
    )
    if abs(after.share - before.share) < CHANGED:
        text += "before the fit it was as high."
    else:
        text += f"before the fit it was {percent(before.share)} %."
    found = [text]
    if abs(written.share - after.share) > CHANGED:
        found.append(
            f"A case file with the fitted values says {percent(written.share)} %: it cannot hold "
            "that the errors of the unknowns hang together."
        )
    if after.share < 0.99:
        found.append(
            "This is no reason for more powder by itself: look first for what lets the gas out or "
            "holds the joint; baypulse window looks for a charge with the fitted case."
        )
    return found


def _learnt(each: Fitted) -> str:
    """Return what was learnt of one unknown."""
    unknown = each.unknown
    name = capital(unknown.label)
    after = _span(each.after, unknown)
    if not each.learnt:
        return (
            f"{name}: nothing was learnt; {after} is what was known before "
            f"({prior_origin(unknown)})."
        )
    share = f"{quantities.digits(100.0 * each.left, 2)} %"
    much = "much" if each.left < WELL else "something" if each.left < LITTLE else "a little"
    before = _span(each.before, unknown)
    return f"{name}: {much} was learnt: {after}; before {before}; {share} of that spread is left."


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
                    f"told apart (correlation {r:.2f}: {how}, fits as well); measure one of them "
                    "in another way, or fit only one."
                )
    return found


def _at_odds(fit: Fit) -> list[str]:
    found = []
    for each in fit.fitted:
        if abs(each.moved) > FAR:
            side = "above" if each.moved > 0.0 else "below"
            found.append(
                f"{capital(each.unknown.label)} came out {abs(each.moved):.1f} standard deviations "
                f"{side} what was known before: check the unit of the record, the charge and the "
                "bay's measures before you believe it."
            )
    return found


def _of_record(fit: Fit, record: RecordFit) -> list[str]:
    """Return how well a record is met, and what was found beside."""
    prepared = record.prepared
    kind, peak = prepared.record.kind, prepared.peak
    size = prepared.record.time.size
    show = value_shower(kind)
    share = record.error / peak
    text = (
        f"{prepared.record.source}: the fit misses the {size:,} readings by {show(record.error)}, "
        f"{quantities.digits(100.0 * share, 2)} % of the highest"
    )
    if record.effective < 0.5 * size:
        text += (
            f"; the misses hang together, so the record counts as {max(record.effective, 1.0):.0f} "
            "readings"
        )
    found = [f"{text}."]
    if share > POOR and kind == BAROMETER:
        found.append(
            "The barometer does not follow a share of the bay's pressure: the electronics bay has "
            "another way out, or the igniter's own pulse. Leave it out if it decides the answer."
        )
    elif share > POOR and record.error > RINGING * prepared.noise:
        found.append(
            "The fit is poor: the model does not draw this record with any values it may take. "
            "Look at the residuals before you use the numbers; an open path, a wrong charge or a "
            "wrong volume in the case comes first."
        )
    for each in record.unsure:
        if each.name == DRIFT and abs(each.value) > max(2.0 * each.deviation, 0.01 * peak):
            found.append(
                f"The record drifts by {show(each.value)} from its beginning to its end; the fit "
                "took that out."
            )
        if each.name == LAG and each.left < NOTHING and kind == PRESSURE:
            found.append(f"The gauge lags by about {quantities.show(each.value, 'time')}.")
    return found


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


def _others(fit: Fit) -> list[str]:
    if not fit.moved:
        return []
    listed = ", ".join(f"{each.label} ({each.moved:+.1f})" for each in fit.moved[:4])
    return [
        "Numbers that were not fitted went along, in standard deviations of what was known: "
        f"{listed}. A case file keeps them as they were."
    ]


def fitted_rows(fit: Fit) -> list[tuple[str, str, str, str, str]]:
    """Return the table of the unknowns: before, after, what is left, value for a case file."""
    return [
        (
            capital(each.unknown.label),
            f"{_span(each.before, each.unknown)} ({prior_origin(each.unknown)})",
            _span(each.after, each.unknown),
            f"{quantities.digits(100.0 * min(each.left, 1.0), 2)} %",
            value_text(each.unknown, each.best) if each.learnt else "as before",
        )
        for each in fit.fitted
    ]


FITTED_HEAD = (
    "Unknown", "Before (95 %)", "After (95 %)", "Spread that is left", "Fits best alone",
)  # fmt: skip
"""Of the table of the unknowns; "alone" is with all else at its nominal value."""


def correlation_rows(fit: Fit) -> list[tuple[str, ...]]:
    """Return the table of correlations, a row for each unknown."""
    return [
        (
            capital(each.unknown.label),
            *(f"{fit.correlation[i, k]:.2f}" if k < i else "" for k in range(len(fit.fitted) - 1)),
        )
        for i, each in enumerate(fit.fitted)
        if i
    ]


def number_rows(fit: Fit) -> list[tuple[str, str, str, str, str]]:
    """Return the table of the single numbers."""
    return [
        (f"{n.shot}, {n.scalar.kind.label}", _measured(n),
         _one(n.before, n.scalar.kind.dimension), _one(n.after.middle, n.scalar.kind.dimension),
         f"{(n.after.middle - n.scalar.value) / n.scalar.error:+.1f}")
        for n in fit.numbers
    ]  # fmt: skip


NUMBER_HEAD = ("Number", "Measured", "Case before", "After the fit", "Off by errors")


def loggers(fit: Fit) -> list[str]:
    """Return what the loggers in the sections say of the separation and of the case."""
    told = {each.name: each for each in fit.loggers}
    if not told:
        return []
    speed, energy = (
        _one(told[name].measured, told[name].dimension) for name in ("speed", "energy")
    )
    found = [
        f"By what was logged the sections part with "
        f"{'at least ' if told['speed'].least else ''}{speed} and {energy}."
    ]
    peak = told.get("peak")
    if peak is not None:
        levels = (_one(told[name].measured, "stress") for name in ("release", "peak", "clear"))
        found.append(
            "The pressure by mass times acceleration over the bore's area, net of friction, is "
            "{} at release, {} at its greatest, {} when clear.".format(*levels)
        )
        lost = 1.0 - peak.after.middle / peak.true.middle
        if lost > LOST:
            found.append(
                f"The logger loses about {quantities.show(lost, 'ratio')} of the peak between its "
                f"readings; with it, it is {_one(peak.measured / (1.0 - lost), 'stress')}."
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
    show = quantities.digits if each.dimension == "ratio" else lambda v: _one(v, each.dimension)
    logged, stated = (show(v) for v in (each.measured, _stated(each, fit)))
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


def logger_rows(fit: Fit) -> list[tuple[str, str, str, str, str]]:
    """Return the table of what the loggers say by themselves."""

    def show(value: float, dimension: str) -> str:
        if not math.isfinite(value):
            return "-"
        return quantities.digits(value) if dimension == "ratio" else _one(value, dimension)

    return [
        (
            capital(each.label),
            f"{'at least ' if each.least else ''}{show(each.measured, each.dimension)} +/- "
            f"{quantities.digits(100.0 * each.error / each.measured, 2)} %",
            show(each.before, each.dimension),
            show(each.after.middle, each.dimension),
            show(each.true.middle, each.dimension),
        )
        for each in fit.loggers
    ]


LOGGER_HEAD = ("Of the logger", "As logged", "Case before", "After the fit", "Without sampling")
"""The last: what the fit says without what the logger's sampling loses."""


def beside_rows(fit: Fit) -> list[tuple[str, str]]:
    """Return what was found of the records beside."""
    found = []
    for record in fit.records:
        show = value_shower(record.prepared.record.kind)
        for each in record.unsure:
            name = f"{record.prepared.record.source}: {BESIDE[each.name]}"
            if each.name in FACTORS:
                factor = math.exp(1.96 * each.deviation)
                size = quantities.show(each.value, "ratio" if each.name == SCALE else "time")
                text = f"{size}, within a factor of {factor:.2f}"
            elif each.name == FIRED:
                text = f"{each.value:.5g} s +/- {quantities.show(1.96 * each.deviation, 'time')}"
            else:
                text = f"{show(each.value)} +/- {show(1.96 * each.deviation)}"
            found.append((name, text))
    return found


def summary(fit: Fit) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    fit : Fit
        Findings.

    Returns
    -------
    str
        Headline, sentences, the unknowns, what is next, notes, the caution.
    """
    lines = wrapped(f"{fit.name}: {' '.join(fit.case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(fit).upper(), "  ", "  ")]
    for sentence in meaning(fit):
        lines += wrapped(sentence, "  ", "    ")
    lines.append("")
    for sentence in prediction(fit):
        lines += wrapped(sentence, "  ", "    ")
    if fit.loggers:
        lines += ["", "  What the loggers say by themselves, and what the fit would show there"]
        for name, logged, before, after, _ in logger_rows(fit):
            rest = [f"{word} {text}" for word, text in (("case", before), ("fit", after))
                    if text != "-"]  # fmt: skip
            lines += wrapped("; ".join([f"{name}: {logged}", *rest]), "    ", "      ")
    if fit.numbers:
        lines += ["", "  Measured, and what the fit says"]
        for name, measured, _, after, off in number_rows(fit):
            lines += wrapped(f"{name}: {measured}; fit {after} ({off} errors)", "    ", "      ")
    lines += ["", "  Notes"] * bool(fit.notes)
    for text in fit.notes:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def behind(fit: Fit) -> str:
    """Return what the numbers rest on."""
    how = (
        f"Most probable values by least squares with a robust loss, seed {fit.seed}; chances from "
        f"{fit.members} shots each. Bands and chances after the fit rest on draws of the "
        "posterior, each moved until it meets the data."
    )
    if fit.sampling is not None:
        s = fit.sampling
        how += (
            f" The posterior was sampled: {s.walkers} walkers, {s.steps} steps, "
            f"{percent(s.acceptance)} % of moves taken, worth {s.effective:.0f} independent draws."
        )
    return f"{how} The same numbers are in numbers.json, the curves in fit.csv, beside this page."


def value_shower(kind: str) -> Callable[[float], str]:
    """Return how a reading of a kind is written."""
    shown = {PRESSURE: ("psi", "kPa"), BAROMETER: ("hPa", "psi")}.get(kind)
    return lambda value: quantities.show(value, DIMENSIONS[kind], shown)


def _measured(number: NumberFit) -> str:
    kind = number.scalar.kind
    share = quantities.digits(100.0 * number.scalar.error / number.scalar.value, 2)
    return f"{_one(number.scalar.value, kind.dimension)} +/- {share} %"


def _one(value: float, dimension: str) -> str:
    if dimension == "stress":
        return quantities.show(value, dimension, ("psi", "kPa"))
    return quantities.show(value, dimension)


def value_text(unknown: Unknown, value: float) -> str:
    """Return a value of an unknown: shares in percent, factors as they are."""
    if unknown.dimension != "ratio":
        return _one(value, unknown.dimension)
    whole = key_at(unknown.path).spec
    share = isinstance(whole, Number) and whole.high <= 1.0
    return f"{quantities.digits(100.0 * value)} %" if share else quantities.digits(value)


def _span(held: Range, unknown: Unknown) -> str:
    """Return middle and 95 % range, such as "28 ms, 95 % from 15 ms to 54 ms"."""
    low, middle, high = (value_text(unknown, v) for v in (held.low, held.middle, held.high))
    return f"{middle}, 95 % from {low} to {high}"
