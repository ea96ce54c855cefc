"""The command that lists the keys of a case file: ``keys``."""

from __future__ import annotations

import argparse
import textwrap
from typing import Any

from baypulse.caution import CAUTION
from baypulse.spelling import near
from baypulse.terminal import Refused, say

_WIDTH = 88


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "keys", help="every key of a case file: help, allowed range, default, example",
        allow_abbrev=False,
        description="List every key of a case file by its table, with its help, its allowed range, "
        "its default and an example, as lines to paste into a case; a word picks the keys and "
        "tables that hold it in their name or their help.",
        epilog="Example: baypulse keys vent",
    )  # fmt: skip
    parser.add_argument("word", nargs="?", default="", metavar="WORD",
                        help="word to look for (default: all keys)")  # fmt: skip
    parser.set_defaults(work=_keys)


def _keys(chosen: argparse.Namespace) -> int:
    """Print the reference."""
    from baypulse.case.casefile.keys import tables
    from baypulse.case.explanation import reference

    found = reference(chosen.word)
    if not found:
        known = [name for table in tables().values() for name in (table.name, *table.keys)]
        close = near(chosen.word, known)
        hint = f'did you mean "{close}"?' if close else "baypulse keys lists them all"
        raise Refused(f'no key holds "{chosen.word}"; {hint}')
    say(found)
    say(textwrap.fill(CAUTION, _WIDTH))
    return 0
