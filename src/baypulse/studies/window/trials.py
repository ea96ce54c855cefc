"""What single charges of a window do: the ground-test charge, the backup, both, the rule's."""

from __future__ import annotations

from baypulse.case import geometry, quantities
from baypulse.case.quantities import digits, often, show
from baypulse.members.charge_results import Trial
from baypulse.run.result import Breakdown
from baypulse.studies.window.compute import BACKUP_RULE, RECOMMENDED_RULE
from baypulse.studies.window.result import Window

AFTER_FAILURE = (
    "Assumed of a bay that failed to open: the first charge's gas has gone, its residue and any "
    "powder left half burnt are not modelled, the joint has not moved and its pins are whole. "
    "Whatever made it fail is still there, so these are the bays that are hardest to open."
)
"""What the second charge finds."""

TERMS = {
    "all its heat, mixed at once": "all the powder's heat, mixed with the bay's air at once",
    "unburnt powder": "powder that stays unburnt",
    "free-volume rule": "the pack taken off the volume",
    "slow burning, cold walls and contents": "slow burning, cold walls and contents",
    "slow mixing": "hot gas and air that mix slowly",
    "heat, mixing and walls": "heat, mixing and walls",
    "vents and leaks": "what leaves by vents and leaks",
    "joint moves": "the room that the moving joint gives",
}
"""Steps of the breakdown from the empty-bay rule's pressure to the run's, in words."""

FEW = 30
"""Failed shots below which their number is said to tell little."""

LARGEST = 3
"""Terms of the breakdown that are told in a sentence."""


def amount(window: Window, value: float) -> str:
    """Return a charge as people say it: grams and grains, or a gauge pressure."""
    text = show(float(value), window.dimension)
    return f"{text} gauge" if window.dimension == "gauge pressure" else text


def span(window: Window, low: float, high: float) -> str:
    """Return two charges as people say a range: ``"0.350 to 1.03 g (5.40 to 15.9 grain)"``."""
    text = quantities.span(low, high, window.dimension)
    return f"{text} gauge" if window.dimension == "gauge pressure" else text


def spoken(trial: Trial) -> str:
    """Return how often a charge opens the bay, and how often and by what it is too much."""
    return f"it separates {often(trial.opens)} and exceeds a limit {often(trial.fails_hard)}" + (
        f", most often: {worst(trial)}" if trial.fails_hard.count else ""
    )


def worst(trial: Trial) -> str:
    """Return the limit that is exceeded most often, or an empty text."""
    most = max(trial.limits, key=lambda each: each.count, default=None)
    return most.name if most is not None and most.count else ""


def notes(window: Window) -> dict[str, str]:
    """Return what is said of the ground-test charge, the backup, and both, by the trial's name.

    Parameters
    ----------
    window : Window
        Findings; there are none where no charge is recommended.
    """
    first, second, both = window.recommended, window.backup, window.both
    if first is None:
        return {}
    found = {
        "recommended": f"{RECOMMENDED_RULE} It was checked by {first.opens.members:,} simulated "
        "shots drawn apart from those of the search."
    }
    if second is not None:
        found["backup"] = BACKUP_RULE
        found["after failure"] = _after(window, first)
    if both is not None:
        found["both"] = _both(window, both)
    return found


def _after(window: Window, first: Trial) -> str:
    """Return what the second charge does in a bay that the first failed to open."""
    after = window.after_failure
    charge = amount(window, first.charge)
    if after is None:
        # every member of the search was tried with it
        return (
            f"None of {window.members:,} simulated shots failed to open with {charge}, so there is "
            "no such bay to try the backup on."
        )
    failed = after.opens.members
    if failed == 1:
        told = f"the backup {'opens it' if after.opens.count else 'does not open it either'}"
    else:
        told = f"the backup opens {after.opens.count:,} of those {failed:,}"
    few = " So few say little." if failed < FEW else ""
    return (
        f"Of {window.members:,} simulated shots {failed:,} failed to open with {charge}; {told} "
        f"(a chance of {quantities.chance(after.opens)}).{few} {AFTER_FAILURE}"
    )


def _both(window: Window, both: Trial) -> str:
    """Return what is taken for both charges at once, and whether that is too much."""
    case = window.case
    if case.powder is None:
        how = "two reservoirs at the mean of both pressures"
    else:
        how = "one charge" + (" in the room of two holders" if case.holder is not None else "")
    text = f"Lit at the same moment; taken as {how}."
    if both.fails_hard.share > 1.0 - window.wanted:
        text += " It exceeds a limit more often than allowed: the two must not fire together."
    return text


def rule_sentences(window: Window) -> list[str]:
    """Return what the static rule would have, what that does, and why the two differ.

    Parameters
    ----------
    window : Window
        Findings.
    """
    rule, trial, first = window.static_rule, window.rule, window.recommended
    found = []
    if trial is None and window.case.powder is not None:
        found.append(
            "The empty-bay rule (common practice, no source) takes "
            f"{amount(window, rule.empty.needed_mass)}, for which there is no room here."
        )
    elif trial is None:
        found.append(
            "The static rule (common practice, no source) gives no fill for a cold gas; for the "
            f"{amount(window, window.present)} of the case it promises "
            f"{show(float(rule.empty.promised_pressure), 'gauge pressure')} in the bay."
        )
    else:
        share = ""
        if first is not None:
            times = digits(trial.charge / first.charge, 2)
            share = f", {times} times the ground-test charge"
        found.append(
            f"The empty-bay rule (common practice, no source) takes {amount(window, trial.charge)}"
            f"{share}: {spoken(trial)}. The free-volume rule, which takes the pack off, would take "
            f"{amount(window, rule.free.needed_mass)}."
        )
        asked = show(float(rule.needed_pressure), "gauge pressure")
        target = show(float(rule.target_pressure), "gauge pressure")
        pins = " and the pins over the bore" if window.case.pins is not None else ""
        held = show(float(geometry.shot_hold(window.case).pressure), "gauge pressure")
        found.append(
            f"It asks for {asked}: its target of {target}{pins}. At its nominal values this joint "
            f"gives way at {held} in a shot."
        )
    if window.breakdown is not None and first is not None:
        found.append(_breakdown(window, window.breakdown, first))
    return found


def _breakdown(window: Window, breakdown: Breakdown, first: Trial) -> str:
    """Return the largest terms between the rule's pressure and the run's."""
    promised, reached = (show(float(breakdown.steps[k][1]), "gauge pressure") for k in (0, -1))
    terms = sorted(steps(breakdown), key=lambda term: -abs(term[1]))[:LARGEST]
    told = "; ".join(
        f"{name}: {show(abs(change), 'gauge pressure')} {'more' if change > 0.0 else 'less'}"
        for name, change in terms
        if change
    )
    return (
        f"With {amount(window, first.charge)} the rule promises {promised}, and the nominal run "
        f"reaches {reached}. The largest terms between: {told}."
    )


def steps(breakdown: Breakdown) -> list[tuple[str, float]]:
    """Return what each effect changes between the rule's pressure and the run's [Pa], in words."""
    found = []
    before = float(breakdown.steps[0][1])
    for name, value in breakdown.steps[1:]:
        found.append((TERMS.get(name, name), float(value) - before))
        before = float(value)
    return found
