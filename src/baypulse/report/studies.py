"""Report folders of the studies: a page, figures and numbers, beside the members if there are."""

from __future__ import annotations

from pathlib import Path

from baypulse.plot import ensembles, sweeps
from baypulse.report import NUMBERS, PAGE, draw, study_page
from baypulse.report.data import to_json
from baypulse.report.scatter_text import summary as scatter_summary
from baypulse.report.study_data import scatter_numbers, sweep_csv, sweep_numbers
from baypulse.report.study_folder import check, put
from baypulse.report.sweep_text import summary as sweep_summary
from baypulse.study.findings import Scatter, Sweep

__all__ = [
    "MEMBERS", "PAGE", "check_scatter_target", "check_sweep_target", "scatter_numbers",
    "scatter_summary", "sweep_csv", "sweep_numbers", "sweep_summary", "write_scatter",
    "write_sweep",
]  # fmt: skip

MEMBERS, POINTS = "members", "sweep.csv"
"""What a study's folder holds beside page, numbers and figures: of a scatter, of a sweep."""


def write_scatter(scatter: Scatter, folder: str | Path) -> dict[str, Path]:
    """Write the report of a scatter study; its members, which may stand there, are left alone.

    Parameters
    ----------
    scatter : Scatter
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
        If there is something else than members and an earlier report.
    OSError
        If the folder cannot be written.
    """
    check_scatter_target(folder)
    files, inside = draw(ensembles.figures(scatter), study_page.captions(scatter))
    files[NUMBERS] = to_json(scatter_numbers(scatter)).encode()
    files[PAGE] = study_page.scatter_page(scatter, inside).encode()
    return put(files, folder)


def write_sweep(sweep: Sweep, folder: str | Path) -> dict[str, Path]:
    """Write the report of a sweep.

    Parameters
    ----------
    sweep : Sweep
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
    check_sweep_target(folder)
    files, inside = draw(sweeps.figures(sweep), study_page.sweep_captions(sweep))
    files[POINTS] = sweep_csv(sweep).encode()
    files[NUMBERS] = to_json(sweep_numbers(sweep)).encode()
    files[PAGE] = study_page.sweep_page(sweep, inside).encode()
    return put(files, folder)


def check_scatter_target(folder: str | Path) -> None:
    """Refuse a place where something else than members and an earlier report stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    check(folder, "scatter", MEMBERS)


def check_sweep_target(folder: str | Path) -> None:
    """Refuse a place where something else than an earlier report of a sweep stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    check(folder, "sweep", POINTS)
