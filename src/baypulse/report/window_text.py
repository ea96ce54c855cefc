"""What a charge window says, in words: sentences, rows of tables, the text of the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from baypulse import units
from baypulse.caution import CAUTION
from baypulse.plot.charges import TRIALS, charge_scale, single
from baypulse.plot.scales import percent, shorten
from baypulse.report import contradicted
from baypulse.report.practice import far_from_practice
from baypulse.report.scatter_text import capital, cut, wrapped
from baypulse.report.text import WIDE, charge, columns
from baypulse.report.window_trials import (
    amount,
    notes,
    often,
    ranges,
    rule_sentences,
    span,
    spoken,
    worst,
)
from baypulse.study.ends import PILOT
from baypulse.study.misfit import Contradiction
from baypulse.study.remedies import AS_IT_IS
from baypulse.study.windows import Edge, Remedy, Trial, Window

CLEAR_EFFECT = 0.05
"""Share by which a change has to widen a window before it is more than the scatter of its few
shots."""

LONGEST_NAME = 28
"""Letters of a case's name in the comparison."""

BEST = 3
"""Changes that are named in a sentence."""

LIMITS_OF_THE_WINDOW = (
    "The window holds for the spreads listed and for this model; most spreads of the library are "
    "estimates. Limits that the case does not give, such as the strength of an anchor or a highest "
    "velocity, end no window. The intervals say how well so many shots pin an end down, not how "
    "well the model knows the bay: no measured pressure trace of a recovery bay was found to "
    "compare it with, and it knows no jet of flame on a wall, no shoulder that tilts and jams, no "
    "lines that tangle. A damp charge or a forgotten plug is in no spread. A ground test knows "
    "them all."
)
"""Printed in every report of a window."""


def wanted(window: Window) -> str:
    """Return the chance that was asked for."""
    return f"{100.0 * window.wanted:.6g} %"


def rest(window: Window) -> str:
    """Return how often a limit may be exceeded."""
    return f"{100.0 * (1.0 - window.wanted):.4g} %"


def headline(window: Window) -> str:
    """Return the window and the ground-test charge, or that there is none."""
    name = capital(window.label)
    if against(window) is not None:
        return contradicted.HEADLINE
    if window.least is None:
        return (
            f"No {window.label} up to {amount(window, window.highest)} opens this bay "
            f"{wanted(window)} of the time"
        )
    least = amount(window, window.least.charge)
    if window.empty:
        return (
            f"No {window.label} opens this bay {wanted(window)} of the time without exceeding a "
            "limit"
        )
    if window.recommended is None:
        return f"No {window.label} is recommended: this bay needs {least} or more"
    prove = amount(window, window.recommended.charge)
    if window.most is None:
        return f"{name} {least} or more; ground-test {window.label} {prove}"
    both = span(window, window.least.charge, window.most.charge)
    return f"{name} {both}; ground-test {window.label} {prove}"


def answer(window: Window) -> list[str]:
    """Return the sentences behind the headline: reasons, both ends, the charge of the case."""
    found = [each if each.endswith(".") else f"{each}." for each in window.reasons]
    odd = against(window)
    if odd is not None:
        told = contradicted.sentences(odd, window.case.name, window.dimension)
        return [*told, *found, *_present(window), *after_shots(window)]
    far = far_from_practice(window)
    if far is not None:
        found.append(far)
    if window.empty and window.remedies:
        found.append(remedy_sentence(window))
    if window.least is not None:
        found.append(_least(window, window.least))
    if window.most is not None and window.most.charge > 0.0:
        found.append(_most(window, window.most))
    return [*found, *_present(window), *_others(window), *after_shots(window)]


def against(window: Window) -> Contradiction | None:
    """Return which shots contradict the case; None where none do."""
    return None if window.after is None else window.after.contradiction


def after_shots(window: Window) -> list[str]:
    """Return on which shots the window rests, and what they changed; nothing without any."""
    after = window.after
    if after is None:
        return []
    none = "none that was looked at"
    before, now = (
        none if charge is None else amount(window, charge)
        for charge in (after.least, None if window.least is None else window.least.charge)
    )
    number = f"{after.shots} shot{'s' * (after.shots != 1)}"
    if after.contradiction is not None:
        return [
            f"The ends below rest on simulated shots that come nearest to {number} in {after.file}."
        ]
    return [
        f"After {number} in {after.file}: the least charge is {now}, before them it was {before}. "
        f"The simulated shots are of bays that agree with what was seen, worth about "
        f"{after.effective:.0f} different ones, so the ends are known less well than their "
        "intervals say."
    ]


def _others(window: Window) -> list[str]:
    """Return the backup and the static rule's charge, by name only."""
    found = []
    if window.backup is not None:
        found.append(f"Backup: {amount(window, window.backup.charge)}.")
    if window.rule is not None:
        found.append(
            "The empty-bay rule (common practice, no source) takes "
            f"{amount(window, window.rule.charge)}."
        )
    return [" ".join(found)] if found else []


def _least(window: Window, edge: Edge) -> str:
    out = "separates" if window.case.contents is None or window.case.cord is None else (
        "separates, and lets the parachute out,"
    )  # fmt: skip
    return (
        f"Least: at {amount(window, edge.charge)} the bay {out} {often(edge.chance)}."
        f"{_between(window, edge)}"
    )


def _most(window: Window, edge: Edge) -> str:
    return (
        f"Most: at {amount(window, edge.charge)} a limit is exceeded {often(edge.chance)}, most "
        f"often: {edge.name}.{_between(window, edge)}"
    )


def _between(window: Window, edge: Edge) -> str:
    """Return where an end lies with 95 % confidence, as far as the shots tell."""
    low, high = math.isfinite(edge.low), math.isfinite(edge.high)
    if low and high:
        text = f"within {span(window, edge.low, edge.high)}"
    elif low:
        text = f"above {amount(window, edge.low)}; how far, these shots do not tell"
    elif high:
        text = f"below {amount(window, edge.high)}; how far, these shots do not tell"
    else:
        return " So few shots give it no interval."
    return f" With 95 % confidence this end lies {text}."


def _present(window: Window) -> list[str]:
    """Return where the charge of the case stands, and what it does."""
    own = next((trial for trial in window.curve if trial.name == "as in the case"), None)
    if own is None:
        return []
    place = ""
    if window.least is not None and not window.empty:
        most = math.inf if window.most is None else window.most.charge
        place = (
            ", below the window" if own.charge < window.least.charge
            else ", above the window" if own.charge > most
            else ", within the window"
        )  # fmt: skip
    return [f"The case has {amount(window, own.charge)}{place}: {spoken(own)}."]


def limit_rows(window: Window) -> list[tuple[str, str]]:
    """Return where each limit alone would end the window, those not reached last.

    Parameters
    ----------
    window : Window
        Findings.
    """
    rows = [(edge.name, amount(window, edge.charge)) for edge in window.limits]
    reached = {edge.name for edge in window.limits}
    names = [each.name for each in window.curve[-1].limits] if window.curve else []
    far = amount(window, window.curve[-1].charge) if window.curve else ""
    return rows + [(name, f"not up to {far}") for name in names if name not in reached]


def limits_note(window: Window) -> str:
    """Return by how many shots those were found."""
    members = max((edge.chance.members for edge in window.limits), default=PILOT)
    return (
        f"Where each limit alone would be exceeded in more than {rest(window)} of the shots; by "
        f"{members:,} shots, so only roughly."
    )


def width(least: float | None, most: float | None) -> float | None:
    """Return most over least; infinite without an upper end, None without a lower one."""
    if least is None:
        return None
    return math.inf if most is None else most / least


def effect(window: Window, remedy: Remedy) -> str:
    """Return what a change does to the window, in a few words.

    Parameters
    ----------
    window : Window
        As it is.
    remedy : Remedy
        One of its changes.
    """
    after = width(remedy.least, remedy.most)
    if after is None:
        return "separates too seldom with any charge"
    if math.isinf(after):
        return "no limit is reached"
    before = width(*_unchanged(window))
    if after >= 1.0 and window.empty:
        return "opens a window"
    if after < 1.0 and not window.empty:
        return "leaves no window"
    if not before:
        return "still none"
    if math.isinf(before):
        return "a limit is reached"
    times = after / before
    still = "still none; " if window.empty else ""
    if abs(times - 1.0) < CLEAR_EFFECT:
        return f"{still}no clear effect"
    more, less = ("nearer", "farther") if window.empty else ("as wide", "as narrow")
    word = more if times > 1.0 else less
    return f"{still}{units.digits(max(times, 1.0 / times), 2)} times {word}"


def remedy_rows(window: Window) -> list[tuple[str, str, str, str, str]]:
    """Return change, least, most, most over least and effect; the window as it is first."""
    rows = [(AS_IT_IS, *_ends(window, *_unchanged(window)), "")]
    rows += [
        (each.change, *_ends(window, each.least, each.most), effect(window, each))
        for each in window.remedies
    ]
    return rows


def _ends(window: Window, least: float | None, most: float | None) -> tuple[str, str, str]:
    ratio = width(least, most)
    return (
        "none" if least is None else amount(window, least),
        "not found" if most is None else amount(window, most) if most > 0.0 else "none",
        f"{ratio:.2f}" if ratio is not None and math.isfinite(ratio) else "-",
    )


def _unchanged(window: Window) -> tuple[float | None, float | None]:
    """Return the ends without a change, by the shots that the changes were tried with."""
    assert window.as_it_is is not None
    return window.as_it_is.least, window.as_it_is.most


def remedies_note(window: Window) -> str:
    """Return how the changes were tried."""
    return (
        f"Each change alone, and none, by {PILOT} shots where the window itself has "
        f"{window.members:,}: read sizes and directions, not digits. Below "
        f"{100.0 * CLEAR_EFFECT:.0f} % it may be scatter. The width of a window is its most over "
        "its least."
    )


def remedy_sentence(window: Window) -> str:
    """Return which changes would open an empty window."""
    before = _unchanged(window)
    good = [
        each for each in window.remedies
        if each.opens_window and (each.least, each.most) != before
    ]  # fmt: skip
    if not good:
        return (
            f"None of the {len(window.remedies)} changes tried opens a window by itself."
            if len(window.remedies) > 1
            else "The one change tried opens no window."
        )
    told = "; ".join(f"{each.change}: {_span(window, each)}" for each in good[:BEST])
    return f"What would open it, each change alone: {told}."


def _span(window: Window, remedy: Remedy) -> str:
    assert remedy.least is not None
    if remedy.most is None:
        return f"{amount(window, remedy.least)} or more"
    return span(window, remedy.least, remedy.most)


def effort(window: Window) -> str:
    """Return what the answer took."""
    return (
        f"{window.members:,} shots behind each end, {window.runs:,} runs in all, seed {window.seed}"
    )


def summary(window: Window) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    window : Window
        Findings.

    Returns
    -------
    str
        Headline, both ends, limits, changes, single charges, the static rule, warnings, caution.
    """
    case = window.case
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(window), "  ", "  ")]
    for sentence in answer(window):
        lines += wrapped(sentence, "  ", "    ")
    if window.remedies:
        lines += ["", "  What one change each would do", *_remedy_lines(window)]
        lines += wrapped(remedies_note(window), "    ", "    ")
    lines += ["", *wrapped(limits_note(window), "  ", "  ")]
    lines += cut(columns(limit_rows(window) or [("none", "")]))
    lines += ["", "  Charges: 5 %, median and 95 % of the shots in which it happened"]
    said = notes(window)
    for trial in single(window):
        lines += _trial_lines(window, trial)
        lines += wrapped(said.get(trial.name, ""), "      ", "      ")
        if trial.name == "backup" and window.after_failure is None:
            lines += [f"    {capital(TRIALS['after failure'])}"]
            lines += wrapped(said["after failure"], "      ", "      ")
    lines += [""]
    for sentence in rule_sentences(window):
        lines += wrapped(sentence, "  ", "    ")
    lines += ["", *wrapped(f"Charge in the case: {charge(case)}", "  ", "    ")]
    lines += wrapped(f"{effort(window)}.", "  ", "    ")
    lines += ["", "  Warnings"] * bool(window.warnings)
    for text in window.warnings:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *wrapped(LIMITS_OF_THE_WINDOW, "  ", "  ")]
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def _remedy_lines(window: Window) -> list[str]:
    """Return two lines for each change: it, and what it does."""
    lines = []
    for change, least, most, ratio, told in remedy_rows(window):
        lines += wrapped(change, "    ", "      ")
        times = f"; most over least {ratio}" if ratio != "-" else ""
        told = f"; {told}" if told else ""
        lines += wrapped(f"least {least}; most {most}{times}{told}", "      ", "        ")
    return lines


def _trial_lines(window: Window, trial: Trial) -> list[str]:
    lines = [f"    {capital(TRIALS[trial.name])}: {amount(window, trial.charge)}"]
    pairs = [
        ("separates", often(trial.opens)),
        (
            "exceeds a limit",
            often(trial.fails_hard) + (f": {worst(trial)}" if worst(trial) else ""),
        ),
        ("velocity", ranges(trial.clear_velocity, "velocity")),
        ("peak pressure", ranges(trial.peak_pressure, "gauge pressure")),
        ("cord load", ranges(trial.cord_load, "force")),
    ]
    return lines + cut([f"  {line}" for line in columns(pairs)])


def comparison(windows: Sequence[Window]) -> str:
    """Return a table that compares the windows of several cases, for the terminal.

    Parameters
    ----------
    windows : sequence of Window
        Findings.
    """
    head = ("case", "least", "most", "test", "rule", "chance", "speed", "ended by")
    body = [_compared(window) for window in windows]
    widths = [max(len(row[c]) for row in [head, *body]) for c in range(len(head))]
    lines = ["", f"Windows of {', '.join(dict.fromkeys(wanted(each) for each in windows))}"]
    told = [
        "  " + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip()
        for row in [head, *body]
    ]
    if max(map(len, told)) > WIDE:
        # what ends each window goes below its line
        told = [
            line[: -len(row[-1])].rstrip() for line, row in zip(told, [head, *body], strict=True)
        ]
        told = [told[0]] + [
            part
            for line, row in zip(told[1:], body, strict=True)
            for part in (line, f"      {head[-1]}: {row[-1]}")
        ]
    lines += cut(told)
    lines += wrapped(
        "Least, most, ground-test charge, static rule's charge; how often the ground-test charge "
        "separates the bay, and its median velocity when clear; the limit that ends the window. 1 "
        "g is 15.4 grain, 1 psi is 6.89 kPa, 1 m/s is 3.28 ft/s.", "  ", "  ",
    )  # fmt: skip
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def _compared(window: Window) -> tuple[str, ...]:
    """Return one case's row, one unit a cell so that it fits."""
    scale = charge_scale(window)
    first = window.recommended
    least, most = window.least, window.most
    ended = "no limit found" if most is None else most.name
    if window.empty:
        ended = f"none: {ended}" if least is not None else "none: too seldom"
    return (
        shorten(window.case.name, LONGEST_NAME).replace("…", "."),
        "-" if least is None else scale.short(float(least.charge)),
        "-" if most is None or most.charge <= 0.0 else scale.short(float(most.charge)),
        "-" if first is None else scale.short(float(first.charge)),
        "-" if window.rule is None else scale.short(float(window.rule.charge)),
        "-" if first is None else f"{percent(first.opens.share)} %",
        "-" if first is None or not math.isfinite(first.clear_velocity[1])
        else f"{units.digits(first.clear_velocity[1])} m/s",
        ended,
    )  # fmt: skip
