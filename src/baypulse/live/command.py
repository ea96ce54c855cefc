"""The command that opens the live page: ``live``."""

from __future__ import annotations

import argparse
import sys
import textwrap
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from baypulse.caution import CAUTION
from baypulse.commands.case_files import Told
from baypulse.commands.options import whole
from baypulse.terminal import Refused, say

NEEDED = ("starlette", "uvicorn", "bokeh")
"""Packages that the page takes and no other command."""

WIDTH = 88
"""Of the text in a terminal."""

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
    parser.add_argument("--save", metavar="FILE",
                        help="write a page (HTML) that needs neither network nor Python, with the "
                        "sliders for charge, pins and slow to quick powder, and stop")  # fmt: skip
    parser.set_defaults(work=_live)


def _save(given: str, bays: list[dict[str, Any]]) -> int:
    """Write the page of one bay that works alone."""
    from baypulse.case.casefile import reads
    from baypulse.commands.new_case_file import check_free, put
    from baypulse.live.saved_page import saved_page
    from baypulse.members import blocks
    from baypulse.terminal import compiling_notice, one_line_warnings

    if len(bays) != 1:
        raise Refused("--save: a saved page is of one bay; name the case file of one")
    new = Path(given)
    if new.suffix != ".html":
        raise Refused(f'--save: "{given}" is no name of a page; let it end in .html')
    check_free(new, "--save")
    with one_line_warnings(), compiling_notice(), blocks.bar(sys.stderr) as progress:
        page = saved_page(reads(bays[0]["text"], bays[0]["name"]), progress)
    put(page, new, "--save")
    say(f"wrote {new}: it works without a network and without Python")
    say(textwrap.fill(CAUTION, WIDTH))
    return 0


def _live(chosen: argparse.Namespace) -> int:
    """Serve the page."""
    if any(find_spec(name) is None for name in NEEDED):
        raise Refused(MISSING)
    from baypulse.errors import CaseError
    from baypulse.live.workplace import Workplace

    workplace = Workplace(Path.cwd())
    bays: list[dict[str, Any]] = []
    if chosen.case is not None:
        try:
            bays = workplace.bays(Path(chosen.case))
        except CaseError as error:
            say(str(error), sys.stderr)
            raise Told from None
    if chosen.save is not None:
        return _save(chosen.save, bays)
    from baypulse.live.server import serve

    serve(workplace, bays, port=chosen.port, browser=not chosen.no_browser)
    return 0
