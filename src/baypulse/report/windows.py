"""The report folder of a charge window: a page, figures, numbers, and the curve as a table."""

from __future__ import annotations

from pathlib import Path

from baypulse.plot import windows
from baypulse.report import NUMBERS, PAGE, draw
from baypulse.report.data import to_json
from baypulse.report.study_folder import check, put
from baypulse.report.window_data import window_csv, window_numbers
from baypulse.report.window_page import captions, window_page
from baypulse.report.window_text import comparison, summary
from baypulse.study.windows import Window

__all__ = [
    "check_window_target", "comparison", "summary", "window_csv", "window_numbers", "write_window"
]  # fmt: skip

CURVE = "window.csv"
"""What a window's folder holds beside page, numbers and figures."""


def write_window(window: Window, folder: str | Path) -> dict[str, Path]:
    """Write the report of a charge window.

    Parameters
    ----------
    window : Window
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
        If there is something else than an earlier report.
    OSError
        If the folder cannot be written.
    """
    check_window_target(folder)
    files, inside = draw(windows.figures(window), captions(window))
    files[CURVE] = window_csv(window).encode()
    files[NUMBERS] = to_json(window_numbers(window)).encode()
    files[PAGE] = window_page(window, inside).encode()
    return put(files, folder)


def check_window_target(folder: str | Path) -> None:
    """Refuse a place where something else than an earlier report of a window stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    check(folder, "window", CURVE)
