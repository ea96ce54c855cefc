"""The sentences of a charge window: headline, reasons, ends, changes."""

from __future__ import annotations

import math

from baypulse.case import quantities
from baypulse.case.quantities import asked, capital, often, weighable
from baypulse.members.charge_results import Edge
from baypulse.members.charge_search import PILOT
from baypulse.observed.contradiction import Contradiction
from baypulse.show import contradiction_text
from baypulse.show.phrases import case_file
from baypulse.studies.window.practice import far_from_practice
from baypulse.studies.window.result import Remedy, Window
from baypulse.studies.window.trials import (
    amount,
    span,
    spoken,
)

CLEAR_EFFECT = 0.05
"""Share by which a change has to widen a window before it is more than the scatter of its few
shots."""

BEST = 3
"""Changes that are named in a sentence."""


def rest(window: Window) -> str:
    """Return how often a limit may be exceeded."""
    return f"{100.0 * (1.0 - window.wanted):.4g} %"


def headline(window: Window) -> str:
    """Return the window and the ground-test charge, or that there is none."""
    name = capital(window.label)
    if against(window) is not None:
        return contradiction_text.HEADLINE
    if window.least is None:
        return (
            f"No {window.label} up to {amount(window, window.highest)} opens this bay "
            f"{asked(window.wanted)} of the time"
        )
    least = amount(window, end(window, window.least, up=True))
    if window.empty:
        return (
            f"No {window.label} opens this bay {asked(window.wanted)} of the time without "
            "exceeding a limit"
        )
    if window.recommended is None:
        return f"No {window.label} is recommended: this bay needs {least} or more"
    prove = amount(window, window.recommended.charge)
    if window.most is None:
        return f"{name} {least} or more; ground-test {window.label} {prove}"
    ends = end(window, window.least, up=True), end(window, window.most, up=False)
    if ends[0] > ends[1]:
        ends = window.least.charge, window.most.charge
    return f"{name} {span(window, *ends)}; ground-test {window.label} {prove}"


def end(window: Window, edge: Edge, *, up: bool) -> float:
    """Return an end of the window as a scale shows it, powder rounded to the safe side [SI]."""
    return weighable(edge.charge, up=up) if window.dimension == "mass" else edge.charge


NEXT = {
    "why": "Find out what the case has wrong",
    "check": "What to measure or mend first",
    "plan": "Steps that lead up to that ground test, to print",
}
"""What each command that may follow is for."""


def next_command(window: Window) -> str:
    """Return the command that follows: to find the cause, to mend the bay, or to plan a test."""
    if against(window) is not None:
        return "why"
    return "check" if window.recommended is None else "plan"


def next_steps(window: Window) -> list[str]:
    """Return what to do now."""
    command = next_command(window)
    return [f"{NEXT[command]}: baypulse {command} {case_file(window.case.name)}"]


def rests_on(window: Window) -> str:
    """Return on which shots of this bay the window rests, in two words."""
    after = window.after
    if after is None:
        return "no shot"
    if after.contradiction is not None:
        return "shots contradict"
    return f"{after.shots} shot{'s' * (after.shots != 1)}"


def answer(window: Window) -> list[str]:
    """Return the sentences behind the headline: reasons, both ends, the charge of the case."""
    found = [each if each.endswith(".") else f"{each}." for each in window.reasons]
    odd = against(window)
    if odd is not None:
        told = contradiction_text.sentences(odd, window.case.name, window.dimension)
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


def limits_note(window: Window) -> str:
    """Return by how many shots those were found."""
    members = max((edge.chance.members for edge in window.limits), default=PILOT)
    return (
        f"Where each limit alone would be exceeded in more than {rest(window)} of them; by "
        f"{members:,} simulated shots, so only roughly."
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
    return f"{still}{quantities.digits(max(times, 1.0 / times), 2)} times {word}"


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
        f"{window.members:,} simulated shots behind each end, {window.runs:,} runs in all, "
        f"seed {window.seed}"
    )
