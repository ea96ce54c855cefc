"""A study of a rocket's joints as numbers for other programs: ``numbers.json``."""

from __future__ import annotations

import hashlib
from typing import Any

from baypulse.caution import CAUTION
from baypulse.show.data import both, case_as_read, clean, doubts, fingerprint, versions
from baypulse.show.study_data import SCHEMA_VERSION, chance_numbers
from baypulse.studies.joints import text as words
from baypulse.studies.joints.result import BayOpening, Drag, Jerk, JerkChange, Joints


def joints_numbers(joints: Joints) -> dict[str, Any]:
    """Return everything that was found about a rocket's joints, ready for JSON.

    Every name of a number that has a unit ends in it; lists stand in SI.

    Parameters
    ----------
    joints : Joints
        Findings.
    """
    rocket, coast = joints.rocket, joints.rocket.coast
    return {
        "schema_version": SCHEMA_VERSION,
        "study": "joints",
        "name": rocket.name,
        "title": rocket.title,
        "note": rocket.note,
        "answer": words.headline(joints),
        "computed": words.computed(joints),
        "simulated_shots": joints.members,
        "seed": joints.seed,
        "runs": joints.runs,
        "confidence_ratio": 0.95,
        "openings": [_opening(each) for each in joints.openings],
        "coast": None if coast is None else {
            **both("speed", coast.speed, "velocity"),
            **both("altitude", coast.altitude, "length"),
            **both("drag_area", coast.drag_area, "area"),
            "density_kg_per_m3": clean(joints.density),
            "deceleration_m_per_s2": clean(joints.deceleration),
            "joints": [_drag(each) for each in joints.drags],
        },
        "warnings": list(joints.warnings),
        "cases": {bay.name: case_as_read(bay.case) for bay in rocket.bays},
        "doubts": {bay.name: doubts(bay.case) for bay in rocket.bays},
        "caution": CAUTION,
        "versions": versions(),
        "sha256": rocket_fingerprint(joints),
    }  # fmt: skip


def rocket_fingerprint(joints: Joints) -> str:
    """Return the SHA-256 of the cases, the coast and the version."""
    parts = [fingerprint(bay.case) for bay in joints.rocket.bays]
    parts.append(repr((joints.rocket.coast, [b.fore_drag_area for b in joints.rocket.bays])))
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _opening(opening: BayOpening) -> dict[str, Any]:
    return {
        "name": opening.name,
        "verdict": opening.verdict,
        "parachute": opening.contents,
        **both("cord_load", opening.cord_load, "force"),
        "times_s": [clean(t) for t in opening.times],
        "cord_loads_N": [clean(f) for f in opening.loads],
        "jerks": [_jerk(opening, each) for each in opening.jerks],
    }


def _jerk(opening: BayOpening, jerk: Jerk) -> dict[str, Any]:
    motion = jerk.parting
    return {
        "joint": jerk.joint,
        "side": jerk.side,
        **both("mass_beyond", jerk.beyond, "mass"),
        **both("section_mass", jerk.section, "mass"),
        "share_ratio": clean(jerk.share),
        **both("felt", jerk.felt, "force"),
        "sudden_ratio": clean(jerk.sudden),
        **both("friction", jerk.friction, "force"),
        **both("pins", jerk.pins, "force"),
        "pin_count": jerk.pin_count,
        **both("hold", jerk.hold, "force"),
        "motion": {
            "parted": motion.parted,
            "pins_failed": motion.pins_failed,
            "held_by_pins": motion.held_by_pins,
            **both("greatest_travel", motion.greatest_travel, "length"),
        },
        "lets_go_ratio": clean(jerk.lets_go),
        "comes_out_ratio": clean(jerk.comes_out),
        "dynamic_factor_ratio": clean(jerk.dynamic_factor),
        "chances": [chance_numbers(each) for each in jerk.chances],
        "checked": jerk.checked,
        "agreed": jerk.agreed,
        "changes": [_change(each) for each in jerk.changes],
        "sentences": words.jerk_sentences(opening, jerk),
    }


def _change(change: JerkChange) -> dict[str, Any]:
    return {
        "change": change.words,
        **both("cord_load", change.cord_load, "force"),
        **both("hold", change.hold, "force"),
        "lets_go_ratio": clean(change.factor),
        "verdict": change.verdict,
        "parachute": change.contents,
        "elsewhere": change.aside,
    }


def _drag(drag: Drag) -> dict[str, Any]:
    return {
        "joint": drag.name,
        **both("fore_mass", drag.fore_mass, "mass"),
        **both("aft_mass", drag.aft_mass, "mass"),
        **both("fore_drag", drag.fore_drag, "force"),
        **both("aft_drag", drag.aft_drag, "force"),
        **both("force", drag.force, "force"),
        **both("friction", drag.friction, "force"),
        **both("pins", drag.pins, "force"),
        **both("gives_at", drag.gives_at, "velocity"),
        "chance": chance_numbers(drag.chance),
    }
