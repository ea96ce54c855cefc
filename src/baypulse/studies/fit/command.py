"""The command ``fit``: learn a case's unknowns from a record, a video, or a few numbers."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.case import units
from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import GOOD, Study, each_case
from baypulse.commands.new_case_file import place, put_case
from baypulse.commands.options import add_common, value_of
from baypulse.commands.shot_options import add_shots, add_without, logs
from baypulse.errors import UnitError
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.observed.measured import MeasuredShot, Record
    from baypulse.studies.fit.result import Fit

WORDS = "mixing, burnt, rate, friction, leak, delay, wall, pins"
"""What can be fitted by a word, for the help; a test holds it against the study's own list."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "fit", help="learn the unknowns of a case from what was measured",
        allow_abbrev=False,
        description="Fit what nobody can measure (mixing time, share that burns, burning rate, "
        "friction, leak) to a pressure record, to a logger's acceleration of one or both sections, "
        "to positions or velocities from a video, or to a few numbers of several shots. What was "
        "known before counts too: where a record says nothing, the answer is what was known "
        "before, and is called so. The gauge's lag, zero and drift, and the moment of firing in "
        "the record, are found beside. A new case file can be written; an old one is never "
        "changed.",
        epilog='Examples: baypulse fit my-bay.toml --trace gauge.csv --write my-bay-fitted.toml; '
        'baypulse fit my-bay.toml --shot "peak 11 psi, velocity 9 m/s" --shot "charge 0.8 g, '
        'velocity 14 m/s"; baypulse fit my-bay.toml --acceleration flight.csv --section nose',
    )  # fmt: skip
    parser.add_argument("case", metavar="CASE", help="case file (TOML) of the shot as it was")
    parser.add_argument("--trace", metavar="FILE",
                        help="record of a pressure gauge in the bay (CSV)")  # fmt: skip
    parser.add_argument("--column", metavar="NAME", help="its column of pressures")
    parser.add_argument(
        "--motion", metavar="FILE",
        help="positions or velocities of the same shot (CSV): how far, or how fast, nose section "
        "and airframe have parted",
    )  # fmt: skip
    parser.add_argument("--motion-column", metavar="NAME", help="its column")
    parser.add_argument(
        "--acceleration", action="append", default=[], metavar="FILE",
        help="acceleration along the rocket of the logger in one section (CSV); twice for both",
    )  # fmt: skip
    parser.add_argument(
        "--section",
        action="append",
        default=[],
        choices=("nose", "airframe"),
        help="where that logger sat; once for each --acceleration, in the same order",
    )
    parser.add_argument("--acceleration-column", action="append", default=[], metavar="NAME",
                        help="its column; once for all, or once for each")  # fmt: skip
    parser.add_argument("--range", metavar="ACCELERATION", dest="reach",
                        help='the sensor\'s range, such as "16 g"; a flat top tells')  # fmt: skip
    parser.add_argument(
        "--barometer", metavar="FILE",
        help="pressure in an electronics bay (CSV), which shows an unknown share of the bay's; in "
        "the same file as an acceleration it has its clock",
    )  # fmt: skip
    parser.add_argument("--barometer-column", metavar="NAME", help="its column")
    parser.add_argument("--time-column", metavar="NAME", help="column of times in all of them")
    parser.add_argument(
        "--fired", metavar="TIME",
        help="moment of the firing command in the records, such as \"0 ms\"; found beside where it "
        "is not given",
    )  # fmt: skip
    parser.add_argument("--between", nargs=2, metavar=("TIME", "TIME"),
                        help='stretch of the records to take, such as "1.2 s" "1.6 s"')  # fmt: skip
    parser.add_argument("--lag", metavar="TIME",
                        help="time constant of the gauge, where it is known")  # fmt: skip
    parser.add_argument(
        "--shot", action="append", default=[], metavar="NUMBERS",
        help='numbers of another shot, such as "charge 1.2 g, peak 11 psi +/- 0.5 psi, time 25 ms, '
        'velocity 9 m/s, slide 3 m" (time: from the firing command to open); once for each shot',
    )  # fmt: skip
    parser.add_argument(
        "--unknown", action="append", metavar="WORD",
        help=f"what is fitted: {WORDS}, or the path of a number that has a spread; once for each "
        "(default: mixing, burnt, rate, friction where motion was seen, and pins with an "
        "acceleration)",
    )  # fmt: skip
    parser.add_argument("--sample", action="store_true",
                        help="sample the posterior (needs emcee; a few minutes)")  # fmt: skip
    parser.add_argument("--write", metavar="NEW", help="write a new case file with the answer")
    add_shots(parser)
    add_without(parser)
    add_common(parser)
    parser.set_defaults(work=_fit)


def _fit(chosen: argparse.Namespace) -> int:
    """Fit the case."""
    from baypulse.studies.fit.compute import fit
    from baypulse.studies.fit.document import document

    files = expanded([chosen.case])
    if len(files) != 1:
        raise Refused(
            f"{chosen.case} is a rocket of {len(files)} bays, and a shot is of one: name the "
            f"bay's own case file, or {files[0]}"
        )
    new = place(chosen.write, files[0])
    lag = None if chosen.lag is None else value_of("--lag", chosen.lag, "time")
    if lag is not None and not 1e-6 <= lag <= 0.5:
        raise Refused(f'--lag: "{chosen.lag}" is no time constant from 1 us to 0.5 s')
    between = _between(chosen.between)
    measured = _shots(chosen)
    cases = read_cases(files)
    shots = [*measured, *_kept(chosen, files, cases)]
    if not shots:
        raise Refused(
            "nothing was measured: give a record with --trace, --acceleration or --motion, or "
            "numbers with "
            '--shot "peak 11 psi, velocity 9 m/s", or keep the shots beside the case (baypulse '
            "shots)"
        )
    found: list[Fit] = []

    def examine(case: Case, progress: Progress | None) -> Fit:
        found.append(
            fit(case, shots, unknowns=chosen.unknown, lag=lag, between=between,
                sampling=chosen.sample, seed=chosen.seed, workers=chosen.workers,
                progress=progress)
        )  # fmt: skip
        return found[-1]

    told = Study("-fit", document, own=("fit.csv",))
    code = each_case(chosen, cases, files, told, examine)
    if new is not None and code == GOOD:
        put_case(lambda: _new_text(found[0], new), new, aside=chosen.json)
    return code


def _shots(chosen: argparse.Namespace) -> list[MeasuredShot]:
    """Return what was measured, or refuse what is missing."""
    from baypulse.observed.measured import PRESSURE, MeasuredShot, Record, shot

    records: list[Record] = []
    fired = None if chosen.fired is None else value_of("--fired", chosen.fired, "time")
    if chosen.trace is not None:
        from baypulse.case.logs import read_gauge

        gauge = read_gauge(chosen.trace, time=chosen.time_column, pressure=chosen.column)
        records.append(Record(PRESSURE, gauge.time, gauge.pressure, gauge.name, gauge.notes, fired))
    if chosen.motion is not None:
        from baypulse.case.logs.travel import read_travel

        seen = read_travel(chosen.motion, time=chosen.time_column, column=chosen.motion_column)
        records.append(Record(seen.kind, seen.time, seen.values, seen.name, seen.notes, fired))
    records += _loggers(chosen, fired, len(records))
    there = chosen.trace or chosen.motion or chosen.acceleration or chosen.barometer
    needs = (
        ("--column", chosen.column, "--trace", chosen.trace),
        ("--motion-column", chosen.motion_column, "--motion", chosen.motion),
        ("--section", chosen.section, "--acceleration", chosen.acceleration),
        ("--acceleration-column", chosen.acceleration_column, "--acceleration",
         chosen.acceleration),
        ("--range", chosen.reach, "--acceleration", chosen.acceleration),
        ("--barometer-column", chosen.barometer_column, "--barometer", chosen.barometer),
        ("--time-column", chosen.time_column, "--trace", there),
        ("--fired", chosen.fired, "--trace", there),
        ("--between", chosen.between, "--trace", there),
        ("--lag", chosen.lag, "--trace", chosen.trace),
    )  # fmt: skip
    for option, given, other, record in needs:
        if given and not record:
            raise Refused(f"{option} belongs to a record; give the record with {other}")
    shots = [MeasuredShot("recorded shot", tuple(records))] if records else []
    shots += [shot(text, f"shot {k}") for k, text in enumerate(chosen.shot, 1)]
    return shots


def _loggers(chosen: argparse.Namespace, fired: float | None, before: int) -> list[Record]:
    """Return the records of loggers in the sections, and of their barometer."""
    from baypulse.case.logs import read_barometer
    from baypulse.case.logs.travel import GRAVITIES, read_acceleration
    from baypulse.observed.measured import ACCELERATION, BAROMETER, Record

    files, places = chosen.acceleration, chosen.section
    columns = chosen.acceleration_column
    if len(places) != len(files) or len(set(places)) != len(places):
        raise Refused(
            "--section: say of every --acceleration where its logger sat, each section once: "
            "--acceleration FILE --section nose, or airframe; "
            f"{len(files)} --acceleration and {len(places)} --section were given"
        )
    if len(columns) not in (0, 1, len(files)):
        raise Refused("--acceleration-column: give it once for all, or once for each file")
    reach = None
    if chosen.reach is not None:
        number, _, unit = chosen.reach.strip().rpartition(" ")
        # here g is no gram
        text = f"{number} gee" if unit in GRAVITIES else chosen.reach
        try:
            reach = units.parse(text, "acceleration")
        except UnitError:
            raise Refused(
                f'--range: "{chosen.reach}" is no acceleration with its unit; write it as in '
                '--range "16 g"'
            ) from None
    records: list[Record] = []
    clocks = {}
    for k, (file, section) in enumerate(zip(files, places, strict=True)):
        column = columns[k % len(columns)] if columns else None
        seen = read_acceleration(file, time=chosen.time_column, column=column)
        clocks[Path(file).resolve()] = before + k
        records.append(Record(ACCELERATION, seen.time, seen.values, seen.name, seen.notes, fired,
                              section=section, reach=reach))  # fmt: skip
    if chosen.barometer is not None:
        leak = read_barometer(
            chosen.barometer, time=chosen.time_column, pressure=chosen.barometer_column
        )
        name = f"{leak.name}, barometer"
        records.append(Record(BAROMETER, leak.time, leak.pressure, name, leak.notes, fired,
                              clock=clocks.get(Path(chosen.barometer).resolve())))  # fmt: skip
    return records


def _kept(
    chosen: argparse.Namespace, files: Sequence[str], cases: Sequence[Case]
) -> list[MeasuredShot]:
    """Return the shots of the case's file whose numbers were measured."""
    from baypulse.observed.shot_log import measured_shots

    (log,) = logs(chosen, files, cases)
    return [] if log is None else list(measured_shots(log, cases[0]))


def _between(ends: list[str] | None) -> tuple[float, float] | None:
    if ends is None:
        return None
    low, high = (value_of("--between", text, "time") for text in ends)
    if not low < high:
        raise Refused(f'--between: "{ends[0]}" is not before "{ends[1]}"')
    return low, high


def _new_text(found: Fit, new: Path) -> str:
    """Return the text of the case with the answer."""
    from baypulse.case.casefile.fitted_values import with_values
    from baypulse.studies.fit.fitted_case import entries, remarks

    values = entries(found)
    if not values:
        raise Refused(f"--write: {new} is not written, since nothing was learnt")
    return with_values(found.case.source_text, values, remarks(found), new.stem, str(new))[0]
