"""The commands that turn runs into decisions."""

from __future__ import annotations

from typing import Any


def add(commands: Any) -> None:
    """Add the commands to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
