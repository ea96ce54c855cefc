"""What a run means: the limits it is held against, and the verdict."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from baypulse.case import geometry, library, params
from baypulse.case.geometry import Floats
from baypulse.case.model import Case
from baypulse.engine.parameters import Parameters
from baypulse.engine.status import MESSAGES, Status
from baypulse.run.result import VERDICTS, Check, Event, EventKind, Numbers, Parachute, Verdict

MOVED_SHARE = 0.02
"""Share of the stroke beyond which a joint at rest counts as moved; pins bend less."""


class Loads(NamedTuple):
    """The numbers that are held against limits, where there is no whole result.

    Attributes
    ----------
    peak_pressure, hoop_stress, greatest_velocity, cord_load, cord_strength
        As in :class:`baypulse.run.result.Numbers`, but arrays of the members; NaN for what did not
        happen.
    weakest_link : str
        What to call the strength.
    """

    peak_pressure: Floats
    hoop_stress: Floats
    greatest_velocity: Floats
    cord_load: Floats
    cord_strength: Floats
    weakest_link: str


def limit_checks(case: Case, numbers: Numbers | Loads) -> list[Check]:
    """Compare what a run, or every member of an ensemble, did with every strength and limit.

    Parameters
    ----------
    case : Case
        The case.
    numbers : Numbers or Loads
        Of the run, or of the members.
    """
    wall = library.wall(case.bay.wall, case.materials)
    most = case.limits
    found: list[tuple[str, Any, Any, str]] = [
        ("tube wall, hoop stress", numbers.hoop_stress, wall.tensile_strength, "stress"),
        ("bay pressure", numbers.peak_pressure, most.bay_pressure, "gauge pressure"),
        ("greatest separation velocity", numbers.greatest_velocity, most.separation_velocity,
         "velocity"),
        (numbers.weakest_link, numbers.cord_load, numbers.cord_strength, "force"),
    ]  # fmt: skip
    if numbers.cord_load is not None:
        for joint in case.other_joints:
            # the cord's jerk on a joint that is still closed, against what that joint stands
            felt = geometry.felt_share(case, joint) * numbers.cord_load * joint.sudden
            found.append((f"{joint.name}: jerk of the cord", felt, joint.hold, "force"))
    return [
        Check(name, value, limit, dimension, "stay below")
        for name, value, limit, dimension in found
        if value is not None and limit is not None
    ]


def classify(cleared: Any, exceeded: Any, ended: Any, moved: Any) -> np.ndarray:
    """Return the code of the verdict, of one run or of each member.

    Parameters
    ----------
    cleared, exceeded, ended, moved : bool or ndarray of bool
        Whether the shoulder left the tube, whether a limit was exceeded, whether the solver came
        to a proper end, and whether the joint moved (:func:`has_moved`).
    """
    stopped = np.where(moved, Verdict.PARTIAL_SEPARATION.code, Verdict.NO_SEPARATION.code)
    separated = np.where(exceeded, Verdict.SEPARATES_TOO_HARD.code, Verdict.SEPARATES.code)
    return np.where(cleared, separated, np.where(ended, stopped, Verdict.UNDECIDED.code))


def has_moved(P: Parameters, failed: Any, greatest_travel: Any) -> Any:
    """Tell a joint that moved from one that did not, in one run or in each member.

    Parameters
    ----------
    P : Parameters
        The shot or the members.
    failed : bool or ndarray of bool
        Whether a pin failed.
    greatest_travel : float or ndarray
        [m].
    """
    # a pin gives before it fails; that is not yet a joint that moved
    give = np.max(P.pin_gap + P.pin_rise, axis=-1, initial=0.0)
    return failed | (greatest_travel > np.maximum(MOVED_SHARE * P.stroke, give))


def judge(
    case: Case, P: Parameters, status: Status, events: list[Event], numbers: Numbers,
    limits: list[Check],
) -> tuple[Verdict, Parachute, list[str]]:  # fmt: skip
    """Say what happened.

    Parameters
    ----------
    case : Case
        The case.
    P : Parameters
        The same as floats.
    status : Status
        How the run ended.
    events : list of Event
        What happened in it.
    numbers : Numbers
        Of the run.
    limits : list of Check
        From :func:`limit_checks`.

    Returns
    -------
    verdict : Verdict
        What became of the joint.
    contents : Parachute
        What became of the packed parachute.
    reasons : list of str
        Sentences that explain them.
    """
    kinds = {event.kind for event in events}
    exceeded = [c for c in limits if not c.met]
    failed = EventKind.PIN_FAILS in kinds or EventKind.PIN_GONE in kinds
    ended = status is Status.FINISHED
    moved = has_moved(P, failed, numbers.greatest_travel)
    verdict = VERDICTS[int(classify(EventKind.CLEAR in kinds, bool(exceeded), ended, moved))]
    reasons = []
    if verdict.separated:
        reasons = [f"{c.name}: {c.value / c.limit:.2f} times its limit" for c in exceeded]
        if numbers.clear_time is not None and numbers.clear_time < P.start_time:
            reasons.append("drag or gravity parts the sections before the charge fires")
    elif verdict is Verdict.UNDECIDED:
        reasons = [MESSAGES[status]]
    else:
        reasons = _unopened(case, P, kinds, numbers, verdict)
    if params.pin_tears_wall(case):
        reasons.append("the tube tears at the pin holes before the pins shear")
    contents = Parachute.NOT_ASKED
    if case.contents is not None and case.cord is not None:
        contents = Parachute.STAYS_IN
        if EventKind.CONTENTS_OUT in kinds:
            contents = Parachute.COMES_OUT
        elif EventKind.CLEAR in kinds:
            reasons.append(_why_parachute_stays(kinds))
    return verdict, contents, reasons


def _unopened(
    case: Case, P: Parameters, kinds: set[EventKind], numbers: Numbers, verdict: Verdict
) -> list[str]:
    """Return why a joint did not separate."""
    reasons = []
    if case.holder is not None and EventKind.BURST not in kinds:
        reasons.append("the holder never burst")
    if verdict is Verdict.PARTIAL_SEPARATION:
        share = 100.0 * numbers.greatest_travel / P.stroke
        reasons.append(f"the shoulder moved {share:.0f} % of its length and stopped")
    else:
        share = 100.0 * numbers.peak_pressure / max(numbers.pin_pressure, 1e-9)
        held = "friction and pins" if case.pins is not None else "friction"
        reached = f"the bay reached {share:.0f} % of the pressure that overcomes {held}"
        if share > 100.0:
            # friction of a joint at rest is overcome, and the push is over before it has gone far
            moved = 100.0 * numbers.greatest_travel / P.stroke
            reached += f", but so briefly that the joint moved {moved:.1g} % of its length only"
        reasons.append(reached)
    return reasons


def _why_parachute_stays(kinds: set[EventKind]) -> str:
    if EventKind.TAUT in kinds:
        return "the cord is taut before the parachute has left the tube: too short for its packing"
    if EventKind.BRAKE_TEARS in kinds:
        return "the cord's brake stopped the sections before the parachute was out of the tube"
    if EventKind.PICKUP not in kinds:
        return "the sections came to rest before the cord pulled at the pack"
    return "the pack stopped the sections: too little speed for their drag in the tube"
