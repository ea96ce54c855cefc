"""A short case to begin with: what is measured of a bay, and what stands in for the rest.

What nobody measured is left out, where the library then answers with a wide spread, or stands there
with a spread and a remark, so that ``baypulse check`` ranks it among what to measure next.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from baypulse.case import library, quantities, static_rule, units
from baypulse.case.casefile.keys import key_at, options
from baypulse.case.casefile.reader import Reader
from baypulse.case.explanation import comment
from baypulse.case.first_values import FIRST_VALUES, FirstValue
from baypulse.case.geometry import USUAL_TIGHTNESS, circle_area
from baypulse.case.model import Case, RulePressure
from baypulse.case.spec import Choice, Count, Number
from baypulse.caution import CAUTION

TYPICAL = "typical, not measured"
"""Source of a value that stands in for one that nobody measured."""

RULE = "empty-bay rule, common practice, no source: see baypulse window"
"""Source of a charge that nobody chose."""

USUAL_SHOULDER = 1.0
"""Shoulder in the tube over the bore; common practice, no source."""

USUAL_TUBE = 4.0
"""Tube over the bore, of an example; estimate."""

USUAL_PACK = 0.5
"""Share of the space behind the shoulder that is packed; estimate, 0.2 to 0.8 are met."""

USUAL_DENSITY = 350.0
"""Mass of a packed parachute by volume [kg/m^3]; estimate."""

USUAL_MASS = 2.7
"""Mass of the whole rocket [kg] at the usual bore; grows with its cube; estimate."""

USUAL_AHEAD = 0.22
"""Share of it ahead of the joint of a single bay; estimate."""

LEAST_BEHIND = 0.1
"""Share of it that is behind a joint at the least, where more was said to be ahead; estimate."""

AHEAD, WHOLE = "rocket.ahead", "rocket.whole"
"""Among the numbers of a new case: share of the rocket ahead of the joint, and its mass [kg]."""

COMMON = {"bay.bore", "bay.wall", "bay.wall_thickness", "pins.thread", "powder.grade"}
"""What the bays of one rocket have in common as a rule."""

USUAL_BORE = 0.075
"""Bore of an example [m]."""

SLENDER, STOUT = 0.08, 0.13
"""Bores [m] from which three pins, and four of a larger thread, are usual; common practice, no
source."""


@dataclass(frozen=True)
class Stand:
    """What stands in a new case for one key.

    Attributes
    ----------
    text : str
        As typed, or a whole number as text.
    spread : str
        One standard deviation, such as ``"30 %"``; empty for none.
    source : str
        Empty where it was measured.
    """

    text: str
    spread: str = ""
    source: str = ""


class NewCase:
    """What was given of a new bay, as it comes in, and what is typical for the rest.

    Parameters
    ----------
    system : str or None
        ``"us"`` or ``"si"`` for what is typical; that of the bore when left out.
    cold_gas : bool
        Whether a reservoir, of an example, stands in place of the powder.
    ahead : float
        Share of the whole rocket that usually lies ahead of this joint.
    """

    def __init__(
        self, system: str | None = None, *, cold_gas: bool = False, ahead: float = USUAL_AHEAD
    ) -> None:
        self.asked_system, self.cold_gas = system, cold_gas
        self.stands: dict[str, Stand] = {}
        self.numbers: dict[str, float] = {AHEAD: ahead}

    @property
    def system(self) -> str:
        """Units of what is typical."""
        bore = self.stands.get("bay.bore", Stand("75 mm")).text
        inches = units.unit_of(bore, "length") in quantities.INCHES
        return self.asked_system or (quantities.US if inches else quantities.SI)

    def open(self) -> list[FirstValue]:
        """Return what nobody has given yet and this case has a use for."""
        useless = {"powder.mass"} if self.cold_gas else set()
        if self.stands.get("pins.count") == Stand("0"):
            useless.add("pins.thread")
        return [
            each for each in FIRST_VALUES
            if each.path not in useless and not {each.path, each.word_key} & set(self.stands)
        ]  # fmt: skip

    def take(self, first: FirstValue, text: str) -> str:
        """Take a value as typed; return what is wrong with it, or nothing.

        Parameters
        ----------
        first : FirstValue
            Which.
        text : str
            A value with its unit, a whole number, or a word of the library.
        """
        words = options(_choice(first.word_key)) if first.word_key else ()
        if text in words:
            self.stands[first.word_key] = Stand(text)
            return ""
        spec = key_at(first.path).spec
        if (first.path, text) == ("pins.count", "0"):
            self.stands[first.path] = Stand(text)
            return ""
        reader = Reader("", {}, Case)
        whole = isinstance(spec, Count) and text.isdecimal() and len(text) < len(str(spec.high)) + 3
        value = reader.typed(first.path, spec, int(text) if whole else text)
        if reader.problems:
            also = f"; or one of these words: {', '.join(words)}" if words else ""
            return reader.problems[0].text + also
        self._hold(first.path, Stand(value if isinstance(value, str) else text))
        return ""

    def typical(self, first: FirstValue) -> Stand | None:
        """Return what stands in where nothing was measured; None where it is left out."""
        rule = _RULES.get(first.path)
        return None if rule is None else rule(self.numbers, self.system)

    def typical_forces(self, first: FirstValue) -> dict[str, str]:
        """Return the usual force of each class of fit or tightness: its shear times pi D L."""
        spec = _choice(first.word_key)
        length = self.numbers[_TOUCHING[first.path]]
        touching = math.pi * self.numbers["bay.bore"] * length
        return {
            name: _typed(library.entry(spec.table, name).shear * touching, "force", self.system)
            for name in options(spec)
            if name != USUAL_TIGHTNESS
        }

    def leave(self, first: FirstValue) -> None:
        """Take it that nobody measured this: what is typical stands in, or the library's class."""
        stand = self.typical(first)
        if stand is not None:
            self._hold(first.path, stand)
        else:
            self.stands[first.word_key] = Stand(_UNMEASURED[first.word_key])

    def forget(self, paths: Iterable[str]) -> None:
        """Drop values, so that they are open again."""
        for path in paths:
            self.stands.pop(path, None)

    def share(self, other: NewCase) -> None:
        """Take over what the bays of one airframe have in common, and how heavy the rocket is."""
        for path in COMMON & set(other.stands) - set(self.stands):
            self._hold(path, other.stands[path])
        self.numbers[WHOLE] = sum(
            other.numbers[path] for path in ("nose.mass", "airframe.mass", "contents.mass")
        )

    def rows(self) -> dict[str, Stand]:
        """Return what stands in the case, with what is typical where nothing was given."""
        for first in self.open():
            self.leave(first)
        places = (path for each in FIRST_VALUES for path in (each.path, each.word_key))
        rows = {path: self.stands[path] for path in places if path in self.stands}
        rows |= _RESERVOIR if self.cold_gas else {"powder.grade": Stand("3F")}
        rows |= _BESIDE
        without_pins = rows["pins.count"] == Stand("0")
        unwanted = (*["powder."] * self.cold_gas, *["pins."] * without_pins)
        return {path: row for path, row in rows.items() if not path.startswith(unwanted)}

    def text(self) -> str:
        """Return the case, as TOML, with what is typical where nothing was given."""
        return new_case_text(self.rows())

    def _hold(self, path: str, stand: Stand) -> None:
        self.stands[path] = stand
        spec = key_at(path).spec
        if isinstance(spec, Number):
            self.numbers[path] = units.parse(stand.text, spec.dimension)


def _choice(path: str) -> Choice:
    spec = key_at(path).spec
    assert isinstance(spec, Choice)
    return spec


def new_case_text(rows: Mapping[str, Stand], *, title: str = "My bay", rocket: str = "") -> str:
    """Return a short case.

    Parameters
    ----------
    rows : mapping of str to Stand
        From :meth:`NewCase.rows`, or what of them no rocket file shares.
    title : str
        Of the case.
    rocket : str
        Name of the rocket file that holds the rest; empty for none.

    Returns
    -------
    str
        TOML.
    """
    also = f" What the bays of the rocket share stands in {rocket}: give that to baypulse."
    head = [f"title = {_quoted(title)}", "", *comment(_ABOUT + also * bool(rocket)), ""]
    return "\n".join([*head, *comment(CAUTION), *_tables(rows)]) + "\n"


def shared_rows(cases: Sequence[Mapping[str, Stand]]) -> dict[str, Stand]:
    """Return the rows of the airframe and its habits that all cases of a rocket have alike."""
    first, *others = cases
    return {
        path: row for path, row in first.items()
        if path in COMMON and all(other.get(path) == row for other in others)
    }  # fmt: skip


def new_rocket_text(shared: Mapping[str, Stand], files: Mapping[str, str]) -> str:
    """Return a rocket file.

    Parameters
    ----------
    shared : mapping of str to Stand
        From :func:`shared_rows`.
    files : mapping of str to str
        Case files by the names of the bays, in the order in which they fire.

    Returns
    -------
    str
        TOML.
    """
    bays = [
        line for name, file in files.items()
        for line in ("", "[[bays]]", f"name = {_quoted(name)}", f"case = {_quoted(file)}",
                     '# fore_drag_area = "12 cm^2"  # with [coast]: Cd A of all ahead of the joint')
    ]  # fmt: skip
    head = ['title = "My rocket"', "", *comment(_ABOUT_ROCKET)]
    return "\n".join([*head, *_tables(shared, "shared."), *bays]) + "\n"


def _tables(rows: Mapping[str, Stand], below: str = "") -> list[str]:
    """Return the tables of some rows, and what sleeps in them."""
    lines: list[str] = []
    for table in _TABLES:
        mine = [path for path in rows if path.startswith(f"{table}.")]
        if mine:
            lines += ["", f"[{below}{table}]", *(_line(path, rows[path]) for path in mine)]
            lines += [line for path, line in _ASLEEP.items()
                      if path.startswith(f"{table}.") and path not in rows]  # fmt: skip
    return lines


_ABOUT = (
    "A value is text with its unit, as you write it: 3 1/2 in, 2 lb 3 oz, 75 mm, 12 psig. What is "
    f'"{TYPICAL}" scatters widely: type yours, and baypulse check says which to measure first. '
    "baypulse keys lists every other key with its help; baypulse keys vent those about a vent."
)

_ABOUT_ROCKET = (
    "The bays stand in the order in which they fire. What is below [shared] holds in each of their "
    "cases that does not give its own: any key of a case may stand there."
)

_TABLES = ("powder", "cold_gas", "bay", "contents", "nose", "airframe", "joint", "pins", "cord")

_TOUCHING = {
    "joint.pull_off": "joint.shoulder_length",
    "contents.extraction_force": "contents.packed_length",
}
"""The length over which what is pulled touches the tube."""

_UNMEASURED = {"joint.fit": "snug", "contents.tightness": USUAL_TIGHTNESS}
"""Classes of the library that stand in for a force that nobody measured."""

_EXAMPLE = "example: type yours"

_BESIDE = {
    "bay.wall_thickness": Stand("2 mm", "20 %", TYPICAL),
    "cord.type": Stand("tubular nylon 9/16 in"),
    "cord.length": Stand("5 m", source=_EXAMPLE),
}
"""What nobody is asked for, and a first answer needs. Limits stand in the library."""

_RESERVOIR = {
    f"cold_gas.{name}": Stand(value)
    for name, value in {
        "gas": "nitrogen", "volume": "60 cm^3", "pressure": "300 psig", "orifice": "5 mm",
    }.items()
}  # fmt: skip
"""A reservoir of an example; estimate."""

_ASLEEP = {
    "contents.extraction_force": '# extraction_force = "12 N"  # pull the pack out with a luggage '
    "scale: it moves the charge",
    "joint.pull_off": '# pull_off = "25 N"  # pull the nose off without pins, three times; '
    "then drop fit",
}
"""Lines for what was not measured and is left out."""


def _line(path: str, row: Stand) -> str:
    """Return the line of one key."""
    name = path.partition(".")[2]
    spec = key_at(path).spec
    if isinstance(spec, Count):
        return f"{name} = {row.text}"
    parts = [f"value = {_quoted(row.text)}"]
    parts += [f"spread = {_quoted(row.spread)}"] if row.spread else []
    parts += [f"source = {_quoted(row.source)}"] if row.source else []
    scatters = isinstance(spec, Number) and len(parts) > 1
    value = f"{{ {', '.join(parts)} }}" if scatters else _quoted(row.text)
    what = next((f"  # {each.what}" for each in FIRST_VALUES if each.path == path), "")
    return f"{name} = {value}{what}"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _typed(value: float, dimension: str, system: str) -> str:
    """Return a value of two digits as somebody would type it in one system of units."""
    if dimension == "mass":
        unit = ("lb" if value > 0.2 else "oz") if system == quantities.US else "g"
    else:
        unit = {"length": ("mm", "in"), "force": ("N", "lbf")}[dimension][system == quantities.US]
    return f"{quantities.digits(units.convert(value, unit), 2)} {unit}"


def _of_size(
    dimension: str, spread: str, size: Callable[[Mapping[str, float]], float],
    source: str = TYPICAL,
) -> Callable[[Mapping[str, float], str], Stand]:  # fmt: skip
    """Return a rule that scales with what is held."""
    return lambda held, system: Stand(_typed(size(held), dimension, system), spread, source)


def _whole(held: Mapping[str, float]) -> float:
    """Return the mass of the rocket [kg], by its other bay or by its bore."""
    return held.get(WHOLE, USUAL_MASS * (held["bay.bore"] / USUAL_BORE) ** 3)


def _behind(held: Mapping[str, float]) -> float:
    """Return what is left of the rocket [kg] behind the joint, without the pack."""
    whole = _whole(held)
    return max(whole - held["nose.mass"] - held["contents.mass"], LEAST_BEHIND * whole)


def _space(held: Mapping[str, float]) -> float:
    """Return the length of tube [m] behind the shoulder."""
    return max(held["bay.tube_length"] - held["joint.shoulder_length"], 1e-3)


def _charge(held: Mapping[str, float], system: str) -> Stand:
    """Return the charge of the empty-bay rule, as a scale shows it; common practice, no source."""
    volume = circle_area(held["bay.bore"]) * _space(held)
    mass = static_rule.charge_mass(RulePressure().target, volume)
    step = quantities.scale_step(mass)
    return Stand(f"{1e3 * max(round(mass / step), 1) * step:.2f} g", source=RULE)


def _pins(held: Mapping[str, float], system: str) -> Stand:
    bore = held["bay.bore"]
    return Stand("2" if bore < SLENDER else "3" if bore < STOUT else "4")


def _thread(held: Mapping[str, float], system: str) -> Stand:
    return Stand("#2-56" if held["bay.bore"] < STOUT else "#4-40")


_RULES: dict[str, Callable[[Mapping[str, float], str], Stand]] = {
    "bay.bore": _of_size("length", "", lambda held: USUAL_BORE, _EXAMPLE),
    "bay.tube_length": _of_size("length", "", lambda held: USUAL_TUBE * held["bay.bore"], _EXAMPLE),
    "bay.wall": lambda held, system: Stand("fibre glass"),
    "joint.shoulder_length": _of_size(
        "length", "10 %", lambda held: USUAL_SHOULDER * held["bay.bore"]
    ),
    "contents.packed_length": _of_size("length", "20 %", lambda held: USUAL_PACK * _space(held)),
    "contents.mass": _of_size(
        "mass", "20 %",
        lambda held: USUAL_DENSITY * circle_area(held["bay.bore"]) * held["contents.packed_length"],
    ),
    "nose.mass": _of_size("mass", "30 %", lambda held: held[AHEAD] * _whole(held)),
    "airframe.mass": _of_size("mass", "30 %", _behind),
    "pins.count": _pins,
    "pins.thread": _thread,
    "powder.mass": _charge,
}  # fmt: skip
"""What is typical, by path; what is not here is left out where it was not measured."""
