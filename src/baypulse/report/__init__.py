"""Reports of a result: a folder with a page, figures and numbers; a text; a notebook's view."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from baypulse import plot
from baypulse.caution import CAUTION
from baypulse.report import page
from baypulse.report.data import csv, fingerprint, numbers, to_json
from baypulse.report.text import summary
from baypulse.result import Result

__all__ = ["CAUTION", "csv", "notebook_html", "numbers", "summary", "to_json", "write_report"]

PAGE, NUMBERS, CURVES, FIGURES = "index.html", "numbers.json", "curves.csv", "figures"
"""What a report's folder holds."""


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
    drawn = plot.svg(plot.figure(result, "pressure"))
    # two results of a notebook must not share an identity within their figures
    name = f"p{fingerprint(result.case)[:12]}"
    return page.notebook(result, plot.inline(drawn, name, "Pressure in the bay"))


def _files(result: Result) -> dict[str, bytes]:
    """Return every file of a report as bytes."""
    shown = [name for name in plot.names(result) if name in plot.PAGE]
    figures = {name: plot.figure(result, name) for name in shown}
    files, inside = draw(figures, page.CAPTIONS)
    files[CURVES] = csv(result).encode()
    files[NUMBERS] = to_json(numbers(result)).encode()
    files[PAGE] = page.page(result, inside).encode()
    return files


def draw(
    figures: Mapping[str, Any], captions: Mapping[str, str]
) -> tuple[dict[str, bytes], dict[str, str]]:
    """Return the files of a report's figures, and what its page shows of them.

    Parameters
    ----------
    figures : mapping
        Figures of matplotlib by name.
    captions : mapping
        What each shows.
    """
    files: dict[str, bytes] = {}
    inside: dict[str, str] = {}
    for name, figure in figures.items():
        text = plot.svg(figure)
        files[f"{FIGURES}/{name}.png"] = plot.png(figure)
        files[f"{FIGURES}/{name}.svg"] = text.encode()
        inside[name] = plot.inline(text, name, captions[name])
    return files, inside


def fill(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files into a folder, by their places in it."""
    for name, data in files.items():
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(data)


def spare(target: Path, use: str) -> Path:
    """Make a folder beside the target under a name that is free."""
    for attempt in range(1000):
        place = target.with_name(f".{target.name}.{use}-{os.getpid()}-{attempt}")
        try:
            place.mkdir()
        except FileExistsError:
            continue
        return place
    raise FileExistsError(f"no free name beside {target}")


def swap(fresh: Path, target: Path) -> None:
    """Put the fresh folder where the target is; on failure the target is as it was."""
    if not target.exists():
        fresh.rename(target)
        return
    old = spare(target, "old")
    old.rmdir()
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
