"""A rocket: several bays of one airframe, in the order in which they fire.

The dataclasses of the file are read like those of a case (:mod:`baypulse.case.model`).
"""

from __future__ import annotations

from dataclasses import dataclass

from baypulse.case.model import Case
from baypulse.case.spec import number, text


@dataclass(frozen=True, kw_only=True)
class NamedBay:
    """A bay of the rocket and its case file, in the order in which the bays fire."""

    name: str = text("what it is called", "drogue")
    case: str = text("its case file, from the folder of this file, with / on all systems",
                     "../main-98.toml")  # fmt: skip
    fore_drag_area: float | None = number(
        "area", "drag area Cd A of everything ahead of this bay's joint, for [coast]", 1e-7, 10.0,
        "12 cm^2", None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Coast:
    """The rocket without thrust at its fastest, where drag pulls the joints apart."""

    speed: float = number("velocity", "airspeed at burnout", 1.0, 2000.0, "700 ft/s")
    altitude: float = number("length", "altitude above sea level then", -500.0, 80e3, "900 m")
    drag_area: float = number("area", "drag area Cd A of the whole rocket", 1e-7, 10.0, "45 cm^2")


@dataclass(frozen=True, kw_only=True)
class RocketFile:
    """What a rocket file says.

    ``name`` is the name of the file.
    """

    title: str = text("one line that says what this is", "98 mm rocket, drogue and main")
    note: str = text("anything worth keeping with the rocket", "", "")
    bays: tuple[NamedBay, ...]
    coast: Coast | None = None


@dataclass(frozen=True, kw_only=True)
class RocketBay:
    """A bay that was read.

    Attributes
    ----------
    name : str
        In the rocket.
    case : Case
        Its case, with the joints that are still closed when it separates in ``other_joints``.
    plain : Case
        Its case as its own file has it.
    fore_drag_area : float or None
        Cd A of everything ahead of its joint [m^2].
    """

    name: str
    case: Case
    plain: Case
    fore_drag_area: float | None


@dataclass(frozen=True, kw_only=True)
class Rocket:
    """Several bays of one airframe.

    Attributes
    ----------
    name, title, note : str
        Of the file.
    bays : tuple of RocketBay
        In the order in which they fire.
    coast : Coast or None
        Where drag pulls hardest, if the file says so.
    source_text : str
        The file as it was read.
    """

    name: str
    title: str
    note: str
    bays: tuple[RocketBay, ...]
    coast: Coast | None
    source_text: str
