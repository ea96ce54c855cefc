"""One study of every case that a command names: reports as they are finished, then a comparison."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from baypulse.commands.options import print_json
from baypulse.commands.report_folders import report_folders, write
from baypulse.errors import BaypulseError
from baypulse.terminal import compiling_notice, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.show.study_folder import StudyReport

GOOD, WRONG = 0, 2


class Reporter(NamedTuple):
    """How the findings of one study are told and kept.

    Attributes
    ----------
    ending : str
        Of the folder's name, behind the name of the case.
    report : StudyReport
        What its folder holds, and its numbers for JSON.
    summary : callable
        Findings for the terminal.
    compare : callable or None
        A table that compares the findings of several cases, for the terminal.
    """

    ending: str
    report: StudyReport
    summary: Callable[[Any], str]
    compare: Callable[[Sequence[Any]], str] | None = None


def each_case(
    chosen: argparse.Namespace,
    cases: Sequence[Case],
    files: Sequence[str],
    reporter: Reporter,
    study: Callable[[Case, Progress | None], Any],
) -> int:
    """Run a study of every case; each report is written as soon as it is finished.

    A case of which there is no answer is told, and the others are done all the same. When it is
    stopped, what is finished stands, and is compared.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``out`` and ``json``.
    cases, files
        The cases, and the file that each was read from.
    reporter : Reporter
        What is done with the findings.
    study : callable
        From a case, and a progress where one is shown, to findings.

    Returns
    -------
    int
        Exit code.
    """
    from baypulse.members import blocks
    from baypulse.show.study_folder import PAGE

    root = Path(chosen.out or "reports")
    folders = report_folders(cases, files, root, reporter.report.check, reporter.ending)
    found: list[Any] = []
    code = GOOD
    try:
        for case, folder in zip(cases, folders, strict=True):
            try:
                with one_line_warnings(), compiling_notice(), blocks.bar(sys.stderr) as progress:
                    findings = study(case, progress)
            except BaypulseError as error:
                if len(cases) == 1:
                    raise
                say(f"baypulse: {error}", sys.stderr)
                code = WRONG
                continue
            write(reporter.report.write, findings, folder)
            found.append(findings)
            if not chosen.json:
                say(reporter.summary(findings), end="")
                say(f"\nreport: {folder / PAGE}{chr(10) * (len(cases) > 1)}")
    except KeyboardInterrupt:
        if found:
            say(
                f"stopped; {len(found)} of {len(cases)} cases are finished and their reports stand",
                sys.stderr,
            )
        _tell_all(found, chosen, reporter, several=len(cases) > 1)
        raise
    _tell_all(found, chosen, reporter, several=len(cases) > 1)
    return code


def _tell_all(
    found: Sequence[Any], chosen: argparse.Namespace, reporter: Reporter, *, several: bool
) -> None:
    """Tell what is told of all cases together."""
    if chosen.json and found:
        print_json([reporter.report.numbers(each) for each in found], several=several)
    elif reporter.compare is not None and len(found) > 1:
        say(reporter.compare(found), end="")
