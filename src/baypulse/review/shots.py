"""The shots that stand beside the bays of a rocket, each with its day."""

from __future__ import annotations

from collections.abc import Mapping

from baypulse.case.model import Case
from baypulse.observed.shot_log import ShotLog, name_of
from baypulse.show.document import Column, Quantity, Table

COLUMNS = (
    Column("bay", "Bay"), Column("shot", "Shot"),
    Column("date", "Fired on", absent="not said"), Column("charge", "Charge"),
    Column("pins", "Pins"), Column("saw", "Seen"),
    Column("separated", "Separated", absent="not said"),
)  # fmt: skip
"""Columns of the table of shots."""


def table(cases: Mapping[str, Case], logs: Mapping[str, ShotLog]) -> Table | None:
    """Return the logged shots of every bay, or None where there is none.

    Parameters
    ----------
    cases : mapping of str to Case
        By the name of the bay.
    logs : mapping of str to ShotLog
        Of the bays that have one.
    """
    rows = tuple(
        (
            bay, name_of(log, k), None if shot.row.date is None else shot.row.date.isoformat(),
            Quantity(shot.charge, "gauge pressure" if cases[bay].powder is None else "mass"),
            shot.pins, "; ".join(shot.row.saw), shot.opened,
        )
        for bay, log in logs.items() for k, shot in enumerate(log.shots)
    )  # fmt: skip
    return Table("logged_shots", COLUMNS, rows, "Logged shots", look="cards") if rows else None
