"""The report folder of a rocket's joints."""

from __future__ import annotations

from pathlib import Path

from baypulse.plot import joints as drawn
from baypulse.report import NUMBERS, PAGE, draw
from baypulse.report.data import to_json
from baypulse.report.joints_data import joints_numbers
from baypulse.report.joints_page import captions, joints_page
from baypulse.report.joints_text import compare, summary
from baypulse.report.study_folder import check, put
from baypulse.study.flights import Joints

__all__ = ["check_target", "compare", "joints_numbers", "summary", "write_joints"]


def write_joints(joints: Joints, folder: str | Path) -> dict[str, Path]:
    """Write the report of a rocket's joints.

    Parameters
    ----------
    joints : Joints
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
    check_target(folder)
    files, inside = draw(drawn.figures(joints), captions(joints))
    files[NUMBERS] = to_json(joints_numbers(joints)).encode()
    files[PAGE] = joints_page(joints, inside).encode()
    return put(files, folder)


def check_target(folder: str | Path) -> None:
    """Refuse a place where something else than an earlier report of joints stands.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where a report is to be written.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    check(folder, "study of joints")
