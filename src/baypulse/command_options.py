"""Options that the commands of the studies share."""

from __future__ import annotations

import argparse
import os
from typing import Any

from baypulse.terminal import say

MOST_MEMBERS = 10**10
MOST_WORKERS = 1024


def add_common(parser: argparse.ArgumentParser) -> None:
    """Add what all studies are asked: where to, how told, seed and threads."""
    parser.add_argument("--out", metavar="DIR", default=None,
                        help="folder that gets the report's folder (default: reports)")  # fmt: skip
    parser.add_argument("--json", action="store_true",
                        help="print the numbers as JSON and nothing else")  # fmt: skip
    parser.add_argument("--seed", type=_seed, default=1, metavar="N",
                        help="the same seed gives the same members (default: 1)")  # fmt: skip
    parser.add_argument("--workers", type=_workers, default=os.cpu_count() or 1, metavar="N",
                        help="threads (default: one for each core)")  # fmt: skip


def members(text: str) -> int:
    """Read a number of members."""
    return whole(text, 1, MOST_MEMBERS)


def _seed(text: str) -> int:
    return whole(text, 0, 2**63)


def _workers(text: str) -> int:
    return whole(text, 1, MOST_WORKERS)


def whole(text: str, low: int, high: int) -> int:
    """Read a whole number; 1e6 and 10_000 are whole numbers too."""
    plain = text.replace("_", "")
    try:
        # a float would lose digits of a long seed
        value = int(plain) if plain.isdecimal() else float(plain)
        number = int(value)
    except (ValueError, OverflowError):
        number, value = -1, 0
    if number != value or not low <= number <= high:
        raise argparse.ArgumentTypeError(f'"{text}" is no whole number from {low} to {high}')
    return number


def print_json(found: list[Any], *, several: bool) -> None:
    """Print what was found as JSON: of one case an object, of several asked for a list."""
    from baypulse.report import to_json

    say(to_json(found if several else found[0]), end="")
