"""What a fit says: the unknowns before and after, its records and loggers, its numbers."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case.quantities import capital, digits, show
from baypulse.observed.measured import DIMENSIONS
from baypulse.show import cells
from baypulse.show.cells import clean
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
from baypulse.studies.fit import figures, words
from baypulse.studies.fit.fitted_case import entries
from baypulse.studies.fit.responses import BEHIND, FACTORS, FIRED, SCALE
from baypulse.studies.fit.result import Fit, Fitted, LoggerFigure, Range, RecordFit, Unsure

UNKNOWNS = (
    "What was known of each unknown before (wide light bar, 95 %) and after (dark bar), in "
    "standard deviations of what was known before. A dark bar as long as the light one: the "
    "record says nothing of it."
)
"""What the figure of the unknowns shows."""

RECORD = (
    "What was measured (dots), what the case gave before (dashed), and the fit (line, its 95 % "
    "band shaded: of the curve, without the noise of a reading). Below, the fit less each reading: "
    "a pattern there is what the model does not draw."
)
"""What the figure of a record shows."""

UNKNOWN = (
    "The answer is as good as the model: what it leaves out (pressure waves, grains blown out, a "
    "joint that cocks) is pressed into the numbers that are free. Numbers that were not fitted "
    "keep the spread of the case and the library, and widen every interval. Intervals take the "
    "posterior as normal about its top, unless it was sampled. What was learnt of one shot is "
    "taken to hold for the next: another lot of powder, other packing or other weather may differ. "
    "The gauge is taken to sit in the bay, and to follow the pressure with one time constant."
)
"""What a fit does not know."""


def document(fit: Fit) -> Document:
    """Return what a fit says.

    Parameters
    ----------
    fit : Fit
        Findings.
    """
    unknowns = Figure("unknowns", UNKNOWNS, lambda: figures.unknowns(fit))
    held: tuple[tuple[str, list[Any]], ...] = (
        ("The records", _records(fit)),
        ("The next shot", [_chances(fit)]),
        ("The unknowns", [unknowns, *_correlation(fit), *_moved(fit)]),
        ("What the loggers say by themselves", _loggers(fit)),
        ("Single numbers", _numbers(fit)),
        ("For a case file", _case_file(fit)),
    )
    return of_case(
        fit.case,
        "fit",
        about="Unknowns learnt from what was measured",
        headline=words.headline(fit),
        sentences=tuple(words.sentences(fit)),
        first=_unknowns(fit),
        warnings=tuple(words.warnings(fit)),
        next_steps=tuple(words.next_steps(fit)),
        sections=tuple(Section(title, tuple(parts)) for title, parts in held if parts),
        unknown=UNKNOWN,
        effort=words.effort(fit),
        findings=_findings(fit),
        curves={"fit.csv": _curves(fit)},
    )


def _held(each: Fitted, held: Range) -> Between | Said:
    """Return what is known of an unknown."""
    known = held.between(each.unknown.dimension)
    if not words.is_factor(each.unknown):
        return known
    return Said(known, cells.text(Between(*known[:3]), Column("", "")))


def _unknowns(fit: Fit) -> Table:
    """Return what was known of each unknown before, and is after."""
    return Table(
        "unknowns",
        (
            Column("unknown", "Unknown"), Column("before", "Before (95 %)"),
            Column("after", "After (95 %)"), Column("learnt", "Learnt; spread left"),
        ),
        tuple(
            (capital(each.unknown.label), _held(each, each.before), _held(each, each.after),
             words.learnt(each))
            for each in fit.fitted
        ),
    )  # fmt: skip


def _case_file(fit: Fit) -> list[Any]:
    """Return what each unknown is in a case, and what a new case file gets."""
    table = Table(
        "values",
        (
            Column("path", "Number of the case"), Column("known_before_from", "Known before from"),
            Column("best_alone", "Fits best alone"),
            Column("moved_over_spread_before_ratio", "Moved, in spreads of before"),
            Column("left", "Spread left", "ratio"),
        ),
        tuple(
            (
                each.unknown.path, each.unknown.origin,
                Said(
                    Quantity(each.best, each.unknown.dimension),
                    words.value_text(each.unknown, each.best) if each.learnt else "as before",
                ),
                each.moved, _left(each.left),
            )
            for each in fit.fitted
        ),
    )  # fmt: skip
    written = Table(
        "case_file",
        (Column("path", "In a new case"), Column("value", "What --write puts there")),
        tuple((entry.path, entry.value) for entry in entries(fit)),
        note="Values that fit best while everything else has its nominal value, with the spread "
        "that is left. Unknowns of which nothing was learnt stay as they are.",
    )
    return [table, *([written] if written.rows else [])]


def _left(share: float) -> Said:
    return Said(share, words.left(share))


def _correlation(fit: Fit) -> list[Table]:
    """Return how the unknowns hang together, where there are several."""
    others = fit.fitted[:-1]
    rows = tuple(
        (capital(each.unknown.label), *(float(r) if k < i else None for k, r in enumerate(row)))
        for i, (each, row) in enumerate(zip(fit.fitted, fit.correlation[:, :-1], strict=True))
        if i
    )
    columns = (
        Column("unknown", "Correlation"),
        *(Column(f"with_{each.unknown.path}_ratio", each.unknown.label, absent="")
          for each in others),
    )  # fmt: skip
    return [Table("correlations", columns, rows)] if rows else []


def _moved(fit: Fit) -> list[Table]:
    """Return the numbers that were not fitted and went along."""
    columns = (
        Column("label", "Not fitted, and moved"),
        Column("moved_over_spread_before_ratio", "Moved, in spreads of before"),
        Column("left", "Spread left", "ratio"),
    )
    rows = tuple((capital(each.label), each.moved, _left(each.left)) for each in fit.moved)
    note = "A case file keeps these as they were."
    return [Table("moved", columns, rows, note=note)] if rows else []


def _chances(fit: Fit) -> Table:
    """Return how often a shot separates, by the case as it was and by what was learnt."""
    return Table(
        "next_shot",
        (Column("name", "The case"), Column("separates", "Separates")),
        (
            ("before", fit.opens_before), ("with all that was learnt", fit.opens_after),
            ("as a new case file says", fit.opens_written),
        ),
    )  # fmt: skip


def _records(fit: Fit) -> list[Any]:
    """Return the records, how well they are met, and what was found beside."""
    if not fit.records:
        return []
    drawn = [
        Figure(
            f"record-{k}" if k > 1 else "record",
            f"{each.prepared.record.source}. {RECORD}",
            lambda each=each: figures.record(fit, each),  # type: ignore[misc]
        )
        for k, each in enumerate(fit.records, 1)
    ]
    met = Table(
        "records",
        (
            Column("file", "Record"), Column("shot", "Shot"), Column("kind", "Kind"),
            Column("readings", "Readings"), Column("at_the_end_of_the_range", "At least so much"),
            Column("independent_readings", "Count as"), Column("error", "Missed by"),
            Column("noise", "Noise"),
        ),
        tuple(_met(each) for each in fit.records),
    )  # fmt: skip
    beside = Table(
        "beside",
        (
            Column("file", "Found beside"), Column("what", "What"), Column("value", "Value"),
            Column("deviation", "Within (95 %)"),
            Column("left", "Spread left", "ratio"),
        ),
        tuple(
            (record.prepared.record.source, words.BESIDE[each.name], *_beside(record, each),
             _left(each.left))
            for record in fit.records
            for each in record.unsure
        ),
    )  # fmt: skip
    return [*drawn, *(text for each in fit.records for text in words.of_record(each)), met, beside]


def _met(record: RecordFit) -> tuple[Any, ...]:
    prepared = record.prepared
    kind = DIMENSIONS[prepared.record.kind]
    return (
        prepared.record.source, record.shot, prepared.record.kind, prepared.record.time.size,
        int(prepared.clipped.sum()), record.effective, Quantity(record.error, kind),
        Quantity(prepared.noise, kind),
    )  # fmt: skip


def _beside(record: RecordFit, each: Unsure) -> tuple[Quantity | Said, Said]:
    """Return a value that was found beside, and within what it is known."""
    wide = 1.96 * each.deviation
    if each.name in FACTORS:
        value = Quantity(each.value, "ratio" if each.name == SCALE else "time")
        factor = f"a factor of {digits(math.exp(wide))}"
        return value, Said(Quantity(each.deviation, "ratio"), factor)
    kind = "time" if each.name in (FIRED, BEHIND) else DIMENSIONS[record.prepared.record.kind]
    within = Said(Quantity(each.deviation, kind), f"± {show(wide, kind)}")
    value = Quantity(each.value, kind)
    # a moment of a long record
    return (Said(value, f"{digits(each.value, 5)} s") if each.name == FIRED else value), within


def _loggers(fit: Fit) -> list[Any]:
    """Return what the loggers say by themselves, and what the fit would show there."""
    table = Table(
        "loggers",
        (
            Column("what", "Of the logger"), Column("measured", "As logged"),
            Column("error", "Error"), Column("before", "Case before"),
            Column("after", "After the fit"), Column("nothing_lost", "Without sampling"),
        ),
        tuple(_logger(each) for each in fit.loggers),
        note="The last: what the fit says without what the logger's sampling loses.",
    )  # fmt: skip
    return [table] if fit.loggers else []


def _logger(each: LoggerFigure) -> tuple[Any, ...]:
    def value(number: float) -> Quantity | Said:
        held = Quantity(number, each.dimension)
        known = each.dimension == "ratio" and math.isfinite(number)
        return Said(held, digits(number)) if known else held

    logged = value(each.measured)
    if each.least:
        logged = Said(logged, f"at least {cells.text(logged, Column('', ''))}")
    return (
        capital(each.label), logged, _error(each.measured, each.error, each.dimension),
        value(each.before), each.after.between(each.dimension), each.true.between(each.dimension),
    )  # fmt: skip


def _error(measured: float, error: float, dimension: str) -> Said:
    """Return an error, which people read as a share."""
    return Said(Quantity(error, dimension), f"± {digits(100.0 * error / measured, 2)} %")


def _numbers(fit: Fit) -> list[Any]:
    """Return the single numbers beside what the fit says."""
    rows = []
    for each in fit.numbers:
        kind, after = each.scalar.kind.dimension, each.after
        rows.append(
            (
                each.shot,
                each.scalar.kind.label,
                Quantity(each.scalar.value, kind),
                _error(each.scalar.value, each.scalar.error, kind),
                Quantity(each.before, kind),
                after.between(kind),
                (after.middle - each.scalar.value) / each.scalar.error,
            )
        )
    columns = (
        Column("shot", "Shot"), Column("what", "Number"), Column("measured", "Measured"),
        Column("error", "Error"), Column("before", "Case before"),
        Column("after", "After the fit"), Column("off_over_error_ratio", "Off, in errors"),
    )  # fmt: skip
    return [Table("numbers", columns, tuple(rows))] if rows else []


def _curves(fit: Fit) -> Table:
    """Return every reading, and the curves there, for a spreadsheet."""
    rows: list[tuple[Any, ...]] = []
    for k, record in enumerate(fit.records, 1):
        one = record.prepared.record
        kind = DIMENSIONS[one.kind]
        columns = zip(
            one.time, one.values, record.prepared.clipped, record.before, record.after,
            record.low, record.high, strict=True,
        )  # fmt: skip
        for time, value, least, before, after, low, high in columns:
            rows.append(
                (k, one.kind, time, Quantity(value, kind), least, Quantity(before, kind),
                 Between(after, low, high, kind))
            )  # fmt: skip
    columns_ = (
        Column("record", ""), Column("kind", ""), Column("time", "", "time"),
        Column("measured", ""), Column("at_least", ""), Column("before", ""), Column("fitted", ""),
    )  # fmt: skip
    return Table("curves", columns_, tuple(rows))


def _findings(fit: Fit) -> dict[str, Any]:
    """Return what stands in no table."""
    return {
        "files": list(fit.files),
        "seed": fit.seed,
        "correlation_ratio": [[clean(r) for r in row] for row in fit.correlation],
        "at_least": [each.name for each in fit.loggers if each.least],
        "sum_of_squared_misses_over_errors_ratio": clean(fit.misfit),
        "sampling": None if fit.sampling is None else {
            "walkers": fit.sampling.walkers, "steps": fit.sampling.steps,
            "acceptance_ratio": clean(fit.sampling.acceptance),
            "effective_draws": clean(fit.sampling.effective),
        },
    }  # fmt: skip
