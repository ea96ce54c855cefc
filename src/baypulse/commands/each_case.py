"""One study of every case that a command names: answers as they come, then a comparison."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from baypulse.case import quantities
from baypulse.commands.options import system_of
from baypulse.errors import BaypulseError, cause
from baypulse.terminal import Refused, compiling_notice, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.show.document import Document, Table

GOOD = 0
"""Exit code of a command that is done."""

WRONG = 2
"""Exit code where the input or the output is wrong."""


class Study(NamedTuple):
    """How the findings of one study are told and kept.

    Attributes
    ----------
    ending : str
        Of the folder's name, behind the name of the case.
    document : callable
        From findings to what is said of them.
    compare : callable or None
        From the findings of several cases to a table that compares them.
    own : tuple of str
        Files of the report beside page, numbers and figures.
    kept : tuple of str
        What else may stand in the folder and is left alone.
    stopped : callable or None
        From findings to the sentence and exit code of a study that ended early, or None.
    """

    ending: str
    document: Callable[[Any], Document]
    compare: Callable[[Sequence[Any]], Table] | None = None
    own: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    stopped: Callable[[Any], tuple[str, int] | None] | None = None

    def folders(self, cases: Sequence[Any], files: Sequence[str], root: Path) -> list[Path]:
        """Return the report's folder of each case, all different and all free to write.

        Parameters
        ----------
        cases, files
            The cases, and the file that each was read from.
        root : pathlib.Path
            Folder that gets them.

        Raises
        ------
        Refused
            With a sentence, also where something else than an earlier report of this study stands.
        """
        from baypulse.show import folder as reports

        if root.exists() and not root.is_dir():
            raise Refused(f"{root} is a file, so no reports can be written in it")
        found: dict[str, tuple[Path, str]] = {}
        for case, file in zip(cases, files, strict=True):
            folder = root / ((case.name.strip(" .") or "case") + self.ending)
            key = os.path.normcase(folder)
            if key in found:
                raise Refused(
                    f"{found[key][1]} and {file} would both be reported in {folder}; run them one "
                    "at a time with different --out"
                )
            with _writing_to(folder):
                reports.check(folder, self.own, self.kept)
            found[key] = (folder, file)
        return [folder for folder, _ in found.values()]


@contextmanager
def _writing_to(folder: Path) -> Iterator[None]:
    """Refuse with a sentence what the system refuses."""
    try:
        yield
    except OSError as error:
        if isinstance(error, FileExistsError) and error.errno is None:
            raise Refused(str(error)) from None
        raise Refused(f"the report cannot be written to {folder}: {cause(error)}") from None


def each_case(
    chosen: argparse.Namespace,
    cases: Sequence[Any],
    files: Sequence[str],
    study: Study,
    examine: Callable[..., Any],
) -> int:
    """Run a study of every case; each report is written as soon as it is finished.

    A case of which there is no answer is told, and the others are done all the same. When it is
    stopped, what is finished stands, and is compared. With ``--json`` nothing but numbers is
    printed, and a report is written only where ``--out`` says so.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``out``, ``json``, ``full`` and ``units``.
    cases, files
        The cases or rockets, and the file that each was read from.
    study : Study
        What is done with the findings.
    examine : callable
        From a case, and as ``progress`` one where it is shown, to findings.

    Returns
    -------
    int
        Exit code.
    """
    from baypulse.show import as_json

    writing = not chosen.json or chosen.out is not None
    folders = study.folders(cases, files, Path(chosen.out or "reports")) if writing else []
    found: list[Any] = []
    numbers: list[dict[str, Any]] = []
    code = GOOD
    try:
        for index, case in enumerate(cases):
            # findings hold sentences too
            with quantities.written_in(system_of(chosen, case)):
                try:
                    findings = _examined(case, examine)
                except BaypulseError as error:
                    if len(cases) == 1:
                        raise
                    say(f"baypulse: {error}", sys.stderr)
                    code = WRONG
                    continue
                document = study.document(findings)
                _tell(document, chosen, folders[index] if writing else None, len(cases) > 1)
                if chosen.json:
                    numbers.append(as_json.numbers(document))
            found.append(findings)
            early = study.stopped(findings) if study.stopped else None
            if early is not None:
                say(f"{case.name}: {early[0]}", sys.stderr)
                code = early[1]
    except KeyboardInterrupt:
        if found:
            say(
                f"stopped; {len(found)} of {len(cases)} cases are finished and their reports stand",
                sys.stderr,
            )
        _tell_all(found, numbers, chosen, study, cases)
        raise
    _tell_all(found, numbers, chosen, study, cases)
    return code


def _examined(case: Any, examine: Callable[..., Any]) -> Any:
    """Return the findings of one case, with a word to those who wait."""
    from baypulse.members import blocks

    with one_line_warnings(), compiling_notice(), blocks.bar(sys.stderr) as progress:
        return examine(case, progress=progress)


def _tell(
    document: Document, chosen: argparse.Namespace, folder: Path | None, several: bool
) -> None:
    """Print the answer of one case, then write its report."""
    from baypulse.show import folder as reports
    from baypulse.show import in_terminal

    if not chosen.json:
        say(in_terminal.told(document, full=chosen.full), end="")
    if folder is not None:
        with _writing_to(folder):
            reports.write(document, folder)
    if folder is not None and not chosen.json:
        say(f"\nreport: {folder / reports.PAGE}{chr(10) * several}")


def _tell_all(
    found: Sequence[Any], numbers: Sequence[dict[str, Any]], chosen: argparse.Namespace,
    study: Study, cases: Sequence[Any],
) -> None:  # fmt: skip
    """Tell what is told of all cases together."""
    from baypulse.show import as_json, in_terminal

    if numbers:
        say(as_json.text(numbers if len(cases) > 1 else numbers[0]), end="")
    elif study.compare is not None and len(found) > 1 and not chosen.json:
        with quantities.written_in(system_of(chosen, cases[0])):
            say(in_terminal.comparison(study.compare(found)), end="")
