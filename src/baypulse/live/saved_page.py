"""One file with sliders that needs neither a network nor Python: for the phone and the field."""

from __future__ import annotations

import json
import re
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from baypulse.case import geometry, quantities
from baypulse.case.casefile import consistency
from baypulse.case.model import Case
from baypulse.caution import CAUTION
from baypulse.live.answer import ROOM, SHAPES
from baypulse.live.app import CHARTS, chart_file, page_file
from baypulse.live.axes import axis, drawn
from baypulse.live.drawing import drawing
from baypulse.live.grid import CLOSE, Grid, Lane, grid
from baypulse.live.ladder import said_of, told
from baypulse.live.quickness import NAMES as QUICKNESS
from baypulse.live.quickness import STEPS
from baypulse.members.blocks import Progress
from baypulse.run.result import VERDICTS, Parachute
from baypulse.show import identity
from baypulse.studies.run import words

SCRIPTS = ("dom.js", "charts.js", "controls.js", "saved.js")
"""Scripts of the page, in the order in which one needs the other."""

POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; "
    "base-uri 'none'; form-action 'none'"
)
"""What the page may load: nothing but itself."""

ROWS = (
    ("peak pressure", "gauge pressure"), ("speed when clear", "velocity"),
    ("peak load of the cord", "force"),
)  # fmt: skip
"""What the numbers of a lane are called, and their kinds."""

_IMPORT = re.compile(r"^import .*?;\n", re.MULTILINE | re.DOTALL)


def saved_page(case: Case, progress: Progress | None = None) -> str:
    """Return the page, in the units of the case.

    Parameters
    ----------
    case : Case
        Of which it is.
    progress : callable, optional
        Called with shots done, and how many there will be.
    """
    with quantities.written_in(quantities.system_of(case)):
        return _page(_data(grid(case, progress)))


def _page(data: dict[str, Any]) -> str:
    """Put data, scripts and styles into one file."""
    index = page_file("index.html") or ""
    symbols = index[index.index("<svg width") : index.index("</svg>\n<header") + len("</svg>")]
    library = "\n".join(chart_file(name).read_text("utf-8") for name in CHARTS)
    scripts = "\n".join(_plain(page_file(name) or "") for name in SCRIPTS)
    parts = {
        "policy": POLICY,
        "styles": page_file("live.css") or "",
        "symbols": symbols,
        "library": _inside(library),
        "scripts": _inside(scripts),
        # no text of a case can end the element that it stands in
        "data": json.dumps(data, allow_nan=False).replace("<", "\\u003c"),
    }
    pieces = re.split(r"\{\{(\w+)\}\}", page_file("saved.html") or "")
    return "".join(parts[piece] if k % 2 else piece for k, piece in enumerate(pieces))


def _plain(script: str) -> str:
    """Return a module as a part of one script: what it takes from the others is there already."""
    return re.sub(r"^export ", "", _IMPORT.sub("", script), flags=re.MULTILINE)


def _inside(script: str) -> str:
    """Return a script that cannot end its own element."""
    return script.replace("</script", "<\\/script")


def _data(found: Grid) -> dict[str, Any]:
    case = found.case
    made = ", ".join(f"{name} {number}" for name, number in identity.versions().items())
    return {
        "title": case.title,
        "caution": CAUTION,
        "pins": {"texts": [str(number) for number in found.pins],
                 "at": found.pins.index(0 if case.pins is None else case.pins.count)},
        "quickness": {
            "texts": [QUICKNESS[STEPS.index(step)] for step in found.steps],
            "at": found.steps.index(0.0),
        },
        "strips": [_strip(found, number) for number in found.pins],
        "lanes": [[_lane(found, found.lanes[number, step]) for step in found.steps]
                  for number in found.pins],
        "drawings": [drawing(found.lanes[number, 0.0].case) for number in found.pins],
        "doubts": [f"{key}: {sentence}" for key, sentence in consistency.doubts(case)],
        "interpolation": _interpolation(found),
        "made": f"Made with {made} of the case {identity.fingerprint([case], '')[:12]}.",
    }  # fmt: skip


def _interpolation(found: Grid) -> str:
    """Say how far interpolated numbers are from computed ones."""
    every = len(found.lanes) * len(found.charges)
    return (
        f"{every} shots were computed beforehand, one of each place of the sliders; nothing else "
        f"scatters. {found.interpolated} of them are shown as interpolated between their "
        f"neighbours: the greatest difference from the computed peak pressure or speed is "
        f"{quantities.percent(max(found.error, 1e-6))} %, and none above {100.0 * CLOSE:.0f} % is "
        "let stand. Chances are not on this page: the program has them."
    )


def _strip(found: Grid, number: int) -> dict[str, Any]:
    """Return the strip of one number of pins."""
    first, middle, last = found.steps[0], found.steps[len(found.steps) // 2], found.steps[-1]
    slow, usual, quick = (found.lanes[number, step].outcomes for step in (first, middle, last))
    fired = np.array(found.charges)
    said = said_of(fired, slow, usual, quick)
    return told(found.lanes[number, middle].case, found.charges, np.arange(fired.size), said)


def _lane(found: Grid, lane: Lane) -> dict[str, Any]:
    """Return what each charge of a lane does: verdict and numbers as texts, and its charts."""
    each = zip(lane.outcomes.verdict, lane.outcomes.contents, strict=True)
    return {
        "verdicts": [_verdict(int(verdict), int(contents)) for verdict, contents in each],
        "numbers": [
            [_texts(row, name, kind) for row, (name, kind) in zip(column, ROWS, strict=True)]
            for column in lane.numbers.T
        ],
        "charts": {"peak": _peak(found, lane), "speed": _speed(found, lane)},
    }


def _verdict(verdict: int, contents: int) -> list[str]:
    what, pack = VERDICTS[verdict], tuple(Parachute)[contents]
    return [words.headline(cast(Any, SimpleNamespace(verdict=what, contents=pack))), SHAPES[what]]


def _texts(value: float, name: str, kind: str) -> list[str]:
    return [name, quantities.show(float(value), kind) if np.isfinite(value) else "-"]


def _charge_axis(found: Grid) -> dict[str, Any]:
    kind = "mass" if found.case.powder is not None else "gauge pressure"
    return axis("charge", kind, found.charges[0], found.charges[-1])


def _line(found: Grid, values: np.ndarray, kind: str) -> dict[str, list[float]]:
    there = np.isfinite(values)
    what = "mass" if found.case.powder is not None else "gauge pressure"
    return {"x": drawn(np.array(found.charges)[there], what), "y": drawn(values[there], kind)}


def _chart(
    found: Grid, values: np.ndarray, label: str, kind: str, level: tuple[str, float] | None
) -> dict[str, Any]:
    high = max(float(np.nanmax(values)) if np.isfinite(values).any() else 0.0,
               0.0 if level is None else level[1])  # fmt: skip
    levels = [] if level is None else [
        {"at": drawn(np.array([level[1]]), kind)[0],
         "text": f"{level[0]} {quantities.short(level[1], kind)}"}
    ]  # fmt: skip
    return {
        "x": _charge_axis(found), "y": axis(label, kind, 0.0, ROOM * high),
        "line": _line(found, values, kind), "levels": levels, "marks": [],
        "empty": "" if np.isfinite(values).any() else "the joint does not separate",
    }  # fmt: skip


def _peak(found: Grid, lane: Lane) -> dict[str, Any]:
    name = "friction" if lane.case.pins is None else "friction and pins"
    level = (name, float(geometry.shot_hold(lane.case).pressure))
    return _chart(found, lane.numbers[0], "peak pressure", "gauge pressure", level)


def _speed(found: Grid, lane: Lane) -> dict[str, Any]:
    limit = found.case.limits.separation_velocity
    level = None if limit is None else ("limit", limit)
    return _chart(found, lane.numbers[1], "speed when clear", "velocity", level)
