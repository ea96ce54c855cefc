"""The report of a run: a folder with a page, figures and numbers; a notebook's view."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from baypulse.run.result import Result
from baypulse.show.data import fingerprint, to_json
from baypulse.show.figures import output
from baypulse.show.study_folder import CURVES, FIGURES, NUMBERS, PAGE, draw, fill, spare, swap
from baypulse.studies.run import figures as plot
from baypulse.studies.run import page as run_page
from baypulse.studies.run.data import csv, numbers


def write_report(result: Result, folder: str | Path) -> dict[str, Path]:
    """Write a report.

    Everything is written beside the target first and moved there at the end, so that a reader
    finds the old report or the new one and never half of one.

    Parameters
    ----------
    result : Result
        A run.
    folder : str or pathlib.Path
        Made if missing. An earlier report there is replaced.

    Returns
    -------
    dict of str to pathlib.Path
        Every file, by its place in the folder, such as ``"figures/course.svg"``.

    Raises
    ------
    FileExistsError
        If there is something else than an earlier report.
    OSError
        If the folder cannot be written; what was there is left as it was.
    """
    # an absolute path names the parent even of "." and survives a change of folder
    target = Path(os.path.abspath(folder))  # noqa: PTH100 (resolve would follow a link)
    check_target(target)
    files = _files(result)
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = spare(target, "new")
    try:
        fill(fresh, files)
        swap(fresh, target)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return {name: target / name for name in files}


def check_target(folder: str | Path) -> None:
    """Refuse a place where something else than an earlier report stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    target = Path(folder)
    if target.is_dir():
        held = {entry.name for entry in target.iterdir()}
        if held and not {PAGE, NUMBERS} <= held:
            raise FileExistsError(
                f"{target} holds something else than a report, so it is not replaced; "
                "choose another folder"
            )
        if held - {PAGE, NUMBERS, CURVES, FIGURES}:
            more = sorted(held - {PAGE, NUMBERS, CURVES, FIGURES})[0]
            raise FileExistsError(
                f"{target} holds {more}, which is no part of a report, so it is not replaced; "
                "move that away or choose another folder"
            )
    elif target.exists() or target.is_symlink():
        raise FileExistsError(f"{target} is a file, so no report can be written there")


def notebook_html(result: Result) -> str:
    """Return HTML for a notebook: verdict, key numbers, pressure, caution.

    Parameters
    ----------
    result : Result
        A run.
    """
    drawn = output.svg(plot.figure(result, "pressure"))
    # two results of a notebook must not share an identity within their figures
    name = f"p{fingerprint(result.case)[:12]}"
    return run_page.notebook(result, output.inline(drawn, name, "Pressure in the bay"))


def _files(result: Result) -> dict[str, bytes]:
    """Return every file of a report as bytes."""
    shown = [name for name in plot.names(result) if name in plot.PAGE]
    figures = {name: plot.figure(result, name) for name in shown}
    files, inside = draw(figures, run_page.CAPTIONS)
    files[CURVES] = csv(result).encode()
    files[NUMBERS] = to_json(numbers(result)).encode()
    files[PAGE] = run_page.page(result, inside).encode()
    return files
