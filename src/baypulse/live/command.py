"""The command that opens the live page: ``live``."""

from __future__ import annotations

import argparse
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from baypulse.commands.case_files import Told
from baypulse.commands.options import whole
from baypulse.terminal import Refused, say

NEEDED = ("starlette", "uvicorn", "bokeh")
"""Packages that the page takes and no other command."""

MISSING = (
    "the live page takes packages that are not installed; install them with: "
    'python -m pip install "baypulse[live]"'
)
"""What is said where they are missing."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "live", help="a page with sliders: the bay under your hands", allow_abbrev=False,
        description="Open a page in the browser, served on this machine only and without any "
        "network: sliders for charge, pins, vent and the rest, and at once what follows. Without "
        "a case it begins with what a builder measures in ten minutes. Closing the page ends it.",
        epilog="Example: baypulse live cases/bench-76.toml",
    )  # fmt: skip
    parser.add_argument("case", nargs="?", metavar="CASE", help="case or rocket file (TOML)")
    parser.add_argument("--no-browser", action="store_true",
                        help="print the address of the page and do not open it")  # fmt: skip
    parser.add_argument("--port", type=whole(1024, 65535), default=0, metavar="N",
                        help="port on this machine (default: a free one)")  # fmt: skip
    parser.set_defaults(work=_live)


def _live(chosen: argparse.Namespace) -> int:
    """Serve the page."""
    if any(find_spec(name) is None for name in NEEDED):
        raise Refused(MISSING)
    from baypulse.errors import CaseError
    from baypulse.live.server import serve
    from baypulse.live.workplace import Workplace

    workplace = Workplace(Path.cwd())
    bays: list[dict[str, Any]] = []
    if chosen.case is not None:
        try:
            bays = workplace.bays(Path(chosen.case))
        except CaseError as error:
            say(str(error), sys.stderr)
            raise Told from None
    serve(workplace, bays, port=chosen.port, browser=not chosen.no_browser)
    return 0
