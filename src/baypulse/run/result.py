"""What a run gives: curves, events, numbers, budget, verdict."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from baypulse.case.model import Case

if TYPE_CHECKING:  # the engine takes long to load
    from baypulse.engine.status import Status


class _Coded(StrEnum):
    """A word of an answer; arrays of members hold its code."""

    @property
    def code(self) -> int:
        """Place in the list of all of them."""
        return list(type(self)).index(self)


class Verdict(_Coded):
    """What became of the joint."""

    NO_SEPARATION = "no separation"
    PARTIAL_SEPARATION = "partial separation"
    SEPARATES = "separates"
    SEPARATES_TOO_HARD = "separates too hard"
    UNDECIDED = "undecided"

    @property
    def separated(self) -> bool:
        """Whether the shoulder left the tube."""
        return self in (Verdict.SEPARATES, Verdict.SEPARATES_TOO_HARD)


VERDICTS = tuple(Verdict)
"""The verdicts by their codes."""


class Parachute(_Coded):
    """What became of the packed parachute; asked where the case has them and a cord."""

    NOT_ASKED = "not asked"
    COMES_OUT = "comes out"
    STAYS_IN = "stays in"


@dataclass(frozen=True)
class Curve:
    """One quantity against time.

    Attributes
    ----------
    name : str
        Attribute of the result that gives the values.
    label : str
        What people call it.
    unit : str
        SI unit of the values.
    dimension : str
        Dimension, for showing it in other units.
    values : ndarray, shape (n,)
        One a point of :attr:`Result.time`.
    """

    name: str
    label: str
    unit: str
    dimension: str
    values: np.ndarray


class EventKind(StrEnum):
    """What can happen in a run, in the words that people read; braces stand for a number."""

    START = "start"
    BURST = "holder bursts"
    MERGE = "level with the bay"
    BURNOUT = "burnt out"
    FLAME = "all grains alight"
    PEAK = "pressure peak"
    SLIP = "joint slips"
    STOP = "joint stops"
    SEAT = "joint seated"
    CLEAR = "clear"
    STAND_SLIP = "stand slips"
    STAND_STOP = "stand stops"
    PIN_BEARS = "pin {} bears"
    PIN_FAILS = "pin {} fails"
    PIN_GONE = "pin {} gone"
    GAS_OVER = "gas over"
    AHEAD_OVER = "open ahead of the contents"
    PICKUP = "contents picked up"
    EMERGE = "contents at the lip"
    CONTENTS_OUT = "parachute out"
    CONTENTS_SLIP = "contents slide"
    CONTENTS_STOP = "contents stop"
    BACKSTOP = "contents at the bulkhead"
    CONTACT = "contents meet the nose"
    RELEASE = "contents left behind"
    BRAKE_TEARS = "brake {} tears"
    BRAKE_TORN = "brake {} torn"
    TAUT = "cord taut"
    CORD_PEAK = "cord peak"
    CORD_SLACK = "cord slack"
    RETURN = "sections come to rest"
    IDLE = "pressure spent"

    @property
    def of_pin(self) -> bool:
        """Whether it happens to one pin."""
        return self in (EventKind.PIN_BEARS, EventKind.PIN_FAILS, EventKind.PIN_GONE)


@dataclass(frozen=True)
class Event:
    """Something that happened.

    Attributes
    ----------
    kind : EventKind
        What.
    number : int or None
        Of the pin, or of the stage of the brake, from 1.
    time : float
        [s].
    travel, gauge_pressure, velocity : float
        Then: travel [m], bay gauge pressure [Pa], separation velocity [m/s].
    """

    kind: EventKind
    number: int | None
    time: float
    travel: float
    gauge_pressure: float
    velocity: float

    @property
    def name(self) -> str:
        """What people read, such as ``"clear"`` or ``"pin 2 fails"``."""
        return self.kind.format(self.number)


@dataclass(frozen=True)
class Check:
    """A value against a limit.

    Attributes
    ----------
    name : str
        What is compared.
    value, limit : float
        SI.
    dimension : str
        Of both.
    must : str
        ``"exceed"`` (a threshold to overcome) or ``"stay below"`` (a strength).
    """

    name: str
    value: float
    limit: float
    dimension: str
    must: str

    @property
    def margin(self) -> float:
        """How many times over the check is met: above 1 is good, whatever its direction."""
        if self.must == "exceed":
            return self.value / self.limit if self.limit > 0.0 else float("inf")
        return self.limit / self.value if self.value > 0.0 else float("inf")

    @property
    def met(self) -> bool:
        """Whether it is met."""
        return self.margin >= 1.0


@dataclass(frozen=True)
class Budget:
    """Where the charge's energy went, by the end of the run.

    Attributes
    ----------
    total : float
        Energy of the charge above ambient temperature [J].
    terms : dict
        Shares of it [J], by name; they add up to the total. A term may be negative, such as the
        energy that air drawn in from outside brings.
    gas_residual, motion_residual : float
        What is missing in the balance of the gas, and in that of the motion [J].
    mass_residual : float
        What is missing in the balance of the masses [kg].
    """

    total: float
    terms: dict[str, float]
    gas_residual: float
    motion_residual: float
    mass_residual: float


@dataclass(frozen=True)
class Breakdown:
    """From the static rule's pressure to the transient one, term by term.

    Attributes
    ----------
    steps : tuple of (str, float)
        Label and gauge pressure [Pa] after each step; the first is the static rule's, the last
        the run's peak.
    held_peak : float
        Peak gauge pressure [Pa] had the joint been held shut.
    """

    steps: tuple[tuple[str, float], ...]
    held_peak: float


@dataclass(frozen=True)
class RuleOf:
    """The static rule's answers for one reading of the volume.

    Attributes
    ----------
    volume : float
        [m^3].
    promised_pressure : float
        Gauge pressure [Pa] that the rule promises for this charge.
    target_mass, needed_mass : float
        Powder [kg] for the target alone, and with the pins over the bore; NaN for cold gas.
    """

    volume: float
    promised_pressure: float
    target_mass: float
    needed_mass: float


@dataclass(frozen=True)
class StaticRule:
    """The static rule's answers, in both ways in which the volume is read.

    Attributes
    ----------
    area : float
        Bore area [m^2].
    target_pressure, target_force : float
        What was asked of it [Pa], and the force of that on the bore [N].
    needed_pressure : float
        Target plus the pins over the bore [Pa].
    empty : RuleOf
        The empty-bay rule, which the trade uses: tube less shoulder and coupler, pack and all.
    free : RuleOf
        The free-volume rule: less the pack.
    """

    area: float
    target_pressure: float
    target_force: float
    needed_pressure: float
    empty: RuleOf
    free: RuleOf


@dataclass(frozen=True)
class Numbers:
    """The numbers of a run, SI; None where the thing did not happen.

    Attributes
    ----------
    peak_pressure, peak_time : float
        Highest gauge pressure of the bay [Pa], and when [s].
    slip_pressure, pin_pressure : float
        Gauge pressures [Pa] that overcome friction and seal, and these with all pins, as strong
        as they are in a shot (:func:`baypulse.case.geometry.rate_gain`).
    clear_time, clear_velocity, clear_energy : float or None
        When the shoulder left the tube [s], separation velocity [m/s], and kinetic energy of
        the parting, with the reduced mass [J].
    greatest_velocity : float or None
        Greatest separation velocity of a shot that separates [m/s]: the gas still pushes a little
        after the shoulder is clear.
    greatest_travel : float
        Of the shoulder [m].
    burnt : float
        Share of the charge that burnt.
    cord_load, cord_time, cord_strength, velocity_after_jerk : float or None
        Peak cord load, its brake's or its own when taut [N], when [s], strength of the weakest
        link [N], speed at which the sections come back [m/s].
    weakest_link : str
        Its name.
    hoop_stress : float
        In the tube at peak pressure, p D/(2 t) [Pa].
    hottest_gas : float
        Highest temperature of the hot zone [K].
    electronics_pulse : float or None
        Highest gauge pressure in the electronics bay [Pa].
    brake_energy : tuple of float
        Taken by each stage of the cord's brake: its force times the travel in it [J].
    """

    peak_pressure: float
    peak_time: float
    slip_pressure: float
    pin_pressure: float
    clear_time: float | None
    clear_velocity: float | None
    clear_energy: float | None
    greatest_velocity: float | None
    greatest_travel: float
    burnt: float
    cord_load: float | None
    cord_time: float | None
    cord_strength: float | None
    velocity_after_jerk: float | None
    weakest_link: str
    hoop_stress: float
    hottest_gas: float
    electronics_pulse: float | None
    brake_energy: tuple[float, ...] = ()


@dataclass(repr=False)
class Result:
    """Everything about one run.

    Curves are attributes: ``result.gauge_pressure`` is an array in SI, one value a point of
    ``result.time``; :attr:`curves` lists them all. ``result.quantity("gauge_pressure", "psi")``
    gives a pint quantity.

    Attributes
    ----------
    case : Case
        What was run.
    status : Status
        How the run ended (:mod:`baypulse.engine.status`).
    message : str
        The same as a sentence.
    verdict : Verdict
        What became of the joint.
    contents : Parachute
        What became of the packed parachute.
    tears_wall : bool
        Whether the tube tears at the pin holes before the pins shear.
    reasons : list of str
        Sentences that explain the verdict.
    curves : dict of str to Curve
        By name.
    events : list of Event
        In order of time.
    numbers : Numbers
        Peaks, velocities, loads.
    budget : Budget
        Where the energy went.
    rule : StaticRule
        The static rule beside it.
    steps : int
        Steps that the solver tried.
    limit_checks : list of Check
        Values against strengths; :attr:`checks` adds the thresholds to overcome.
    """

    case: Case
    status: Status
    message: str
    verdict: Verdict
    contents: Parachute
    tears_wall: bool
    reasons: list[str]
    curves: dict[str, Curve]
    events: list[Event]
    numbers: Numbers
    budget: Budget
    rule: StaticRule
    steps: int
    limit_checks: list[Check]
    make_breakdown: Callable[[], Breakdown]

    @cached_property
    def breakdown(self) -> Breakdown:
        """From the static rule to the transient peak; costs a few more runs, made once."""
        return self.make_breakdown()

    @cached_property
    def checks(self) -> list[Check]:
        """Thresholds to overcome (by the pressure of the held joint) and limits to stay below."""
        held = self.breakdown.held_peak
        needed = [Check("friction", held, self.numbers.slip_pressure, "gauge pressure", "exceed")]
        if self.case.pins is not None:
            needed.append(
                Check("friction and pins", held, self.numbers.pin_pressure, "gauge pressure",
                      "exceed")
            )  # fmt: skip
        return needed + self.limit_checks

    @property
    def good(self) -> bool:
        """Whether the solver came to a proper end."""
        return self.status.good

    @property
    def time(self) -> np.ndarray:
        """Time of each point [s], shape (n,); both sides of a jump are kept."""
        return self.curves["time"].values

    def __getattr__(self, name: str) -> np.ndarray:
        """Give a curve's values by its name."""
        curves = self.__dict__.get("curves", {})
        if name in curves:
            return curves[name].values
        near = difflib.get_close_matches(name, list(curves), 3)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise AttributeError(f"a result has no {name!r}{hint}")

    def __repr__(self) -> str:
        """Say in one line what came out."""
        peak = self.numbers.peak_pressure / 1e3
        return (
            f"<Result {self.case.name}: {self.verdict}, parachute {self.contents}, "
            f"peak {peak:.3g} kPa gauge, {self.status}>"
        )

    def _repr_html_(self) -> str | None:
        """Show the verdict, the key numbers and the pressure curve in a notebook."""
        return _SHOWN_BY[-1](self) if _SHOWN_BY else None

    def event(self, kind: EventKind | str) -> Event | None:
        """Return the first event of a kind, or of a name such as ``"pin 2 fails"``, or None."""
        return next((e for e in self.events if kind in (e.kind, e.name)), None)

    def quantity(self, name: str, unit: str | None = None) -> Any:
        """Return a curve as a pint quantity.

        Parameters
        ----------
        name : str
            Name of a curve.
        unit : str, optional
            Unit to give it in, such as ``"psi"``; SI when left out.

        Raises
        ------
        AttributeError
            For an unknown curve.
        """
        from baypulse.case import units

        values = getattr(self, name)
        return units.quantity(values, self.curves[name].unit, unit)


_SHOWN_BY: list[Callable[[Result], str]] = []


def show_in_notebooks(view: Callable[[Result], str]) -> None:
    """Set what shows a result in a notebook; whatever draws it stands above this module.

    Parameters
    ----------
    view : callable
        From a result to HTML.
    """
    _SHOWN_BY[:] = [view]
