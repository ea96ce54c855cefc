"""The bay on the bench: its air, what holds it, and what can be measured there at all."""

from __future__ import annotations

import math

import numpy as np

from baypulse.case import geometry
from baypulse.case.model import Case
from baypulse.case.quantities import show
from baypulse.members.parts import StudyError
from baypulse.run.pumped_bay import bench_air
from baypulse.studies.leakdown.recorded_falls import LEAST
from baypulse.studies.leakdown.result import LEAK, Estimate, Falls, Trace
from baypulse.studies.leakdown.words import area, psi

PRESSURES = (LEAST, 300e3)
"""Gauge pressures [Pa] from which a bay is watched: what a hand gauge shows, and no more than a
tube and its bulkheads should be given on a bench; our choice."""

TIMES = (0.02, 172_800.0)
"""Times of a fall [s]: two frames of a film to two days; our choice."""


def check_case(case: Case) -> None:
    """Refuse a case that holds a measured leak already.

    Parameters
    ----------
    case : Case
        As given.

    Raises
    ------
    StudyError
        With a sentence.
    """
    held = [k for k, each in enumerate(case.openings) if each.name == LEAK]
    if held:
        raise StudyError(
            f'{case.name}: openings[{held[0]}] is a "{LEAK}" already, and its joint.clearance was '
            "left out for it; test again with the case from before, or rename that opening if it "
            "was plugged"
        )


def check_test(case: Case, test: Falls | Trace, altitude: float | None = None) -> None:
    """Refuse what cannot have been measured, before anything is run.

    Parameters
    ----------
    case : Case
        For the pressure of the day.
    test : Falls or Trace
        What was measured.
    altitude : float, optional
        Of the bench [m].

    Raises
    ------
    StudyError
        With a sentence.
    """
    low, high = PRESSURES
    if test.gauge_error < 0.0 or not math.isfinite(test.gauge_error):
        raise StudyError("--gauge-error: an error cannot be below nothing")
    if isinstance(test, Trace):
        _check_trace(test, bench_air(case, altitude)[0])
        return
    allowed = f"{psi(low)} to {psi(high)}"
    if not low <= test.start <= high:
        raise StudyError(
            f"--from: a bay pumped to {psi(test.start)} above the air outside; allowed is "
            f"{allowed}. A few psi are enough, and safe for the tube"
        )
    if not 0.0 < test.end < test.start:
        raise StudyError(
            f"--to: the pressure falls from {psi(test.start)} to {psi(test.end)}; the end must "
            "lie below the start and above 0, so swap them or read the gauge at about half"
        )
    if not test.times:
        raise StudyError('--time: give how long the fall took, such as --time "2.4 s"')
    for time in test.times:
        if not TIMES[0] <= time <= TIMES[1]:
            raise StudyError(
                f"--time: a fall within {show(time, 'time')}; allowed is "
                f"{show(TIMES[0], 'time')} to {TIMES[1] / 3600.0:g} hours"
            )
    if test.time_error < 0.0 or not math.isfinite(test.time_error):
        raise StudyError("--time-error: an error cannot be below nothing")


def _check_trace(test: Trace, outside: float) -> None:
    where = test.source or "the recorded pressure"
    if test.time.shape != test.pressure.shape or test.time.ndim != 1:
        raise StudyError(f"{where}: one pressure is needed for each time")
    if not (np.isfinite(test.time).all() and np.isfinite(test.pressure).all()):
        raise StudyError(f"{where}: some readings are no numbers; leave them out")
    if test.time.size > 1 and not (np.diff(test.time) > 0.0).all():
        raise StudyError(f"{where}: the times do not rise; sort the readings")
    if test.pressure.size and float(test.pressure.min()) > 0.7 * outside:
        ends = f"{psi(float(test.pressure.min()))} to {psi(float(test.pressure.max()))}"
        raise StudyError(
            f"{where}: the pressures, {ends}, look absolute; a gauge shows 0 in the open: subtract "
            f"the pressure of the air outside, about {psi(outside)}"
        )
    if test.pressure.size and float(test.pressure.max()) > PRESSURES[1]:
        raise StudyError(
            f"{where}: the pressure reaches {psi(float(test.pressure.max()))}; allowed is up to "
            f"{psi(PRESSURES[1])} above the air outside. Is the unit right?"
        )


def check_area(case: Case, estimate: Estimate) -> None:
    """Refuse a leak that would be larger than the bay.

    Parameters
    ----------
    case : Case
        As given.
    estimate : Estimate
        Of the leak.

    Raises
    ------
    StudyError
        With a sentence.
    """
    bore = geometry.bore_area(case)
    if estimate.low >= bore:
        raise StudyError(
            f"{case.name}: such a fall needs an opening of {area(estimate.area)}, and the whole "
            f"bore has {area(bore)}; check times and units, or close the open end"
        )
