"""The page of a run, and its short form in a notebook."""

from __future__ import annotations

from html import escape

from baypulse.case.quantities import digits, show
from baypulse.case.starter import explain
from baypulse.caution import CAUTION
from baypulse.run.result import Result
from baypulse.show import text as show_text
from baypulse.show.data import doubts, fingerprint, versions
from baypulse.show.page import caution, figure, pairs, skeleton, table
from baypulse.studies.run import text as words
from baypulse.studies.run.balance_charts import NAMES, shares

CAPTIONS = {
    "course": "Pressure, travel and speed on one axis of time, from the spark to shortly after "
    "the joint is clear. Upright lines mark what happened, level lines what has to be overcome.",
    "pressure-travel": "The same pressure against the travel of the shoulder. What is left of it "
    "after the pins gives the speed.",
    "inside": "What goes on in the bay, on the same axis of time.",
    "cord": "Load of the cord from the moment it is taut, beside what its weakest link stands.",
    "breakdown": "Why the peak differs from the static rule's pressure: each bar adds one effect "
    "to the bay held shut, the last lets the joint move.",
    "budget": "By the end of the run. Bars to the left, if any, are energy gained.",
    "sketch": "From the dimensions of the case.",
}
"""What each figure shows."""


def page(result: Result, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    result : Result
        A run.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = result.case
    parts = [
        f"<h1>{escape(case.title)}</h1>",
        f'<p class="from">Case {escape(case.name)}. Charge: {escape(show_text.charge(case))}.</p>',
        f'<p class="note">{escape(case.note.strip())}</p>' if case.note.strip() else "",
        _verdict(result),
        _doubts(result),
        caution(),
        "<h2>Numbers</h2>", pairs(words.key_numbers(result)),
        "<h2>Margins</h2>", _margins(result),
        "<h2>Pressure and motion</h2>",
        figure(figures, CAPTIONS, "course"), figure(figures, CAPTIONS, "pressure-travel"),
        "<h2>Beside the static rule</h2>",
        "<p>The static rule is common practice, no source.</p>",
        pairs(words.static_rule(result)), figure(figures, CAPTIONS, "breakdown"), _bridge(result),
    ]  # fmt: skip
    if "cord" in figures:
        parts += ["<h2>Cord</h2>", figure(figures, CAPTIONS, "cord")]
    parts += [
        "<h2>What happened, in order</h2>", _events(result),
        "<h2>Where the energy went</h2>", figure(figures, CAPTIONS, "budget"), _budget(result),
        "<h2>Inside the bay</h2>", figure(figures, CAPTIONS, "inside"),
        "<h2>What was read</h2>", figure(figures, CAPTIONS, "sketch"),
        f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this model does not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_MODEL)}</p>",
        caution(), _footer(result),
    ]  # fmt: skip
    return skeleton(f"{case.name}: {words.headline(result)}", parts)


def notebook(result: Result, pressure: str) -> str:
    """Return a short form for a notebook: verdict, numbers, pressure, caution.

    Parameters
    ----------
    result : Result
        A run.
    pressure : str
        The figure of the pressure, as SVG.
    """
    reasons = " ".join(words.reasons(result))
    charge = show_text.charge(result.case)
    return (
        '<div style="max-width:46rem">'
        f"<p><b>{escape(' '.join(result.case.title.split()))}</b>, {escape(charge)}"
        f"<br><b>{escape(words.headline(result))}.</b> {escape(reasons)}</p>"
        f"{pairs(words.key_numbers(result))}{pressure}"
        f"<p><small>{escape(CAUTION)}</small></p></div>"
    )


def _verdict(result: Result) -> str:
    sentences = [*words.reasons(result), words.change(result)]
    text = "".join(f"<p>{escape(sentence)}</p>" for sentence in sentences if sentence)
    return f'<div class="verdict"><strong>{escape(words.headline(result))}</strong>{text}</div>'


def _margins(result: Result) -> str:
    rows = [
        (row.name, row.value, row.limit, row.margin if row.met else f"{row.margin}, not met")
        for row in words.rows(result)
    ]
    margins = table(("Check", "This run", "Against", "Margin"), rows)
    margins = margins.replace(", not met</td>", ", <b>not met</b></td>")
    return margins + (
        "<p>A margin of 1 is just enough. What has to be overcome is compared with the peak "
        "pressure of the same bay held shut.</p>"
    )


def _events(result: Result) -> str:
    rows = [
        (
            name, show(event.time, "time"), show(round(event.travel, 6), "length"),
            show(round(event.gauge_pressure, 3), "gauge pressure"),
            show(round(event.velocity, 4), "velocity"),
        )
        for name, event in words.happened(result)
    ]  # fmt: skip
    return table(("Event", "Time", "Travel", "Gauge pressure", "Separation"), rows, "tight")


def _bridge(result: Result) -> str:
    steps = [(name, show(value, "gauge pressure")) for name, value in result.bridge.steps]
    held = show(result.bridge.held_peak, "gauge pressure")
    return table(("With", "Gauge pressure"), steps, "again") + (
        f"<p>Held shut, this bay would reach {escape(held)}.</p>"
    )


def _budget(result: Result) -> str:
    total = result.budget.total or 1.0
    rows = [
        (NAMES.get(name, name), f"{digits(value)} J", f"{100.0 * value / total:.1f} %")
        for name, value in shares(result)
    ]
    left = abs(result.budget.gas_residual) + abs(result.budget.motion_residual)
    return table(("Share", "Energy", "Of the charge's"), rows, "again") + (
        f"<p>The terms add up to {digits(result.budget.total)} J; the balances of gas and "
        f"motion close to {left:.1e} J.</p>"
    )


def _doubts(result: Result) -> str:
    found = doubts(result.case)
    items = "".join(f"<li>{escape(text)}</li>" for text in found)
    return f"<p><b>Doubtful in this case:</b></p><ul>{items}</ul>" if found else ""


def _footer(result: Result) -> str:
    used = ", ".join(f"{name} {number}" for name, number in versions().items())
    return (
        f"<footer><p>Made with {escape(used)}. The same numbers are in numbers.json and "
        f"curves.csv beside this page.<br>SHA-256 of case and version: "
        f"{fingerprint(result.case)}</p></footer>"
    )
