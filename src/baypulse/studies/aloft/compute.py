"""The same charge fired at altitude: what a ground test at home proves, and what it does not."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from baypulse.case import geometry
from baypulse.case.casefile.keys import key_at, value_at
from baypulse.case.model import Case
from baypulse.case.quantities import height, show
from baypulse.case.spec import Number
from baypulse.members import draws
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.charge_results import Edge, quantiles
from baypulse.members.charge_search import Search
from baypulse.members.charges import (
    Charges,
    Tally,
    charge_path,
    exceeds_any,
    greatest_charge,
    trial_of,
    with_charge,
    works,
)
from baypulse.members.member_count import member_count
from baypulse.members.outcomes import Outcomes, limit_names, run_members
from baypulse.members.parts import StudyError
from baypulse.run.result import Result
from baypulse.run.simulation import simulate
from baypulse.show import phrases
from baypulse.studies.aloft import gas_sources
from baypulse.studies.aloft.altitude_case import (
    AIR,
    BURNING,
    COLD,
    CORD,
    FREE,
    PINS,
    aloft,
    at_home,
    changes,
    cold_factors,
    fibre_of,
    gauge_aloft,
    gauge_at_home,
    lifted,
)
from baypulse.studies.aloft.first_failure import FirstFailure
from baypulse.studies.aloft.gas_sources import Source
from baypulse.studies.aloft.result import Aloft, AltitudeStep, Level, Need, SourceAloft
from baypulse.studies.aloft.shared_members import SharedMembers

MEMBERS = 512
"""Members unless asked otherwise."""

LEAST_MEMBERS = 256
"""Fewest members that can be asked for."""

HIGHEST = 40e3
"""Highest altitude that can be asked for [m]: above it the bay holds next to no air."""

LOOK = 15e3
"""Altitude up to which the sources are compared at least [m]."""

BEYOND = 1.3
"""Altitude up to which they are compared, over the highest asked for."""

POINTS = 8
"""Altitudes at which the sources are compared, beside those asked for."""

STEP = 1.25
"""Factor between charges of a search with nothing scattering, until its answer is bracketed."""

PRECISION = 1.005
"""Factor between the charges at which that search ends."""

_LABELS = {
    AIR: "thin air, inside and out",
    BURNING: "powder burns worse (estimate)",
    COLD: "cold air in the bay, cold powder",
    PINS: "cold pins",
    CORD: "cold cord (estimate)",
    FREE: "both sections free",
}


def answer(
    case: Case,
    altitudes: Sequence[float],
    *,
    wanted: float = 0.99,
    members: int = MEMBERS,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Answered[Aloft]:
    """Fire a charge at home and at apogee; sources of gas over the altitude come after.

    Parameters
    ----------
    case : Case
        With its spreads; the library's are used where the case has no measured value.
    altitudes : sequence of float
        Above sea level [m], each above that of the case at home.
    wanted : float
        Chance of separation, from 0.5 to 0.9999.
    members : int
        The same at every altitude and of every source.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.

    Returns
    -------
    Answered
        What becomes of the charge. The whole has beside it what the same margin takes up there, and
        three sources over the altitude.

    Raises
    ------
    StudyError
        If the chance or an altitude is impossible, the members are too few, or nothing scatters.
    """
    home = at_home(case)
    asked = sorted(set(altitudes))
    member_count(wanted, members, LEAST_MEMBERS)
    _refuse(case, home, asked)
    top = max(LOOK, BEYOND * asked[-1])
    grid = np.unique([*np.linspace(home.surroundings.altitude, top, POINTS), *asked])
    plan = _Plan(home, grid, wanted, members, seed, workers, progress)
    own = gas_sources.own_source(home)
    home_need = plan.need(own, None, None)
    margin = None if home_need.least is None else plan.present / home_need.least.charge
    opened, levels = {}, []
    for altitude in (None, *asked):
        outcomes = plan.fire(own.case, altitude, None)
        opened[altitude] = works(outcomes)
        there = home if altitude is None else aloft(home, altitude)
        name = "test site" if altitude is None else "aloft"
        levels.append(_level(name, simulate(there), outcomes))
    spec = key_at(charge_path(home)).spec
    assert isinstance(spec, Number)
    known = Aloft(
        case=case,
        home=home,
        wanted=wanted,
        members=plan.members,
        seed=seed,
        label="charge" if home.powder is not None else "fill pressure",
        dimension=spec.dimension,
        present=plan.present,
        levels=tuple(levels),
        steps=steps(home, asked[-1]),
        home_need=home_need,
        needs=(),
        sources=(),
        missing="",
        top=float(grid[-1]),
        runs=plan.tally.runs,
        warnings=tuple(_warnings(case, home, plan.left_out)),
    )

    def whole(progress: Progress | None) -> Aloft:
        plan.tally.go_on(progress, members * (3 * grid.size + 3))
        needs = tuple(plan.need(own, altitude, margin) for altitude in asked)
        others, missing = plan.others(own, margin)
        along = (
            plan.along(own, opened), *(plan.along(each, {}) for each in others),
        )  # fmt: skip
        return replace(known, needs=needs, sources=along, missing=missing, runs=plan.tally.runs)

    return Answered(known, whole)


def _refuse(case: Case, home: Case, asked: list[float]) -> None:
    ground = home.surroundings.altitude
    for altitude in asked:
        if not ground < altitude <= HIGHEST:
            raise StudyError(
                f"{case.name}: an altitude of {height(altitude)} cannot be asked for; it is above "
                f"sea level, higher than the ground test's {height(ground)} and up to "
                f"{height(HIGHEST)}"
            )


class _Plan:
    """Members of one case, to be fired at home and at every altitude, from every source."""

    def __init__(
        self, home: Case, grid: np.ndarray, wanted: float, members: int, seed: int, workers: int,
        progress: Progress | None,
    ) -> None:  # fmt: skip
        self.home = home
        self.grid = grid
        self.wanted = wanted
        self.present = float(value_at(home, charge_path(home)))
        self.tally = Tally(progress, 5 * members)
        own = gas_sources.own_source(home)
        self._other = gas_sources.other_powder(home)
        self._gas = None if home.powder is None else gas_sources.trial_gas(home)
        held = [own.case, *([self._other.case] if self._other else []),
                *([self._gas] if self._gas else [])]  # fmt: skip
        extra = [factor for each in held for factor in cold_factors(each)]
        top = float(grid[-1])
        self._shared = SharedMembers(
            [variant for each in held for variant in (each, lifted(each, top))], extra, members,
            seed,
        )  # fmt: skip
        if not self._shared.scattering:
            raise StudyError(
                f"{home.name}: nothing scatters in this case; give a value a spread, such as "
                '{ value = "25 N", spread = "20 %" }'
            )
        room = draws.some_possible(home, self._shared.values(home), members)
        self._shared.leave_out(~room)
        self.left_out = int(members - room.sum())
        self._workers = workers

    @property
    def members(self) -> int:
        """How many members there are."""
        return self._shared.members

    def charges(self, home: Case, altitude: float | None) -> Charges:
        """Return the members of a case at an altitude [m], or at home."""
        if altitude is None:
            return Charges.of(home, self._shared.values(home), self._workers, self.tally)
        there = lifted(home, altitude)
        values = self._shared.values(there, cold_factors(home))
        # what is the same for all members is in the case already
        changed = changes(home, there, values)
        values |= {path: value for path, value in changed.items() if np.ndim(value)}
        return Charges.of(aloft(home, altitude), values, self._workers, self.tally)

    def fire(self, home: Case, altitude: float | None, which: np.ndarray | None) -> Outcomes:
        """Fire the members with the charge that the case has."""
        charges = self.charges(home, altitude)
        return charges.fire(float(value_at(charges.case, charges.path)), which)

    def along(self, source: Source, known: Mapping[float | None, np.ndarray]) -> SourceAloft:
        """Return a source over the altitude, and how high it is to be trusted.

        Parameters
        ----------
        source : Source
            Fired at every altitude of the grid, the first being home: None.
        known : mapping
            By altitude, what is known of its members already.
        """
        opened = np.stack([
            known[altitude] if altitude in known else works(self.fire(source.case, altitude, None))
            for altitude in (None, *self.grid[1:].tolist())
        ])  # fmt: skip

        def opens(altitude: float, which: np.ndarray) -> np.ndarray:
            return works(self.fire(source.case, altitude, which))

        return SourceAloft(
            name=source.name,
            own=source.own,
            assumed=source.assumed,
            altitudes=self.grid,
            chances=tuple(chance("separates", int(row.sum()), row.size) for row in opened),
            height=FirstFailure(opens, self.grid, opened).height(self.wanted),
        )

    def need(self, source: Source, altitude: float | None, margin: float | None) -> Need:
        """Return the least charge at an altitude, or at home, and what the same margin does."""
        home = source.case
        charges = self.charges(home, altitude)
        there = charges.case
        present = float(value_at(there, charges.path))
        search = Search(charges, self.wanted, present)
        least = search.least()
        share = math.nan
        if least is None:
            share = search.opening.count(search.ceiling) / charges.members
        charge = self.present if altitude is None else None
        if altitude is not None and least is not None and margin is not None and margin >= 1.0:
            charge = margin * self._at_home(least.charge, home, there)
        opens = hard = None
        limit = ""
        if charge is not None:
            fired = charges.fire(self._there(charge, home, there))
            good, bad = works(fired), exceeds_any(fired)
            opens = chance("separates", int(good.sum()), good.size)
            hard = chance("a limit is exceeded", int(bad.sum()), bad.size)
            if hard.share > 1.0 - self.wanted:
                limit = limit_names(there)[int(fired.exceeded.sum(axis=0).argmax())]
        return Need(
            altitude=home.surroundings.altitude if altitude is None else altitude,
            least=None if least is None else self._edge_at_home(least, home, there),
            highest=self._at_home(search.ceiling, home, there),
            share_at_highest=share,
            charge=charge,
            opens=opens,
            fails_hard=hard,
            limit=limit,
        )

    @staticmethod
    def _at_home(charge: float, home: Case, there: Case) -> float:
        """Return a charge as it is weighed or filled at home [SI]."""
        return charge if home.powder is not None else gauge_at_home(charge, home, there)

    @staticmethod
    def _there(charge: float, home: Case, there: Case) -> float:
        return charge if home.powder is not None else float(gauge_aloft(charge, home, there))

    def _edge_at_home(self, edge: Edge, home: Case, there: Case) -> Edge:
        charge, low, high = (
            self._at_home(each, home, there) for each in (edge.charge, edge.low, edge.high)
        )
        return Edge(charge, low, high, edge.chance, edge.name)

    def others(self, own: Source, margin: float | None) -> tuple[list[Source], str]:
        """Return the sources beside the case's own, and why one is missing."""
        if self._gas is None:
            return [], "The case has no powder, so there is nothing to compare its cold gas with."
        found = [] if self._other is None else [self._other]
        least = Search(self.charges(self._gas, None), self.wanted, gas_sources.FIRST_FILL).least()
        if least is None:
            return found, (
                "No cold gas is compared: no fill of the reservoir that was tried opens this bay "
                "at the test site with the target reliability."
            )
        spec = key_at("cold_gas.pressure").spec
        assert isinstance(spec, Number)
        fill = min(max(margin or 1.0, 1.0) * least.charge, 0.95 * spec.high)
        filled = gas_sources.filled(self._gas, fill)
        return [*found, gas_sources.gas_source(filled, fill / least.charge)], ""


def _level(name: str, result: Result, outcomes: Outcomes) -> Level:
    """Return one altitude in numbers."""
    return Level(
        name,
        result,
        trial_of(result.case, name, 0.0, outcomes),
        burnts=quantiles(outcomes.column("burnt")),
        clear_times=quantiles(outcomes.column("clear_time")),
    )


def steps(home: Case, altitude: float) -> tuple[AltitudeStep, ...]:
    """Go from home to an altitude, one difference at a time.

    Parameters
    ----------
    home : Case
        From :func:`baypulse.studies.aloft.altitude_case.at_home`.
    altitude : float
        Of the apogee [m].
    """
    there = [AIR]
    if home.powder is not None and home.holder is None:
        there.append(BURNING)
    there.append(COLD)
    if home.pins is not None:
        there.append(PINS)
    if fibre_of(home) is not None:
        there.append(CORD)
    there.append(FREE)
    found = [_step("test site", "at the test site, as tested", home, home, altitude, ())]
    for k, effect in enumerate(there, start=1):
        label = _LABELS[effect]
        if effect == COLD and home.powder is None:
            label = "cold gas and air"
        elif effect == COLD and home.powder is not None and home.powder.temperature is not None:
            label = "cold air in the bay"
        acting = tuple(there[:k])
        found.append(_step(effect, label, home, aloft(home, altitude, acting), altitude, acting))
    return tuple(found)


def _step(
    effect: str, label: str, home: Case, case: Case, altitude: float, acting: tuple[str, ...]
) -> AltitudeStep:
    def opens(charge: float) -> bool:
        """Say whether it separates, and lets its parachute go, with nothing scattering."""
        other = with_charge(home, charge)
        tried = aloft(other, altitude, acting) if acting else other
        return bool(works(run_members(tried, {}, 1))[0])

    return AltitudeStep(effect, label, simulate(case), _least(opens, home))


def _least(opens: Callable[[float], bool], home: Case) -> float | None:
    """Return the least charge that opens a bay with nothing scattering [SI]; None without one."""
    low = high = float(value_at(home, charge_path(home)))
    highest = greatest_charge(home)
    if opens(high):
        while opens(low):
            high, low = low, low / STEP
            if low < 1e-4 * highest:
                return low
    else:
        while not opens(high):
            if high >= highest:
                return None
            low, high = high, min(STEP * high, highest)
    while high > PRECISION * low:
        middle = math.sqrt(low * high)
        low, high = (low, middle) if opens(middle) else (middle, high)
    return high


def _warnings(case: Case, home: Case, left_out: int) -> list[str]:
    """Return what to know before trusting it."""
    found = [*draws.truncations(home), *phrases.left_out(left_out)]
    if case is not home:
        temperature = geometry.air(home)[1]
        found.append(
            "the case is in flight; its ground test is taken to be at "
            f"{height(home.surroundings.altitude)}, "
            f"{show(temperature, 'temperature')} and the standard pressure there, the "
            "airframe clamped and level"
        )
    if home.pins is not None and home.pins.strength is not None:
        found.append(
            "the measured strength of the pins is taken to be that at the temperature of the "
            "ground test, and is raised for the cold by the library's slope of their material"
        )
    loose = home.holder is None
    if loose and home.powder is not None and home.powder.burnable_fraction is not None:
        found.append(
            "the share of the charge that burns is taken to be that of the ground test, and is "
            "lowered for thin air by the library's estimate"
        )
    if home.cord is not None and fibre_of(home) is None:
        found.append("the library does not know what cold does to this cord; it is left as it is")
    return found
