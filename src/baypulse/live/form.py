"""The fields and sliders of the page, from the one description of the keys: the model's."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from baypulse.case import geometry, library, quantities, units
from baypulse.case.casefile.keys import LIBRARY, Key, KeyTable, key_at, options, tables
from baypulse.case.casefile.library_table import used_places
from baypulse.case.first_values import FIRST_VALUES, FirstValue
from baypulse.case.model import Case
from baypulse.case.spec import Choice, Count, Number, Spec
from baypulse.live import quickness
from baypulse.live.draft import Draft

MEASURED = (
    "bay.bore", "bay.tube_length", "joint.shoulder_length", "contents.packed_length",
    "nose.mass", "airframe.mass", "joint.pull_off", "contents.extraction_force",
)  # fmt: skip
"""What is measured first, in the order of the page."""

MOST_PINS = 8
"""Pins of the slider, at most; a field takes more."""

FORCES = {
    "si": ("N", (1, 2, 4, 6, 8, 10, 12, 15, 18, 22, 26, 30, 35, 40, 50, 60, 75, 90, 120)),
    "us": ("lbf", (0.25, 0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25)),
}
"""Forces of the slider that pull the pack out."""

HOLES = {"si": ("mm", (1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 7, 8, 9, 10, 12)),
         "us": ("in", ("1/32", "3/64", "1/16", "5/64", "3/32", "7/64", "1/8", "9/64", "5/32",
                       "3/16", "7/32", "1/4", "5/16", "3/8", "1/2"))}  # fmt: skip
"""Holes of the slider, as drills come."""

AIRS = {"si": ("degC", range(-20, 46, 1)), "us": ("degF", range(-4, 114, 2))}
"""Temperatures of the slider."""

REPLACED = (
    "Numbers that this case takes from the library. One that you have measured yourself takes the "
    "library's place."
)
"""What is said above them."""

NO_VENT = "none"
"""What stands for a bay without a vent."""


def form(draft: Draft, case: Case) -> dict[str, Any]:
    """Return all fields of the page, with what stands in the case.

    Parameters
    ----------
    draft : Draft
        The case as the page has it.
    case : Case
        The same as it was read.
    """
    return {
        "measured": [_first(draft, each) for path in MEASURED for each in FIRST_VALUES
                     if each.path == path],
        "tables": [*(_table(each) for each in tables().values()), *_entries(case)],
        "values": values(case),
        "sliders": sliders(draft),
    }  # fmt: skip


def values(case: Case) -> dict[str, str]:
    """Return what is typed in a case, by path."""
    return {path: origin.text for path, origin in case.provenance.items() if origin.typed}


def sliders(draft: Draft) -> list[dict[str, Any]]:
    """Return the sliders beside that of the charge: path, texts of the places, the present one.

    Parameters
    ----------
    draft : Draft
        The case as the page has it; understood.
    """
    # the places follow from the case without what the sliders themselves did to it
    kept = {path: text for path, text in draft.typed.items() if not _of_slider(path)}
    case = replace(draft, typed=kept).case()
    system = draft.system or quantities.system_of(case)
    pins = 0 if case.pins is None else case.pins.count
    counts = [str(k) for k in range(max(MOST_PINS, pins) + 1)]
    measured = case.contents is not None and case.contents.extraction_force is not None
    pull = None if case.contents is None else float(geometry.extraction_force(case))
    found = [
        {"name": "pins", "label": "number of pins", "path": "pins.count", "steps": counts,
         "texts": list(counts), "at": pins, "told": str(pins)},
        _along("force", "force that pulls the pack out", "contents.extraction_force", "force",
               FORCES[system], pull, "" if measured else ", not measured"),
        _vent(case, system),
        _along("air", "temperature", "surroundings.temperature", "temperature", AIRS[system],
               float(geometry.air(case)[1])),
    ]  # fmt: skip
    if case.powder is not None:
        found.append(
            {"name": "quickness", "label": "powder burns", "path": quickness.PATH,
             "steps": quickness.texts(case), "texts": list(quickness.NAMES), "at": 2,
             "told": quickness.NAMES[2]}
        )  # fmt: skip
    for each in found:
        put = draft.typed.get(str(each["path"]), draft.typed.get(str(each.get("row", ""))))
        if put is not None:
            at = each["steps"].index(put) if put in each["steps"] else None
            each |= {"at": at, "told": put if at is None else each["texts"][at]}
    return found


def _of_slider(path: str) -> bool:
    """Say whether a slider sets a path from what stands there."""
    return path == quickness.PATH or path.startswith("openings[")


def _along(
    name: str, label: str, path: str, dimension: str, scale: tuple[str, Any],
    present: float | None, remark: str = "",
) -> dict[str, Any]:  # fmt: skip
    """Return a slider along values of one unit."""
    unit, places = scale
    steps = [f"{place} {unit}" for place in places]
    read = [units.parse(step, dimension) for step in steps]
    at = None if present is None else min(range(len(read)), key=lambda k: abs(read[k] - present))
    texts = [quantities.show(value, dimension) for value in read]
    told = "none" if present is None else quantities.show(present, dimension) + remark
    return {"name": name, "label": label, "path": path, "steps": steps, "texts": texts, "at": at,
            "told": told}  # fmt: skip


def _vent(case: Case, system: str) -> dict[str, Any]:
    """Return the slider of the vent: the widest hole of the bay to the outside, or a new one."""
    holes = [
        (each.hole_diameter, k) for k, each in enumerate(case.openings)
        if {each.between, each.to} == {"bay", "outside"} and each.hole_diameter > 0.0
    ]  # fmt: skip
    row = max(holes)[1] if holes else len(case.openings)
    found = _along("vent", "vent", f"openings[{row}].diameter", "length", HOLES[system],
                   max(holes)[0] if holes else None)  # fmt: skip
    found["steps"].insert(0, "")
    found["texts"].insert(0, NO_VENT)
    found["at"] = 0 if found["at"] is None else found["at"] + 1
    found["told"] = found["told"] if holes else NO_VENT
    # a row that was there goes away as a whole; a new one has a name
    named = {} if holes else {f"openings[{row}].name": "vent"}
    return found | {"row": f"openings[{row}]", "also": named}


def _first(draft: Draft, first: FirstValue) -> dict[str, Any]:
    """Return the field of a value that is measured first."""
    table, _, name = first.path.partition(".")
    key = tables()[table].keys[name]
    words: tuple[str, ...] = ()
    if first.word_key:
        home, _, word = first.word_key.partition(".")
        spec = tables()[home].keys[word].spec
        words = options(spec) if isinstance(spec, Choice) else ()
    stand = draft.stands().get(first.path)
    return {
        "path": first.path, "label": first.what, "how": first.how, "words": list(words),
        "word_path": first.word_key, **_shape(key),
        "typical": stand.text if stand and stand.source else "",
    }  # fmt: skip


def _table(table: KeyTable) -> dict[str, Any]:
    return {
        "name": table.name, "title": table.name.replace("_", " "), "help": table.help,
        "repeated": table.repeated,
        "optional": table.absent or table.repeated,
        "keys": [
            {"name": key.name, "help": key.spec.help, "required": key.required, **_shape(key)}
            for key in table.keys.values()
        ],
    }  # fmt: skip


def _entries(case: Case) -> list[dict[str, Any]]:
    """Return the entries of the library that a case rests on, each a table of its numbers."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for place in used_places(case):
        table, name, number = library.parts_of(place)
        fact, key = library.fact(place), key_at(LIBRARY + place)
        words = f"{number.replace('_', ' ')} of {name}: {fact.source}"
        shape = {**_shape(key), "default": fact.text}
        entry = found.setdefault(
            (table, name),
            {"name": LIBRARY + library.address(table, name), "repeated": False, "optional": False,
             "title": f"library: {table.replace('_', ' ')}, {name}", "help": REPLACED, "keys": []},
        )  # fmt: skip
        entry["keys"].append({"name": number, "help": words, "required": False, **shape})
    return list(found.values())


def _shape(key: Key) -> dict[str, Any]:
    """Return what a key takes: its words, its range, its default, an example."""
    spec: Spec = key.spec
    found: dict[str, Any] = {"example": spec.example, "options": [], "range": "", "default": ""}
    if isinstance(spec, Choice):
        found["options"] = list(options(spec))
        found["default"] = "" if key.default is None else str(key.default)
    elif isinstance(spec, Number):
        found["range"] = quantities.within(spec.low, spec.high, spec.dimension, spec.example)
        if key.default is not None and not key.required:
            found["default"] = quantities.show(key.default, spec.dimension)
    elif isinstance(spec, Count):
        found["range"] = f"{spec.low} to {spec.high}"
        found["default"] = "" if key.required or key.default is None else str(key.default)
    return found
