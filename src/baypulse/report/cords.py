"""The report folder of the study of a cord."""

from __future__ import annotations

from pathlib import Path

from baypulse import plot
from baypulse.plot import cords as drawings
from baypulse.report import NUMBERS, PAGE, draw
from baypulse.report.cord_data import cord_csv, cord_numbers
from baypulse.report.cord_page import CAPTIONS, cord_page
from baypulse.report.cord_text import compare, summary
from baypulse.report.data import to_json
from baypulse.report.study_folder import check, put
from baypulse.study.cords import Cords

__all__ = ["check_cord_target", "compare", "cord_csv", "cord_numbers", "summary", "write_cord"]

POINTS = "cord.csv"
"""What the folder holds beside page, numbers and figures."""


def write_cord(cords: Cords, folder: str | Path) -> dict[str, Path]:
    """Write the report of a cord.

    Parameters
    ----------
    cords : Cords
        Findings.
    folder : str or pathlib.Path
        Made if missing. An earlier report there is replaced.

    Returns
    -------
    dict of str to pathlib.Path
        Every file, by its place in the folder.

    Raises
    ------
    FileExistsError
        If there is something else than an earlier report of a cord.
    OSError
        If the folder cannot be written.
    """
    check_cord_target(folder)
    figures = drawings.figures(cords)
    if "cord" in plot.names(cords.result):
        figures["cord"] = plot.figure(cords.result, "cord")
    files, inside = draw(figures, CAPTIONS)
    files[POINTS] = cord_csv(cords).encode()
    files[NUMBERS] = to_json(cord_numbers(cords)).encode()
    files[PAGE] = cord_page(cords, inside).encode()
    return put(files, folder)


def check_cord_target(folder: str | Path) -> None:
    """Refuse a place where something else than an earlier report of a cord stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    check(folder, "cord", POINTS)
