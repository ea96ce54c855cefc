"""Which numbers of a case scatter: those of the case file, and those of the library it uses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

from baypulse.case import geometry, library
from baypulse.case.casefile import library_table
from baypulse.case.casefile.joint_retention import BATCH, BATCH_CORRELATION, deviation_of
from baypulse.case.casefile.keys import (
    LIBRARY,
    MEASURED,
    is_share,
    number_at,
    place_of,
    tables,
    value_at,
)
from baypulse.case.casefile.spreads import is_level
from baypulse.case.library import address
from baypulse.case.model import Case, Spread

WIDE = 0.2
"""Standard deviation over the value from which a positive number scatters log-normally."""

THIN_AIR_SCORE = 5.0
"""Standard deviations above the library's limit of thin air beyond which air is never thin."""

_WORDS = {
    "smallest_grain": "smallest grain of {}",
    "largest_grain": "largest grain of {}",
    "rate": "burning rate of {}",
    "rate_exponent": "pressure exponent of {}",
    "bed_time": "burning time of a bed of {}",
    "bed_exponent": "pressure exponent of a bed of {}",
    "condensed_share": "salts among the products of {}",
    "condensed_heat_share": "heat of {} in its salts",
    "deposition_velocity": "settling of the salts of {}",
    "afterburning_heat": "heat of {} in air",
    "afterburning_air": "air that {} burns in",
    "afterburning_efficiency": "share of {} that burns in air",
    "afterburning_temperature": "temperature from which {} burns in air",
    "bulk_density": "bulk density of {}",
    "flame_speed": "speed of the flame, {}",
    "flame_exponent": "pressure exponent of the flame, {}",
    "carried_share": "grains carried out, {}",
    "burnable_fraction": "share of {} that burns",
    "moisture_rate_slope": "loss of rate of {} by water",
    "powder_heat_capacity": "heat held by {} before it burns",
    "rate_temperature_slope": "loss of rate of {} by cold",
    "thin_air_full": "limit of thin air for {}",
    "thin_air_none": "lowest pressure for {}",
    "convection": "heat transfer to {}",
    "exposure": "exposed share of {}",
    "temperature_slope": "loss of strength of {} by warmth",
    "moisture_slope": "loss of strength of {} by water",
    "rate_strengthening": "gain of strength of {} in a quick load",
    "exponent": "load exponent of {}",
    "efficiency": "strength of the cord's end, {}",
    "fits.shear": "friction of a {} fit",
    "packs.shear": "hold of {} contents on the tube",
    "packs.gap": "gap round {} contents",
    "packs.grip": "hold of {} contents by the push behind them",
    "particle_diameter": "width of the ways through {}",
    "fibre_density": "density of the fibre of {}",
}
"""What people call a number of the library, or of one table, where its name and "of" would not do.
"""


@dataclass(frozen=True)
class Factor:
    """Columns of the unit cube that are varied as one.

    Attributes
    ----------
    name : str
        Dotted path of the value, such as ``"powder.mass"`` or ``"library.powders.3F.rate"``;
        ``"group NAME"`` for what a group has in common; a library's path with ``", each pin"``
        for the pins' own part.
    label : str
        The same in short plain words.
    paths : tuple of str
        Values that it moves.
    columns : tuple of int
        Columns of the unit cube: one for each pin where every pin draws its own, else one.
    common : bool
        Whether this is what several values or pins have in common, and not their own part.
    """

    name: str
    label: str
    paths: tuple[str, ...]
    columns: tuple[int, ...]
    common: bool = False


def factors(case: Case) -> list[Factor]:
    """Return everything that scatters in a case, first what its file says, then the library.

    A number of the library scatters unless the case replaces it by a measured one, it defines
    something (a reference pressure), or it cannot act in this case. One that the case replaces
    scatters by the spread that the case gives it; without one it is taken as known.

    Parameters
    ----------
    case : Case
        Validated case.
    """
    found: list[Factor] = []
    column = 0

    def add(name: str, label: str, paths: list[str], count: int = 1, common: bool = False) -> None:
        nonlocal column
        columns = tuple(range(column, column + count))
        found.append(Factor(name, label, tuple(paths), columns, common))
        column += count

    paths = [path for path, spread in case.spreads.items() if acts(case, path, spread)]
    met: set[str] = set()
    for path in paths:
        spread = case.spreads[path]
        if spread.group and spread.group not in met:
            met.add(spread.group)
            all_of_it = [p for p in paths if case.spreads[p].group == spread.group]
            add(f"group {spread.group}", f"{spread.group} (group)", all_of_it, common=True)
        if not spread.group or spread.correlation < 1.0:
            add(path, _label(case, path), [path], pin_count(case, path))
    for place in library_values(case):
        path = LIBRARY + place
        if path in case.spreads and case.spreads[path].group:
            continue  # among the case's own
        if differs_by_pin(path):
            add(path, f"{_label(case, path)} (batch)", [path], common=True)
            add(f"{path}, each pin", "strength of each pin", [path], pin_count(case, path))
        else:
            add(path, _label(case, path), [path])
    return found


def dimensions(factors: list[Factor]) -> int:
    """Return the number of columns of the unit cube."""
    return 1 + max((column for factor in factors for column in factor.columns), default=-1)


def spread_at(case: Case, path: str) -> Spread:
    """Return how the value at a path scatters: as the case says, or by the library's spread."""
    if not path.startswith(LIBRARY):
        return case.spreads[path]
    typed = case.spreads.get(path)
    if typed is None:
        return _library_spread(path.removeprefix(LIBRARY))
    if differs_by_pin(path) and not typed.group:
        # as the library's own: half of it is the batch's
        return replace(typed, group=BATCH, correlation=BATCH_CORRELATION)
    return typed


def nominal_at(case: Case, path: str) -> float:
    """Return the value at a path when nothing scatters."""
    if path.startswith(LIBRARY):
        place = path.removeprefix(LIBRARY)
        return case.materials.get(place, library.fact(place).value)
    return value_at(case, path)


def pin_count(case: Case, path: str) -> int:
    """Return how many numbers are drawn at a path: of a strength one for each pin, else one."""
    return case.pins.count if differs_by_pin(path) and case.pins is not None else 1


def differs_by_pin(path: str) -> bool:
    """Say whether every pin has a number of its own at a path."""
    return path == "pins.strength" or path.endswith(".shear_strength")


def library_values(case: Case) -> list[str]:
    """Return the addresses of the library's numbers that scatter and act in a case.

    Parameters
    ----------
    case : Case
        Validated case.
    """
    found = [place for place in _used(case) if scatters(case, place)]
    # what the library takes as given, such as a reference temperature, may be typed with a spread
    typed = (place for place in case.materials if place not in found and scatters(case, place))
    return found + [place for place in typed if library_table.acts(case, place)]


def scatters(case: Case, place: str) -> bool:
    """Say whether a number of the library has a spread, its own or one of the case.

    Parameters
    ----------
    case : Case
        The case.
    place : str
        The number's address.
    """
    if place not in case.materials:
        return library.fact(place).spread > 0.0
    spread = case.spreads.get(LIBRARY + place)
    return spread is not None and not is_level(spread)


def acts(case: Case, path: str, spread: Spread) -> bool:
    """Say whether a spread of the case scatters, and something with it.

    A number of the library is one of the case's own only in a group; the law of entrainment is not
    used where a mixing time is typed.

    Parameters
    ----------
    case : Case
        The case.
    path : str
        Dotted path of a value.
    spread : Spread
        How it scatters.
    """
    if path == "bay.entrainment" and case.bay.mixing_time is not None:
        return False
    if path.startswith(LIBRARY):
        return bool(spread.group) and path.removeprefix(LIBRARY) in library_values(case)
    return value_at(case, path) is not None and not is_level(spread)


@cache
def _library_spread(place: str) -> Spread:
    """Return the scatter of a number of the library: normal, and log-normal where it is wide.

    A wide normal cut at zero would put one powder in three hundred below a fifth of its burning
    rate, and rare failures would be that artefact.
    """
    fact = library.fact(place)
    name = place.rpartition(".")[2]
    # a number keeps its sign
    low, high = (0.0, None) if fact.value > 0.0 else (None, 0.0)
    if name in MEASURED:
        spec = number_at(MEASURED[name])
        low, high = spec.low, spec.high
    elif is_share(name):
        high = 1.0
    pins = differs_by_pin(place)
    wide = not is_share(name) and fact.spread >= WIDE * fact.value > 0.0
    return Spread(
        distribution="log-normal" if wide else "normal",
        deviation=fact.spread,
        low=low,
        high=high,
        group=BATCH if pins else "",
        correlation=BATCH_CORRELATION if pins else 1.0,
    )


def _used(case: Case) -> Iterator[str]:
    """Yield the addresses of the library's numbers that this case's run depends on."""
    yield from _of_powder(case)
    gas = case.cold_gas
    if gas is not None:
        names = ("gas_constant", "heat_capacity", "heat_capacity_slope")
        yield from (address("gases", gas.gas, name) for name in names)
    # a clear cold gas does not radiate
    heat = ["conductivity", "density", "heat_capacity", "convection"]
    heat += ["emissivity"] if case.powder is not None else []
    yield from (address("walls", case.bay.wall, name) for name in (*heat, "tensile_strength"))
    if case.contents is not None:
        cloth = case.contents.cloth
        fibre = ("exposure", "fibre_density", "particle_diameter")
        yield from (address("cloths", cloth, name) for name in (*heat, *fibre))
        shear = ("shear",) if case.contents.extraction_force is None else ()
        tightness = geometry.tightness(case)
        yield from (address("packs", tightness, name) for name in ("gap", "grip", *shear))
    yield from _of_joint(case)
    cord = case.cord
    if cord is not None:
        for name in ("break_load", "break_elongation"):
            if getattr(cord, name) is None:
                yield address("cords", cord.type, name)
        names = ("exponent", "damping_ratio", "permanent_set")
        yield from (address("cords", cord.type, name) for name in names)
        yield address("knots", cord.knot, "efficiency")


def _of_powder(case: Case) -> Iterator[str]:
    powder = case.powder
    if powder is None:
        return
    names = [
        "grain_density", "gas_constant", "explosion_temperature", "heat_capacity", "covolume",
        "condensed_share", "condensed_heat_share", "deposition_velocity", "bulk_density",
        "afterburning_heat", "afterburning_air", "afterburning_efficiency",
        "afterburning_temperature",
    ]  # fmt: skip
    names += {"bed": ["bed_time", "bed_exponent"], "strand": ["rate", "rate_exponent"]}[
        powder.burning
    ]
    measured = ("smallest_grain", "largest_grain", "burnable_fraction")
    names += [name for name in measured if getattr(powder, name) is None]
    data = library.powder(powder.grade, case.materials)
    wet = {"powder.moisture", LIBRARY + address("powders", powder.grade, "reference_moisture")}
    if powder.moisture != data.reference_moisture or wet & set(case.spreads):
        names.append("moisture_rate_slope")
    warmth = {"surroundings.temperature", "surroundings.altitude"}
    if powder.temperature is not None:
        warmth = {"powder.temperature"}
    warm = geometry.powder_temperature(case)
    if warm != data.reference_temperature or warmth & set(case.spreads):
        names += ["powder_heat_capacity", "rate_temperature_slope"]
    thin = geometry.air(case)[0] < _highest(case, address("powders", powder.grade, "thin_air_full"))
    if thin and case.holder is None and powder.burnable_fraction is None:
        names += ["thin_air_full", "thin_air_none"]
    yield from (address("powders", powder.grade, name) for name in names)
    flame = () if powder.flame_spread is not None else ("flame_speed", "flame_exponent")
    yield from (address("packings", powder.packing, name) for name in (*flame, "carried_share"))


def _highest(case: Case, place: str) -> float:
    """Return what a number of the library next to never exceeds."""
    value = nominal_at(case, LIBRARY + place)
    if not scatters(case, place):
        return value
    return value + THIN_AIR_SCORE * deviation_of(spread_at(case, LIBRARY + place), value)


def _of_joint(case: Case) -> Iterator[str]:
    joint, pins = case.joint, case.pins
    if joint.fit is not None and joint.pull_off is None:
        yield address("fits", joint.fit, "shear")
    if pins is None:
        return
    yield address("walls", case.bay.wall, "bearing_strength")
    yield address("threads", pins.thread, "major_diameter")
    yield address("pin materials", pins.material, "rate_strengthening")
    if pins.strength is not None:
        return
    yield address("threads", pins.thread, "root_diameter")
    material = library.pin_material(pins.material, case.materials)
    yield address("pin materials", pins.material, "shear_strength")
    stem = LIBRARY + address("pin materials", pins.material)
    warmth = {"surroundings.temperature", "surroundings.altitude", f"{stem}.reference_temperature"}
    water = {"pins.moisture", f"{stem}.reference_moisture"}
    if geometry.air(case)[1] != material.reference_temperature or warmth & set(case.spreads):
        yield address("pin materials", pins.material, "temperature_slope")
    if pins.moisture != material.reference_moisture or water & set(case.spreads):
        yield address("pin materials", pins.material, "moisture_slope")


def _label(case: Case, path: str) -> str:
    """Return short plain words for a value."""
    if path.startswith(LIBRARY):
        table, name, number = library.parts_of(path.removeprefix(LIBRARY))
        words = _WORDS.get(f"{table}.{number}", _WORDS.get(number))
        return (words or f"{_plain(number)} of {{}}").format(name)
    if differs_by_pin(path):
        return "strength of each pin"
    table, index, key = place_of(path)
    if index is not None:
        return f"{value_at(case, f'{table}[{index}].name')} {_plain(key)}"
    homes = sum(key in home.keys for home in tables().values())
    alone = homes == 1 and "_" in key
    return _plain(key) if alone else f"{_plain(table)} {_plain(key)}"


def _plain(name: str) -> str:
    return name.replace("_", " ")
