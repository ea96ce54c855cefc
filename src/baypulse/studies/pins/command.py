"""The command that sets pins against charge: ``pins``."""

from __future__ import annotations

import argparse
from typing import Any

from baypulse.case import units
from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_command, add_common, members
from baypulse.errors import UnitError
from baypulse.spelling import near
from baypulse.terminal import Refused

MOST_PINS = 24
"""As the case file allows."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    pins = add_command(
        commands, "pins", _pins,
        help="number and kind of shear pins against the charge",
        description="Fire every number and kind of pins with every charge: the chance of "
        "separation, the separation velocity and the margin of the cord as maps, and whether more "
        "pins open this bay harder or not at all, with quick and with slow powder.",
        epilog="Example: baypulse pins cases/bench-76.toml --counts 2..5",
    )  # fmt: skip
    pins.add_argument(
        "--counts", type=_counts, default=(), metavar="LIST",
        help='numbers of pins, such as "0..6" or "2,3,4" (default: none to twice the case\'s)',
    )  # fmt: skip
    pins.add_argument(
        "--threads", type=_threads, default=(), metavar="LIST",
        help='kinds of pins from the library, such as "#2-56,#4-40" (default: the case\'s and its '
        "neighbours in size)",
    )  # fmt: skip
    pins.add_argument(
        "--charges", default=None, metavar="RANGE",
        help='such as "0.3 g..1.5 g", or the fill pressures of a cold gas (default: around the '
        "case's own window)",
    )  # fmt: skip
    add_common(pins)
    pins.add_argument("--simulated-shots", type=members, default=128, metavar="N",
                      help="simulated shots of each cell of a map (default: 128)")  # fmt: skip


def _counts(text: str) -> tuple[int, ...]:
    """Read numbers of pins."""
    low, dots, high = (part.strip() for part in text.partition(".."))
    words = [low, high] if dots else [part.strip() for part in text.split(",")]
    if not all(word.isdecimal() and int(word) <= MOST_PINS for word in words):
        raise argparse.ArgumentTypeError(
            f'"{text}" is no list of numbers from 0 to {MOST_PINS}; write "0..6" or "2,3,4"'
        )
    numbers = [int(word) for word in words]
    if not dots:
        return tuple(sorted(set(numbers)))
    if numbers[0] > numbers[1]:
        raise argparse.ArgumentTypeError(f'"{text}": {numbers[0]} is above {numbers[1]}')
    return tuple(range(numbers[0], numbers[1] + 1))


def _threads(text: str) -> tuple[str, ...]:
    """Read kinds of pins."""
    from baypulse.case import library

    known = library.names("threads")
    names = tuple(part.strip() for part in text.split(","))
    for name in names:
        if name not in known:
            close = near(name, known)
            hint = f'did you mean "{close}"? ' if close else ""
            raise argparse.ArgumentTypeError(
                f'"{name}" is no thread of the library; {hint}There are: {", ".join(known)}'
            )
    return names


def _span(text: str, dimension: str) -> tuple[float, float]:
    """Read a range of charges [SI]."""
    low, dots, high = (part.strip() for part in text.partition(".."))
    form = '"0.3 g..1.5 g"' if dimension == "mass" else '"100 psig..400 psig"'
    if not dots:
        raise Refused(f'--charges "{text}": this is no range; write {form}')
    try:
        ends = units.parse(low, dimension), units.parse(high, dimension)
    except UnitError as error:
        raise Refused(f'--charges "{text}": {error}; write {form}') from None
    if not 0.0 < ends[0] < ends[1]:
        raise Refused(f'--charges "{text}": "{low}" is not above nothing and below "{high}"')
    return ends


def _pins(chosen: argparse.Namespace) -> int:
    """Set pins against charge in every case."""
    from baypulse.studies.pins.compute import answer
    from baypulse.studies.pins.document import compare, document

    cases, files = named_cases(chosen.cases)
    spans = {
        case.name: None if chosen.charges is None else _span(
            chosen.charges, "mass" if case.powder is not None else "gauge pressure"
        )
        for case in cases
    }  # fmt: skip

    return each_case(
        chosen, cases, files, Study("-pins", document, compare, own=("pins.csv",)),
        lambda case, progress: answer(
            case, counts=chosen.counts, threads=chosen.threads, span=spans[case.name],
            members=chosen.simulated_shots, seed=chosen.seed, workers=chosen.workers,
            progress=progress,
        ),
    )  # fmt: skip
