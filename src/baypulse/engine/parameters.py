"""What the compiled core is given: floats and arrays, in SI, absolute pressures.

:class:`Parameters` is what Python builds and changes. The core gets it packed into one record
(:func:`pack`): a pointer instead of some two hundred words a call, and no counting of references
to arrays, which together made the right-hand side several times slower.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, NamedTuple, get_type_hints

import numpy as np

from baypulse.engine.balance import Balance
from baypulse.engine.event import COMMON_EVENTS

Array = np.ndarray

OUTSIDE = -1
"""Index of the surroundings where a volume is asked for."""

ALWAYS = 0
"""Kind of opening: open from the start."""
FROM_SOURCE = 1
"""Kind of opening: open once the holder has burst or the valve has opened."""
ANNULUS = 2
"""Kind of opening: the growing gap of the parted joint."""
SLOT = 3
"""Kind of opening: a thin slot of fixed length (:mod:`baypulse.physics.slot`)."""
SHOULDER = 4
"""Kind of opening: the gap around the shoulder, as long as what of it is still in the tube."""
ROUND = 5
"""Kind of opening: the gap round the contents."""
PAST = 6
"""Kind of opening: the same once what is ahead of the contents is level with the outside."""
LIP = 7
"""Kind of opening: the growing gap behind contents that have left the tube."""
PORES = 8
"""Kind of opening: through half the contents."""
PORES_OUT = 9
"""Kind of opening: through their front half once that faces the outside."""

NEVER = 1e30
"""A travel that is never reached and a force that nothing overcomes."""

VOLUMES_AT = 9
"""Index of the first volume's state, after burning and motion."""

PER_VOLUME = 8
"""States of a volume (:mod:`baypulse.engine.layout`)."""

PER_OPENING = 5
"""Diagnostic states of an opening."""

PER_SURFACE = 2
"""Diagnostic states of a surface: heat taken, salts settled."""


class Parameters(NamedTuple):
    """One shot, as numbers.

    Attributes
    ----------
    p_ambient, T_ambient : float
        Surroundings [Pa], [K].
    gas : tuple of float
        R, c0, c1 of the gas of the charge's products, then of air.
    condensed_share, condensed_heat : float
        Share of the products' mass that is condensed, and its heat capacity [J/kg/K].
    covolume : float
        Of the products [m^3/kg].
    volume : ndarray, shape (n_volumes,)
        Free volume at the start, grains not deducted [m^3].
    cross_section : ndarray, shape (n_volumes,)
        Over which the gas is stirred [m^2].
    initial : ndarray, shape (n_volumes, 8)
        The volume's states at the start (:mod:`baypulse.engine.layout`).
    bay : int
        Index of the volume that pushes the joint; with contents, the space ahead of them.
    back, voids : int
        Index of the space behind the contents and of that within them, or OUTSIDE without.
    chamber : int
        Index of the one of bay and back that the charge is in.
    source : int
        Index of the holder or reservoir, or OUTSIDE for a loose charge.
    electronics : int
        Index of the electronics bay, or OUTSIDE without one.
    mixing_time : float
        [s], counted from the products; 0 for the law of entrainment.
    entrainment : float
        E of that law.
    zone_floor : ndarray, shape (n_volumes,)
        Mass that always stays in a zone [kg].
    opening_from, opening_to : ndarray of int, shape (n_openings,)
        Volumes at both sides, or OUTSIDE.
    opening_area : ndarray, shape (n_openings,)
        Effective area Cd A [m^2]; for an annulus or a lip, Cd alone; for a slot and the shoulder's
        gap, the plain area of width times gap; plain area round and through the contents.
    opening_kind : ndarray of int, shape (n_openings,)
        ALWAYS, FROM_SOURCE, ANNULUS, SLOT or SHOULDER.
    opening_gap, opening_length : ndarray, shape (n_openings,)
        Of a slot, across and along the flow [m]; the length of a SHOULDER is the stroke less the
        travel, whatever stands here. 0 for every other opening.
    opening_discharge : ndarray, shape (n_openings,)
        Cd of the mouth of a slot; 0 for every other opening, whose area holds it.
    opening_carry : ndarray, shape (n_openings,)
        Grains carried through an opening, over those that the gas would carry if they were spread
        through its volume.
    charge_mass : float
        Powder [kg]; 0 for cold gas.
    burnable_fraction : float
        Share that can burn.
    specific_energy : float
        Internal energy of the products as they form, above 0 K [J/kg].
    specific_volume : float
        Volume of unburnt powder [m^3/kg].
    r_low, r_high : float
        Grain radii [m].
    rate, rate_pressure, rate_exponent : float
        Burning law [m/s], [Pa], [-].
    start_time : float
        First burning grain, or valve opening [s].
    flame_rate, flame_exponent : float
        Share of the bed that the flame crosses a second at ``rate_pressure`` [1/s], and its
        exponent of pressure.
    bed_area : float
        Face of the bed, through which the products leave it [m^2].
    deposition : float
        Velocity at which salts settle on surfaces [m/s].
    afterburning_heat, afterburning_air : float
        Heat that a kilogram of products gives in air, times the share that finds it [J/kg]; the air
        that it takes [kg].
    afterburning_low, afterburning_high : float
        Temperatures of the hot zone between which it sets in [K].
    burst_pressure : float
        Holder above bay [Pa]; 0 where nothing bursts.
    surface_volume : ndarray of int, shape (n_surfaces,)
        Volume that each surface bounds.
    surface_area : ndarray, shape (n_surfaces,)
        Area at the start [m^2].
    surface_growth : ndarray, shape (n_surfaces,)
        Area added per travel [m].
    surface_emissivity, surface_convection, surface_effusivity : ndarray, shape (n_surfaces,)
        [-], [W/m^2/K], [J/m^2/K/sqrt(s)].
    skin_rates, skin_weights : ndarray, shape (n_terms,)
        Of the semi-infinite solid (:func:`baypulse.physics.heat.skin_kernel`).
    skin_instant : float
        Of the same.
    bore, stroke : float
        Inside diameter and shoulder length [m].
    friction, sliding_ratio, seal_drag : float
        Static friction when closed [N], sliding over static, constant drag [N].
    pin_strength, pin_gap, pin_rise, pin_fail : ndarray, shape (n_pins,)
        [N], [m], [m], [m].
    nose_mass, airframe_mass, contents_mass : float
        [kg]; no contents where their mass is 0.
    along_gravity : float
        Gravity along the axis, positive when it pulls the nose back [m/s^2].
    nose_drag, airframe_drag : float
        [N].
    stand_friction : float
        Force of the airframe on its stand [N]: 1e30 clamped, 0 free.
    ground_friction : float
        Deceleration of a clear nose that slides on the ground, mu g cos(attitude) [m/s^2]; 0 in the
        air.
    pickup_travel : float
        Distance of nose and contents, more than at rest, at which the cord begins to pull the
        contents [m]; 1e30 without cord.
    packed_length, extraction_force, pack_grip : float
        Length of the packed contents [m], force that draws all of it out by its front [N], and
        4 mu K L/D (:mod:`baypulse.physics.piston`).
    pack_reach, pack_recoil : float
        Travel at which the contents meet the closed nose, and the bulkhead behind them [m].
    pack_gap, pack_discharge, pack_even : float
        Gap round the contents [m], the discharge coefficient of its mouth, and the relative
        difference of pressure below which it passes gas in proportion to that.
    pack_out : float
        Travel at which their rear passes the lip of the tube [m].
    pore_share, pore_size, pore_viscosity : float
        Share of the contents' volume that is not fibre; its equivalent diameter [m]; viscosity of
        the gas there, which is as warm as the air [Pa s].
    cord_travel, cord_length : float
        Travel at which the cord is taut, 1e30 without cord; its length [m].
    cord_load, cord_strain, cord_exponent, cord_damping, cord_set : float
        Load and strain at break, exponent, share of critical damping, set.
    brake_start, brake_stop, brake_force : ndarray, shape (n_brakes,)
        Travel at which each stage of the cord's brake begins to tear, and at which its force ends
        [m], rising and all short of cord_travel; its force [N].
    """

    p_ambient: float
    T_ambient: float
    gas: tuple[float, float, float, float, float, float]
    condensed_share: float
    condensed_heat: float
    covolume: float
    volume: Array
    cross_section: Array
    initial: Array
    bay: int
    back: int
    voids: int
    chamber: int
    source: int
    electronics: int
    mixing_time: float
    entrainment: float
    zone_floor: Array
    opening_from: Array
    opening_to: Array
    opening_area: Array
    opening_kind: Array
    opening_carry: Array
    opening_gap: Array
    opening_length: Array
    opening_discharge: Array
    charge_mass: float
    burnable_fraction: float
    specific_energy: float
    specific_volume: float
    r_low: float
    r_high: float
    rate: float
    rate_pressure: float
    rate_exponent: float
    start_time: float
    flame_rate: float
    flame_exponent: float
    bed_area: float
    deposition: float
    afterburning_heat: float
    afterburning_air: float
    afterburning_low: float
    afterburning_high: float
    burst_pressure: float
    surface_volume: Array
    surface_area: Array
    surface_growth: Array
    surface_emissivity: Array
    surface_convection: Array
    surface_effusivity: Array
    skin_rates: Array
    skin_weights: Array
    skin_instant: float
    bore: float
    stroke: float
    friction: float
    sliding_ratio: float
    seal_drag: float
    pin_strength: Array
    pin_gap: Array
    pin_rise: Array
    pin_fail: Array
    nose_mass: float
    airframe_mass: float
    contents_mass: float
    along_gravity: float
    nose_drag: float
    airframe_drag: float
    stand_friction: float
    ground_friction: float
    pickup_travel: float
    packed_length: float
    extraction_force: float
    pack_grip: float
    pack_reach: float
    pack_recoil: float
    pack_out: float
    pack_gap: float
    pack_discharge: float
    pack_even: float
    pore_share: float
    pore_size: float
    pore_viscosity: float
    cord_travel: float
    cord_length: float
    cord_load: float
    cord_strain: float
    cord_exponent: float
    cord_damping: float
    cord_set: float
    brake_start: Array
    brake_stop: Array
    brake_force: Array

    @property
    def skins_at(self) -> int:
        """Index of the first surface's skin."""
        return VOLUMES_AT + PER_VOLUME * self.volume.shape[-1]

    @property
    def heats_at(self) -> int:
        """Index of the heat taken by the first surface: from here on nothing feeds back."""
        return self.skins_at + self.surface_area.shape[-1] * self.skin_rates.size

    @property
    def deposits_at(self) -> int:
        """Index of the salts settled on the first surface."""
        return self.heats_at + self.surface_area.shape[-1]

    @property
    def openings_at(self) -> int:
        """Index of the first opening's balance."""
        return self.heats_at + PER_SURFACE * self.surface_area.shape[-1]

    @property
    def balance_at(self) -> int:
        """Index of the first entry of the energy balance."""
        return self.openings_at + PER_OPENING * self.opening_area.shape[-1]

    @property
    def state_size(self) -> int:
        """Length of the state vector with all diagnostic states."""
        return self.balance_at + len(Balance)

    @property
    def event_count(self) -> int:
        """Number of event functions: the common ones, and two a pin."""
        return COMMON_EVENTS + 2 * self.pin_strength.shape[-1]


_COUNTS = {
    "n_volumes": "volume",
    "n_openings": "opening_area",
    "n_surfaces": "surface_area",
    "n_terms": "skin_rates",
    "n_pins": "pin_strength",
    "n_brakes": "brake_force",
}
_CAPACITY = {
    "n_volumes": 8, "n_openings": 64, "n_surfaces": 4, "n_terms": 12, "n_pins": 24, "n_brakes": 24,
}  # fmt: skip
"""Room in the record; a case has at most 5 volumes, 4 surfaces, 8 terms, 24 pins and 24 stages of a
brake."""

MOST_BRAKES = _CAPACITY["n_brakes"]
"""Stages of a brake that the record has room for."""

_PLACES = ("skins_at", "heats_at", "deposits_at", "openings_at", "balance_at", "state_size",
           "event_count")  # fmt: skip
_ARRAYS = {name for name, kind in get_type_hints(Parameters).items() if kind is np.ndarray}
_SPECIES = ("R_g", "c0_g", "c1_g", "R_a", "c0_a", "c1_a")


def _room(name: str) -> int:
    """Return the length of an array in the record, by the first word of its name."""
    for count, array in _COUNTS.items():
        if name.split("_")[0] == array.split("_")[0]:
            return _CAPACITY[count]
    return _CAPACITY["n_volumes"]


_WHOLE = {"opening_from", "opening_to", "opening_kind", "surface_volume"}
_UNSIGNED = {*_PLACES, "n_terms", "surface_volume", "bay", "chamber"}
"""Numbers that are added to places of the state or of a table: of one that may be negative compiled
code asks each time whether it counts from the end, and no loop runs on the vector unit."""


def _record_type() -> np.dtype:
    fields: list[tuple] = [(name, _whole_type(name)) for name in (*_COUNTS, *_PLACES)]
    fields += [(name, "f8") for name in _SPECIES]
    for name, kind in get_type_hints(Parameters).items():
        if kind in (int, float):
            fields.append((name, _whole_type(name) if kind is int else "f8"))
        elif kind is np.ndarray:
            room = (_room(name),) + ((PER_VOLUME,) if name == "initial" else ())
            fields.append((name, _whole_type(name) if name in _WHOLE else "f8", room))
    # the shorter last: bytes between two fields would make equal records differ
    return np.dtype(sorted(fields, key=lambda field: field[1] == "u4"), align=True)


def _whole_type(name: str) -> str:
    return "u4" if name in _UNSIGNED else "i8"


RECORD = _record_type()
"""Layout of the record."""


def pack(P: Parameters) -> np.record:
    """Pack a shot into the record that the compiled core reads.

    Parameters
    ----------
    P : Parameters
        The shot.

    Returns
    -------
    np.record
        The same numbers with the counts of each array, the places of the state vector and the
        species' constants as fields of their own.

    Raises
    ------
    ValueError
        When there are more openings, pins or brakes than the record has room for.
    """
    return pack_members(P, 1)[0]


def pack_members(P: Parameters, members: int) -> np.recarray:
    """Pack the members of an ensemble, a record each.

    Parameters
    ----------
    P : Parameters
        Every float of it may be an array of shape (members,), and every array may have the
        members as its first axis.
    members : int
        Number of them.

    Returns
    -------
    np.recarray, shape (members,)
        As :func:`pack`.

    Raises
    ------
    ValueError
        As :func:`pack`, or when an array has another number of members.
    """
    # a record array looks at each field that is written
    rows = np.zeros(members, dtype=RECORD)
    for count, array in _COUNTS.items():
        size = getattr(P, array).shape[-1]
        if size > _CAPACITY[count]:
            raise ValueError(f"{array}: {size} given, at most {_CAPACITY[count]}")
        rows[count] = size
    for place in _PLACES:
        rows[place] = getattr(P, place)
    for name, value in zip(_SPECIES, P.gas, strict=True):
        rows[name] = value
    for name, value in P._asdict().items():
        if name == "initial":
            rows[name][:, : value.shape[-2]] = value
        elif name in _ARRAYS:
            rows[name][:, : value.shape[-1]] = value
        elif name != "gas":
            rows[name] = value
    return rows.view(np.recarray)


def unpacked(record: np.record) -> SimpleNamespace:
    """Return a record's numbers under the same names, which plain Python reads much faster.

    Parameters
    ----------
    record : np.record
        From :func:`pack`.
    """

    def quick(held: Any) -> Any:
        if np.ndim(held) == 1:  # a list's entries are at hand, those of an array are made
            return [quick(each) for each in held]
        # a whole number without a sign becomes a float beside one that has it
        return int(held) if isinstance(held, np.integer) else held

    return SimpleNamespace(**{name: quick(record[name]) for name in record.dtype.names or ()})
