"""The ground-test plan: a ladder of charges up to the ground-test charge, and what each will do."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from baypulse.case import geometry, params
from baypulse.case.model import Case, Setting
from baypulse.case.quantities import show
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.charge_results import Trial, quantiles
from baypulse.members.charge_search import Search
from baypulse.members.charges import Charges, Tally, trial_of, with_charge
from baypulse.members.outcomes import Outcomes
from baypulse.members.parts import StudyError
from baypulse.observed.build_weights import WeighedBuilds
from baypulse.observed.same_day import same_day
from baypulse.observed.slide_distance import Slide, slides, without_cord
from baypulse.run.result import VERDICTS, Parachute
from baypulse.run.simulation import simulate
from baypulse.studies.window.compute import SIDE_MEMBERS, answer, backup
from baypulse.studies.window.result import Remedy, Window

HALF_MEMBERS = 128
"""Members that find the charge at which half of the bays separate."""

SMALLEST = 1.1
"""Least factor from one step to the next: common practice, no source."""

LARGEST = 1.5
"""Greatest factor from one step to the next: common practice, no source."""

STEPS = 5
"""Steps of a ladder, one less where they would lie too close."""

GRAM = 1e-3
"""A gram [kg]."""

PSI = 6894.757293168361
"""A pound-force on a square inch [Pa]."""

BAR = 1e5
"""A bar [Pa]."""


@dataclass(frozen=True)
class LadderStep:
    """One step of the ladder, and what it is predicted to do on the ground.

    Attributes
    ----------
    charge : float
        SI: kg of powder, or Pa gauge of a reservoir's fill.
    trial : Trial
        What the members do on the ground.
    verdicts : tuple of Chance
        Of each verdict, in the order of :data:`baypulse.run.result.VERDICTS`.
    stay_in : Chance or None
        That the parachute stays in the tube, of the bays that separate; None where that is not
        asked, or none opens.
    shut_travel : tuple of float
        Travel of the joint below which 5, 50 and 95 % of the members lie that do not separate [m];
        NaN where all open.
    nose, airframe : Slide
        How far both sections go, in the shot without scatter.
    free_nose : float
        How far the leaving section would slide if the cord let go, at the greatest separation
        velocity below which 95 % lie [m]; NaN where none opens.
    aloft : Chance or None
        That the bay separates in flight; None where the case itself stands on the ground.
    """

    charge: float
    trial: Trial
    verdicts: tuple[Chance, ...]
    stay_in: Chance | None
    shut_travel: tuple[float, float, float]
    nose: Slide
    airframe: Slide
    free_nose: float
    aloft: Chance | None

    @property
    def likely(self) -> Chance:
        """The most probable verdict."""
        return max(self.verdicts, key=lambda each: each.count)


@dataclass(frozen=True)
class GroundTestPlan:
    """A ground-test plan.

    Attributes
    ----------
    window : Window
        The charge window that it stands on; its recommended charge is the ground-test charge.
    ground : Case
        The case as it is tested: that of the window, or on a stand for one in flight.
    steps : tuple of Step
        The ladder, rising.
    half : float
        Charge at which half of the bays separate on the ground [SI].
    backup : float
        Charge of the second channel, which is tested alone [SI].
    friction, pins : float
        Force that starts the joint without pins, and of all pins together [N], in slow pulls that
        people can repeat.
    held_pressure : float
        Gauge pressure that overcomes both in a shot [Pa].
    members, runs : int
        Members of each step, and runs of the engine for the whole plan.
    reached : bool
        Whether the last step is the recommended charge; else that exceeds a limit on the ground.
    """

    window: Window
    ground: Case
    steps: tuple[LadderStep, ...]
    half: float
    backup: float
    friction: float
    pins: float
    held_pressure: float
    members: int
    runs: int
    reached: bool

    @property
    def case(self) -> Case:
        """The case, as it was read."""
        return self.window.case


def plan(
    case: Case,
    *,
    wanted: float = 0.99,
    members: int | None = None,
    seed: int = 1,
    workers: int = 1,
    learnt: WeighedBuilds | None = None,
    progress: Progress | None = None,
    found: Window | None = None,
) -> GroundTestPlan:
    """Plan the ground test of a bay.

    Parameters
    ----------
    case : Case
        On the ground or in flight. One in flight has its charge from there, and is tested on a
        stand at sea level.
    wanted, members, seed, workers, learnt
        As for :func:`baypulse.studies.window.compute.window`.
    progress : callable, optional
        Called with runs done, and about how many there will be.
    found : Window, optional
        The window of the case, where it is known already by the same seed and the same shots.

    Returns
    -------
    Plan
        The window, and a ladder of charges up to the recommended one.

    Raises
    ------
    StudyError
        Also if the window recommends no charge: then there is nothing to prove, and the text says
        what to change.
    """
    more = HALF_MEMBERS + STEPS * SIDE_MEMBERS
    first = None if progress is None else lambda done, all_: progress(done, all_ + more)
    if found is None:
        found = answer(
            case, wanted=wanted, members=members, seed=seed, workers=workers, learnt=learnt,
            progress=first, beside=False,
        ).findings  # fmt: skip
    if found.recommended is None:
        raise StudyError(refusal(found))
    tally = Tally(progress, found.runs + more)
    tally.runs = found.runs
    ground = on_ground(case)
    top = found.recommended.charge
    points = None if learnt is None else learnt.points
    few = Charges(ground, HALF_MEMBERS, seed, workers, tally, points=points)
    assert found.least is not None  # else nothing is recommended
    half = _half(few, found.least.charge)
    behind = -(-found.members // draws.BLOCK)
    tested = Charges(ground, SIDE_MEMBERS, seed, workers, tally, skip=behind, points=points)
    flying = None
    if ground is not case:
        flying = Charges(case, SIDE_MEMBERS, seed, workers, tally, skip=behind, points=points)
    steps = []
    for charge in ladder(half, top, grain_of(case)):
        step = _step(tested, flying, charge)
        # what the window allows in flight may be too much on the ground
        if flying is not None and step.trial.fails_hard.low > 1.0 - wanted:
            break
        steps.append(step)
    if not steps:
        low, high = (show(each, found.dimension) for each in (charge, top))
        raise StudyError(
            f"{case.name}: no plan is written: on the ground even {low} would exceed a limit too "
            f"often, and in flight it takes {high}; look for what differs between both"
        )
    hold = geometry.shot_hold(ground)
    return GroundTestPlan(
        window=found,
        ground=ground,
        steps=tuple(steps),
        half=half,
        backup=backup(top, found.highest if found.most is None else found.most.charge),
        friction=hold.friction + hold.seal,
        pins=float(params.slow_pins(ground).sum()),
        held_pressure=(hold.friction + hold.seal + params.shot_pins(ground).sum()) / hold.area,
        members=tested.members,
        runs=tally.runs,
        reached=steps[-1].charge == top,
    )


def refusal(found: Window) -> str:
    """Return why a window without a recommended charge gets no plan, and what to do.

    Parameters
    ----------
    found : Window
        Of which nothing is recommended.
    """
    if found.after is not None and found.after.contradiction is not None:
        odd = ", ".join(each.name for each in found.after.contradiction.shots)
        return (
            f"{found.case.name}: no plan is written: the shots in {found.after.file} contradict "
            f"the case (what fits least: {odd}); find out why with baypulse why, and change the "
            "case until it describes its shots; baypulse window says what would have to differ"
        )
    opening = [remedy for remedy in found.remedies if remedy.opens_window]
    # of a window that is not empty, the last reason says why nothing is recommended all the same
    reasons = list(found.reasons if found.empty else found.reasons[-1:])
    if opening:
        reasons.append(_helps(opening[0], found))
    return (
        f"{found.case.name}: no plan is written, since there is no ground-test charge. "
        f"{' '.join(reasons)} Change the bay, or measure what scatters, before anything is fired; "
        "baypulse window shows more"
    )


def _helps(remedy: Remedy, found: Window) -> str:
    assert remedy.least is not None
    least = show(remedy.least, found.dimension)
    to = "on" if remedy.most is None else f"to {show(remedy.most, found.dimension)}"
    return f"With {remedy.change} there is a window from {least} {to}."


def on_ground(case: Case) -> Case:
    """Return the case as it can be tested on the ground: a flight on a stand at sea level.

    A typed temperature comes down with it (:func:`baypulse.observed.same_day.same_day`).

    Parameters
    ----------
    case : Case
        The case; returned as it is unless it flies.
    """
    if case.setting.kind != "flight":
        return case
    setting = replace(case.setting, kind="stand", attitude=Setting().attitude)
    moved = ("setting.attitude", "nose.drag", "airframe.drag")
    below = same_day(case, 0.0)
    kept = {path: s for path, s in below.spreads.items() if not path.startswith(moved)}
    return replace(below, setting=setting, spreads=kept)


def grain_of(case: Case) -> str:
    """Return what the steps are rounded to: ``"gram"``, ``"psi"`` or ``"bar"``.

    Parameters
    ----------
    case : Case
        A reservoir is read on the gauge in whose unit the case was typed.
    """
    if case.powder is not None:
        return "gram"
    typed = case.provenance.get("cold_gas.pressure")
    return "psi" if typed is not None and "psi" in typed.text.lower() else "bar"


def ladder(half: float, top: float, grain: str) -> list[float]:
    """Return charges from where half of the bays separate up to the ground-test charge, rising.

    In equal factors between :data:`SMALLEST` and :data:`LARGEST`, rounded to what can be weighed
    (0.05 g; 0.01 g below half a gram) or read on a gauge (5 psi or 0.1 bar).

    Parameters
    ----------
    half : float
        Charge at which half of the bays separate [SI].
    top : float
        The last step, not rounded [SI].
    grain : str
        As of :func:`grain_of`.

    Examples
    --------
    >>> [round(1e3 * step, 2) for step in ladder(0.18e-3, 0.59e-3, "gram")]
    [0.18, 0.24, 0.33, 0.44, 0.59]
    """
    widest = math.log(top / half) if half > 0.0 else math.inf
    steps = STEPS if widest >= (STEPS - 1) * math.log(SMALLEST) else STEPS - 1
    gaps = steps - 1
    widest = min(max(widest, gaps * math.log(SMALLEST)), gaps * math.log(LARGEST))
    wished = [top * math.exp(-widest * k / gaps) for k in range(gaps, 0, -1)]
    below = {rounded for rounded in (_rounded(w, grain) for w in wished) if 0.0 < rounded < top}
    return [*sorted(below), top]


def _rounded(charge: float, grain: str) -> float:
    if grain == "gram":
        parts, unit = (20.0 if charge >= 0.5 * GRAM else 100.0), GRAM
        return round(charge / unit * parts) / parts * unit
    unit = 5.0 * PSI if grain == "psi" else 0.1 * BAR
    return round(charge / unit) * unit


def _half(charges: Charges, start: float) -> float:
    """Return the charge at which half of the bays separate, or the least that was looked at."""
    search = Search(charges, 0.5, start)
    return search.least_charge() or search.floor


def _step(tested: Charges, flying: Charges | None, charge: float) -> LadderStep:
    """Fire one charge."""
    outcomes = tested.fire(charge)
    trial = trial_of(tested.case, "", charge, outcomes)
    nose, airframe = slides(simulate(with_charge(tested.case, charge)), trial.greatest_velocity[1])
    return LadderStep(
        charge=charge,
        trial=trial,
        verdicts=_verdicts(outcomes),
        stay_in=_stay_in(outcomes),
        shut_travel=quantiles(outcomes.column("greatest_travel")[~outcomes.opened]),
        nose=nose,
        airframe=airframe,
        free_nose=without_cord(tested.case, trial.greatest_velocity[2]),
        aloft=None if flying is None else flying.trial("", charge).opens,
    )


def _verdicts(outcomes: Outcomes) -> tuple[Chance, ...]:
    counts = np.bincount(outcomes.verdict, minlength=len(VERDICTS))
    n = outcomes.verdict.size
    return tuple(chance(name, int(k), n) for name, k in zip(VERDICTS, counts, strict=True))


def _stay_in(outcomes: Outcomes) -> Chance | None:
    held = outcomes.contents[outcomes.opened]
    if not held.size or np.all(outcomes.contents == Parachute.NOT_ASKED.code):
        return None
    return chance("parachute stays in", int((held == Parachute.STAYS_IN.code).sum()), held.size)
