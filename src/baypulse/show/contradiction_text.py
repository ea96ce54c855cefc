"""What is said where shots contradict the case: which, what would have to differ, what to do."""

from __future__ import annotations

from pathlib import Path

from baypulse.case.quantities import likely
from baypulse.observed.contradiction import MADE_UP, Contradiction, JudgedShot
from baypulse.show.figures.scales import scale_of
from baypulse.show.phrases import case_file

HEADLINE = "The shots contradict the case: no charge is recommended"

LIKELY = 0.5
"""Chance of separation from which an opening was to be expected."""


def sentences(found: Contradiction, case_name: str, dimension: str) -> list[str]:
    """Return what the shots say against the case, and what to do.

    Parameters
    ----------
    found : Contradiction
        Which shots.
    case_name : str
        Of the case, for the command.
    dimension : str
        Of a charge.
    """
    worst = found.shots[0]
    scale = scale_of(dimension, worst.shot.charge)
    listed = "; ".join(
        f"{each.name} ({scale.text(each.shot.charge)}: {', '.join(each.shot.row.saw)}; the case "
        f"separates in {likely(each.before)})"
        for each in found.shots
    )
    count = round(MADE_UP * found.share)
    rare = "none is" if count == 0 else f"{count} {'is' if count == 1 else 'are'}"
    return [
        f"Of {MADE_UP} simulated logs of this case {rare} as unlikely as {Path(found.file).name}. "
        f"What fits least: {listed}.",
        f"{_different(worst)} Weigh and measure again, and ask: baypulse why "
        f"{case_file(case_name)} --shot {worst.number}",
        "Until the case describes its shots, no chance and no charge that is computed from it is "
        "to be trusted.",
    ]


def _different(odd: JudgedShot) -> str:
    """Return what would have to be different in the bay."""
    if odd.shot.opened is False and odd.before > LIKELY:
        return (
            "The bay gives less pressure, or holds more, than the case allows with all its "
            "spreads: powder that burns worse or was less, a leak, more room, a tighter fit or "
            "pack, stronger pins."
        )
    if odd.shot.opened and odd.before < LIKELY:
        return (
            "The bay gives more pressure, or holds less, than the case allows with all its "
            "spreads: more powder, less room, a looser fit, weaker or fewer pins."
        )
    return (
        "Whether it separates agrees with the case; what else was seen or measured of it does not."
    )
