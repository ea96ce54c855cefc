"""The chapters of a review: each asks one study of each bay, or of the whole rocket."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from baypulse.case.logs import Flight
from baypulse.case.model import Case
from baypulse.case.rocket import Rocket, RocketBay
from baypulse.errors import BaypulseError
from baypulse.members.blocks import Progress
from baypulse.show.document import Document

if TYPE_CHECKING:
    from baypulse.observed.build_weights import WeighedBuilds
    from baypulse.observed.shot_log import ShotLog
    from baypulse.studies.window.result import Window

NO_ALTITUDE = (
    'No altitude of a flight is known: give one above sea level, such as --altitude "3 km", or '
    "[ascent] in the case, or a logger's file with --log"
)
"""Why a charge is not followed to altitude."""

NO_OTHER_JOINT = (
    "Only one bay was given, so no other joint is known: put the bays into a rocket file, a "
    "[[bays]] table with name and case for each in the order in which they fire, and give that file"
)
"""Why no joints are held against each other."""


class Asked(NamedTuple):
    """What a review is asked.

    Attributes
    ----------
    wanted : float
        Target chance of separation.
    altitudes : tuple of float
        Where the charges are fired [m above sea level]; the apogee of the flight where empty.
    members : int or None
        Shots behind each answer; each study's own number when None.
    seed, workers : int
        As of every study.
    flight : callable
        From a case to its logged flight, or None.
    learnt : callable
        From a case to what its shots teach, or None.
    """

    wanted: float
    altitudes: tuple[float, ...]
    members: int | None
    seed: int
    workers: int
    flight: Callable[[Case], Flight | None]
    learnt: Callable[[Case, Progress | None], WeighedBuilds | None]


class BayEntry(NamedTuple):
    """What a chapter says of a bay: a document, or a sentence on what is missing for it.

    Attributes
    ----------
    bay : str
        Its name; empty for the whole rocket.
    told : Document or str
        The document; else what is missing, and how to add it.
    """

    bay: str
    told: Document | str


class Chapter(NamedTuple):
    """A chapter.

    Attributes
    ----------
    name : str
        In files, a word.
    title : str
        Its heading.
    entries : tuple of BayEntry
        A bay each, in the order in which they fire, or the rocket.
    """

    name: str
    title: str
    entries: tuple[BayEntry, ...]


class Review(NamedTuple):
    """All chapters, how many bays have a ground-test charge, and the logged shots by bay."""

    rocket: Rocket
    chapters: tuple[Chapter, ...]
    charged: int
    asked: Asked
    shots: Mapping[str, ShotLog]


SCATTERED = 4096
"""Shots behind what decides, unless a number is asked for: enough for the order of the inputs."""

Maker = Callable[[RocketBay], Document]


def of_one_bay(case: Case) -> Rocket:
    """Return a case as a rocket with that bay alone."""
    bay = RocketBay(name=case.name, case=case, plain=case, fore_drag_area=None)
    return Rocket(
        name=case.name, title=case.title, note=case.note, bays=(bay,), coast=None, source_text=""
    )


def review(rocket: Rocket, asked: Asked, progress: Progress | None = None) -> Review:
    """Ask every study of every bay.

    Parameters
    ----------
    rocket : Rocket
        From :func:`baypulse.case.casefile.rocket_reader.read_rocket` or :func:`of_one_bay`.
    asked : Asked
        What is asked.
    progress : callable, optional
        Told the answers that are there, and of how many.
    """
    windows = _Windows(asked)
    makers: tuple[tuple[str, str, Maker], ...] = (
        ("window", "Charge windows", windows.document),
        ("run", "One run at the charge of the case", _run),
        ("plan", "Ground-test plans", windows.plan),
        ("cord", "Cords", lambda bay: _cord(bay, asked)),
        ("joints", "Joints: what one opening does to the others", lambda _: _joints(rocket, asked)),
        ("ascent", "Ascent: trapped air and drag", lambda bay: _ascent(bay, asked)),
        ("altitude", "Altitude: what the ground test proves of it", lambda bay: _aloft(bay, asked)),
        ("decides", "What decides", lambda bay: _scatter(bay, asked)),
    )
    whole = ("joints",)
    steps = sum(1 if name in whole else len(rocket.bays) for name, _, _ in makers)
    chapters: list[Chapter] = []
    done = 0
    for name, title, make in makers:
        entries = []
        for bay in rocket.bays[: 1 if name in whole else None]:
            entries.append(BayEntry("" if name in whole else bay.name, _told(make, bay)))
            done += 1
            if progress is not None:
                progress(done, steps)
        chapters.append(Chapter(name, title, tuple(entries)))
    charged = sum(found.recommended is not None for found in windows.found.values())
    shots = {bay: learnt.log for bay, learnt in windows.shots.items() if learnt is not None}
    return Review(rocket, tuple(chapters), charged, asked, shots)


def _told(make: Maker, bay: RocketBay) -> Document | str:
    """Return a document, or why there is none."""
    try:
        return make(bay)
    except BaypulseError as error:
        return str(error)


class _Windows:
    """The windows of all bays, each looked for once."""

    def __init__(self, asked: Asked) -> None:
        self.asked = asked
        self.found: dict[str, Window] = {}
        self.shots: dict[str, WeighedBuilds | None] = {}

    def document(self, bay: RocketBay) -> Document:
        from baypulse.studies.window.compute import window
        from baypulse.studies.window.document import document

        asked = self.asked
        self.shots[bay.name] = asked.learnt(bay.case, None)
        self.found[bay.name] = window(
            bay.case, wanted=asked.wanted, members=asked.members, seed=asked.seed,
            workers=asked.workers, learnt=self.shots[bay.name],
        )  # fmt: skip
        return document(self.found[bay.name])

    def plan(self, bay: RocketBay) -> Document:
        from baypulse.members.parts import StudyError
        from baypulse.studies.plan.compute import plan
        from baypulse.studies.plan.document import document

        if bay.name not in self.found:
            raise StudyError(f"{bay.case.name}: no plan is written, since no window was found")
        asked = self.asked
        return document(
            plan(
                bay.case, wanted=asked.wanted, members=asked.members, seed=asked.seed,
                workers=asked.workers, learnt=self.shots[bay.name], found=self.found[bay.name],
            )
        )  # fmt: skip


def _run(bay: RocketBay) -> Document:
    from baypulse.run.simulation import simulate
    from baypulse.studies.run.document import document

    return document(simulate(bay.case))


def _cord(bay: RocketBay, asked: Asked) -> Document:
    from baypulse.studies.cord.compute import cord
    from baypulse.studies.cord.document import document

    return document(cord(bay.case, seed=asked.seed, workers=asked.workers))


def _joints(rocket: Rocket, asked: Asked) -> Document:
    from baypulse.members.parts import StudyError
    from baypulse.studies.joints.compute import MEMBERS, joints
    from baypulse.studies.joints.document import document

    if len(rocket.bays) < 2:
        raise StudyError(NO_OTHER_JOINT)
    return document(
        joints(
            rocket, members=asked.members or MEMBERS, seed=asked.seed, workers=asked.workers
        )
    )  # fmt: skip


def _ascent(bay: RocketBay, asked: Asked) -> Document:
    from baypulse.observed.flight_profile import profile
    from baypulse.studies.ascent.compute import ascent
    from baypulse.studies.ascent.document import document

    return document(ascent(bay.case, profile(bay.case, asked.flight(bay.case)), seed=asked.seed))


def _aloft(bay: RocketBay, asked: Asked) -> Document:
    from baypulse.studies.aloft.compute import MEMBERS, answer
    from baypulse.studies.aloft.document import document

    altitudes = asked.altitudes or _apogee(bay.case, asked)
    known = answer(
        bay.case, altitudes, wanted=asked.wanted, members=asked.members or MEMBERS,
        seed=asked.seed, workers=asked.workers,
    )  # fmt: skip
    return document(known.whole(None))


def _apogee(case: Case, asked: Asked) -> Sequence[float]:
    """Return the highest altitude of a bay's flight [m above sea level]."""
    from baypulse.members.parts import StudyError
    from baypulse.observed.flight_profile import profile

    flight = asked.flight(case)
    if flight is not None or case.ascent is not None:
        found = profile(case, flight)
        return (float(found.altitude[found.apogee]),)
    if case.setting.kind == "flight" and case.surroundings.altitude > 0.0:
        return (case.surroundings.altitude,)
    raise StudyError(NO_ALTITUDE)


def _scatter(bay: RocketBay, asked: Asked) -> Document:
    from baypulse.studies.scatter.compute import scatter
    from baypulse.studies.scatter.document import document

    found = scatter(
        bay.case, members=asked.members or SCATTERED, seed=asked.seed, workers=asked.workers
    )
    return document(found, kept=False)
