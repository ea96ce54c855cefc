"""What the study of a cord says, in words: sentences, rows of tables, the text of the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from baypulse.case import quantities
from baypulse.case.quantities import capital, interval, percent
from baypulse.caution import CAUTION
from baypulse.members.chances import Chance
from baypulse.show.text import WIDE, charge, columns, cut, wrapped
from baypulse.studies.cord.result import BrakedCord, CordKind, Cords, Spans

LIMITS_OF_THE_CORDS = (
    "A margin is the strength of the weakest link over the peak load, of the shots in which the "
    "bay separates. Other types are run with the same knot, wear and anchor, although a knot "
    "weakens aramid more than nylon. The load comes from a curve of load against stretch that is "
    "an estimate for most types, pulled slowly; strength is that of a slow pull too. The model "
    "moves the sections along one line: it knows no stretch wave, no cord that tangles or saws on "
    "an edge, no heat of the charge on the cord, and no drag of an opening parachute, which pulls "
    "later and often harder. A brake is rigid until it tears and pulls evenly over its stroke; a "
    "real one begins with a peak and scatters from fold to fold. Pull one with a scale."
)
"""Printed in every report of a cord."""


def headline(cords: Cords) -> str:
    """Return how the cord stands, in a few words."""
    margin = cords.load.margin
    if math.isinf(margin):
        return "The sections come to rest before the cord pulls"
    shown = f"margin {quantities.digits(margin)} in 95 % of the shots"
    if margin < 1.0:
        return f"The cord does not hold: {shown}"
    if margin < cords.wanted:
        return f"The cord holds, below the margin of {cords.wanted:g} wanted: {shown}"
    return f"The cord holds: {shown}"


def meaning(cords: Cords) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    cords : Cords
        Findings.
    """
    found = [_opening(cords), _peak(cords), _weakest(cords)]
    if math.isfinite(cords.rebound[1]):
        found.append(
            f"The sections come back at {_speed(cords.rebound[1])} in the middle shot, and at up "
            f"to {_speed(cords.rebound[2])} in 95 % of them."
        )
    found.append(length_sentence(cords, cords.own))
    return [sentence for sentence in found if sentence]


def _opening(cords: Cords) -> str:
    if cords.opened.count == cords.opened.members:
        return ""
    return (
        f"The bay separates in {cords.opened.count:,} of {cords.opened.members:,} shots; what "
        "follows is of those."
    )


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
    link = cords.links[0]
    alone = cords.own.nominal
    nominal = (
        f"a margin of {quantities.digits(alone)} with nothing scattering; "
        if math.isfinite(alone)
        else ""
    )
    return (
        f"Weakest link: {link.name}, {_force(link.strength)}; {nominal}{_held(cords.load.margin)}. "
        f"The load exceeds a strength in {chance_text(cords.exceeded)} of the shots."
    )


def _held(margin: float) -> str:
    if math.isinf(margin):
        return "95 % of the shots load it hardly or not at all"
    return f"95 % of the shots have at least {quantities.digits(margin)}"


def length_sentence(cords: Cords, kind: CordKind) -> str:
    """Return at which length a type holds the wanted margin."""
    text = f"{capital(kind.name)} holds a margin of {cords.wanted:g} in 95 % of the shots"
    if kind.needed is None:
        reached = quantities.digits(kind.points[-1].load.margin)
        return (
            f"{capital(kind.name)} does not reach a margin of {cords.wanted:g} in 95 % of the "
            f"shots up to {_length(cords.longest)}, where it has {reached}."
        )
    if kind.at_shortest:
        return f"{text} at every length from {_length(cords.shortest)}, the shortest tried, on."
    return f"{text} from a length of {_length(kind.needed.length)} on."


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
    # more stages than that hardly lower the load any more
    best = next(each for each in rest if each.load.loads[2] <= 1.1 * rest[-1].load.loads[2])
    return [
        "This cord has no brake. As an estimate, what stages of tape or stitched folds would do "
        f"that tear at {_force(force)} each, over {_length(stroke)} of pull: "
        f"{best.stages} of them bring the load that 95 % of the shots stay below from "
        f"{_force(bare.load.loads[2])} to {_force(best.load.loads[2])}, and stop the sections for "
        f"good in {chance_text(best.stopped)} of the shots.",
        "Where the brake stops them, look whether the parachute comes out all the same.",
    ]


def _own_brake(cords: Cords, bare: BrakedCord, own: BrakedCord) -> list[str]:
    found = []
    if cords.parting_energy is None:
        found.append("With nothing scattering the brake does not begin to tear.")
    else:
        taken = sum(stage.energy for stage in cords.stages)
        share = 100.0 * taken / max(cords.parting_energy, 1e-12)
        found.append(
            f"The sections part with {_energy(cords.parting_energy)} when the first stage begins "
            f"to tear; the {len(cords.stages)} stages take {_energy(taken)}, {share:.0f} % of it."
        )
    found.append(
        f"The brake brings the load that 95 % of the shots stay below from "
        f"{_force(bare.load.loads[2])} to {_force(own.load.loads[2])}, and stops the sections for "
        f"good in {chance_text(own.stopped)} of the shots."
    )
    if own.contents_out is not None:
        found.append(f"The parachute comes out in {chance_text(own.contents_out)} of the shots.")
    return found


def chance_text(each: Chance) -> str:
    """Return a chance with its interval, such as ``"0 % (95 % interval 0 to 0.36 %)"``."""
    ends = interval(each.share, each.low, each.high)
    return f"{percent(each.share)} % (95 % interval {ends} %)"


def load_rows(cords: Cords) -> list[tuple[str, str, str, str, str]]:
    """Return what the shots carry and stand: name, and the values at 5, 50, 95 and 99 %."""
    rows = [("peak load", cords.load.loads, _force)]
    rows += [(f"strength: {link.name}", link.strengths, _force) for link in cords.links]
    rows += [
        ("margin", cords.margins, margin_text),
        ("speed after the jerk", cords.rebound, _speed_or_none),
    ]
    return [(name, *_four(values, show)) for name, values, show in rows]


def _four(values: Spans, show: object) -> tuple[str, str, str, str]:
    a, b, c, d = (show(value) for value in values)  # type: ignore[operator]
    return a, b, c, d


def link_rows(cords: Cords) -> list[tuple[str, str, str, str]]:
    """Return every link: name, strength, how often it is the weakest, how often it is exceeded."""
    return [
        (link.name, _force(link.strength), f"{percent(link.weakest.share)} %",
         chance_text(link.exceeded))
        for link in cords.links
    ]  # fmt: skip


def kind_rows(cords: Cords) -> list[tuple[str, str, str, str, str]]:
    """Return every type: name, strength, margins at the present length, length that is needed."""
    return [
        (
            f"{kind.name}{' (this case)' if kind.own else ''}", _force(kind.strength),
            margin_text(kind.nominal), margin_text(kind.present.load.margin),
            needed_text(cords, kind),
        )
        for kind in cords.kinds
    ]  # fmt: skip


def needed_text(cords: Cords, kind: CordKind) -> str:
    """Return the length that a type needs, in few words."""
    if kind.needed is None:
        return f"not up to {_length(cords.longest)}"
    return f"{'any from ' if kind.at_shortest else ''}{_length(kind.needed.length)}"


def stage_rows(cords: Cords) -> list[tuple[str, str, str, str, str, str]]:
    """Return every stage: name, force, stroke, energy, 5 to 95 % of it, how often it is torn."""
    return [
        (
            f"{k}: {stage.name}", _force(stage.force), _length(stage.stroke),
            _energy(stage.energy),
            f"{quantities.digits(stage.energies[0])} to {quantities.digits(stage.energies[2])} J",
            f"{percent(stage.torn.share)} %",
        )
        for k, stage in enumerate(cords.stages, start=1)
    ]  # fmt: skip


def brake_rows(cords: Cords) -> list[tuple[str, str, str, str, str, str, str]]:
    """Return the cord with and without stages: load, energy taken, margin, what stops, contents."""
    return [
        (
            "no brake" if each.stages == 0 else f"{each.stages} stage{'s' * (each.stages > 1)}",
            _force(each.nominal), _force(each.load.loads[2]), _energy(each.energy),
            margin_text(each.load.margin), f"{percent(each.stopped.share)} %",
            "not asked" if each.contents_out is None else f"{percent(each.contents_out.share)} %",
        )
        for each in cords.brakes
    ]  # fmt: skip


def margin_text(value: float) -> str:
    """Return a margin; one without end comes from a cord without load."""
    if math.isnan(value):
        return "none"
    return "no load" if math.isinf(value) else quantities.digits(value)


def _force(value: float) -> str:
    return quantities.show(value, "force") if value else "none"


def _length(value: float) -> str:
    return quantities.show(value, "length")


def _speed(value: float) -> str:
    return quantities.show(value, "velocity")


def _speed_or_none(value: float) -> str:
    return _speed(value) if math.isfinite(value) else "none"


def _energy(value: float) -> str:
    return quantities.show(value, "energy").replace("*", " ") if value else "none"


def summary(cords: Cords) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    cords : Cords
        Findings.

    Returns
    -------
    str
        Headline and meaning, links, types and lengths, the brake, warnings, the caution.
    """
    case = cords.case
    assert case.cord is not None
    lines = wrapped(f"{case.name}: {' '.join(case.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(cords).upper(), "  ", "  ")]
    for sentence in meaning(cords):
        lines += wrapped(sentence, "  ", "    ")
    lines += ["", *wrapped(f"Charge: {charge(case)}", "  ", "  ")]
    lines += wrapped(f"Cord: {case.cord.type}, {_length(case.cord.length)}", "  ", "  ")
    lines += ["", "  In series: strength with knot and wear, how often the weakest of all"]
    lines += cut(columns([(name, f"{strength}, {often}") for name, strength, often, _ in
                          link_rows(cords)]))  # fmt: skip
    lines += ["", f"  Types of cord: margin at {_length(case.cord.length)} in 95 % of the shots, "
                  f"and length for {cords.wanted:g}"]  # fmt: skip
    lines += cut(_table([(name, margin, needed) for name, _, _, margin, needed in
                         kind_rows(cords)]))  # fmt: skip
    lines += ["", f"  Brake{'' if cords.stages else ' (estimate)'}"]
    for sentence in braking(cords):
        lines += wrapped(sentence, "    ", "      ")
    if len(cords.brakes) > 1:
        lines += cut(_table([("", "95 % stay below", "takes", "stops", "parachute out")] + [
            (name, load, energy, stops, out)
            for name, _, load, energy, _, stops, out in brake_rows(cords)
        ]))  # fmt: skip
    lines += ["", "  Warnings"] * bool(cords.warnings)
    for text in cords.warnings:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        f"    {'  '.join(c.ljust(w) for c, w in zip(row, widths, strict=True))}".rstrip()
        for row in rows
    ]


def compare(found: Sequence[Cords]) -> str:
    """Return a table of the cords of several cases, for the terminal.

    Parameters
    ----------
    found : sequence of Cords
        Findings, one a case.
    """
    rows = [("case", "95 % stay below", "weakest link", "margin", "length for the wanted one")]
    for cords in found:
        rows.append(
            (
                cords.case.name, _force(cords.load.loads[2]), cords.links[0].name,
                margin_text(cords.load.margin), needed_text(cords, cords.own),
            )
        )  # fmt: skip
    lines = ["Cords: load, and margin that 95 % of the shots have at least"]
    return "\n".join([*lines, *cut(_table(rows)), "", *textwrap.wrap(CAUTION, WIDE)]) + "\n"
