"""The report of a fit: a page, figures, numbers, and the curves as a table."""

from __future__ import annotations

from html import escape
from io import StringIO
from typing import Any

import numpy as np

from baypulse.case.starter import explain
from baypulse.observed.measured import DIMENSIONS
from baypulse.show import page, study_parts
from baypulse.show.data import both, clean, doubts
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.show.study_folder import StudyReport
from baypulse.studies.fit import figures as drawings
from baypulse.studies.fit import text as words
from baypulse.studies.fit.fitted_case import entries
from baypulse.studies.fit.result import Fit, Fitted, LoggerFigure, NumberFit, Range, RecordFit

UNKNOWNS = (
    "What was known of each unknown before (wide light bar, 95 %) and after (dark bar), in "
    "standard deviations of what was known before. A dark bar as long as the light one: the "
    "record says nothing of it."
)
RECORD = (
    "What was measured (dots), what the case gave before (dashed), and the fit (line, its 95 % "
    "band shaded: of the curve, without the noise of a reading). Below, the fit less each reading: "
    "a pattern there is what the model does not draw."
)


def captions(fit: Fit) -> dict[str, str]:
    """Return what each figure shows."""
    found = {name: f"{record.prepared.record.source}. {RECORD}"
             for name, record in drawings.named(fit)}  # fmt: skip
    return found | {"unknowns": UNKNOWNS}


def fit_numbers(fit: Fit) -> dict[str, Any]:
    """Return everything that was found by a fit, ready for JSON.

    Parameters
    ----------
    fit : Fit
        Findings; the curves are in ``fit.csv``.
    """
    values = {entry.path: entry.value for entry in entries(fit)}
    return {
        **head("fit", fit.case),
        "answer": words.headline(fit),
        "sentences": [*words.meaning(fit), *words.prediction(fit)],
        "files": list(fit.files),
        "notes": list(fit.notes),
        "seed": fit.seed,
        "unknowns": [_unknown(each, values) for each in fit.fitted],
        "correlation": [[clean(r) for r in row] for row in fit.correlation],
        "moved": [
            {"label": each.label, "moved_deviations": clean(each.moved),
             "left_ratio": clean(each.left)}
            for each in fit.moved
        ],
        "records": [_record(record) for record in fit.records],
        "loggers": [_logger(each) for each in fit.loggers],
        "numbers": [_number(number) for number in fit.numbers],
        "sum_of_squares": clean(fit.misfit),
        "separates_before": chance_numbers(fit.opens_before),
        "separates_after": chance_numbers(fit.opens_after),
        "separates_as_written": chance_numbers(fit.opens_written),
        "sampling": None if fit.sampling is None else {
            "walkers": fit.sampling.walkers, "steps": fit.sampling.steps,
            "acceptance_ratio": clean(fit.sampling.acceptance),
            "effective_draws": clean(fit.sampling.effective),
        },
        **foot(fit.case, ()),
    }  # fmt: skip


def _unknown(each: Fitted, values: dict[str, str]) -> dict[str, Any]:
    unknown = each.unknown
    return {
        "path": unknown.path,
        "label": unknown.label,
        "known_before_from": unknown.origin,
        "before": _range(each.before, unknown.dimension),
        "after": _range(each.after, unknown.dimension),
        **both("best_alone", each.best, unknown.dimension),
        "left_ratio": clean(each.left),
        "moved_deviations": clean(each.moved),
        "case_file": values.get(unknown.path),
    }


def _range(held: Range, dimension: str) -> dict[str, Any]:
    return {
        **both("low", held.low, dimension), **both("middle", held.middle, dimension),
        **both("high", held.high, dimension),
    }  # fmt: skip


def _record(record: RecordFit) -> dict[str, Any]:
    prepared = record.prepared
    dimension = DIMENSIONS[prepared.record.kind]
    return {
        "file": prepared.record.source,
        "shot": record.shot,
        "kind": prepared.record.kind,
        "readings": prepared.record.time.size,
        "at_the_end_of_the_range": int(prepared.clipped.sum()),
        "count_as_independent": clean(record.effective),
        **both("error", record.error, dimension),
        **both("noise", prepared.noise, dimension),
        "beside": [
            {"name": each.name, "value_si": clean(each.value),
             "deviation_si": clean(each.deviation), "left_ratio": clean(each.left)}
            for each in record.unsure
        ],
    }  # fmt: skip


def _logger(each: LoggerFigure) -> dict[str, Any]:
    kind = each.dimension
    return {
        "what": each.name,
        "label": each.label,
        **both("measured", each.measured, kind),
        **both("error", each.error, kind),
        "at_least": each.least,
        **both("before", each.before, kind),
        "after": _range(each.after, kind),
        "nothing_lost": _range(each.true, kind),
    }


def _number(number: NumberFit) -> dict[str, Any]:
    kind = number.scalar.kind
    return {
        "shot": number.shot,
        "what": kind.word,
        **both("measured", number.scalar.value, kind.dimension),
        **both("error", number.scalar.error, kind.dimension),
        **both("before", number.before, kind.dimension),
        "after": _range(number.after, kind.dimension),
    }


def fit_csv(fit: Fit) -> str:
    """Return the records and the curves as a table with a row for each reading.

    Parameters
    ----------
    fit : Fit
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line; the number of the record comes first, values are
        in SI.
    """
    text = StringIO()
    text.write("record,kind,time_s,measured_SI,at_least,before_SI,fitted_SI,low_SI,high_SI\n")
    for k, record in enumerate(fit.records, 1):
        one = record.prepared.record
        columns = zip(
            one.time, one.values, record.prepared.clipped, record.before, record.after,
            record.low, record.high, strict=True,
        )  # fmt: skip
        for time, value, least, *curves in columns:
            rest = ",".join(f"{y:.7g}" if np.isfinite(y) else "" for y in curves)
            text.write(f"{k},{one.kind},{time:.9g},{value:.7g},{int(least)},{rest}\n")
    return text.getvalue()


def fit_page(fit: Fit, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    fit : Fit
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = fit.case
    shown = captions(fit)
    several = len(fit.fitted) > 1
    labels = [each.unknown.label for each in fit.fitted[:-1]]
    values = "\n".join(f"{entry.path} = {entry.value}" for entry in entries(fit))
    parts = [
        *study_parts.top(case, "Unknowns learnt from what was measured"),
        study_parts.box(words.headline(fit), words.meaning(fit)),
        "<h2>The next shot</h2>", *(f"<p>{escape(text)}</p>" for text in words.prediction(fit)),
        page.caution(),
        study_parts.warnings(fit.notes, doubts(case)),
        *(page.figure(figures, shown, name) for name, _ in drawings.named(fit)),
        "<h2>The unknowns</h2>", page.figure(figures, shown, "unknowns"),
        page.table(words.FITTED_HEAD, words.fitted_rows(fit)),
        "<h2>How they hang together</h2>" if several else "",
        page.table(("Correlation", *labels), words.correlation_rows(fit)) if several else "",
        "<h2>What the loggers say by themselves</h2>" if fit.loggers else "",
        page.table(words.LOGGER_HEAD, words.logger_rows(fit)) if fit.loggers else "",
        "<h2>Single numbers</h2>" if fit.numbers else "",
        page.table(words.NUMBER_HEAD, words.number_rows(fit)) if fit.numbers else "",
        "<h2>Found beside</h2>" if fit.records else "",
        page.pairs(words.beside_rows(fit)) if fit.records else "",
        *_case_values(values),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this study does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_FIT)}</p>",
        study_parts.footer(case, words.behind(fit)),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(fit)}", parts)


def _case_values(values: str) -> list[str]:
    """Return what a new case file gets."""
    if not values:
        return []
    return [
        "<h2>For a case file</h2>",
        "<p>What --write puts into a new case: values that fit best while everything else has its "
        "nominal value, with the spread that is left. Unknowns of which nothing was learnt stay as "
        "they are.</p>",
        f"<pre>{escape(values)}</pre>",
    ]


FIT = StudyReport(
    study="fit",
    figures=drawings.figures,
    captions=captions,
    numbers=fit_numbers,
    page=fit_page,
    own={"fit.csv": lambda fit: fit_csv(fit).encode()},
)
