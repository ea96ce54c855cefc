"""Changes that would open the window of a vent, each tried."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from baypulse.case import quantities
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members.charges import charge_path
from baypulse.studies.vents.result import NOT_ENOUGH, Lower, Upper, VentRemedy

MORE_CHARGE = (1.25, 1.5, 2.0)
"""Factors by which the charge is raised."""

MOST_PINS = 24
"""Of a joint."""


def remedies(
    case: Case, ends: Callable[[Case], tuple[Lower, Upper]], lower: Lower, upper: Upper
) -> tuple[VentRemedy, ...]:
    """Try every change; those that open a window come first, the widest of them at the top.

    Parameters
    ----------
    case : Case
        With its vent.
    ends : callable
        From a case to both ends of its window.
    lower, upper : Lower, Upper
        The ends without a change. A charge that is too small already bears no more pins, and
        where no vent is enough for the ascent, only more pins help.
    """
    found = [
        VentRemedy(words, *ends(changed))
        for words, changed in changes(case, lower, upper)
        if not any(consistency.problems(changed))
    ]
    return tuple(sorted(found, key=_width, reverse=True))


def _width(remedy: VentRemedy) -> tuple[bool, float]:
    # without a lower end the largest vent alone tells them apart
    return remedy.opens_window, remedy.upper.single / max(remedy.lower.single, 1e-3)


def changes(case: Case, lower: Lower, upper: Upper) -> Iterator[tuple[str, Case]]:
    """Yield every change, in words and as another case.

    Parameters
    ----------
    case : Case
        With its vent.
    lower, upper : Lower, Upper
        As for :func:`remedies`.
    """
    path = charge_path(case)
    present = float(value_at(case, path))
    fewer, more = _pins(case)
    weak, strong = upper.state == NOT_ENOUGH, lower.state == NOT_ENOUGH
    yield from [] if strong else fewer
    yield from [] if weak else more
    what = "gauge pressure" if path == "cold_gas.pressure" else "mass"
    for factor in MORE_CHARGE:
        charge = factor * present
        words = f"{quantities.show(charge, what)} in place of {quantities.show(present, what)}"
        words = f"{'a charge of' if what == 'mass' else 'a fill of'} {words}"
        if not strong:
            yield words, with_value(case, path, charge)
        # more pins ask for more charge
        if (weak and strong) or (not weak and factor == MORE_CHARGE[0]):
            for and_pins, changed in more:
                yield f"{and_pins}, and {words}", with_value(changed, path, charge)


def _pins(case: Case) -> tuple[list[tuple[str, Case]], list[tuple[str, Case]]]:
    """Return the case with fewer, and with more pins."""
    found: tuple[list[tuple[str, Case]], list[tuple[str, Case]]] = ([], [])
    if case.pins is None:
        return found
    count = case.pins.count
    for side, other in ((0, count - 1), (1, count + 1), (1, count + 2)):
        # a single pin lets the shoulder tilt
        if 2 <= other <= MOST_PINS:
            words = f"{other} pins in place of {count}"
            found[side].append((words, with_value(case, "pins.count", other)))
    return found
