"""The charge window: the least charge that opens a bay, the most that breaks nothing."""

from __future__ import annotations

import math

import numpy as np

from baypulse.case import geometry, params, quantities
from baypulse.case.casefile.keys import key_at, number_at, value_at
from baypulse.case.model import Case
from baypulse.case.origins import DEFAULT_LIMIT
from baypulse.case.spec import Number
from baypulse.members import draws
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.charge_results import Edge, Trial
from baypulse.members.charge_search import Ends, Search
from baypulse.members.charges import Charges, Tally, with_charge, works
from baypulse.members.ensemble import Ensemble
from baypulse.members.member_count import member_count
from baypulse.members.parts import StudyError
from baypulse.observed.build_weights import WeighedBuilds
from baypulse.observed.contradiction import contradiction, misfit
from baypulse.run.breakdown import static_rule
from baypulse.run.simulation import simulate
from baypulse.studies.window.result import AfterShots, Window
from baypulse.studies.window.survey import Survey, pilot

CHECK_MEMBERS = 512
"""Members drawn apart from those of the search that check the recommended charge."""

SIDE_MEMBERS = 256
"""Members drawn apart that check every other charge."""

SUSPECT = 3.0
"""Least charge over the static rule's for the empty bay above which no charge is recommended;
estimate: 0.6 to 1.1 at a chance of 90 % in bench-76, high-76, main-98 and many-152, and not even 3
opens drogue-98 with its uncapped motor."""

SUSPICION = (
    f"It may take more than {SUSPECT:g} times what the static rule gives for the empty bay: the "
    "gas goes somewhere, or much of the powder does not burn. No charge is recommended; look for "
    "an open path (a motor that is not capped, a hole, a loose fit) or a tube that is not part of "
    "the bay, and close it before any powder is added."
)

MOST_OVER_LEAST = 2.0
"""Recommended charge over the least at most; a choice of this program."""

BACKUP_OVER_RECOMMENDED = 1.25
"""Backup over the recommended charge at most; common practice, no source."""

RECOMMENDED_RULE = (
    "The ground-test charge is the middle of the window as a factor, equally far from both ends, "
    "but at most twice the least charge: a choice of this program, no source."
)
"""How the recommended charge follows from the window."""

BACKUP_RULE = (
    "The backup is a quarter more than that, but no more than the top of the window: common "
    "practice, no source."
)
"""How the backup follows from it."""


def answer(
    case: Case,
    *,
    wanted: float = 0.99,
    members: int | None = None,
    seed: int = 1,
    workers: int = 1,
    learnt: WeighedBuilds | None = None,
    progress: Progress | None = None,
    beside: bool = True,
) -> Answered[Window]:
    """Find the charges that open a bay with a target reliability and break nothing.

    Parameters
    ----------
    case : Case
        With its spreads; the library's are used where the case has no measured value.
    wanted : float
        Chance of separation, from 0.5 to 0.9999; any limit may be exceeded with the rest of it.
    members : int, optional
        Behind each end; by default 1536, or so many that fifteen fail at it.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    learnt : Learnt, optional
        What shots of this case taught: the members are then builds that agree with them.
    progress : callable, optional
        Called with runs done, and about how many there will be.
    beside : bool
        Whether other charges are tried beside the recommended one: its backup, both at once, the
        backup after a failure, the static rule's, that of the case; and whether the most charge
        gets its interval, on which nothing else rests.

    Returns
    -------
    Answered
        The window as an answer tells it: ends, recommended and backup charge with checks of their
        own, the static rule beside them, and what would open it where it is empty.

    Raises
    ------
    StudyError
        If the chance is impossible, the members are too few for it, nothing scatters, what
        holds the joint is beyond a limit, or too few builds agree with the shots.
    """
    size = member_count(wanted, members)
    _refuse(case, seed)
    tally = Tally(progress, 3 * size + CHECK_MEMBERS + 3 * SIDE_MEMBERS)
    points = against = None
    if learnt is not None:
        learnt.refuse()
        points = learnt.points
        against = contradiction(learnt, misfit(learnt))
    charges = Charges(case, size, seed, workers, tally, points=points)
    spec = number_at(charges.path)
    present = float(value_at(case, charges.path))
    search = Search(charges, wanted, present)
    least = search.least()
    if least is not None and least.charge <= search.floor:
        raise StudyError(
            f"{case.name}: this joint separates without any charge: drag or gravity part the "
            "sections, so there is no least charge; check masses, drag, pins and pull-off force"
        )
    most = search.most(_charge(least), interval=beside)
    ends = Ends(_charge(least), _charge(most))
    apart = Charges(
        case, CHECK_MEMBERS, seed, workers, tally, skip=-(-size // draws.BLOCK), points=points
    )
    rule = static_rule(case)
    leaks = _suspect(search, least)
    # without a limit the search itself, or the room for the charge, is the top
    top = search.highest(ends.least) if ends.most is None else ends.most
    middle: float | None = None
    trials: dict[str, Trial] = {}
    if ends.least is not None and ends.least <= top and not leaks and against is None:
        middle = recommended(ends.least, top)
        trials = _trials(search, apart, middle, backup(middle, top), beside)
    if beside and case.powder is not None and rule.empty.needed_mass <= search.ceiling:
        side = np.arange(min(SIDE_MEMBERS, apart.members))
        trials["empty-bay rule"] = apart.trial("empty-bay rule", rule.empty.needed_mass, side)
    own = (charges.trial("as in the case", present, pilot(charges)),) if beside else ()
    after = None
    if learnt is not None:
        before = Search(Charges(case, size, seed, workers, tally), wanted, present).least()
        after = AfterShots(
            learnt.log.file, len(learnt.log), learnt.members, learnt.effective, _charge(before),
            against,
        )  # fmt: skip
    found = Window(
        case=case,
        wanted=wanted,
        path=charges.path,
        label="charge" if case.powder is not None else "fill pressure",
        dimension=spec.dimension,
        present=present,
        members=charges.members,
        seed=seed,
        least=least,
        most=most,
        reasons=tuple(_reasons(search, least, most, spec.dimension)) + (SUSPICION,) * leaks,
        limits=(),
        lowest=search.floor,
        highest=search.highest(ends.least),
        recommended=trials.get("recommended"),
        backup=trials.get("backup"),
        both=trials.get("both"),
        after_failure=trials.get("after failure"),
        rule=trials.get("empty-bay rule"),
        curve=own,
        static_rule=rule,
        breakdown=None if middle is None else simulate(with_charge(case, middle)).breakdown,
        remedies=(),
        as_it_is=None,
        runs=tally.runs,
        warnings=tuple(_warnings(charges)),
        after=after,
    )
    return Survey(found, search, ends, tally, workers, points).answered()


def window(
    case: Case,
    *,
    wanted: float = 0.99,
    members: int | None = None,
    seed: int = 1,
    workers: int = 1,
    learnt: WeighedBuilds | None = None,
    progress: Progress | None = None,
) -> Window:
    """Find the same, and all that a report shows of it.

    Parameters
    ----------
    case, wanted, members, seed, workers, learnt, progress
        As for :func:`answer`, with the same errors.

    Returns
    -------
    Window
        With its curve, and with what would widen it where it is narrow.
    """
    known = answer(
        case, wanted=wanted, members=members, seed=seed, workers=workers, learnt=learnt,
        progress=progress,
    )  # fmt: skip
    return known.whole(progress)


def _charge(edge: Edge | None) -> float | None:
    return None if edge is None else edge.charge


def recommended(least: float, most: float) -> float:
    """Return the ground-test charge: :data:`RECOMMENDED_RULE` [SI].

    Parameters
    ----------
    least, most : float
        Ends of a window that is not empty [SI].

    Returns
    -------
    float
        To two digits where one such charge lies within the window.
    """
    return _of_two_digits(min(math.sqrt(least * most), MOST_OVER_LEAST * least), least, most)


def backup(middle: float, most: float) -> float:
    """Return the charge of the second channel: :data:`BACKUP_RULE` [SI].

    Parameters
    ----------
    middle : float
        The recommended charge [SI].
    most : float
        The window's upper end [SI].
    """
    return _of_two_digits(min(BACKUP_OVER_RECOMMENDED * middle, most), middle, most)


def _of_two_digits(charge: float, low: float, high: float) -> float:
    """Return a charge to two digits, the nearest or the next below, if that lies between others."""
    power = 10.0 ** (math.floor(math.log10(charge)) - 1)
    for digits in (round(charge / power), math.floor(charge / power)):
        rounded = float(f"{digits * power:.6g}")
        if low <= rounded <= high:
            return rounded
    return charge


def _refuse(case: Case, seed: int) -> None:
    """Refuse a case that can have no window for a reason that needs no run."""
    if not Ensemble(case, 1, seed).factors:
        raise StudyError(
            f"{case.name}: nothing scatters in this case; give a value a spread, such as "
            '{ value = "25 N", spread = "20 %" }'
        )
    for path, spread in case.spreads.items():
        value, spec = value_at(case, path), key_at(path).spec
        wide = spread.distribution == "normal" and (spread.deviation or 0.0) >= value
        if wide and isinstance(spec, Number) and spec.low >= 0.0:
            raise StudyError(
                f"{case.name}: {path}: the spread is as wide as the value itself, "
                f"{case.provenance[path].text}, so much of it would be cut off at nothing, and no "
                "chance of one in a hundred can be trusted; give less spread, or distribution = "
                '"log-normal"'
            )
    held = geometry.shot_hold(case).pressure
    limit = case.limits.bay_pressure
    if limit is not None and limit <= held:
        raise StudyError(
            f"{case.name}: limits.bay_pressure: {quantities.show(limit, 'gauge pressure')} is not "
            f"above the {quantities.show(held, 'gauge pressure')} that a shot needs to "
            "overcome friction and pins, so no charge opens this bay within it; raise the "
            "limit or take fewer pins"
        )


def _trials(
    search: Search, apart: Charges, middle: float, second: float, beside: bool
) -> dict[str, Trial]:
    """Return what the recommended charge and the backup do, and what both and the backup after."""
    side = np.arange(min(SIDE_MEMBERS, apart.members))
    found = [apart.trial("recommended", middle)]
    if beside:
        found.append(apart.trial("backup", second, side))
        found.append(apart.trial("both", 0.5 * (middle + second), side, times=2))
        failed = search.opening.without(middle)
        if failed.size:
            found.append(search.charges.trial("after failure", second, failed))
    return {trial.name: trial for trial in found}


def _suspect(search: Search, least: Edge | None) -> bool:
    """Return whether the joint may take far more powder than the rule gives for the empty bay."""
    usual = SUSPECT * static_rule(search.charges.case).empty.needed_mass
    if least is not None:
        # the upper end of its interval, where these members tell one
        return bool(np.nanmax([least.charge, least.high]) > usual)
    if not search.ceiling > usual:
        return False
    # a parachute that stays in after the joint separates is no leak
    tried = search.charges.fire(search.ceiling, pilot(search.charges))
    return float(tried.opened.mean()) < search.wanted


def _reasons(search: Search, least: Edge | None, most: Edge | None, dimension: str) -> list[str]:
    """Return why an end is missing, or why there is no window."""

    def show(charge: float) -> str:
        gauge = " gauge" if dimension == "gauge pressure" else ""
        return quantities.show(charge, dimension) + gauge

    n = search.charges.members
    found = []
    if least is None:
        share = search.opening.count(search.ceiling) / n
        found.append(
            f"Not even {show(search.ceiling)}, the most that was looked at, opens the bay with the "
            f"target reliability: it does so in {quantities.likely(share)} of the shots."
        )
        tried = search.charges.fire(search.ceiling, pilot(search.charges))
        apart, out = float(tried.opened.mean()), float(works(tried).mean())
        if apart >= search.wanted > out:
            found.append(
                f"The joint separates in {quantities.likely(apart)} of them, but the parachute "
                "stays in: look at the cord's length, the packing and what pulls the pack out "
                "before powder."
            )
    if most is None:
        highest = search.highest(_charge(least))
        share = search.breaking.count(highest) / n
        found.append(
            f"No limit ends the window up to {show(highest)}, where {quantities.likely(share)} of "
            "the shots exceed one; more was not looked at."
        )
    elif most.charge <= 0.0:
        found.append(f"With any charge too many shots exceed a limit ({most.name}).")
    elif least is not None and most.charge < least.charge:
        share = search.opening.count(most.charge) / n
        found.append(
            f"It takes {show(least.charge)} to open the bay with the target reliability, but above "
            f"{show(most.charge)} too many shots exceed a limit ({most.name}). At that charge "
            f"{quantities.likely(share)} of the shots separate."
        )
    return found


def _warnings(charges: Charges) -> list[str]:
    """Return what to know before trusting a window."""
    case = charges.case
    found = list(draws.truncations(case))
    defaults = [path for path, each in case.provenance.items() if each.source == DEFAULT_LIMIT]
    if defaults:
        found.append(
            f"{' and '.join(defaults)} {'are defaults' if len(defaults) > 1 else 'is a default'}: "
            "estimates that know nothing of your tube, bulkheads and anchors, which may make the "
            "ground-test charge smaller than it need be; type yours"
        )
    if charges.left_out:
        found.append(
            f"{charges.left_out} of the simulated shots drawn had no room for their contents and "
            "were left out: the spread of the packed volume, or of the bay's dimensions, reaches "
            "too far"
        )
    if case.pins is not None:
        tears = params.pin_tears_wall(draws.member_case(case, charges.values))
        share = float(np.mean(tears))
        if share > 0.01:
            found.append(
                f"in {quantities.likely(share)} of the shots the tube tears at a pin's hole before "
                "that pin shears"
            )
    return found
