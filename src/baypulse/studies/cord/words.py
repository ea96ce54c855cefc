"""The sentences of the study of a cord: headline, load, lengths, the brake."""

from __future__ import annotations

import math

from baypulse.case.quantities import capital, digits, often, percent, show
from baypulse.studies.cord.result import BrakedCord, CordKind, Cords

HARDLY_BETTER = 1.1
"""A brake whose load is this many times that of one with the most stages is as good; our choice."""

MOST_TYPES = 3
"""Other types of cord that are named in a sentence."""


def headline(cords: Cords) -> str:
    """Return how the cord stands, in a few words."""
    margin = cords.load.margin
    if math.isinf(margin):
        return "The sections come to rest before the cord pulls"
    shown = f"margin {digits(margin)} in 95 % of the shots"
    if margin < 1.0:
        return f"The cord does not hold: {shown}"
    if margin < cords.wanted:
        return f"The cord holds, below the margin of {cords.wanted:g} wanted: {shown}"
    return f"The cord holds: {shown}"


def meaning(cords: Cords) -> list[str]:
    """Return the sentences behind the headline."""
    found = []
    if cords.opened.count < cords.opened.members:
        found.append(f"The bay separates {often(cords.opened)}; what follows is of those.")
    found += [_peak(cords), _weakest(cords)]
    if math.isfinite(cords.rebound[1]):
        found.append(
            f"The sections come back at {show(cords.rebound[1], 'velocity')} in the middle shot, "
            f"and at up to {show(cords.rebound[2], 'velocity')} in 95 % of them."
        )
    return [*found, length_sentence(cords, cords.own)]


def _peak(cords: Cords) -> str:
    alone = cords.nominal_load
    first = (
        f"Peak load {_force(alone)} with nothing scattering"
        if alone
        else "With nothing scattering the cord carries no load"
    )
    _, middle, high, highest = cords.load.loads
    text = (
        f"{first}; half of the shots stay below {_force(middle)}, 95 % below {_force(high)}, 99 % "
        f"below {_force(highest)}."
    )
    if cords.load.unloaded > 0.0:
        text += (
            f" In {percent(cords.load.unloaded)} % the sections come to rest before the cord pulls."
        )
    return text


def _weakest(cords: Cords) -> str:
    link, alone, margin = cords.links[0], cords.own.nominal, cords.load.margin
    nominal = f"a margin of {digits(alone)} with nothing scattering; " * math.isfinite(alone)
    held = (
        f"95 % of the shots have at least {digits(margin)}"
        if math.isfinite(margin)
        else "95 % of the shots load it hardly or not at all"
    )
    return (
        f"Weakest link: {link.name}, {_force(link.strength)}; {nominal}{held}. The load exceeds a "
        f"strength {often(cords.exceeded)}."
    )


def length_sentence(cords: Cords, kind: CordKind) -> str:
    """Return at which length a type holds the wanted margin."""
    text = f"{capital(kind.name)} holds a margin of {cords.wanted:g} in 95 % of the shots"
    if kind.needed is None:
        reached = digits(kind.points[-1].load.margin)
        return (
            f"{capital(kind.name)} does not reach a margin of {cords.wanted:g} in 95 % of the "
            f"shots up to {_length(cords.longest)}, where it has {reached}."
        )
    if kind.at_shortest:
        return f"{text} at every length from {_length(cords.shortest)}, the shortest tried, on."
    return f"{text} from a length of {_length(kind.needed.length)} on."


def needed(cords: Cords, kind: CordKind) -> str:
    """Return the length that a type needs, in few words."""
    if kind.needed is None:
        return f"not up to {_length(cords.longest)}"
    return f"{'any from ' if kind.at_shortest else ''}{_length(kind.needed.length)}"


def next_steps(cords: Cords) -> list[str]:
    """Return what to do where the cord has less than the wanted margin."""
    if cords.load.margin >= cords.wanted:
        return []
    found = []
    if cords.own.needed is not None:
        found.append(f"Take at least {_length(cords.own.needed.length)} of this cord.")
    strong = [kind.name for kind in cords.kinds if kind.present.load.margin >= cords.wanted]
    if strong:
        names = ", or ".join(strong[:MOST_TYPES])
        found.append(f"Keep the length and take {names}.")
    weakest = cords.links[0].name
    if not weakest.startswith("cord"):
        found.append(f"Take a stronger {weakest}: it is the weakest of all in series.")
    return found


def braking(cords: Cords) -> list[str]:
    """Return the sentences about a brake, the case's own or one that was tried."""
    bare, *rest = cords.brakes
    if not rest:
        if bare.nominal == 0.0:
            return ["The cord carries no load that a brake could lower."]
        return ["The cord is too short for a brake of the tried stages."]
    if cords.stages:
        return _own_brake(cords, bare, rest[0])
    force, stroke = cords.trial
    enough = HARDLY_BETTER * rest[-1].load.loads[2]
    best = next(each for each in rest if each.load.loads[2] <= enough)
    return [
        "This cord has no brake. As an estimate, what stages of tape or stitched folds would do "
        f"that tear at {_force(force)} each, over {_length(stroke)} of pull: "
        f"{best.stages} of them bring the load that 95 % of the shots stay below from "
        f"{_force(bare.load.loads[2])} to {_force(best.load.loads[2])}, and stop the sections for "
        f"good {often(best.stopped)}.",
        "Where the brake stops them, look whether the parachute comes out all the same.",
    ]


def _own_brake(cords: Cords, bare: BrakedCord, own: BrakedCord) -> list[str]:
    found = []
    if cords.parting_energy is None:
        found.append("With nothing scattering the brake does not begin to tear.")
    else:
        taken = sum(stage.energy for stage in cords.stages)
        share = percent(taken / max(cords.parting_energy, 1e-12))
        found.append(
            f"The sections part with {show(cords.parting_energy, 'energy')} when the first stage "
            f"begins to tear; the {len(cords.stages)} stages take {show(taken, 'energy')}, "
            f"{share} % of it."
        )
    found.append(
        f"The brake brings the load that 95 % of the shots stay below from "
        f"{_force(bare.load.loads[2])} to {_force(own.load.loads[2])}, and stops the sections for "
        f"good {often(own.stopped)}."
    )
    if own.contents_out is not None:
        found.append(f"The parachute comes out {often(own.contents_out)}.")
    return found


def stages(count: int) -> str:
    """Return how many stages a brake has."""
    return "no brake" if count == 0 else f"{count} stage{'s' * (count > 1)}"


def _force(value: float) -> str:
    return show(value, "force")


def _length(value: float) -> str:
    return show(value, "length")
