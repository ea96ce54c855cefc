"""The library of materials: data files whose every number has a source and a spread."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from baypulse.case import units
from baypulse.case.materials import (
    ClothData,
    CordData,
    FibreData,
    FitData,
    GasData,
    KnotData,
    PackData,
    PackingData,
    PinMaterialData,
    PowderData,
    ThreadData,
    WallData,
)
from baypulse.errors import ModelError
from baypulse.spelling import near


@dataclass(frozen=True)
class LibraryValue:
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
        One of :data:`baypulse.case.units.DIMENSIONS`.
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
    "burnable_fraction": "ratio",
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
    "powder_heat_capacity": "heat capacity",
    "rate_temperature_slope": "per kelvin",
    "temperature_slope": "per kelvin",
    "strength_slope": "per kelvin",
    "stretch_slope": "per kelvin",
    "moisture_slope": "ratio",
    "rate_strengthening": "ratio",
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
def _facts(table: str, name: str) -> dict[str, LibraryValue]:
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


def facts(table: str, name: str) -> dict[str, LibraryValue]:
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


def fact(place: str) -> LibraryValue:
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


def _fact(row: dict[str, str], key: str) -> LibraryValue:
    """Turn one row of a data file into numbers."""
    dimension = _DIMENSIONS[key]
    value = units.parse(row["value"], dimension)
    spread = units.parse_spread(row["spread"], dimension, value)
    return LibraryValue(value, row["value"], spread, row["spread"], row["source"], dimension)


@cache
def _read(table: str) -> dict[str, Any]:
    """Read a data file once."""
    if table not in TABLES:
        close = near(table, list(TABLES))
        hint = f'; did you mean "{close}"?' if close else ""
        raise ModelError(f'the library has no table "{table}"{hint}')
    place = resources.files("baypulse") / "case" / "data" / TABLES[table][1]
    return tomllib.loads(place.read_text(encoding="utf-8"))
