"""What a fit says, in words: sentences, rows, the text of the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable

from baypulse import units
from baypulse.casefile.keys import key_at
from baypulse.caution import CAUTION
from baypulse.plot.scales import percent
from baypulse.report.scatter_text import capital, wrapped
from baypulse.report.text import WIDE
from baypulse.spec import Number
from baypulse.study.fits import NOTHING, Fit, Fitted, NumberFit, Range, RecordFit
from baypulse.study.measured import DIMENSIONS, PRESSURE
from baypulse.study.responses import DRIFT, FIRED, LAG, ZERO
from baypulse.study.unknowns import Unknown, prior_origin

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

BESIDE = {FIRED: "fired at", LAG: "lag of the gauge", ZERO: "zero of the record", DRIFT: "drift"}

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
    share = f"{units.digits(100.0 * each.left, 2)} %"
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
        f"{units.digits(100.0 * share, 2)} % of the highest"
    )
    if record.effective < 0.5 * size:
        text += (
            f"; the misses hang together, so the record counts as {max(record.effective, 1.0):.0f} "
            "readings"
        )
    found = [f"{text}."]
    if share > POOR:
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
        if each.name == LAG and each.left < NOTHING:
            found.append(f"The gauge lags by about {units.show(each.value, 'time')}.")
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
            f"{units.digits(100.0 * min(each.left, 1.0), 2)} %",
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


def beside_rows(fit: Fit) -> list[tuple[str, str]]:
    """Return what was found of the records beside."""
    found = []
    for record in fit.records:
        show = value_shower(record.prepared.record.kind)
        for each in record.unsure:
            name = f"{record.prepared.record.source}: {BESIDE[each.name]}"
            if each.name == LAG:
                factor = math.exp(1.96 * each.deviation)
                text = f"{units.show(each.value, 'time')}, within a factor of {factor:.2f}"
            elif each.name == FIRED:
                text = f"{each.value:.5g} s +/- {units.show(1.96 * each.deviation, 'time')}"
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
    shown = ("psi", "kPa") if kind == PRESSURE else None
    return lambda value: units.show(value, DIMENSIONS[kind], shown)


def _measured(number: NumberFit) -> str:
    kind = number.scalar.kind
    share = units.digits(100.0 * number.scalar.error / number.scalar.value, 2)
    return f"{_one(number.scalar.value, kind.dimension)} +/- {share} %"


def _one(value: float, dimension: str) -> str:
    if dimension == "stress":
        return units.show(value, dimension, ("psi", "kPa"))
    return units.show(value, dimension)


def value_text(unknown: Unknown, value: float) -> str:
    """Return a value of an unknown: shares in percent, factors as they are."""
    if unknown.dimension != "ratio":
        return _one(value, unknown.dimension)
    whole = key_at(unknown.path).spec
    share = isinstance(whole, Number) and whole.high <= 1.0
    return f"{units.digits(100.0 * value)} %" if share else units.digits(value)


def _span(held: Range, unknown: Unknown) -> str:
    """Return middle and 95 % range, such as "28 ms, 95 % from 15 ms to 54 ms"."""
    low, middle, high = (value_text(unknown, v) for v in (held.low, held.middle, held.high))
    return f"{middle}, 95 % from {low} to {high}"
