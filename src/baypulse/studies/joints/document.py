"""What the study of a rocket's joints says: every jerk, what would help, the coast."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from baypulse.case.quantities import about
from baypulse.show.cells import both, clean
from baypulse.show.document import (
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Part,
    Quantity,
    Said,
    Section,
    Table,
)
from baypulse.show.phrases import charge
from baypulse.studies.joints import figures, words
from baypulse.studies.joints.result import BayOpening, Jerk, JerkChange, Joints

UNKNOWN = (
    "The cord's load is that of the model: one line, two bodies, no wave on the cord, no parachute "
    "that fills. The joint is taken as straight; one that is bent by a section swinging round on "
    "the cord gives earlier, and so do pins cracked by an earlier test. The packed contents are "
    "not counted in the section that the cord slows, and the vacuum behind a shoulder that moves "
    "out is left out: both on the safe side. Air trapped in a bay that is vented too little pushes "
    "at its joint as the air outside thins, which is not counted. Drag areas are taken as "
    "constant. The bays are drawn independently: pins of one bag are more alike than that. A "
    "ground test of the first bay with the other joint pinned as in flight tells more than all of "
    "this."
)
"""What the study does not know."""

ROCKET_CAPTION = (
    "Full bars: the force put on slowly. Diamonds: as hard as the motion of the joint makes it. "
    "Hatched bars: with the factor assumed for a sudden load. The heavy mark is where pins and "
    "friction give."
)
"""What the figure of all joints shows."""

LETS_GO = Column("lets_go_ratio", "Lets go at, times the load", absent="no multiple tried")
"""How far a joint is from letting go."""


def document(joints: Joints) -> Document:
    """Return what was found about a rocket's joints.

    Parameters
    ----------
    joints : Joints
        Findings.
    """
    rocket = joints.rocket
    return Document(
        study="joints",
        name=rocket.name,
        title=rocket.title,
        note=rocket.note,
        about="Bays in the order in which they fire: " + ", ".join(bay.name for bay in rocket.bays),
        headline=words.headline(joints),
        sentences=tuple(words.meaning(joints)),
        next_steps=tuple(words.next_steps(joints)),
        first=_jerks(joints),
        warnings=(*joints.warnings, *words.kept_air(joints)),
        sections=(
            Section("", (Figure("rocket", ROCKET_CAPTION, lambda: figures.rocket(joints)),)),
            *(_opening(joints, opening, k) for k, opening in enumerate(joints.openings, start=1)),
            *([_coast(joints)] if joints.drags else []),
        ),
        unknown=UNKNOWN,
        effort=f"{joints.members:,} shots of each opening, seed {joints.seed}; {joints.runs:,} "
        "runs.",
        findings=_findings(joints),
        cases=tuple(bay.case for bay in rocket.bays),
        also_read=rocket.source_text,
    )


def compare(found: Sequence[Joints]) -> Table:
    """Return a table that compares several rockets.

    Parameters
    ----------
    found : sequence of Joints
        Findings of each.
    """
    rows: list[tuple[Any, ...]] = []
    for joints in found:
        for opening in joints.openings:
            rows += [
                (joints.name, f"{opening.name} opens", jerk.joint, jerk.lets_go,
                 words.by_motion(jerk))
                for jerk in opening.jerks
            ]  # fmt: skip
        rows += [
            (joints.name, "coast", drag.name, _margin(drag.force, drag.hold), drag.chance)
            for drag in joints.drags
        ]
    return Table(
        "rockets",
        (
            Column("rocket", "rocket"), Column("when", "when"), Column("joint", "joint"),
            Column("lets_go_ratio", "times the load", absent="no multiple"),
            Column("lets_go", "lets go"),
        ),
        tuple(rows),
        title="Rockets compared: times the load at which each joint lets go, and how often it does",
    )  # fmt: skip


def _margin(force: float, hold: float) -> float | None:
    return hold / force if force > 0.0 else None


def _jerks(joints: Joints) -> Table | None:
    """Return every jerk beside what holds against it."""
    rows = tuple(
        (jerk.joint, opening.name, jerk.felt, jerk.hold, jerk.lets_go, words.by_motion(jerk))
        for opening in joints.openings
        for jerk in opening.jerks
    )
    columns = (
        Column("joint", "Joint"), Column("opening", "Jerked by"), Column("felt", "Feels", "force"),
        Column("hold", "Holds", "force"), LETS_GO, Column("by_motion", "Lets go"),
    )  # fmt: skip
    return Table("jerks", columns, rows) if rows else None


def _opening(joints: Joints, opening: BayOpening, k: int) -> Section:
    """Return what one opening does to the joints that are still closed."""
    parts: list[Part] = [f"Charge: {charge(opening.case)}."]
    if not opening.jerks:
        parts.append(words.nothing_jerked(joints, opening))
    for j, jerk in enumerate(opening.jerks, start=k + 1):
        caption = (
            f"What the joint of the {jerk.joint} feels of the cord's load, and how far it moves "
            "under it: through friction, the pins' clearance and their give."
        )
        parts += [
            Figure(f"jerk-{k}-{j}", caption, partial(figures.jerked, opening, jerk)),
            *words.jerk_sentences(opening, jerk),
            Facts(f"jerk_{k}_{j}", _facts(jerk)),
            _changes(opening, jerk, f"changes_{k}_{j}"),
        ]
    return Section(f"The {opening.name} opens", tuple(parts))


def _facts(jerk: Jerk) -> tuple[Fact, ...]:
    """Return the numbers behind one jerk."""
    moves, share = jerk.parting, Said(Quantity(jerk.share, "ratio"), about(jerk.share))

    def force(value: float) -> Quantity:
        return Quantity(value, "force")

    return (
        Fact("mass_beyond", "Hangs on the joint", Quantity(jerk.beyond, "mass")),
        Fact("section_mass", f"Section on the {jerk.side} side", Quantity(jerk.section, "mass")),
        Fact("share", "Share of the cord's load that it feels", share),
        Fact("felt", "Feels, put on slowly", force(jerk.felt)),
        Fact("sudden_ratio", "Factor assumed for a sudden load", jerk.sudden),
        Fact("dynamic_factor_ratio", "Factor by its motion", jerk.dynamic_factor),
        Fact("friction", "Friction holds", force(jerk.friction)),
        Fact("pin_count", "Pins", jerk.pin_count),
        Fact("pins", "Pins hold", force(jerk.pins)),
        Fact("greatest_travel", "Moves", Quantity(moves.greatest_travel, "length")),
        Fact("pins_failed", "Pins past their strength", moves.pins_failed),
        Fact("held_by_pins", "Held by its pins", moves.held_by_pins),
        Fact("parted", "Comes out of its tube", moves.parted),
        Fact("comes_out_ratio", "Comes out at, times the load", jerk.comes_out),
        *(
            Fact(name, f"Lets go {each.name}", each)
            for name, each in zip(("slowly", "by_motion", "assumed"), jerk.chances, strict=True)
        ),
        Fact("checked", "Shots followed under their own curves", jerk.checked),
        Fact("agreed", "Of these as this one curve's factor says", jerk.agreed),
    )


def _changes(opening: BayOpening, jerk: Jerk, name: str) -> Table:
    """Return what each change does, after the bay as it is."""
    present = JerkChange(
        "as it is", opening.cord_load, jerk.hold, jerk.lets_go, opening.own_verdict,
        opening.contents,
    )  # fmt: skip
    return Table(
        name,
        (
            Column("change", "Change"), Column("cord_load", "Cord's load", "force"),
            Column("hold", "The joint holds", "force"), LETS_GO,
            Column("verdict", "The bay that separates"), Column("elsewhere", "Elsewhere"),
        ),
        tuple(
            (each.words, each.cord_load, each.hold, each.factor,
             Said(str(each.verdict), words.verdict(each)), each.aside)
            for each in (present, *jerk.changes)
        ),
        title=f"What would help the {jerk.joint}, each by a run in which nothing scatters",
    )  # fmt: skip


def _coast(joints: Joints) -> Section:
    """Return what drag does to each joint."""
    table = Table(
        "coast",
        (
            Column("joint", "Joint"), Column("fore_drag", "Drag ahead", "force"),
            Column("aft_drag", "Drag behind", "force"), Column("force", "Pulls it with"),
            Column("hold", "It holds", "force"),
            Column("margin_ratio", "Margin", absent="not pulled at"),
            Column("gives_at", "Gives at", "velocity", absent="no speed"),
            Column("parts", "Parts"),
        ),
        tuple(
            (each.name, each.fore_drag, each.aft_drag,
             Said(Quantity(each.force, "force"), words.pull(each)), each.hold,
             _margin(each.force, each.hold), each.gives_at, each.chance)
            for each in joints.drags
        ),
    )  # fmt: skip
    return Section("Drag in coast", (*words.coast_sentences(joints), table))


def _findings(joints: Joints) -> dict[str, Any]:
    """Return what stands in no table."""
    coast = joints.rocket.coast
    return {
        "shots": joints.members,
        "seed": joints.seed,
        "runs": joints.runs,
        "confidence_ratio": 0.95,
        "openings": [
            {
                "name": each.name,
                "verdict": each.verdict,
                "parachute": each.contents,
                **both("cord_load", each.cord_load, "force"),
                "times_s": clean(each.times),
                "cord_loads_N": clean(each.loads),
            }
            for each in joints.openings
        ],
        "coast": None if coast is None else {
            **both("speed", coast.speed, "velocity"),
            **both("altitude", coast.altitude, "length"),
            **both("drag_area", coast.drag_area, "area"),
            "density_kg_per_m3": clean(joints.density),
            "deceleration_m_per_s2": clean(joints.deceleration),
            "joints": [
                {
                    "joint": each.name,
                    **both("fore_mass", each.fore_mass, "mass"),
                    **both("aft_mass", each.aft_mass, "mass"),
                    **both("friction", each.friction, "force"),
                    **both("pins", each.pins, "force"),
                }
                for each in joints.drags
            ],
        },
    }  # fmt: skip
