"""What the core is given of the cord: its curve, where it pulls, and its brake."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from baypulse.case import library
from baypulse.case.geometry import Array, Floats, first_given, side_by_side
from baypulse.case.materials import CordData
from baypulse.case.model import Case
from baypulse.case.spaces import packed
from baypulse.engine.parameters import NEVER


def cord_data(case: Case) -> CordData:
    """Return the data of the case's cord: the library's, with what was measured in its place."""
    cord = case.cord
    assert cord is not None
    measured = {
        name: value
        for name in ("break_load", "break_elongation")
        if (value := getattr(cord, name)) is not None
    }
    return replace(library.cord(cord.type, case.materials), **measured)


def cord_links(case: Case) -> list[tuple[float, str]]:
    """Return the strength [N] and the name of everything that the cord's load goes through."""
    assert case.cord is not None
    knot = library.knot(case.cord.knot, case.materials)
    strength = cord_data(case).break_load * knot.efficiency * case.cord.wear
    links = [(strength, f"cord ({case.cord.knot})")]
    if case.cord.anchor_strength is not None:
        links.append((case.cord.anchor_strength, "anchor"))
    return links


def cord_strength(case: Case) -> tuple[float, str]:
    """Return the strength of the weakest link [N] and its name, of a single shot."""
    return min(cord_links(case))


def cord_fields(case: Case) -> dict[str, Any]:
    """Return the fields of the cord and its brake."""
    cord = case.cord
    if cord is None:
        return {
            "pickup_travel": NEVER, "cord_travel": NEVER,
            "cord_length": 1.0, "cord_load": 0.0, "cord_strain": 1.0, "cord_exponent": 1.0,
            "cord_damping": 0.0, "cord_set": 0.0,
            **dict.fromkeys(("brake_start", "brake_stop", "brake_force"), np.zeros(0)),
        }  # fmt: skip
    data = cord_data(case)
    taut = taut_travel(case)
    return {
        "pickup_travel": cord.nose_share * taut if packed(case) else NEVER,
        "cord_travel": taut,
        "cord_length": cord.length,
        "cord_load": data.break_load,
        "cord_strain": data.break_elongation,
        "cord_exponent": data.exponent,
        "cord_damping": data.damping_ratio,
        "cord_set": data.permanent_set,
        **_brakes(case, taut),
    }


def earliest_taut(case: Case) -> Floats:
    """Return the least travel at which the cord may pull: with the shoulder well out [m]."""
    return case.joint.shoulder_length + 0.3 * case.bay.bore


def taut_travel(case: Case) -> Floats:
    """Return the travel at which the whole cord is taut [m]."""
    assert case.cord is not None
    bay = case.bay
    # the anchors are already as far apart as the faces of the bay; never taut in the tube
    apart = bay.tube_length - bay.coupler_intrusion - case.joint.shoulder_length
    return np.maximum(case.cord.length - apart, earliest_taut(case))


def brake_stages(case: Case) -> tuple[Array, Array, Array]:
    """Return force [N], stroke and length [m] of every stage of the cord's brake.

    Returns
    -------
    tuple of ndarray, each of shape (n_brakes,) or (members, n_brakes)
        In the order in which they tear, the weakest first: all of them feel the same pull.
    """
    rows = [
        (each.force, each.stroke, np.maximum(first_given(each.length, each.stroke), each.stroke))
        for each in case.brakes
        for _ in range(each.count)
    ]
    if not rows:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    columns = np.broadcast_arrays(*(side_by_side(column) for column in zip(*rows, strict=True)))
    order = np.argsort(columns[0], axis=-1, kind="stable")
    force, stroke, length = (np.take_along_axis(column, order, -1) for column in columns)
    return force, stroke, length


def _brakes(case: Case, taut: float) -> dict[str, Array]:
    force, stroke, length = brake_stages(case)
    if not force.size:
        return {"brake_start": force, "brake_stop": force, "brake_force": force}
    # what the bundles from here on still hold is missing until the whole cord is taut
    held = np.cumsum(length[..., ::-1], axis=-1)[..., ::-1]
    end, least = (np.asarray(edge)[..., None] for edge in (taut, earliest_taut(case)))
    start = np.maximum(end - held, least)
    after = np.maximum(end - (held - length), least)
    return {
        "brake_start": start,
        "brake_stop": np.minimum(start + stroke, after),
        "brake_force": force,
    }
