"""The library of materials: data files whose every number has a source and a spread."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from baypulse import units
from baypulse.errors import ModelError
from baypulse.spelling import near


@dataclass(frozen=True)
class PowderData:
    """One granulation of black powder and the burning of the powder itself.

    Attributes
    ----------
    smallest_grain, largest_grain : float
        Sieve window [m].
    grain_density : float
        Density of a grain [kg/m^3].
    gas_constant : float
        Effective gas constant of all products, per kg of powder [J/kg/K].
    explosion_temperature : float
        Temperature of the products as they form [K].
    heat_capacity : float
        Mean heat capacity of all products at constant volume, per kg of powder [J/kg/K].
    covolume : float
        Noble-Abel covolume, residue included [m^3/kg].
    condensed_share, condensed_heat_share : float
        Share of the products that is condensed salts when hot, and of their heat.
    deposition_velocity : float
        At which salts settle on walls and cloth [m/s].
    afterburning_heat, afterburning_air : float
        Heat of a kilogram of products in air [J/kg], and the air that it takes [kg/kg].
    afterburning_efficiency, afterburning_temperature : float
        Share of it that burns in a bay, and from which temperature of the hot gas on [K].
    bulk_density : float
        Of loose grains [kg/m^3].
    bed_time, bed_pressure, bed_exponent : float
        Burning of a bed: the time [s] in which a grain of mean size burns at a pressure [Pa], and
        the exponent by which it shortens with pressure.
    rate : float
        Linear burning rate at ``rate_pressure`` [m/s].
    rate_pressure : float
        Reference pressure of the burning law [Pa].
    rate_exponent : float
        Pressure exponent of the burning law.
    burnt_ceiling : float
        Share of a charge that burns.
    reference_moisture : float
        Moisture at which rate and heat are given.
    moisture_rate_slope : float
        Relative loss of rate per unit of mass fraction of water.
    thin_air_full, thin_air_none : float
        Ambient pressures [Pa] above which a loose charge burns to its ceiling, and below which
        it hardly burns.
    """

    smallest_grain: float
    largest_grain: float
    grain_density: float
    gas_constant: float
    explosion_temperature: float
    heat_capacity: float
    covolume: float
    condensed_share: float
    condensed_heat_share: float
    deposition_velocity: float
    afterburning_heat: float
    afterburning_air: float
    afterburning_efficiency: float
    afterburning_temperature: float
    bulk_density: float
    bed_time: float
    bed_pressure: float
    bed_exponent: float
    rate: float
    rate_pressure: float
    rate_exponent: float
    burnt_ceiling: float
    reference_moisture: float
    moisture_rate_slope: float
    thin_air_full: float
    thin_air_none: float


@dataclass(frozen=True)
class PackingData:
    """How a charge is packed.

    Attributes
    ----------
    flame_speed : float
        At which the flame runs through it at the pressure of the powder's burning law [m/s].
    flame_exponent : float
        Its exponent of pressure.
    carried_share : float
        Grains that leave with the gas, over those that would if they were spread through it.
    """

    flame_speed: float
    flame_exponent: float
    carried_share: float


@dataclass(frozen=True)
class GasData:
    """A gas: specific constant and u(T) = c0 T + c1 T^2/2 above 0 K.

    Attributes
    ----------
    gas_constant : float
        [J/kg/K].
    heat_capacity : float
        c0 [J/kg/K].
    heat_capacity_slope : float
        c1 [J/kg/K^2].
    """

    gas_constant: float
    heat_capacity: float
    heat_capacity_slope: float


@dataclass(frozen=True)
class WallData:
    """A tube material.

    Attributes
    ----------
    conductivity : float
        [W/m/K].
    density : float
        [kg/m^3].
    heat_capacity : float
        [J/kg/K].
    emissivity : float
        Effective emissivity between dusty gas and this wall.
    convection : float
        Heat transfer coefficient of the stirred gas [W/m^2/K].
    bearing_strength : float
        Stress at which a pin tears the hole out [Pa].
    tensile_strength : float
        Hoop strength [Pa].
    """

    conductivity: float
    density: float
    heat_capacity: float
    emissivity: float
    convection: float
    bearing_strength: float
    tensile_strength: float


@dataclass(frozen=True)
class ClothData:
    """Packed cloth or protector facing the charge; fields as :class:`WallData`.

    Attributes
    ----------
    conductivity, density, heat_capacity, emissivity, convection : float
        As for a wall, of the packed stack.
    exposure : float
        Share of the exposed area that the gas really reaches.
    fibre_density : float
        Of the solid fibre [kg/m^3]; what a pack is lighter than it is voids.
    particle_diameter : float
        Diameter of the spheres through whose bed gas would seep as through this cloth in folds:
        6 over its surface per volume of fibre [m].
    """

    conductivity: float
    density: float
    heat_capacity: float
    emissivity: float
    convection: float
    exposure: float
    fibre_density: float
    particle_diameter: float


@dataclass(frozen=True)
class ThreadData:
    """A screw thread.

    Attributes
    ----------
    major_diameter : float
        [m].
    pitch : float
        [m].
    root_diameter : float
        Minor diameter of the external thread at its root [m].
    """

    major_diameter: float
    pitch: float
    root_diameter: float


@dataclass(frozen=True)
class PinMaterialData:
    """A pin material.

    Attributes
    ----------
    shear_strength : float
        At the reference temperature and moisture [Pa].
    reference_temperature : float
        [K].
    reference_moisture : float
        Mass fraction of water.
    temperature_slope : float
        Relative change of strength per kelvin (negative: weaker when warm).
    moisture_slope : float
        Relative change of strength per unit of water mass fraction.
    """

    shear_strength: float
    reference_temperature: float
    reference_moisture: float
    temperature_slope: float
    moisture_slope: float


@dataclass(frozen=True)
class CordData:
    """A cord: load = break_load * (strain / break_elongation)^exponent.

    Attributes
    ----------
    break_load : float
        [N].
    break_elongation : float
        Strain at break.
    exponent : float
        Of the load-elongation curve; 1 is linear.
    damping_ratio : float
        Share of critical damping at the secant stiffness.
    permanent_set : float
        Strain kept after unloading, as a share of the greatest strain.
    """

    break_load: float
    break_elongation: float
    exponent: float
    damping_ratio: float
    permanent_set: float


@dataclass(frozen=True)
class FibreData:
    """What cold does to the fibre of a cord.

    Attributes
    ----------
    strength_slope, stretch_slope : float
        Relative change of load and of elongation at break per kelvin.
    """

    strength_slope: float
    stretch_slope: float


@dataclass(frozen=True)
class KnotData:
    """A knot or end; ``efficiency`` is the strength it leaves."""

    efficiency: float


@dataclass(frozen=True)
class FitData:
    """A class of friction fit; ``pressure`` times the shoulder's outside area gives the force.

    Attributes
    ----------
    shear : float
        Static friction force per contact area of the shoulder [Pa].
    """

    shear: float


@dataclass(frozen=True)
class PackData:
    """How tightly the packed contents sit in the tube.

    Attributes
    ----------
    shear : float
        Static friction force per area of wall that the pack touches, before anything squeezes it
        [Pa]; times pi D and the packed length, the force that pulls it out.
    gap : float
        Gap round the pack through which gas passes it, as if it were even all round [m].
    grip : float
        Friction coefficient on the wall, times pressure across the tube over pressure along it:
        how a pack that is pushed from behind holds itself.
    """

    shear: float
    gap: float
    grip: float


@dataclass(frozen=True)
class Fact:
    """One number of the library.

    Attributes
    ----------
    value : float
        In SI.
    text : str
        The value as the data file has it.
    spread : float
        Standard deviation in SI.
    spread_text : str
        The spread as the data file has it.
    source : str
        Citation, or "estimate".
    dimension : str
        One of :data:`baypulse.units.DIMENSIONS`.
    """

    value: float
    text: str
    spread: float
    spread_text: str
    source: str
    dimension: str


TABLES: dict[str, tuple[type[Any], str]] = {
    "powders": (PowderData, "powders.toml"),
    "packings": (PackingData, "packings.toml"),
    "gases": (GasData, "gases.toml"),
    "walls": (WallData, "walls.toml"),
    "cloths": (ClothData, "cloths.toml"),
    "threads": (ThreadData, "threads.toml"),
    "pin materials": (PinMaterialData, "pin_materials.toml"),
    "cords": (CordData, "cords.toml"),
    "fibres": (FibreData, "fibres.toml"),
    "knots": (KnotData, "knots.toml"),
    "fits": (FitData, "fits.toml"),
    "packs": (PackData, "packs.toml"),
}
"""The tables of the library: the class of an entry and the data file."""

UNCHANGED: Mapping[str, Any] = MappingProxyType({})
"""No number of the library is replaced."""

_DIMENSIONS: dict[str, str] = {
    "smallest_grain": "length",
    "largest_grain": "length",
    "grain_density": "density",
    "gas_constant": "heat capacity",
    "explosion_temperature": "temperature",
    "heat_capacity": "heat capacity",
    "covolume": "covolume",
    "condensed_share": "ratio",
    "condensed_heat_share": "ratio",
    "deposition_velocity": "velocity",
    "afterburning_heat": "specific energy",
    "afterburning_air": "ratio",
    "afterburning_efficiency": "ratio",
    "afterburning_temperature": "temperature",
    "bulk_density": "density",
    "bed_time": "time",
    "bed_pressure": "stress",
    "bed_exponent": "ratio",
    "flame_speed": "velocity",
    "flame_exponent": "ratio",
    "carried_share": "ratio",
    "rate": "velocity",
    "rate_pressure": "stress",
    "rate_exponent": "ratio",
    "burnt_ceiling": "ratio",
    "reference_moisture": "ratio",
    "moisture_rate_slope": "ratio",
    "thin_air_full": "absolute pressure",
    "thin_air_none": "absolute pressure",
    "heat_capacity_slope": "heat capacity slope",
    "conductivity": "conductivity",
    "density": "density",
    "emissivity": "ratio",
    "convection": "heat transfer",
    "bearing_strength": "stress",
    "tensile_strength": "stress",
    "exposure": "ratio",
    "fibre_density": "density",
    "particle_diameter": "length",
    "major_diameter": "length",
    "pitch": "length",
    "root_diameter": "length",
    "shear_strength": "stress",
    "reference_temperature": "temperature",
    "temperature_slope": "per kelvin",
    "strength_slope": "per kelvin",
    "stretch_slope": "per kelvin",
    "moisture_slope": "ratio",
    "break_load": "force",
    "break_elongation": "ratio",
    "exponent": "ratio",
    "damping_ratio": "ratio",
    "permanent_set": "ratio",
    "efficiency": "ratio",
    "shear": "stress",
    "gap": "length",
    "grip": "ratio",
}


def names(table: str) -> list[str]:
    """Return the names of a table's entries, in the order of the data file.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    """
    return [name for name in _read(table) if name != "common"]


@cache
def _facts(table: str, name: str) -> dict[str, Fact]:
    """Read one entry; shared by all callers, so kept private."""
    content = _read(table)
    if name not in names(table):
        close = near(name, names(table))
        hint = f'; did you mean "{close}"?' if close else ""
        known = ", ".join(f'"{known}"' for known in names(table))
        raise ModelError(f'"{name}" is not in the library of {table}{hint} Known: {known}')
    rows = {**content.get("common", {}), **content[name]}
    kept = [field.name for field in fields(TABLES[table][0])]
    if sorted(rows) != sorted(kept):
        raise ModelError(f'{table}, "{name}": the data file must hold exactly {", ".join(kept)}')
    return {key: _fact(rows[key], key) for key in kept}


def facts(table: str, name: str) -> dict[str, Fact]:
    """Return every number of one entry with its spread and source.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    name : str
        An entry, such as ``"3F"``.

    Raises
    ------
    ModelError
        When there is no such entry; the text offers a near match.
    """
    return dict(_facts(table, name))


def entry(table: str, name: str, changes: Mapping[str, Any] = UNCHANGED) -> Any:
    """Return one entry as its dataclass, in SI.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    name : str
        An entry, such as ``"3F"``.
    changes : mapping
        A case's ``materials``: numbers that replace the library's, by :func:`address`.
    """
    held = _entry(table, name)
    stem = address(table, name)
    mine = {}
    for key, value in changes.items():
        place, _, number = key.rpartition(".")
        if place == stem:
            mine[number] = value
    return replace(held, **mine) if mine else held


def address(table: str, name: str, number: str = "") -> str:
    """Return how one entry, or one number of it, is called, such as ``"powders.3F.rate"``."""
    return f"{table}.{name}.{number}" if number else f"{table}.{name}"


def fact(place: str) -> Fact:
    """Return one number with its spread and source.

    Parameters
    ----------
    place : str
        Its :func:`address`; the name between may hold dots of its own.
    """
    stem, _, number = place.rpartition(".")
    table, _, name = stem.partition(".")
    return _facts(table, name)[number]


@cache
def _entry(table: str, name: str) -> Any:
    """Return one entry as the data file has it."""
    values = {key: fact.value for key, fact in _facts(table, name).items()}
    return TABLES[table][0](**values)


def powder(name: str, changes: Mapping[str, Any] = UNCHANGED) -> PowderData:
    """Return an entry of the table of powders."""
    return entry("powders", name, changes)


def packing(name: str, changes: Mapping[str, Any] = UNCHANGED) -> PackingData:
    """Return an entry of the table of packings."""
    return entry("packings", name, changes)


def gas(name: str, changes: Mapping[str, Any] = UNCHANGED) -> GasData:
    """Return an entry of the table of gases."""
    return entry("gases", name, changes)


def wall(name: str, changes: Mapping[str, Any] = UNCHANGED) -> WallData:
    """Return an entry of the table of walls."""
    return entry("walls", name, changes)


def cloth(name: str, changes: Mapping[str, Any] = UNCHANGED) -> ClothData:
    """Return an entry of the table of cloths."""
    return entry("cloths", name, changes)


def thread(name: str, changes: Mapping[str, Any] = UNCHANGED) -> ThreadData:
    """Return an entry of the table of threads."""
    return entry("threads", name, changes)


def pin_material(name: str, changes: Mapping[str, Any] = UNCHANGED) -> PinMaterialData:
    """Return an entry of the table of pin materials."""
    return entry("pin materials", name, changes)


def cord(name: str, changes: Mapping[str, Any] = UNCHANGED) -> CordData:
    """Return an entry of the table of cords."""
    return entry("cords", name, changes)


def fibre(name: str, changes: Mapping[str, Any] = UNCHANGED) -> FibreData:
    """Return an entry of the table of fibres."""
    return entry("fibres", name, changes)


def knot(name: str, changes: Mapping[str, Any] = UNCHANGED) -> KnotData:
    """Return an entry of the table of knots."""
    return entry("knots", name, changes)


def fit(name: str, changes: Mapping[str, Any] = UNCHANGED) -> FitData:
    """Return an entry of the table of fits."""
    return entry("fits", name, changes)


def pack(name: str, changes: Mapping[str, Any] = UNCHANGED) -> PackData:
    """Return an entry of the table of packs."""
    return entry("packs", name, changes)


def _fact(row: dict[str, str], key: str) -> Fact:
    """Turn one row of a data file into numbers."""
    dimension = _DIMENSIONS[key]
    value = units.parse(row["value"], dimension)
    spread = units.parse_spread(row["spread"], dimension, value)
    return Fact(value, row["value"], spread, row["spread"], row["source"], dimension)


@cache
def _read(table: str) -> dict[str, Any]:
    """Read a data file once."""
    if table not in TABLES:
        close = near(table, list(TABLES))
        hint = f'; did you mean "{close}"?' if close else ""
        raise ModelError(f'the library has no table "{table}"{hint}')
    place = resources.files("baypulse") / "data" / TABLES[table][1]
    return tomllib.loads(place.read_text(encoding="utf-8"))
