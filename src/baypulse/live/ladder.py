"""The charges of the slider, and what can be said of each: too little, test here, too much."""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby
from typing import Any

import numpy as np

from baypulse.case import quantities, units
from baypulse.case.casefile.keys import number_at
from baypulse.case.model import Case
from baypulse.live.answer import present_charge
from baypulse.live.quickness import held_at, scatters
from baypulse.members.charges import exceeds_any, greatest_charge, with_charge, works
from baypulse.members.ensemble import run_values
from baypulse.members.outcomes import Outcomes
from baypulse.run.breakdown import static_rule as rule_of
from baypulse.studies.window.compute import MOST_OVER_LEAST

REACH = 4.0
"""Least and most charge of the slider, below and above the empty-bay rule's; our choice."""

STEPS = 81
"""Charges of the slider."""

EVERY = 2
"""Every how many of them are fired for the strip."""

WORKERS = 2
"""Threads of a strip; the answer does not depend on them."""

LITTLE, TEST, MUCH, BOTH = "little", "test", "much", "both"
"""What is said of a charge."""

WORDS = {LITTLE: "too little", TEST: "test here", MUCH: "too much", BOTH: "too little or too much"}
"""The same for people."""

EXPLAINED = (
    "Too little: the bay does not open when the powder burns slowly. Too much: a limit is exceeded "
    f"when it burns quickly, or it is more than {MOST_OVER_LEAST:g} times the least that opens. "
    "One slow, one middle and one quick shot of each charge, nothing else scatters: the window "
    "counts all of it."
)
"""What the strip means."""

EXPLAINED_GAS = (
    "Too little: the bay does not open. Too much: a limit is exceeded, or it is more than "
    f"{MOST_OVER_LEAST:g} times the least that opens. One shot of each fill, "
    "nothing scatters: the charge window counts all of it."
)
"""What the strip of a cold gas means."""


def charges(case: Case) -> list[float]:
    """Return the charges of the slider [SI], rising, each as a scale or a gauge shows it.

    Parameters
    ----------
    case : Case
        Of which the empty-bay rule's charge, and the present one, lie among them.
    """
    path, present, dimension = present_charge(case)
    middle = present
    if case.powder is not None:
        middle = rule_of(case).empty.needed_mass
    spec = number_at(path)
    low = max(min(middle / REACH, 0.8 * present), spec.low)
    high = max(min(max(middle * REACH, 1.25 * present), greatest_charge(case)), present)
    steps = np.geomspace(low, high, STEPS)
    read = {units.parse(written(float(step), dimension), dimension) for step in steps}
    return sorted(each for each in read if spec.low <= each <= spec.high)


def written(charge: float, dimension: str) -> str:
    """Return a charge as a case file says it.

    Parameters
    ----------
    charge : float
        SI.
    dimension : str
        Its kind.
    """
    unit = quantities.preferred(charge, dimension)[0]
    if dimension != "mass":
        return f"{quantities.show(charge, dimension, (unit,))} gauge"
    step = quantities.scale_step(charge)
    return quantities.show(max(round(charge / step), 1) * step, "mass", ("g",))


def strip(case: Case, stale: Callable[[], bool]) -> dict[str, Any] | None:
    """Return what is said of the charges of the slider; None where nobody waits any more.

    Parameters
    ----------
    case : Case
        Its present charge does not matter to what is said of the others.
    stale : callable
        Whether a newer question was asked.
    """
    steps = charges(case)
    which = np.unique([*range(0, len(steps), EVERY), len(steps) - 1])
    said = _said(case, np.array([steps[k] for k in which]), stale)
    return None if said is None else told(case, steps, which, said)


def told(case: Case, steps: list[float], which: np.ndarray, said: list[str]) -> dict[str, Any]:
    """Return the strip as the page draws it.

    Parameters
    ----------
    case : Case
        Of which it is.
    steps : list of float
        Charges of the slider [SI].
    which : ndarray of int
        Those of which something is said.
    said : list of str
        That.
    """
    path, present, dimension = present_charge(case)
    found: dict[str, Any] = {
        "path": path,
        "at": place(steps, present),
        "told": quantities.show(present, dimension),
        "steps": [written(each, dimension) for each in steps],
        "texts": [quantities.show(each, dimension) for each in steps],
        "said": [
            {"word": kind, "from": int(which[part[0]]), "to": int(which[part[-1]])}
            for kind, part in _runs(said)
        ],
        "words": WORDS,
        "headline": _headline(said, np.array(steps)[which], dimension),
        "explained": EXPLAINED if scatters(case) else EXPLAINED_GAS,
        "marks": [],
    }
    if case.powder is not None:
        rule = rule_of(case).empty.needed_mass
        found["marks"].append(
            {"at": place(steps, rule), "text": f"empty-bay rule {quantities.short(rule, 'mass')}"}
        )
    return found


def place(steps: list[float], charge: float) -> float:
    """Return where a charge stands among the steps, as a share of the strip.

    Parameters
    ----------
    steps : list of float
        Rising.
    charge : float
        SI; one beyond the ends stands at the end.
    """
    return float(np.interp(charge, steps, np.linspace(0.0, 1.0, len(steps))))


def _said(case: Case, fired: np.ndarray, stale: Callable[[], bool]) -> list[str] | None:
    """Return what is said of each charge: slow powder must open, quick powder must not break."""
    shots = [outcomes(held_at(case, end), fired, stale) for end in (-1.0, 0.0, 1.0)]
    slow, middle, quick = shots
    if slow is None or middle is None or quick is None:
        return None
    return said_of(fired, slow, middle, quick)


def said_of(fired: np.ndarray, slow: Outcomes, middle: Outcomes, quick: Outcomes) -> list[str]:
    """Return what is said of each charge, from one shot of each kind of powder.

    Parameters
    ----------
    fired : ndarray
        Charges [SI], rising.
    slow, middle, quick : Outcomes
        Of those charges.
    """
    little = ~(works(slow) & works(middle))
    much = exceeds_any(quick) | exceeds_any(middle)
    # as for a ground-test charge: a limit that nobody typed must not make any charge look right
    if not little.all():
        much |= fired > MOST_OVER_LEAST * fired[np.argmin(little)]
    return [
        BOTH if low and high else LITTLE if low else MUCH if high else TEST
        for low, high in zip(little, much, strict=True)
    ]


def outcomes(case: Case, fired: np.ndarray, stale: Callable[[], bool]) -> Outcomes | None:
    """Return what becomes of a case with each charge; None where nobody waits any more.

    Parameters
    ----------
    case : Case
        Nothing of it scatters here.
    fired : ndarray
        Charges [SI].
    stale : callable
        Whether anybody waits.
    """
    if stale():
        return None
    path = present_charge(case)[0]
    plain = with_charge(case, present_charge(case)[1])
    return run_values(plain, fired, lambda part: {path: part}, WORKERS)


def _runs(said: list[str]) -> list[tuple[str, list[int]]]:
    """Return what is said, and the charges in a row of which it is."""
    return [(kind, list(part)) for kind, part in groupby(range(len(said)), said.__getitem__)]


def _headline(said: list[str], fired: np.ndarray, dimension: str) -> str:
    """Return between which charges to test."""
    parts = [part for kind, part in _runs(said) if kind == TEST]
    if not parts:
        return "No charge of this strip is worth a test: change the bay, not the charge."
    longest = max(parts, key=len)
    low, high = float(fired[longest[0]]), float(fired[longest[-1]])
    return f"Test from {quantities.span(low, high, dimension)}, from the low end up."
