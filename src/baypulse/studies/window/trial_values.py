"""What figures and texts of a charge window show of single charges."""

from __future__ import annotations

from baypulse.members.charge_results import Trial
from baypulse.show.figures.scales import Scale, scale_of
from baypulse.studies.window.result import Window

NUMBERS = (
    ("greatest_velocity", "greatest separation velocity", "velocity"),
    ("peak_pressure", "peak pressure", "gauge pressure"),
    ("cord_load", "peak load of the cord", "force"),
)
"""Numbers of a trial: name, label, dimension."""

TRIALS = {
    "recommended": "ground test",
    "backup": "backup alone, fresh bay",
    "after failure": "backup, the first having failed",
    "both": "both at once",
    "empty-bay rule": "empty-bay rule",
    "as in the case": "as in the case",
}
"""What single charges are called."""


def charge_scale(window: Window) -> Scale:
    """Return the units of the charge: grams and grains, or psi and kPa."""
    return scale_of(window.dimension, window.present)


def ends(window: Window) -> tuple[float | None, float | None]:
    """Return the least and the most charge [SI]; None where there is none.

    Parameters
    ----------
    window : Window
        Findings.
    """
    least, most = window.least, window.most
    return None if least is None else least.charge, None if most is None else most.charge


def single(window: Window) -> list[Trial]:
    """Return the single charges that were tried, that of the case last.

    Parameters
    ----------
    window : Window
        Findings.
    """
    found = [window.recommended, window.backup, window.after_failure, window.both, window.rule]
    own = [trial for trial in window.curve if trial.name == "as in the case"]
    return [trial for trial in [*found, *own] if trial is not None]
