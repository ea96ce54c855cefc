"""The folder of a study's report, which may hold more than the report."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from baypulse.show.data import to_json
from baypulse.show.figures import output

PAGE, NUMBERS, CURVES, FIGURES = "index.html", "numbers.json", "curves.csv", "figures"
"""What a report's folder holds."""


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
        text = output.svg(figure)
        files[f"{FIGURES}/{name}.png"] = output.png(figure)
        files[f"{FIGURES}/{name}.svg"] = text.encode()
        inside[name] = output.inline(text, name, captions[name])
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


@dataclass(frozen=True)
class StudyReport:
    """What the folder of one study's report holds, and what makes it of the findings.

    Attributes
    ----------
    study : str
        What it is the report of, in words.
    figures, captions, numbers : callable
        From findings to figures by name, to what each shows, and to numbers for JSON.
    page : callable
        From findings, and figures for the inside of a page, to the page.
    own : mapping of str to callable
        Files of this study alone, and what makes their bytes of the findings.
    kept : tuple of str
        What else may stand in the folder and is left alone.
    """

    study: str
    figures: Callable[[Any], Mapping[str, Any]]
    captions: Callable[[Any], Mapping[str, str]]
    numbers: Callable[[Any], dict[str, Any]]
    page: Callable[[Any, dict[str, str]], str]
    own: Mapping[str, Callable[[Any], bytes]] = field(default_factory=dict)
    kept: tuple[str, ...] = ()

    def write(self, findings: Any, folder: str | Path) -> dict[str, Path]:
        """Write the report.

        Parameters
        ----------
        findings : object
            Of the study.
        folder : str or pathlib.Path
            Made if missing. An earlier report there is replaced.

        Returns
        -------
        dict of str to pathlib.Path
            Every file, by its place in the folder.

        Raises
        ------
        FileExistsError
            If there is something else than an earlier report.
        OSError
            If the folder cannot be written.
        """
        self.check(folder)
        files, inside = draw(self.figures(findings), self.captions(findings))
        files |= {name: make(findings) for name, make in self.own.items()}
        files[NUMBERS] = to_json(self.numbers(findings)).encode()
        files[PAGE] = self.page(findings, inside).encode()
        return _put(files, folder)

    def check(self, folder: str | Path) -> None:
        """Refuse a place where something else than an earlier report of this study stands.

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
        own = {*self.own, *self.kept}
        if target.is_dir():
            held = {entry.name for entry in target.iterdir()}
            strange = held - {PAGE, NUMBERS, FIGURES, *own}
            if strange:
                raise FileExistsError(
                    f"{target} holds {sorted(strange)[0]}, which is no part of the report of a "
                    f"{self.study}, so nothing is replaced; move that away or choose another folder"
                )
            # a figures folder alone may be anybody's
            if held and not held & {*own, NUMBERS}:
                raise FileExistsError(
                    f"{target} holds something else than the report of a {self.study}, so it is "
                    "not replaced; choose another folder"
                )
        elif target.exists() or target.is_symlink():
            raise FileExistsError(f"{target} is a file, so no report can be written there")


def _put(files: dict[str, bytes], folder: str | Path) -> dict[str, Path]:
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
