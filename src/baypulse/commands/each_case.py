"""One study of every case that a command names; several are compared before each is told."""

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
from baypulse.members.answered import Answered
from baypulse.terminal import Refused, compiling_notice, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.members.blocks import Progress
    from baypulse.show.document import Document, Figure, Table

BACK = "../index.html"
"""The page of several cases, from the report of one."""

GOOD = 0
"""Exit code of a command that is done."""

WRONG = 2
"""Exit code where the input or the output is wrong."""


class Done(NamedTuple):
    """A case that is done.

    Attributes
    ----------
    findings : object
        Of the study.
    document : Document
        What is said of them.
    folder : pathlib.Path or None
        Of its report.
    full : str
        All that the terminal can show of it; empty where that is not asked for.
    """

    findings: Any
    document: Document
    folder: Path | None
    full: str


class Study(NamedTuple):
    """How the findings of one study are told and kept.

    Attributes
    ----------
    ending : str
        Of the folder's name, behind the name of the case.
    document : callable
        From findings to what is said of them.
    compare : callable or None
        From the findings of several cases to a table that compares them, a row a case; None where
        the answers of the cases are put below each other.
    picture : callable or None
        From the findings of several cases to a figure of them.
    own : tuple of str
        Files of the report beside page, numbers and figures.
    kept : tuple of str
        What else may stand in the folder and is left alone.
    stopped : callable or None
        From findings to the sentence and exit code of a study that ended early, or None.
    answer : callable or None
        From findings to their answer alone, where the document would ask for more than is known
        first; None where it does not.
    """

    ending: str
    document: Callable[[Any], Document]
    compare: Callable[[Sequence[Any]], Table] | None = None
    picture: Callable[[Sequence[Any]], Figure] | None = None
    own: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    stopped: Callable[[Any], tuple[str, int] | None] | None = None
    answer: Callable[[Any], Document] | None = None

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
        from baypulse.show import comparison
        from baypulse.show import folder as reports

        if root.exists() and not root.is_dir():
            raise Refused(f"{root} is a file, so no reports can be written in it")
        if len(cases) > 1:
            with _writing_to(root):
                comparison.check(root)
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

    One case is told as soon as its answer is known. Several are compared when all are done: on the
    terminal, and on a page above their reports. A case of which there is no answer is told, and the
    others are done all the same. When it is stopped, what is finished stands, and is compared. With
    ``--json`` nothing but numbers is printed, and a report is written only where ``--out`` says so.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``out``, ``json``, ``full`` and ``units``.
    cases, files
        The cases or rockets, and the file that each was read from.
    study : Study
        What is done with the findings.
    examine : callable
        From a case, and as ``progress`` one where it is shown, to findings, or to what is known
        first (:class:`baypulse.members.answered.Answered`).

    Returns
    -------
    int
        Exit code.
    """
    from baypulse.show import in_terminal

    writing = not chosen.json or chosen.out is not None
    root = Path(chosen.out or "reports")
    folders = study.folders(cases, files, root) if writing else [None] * len(cases)
    several = len(cases) > 1
    done: list[Done] = []
    code = GOOD
    try:
        for case, folder in zip(cases, folders, strict=True):
            # findings hold sentences too
            with quantities.written_in(system_of(chosen, case)):
                try:
                    findings, answer = _found(case, examine, study, chosen, several)
                except BaypulseError as error:
                    if not several:
                        raise
                    say(f"baypulse: {error}", sys.stderr)
                    code = WRONG
                    continue
                document = study.document(findings)
                full = _text(document, chosen, several)
                if answer is not None:
                    _tell(in_terminal.late(document, answer))
                elif not several:
                    _tell(full)
                if folder is not None:
                    _write(document, folder, several, chosen)
                done.append(Done(findings, document, folder, full))
            early = study.stopped(findings) if study.stopped else None
            if early is not None:
                say(f"{case.name}: {early[0]}", sys.stderr)
                code = early[1]
    except KeyboardInterrupt:
        if done:
            say(
                f"stopped; {len(done)} of {len(cases)} cases are finished and their reports stand",
                sys.stderr,
            )
        _tell_all(done, chosen, study, cases, root if writing else None)
        raise
    _tell_all(done, chosen, study, cases, root if writing else None)
    return code


def _found(
    case: Any, examine: Callable[..., Any], study: Study, chosen: argparse.Namespace, several: bool
) -> tuple[Any, Document | None]:
    """Return all findings of one case, and the answer if that is told already.

    It is as soon as it is known, where more than that is to be found, and nothing else is printed.
    """
    found = _waited(lambda progress: examine(case, progress=progress))
    if not isinstance(found, Answered):
        return found, None
    answer = None
    if not (several or chosen.json or chosen.full):
        answer = (study.answer or study.document)(found.findings)
        _tell(_text(answer, chosen, several))
    return _waited(found.whole), answer


def _waited(find: Callable[[Progress | None], Any]) -> Any:
    """Return what is found, with a word to those who wait."""
    from baypulse.members import blocks

    with one_line_warnings(), compiling_notice(), blocks.bar(sys.stderr) as progress:
        return find(progress)


def _text(document: Document, chosen: argparse.Namespace, several: bool) -> str:
    """Return what the terminal shows of one case; nothing where that is not asked for."""
    from baypulse.show import in_terminal

    if chosen.json or (several and not chosen.full):
        return ""
    return in_terminal.told(document, full=chosen.full)


def _tell(text: str) -> None:
    say(text, end="")
    sys.stdout.flush()  # what comes after takes longer


def _write(document: Document, folder: Path, several: bool, chosen: argparse.Namespace) -> None:
    """Write the report of one case, and say where it is where that is the only one."""
    from baypulse.show import folder as reports

    with _writing_to(folder):
        reports.write(document, folder, BACK if several else "")
    if not (several or chosen.json):
        say(f"\nreport: {folder / reports.PAGE}")


def _tell_all(
    done: Sequence[Done], chosen: argparse.Namespace, study: Study, cases: Sequence[Any],
    root: Path | None,
) -> None:  # fmt: skip
    """Tell what is told of all cases together."""
    from baypulse.show import as_json, in_terminal
    from baypulse.show import folder as reports

    several = len(cases) > 1
    if chosen.json and done:
        numbers = [as_json.numbers(each.document) for each in done]
        say(as_json.text(numbers if several else numbers[0]), end="")
    if not several or not done:
        return
    with quantities.written_in(system_of(chosen, cases[0])):
        table = _compared(done, study)
        page = None if root is None else _compared_page(done, study, table, root)
        if chosen.json:
            return
        say(in_terminal.comparison(table))
    for each in done:
        if each.folder is not None:
            say(f"report: {each.folder / reports.PAGE}")
    if page is not None:
        say(f"all of them: {page}")
    for each in done:
        say(f"\n{each.full}" * bool(each.full), end="")


def _compared(done: Sequence[Done], study: Study) -> Table:
    """Return the comparison of several cases; without one of the study's, their answers."""
    from baypulse.show.document import Column, Table

    if study.compare is not None:
        return study.compare([each.findings for each in done])
    return Table(
        "answers",
        (Column("case", "case"), Column("answer", "answer"), Column("next", "next")),
        tuple(
            (each.document.name, each.document.headline, " ".join(each.document.next_steps[:1]))
            for each in done
        ),
        title="The answers",
    )


def _compared_page(done: Sequence[Done], study: Study, table: Table, root: Path) -> Path:
    """Write the page of several cases above their reports."""
    from baypulse.show import comparison
    from baypulse.show.folder import PAGE

    figures = () if study.picture is None else (study.picture([each.findings for each in done]),)
    reports = {each.document.name: each.folder.name for each in done if each.folder is not None}
    with _writing_to(root):
        comparison.write(
            comparison.Comparison(done[0].document.study, table, figures, reports), root
        )
    return root / PAGE
