"""The cord: what it carries against what it stands, which cord would do, and what a brake takes.

All variants are the same members: shots drawn by the same scores, run once up to where a cord
first acts, and from there on with every cord (:func:`baypulse.members.outcomes.run_to_cord`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from baypulse.case import cord_fields
from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.outcomes import run_members
from baypulse.members.parts import StudyError
from baypulse.members.pool import pool_of
from baypulse.run.simulation import simulate
from baypulse.studies.cord import braking
from baypulse.studies.cord.cord_bench import Bench, Members
from baypulse.studies.cord.result import CordKind, Cords, Link, Point, spans

WANTED = (1.0, 20.0)
"""Margins that can be asked for."""

MEMBERS = 512
"""Members of every cord: the first half of a block, a Sobol' sample too."""

FEWEST = 50
"""Members in which the bay must separate, so that there is a load to judge."""

CLOSE = 0.005
"""Margin above the wanted one, relative, at which the search of a length ends."""

NARROW = 0.002
"""Relative width of the bracket of lengths at which it ends too."""

LONGEST_RUN = 60.0
"""Time [s] after which a run ends, so that a long cord is taut before."""


def cord(
    case: Case,
    *,
    wanted: float = 2.0,
    members: int = MEMBERS,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Cords:
    """Hold a case's cord against its load, and look for one that holds a wanted margin.

    Parameters
    ----------
    case : Case
        With its spreads; the library's are used where the case has no measured value.
    wanted : float
        Strength of the weakest link over the load that 95 % of the members shall have at least,
        from 1 to 20.
    members : int
        Of every cord, from 50 to 1024.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.

    Raises
    ------
    StudyError
        If there is no cord, the margin is impossible, or the bay hardly ever opens.
    """
    if not WANTED[0] <= wanted <= WANTED[1]:
        raise StudyError(
            f"a margin of {wanted:g} is asked for; give one from {WANTED[0]:g} (just enough) to "
            f"{WANTED[1]:g}"
        )
    if not FEWEST <= members <= draws.BLOCK:
        raise StudyError(
            f"{members} simulated shots are asked for; give from {FEWEST} to {draws.BLOCK}"
        )
    if case.cord is None:
        raise StudyError(f"{case.name}: there is no cord in this case; add [cord] to it")
    whole = replace(case, run=replace(case.run, end_time=max(case.run.end_time, LONGEST_RUN)))
    bench = Bench(whole, seed, members, workers)
    own = bench.run(whole)
    if own.size < FEWEST:
        raise StudyError(
            f"{case.name}: this bay separates in {own.size} of {members} shots, so there is no "
            "load of the cord to judge; first find a charge that opens it (baypulse window)"
        )
    result = simulate(whole)
    about = members * (2 + 6 * len(bench.names) + braking.TRIAL_STAGES)
    runs = 2 * members + 1
    _tell(progress, runs, about)
    kinds = []
    with pool_of(workers) as pool:
        for kind in pool.map(lambda name: _kind(bench, name, wanted), bench.names):
            kinds.append(kind)
            runs += members * len(kind.points) + 1
            _tell(progress, runs, about)
    trial, brakes = braking.brakes(bench)
    runs += (members + 1) * len(brakes)
    _tell(progress, about, about)
    strength = np.min([link for _, link in own.links], axis=0)
    bad = int((own.loads > strength).sum())
    parting, stages = braking.stages(bench, own, result)
    return Cords(
        case=case,
        wanted=wanted,
        seed=seed,
        members=members,
        result=result,
        opened=chance("separates", own.size, members),
        links=_links(whole, own),
        load=own.load,
        margins=spans(own.margins),
        exceeded=chance("the load exceeds a strength", bad, own.size),
        rebound=spans(own.column("velocity_after_jerk")),
        kinds=tuple(kinds),
        shortest=bench.shortest,
        longest=bench.longest,
        parting_energy=parting,
        stages=stages,
        trial=trial,
        brakes=brakes,
        runs=runs,
        warnings=(*draws.truncations(case), *braking.warnings(case, brakes)),
    )


def _tell(progress: Progress | None, done: int, about: int) -> None:
    if progress is not None:
        progress(min(done, about), about)


def _kind(bench: Bench, name: str, wanted: float) -> CordKind:
    """Search the length of one type."""
    assert bench.case.cord is not None
    present = bench.case.cord.length
    case = bench.with_cord(name)
    load = float(np.nan_to_num(run_members(case, {}, 1).column("cord_load"))[0])
    strength, weakest = cord_fields.cord_strength(case)
    grid = [bench.shortest, math.sqrt(bench.shortest * present), present]
    grid += [math.sqrt(bench.longest * present)]
    points = [bench.point(name, length) for length in sorted(set(grid))]
    if points[-1].load.margin < wanted:
        points.append(bench.point(name, bench.longest))
    run = lambda length: bench.point(name, length)  # noqa: E731
    needed, tried = least_length(run, points, wanted)
    return CordKind(
        name=name,
        own=name == bench.case.cord.type,
        strength=strength,
        weakest=weakest,
        nominal=strength / load if load else math.inf,
        present=next(point for point in points if point.length == present),
        points=tuple(sorted([*points, *tried], key=lambda point: point.length)),
        needed=needed,
        at_shortest=needed is points[0],
    )


def least_length(
    run: Callable[[float], Point], points: list[Point], wanted: float
) -> tuple[Point | None, list[Point]]:
    """Return the least length from which on the wanted margin is held.

    False position between logarithms, in which a margin that grows with a power of the length is a
    straight line, with Illinois' halving of an end that stays.

    Parameters
    ----------
    run : callable
        From a length [m] to its point.
    points : list of Point
        Lengths that were run, rising; they bracket the answer.
    wanted : float
        Margin.

    Returns
    -------
    needed : Point or None
        One that holds the margin, by at most :data:`CLOSE`, or at the end of a bracket as narrow
        as :data:`NARROW`; the first point where all hold it; None where the last does not.
    tried : list of Point
        What was run on the way.
    """

    def over(point: Point) -> float:
        # without any load the margin has no end: any large number will do to find the edge
        return math.log(min(point.load.margin, 1e3 * wanted) / wanted)

    below = [k for k, point in enumerate(points) if over(point) < 0.0]
    if not below:
        return points[0], []
    if below[-1] == len(points) - 1:
        return None, []
    low, high = points[below[-1]], points[below[-1] + 1]
    share_low, share_high, side = 1.0, 1.0, 0
    tried: list[Point] = []
    while over(high) > CLOSE and high.length > low.length * (1.0 + NARROW):
        # aim at the middle of what is close enough
        one, two = share_low * (over(low) - 0.5 * CLOSE), share_high * (over(high) - 0.5 * CLOSE)
        ends = math.log(low.length), math.log(high.length)
        at = (ends[0] * two - ends[1] * one) / (two - one)
        # an edge where the load ends altogether is found by halving
        if len(tried) % 4 == 3 or not ends[0] < at < ends[1]:
            at = 0.5 * (ends[0] + ends[1])
        point = run(math.exp(at))
        tried.append(point)
        if over(point) >= 0.0:
            high, share_high = point, 1.0
            share_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            low, share_low = point, 1.0
            share_high *= 0.5 if side == -1 else 1.0
            side = -1
    return high, tried


def _links(case: Case, own: Members) -> tuple[Link, ...]:
    nominal = {name: strength for strength, name in cord_fields.cord_links(case)}
    lowest = np.argmin([strength for _, strength in own.links], axis=0)
    found = [
        Link(
            name=name,
            strength=float(nominal[name]),
            strengths=spans(strengths),
            weakest=chance(name, int((lowest == k).sum()), own.size),
            exceeded=chance(name, int((own.loads > strengths).sum()), own.size),
        )
        for k, (name, strengths) in enumerate(own.links)
    ]
    return tuple(sorted(found, key=lambda link: link.strength))
