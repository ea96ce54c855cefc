"""What a case's dimensions give without a run: the free volume and the static hold.

Numbers of the case may be arrays of shape (members,) everywhere
(:class:`baypulse.case.model.Case`); what follows from them then has that shape too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baypulse.case import library
from baypulse.case.model import Case, OtherJoint
from baypulse.physics import pack
from baypulse.physics.atmosphere import standard_atmosphere

Array = np.ndarray

Floats = float | Any
"""A number of a case: a float, or of its members an array of shape (members,). To the type checker
the array is Any, since whoever has a single case knows that a float comes back."""

USUAL_TIGHTNESS = "unknown"
"""Class of tightness of contents of which nobody said how they sit."""

SLOW_PULL = 3.0
"""Time [s] in which a pin's strength is reached when it is pulled by hand or tested for a data
sheet; estimate (ASTM D732 shears at about 1 mm/min, from memory, which is slower still)."""

SHOT_LOADING = 2e-3
"""Time [s] in which a shot loads a pin to its strength; estimate, from runs of the shipped cases,
where it takes 0.7 to 6 ms. A powder that burns slower loads its pins slower: then this counts them
as too strong, on the safe side for a charge."""


def each(function: Callable[..., Any], *numbers: Any) -> Any:
    """Call a function of floats, once for each member where a number scatters."""
    if any(isinstance(number, np.ndarray) for number in numbers):
        return np.vectorize(function)(*numbers)
    return function(*numbers)


def for_each_pin(count: int, number: Any) -> Array:
    """Return a number of the pins with the pins as last axis.

    Parameters
    ----------
    count : int
        Number of pins.
    number : float, ndarray of shape (members,) or (members, count), or tuple of count floats
        The same for all pins, or one for each.

    Returns
    -------
    ndarray, shape (count,) or (members, count)
    """
    array = np.asarray(number, dtype=float)
    if not isinstance(number, tuple) and array.ndim < 2:
        array = array[..., None]
    return np.broadcast_to(array, (*array.shape[:-1], count)).copy()


def side_by_side(numbers: Iterable[Floats]) -> Array:
    """Return k numbers as an array of shape (k,), or (members, k) when one of them scatters."""
    given = list(numbers)
    shape = np.broadcast_shapes(*{getattr(number, "shape", ()) for number in given})
    found = np.empty((*shape, len(given)))
    for k, number in enumerate(given):
        found[..., k] = number
    return found


def any_nonzero(number: Any) -> bool:
    """Say whether a number, or that of any member, is not zero."""
    return bool(number.any() if isinstance(number, np.ndarray) else number)


def first_given(*choices: Any) -> Any:
    """Return the first of several numbers that is neither None nor zero; 0 without any."""
    return next((number for number in choices if number is not None and any_nonzero(number)), 0.0)


@dataclass(frozen=True)
class FreeVolume:
    """The space that the gas fills before anything moves.

    Attributes
    ----------
    parts : dict
        Signed volumes [m^3] by name; they add up to the total.
    total : float
        [m^3].
    """

    parts: dict[str, float]
    total: float

    @property
    def empty(self) -> float:
        """Space [m^3] with nothing packed."""
        return self.total - self.parts.get("contents", 0.0)


@dataclass(frozen=True)
class Hold:
    """The force that holds the joint at rest.

    Attributes
    ----------
    friction, seal, pins : float
        Shares of it [N]; pins is the sum of all of them.
    area : float
        Area the pressure acts on [m^2].
    """

    friction: float
    seal: float
    pins: float
    area: float

    @property
    def total(self) -> float:
        """Whole force [N]."""
        return self.friction + self.seal + self.pins

    @property
    def pressure(self) -> float:
        """Gauge pressure [Pa] whose force on the bore equals the hold, if nothing else acts."""
        return self.total / self.area


def cone_volume(length: Floats, diameter: Floats) -> Floats:
    """Return the volume [m^3] of a cone, pi R^2 L / 3.

    Parameters
    ----------
    length, diameter : float
        [m].
    """
    return math.pi * diameter**2 * length / 12.0


def ellipsoid_volume(length: Floats, diameter: Floats) -> Floats:
    """Return the volume [m^3] of half an ellipsoid of revolution, 2 pi R^2 L / 3.

    Parameters
    ----------
    length, diameter : float
        Half axis and base diameter [m].
    """
    return math.pi * diameter**2 * length / 6.0


def tangent_ogive_volume(length: Floats, diameter: Floats) -> Floats:
    """Return the volume [m^3] of a tangent ogive.

    With the ogive radius rho = (R^2 + L^2) / (2 R), turning the arc
    y(x) = sqrt(rho^2 - x^2) - (rho - R), x from 0 at the base to L, about the axis gives
    V = pi (L rho^2 - L^3/3 - (rho - R) rho^2 asin(L / rho)).

    Parameters
    ----------
    length, diameter : float
        [m]; the length is at least half the diameter, where the ogive is half a sphere.
    """
    radius = 0.5 * diameter
    rho = (radius**2 + length**2) / (2.0 * radius)
    arc = (rho - radius) * rho**2 * np.arcsin(np.minimum(length / rho, 1.0))
    return math.pi * (length * rho**2 - length**3 / 3.0 - arc)


_HOLLOWS = {
    "cone": cone_volume,
    "tangent ogive": tangent_ogive_volume,
    "ellipsoid": ellipsoid_volume,
}


def circle_area(diameter: Floats) -> Floats:
    """Return the area of a circle [m^2]."""
    return 0.25 * math.pi * diameter**2


def bore_area(case: Case) -> Floats:
    """Return the area of the bore [m^2]."""
    return circle_area(case.bay.bore)


def hoop_stress(case: Case, pressure: Floats) -> Floats:
    """Return the hoop stress of the tube [Pa], p D/(2 t) of a thin wall.

    Parameters
    ----------
    case : Case
        The case, or its members.
    pressure : float or ndarray
        Gauge pressure [Pa].
    """
    return pressure * case.bay.bore / (2.0 * case.bay.wall_thickness)


def contents_volume(case: Case) -> Floats:
    """Return the volume [m^3] that the packed contents fill: measured, by density or by length."""
    contents = case.contents
    if contents is None:
        return 0.0
    if contents.volume is not None:
        return contents.volume
    if contents.packing_density is not None:
        return contents.mass / contents.packing_density
    return bore_area(case) * first_given(contents.packed_length)


def packed_length(case: Case) -> Floats:
    """Return the length of tube [m] that the packed contents fill, measured or by their volume."""
    if case.contents is None:
        return 0.0
    return first_given(case.contents.packed_length, contents_volume(case) / bore_area(case))


def tightness(case: Case) -> str:
    """Return the class of the library that says how tightly the packed contents sit."""
    given = None if case.contents is None else case.contents.tightness
    return USUAL_TIGHTNESS if given is None else given


def extraction_force(case: Case) -> Floats:
    """Return the force [N] that pulls the pack out, measured or by their tightness.

    The friction of the class over the wall that the pack touches: tau pi D times packed length.
    """
    if case.contents is None:
        return 0.0
    if case.contents.extraction_force is not None:
        return case.contents.extraction_force
    shear = library.pack(tightness(case), case.materials).shear
    return shear * math.pi * case.bay.bore * packed_length(case)


def pack_voids(case: Case) -> Floats:
    """Return the share of the packed contents' volume that is not fibre, 0 without contents.

    The length of tube that they fill counts, where it was measured: the volume there has the folds
    and channels in it.
    """
    length = packed_length(case)
    if case.contents is None or not any_nonzero(length):
        return 0.0
    density = case.contents.mass / (length * bore_area(case))
    fibre = library.cloth(case.contents.cloth, case.materials).fibre_density
    return each(pack.voids, density, fibre)


def shoulder_bore(case: Case) -> Floats:
    """Return the inside diameter [m] of an open shoulder, 0 when the shoulder is closed.

    An open hollow nose without a measured shoulder has the shoulder as wide as its hollow.
    """
    if case.nose.shape == "closed":
        return 0.0
    return first_given(case.joint.shoulder_bore, case.nose.hollow_diameter)


def free_volume(case: Case) -> FreeVolume:
    """Add up the space open to the gas, and what takes space away.

    Parameters
    ----------
    case : Case
        The case; its dimensions need not be consistent, so the total may be negative.

    Returns
    -------
    FreeVolume
        A closed shoulder takes the bore over the engaged length; an open one gives back its
        inside. A charge holder is a space of its own and takes its volume.
    """
    area = bore_area(case)
    stroke = case.joint.shoulder_length
    parts = {"tube": area * case.bay.tube_length}
    if any_nonzero(case.bay.coupler_intrusion):
        parts["coupler"] = -area * case.bay.coupler_intrusion
    parts["shoulder"] = (circle_area(shoulder_bore(case)) - area) * stroke
    if case.nose.shape != "closed":
        hollow = _HOLLOWS[case.nose.shape]
        length, diameter = case.nose.hollow_length, case.nose.hollow_diameter
        # a case that is only being checked may lack them
        parts["nose hollow"] = hollow(first_given(length), first_given(diameter, 1e-9))
    if any_nonzero(case.bay.extra_volume):
        parts["extra"] = case.bay.extra_volume
    if case.contents is not None:
        parts["contents"] = -contents_volume(case)
    if case.holder is not None:
        parts["holder"] = -case.holder.volume
    return FreeVolume(parts, sum(parts.values()))


def air(case: Case) -> tuple[float, float]:
    """Return pressure [Pa] and temperature [K] of the air: as measured, else the standard's."""
    pressure, temperature = each(standard_atmosphere, case.surroundings.altitude)
    measured = case.surroundings
    return (
        pressure if measured.pressure is None else measured.pressure,
        temperature if measured.temperature is None else measured.temperature,
    )


def powder_temperature(case: Case) -> Floats:
    """Return the temperature of the powder when it is lit [K]: as the case says, else the air's.

    Parameters
    ----------
    case : Case
        The case, or its members.
    """
    typed = None if case.powder is None else case.powder.temperature
    return air(case)[1] if typed is None else typed


def pin_strengths(case: Case) -> Array:
    """Return the strength of every pin in a slow pull [N], measured or from the library.

    It is the one to count on where pins must hold, and the one that people measure; what a shot
    must break is stronger by :func:`rate_gain`.

    F = tau pi d_root^2 / 4 (1 + a (T - T_ref)) (1 + b (w - w_ref)), with neither bracket below 0.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    ndarray, shape (pins,) or (members, pins)
        Empty without pins.
    """
    pins = case.pins
    if pins is None:
        return np.zeros(0)
    if pins.strength is not None:
        return for_each_pin(pins.count, pins.strength)
    material = library.pin_material(pins.material, case.materials)
    root = library.thread(pins.thread, case.materials).root_diameter
    temperature = air(case)[1]
    warm = 1.0 + material.temperature_slope * (temperature - material.reference_temperature)
    wet = 1.0 + material.moisture_slope * (pins.moisture - material.reference_moisture)
    factors = (material.shear_strength, root**2, np.maximum(warm, 0.0), np.maximum(wet, 0.0))
    stress, square, by_warmth, by_water = (for_each_pin(pins.count, f) for f in factors)
    return stress * 0.25 * math.pi * square * by_warmth * by_water


def pin_strength(case: Case) -> float:
    """Return the strength of one pin [N], of the weakest where they differ; 0 without pins."""
    return float(pin_strengths(case).min(initial=math.inf)) if case.pins is not None else 0.0


def rate_gain(case: Case) -> Floats:
    """Return how many times stronger a pin is in a shot than in a slow pull.

    1 + a log10(t_pull/t_shot), with a the gain per decade of loading rate: the yield stress of
    polymers rises with the logarithm of the rate (Eyring, J. Chem. Phys. 4 (1936) 283, from
    memory; 1e-4 to 1e3 1/s here). A strength that was measured slowly gains as the library's does.

    A shot that loads its pins in 1 or 10 ms instead of 2 has 9 % more or 22 % less of the gain,
    far within the spread of a. In the 76 mm bench bay the gain of 24 % raises the peak by 5 % and
    the least charge that separates by two fifths.

    Parameters
    ----------
    case : Case
        The case, or its members.

    Returns
    -------
    float or ndarray of shape (members,)
        1 without pins.
    """
    if case.pins is None:
        return 1.0
    slope = library.pin_material(case.pins.material, case.materials).rate_strengthening
    return 1.0 + slope * math.log10(SLOW_PULL / SHOT_LOADING)


def shot_pin_strengths(case: Case) -> Array:
    """Return the strength of every pin in a shot [N]: what the gas must break.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    ndarray, shape (pins,) or (members, pins)
        Empty without pins.
    """
    slow = pin_strengths(case)
    return slow if case.pins is None else slow * for_each_pin(case.pins.count, rate_gain(case))


def static_friction(case: Case) -> Floats:
    """Return the force [N] that starts the joint without pins, measured or from the fit."""
    joint = case.joint
    if joint.pull_off is not None:
        return joint.pull_off
    if joint.fit is None:
        return 0.0
    shear = library.fit(joint.fit, case.materials).shear
    return shear * math.pi * case.bay.bore * joint.shoulder_length


def felt_share(case: Case, joint: OtherJoint) -> Floats:
    """Return the share of the cord's load that a joint which is still closed must carry.

    The cord slows the whole section m; the part m_b beyond the joint is slowed through the joint
    alone, with m_b a = F m_b/m. The packed contents are not counted in m: whether they hang on
    the cord or lie in the tube at that moment, to leave them out gives the higher share.

    Parameters
    ----------
    case : Case
        The bay that separates, or its members.
    joint : OtherJoint
        One of the case's.

    Returns
    -------
    float or ndarray of shape (members,)
        Below 1 in a case without problems.
    """
    section = case.nose.mass if joint.side == "nose" else case.airframe.mass
    return joint.mass / section


def static_hold(case: Case) -> Hold:
    """Return what holds the joint against a slow pull.

    What a quick load finds stronger is left out: on the safe side for a joint that must hold.

    Parameters
    ----------
    case : Case
        The case.
    """
    return Hold(
        friction=static_friction(case),
        seal=case.joint.seal_drag,
        pins=pin_strengths(case).sum(axis=-1),
        area=bore_area(case),
    )


def shot_hold(case: Case) -> Hold:
    """Return what holds the joint in a shot, whose pins are loaded in milliseconds.

    Parameters
    ----------
    case : Case
        The case.
    """
    return replace(static_hold(case), pins=shot_pin_strengths(case).sum(axis=-1))
