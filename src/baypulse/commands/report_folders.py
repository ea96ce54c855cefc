"""Where the reports of a command go, and what is said where one cannot be written."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.errors import cause
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.case.model import Case


def report_folders(
    cases: Sequence[Case],
    files: Sequence[str],
    root: Path,
    check: Callable[[Path], None],
    ending: str = "",
) -> list[Path]:
    """Return the report's folder of each case, all different and all free to write.

    Parameters
    ----------
    cases, files
        The cases, and the file that each was read from.
    root : pathlib.Path
        Folder that gets them.
    check : callable
        Raises an OSError where something else than an earlier report stands.
    ending : str
        Behind the name of the case.
    """
    if root.exists() and not root.is_dir():
        raise Refused(f"{root} is a file, so no reports can be written in it")
    folders: dict[str, tuple[Path, str]] = {}
    for case, file in zip(cases, files, strict=True):
        folder = root / ((case.name.strip(" .") or "case") + ending)
        key = os.path.normcase(folder)
        if key in folders:
            raise Refused(
                f"{folders[key][1]} and {file} would both be reported in {folder}; run them one "
                "at a time with different --out"
            )
        try:
            check(folder)
        except OSError as error:
            raise Refused(_unwritten(folder, error)) from None
        folders[key] = (folder, file)
    return [folder for folder, _ in folders.values()]


def write(report: Callable[[Any, Path], object], result: Any, folder: Path) -> None:
    """Write a report, or refuse with a sentence.

    Parameters
    ----------
    report : callable
        Writes a result into a folder.
    result : object
        What it writes.
    folder : pathlib.Path
        Where to.
    """
    try:
        report(result, folder)
    except OSError as error:
        raise Refused(_unwritten(folder, error)) from None


def _unwritten(folder: Path, error: OSError) -> str:
    """Return the sentence for a report that cannot be written."""
    if isinstance(error, FileExistsError) and error.errno is None:
        return str(error)
    return f"the report cannot be written to {folder}: {cause(error)}"
