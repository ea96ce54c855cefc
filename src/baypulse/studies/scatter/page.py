"""The page of a scatter: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.scatter import text as words
from baypulse.studies.scatter.figures_of_drivers import rows_of
from baypulse.studies.scatter.result import Output, Scatter

CAPTIONS = {
    "chances": "Share of the shots with each verdict. The whisker is the interval that holds the "
    "chance with 95 % confidence.",
    "histograms": "How many shots gave which value. Broken lines mark the values below which "
    "5, 50 and 95 % of the shots lie, heavy ones the limits.",
}


def captions(scatter: Scatter) -> dict[str, str]:
    """Return what each figure of a scatter study shows, by its name."""
    found = dict(CAPTIONS)
    if scatter.bands:
        found["bands"] = (
            f"Curves of {scatter.bands[0].members:,} of the shots, on one axis of time: at each "
            "time half of them lie within the hatched band, nine of ten within the plain one. "
            "The broken curve is the run in which nothing scatters."
        )
    for output in scatter.outputs:
        found[f"drivers-{output.name}"] = (
            "Bars, if any: the value when one input alone stands at its 10 % point (low) or its "
            "90 % point (high). Marks: the share of the variance that an input takes alone "
            "(first-order index) and together with others (total index), with their 95 % "
            "intervals."
        )
    return found


def scatter_page(scatter: Scatter, figures: dict[str, str]) -> str:
    """Return the whole page of a scatter study.

    Parameters
    ----------
    scatter : Scatter
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = scatter.case
    shown = captions(scatter)
    sentences = [*words.meaning(scatter), words.from_library(scatter)]
    parts = [
        *study_parts.top(case, f"Charge: {charge(case)}"),
        study_parts.box(words.headline(scatter), sentences),
        study_parts.warnings(scatter.warnings, doubts(case)),
        page.caution(),
        "<h2>Chances</h2>", page.figure(figures, shown, "chances"), _chances(scatter),
    ]  # fmt: skip
    if scatter.outputs:
        parts += ["<h2>What would narrow the answer</h2>", *_drivers(scatter, figures, shown)]
    if scatter.distributions:
        parts += [
            "<h2>Numbers</h2>", page.figure(figures, shown, "histograms"),
            page.table(("Number", "Happened in", "5 %", "Median", "95 %"),
                       words.numbers_rows(scatter)),
        ]  # fmt: skip
    if scatter.bands:
        parts += ["<h2>Curves</h2>", page.figure(figures, shown, "bands")]
    parts += [
        "<h2>What scattered</h2>",
        f"<p>{escape(words.from_library(scatter))} A measured value in the case, with its own "
        "spread, takes the place of the library's.</p>",
        page.table(("Input", "Value", "Spread", "Source"), words.scattered(scatter)),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What these chances do not know</h2>", f"<p>{escape(words.LIMITS_OF_THE_STUDY)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{scatter.members:,} shots, {_sampling(scatter)}, seed {scatter.seed}; "
            f"{scatter.influence_runs:,} runs behind the indices. The same numbers are in "
            "numbers.json beside this page, the shots themselves in the folder simulated-shots.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(scatter)}", parts)


def _chances(scatter: Scatter) -> str:
    groups = (scatter.verdicts, scatter.contents, scatter.limits)
    names = ("", "", "exceeds: ")
    rows = [study_parts.chance_row(each, name) for group, name in zip(groups, names, strict=True)
            for each in group]  # fmt: skip
    text = page.table(("Outcome", "Shots", "Of", "Chance", "95 % interval"), rows, "again")
    if scatter.rare is not None:
        text += f"<p>{escape(words.rare_sentence(scatter))}</p>"
    return text


def _drivers(scatter: Scatter, figures: dict[str, str], shown: dict[str, str]) -> list[str]:
    parts = []
    for output in scatter.outputs:
        sentences = " ".join(escape(each) for each in words.advice(scatter, output))
        parts += [f"<p>{sentences}</p>", page.figure(figures, shown, f"drivers-{output.name}")]
        if output.influences:
            parts.append(_indices(scatter, output))
    return parts


def _indices(scatter: Scatter, output: Output) -> str:
    labels = {factor.name: factor.label for factor in scatter.factors}
    rows = [
        (labels.get(name, name), _index(each.first, each.first_low, each.first_high),
         _index(each.total, each.total_low, each.total_high))
        for name, _, each in rows_of(output) if each is not None
    ]  # fmt: skip
    return page.table(("Input", "First-order index", "Total index"), rows, "again")


def _index(value: float, low: float, high: float) -> str:
    return f"{value:.2f} ({low:.2f} to {high:.2f})".replace("-0.00", "0.00")


def _sampling(scatter: Scatter) -> str:
    names = {"sobol": "scrambled Sobol' points", "latin": "Latin hypercube"}
    return names.get(scatter.sampling, scatter.sampling)
