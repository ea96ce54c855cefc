"""Checks across keys: values that are readable one by one and impossible together."""

from __future__ import annotations

import math
from collections.abc import Iterator

from baypulse.case import geometry, library, static_rule
from baypulse.case.casefile import library_table, part_checks
from baypulse.case.casefile.findings import Finding, air_pressure, length, mass, volume
from baypulse.case.casefile.keys import LIBRARY, Key, key_at, place_of, value_at
from baypulse.case.casefile.spreads import is_level, shares_cut
from baypulse.case.model import Case, Provenance
from baypulse.case.quantities import digits, show
from baypulse.case.spec import Choice, Number
from baypulse.physics.atmosphere import standard_atmosphere

ABSURD_PRESSURE = 500.0 * 6894.757293168361
"""Static-rule pressure [Pa], 500 psi, above which a unit was mistyped; estimate."""

PRESSURE_DOUBT = 0.15
"""Share by which a measured site pressure may miss the standard atmosphere; weather moves it by
5 % at most (from memory)."""

THIN_AIR = 47e3
"""Ambient pressure [Pa], that of 6 km, below which a loose charge is not to be trusted; common
practice, no source."""

MIXING_TIMES = (0.01, 0.1)
"""Mixing times [s] that bays are thought to have; estimate."""

DENSE_GAS = {"carbon dioxide": 4.0e6, "any": 15e6}
"""Fill pressures [Pa] above which a gas is not ideal: carbon dioxide condenses at 5.7 MPa and
20 degC, nitrogen and argon miss by some 5 % at 15 MPa (from memory)."""

LITTLE_CUT = 1e-3
"""Share of a spread that may be cut off without a word; our choice."""

_SETTINGS = ("run.", "rule.", "ascent.")
"""Where the tables begin of what says how to compute, or for which flight, not what is."""

_TAKEN_FROM: dict[str, str] = {
    "powder.smallest_grain": "the library, by grade",
    "powder.largest_grain": "the library, by grade",
    "powder.burnable_fraction": "the library, by grade",
    "powder.flame_spread": "the library, by packing; from speed, size and pressure",
    "pins.strength": "the library, by thread and material",
    "joint.pull_off": "the library, by fit",
    "contents.extraction_force": "the library, by tightness",
    "cord.break_load": "the library, by type",
    "cord.break_elongation": "the library, by type",
}
_WHEN_ABSENT: dict[str, str] = {
    "surroundings.pressure": "the standard atmosphere",
    "surroundings.temperature": "the standard atmosphere",
    "bay.mixing_time": "the law of entrainment",
    "contents.exposed_area": "twice the bore's area",
    "contents.packed_length": "volume over the bore's area",
    "contents.volume": "mass over packing_density, or packed_length times the bore's area",
    "contents.tightness": f'"{geometry.USUAL_TIGHTNESS}"',
    "brakes.length": "the stroke",
    "ascent.pad_altitude": "the altitude of a ground test, sea level for a shot in flight",
    "ascent.fore_drag_area": "no pull of drag is reckoned",
    "joint.shoulder_bore": "closed, or as wide as the hollow nose",
}


_DEFAULT_SOURCES: dict[str, str] = {
    "rule.target": "common practice, no source",
    "run.end_time": "setting of the computation",
    "run.tolerance": "setting of the computation",
    "powder.rate_factor": "the library's law as it stands",
    "cord.wear": "a new cord",
    "other_joints.sudden": "a load put on suddenly works twice as hard; textbook, from memory",
}


def default_provenance(path: str, key: Key) -> Provenance:
    """Say where the value of a key that was not typed comes from.

    Parameters
    ----------
    path : str
        Such as ``"powder.smallest_grain"``.
    key : Key
        Its description.
    """
    table, _, name = place_of(path)
    if key.default is None:
        if path in _TAKEN_FROM:
            return Provenance(text=_TAKEN_FROM[path], origin="library")
        absent = _WHEN_ABSENT.get(f"{table}.{name}", "not given")
        return Provenance(text=absent, origin="default")
    if isinstance(key.spec, Number):
        # a zero says that something is not there, which needs no source
        source = _DEFAULT_SOURCES.get(f"{table}.{name}", "estimate" if key.default else "")
        text = show(key.default, key.spec.dimension)
        return Provenance(text=text, origin="default", source=source)
    text = f'"{key.default}"' if isinstance(key.spec, Choice) else str(key.default)
    return Provenance(text=text, origin="default")


def tables_that_clash(present: set[str]) -> Iterator[Finding]:
    """Find tables that need or exclude each other, before any value is read.

    Parameters
    ----------
    present : set of str
        Names of the tables in the file.
    """
    if {"powder", "cold_gas"} <= present:
        yield "cold_gas", "give either [powder] or [cold_gas], not both"
    if not {"powder", "cold_gas"} & present:
        yield "", "nothing opens the bay: give [powder] or [cold_gas]"
    if "holder" in present and "powder" not in present:
        yield "holder", "a holder is for a charge: it needs [powder]"
    if "brakes" in present and "cord" not in present:
        yield "brakes", "the stages of a brake are tied into a cord: they need [cord]"
    if "other_joints" in present and "cord" not in present:
        yield "other_joints", "without [cord] nothing jerks at another joint: give the cord"


def problems(case: Case) -> list[Finding]:
    """Return everything that is impossible about a readable case.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    first = [
        *_nose(case),
        *_contents(case),
        *_lengths(case),
        *_joint(case),
        *part_checks.opening_problems(case),
        *_charge(case),
        *_setting(case),
        *_run(case),
        *part_checks.brake_problems(case),
        *part_checks.other_joint_problems(case),
        *part_checks.ascent_problems(case),
        *library_table.problems(case),
        *_settings_that_scatter(case),
    ]
    return first or list(_space(case))


def doubts(case: Case) -> list[Finding]:
    """Return what is possible and unlikely; it becomes a warning.

    Parameters
    ----------
    case : Case
        A case without problems.
    """
    return [
        *_site(case),
        *_closures(case),
        *_vessel(case),
        *part_checks.brake_doubts(case),
        *library_table.doubts(case),
        *_level_spreads(case),
        *truncations(case, asked=False),
    ]


def truncations(case: Case, *, asked: bool = True) -> Iterator[Finding]:
    """Find the normal and log-normal spreads of which more than a thousandth is cut off.

    Parameters
    ----------
    case : Case
        A case without problems.
    asked : bool
        Whether to count the bounds that somebody chose, or only the ends of the allowed range.
    """
    for path, spread in case.spreads.items():
        spec = key_at(path).spec
        value = value_at(case, path)
        if value is None or not isinstance(spec, Number):
            continue
        shares = shares_cut(value, spread)
        ends = ("below", spread.low, spec.low), ("above", spread.high, spec.high)
        parts = []
        for share, (side, bound, allowed) in zip(shares, ends, strict=True):
            if share > LITTLE_CUT and bound is not None and (asked or bound == allowed):
                word = "the allowed " if bound == allowed else ""
                at = show(bound, spec.dimension)
                parts.append(f"{percent(share)} {side} {word}{at}")
        if parts:
            yield (
                path,
                f"this {spread.distribution} spread is cut: {' and '.join(parts)} "
                f"{'is' if len(parts) == 1 else 'are'} never drawn, the rest more often; give "
                'less spread, another distribution, or "low" and "high" of your own',
            )


def percent(share: float) -> str:
    """Return a share in percent with two digits, such as ``"0.31 %"``."""
    return f"{digits(100.0 * share, 2)} %"


def _level_spreads(case: Case) -> Iterator[Finding]:
    """Doubt a spread that is none."""
    for path, spread in case.spreads.items():
        if is_level(spread):
            what = "measured values that are all alike" if spread.sample else "a spread of zero"
            yield path, f"{what}: this value does not scatter; give a spread, or the value alone"


def _settings_that_scatter(case: Case) -> Iterator[Finding]:
    """Refuse the scatter of what is a choice."""
    for path in case.spreads:
        if path.startswith(_SETTINGS):
            yield path, "this is a setting, which does not scatter; give the value alone"


def _site(case: Case) -> Iterator[Finding]:
    """Doubt a site pressure that no weather explains."""
    typed = case.provenance.get("surroundings.altitude")
    measured = case.surroundings.pressure
    if measured is None or typed is None or typed.origin != "case":
        return
    standard = standard_atmosphere(case.surroundings.altitude)[0]
    if abs(measured / standard - 1.0) > PRESSURE_DOUBT:
        yield (
            "surroundings.pressure",
            f"{air_pressure(measured)} does not fit the altitude, where the standard atmosphere "
            f"has {air_pressure(standard)}; give the pressure as measured on site, not reduced to "
            "sea level",
        )


def _closures(case: Case) -> Iterator[Finding]:
    """Doubt what lies outside the range in which a closure was measured or agreed on."""
    pressure = geometry.air(case)[0]
    if case.powder is not None and case.holder is None and pressure < THIN_AIR:
        path = "pressure" if case.surroundings.pressure is not None else "altitude"
        yield (
            f"surroundings.{path}",
            f"a loose charge in air of {air_pressure(pressure)}: nobody has measured how much of "
            "it burns there; take the result as a guess, or use a holder that bursts or a cold gas",
        )
    low, high = MIXING_TIMES
    if case.bay.mixing_time is not None and not low <= case.bay.mixing_time <= high:
        yield (
            "bay.mixing_time",
            f"{show(case.bay.mixing_time, 'time')} lies outside the range that bays are "
            f"thought to have, {show(low, 'time')} to {show(high, 'time')}",
        )
    gas = case.cold_gas
    if gas is not None and gas.pressure > DENSE_GAS.get(gas.gas, DENSE_GAS["any"]):
        yield (
            "cold_gas.pressure",
            f"{gas.gas} at {show(gas.pressure, 'gauge pressure')} is no ideal gas any more "
            "(or a liquid), and the run takes it for one; use a lower fill pressure",
        )


def _nose(case: Case) -> Iterator[Finding]:
    """Check the hollow nose and shoulder."""
    nose, joint, bore = case.nose, case.joint, case.bay.bore
    hollow = {"hollow_length": nose.hollow_length, "hollow_diameter": nose.hollow_diameter}
    if nose.shape == "closed":
        for name, value in hollow.items():
            if value is not None:
                yield f"nose.{name}", "the nose is closed, so it has no hollow; give its shape"
        if joint.shoulder_bore is not None:
            yield (
                "joint.shoulder_bore",
                "the nose is closed, so the shoulder is too; give the nose's shape, or book a "
                "recess as extra_volume",
            )
    else:
        for name, value in hollow.items():
            if not value:
                yield "nose.shape", f"an open nose needs {name}, above zero"
    if nose.hollow_diameter is not None and nose.hollow_diameter >= bore:
        yield (
            "nose.hollow_diameter",
            f"{length(nose.hollow_diameter)} inside is not less than the bore of {length(bore)}",
        )
    if joint.shoulder_bore is not None and joint.shoulder_bore >= bore:
        yield (
            "joint.shoulder_bore",
            f"{length(joint.shoulder_bore)} inside is not less than the bore of {length(bore)}",
        )
    blunt = nose.hollow_length and nose.hollow_diameter and nose.shape == "tangent ogive"
    if blunt and (nose.hollow_length or 0.0) < 0.5 * (nose.hollow_diameter or 0.0):
        yield (
            "nose.hollow_length",
            "a tangent ogive is at least half as long as it is wide; use an ellipsoid",
        )


def _contents(case: Case) -> Iterator[Finding]:
    """Check that the packed volume is known once."""
    contents = case.contents
    if contents is None:
        return
    if contents.volume is not None and contents.packing_density is not None:
        yield "contents.packing_density", "give either volume or packing_density, not both"
    filled = (contents.volume, contents.packing_density, contents.packed_length)
    if all(given is None for given in filled) and contents.mass > 0.0:
        yield (
            "contents",
            "give volume (measured), packed_length (of tube that they fill) or packing_density, "
            "so that the free volume is known",
        )


def _lengths(case: Case) -> Iterator[Finding]:
    """Check lengths along the tube."""
    bay, joint = case.bay, case.joint
    taken = bay.coupler_intrusion + joint.shoulder_length
    if taken > bay.tube_length:
        yield (
            "bay.tube_length",
            f"shoulder and coupler take {length(taken)} of a tube of {length(bay.tube_length)}",
        )
    packed = case.contents.packed_length if case.contents is not None else None
    if packed is not None and packed > bay.tube_length:
        yield (
            "contents.packed_length",
            f"{length(packed)} of contents in a tube of {length(bay.tube_length)}",
        )
    if case.cord is not None and case.cord.length < joint.shoulder_length:
        yield (
            "cord.length",
            f"a cord of {length(case.cord.length)} is taut before the shoulder of "
            f"{length(joint.shoulder_length)} is out",
        )


def _joint(case: Case) -> Iterator[Finding]:
    """Check that the joint is described once, and held by something."""
    joint = case.joint
    if joint.fit is not None and joint.pull_off is not None:
        yield (
            "joint.fit",
            "give either fit or pull_off, not both; the measured pull_off is the better one",
        )
    elif joint.fit is None and joint.pull_off is None:
        yield (
            "joint",
            'say how the shoulder fits: pull_off (measured, "0 N" if it falls out) or fit',
        )
    elif case.pins is None and not geometry.static_friction(case) and not joint.seal_drag:
        yield "joint.pull_off", "nothing holds the joint: no pins, no friction and no seal"


def _charge(case: Case) -> Iterator[Finding]:
    """Check grains and holder against the charge."""
    powder = case.powder
    if powder is None:
        return
    data = library.powder(powder.grade, case.materials)
    smallest = data.smallest_grain if powder.smallest_grain is None else powder.smallest_grain
    largest = data.largest_grain if powder.largest_grain is None else powder.largest_grain
    if smallest > largest:
        stem = f"{LIBRARY}{library.address('powders', powder.grade)}"
        ends = [
            f"{home}.{end}_grain" for home in ("powder", stem) for end in ("smallest", "largest")
        ]
        yield (
            next(path for path in ends if value_at(case, path) is not None),
            f"the smallest grain, {length(smallest)}, is larger than the largest, "
            f"{length(largest)}; {powder.grade} has {length(data.smallest_grain)} to "
            f"{length(data.largest_grain)}",
        )
    solid = powder.mass / data.grain_density
    if case.holder is not None and case.holder.volume < solid:
        yield (
            "holder.volume",
            f"{mass(powder.mass)} of powder takes {volume(solid)} without any gaps, more than the "
            f"holder's {volume(case.holder.volume)}",
        )


def _run(case: Case) -> Iterator[Finding]:
    """Check that the run is long enough to begin."""
    delay = case.powder.ignition_delay if case.powder is not None else 0.0
    delay = case.cold_gas.opening_delay if case.cold_gas is not None else delay
    if case.run.end_time <= delay:
        yield (
            "run.end_time",
            f"the run ends at {show(case.run.end_time, 'time')}, before the gas comes at "
            f"{show(delay, 'time')}",
        )


def _setting(case: Case) -> Iterator[Finding]:
    """Check that the airframe stays on its stand before the shot."""
    setting = case.setting
    slope = math.tan(abs(setting.attitude))
    if setting.kind == "stand" and slope >= setting.stand_friction:
        yield (
            "setting.attitude",
            f"{show(setting.attitude, 'angle')} is too steep for a stand with friction "
            f'{setting.stand_friction:g}: the airframe would slide by itself; use kind = "clamped"',
        )


def _space(case: Case) -> Iterator[Finding]:
    """Check the free volume, once everything that makes it up is consistent."""
    free = geometry.free_volume(case)
    room = free.total - free.parts.get("contents", 0.0) - free.parts.get("holder", 0.0)
    contents = geometry.contents_volume(case)
    if room <= 0.0:
        yield "bay.tube_length", "the shoulder and coupler leave no free volume in the bay"
    elif case.holder is not None and case.holder.volume >= room:
        yield (
            "holder.volume",
            f"a holder of {volume(case.holder.volume)} in a bay of {volume(room)}",
        )
    elif contents >= room:
        keys = ("volume", "packing_density", "packed_length")
        key = next(key for key in keys if getattr(case.contents, key) is not None)
        yield f"contents.{key}", f"the contents fill {volume(contents)} of a {volume(room)} bay"
    elif free.total <= 0.0:
        yield "holder.volume", "contents and holder leave no free volume in the bay"
    elif case.run.chamber == "bay" and _absurd(case, free.total):
        yield (
            "powder.mass",
            f"{_static(case, free.total)}, and no bay is meant for that: check the unit of the "
            "mass (1 g is 15.4 grain) and the units of the bay's lengths and volumes. Only where "
            "all of them are right, and this is a published shot of a closed vessel or a mortar "
            'and no bay, say so: chamber = "vessel" in [run]',
        )


def _vessel(case: Case) -> Iterator[Finding]:
    """Say that a charge is too much for any bay, where the case says that it is none."""
    free = geometry.free_volume(case).total
    if case.run.chamber == "vessel" and _absurd(case, free):
        yield (
            "run.chamber",
            f"taken as a vessel, not as a bay: {_static(case, free)}, far beyond any bay; "
            "if this is one, a unit was mistyped",
        )


def _absurd(case: Case, free: float) -> bool:
    """Say whether a charge is more than any bay is meant for."""
    return (
        case.powder is not None and static_rule.pressure(case.powder.mass, free) > ABSURD_PRESSURE
    )


def _static(case: Case, free: float) -> str:
    """Return what the static rule says of the charge, as the beginning of a sentence."""
    assert case.powder is not None
    pressure = show(static_rule.pressure(case.powder.mass, free), "gauge pressure")
    return f"{mass(case.powder.mass)} in {volume(free)} gives {pressure} by the static rule"
