"""The folder of a report: written whole or not at all, and never over something else."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path

from baypulse.show import as_csv, as_html, as_json, figure_files
from baypulse.show.document import Document, Table

PAGE = "index.html"
"""The page of a report."""

NUMBERS = "numbers.json"
"""Its numbers for other programs."""

FIGURES = "figures"
"""Folder of its figures."""


def write(document: Document, folder: str | Path, back: str = "") -> dict[str, Path]:
    """Write a report.

    All files are written beside the folder first. Then each is moved to its place in one step, a
    folder such as that of the figures as a whole, and the page last: it holds all it shows, so it
    is never half new.

    Parameters
    ----------
    document : Document
        What a study says.
    folder : str or pathlib.Path
        Made if missing. An earlier report there is replaced.
    back : str
        Address of the page that compares the case with others; empty where there is none.

    Returns
    -------
    dict of str to pathlib.Path
        Every file, by its place in the folder, such as ``"figures/course.svg"``.

    Raises
    ------
    FileExistsError
        If there is something else than an earlier report.
    OSError
        If the folder cannot be written.
    """
    tables = {**document.files, **document.curves}
    check(folder, [name.partition("/")[0] for name in [*tables, *document.attached]], document.kept)
    beside: dict[str, Callable[[], bytes]] = {}
    beside |= {name: partial(_csv, table) for name, table in tables.items()}
    beside |= document.attached
    files, inside = figure_files.drawn(document.figures, printed=document.printed, beside=beside)
    files[NUMBERS] = as_json.text(as_json.numbers(document)).encode()
    files[PAGE] = as_html.page(document, inside, back).encode()
    return put(files, folder)


def _csv(table: Table) -> bytes:
    return as_csv.text(table).encode()


def check(folder: str | Path, own: Sequence[str] = (), kept: Sequence[str] = ()) -> None:
    """Refuse a place where something else than an earlier report of this kind stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.
    own : sequence of str
        Files and folders that a report of this kind has beside page, numbers and figures.
    kept : sequence of str
        What else may stand there and is left alone.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    target = Path(folder)
    if target.is_dir():
        held = {entry.name for entry in target.iterdir()}
        strange = held - {PAGE, NUMBERS, FIGURES, *own, *kept}
        if strange:
            raise FileExistsError(
                f"{target} holds {sorted(strange)[0]}, which is no part of this report, so "
                "nothing is replaced; move that away or choose another folder"
            )
        # a figures folder alone may be anybody's
        if held and not held & {*own, *kept, NUMBERS}:
            raise FileExistsError(
                f"{target} holds something else than a report, so it is not replaced; choose "
                "another folder"
            )
    elif target.exists() or target.is_symlink():
        raise FileExistsError(f"{target} is a file, so no report can be written there")


def put(files: Mapping[str, bytes], folder: str | Path) -> dict[str, Path]:
    """Put files into a folder that may hold more, all of them or none.

    Parameters
    ----------
    files : mapping of str to bytes
        By their places in the folder.
    folder : str or pathlib.Path
        Made if missing.

    Returns
    -------
    dict of str to pathlib.Path
        Every file, by its place.
    """
    # an absolute path names the parent even of "." and survives a change of folder
    target = Path(os.path.abspath(folder))  # noqa: PTH100 (resolve would follow a link)
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = _spare(target, "new")
    try:
        for name, data in files.items():
            place = fresh / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(data)
        target.mkdir(exist_ok=True)
        for held in dict.fromkeys(name.partition("/")[0] for name in files if "/" in name):
            _swap(fresh / held, target / held)
        for name in files:
            if "/" not in name:
                (fresh / name).replace(target / name)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return {name: target / name for name in files}


def _spare(target: Path, use: str) -> Path:
    """Make a folder beside the target under a name that is free."""
    for attempt in range(1000):
        place = target.with_name(f".{target.name}.{use}-{os.getpid()}-{attempt}")
        try:
            place.mkdir()
        except FileExistsError:
            continue
        return place
    raise FileExistsError(f"no free name beside {target}")


def _swap(fresh: Path, target: Path) -> None:
    """Put the fresh folder where the target is; on failure the target is as it was."""
    if not target.exists():
        fresh.rename(target)
        return
    old = _spare(target, "old")
    old.rmdir()
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
