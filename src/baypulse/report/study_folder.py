"""The folder of a study's report, which may hold more than the report."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from baypulse.report import FIGURES, NUMBERS, PAGE, fill, spare, swap


def check(folder: str | Path, study: str, *own: str) -> None:
    """Refuse a place where something else than an earlier report of a study stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.
    study : str
        What it is the report of.
    *own : str
        What this study's folder holds beside page, numbers and figures.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    target = Path(folder)
    if target.is_dir():
        held = {entry.name for entry in target.iterdir()}
        known = {PAGE, NUMBERS, FIGURES, *own}
        if held - known:
            raise FileExistsError(
                f"{target} holds {sorted(held - known)[0]}, which is no part of the report of a "
                f"{study}, so nothing is replaced; move that away or choose another folder"
            )
        # a figures folder alone may be anybody's
        if held and not held & {*own, NUMBERS}:
            raise FileExistsError(
                f"{target} holds something else than the report of a {study}, so it is not "
                "replaced; choose another folder"
            )
    elif target.exists() or target.is_symlink():
        raise FileExistsError(f"{target} is a file, so no report can be written there")


def put(files: dict[str, bytes], folder: str | Path) -> dict[str, Path]:
    """Put files into a folder that may hold more.

    All of them are written beside the folder first. Then each is moved to its place in one step,
    the figures as a whole, and the page last: it holds all it shows, so it is never half new.

    Parameters
    ----------
    files : dict of str to bytes
        By their place in the folder.
    folder : str or pathlib.Path
        Made if missing.

    Returns
    -------
    dict of str to pathlib.Path
        Every file, by its place in the folder.
    """
    # an absolute path names the parent even of "." and survives a change of folder
    target = Path(os.path.abspath(folder))  # noqa: PTH100 (resolve would follow a link)
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = spare(target, "new")
    try:
        fill(fresh, files)
        target.mkdir(exist_ok=True)
        if (fresh / FIGURES).exists():
            swap(fresh / FIGURES, target / FIGURES)
        for name in files:
            if "/" not in name:
                (fresh / name).replace(target / name)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return {name: target / name for name in files}
