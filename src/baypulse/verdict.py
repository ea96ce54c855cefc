"""What a run means: the limits it is held against, and the verdict."""

from __future__ import annotations

from baypulse import library, params
from baypulse.engine import run
from baypulse.engine.parameters import Parameters
from baypulse.model import Case
from baypulse.result import Check, Event, Numbers

MOVED_SHARE = 0.02
"""Share of the stroke beyond which a joint at rest counts as moved; pins bend less."""


def limit_checks(case: Case, numbers: Numbers) -> list[Check]:
    """Compare what the run did with every strength and limit of the case.

    Parameters
    ----------
    case : Case
        The case.
    numbers : Numbers
        Of the run.
    """
    checks = [
        Check("tube wall, hoop stress", numbers.hoop_stress,
              library.wall(case.bay.wall).tensile_strength, "stress", "stay below"),
    ]  # fmt: skip
    if case.limits.bay_pressure is not None:
        checks.append(
            Check("bay pressure", numbers.peak_pressure, case.limits.bay_pressure,
                  "gauge pressure", "stay below")
        )  # fmt: skip
    if case.limits.separation_velocity is not None and numbers.clear_velocity is not None:
        checks.append(
            Check("separation velocity", numbers.clear_velocity,
                  case.limits.separation_velocity, "velocity", "stay below")
        )  # fmt: skip
    if numbers.cord_load is not None and numbers.cord_strength is not None:
        checks.append(
            Check(numbers.weakest_link, numbers.cord_load, numbers.cord_strength, "force",
                  "stay below")
        )  # fmt: skip
    return checks


def judge(
    case: Case, P: Parameters, status: str, events: list[Event], numbers: Numbers,
    limits: list[Check],
) -> tuple[str, str, list[str]]:  # fmt: skip
    """Say what happened.

    Parameters
    ----------
    case : Case
        The case.
    P : Parameters
        The same as floats.
    status : str
        How the run ended.
    events : list of Event
        What happened in it.
    numbers : Numbers
        Of the run.
    limits : list of Check
        From :func:`limit_checks`.

    Returns
    -------
    verdict, contents : str
        As in :class:`baypulse.result.Result`.
    reasons : list of str
        Sentences that explain them.
    """
    names = {e.name for e in events}
    if "clear" in names:
        exceeded = [c for c in limits if not c.met]
        verdict = "opens hard" if exceeded else "opens"
        reasons = [f"{c.name}: {c.value / c.limit:.2f} times its limit" for c in exceeded]
        if numbers.clear_time is not None and numbers.clear_time < P.start_time:
            reasons.append("drag or gravity parts the sections before the charge fires")
    elif status not in (run.FINISHED, run.TIME_END):
        verdict, reasons = "undecided", [run.MESSAGES[status]]
    else:
        verdict, reasons = _unopened(case, P, names, numbers)
    if params.pin_tears_wall(case):
        reasons.append("the tube tears at the pin holes before the pins shear")
    contents = "not asked"
    if case.contents is not None and case.cord is not None:
        contents = "come out" if "contents out" in names else "stay in"
        if contents == "stay in" and "clear" in names:
            reasons.append(_why_contents_stay(names))
    return verdict, contents, reasons


def _unopened(
    case: Case, P: Parameters, names: set[str], numbers: Numbers
) -> tuple[str, list[str]]:
    """Tell a joint that moved from one that did not."""
    reasons = []
    if case.holder is not None and "holder bursts" not in names:
        reasons.append("the holder never burst")
    failed = any(name.endswith(("gone", "fails")) for name in names)
    # a pin gives before it fails; that is not yet a joint that moved
    give = float((P.pin_gap + P.pin_rise).max(initial=0.0))
    if failed or numbers.greatest_travel > max(MOVED_SHARE * P.stroke, give):
        share = 100.0 * numbers.greatest_travel / P.stroke
        reasons.append(f"the shoulder moved {share:.0f} % of its length and stopped")
        return "hangs", reasons
    share = 100.0 * numbers.peak_pressure / max(numbers.pin_pressure, 1e-9)
    held = "friction and pins" if case.pins is not None else "friction"
    reasons.append(f"the bay reached {share:.0f} % of the pressure that overcomes {held}")
    return "stays shut", reasons


def _why_contents_stay(names: set[str]) -> str:
    if "cord taut" in names:
        return "the cord is taut before the contents have left the tube: too short for its packing"
    if "contents picked up" not in names:
        return "the sections came to rest before the cord pulled at the contents"
    return "the contents stopped the sections: too little speed for their drag in the tube"
