"""What a study of a rocket's joints gives: plain numbers, ready for figures, pages and files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.model import Case
from baypulse.case.rocket import Rocket
from baypulse.members.chances import Chance
from baypulse.run.result import Parachute, Verdict
from baypulse.studies.joints.jerk_separation import Parting


@dataclass(frozen=True)
class JerkChange:
    """One change, and what it does to a joint that is jerked at; of runs without scatter.

    Attributes
    ----------
    words : str
        Such as ``"a cord half as long again"``.
    cord_load : float
        Highest load of the cord [N]; 0 where it does not pull.
    hold : float
        What holds the joint [N].
    factor : float or None
        Times the load's curve at which the joint lets go; None where nothing does it.
    verdict : Verdict
        Of the bay that separates, with the change.
    contents : Parachute
        The same.
    aside : str
        What the change does elsewhere, a sentence; may be empty.
    """

    words: str
    cord_load: float
    hold: float
    factor: float | None
    verdict: Verdict
    contents: Parachute
    aside: str = ""


@dataclass(frozen=True)
class Jerk:
    """An opening's jerk on one joint that is still closed.

    Attributes
    ----------
    joint : str
        Name of its bay.
    side : str
        Section of the opening bay that it belongs to: ``"nose"`` or ``"airframe"``.
    beyond, section : float
        Mass that hangs on the joint, and mass of the section [kg].
    felt : float
        Share of the cord's highest load, as if put on slowly [N].
    sudden : float
        Factor that is assumed for a sudden load.
    friction, pins : float
        What holds [N]: static friction with seal, and all pins.
    pin_count : int
        Pins of the joint.
    parting : Parting
        What the load's own curve does to it.
    lets_go, comes_out : float or None
        Times that curve at which the pins let go (a joint without pins comes out), and at which
        the shoulder comes out.
    chances : tuple of Chance
        That the joint lets go, by the share of the load alone, by the motion under the curve, and
        by the assumed factor; the load and all that holds scatter.
    checked, agreed : int
        Members whose own curve was followed, and for how many of them it says the same.
    changes : tuple of Change
        What would help, the best first.
    """

    joint: str
    side: str
    beyond: float
    section: float
    felt: float
    sudden: float
    friction: float
    pins: float
    pin_count: int
    parting: Parting
    lets_go: float | None
    comes_out: float | None
    chances: tuple[Chance, ...]
    checked: int
    agreed: int
    changes: tuple[JerkChange, ...]

    @property
    def share(self) -> float:
        """Share of the cord's load that the joint feels."""
        return self.beyond / self.section

    @property
    def hold(self) -> float:
        """What holds [N]."""
        return self.friction + self.pins

    @property
    def dynamic_factor(self) -> float | None:
        """How much harder the jerk works than its peak put on slowly: hold over felt at parting."""
        return None if not self.lets_go else self.hold / (self.lets_go * self.felt)


@dataclass(frozen=True)
class BayOpening:
    """One bay's opening, and its jerks on the joints that are still closed.

    Attributes
    ----------
    name : str
        Of the bay.
    case : Case
        With the other joints.
    verdict, own_verdict : Verdict
        Of the run without scatter; ``own_verdict`` leaves the other joints out.
    contents : Parachute
        The same.
    times, loads : ndarray, shape (n,)
        The cord's load [s], [N], as long as it pulls.
    cord_load : float
        Its highest [N]; 0 where the cord does not pull.
    jerks : tuple of Jerk
        Empty for the last bay, and where the cord does not pull.
    """

    name: str
    case: Case
    verdict: Verdict
    own_verdict: Verdict
    contents: Parachute
    times: np.ndarray
    loads: np.ndarray
    cord_load: float
    jerks: tuple[Jerk, ...]


@dataclass(frozen=True)
class Drag:
    """What drag does to one joint during coast.

    Attributes
    ----------
    name : str
        Of the bay.
    fore_mass, aft_mass : float
        Ahead of the joint and behind it [kg].
    fore_drag, aft_drag : float
        Drag on either [N].
    force : float
        That pulls the joint apart [N]; below zero it presses it together.
    friction, pins : float
        What holds [N].
    gives_at : float or None
        Airspeed at which it would just part [m/s]; None where drag presses it together.
    chance : Chance
        That it parts, with the scatter of what holds.
    """

    name: str
    fore_mass: float
    aft_mass: float
    fore_drag: float
    aft_drag: float
    force: float
    friction: float
    pins: float
    gives_at: float | None
    chance: Chance

    @property
    def hold(self) -> float:
        """What holds [N]."""
        return self.friction + self.pins


@dataclass(frozen=True)
class Joints:
    """Every joint of a rocket against the jerks of the openings and the drag of the coast.

    Attributes
    ----------
    rocket : Rocket
        The rocket.
    openings : tuple of Opening
        In the order in which they fire.
    density, deceleration : float
        Of the air [kg/m^3], and by drag alone [m/s^2], at the start of the coast; NaN without one.
    drags : tuple of Drag
        Of each joint, from the tip; empty without a coast.
    members, seed : int
        Behind the chances.
    runs : int
        Runs of the engine that it took.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    """

    rocket: Rocket
    openings: tuple[BayOpening, ...]
    density: float
    deceleration: float
    drags: tuple[Drag, ...]
    members: int
    seed: int
    runs: int
    warnings: tuple[str, ...]

    @property
    def name(self) -> str:
        """Name of the rocket, by which its report goes."""
        return self.rocket.name
