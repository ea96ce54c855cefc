"""The cord as a brake: what its stages take, and the load with and without them."""

from __future__ import annotations

import math

import numpy as np

from baypulse.case import cord_fields, params
from baypulse.case.casefile.part_checks import brake_problems
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.case.quantities import show
from baypulse.engine.parameters import NEVER, Parameters
from baypulse.members.chances import chance
from baypulse.members.outcomes import run_members
from baypulse.run.result import EventKind, Parachute, Result
from baypulse.studies.cord.cord_bench import (
    TRIAL_STROKE,
    Bench,
    Members,
    with_trial,
    without_brakes,
)
from baypulse.studies.cord.result import BrakedCord, Stage, spans

TRIAL_STAGES = 6
"""Most stages of the brake that is tried where a case has none."""

STRENGTH_SHARE = 0.25
"""Greatest force of a tried stage, as a share of the weakest link's strength; estimate."""

LOAD_SHARE = 0.5
"""The same as a share of the load without a brake, since a stage that pulls about as hard as that
saves nothing; estimate."""


def brakes(bench: Bench) -> tuple[tuple[float, float], tuple[BrakedCord, ...]]:
    """Return force and stroke of a trial, and the cord without and with a brake."""
    assert bench.case.cord is not None
    # from the pause on no length may scatter
    case = with_value(bench.case, "cord.length", bench.case.cord.length)
    bare = without_brakes(case)
    found = [_brake(bench, bare)]
    if case.brakes:
        return (math.nan, math.nan), (*found, _brake(bench, case))
    if found[0].nominal == 0.0:
        return (math.nan, math.nan), tuple(found)
    strength = cord_fields.cord_strength(case)[0]
    force = min(STRENGTH_SHARE * strength, LOAD_SHARE * found[0].nominal)
    for count in range(1, TRIAL_STAGES + 1):
        tried = with_trial(bare, count, force)
        first = float(params.parameters(tried).brake_start[0])
        if not list(brake_problems(tried)) and first >= bench.first_pull:
            found.append(_brake(bench, tried))
    return (force, TRIAL_STROKE), tuple(found)


def _brake(bench: Bench, case: Case) -> BrakedCord:
    """Run a cord with its stages, or without any."""
    members = bench.run(case)
    one = run_members(case, {}, 1)
    loads, travel = one.column("cord_load"), one.column("greatest_travel")
    contents = members.outcomes.contents[members.opened]
    out = contents == Parachute.COMES_OUT.code
    asked = bool((contents != Parachute.NOT_ASKED.code).any())
    rests = np.isnan(members.column("taut_time")) & (members.loads > 0.0)
    return BrakedCord(
        stages=sum(bundle.count for bundle in case.brakes),
        nominal=float(np.nan_to_num(loads[0])),
        energy=float(_taken(params.parameters(case), travel).sum()),
        load=members.load,
        stopped=chance("the brake stops them", int(rests.sum()), members.size),
        contents_out=chance("parachute out", int(out.sum()), members.size) if asked else None,
    )


def _taken(P: Parameters, travel: np.ndarray) -> np.ndarray:
    """Return what each stage takes [J], shape (members, n_brakes)."""
    inside = np.clip(travel[:, None], P.brake_start, P.brake_stop) - P.brake_start
    return P.brake_force * inside


def stages(bench: Bench, own: Members, result: Result) -> tuple[float | None, tuple[Stage, ...]]:
    """Return the energy of the separation when the brake begins, and what each stage does."""
    case = bench.case
    if not case.brakes:
        return None, ()
    begins = result.event(EventKind.BRAKE_TEARS)
    parting = None
    if begins is not None:
        P = params.parameters(case)
        # by then the contents go with the section that leaves
        out = result.event(EventKind.PICKUP) is not None
        nose = P.nose_mass + (P.contents_mass if out else 0.0)
        frame = P.airframe_mass + (0.0 if out else P.contents_mass)
        reduced = nose if P.stand_friction >= NEVER else nose * frame / (nose + frame)
        parting = 0.5 * reduced * begins.velocity**2
    force, stroke, length = cord_fields.brake_stages(case)
    bundles = sorted(case.brakes, key=lambda bundle: bundle.force)
    names = [bundle.name for bundle in bundles for _ in range(bundle.count)]
    travel = own.outcomes.column("greatest_travel")
    taken = _taken(own.P, travel)[own.opened]
    torn = (travel[:, None] >= own.P.brake_stop)[own.opened]
    return parting, tuple(
        Stage(
            name=name,
            force=float(force[k]),
            stroke=float(stroke[k]),
            length=float(length[k]),
            energy=result.numbers.brake_energy[k],
            energies=spans(taken[:, k]),
            torn=chance(f"stage {k + 1} torn", int(torn[:, k].sum()), own.size),
        )
        for k, name in enumerate(names)
    )


def warnings(case: Case, found: tuple[BrakedCord, ...]) -> list[str]:
    """Return what to know about a brake before trusting it."""
    if not case.brakes:
        return []
    strongest = max(bundle.force for bundle in case.brakes)
    bare = found[0].nominal
    if bare and strongest > bare:
        return [
            f"a stage that needs {show(strongest, 'force')} would not tear: without the "
            f"brake the cord carries {show(bare, 'force')} at most, and stretching takes "
            "that; this model takes the cord as rigid until the brake is torn, so its load is "
            "too high here"
        ]
    return []
