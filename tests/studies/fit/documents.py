"""Documents of fits to invented records, for what holds for the document of every study."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from baypulse.case import library
from baypulse.case.model import Case
from baypulse.members.factors import library_values
from baypulse.observed.measured import (
    ACCELERATION,
    AIRFRAME,
    BAROMETER,
    NOSE,
    PRESSURE,
    MeasuredShot,
    Record,
    shot,
)
from baypulse.studies.fit.compute import fit
from baypulse.studies.fit.document import document
from baypulse.studies.fit.result import Fit
from fit_records import TEXT, TRUTH, case, logged, trace

FREE = TEXT + '\n[setting]\nkind = "flight"\n'
"""The bay in flight: both sections move."""

SMALL_RANGE = 16.0 * 9.80665
"""Of a sensor that is at its end in such a shot [m/s^2]."""


def measured(known: Case) -> Case:
    """Return a case whose library is known: a fit runs a shot for each number that scatters."""
    return replace(known, materials={p: library.fact(p).value for p in library_values(known)})


@cache
def by_gauge() -> Fit:
    """Return a fit to the record of a gauge."""
    time, values = trace()
    record = Record(PRESSURE, time, values, "gauge.csv")
    return fit(case(), [MeasuredShot("recorded shot", (record,))], workers=2)


@cache
def by_loggers(rate: float, reach: float = 1e9) -> Fit:
    """Return a fit of both sections' loggers and of the nose's barometer."""
    known, records = measured(case(FREE)), []
    for k, section in enumerate((NOSE, AIRFRAME)):
        time, values, leak = logged(known, TRUTH, section, rate, seed=k)
        values = np.clip(values, -reach, reach)
        records.append(Record(ACCELERATION, time, values, f"{section}.csv", section=section))
        if section == NOSE:
            pressure = Record(BAROMETER, time, leak, "nose.csv, barometer", clock=0)
    return fit(known, [MeasuredShot("recorded shot", (*records, pressure))], workers=2)


@cache
def by_numbers(text: str = "peak 15 psi, velocity 12 m/s") -> Fit:
    """Return a fit to a few numbers of one shot."""
    return fit(case(), [shot(text, "shot 1")], workers=2)


DOCUMENTS = {
    "fit to a gauge": lambda: document(by_gauge()),
    "fit to loggers": lambda: document(by_loggers(1600.0, SMALL_RANGE)),
    "fit to numbers": lambda: document(by_numbers()),
    "fit that learns nothing": lambda: document(by_numbers("peak 20 psi +/- 20000 psi")),
}
