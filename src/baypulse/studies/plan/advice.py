"""What a ground-test plan tells everybody: what an outcome means, and what to tick off.

Common practice where nothing else is said; none of it is a safety code.
"""

from __future__ import annotations

from collections.abc import Iterator

from baypulse.case.model import Case

SOURCE = (
    "Common practice, no source, and no safety code: where your code or your safety officer says "
    "otherwise, they are right."
)
"""Said under the decisions and the checklist."""


def decisions(case: Case) -> list[tuple[str, str, str]]:
    """Return what is seen, what it means, and what is done next.

    Parameters
    ----------
    case : Case
        With powder or with a gas.
    """
    return _of_powder() if case.powder is not None else _of_gas()


def _of_powder() -> list[tuple[str, str, str]]:
    return [
        (
            "No sound at all",
            "Misfire: no current, a dead igniter, or powder it did not reach. It may still fire.",
            "Nobody moves. Wait as long as your safety code and the safety officer say; lead off "
            "and shorted before anybody goes near. Then change one thing.",
        ),
        (
            "Bang, no separation",
            "Too little pressure: a leak, an open motor end, more room than measured, or a joint "
            "held harder than planned.",
            "Do not simply double the charge. Check cap, vents, wire holes, pins; pull the joint "
            "again. All as planned: next step. Shut at two steps that should separate: stop.",
        ),
        (
            "Moves and stops: partial separation",
            "The pressure was lost on the way, the shoulder binds further in, or one pin held and "
            "the joint tilted.",
            "Slide the joint by hand over its whole length; look at every pin. Put that right and "
            "repeat the step; if nothing was wrong, next step.",
        ),
        *_opened("powder"),
        (
            "Slow: a long flame, loose grains, no push",
            "The powder burnt too slowly: damp, or its holder opened early.",
            "The same weight again, dry and packed as planned. Not more.",
        ),
        *_differs("charge not weighed, packing, pins of another lot"),
    ]  # fmt: skip


def _of_gas() -> list[tuple[str, str, str]]:
    return [
        (
            "No sound at all",
            "The valve did not open. It may still do so, and the reservoir is full.",
            "Nobody moves. Wait as long as your safety code and the safety officer say; cut the "
            "current and vent the reservoir from afar before anybody goes near.",
        ),
        (
            "Hiss, no separation",
            "Too little pressure: a leak, an open motor end, a valve that opens slowly, or a joint "
            "held harder than planned.",
            "Do not simply double the fill. Check cap, vents, wire holes, pins; pull the joint "
            "again. All as planned: next step. Shut at two steps that should separate: stop.",
        ),
        (
            "Moves and stops: partial separation",
            "The pressure was lost on the way, the shoulder binds further in, or one pin held and "
            "the joint tilted.",
            "Slide the joint by hand over its whole length; look at every pin. Put that right and "
            "repeat the step; if nothing was wrong, next step.",
        ),
        *_opened("gas"),
        *_differs("fill or temperature not the same, packing, pins of another lot"),
    ]  # fmt: skip


def _opened(what: str) -> list[tuple[str, str, str]]:
    return [
        (
            "Separates, parachute stays in",
            "The push ends before the parachute is out: tight packing, or a cord that is taut too "
            "early.",
            "Measure what pulls the pack out. More cord between section and packing, looser "
            f"packing; the same step again. Not {what} alone.",
        ),
        (
            "Separates softly, parachute out",
            "As wanted.",
            "Next step up to the ground-test charge; that one again, as often as the table of "
            "successes asks.",
        ),
        (
            "Separates too hard: the cord cracks, parts fly back, something tears",
            "More energy than cord and anchors like. Pins set the pressure at which it lets go.",
            "Stop and inspect everything. One step down, or fewer pins, or a longer, softer cord. "
            "Never up.",
        ),
    ]


def _differs(why: str) -> list[tuple[str, str, str]]:
    return [
        (
            "Same step, another outcome",
            f"Something is not the same: {why}.",
            "Find it before the next step; the chances above hold for one set-up only.",
        )
    ]


def checklist(case: Case) -> list[tuple[str, list[str]]]:
    """Return what to tick off, in groups.

    Parameters
    ----------
    case : Case
        With powder or with a gas.
    """
    powder = case.powder is not None
    pins = f"{case.pins.count} new pins, the planned kind" if case.pins is not None else "No pins"
    return [
        (
            "The bay, as it will fly",
            [
                "Motor end closed as in flight",
                "The same vents and wire holes open, and no others",
                "Same packing, same hands",
                "Same fit: paint, tape, shoulder",
                pins,
                "Pull-off without pins measured and written down",
            ],
        ),
        (
            "The charge" if powder else "The gas",
            [
                "Weighed in grams, not grains, not by the scoop",
                "One charge at a time; all other powder closed and away from flame, spark and heat",
                "Igniter shorted until it is connected",
            ]
            if powder
            else [
                "Gauge read at the temperature of the test",
                "Reservoir, valve and hoses good for that pressure",
                "Filled last, from afar if it can be",
            ],
        ),
        (
            "The place",
            [
                "Nobody in line with either end; both sections may fly",
                "Airframe backed or clamped as planned, soft ground ahead",
                "Eye and ear protection on, everybody",
                "Means to put out a fire, first aid" if powder else "First aid",
                "Camera from the side, a scale in the picture",
            ],
        ),
        (
            "Firing",
            [
                "Long lead, fired from the side; key in one pocket",
                "Igniter last, all others away" if powder else "Valve wire last, all others away",
                "Countdown said aloud",
                "After a misfire wait as the code says",
                "Lead off and shorted before anybody goes near",
                "Tube, pins, cord, anchors inspected between shots",
            ],
        ),
    ]


ROWS = 10
"""Shots that the record has room for."""


BOX = "\N{BALLOT BOX}"
"""A box to tick."""


def record(case: Case) -> tuple[str, ...]:
    """Return the columns of the blank record.

    Parameters
    ----------
    case : Case
        With powder or with a gas.
    """
    filled = ("Charge, g", "Powder lot") if case.powder is not None else ("Fill, gauge", "Bottle")
    return (
        "No.", "Date, time", *filled, "Pins", "Pull-off", "Air °, % RH", "Heard, seen", "Apart",
        "Parachute out", "Distance", "Video", "Initials",
    )  # fmt: skip


def blank_rows(case: Case) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the record: their number, and boxes to tick.

    Parameters
    ----------
    case : Case
        With powder or with a gas.
    """
    heard = ("bang", "smoke", "flame") if case.powder is not None else ("hiss", "bang", "fog")
    ticks = {"Heard, seen": heard, "Apart": ("yes", "no"), "Parachute out": ("yes", "no")}
    boxes = ["\n".join(f"{BOX} {word}" for word in ticks.get(name, ())) for name in record(case)]
    for number in range(1, ROWS + 1):
        yield str(number), *boxes[1:]


BLANKS = ("Date", "Place, elevation", "Weather", "Who fires", "Safety officer")
"""To be filled in at the head."""
