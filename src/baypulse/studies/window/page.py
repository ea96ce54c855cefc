"""The page of a charge window: HTML that needs no script and loads nothing."""

from __future__ import annotations

from html import escape

from baypulse.case import quantities
from baypulse.case.quantities import capital
from baypulse.case.starter import explain
from baypulse.show import page, study_parts
from baypulse.show.data import doubts
from baypulse.show.text import charge
from baypulse.studies.window import text as words
from baypulse.studies.window.result import Window
from baypulse.studies.window.trial_text import (
    chances_rows,
    notes,
    numbers_rows,
    rule_sentences,
    steps,
)
from baypulse.studies.window.trial_values import TRIALS


def captions(window: Window) -> dict[str, str]:
    """Return what each figure of a window shows, by its name.

    Parameters
    ----------
    window : Window
        Findings.
    """
    return {
        "window": "The strip on top says what can be said of each charge; the short bars above it "
        "are the 95 % intervals of the window's ends, the marks the charges that were looked at. "
        "Below, on the same scale: the two chances, and median and range of nine of ten shots in "
        "which it happened; heavy broken lines are limits at the nominal values. Points are "
        "computed, the lines only join them. The scale is logarithmic: equal steps are equal "
        "factors.",
        "trials": "Bars hold nine of ten shots, the heavy stroke is the median, heavy broken lines "
        "are limits.",
        "changes": "Each bar is the window with one change, alone. A hatched bar is the gap of an "
        "empty window. The number is most over least.",
    }


def window_page(window: Window, figures: dict[str, str]) -> str:
    """Return the whole page.

    Parameters
    ----------
    window : Window
        Findings.
    figures : dict of str
        SVG for the inside of a page, by the name of the figure.
    """
    case = window.case
    shown = captions(window)
    remedies = _remedies(window, figures, shown)
    parts = [
        *study_parts.top(case, f"Charge in the case: {charge(case)}"),
        study_parts.box(words.headline(window), words.answer(window)),
        study_parts.warnings(window.warnings, doubts(case)),
        page.caution(),
        *(remedies if window.empty else ()),
        "<h2>What ends the window</h2>",
        page.table(("Limit", "Exceeded too often from"), words.limit_rows(window)),
        f"<p>{escape(words.limits_note(window))}</p>",
        "<h2>Curves</h2>", page.figure(figures, shown, "window"),
        *_charges(window, figures, shown),
        *_rule(window),
        *(() if window.empty else remedies),
        "<h2>What was read</h2>", f"<pre>{escape(explain(case))}</pre>",
        "<h2>What this window does not know</h2>",
        f"<p>{escape(words.LIMITS_OF_THE_WINDOW)}</p>",
        page.caution(),
        study_parts.footer(
            case,
            f"{capital(words.effort(window))}. The same numbers are in numbers.json, the curve in "
            "window.csv, beside this page.",
        ),
    ]  # fmt: skip
    return page.skeleton(f"{case.name}: {words.headline(window)}", parts)


def _charges(window: Window, figures: dict[str, str], shown: dict[str, str]) -> list[str]:
    """Return what single charges do."""
    said = [
        f"<li><b>{escape(capital(TRIALS[name]))}.</b> {escape(text)}</li>"
        for name, text in notes(window).items()
    ]
    return [
        "<h2>Charge by charge</h2>",
        page.table(("Charge", "", "Separates", "Exceeds a limit", "Most often"),
                   [(row[0], *map(_held, row[1:4]), row[4]) for row in chances_rows(window)]),
        f"<ul>{''.join(said)}</ul>" if said else "",
        page.figure(figures, shown, "trials"),
        page.table(
            ("5 % / median / 95 %", "Velocity when clear", "Peak pressure, gauge", "Cord load"),
            [(row[0], *map(_held, row[1:])) for row in numbers_rows(window)],
        ),
    ]  # fmt: skip


def _held(text: str) -> str:
    """Keep a value on one line, that in brackets on its own."""
    kept = text.replace(" ", "\N{NO-BREAK SPACE}")
    return kept.replace("\N{NO-BREAK SPACE}(", " (")


def _rule(window: Window) -> list[str]:
    """Return the static rule beside it."""
    found = ["<h2>Beside the static rule</h2>"]
    found += [f"<p>{escape(sentence)}</p>" for sentence in rule_sentences(window)]
    if window.bridge is not None:
        first, last = (
            quantities.show(float(window.bridge.steps[k][1]), "gauge pressure") for k in (0, -1)
        )
        rows = [("The rule's promise", first)]
        rows += [
            (capital(name), f"{'+' if change > 0.0 else ''}"
                            f"{quantities.show(change, 'gauge pressure')}")
            for name, change in steps(window.bridge)
        ]  # fmt: skip
        found.append(page.table(("", "Pressure"), [*rows, ("Peak of the nominal run", last)]))
    return found


def _remedies(window: Window, figures: dict[str, str], shown: dict[str, str]) -> list[str]:
    """Return what changes would do, or nothing where none was tried."""
    if not window.remedies:
        return []
    return [
        f"<h2>What would {'open' if window.empty else 'widen'} it</h2>",
        page.table(("Change", "Least", "Most", "Most over least", "Effect"),
                   [(row[0], *map(_held, row[1:4]), row[4]) for row in words.remedy_rows(window)]),
        f"<p>{escape(words.remedies_note(window))}</p>",
        page.figure(figures, shown, "changes"),
    ]  # fmt: skip
