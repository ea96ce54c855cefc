"""The command ``leakdown``: from a falling gauge to a leak, and from the leak to the charge."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities, units
from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import GOOD, Study, each_case
from baypulse.commands.new_case_file import place, put_case
from baypulse.commands.options import add_command, add_common, value_of
from baypulse.errors import UnitError
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.studies.leakdown.result import Falls, LeakDown, Trace

TIME_ERROR = "0.2 s"
"""Error of a time where none is given: a hand on a stop watch; estimate."""

GAUGE_ERROR = "0.05 psi"
"""Error of a reading where none is given: 1 % of a 5 psi gauge; estimate."""

BENCHES = (-500.0, 5500.0)
"""Altitudes of a bench [m]: where people live."""

NAMES = {"start": "--from", "end": "--to", "time": "--time"}
"""Options that belong to a watched gauge, by their place."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "leakdown", _leakdown,
        help="the leak of a bay from a falling gauge, and whether it matters",
        description="Plug the vents, pump the bay up a little, let the air cool, and time the fall "
        "of the gauge, or record it. This gives the leak as an effective area and as one round "
        "hole, with its 95 % interval; says whether it matters for the charge; and can write a "
        "case with it. Several cases are compared, all with the same test.",
        epilog='Example: baypulse leakdown cases/main-98.toml --from "3 psig" --to "1.5 psig" '
        '--time "2.4 s"',
    )  # fmt: skip
    parser.add_argument("--from", dest="start", metavar="PRESSURE",
                        help='gauge at the beginning, such as "3 psig"')  # fmt: skip
    parser.add_argument("--to", dest="end", metavar="PRESSURE",
                        help='gauge at the end, such as "1.5 psig"')  # fmt: skip
    parser.add_argument(
        "--time", action="append", metavar="TIME",
        help='from one to the other, such as "2.4 s"; once for each repeat',
    )  # fmt: skip
    parser.add_argument(
        "--time-error", metavar="TIME",
        help=f'standard deviation of one time (default: "{TIME_ERROR}", a hand on a stop watch)',
    )  # fmt: skip
    parser.add_argument(
        "--gauge-error", metavar="PRESSURE",
        help="standard deviation of one reading, or of the zero of a record "
        f'(default: "{GAUGE_ERROR}")',
    )  # fmt: skip
    parser.add_argument("--gauge", metavar="FILE", help="record of the gauge (CSV) in their place")
    parser.add_argument("--time-column", metavar="NAME", help="its column of times")
    parser.add_argument("--pressure-column", metavar="NAME", help="its column of pressures")
    parser.add_argument(
        "--altitude", metavar="LENGTH",
        help='of the bench above sea level, such as "300 m" (default: as in the case; sea level '
        "where the case is a flight)",
    )  # fmt: skip
    parser.add_argument("--write", metavar="NEW",
                        help="write a new case file with the leak; of one case")  # fmt: skip
    add_common(parser)


def _leakdown(chosen: argparse.Namespace) -> int:
    """Find the leak of every case."""
    from baypulse.studies.leakdown.document import compare, document

    files = expanded(chosen.cases)
    test, altitude = _test(chosen), _altitude(chosen.altitude)
    if chosen.write is not None and len(files) != 1:
        raise Refused(
            f"--write: {chosen.write} can hold the leak of one case; {len(files)} were named"
        )
    new = place(chosen.write, files[0])
    cases = read_cases(files)
    for case in cases:
        _check(case, test, altitude)
    found: list[LeakDown] = []

    def examine(case: Case, progress: Progress | None) -> LeakDown:
        from baypulse.studies.leakdown.compute import leakdown

        found.append(
            leakdown(case, test, seed=chosen.seed, workers=chosen.workers, progress=progress,
                     altitude=altitude)
        )  # fmt: skip
        return found[-1]

    told = Study("-leakdown", document, compare)
    code = each_case(chosen, cases, files, told, examine)
    if new is not None and code == GOOD:
        put_case(lambda: _new_text(found[0], files[0], new), new, aside=chosen.json)
    return code


def _test(chosen: argparse.Namespace) -> Falls | Trace:
    """Return what was measured, or refuse what is missing or too much."""
    from baypulse.studies.leakdown.result import Falls, Trace

    timed = [option for name, option in NAMES.items() if getattr(chosen, name) is not None]
    if chosen.gauge is None:
        for column, option in (("time_column", "--time-column"),
                               ("pressure_column", "--pressure-column")):  # fmt: skip
            if getattr(chosen, column) is not None:
                raise Refused(f"{option} names a column of a record; give the record with --gauge")
        missing = [option for option in NAMES.values() if option not in timed]
        if missing:
            raise Refused(
                f"{' and '.join(missing)} missing: say how the gauge fell, such as "
                '--from "3 psig" --to "1.5 psig" --time "2.4 s", or give a record with --gauge'
            )
        start = value_of("--from", chosen.start, "gauge pressure")
        times = tuple(value_of("--time", each, "time") for each in chosen.time)
        return Falls(
            start=start,
            end=value_of("--to", chosen.end, "gauge pressure"),
            times=times,
            time_error=_error(chosen.time_error, TIME_ERROR, "time", times[0], "--time-error"),
            gauge_error=_error(chosen.gauge_error, GAUGE_ERROR, "gauge pressure", start,
                               "--gauge-error"),
        )  # fmt: skip
    if chosen.time_error is not None:
        timed.append("--time-error")
    if timed:
        raise Refused(
            f"{' and '.join(timed)}: give the times of a watched gauge, or a record with --gauge, "
            "not both"
        )
    from baypulse.case.logs import read_gauge

    read = read_gauge(chosen.gauge, time=chosen.time_column, pressure=chosen.pressure_column)
    most = float(read.pressure.max(initial=0.0))
    return Trace(
        time=read.time,
        pressure=read.pressure,
        gauge_error=_error(chosen.gauge_error, GAUGE_ERROR, "gauge pressure", most,
                           "--gauge-error"),
        source=Path(chosen.gauge).name,
        notes=tuple(read.notes),
    )  # fmt: skip


def _altitude(text: str | None) -> float | None:
    """Return where the bench stands, or refuse a place that nobody pumps a bay at."""
    if text is None:
        return None
    altitude = value_of("--altitude", text, "length")
    low, high = BENCHES
    if not low <= altitude <= high:
        raise Refused(
            f"--altitude: a bench at {quantities.show(altitude, 'length')}; allowed is "
            f"{quantities.within(low, high, 'length', '300 m')}"
        )
    return altitude


def _check(case: Case, test: Falls | Trace, altitude: float | None) -> None:
    """Refuse an impossible test before anything is run."""
    from baypulse.studies.leakdown.bench import check_test

    check_test(case, test, altitude)


def _error(text: str | None, usual: str, dimension: str, value: float, option: str) -> float:
    """Return a standard deviation, with a unit or as a share of what it is of."""
    try:
        return units.parse_spread(usual if text is None else text, dimension, value)
    except UnitError as error:
        raise Refused(f'{option}: {error}; write it such as "{usual}" or "2 %"') from None


def _new_text(found: LeakDown, source: str, new: Path) -> str:
    """Return the text of the case with its leak."""
    from baypulse.case.casefile.leak_entry import with_entry
    from baypulse.studies.leakdown.words import entry

    told = entry(found, Path(source).name)
    return with_entry(found.case.source_text, told, new.stem, str(new))[0]
