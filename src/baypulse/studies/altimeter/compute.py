"""The altimeter and the charge: what leaks into the electronics bay, and what it does to altitude.

All shots are followed without their cord: the gas is gone before it acts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from baypulse.case.model import Case
from baypulse.case.params import parameters
from baypulse.case.quantities import asked, show
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.charge_search import ranks
from baypulse.members.charges import Charges, Tally
from baypulse.members.parts import StudyError
from baypulse.members.pool import pool_of
from baypulse.members.thresholds import Thresholds
from baypulse.physics.atmosphere import pressure_altitude, standard_atmosphere
from baypulse.studies.altimeter import altitude_error as shown
from baypulse.studies.altimeter.combined_openings import (
    LEAK,
    PORTS,
    between,
    hole_paths,
    one_hole,
    with_one_hole,
)
from baypulse.studies.altimeter.electronics_pulse import (
    Pulse,
    extremes,
    of_gas_alone,
    pulse,
)
from baypulse.studies.altimeter.result import Altimeters, ElectronicsBay, Leak, Shown, spans
from baypulse.studies.altimeter.static_ports import static_ports

ERRORS = (0.1, 1000.0)
"""Wanted errors that can be asked for [m]."""

WANTED = (0.5, 0.99)
"""Shares of the shots that can be asked for: more members would be needed beyond."""

MEMBERS = 512
"""Members: the first half of a block, a Sobol' sample too."""

FOLLOWED = 256
"""Members, half of those again, that are followed point by point for how long they are wrong."""

SMALLEST = 5e-5
"""Smallest diameter of a leak that is tried [m]."""

WIDEST = 25e-3
"""Largest diameter of a leak that is tried [m]."""

LEAKS = 21
"""Leaks of the map."""

PORT_SIZES = 11
"""Sizes of static ports of the map."""

USUAL_PORTS = 5e-3
"""Middle of the map where the case has no static ports [m]; estimate."""

ALTITUDES = (0.0, 3000.0, 6000.0, 9000.0)
"""Where the same pulse is looked at [m]."""

_SPACE = (
    '[electronics]\nvolume = "600 cm^3"\n\n'
    '[[openings]]\nname = "static ports"\nbetween = "electronics"\nto = "outside"\n'
    'diameter = "3 mm"\ncount = 3\n\n'
)
"""Lines that give a case an electronics bay with its static ports."""

HOLE = '[[openings]]\nname = "wire hole"\nbetween = "bay"\nto = "electronics"\ndiameter = "3 mm"\n'
"""Lines that give a case a way into the electronics bay."""

ADD_HOLE = f"add the leak or the wire hole, such as\n\n{HOLE}"
"""What to do where no way into the electronics bay is in the case."""

SENSOR_END = 120e3
"""Pressure at which most barometric sensors end [Pa]; from memory."""


def electronics_bay(
    case: Case,
    *,
    climb: float | None = None,
    error: float = 30.0,
    wanted: float = 0.99,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> ElectronicsBay:
    """Judge the static ports, and follow the charge's pulse where there is a way for it.

    Parameters
    ----------
    case : Case
        With an electronics bay.
    climb : float, optional
        Fastest climb [m/s]; without it that of the case's ascent, or Mach 1.
    error, wanted, seed, workers, progress
        As for :func:`altimeter`.

    Raises
    ------
    StudyError
        If there is no electronics bay, or a number is out of range.
    """
    _check(case, error, wanted)
    ports = static_ports(case, climb, error, shown.FILTER_TIME)
    if one_hole(case, LEAK) <= 0.0:
        return ElectronicsBay(case, ports, None)
    pulse_in = altimeter(
        case, error=error, wanted=wanted, seed=seed, workers=workers, progress=progress
    )
    return ElectronicsBay(case, ports, pulse_in)


def altimeter(
    case: Case,
    *,
    error: float = 30.0,
    wanted: float = 0.99,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Altimeters:
    """Follow the pulse into the electronics bay, and look for the largest leak that is harmless.

    Parameters
    ----------
    case : Case
        With an electronics bay and an opening into it.
    error : float
        By which the altitude may be wrong [m], from 0.1 to 1000.
    wanted : float
        Share of the shots in which it shall stay below, from 0.5 to 0.99.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.

    Raises
    ------
    StudyError
        If there is no electronics bay or no way into it, or a number is out of range.
    """
    _check(case, error, wanted)
    if one_hole(case, LEAK) <= 0.0:
        raise StudyError(
            f"{case.name}: no opening leads from the bay into the electronics bay, so no pulse "
            f"reaches it; {ADD_HOLE}"
        )
    tally = Tally(progress, 3 * MEMBERS + FOLLOWED + LEAKS * PORT_SIZES)
    bare = of_gas_alone(case)
    first = pulse(bare)
    bounds = _bounds(case, error, first.ambient)
    leak_size, port_size = one_hole(case, LEAK), one_hole(case, PORTS)
    with pool_of(workers) as pool:
        bench = _Bench(bare, error, seed, pool, workers, tally)
        leak = _leak(bench, wanted, leak_size, first, bounds)
        durations, highs = bench.followed()
        nominal = _shown("", first, error)
        changes = [
            _shown(name, pulse(changed), error)
            for name, changed in _changes(bare, leak, leak_size, port_size)
        ]
        tally.add(1 + len(changes))
        leak_grid, port_grid, grid = _map(bench, leak, leak_size, port_size)
    errors = shown.altitude_error(first.electronics, first.ambient)
    return Altimeters(
        case=case,
        error=error,
        wanted=wanted,
        members=bench.members,
        followed=durations.size,
        seed=seed,
        altitude=pressure_altitude(first.ambient),
        bounds=bounds,
        pulse=first,
        errors=errors,
        filtered=shown.smoothed(first.times, errors, shown.FILTER_TIME),
        nominal=nominal,
        changes=tuple(changes),
        lows=spans(bench.lows),
        durations=spans(durations),
        highs=spans(highs),
        leak=leak,
        ports=port_size,
        leak_grid=leak_grid,
        port_grid=port_grid,
        grid=grid,
        aloft=tuple((h, _same_pulse(nominal.pressure, h)) for h in ALTITUDES),
        runs=tally.runs,
        warnings=(*draws.truncations(bare), *_warnings(first, port_size, bench)),
    )


def _check(case: Case, error: float, wanted: float) -> None:
    if not ERRORS[0] <= error <= ERRORS[1]:
        raise StudyError(
            f"an altitude error of {error:g} m is asked for; give one from {ERRORS[0]:g} m to "
            f"{ERRORS[1]:g} m"
        )
    if not WANTED[0] <= wanted <= WANTED[1]:
        raise StudyError(
            f"a share of {asked(wanted)} of the shots is asked for; give one from "
            f"{asked(WANTED[0])} to {asked(WANTED[1])}"
        )
    if case.electronics is None:
        raise StudyError(
            f"{case.name}: this case has no electronics bay; add its free volume, its static ports "
            f"and the leak or wire hole that leads into it, such as\n\n{_SPACE}{HOLE}"
        )


def _bounds(case: Case, error: float, ambient: float) -> tuple[float, float]:
    try:
        return shown.pressure_bounds(error, ambient)
    except ValueError:
        raise StudyError(
            f"{case.name}: the outside's pressure, {ambient:.4g} Pa, and an error of {error:g} m "
            "leave the standard atmosphere (-2000 m to 80 km); give a smaller error, or check "
            "surroundings.pressure"
        ) from None


class _Bench:
    """Members of a case whose leak can be set; everything else about a member stays as drawn.

    Attributes
    ----------
    members, left_out : int
        How many there are, and how many had no room for contents and grains.
    lows, highs : ndarray, shape (members,)
        With the leak of the case: by how much each shows too low and too high at most [m].
    """

    def __init__(
        self, bare: Case, error: float, seed: int, pool: ThreadPoolExecutor, workers: int,
        tally: Tally,
    ) -> None:  # fmt: skip
        self.bare = bare
        self._pool, self._workers, self._tally = pool, workers, tally
        drawn = Charges(bare, MEMBERS, seed, workers, tally)
        self.members, self.left_out, self.values = drawn.members, drawn.left_out, drawn.values
        _, P = draws.records(bare, self.values, self.members)
        self._error = error
        self._ambient = np.broadcast_to(P.p_ambient, (self.members,))
        at = {p: _bounds(bare, error, p) for p in set(self._ambient.tolist())}
        self._bounds = np.array([at[p] for p in self._ambient.tolist()])
        suction, high = self.run(bare, self.values, self.members)
        was = shown.shown_altitude(self._ambient)
        self.lows = was - shown.shown_altitude(self._ambient + high)
        self.highs = shown.shown_altitude(self._ambient - suction) - was

    def followed(self) -> tuple[np.ndarray, np.ndarray]:
        """Return for how long members are wrong [s], and by how much too high at most [m]."""

        def one(k: int) -> tuple[float, float]:
            held = pulse(draws.one_member(self.bare, self.values, k))
            lowest = held.electronics.min(keepdims=True)
            return sum(_beyond(held, self._error)), float(
                shown.altitude_error(lowest, held.ambient)[0]
            )

        count = min(self.members, FOLLOWED)
        found = np.array(list(self._pool.map(one, range(count))))
        self._tally.add(count)
        return found[:, 0], np.maximum(found[:, 1], 0.0)

    def run(
        self, case: Case, values: Mapping[str, np.ndarray], members: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return suction and pulse of members in the electronics bay [Pa]."""
        size = max(-(-members // self._workers), 32)

        def part(start: int) -> tuple[np.ndarray, np.ndarray]:
            some = {path: column[start : start + size] for path, column in values.items()}
            return extremes(case, some, min(size, members - start))

        found = list(self._pool.map(part, range(0, members, size)))
        self._tally.add(members)
        return np.concatenate([low for low, _ in found]), np.concatenate([up for _, up in found])

    def wrong(self, diameter: float, which: np.ndarray) -> np.ndarray:
        """Say in which members a leak of this diameter brings the wanted error or more."""
        case = with_one_hole(self.bare, LEAK, diameter)
        holes = set(hole_paths(self.bare, LEAK))
        values = {p: drawn[which] for p, drawn in self.values.items() if p not in holes}
        suction, high = self.run(case, values, which.size)
        low, top = self._bounds[which].T
        ambient = self._ambient[which]
        return (ambient - suction <= low) | (ambient + high >= top)

    def right_now(self) -> int:
        """Return in how many members the error stays below the wanted one as the case is."""
        return int((np.maximum(self.lows, self.highs) < self._error).sum())


def _beyond(held: Pulse, error: float) -> tuple[float, float]:
    """Return for how long an altimeter shows too low and too high by more than this [s]."""
    low, high = shown.pressure_bounds(error, held.ambient)
    return (
        shown.time_beyond(held.times, held.electronics, high),
        shown.time_beyond(held.times, -held.electronics, -low),
    )


def _shown(name: str, held: Pulse, error: float) -> Shown:
    """Return what an altimeter shows of a pulse."""
    errors = shown.altitude_error(held.electronics, held.ambient)
    low_beyond, high_beyond = _beyond(held, error)
    down, up = int(errors.argmin()), int(errors.argmax())
    raw, filtered = shown.sampled(held.times, errors, shown.SAMPLE_RATE, shown.FILTER_TIME)
    return Shown(
        name=name,
        low=max(-float(errors[down]), 0.0),
        low_time=float(held.times[down]),
        low_beyond=low_beyond,
        high=max(float(errors[up]), 0.0),
        high_time=float(held.times[up]),
        high_beyond=high_beyond,
        pressure=float(held.electronics.max()) - held.ambient,
        sampled=raw,
        filtered=filtered,
    )


def _leak(
    bench: _Bench, wanted: float, present: float, first: Pulse, bounds: tuple[float, float]
) -> Leak:
    """Search the largest leak.

    Each member has a diameter of its own from which its error is too great; the leak that was
    asked for is a quantile of them.
    """
    n = bench.members
    sizes = Thresholds(bench.wrong, n)
    # the pulse of a small hole grows with its area, and the worst members have twice the middle's
    peak = max(float(first.electronics.max()) - first.ambient, 1e-9)
    start = 0.6 * present * math.sqrt((bounds[1] - first.ambient) / peak)
    allowed = math.floor((1.0 - wanted) * n * (1.0 + 1e-12))

    def largest(rank: int) -> tuple[float, bool]:
        """Return the diameter below which fewer members than this are wrong; 0 without one."""
        if not 1 <= rank <= n:
            return math.nan, False
        found = sizes.bracket(rank, start, SMALLEST, WIDEST)
        return (WIDEST, True) if found is None else (found[0], False)

    size, at_ceiling = largest(allowed + 1)
    both = map(largest, ranks(1.0 - wanted, n))
    ends = [math.nan if end == 0.0 or top else end for end, top in both]
    return Leak(
        present=present,
        present_chance=chance("the error stays below", bench.right_now(), n),
        largest=size or None,
        low=ends[0],
        high=ends[1],
        chance=chance("the error stays below", n - sizes.count(size), n) if size else None,
        at_ceiling=at_ceiling,
        discharge=bench.bare.openings[between(bench.bare, LEAK)[0]].discharge,
    )


def _changes(bare: Case, leak: Leak, hole: float, ports: float) -> list[tuple[str, Case]]:
    """Return what could be changed, and the case with it."""
    found = []
    if leak.largest is not None and leak.largest < hole:
        found.append(("leak as large as is harmless", with_one_hole(bare, LEAK, leak.largest)))
    found.append(("leak of half the diameter", with_one_hole(bare, LEAK, 0.5 * hole)))
    if ports > 0.0:
        for name, factor in (("twice", 2.0), ("four times", 4.0)):
            wider = with_one_hole(bare, PORTS, math.sqrt(factor) * ports)
            found.append((f"{name} the area of static ports", wider))
    return found


def _map(
    bench: _Bench, leak: Leak, hole: float, ports: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return leaks, ports, and by how much the altimeter shows too low with them."""
    marks = [hole] if leak.largest is None else [hole, leak.largest]
    low, high = max(0.5 * min(marks), SMALLEST), min(1.6 * max(marks), 2.0 * WIDEST)
    middle = ports or USUAL_PORTS
    leaks = np.geomspace(low, high, LEAKS)
    sizes = np.geomspace(0.4 * middle, 2.5 * middle, PORT_SIZES)
    case = with_one_hole(with_one_hole(bench.bare, LEAK, hole), PORTS, middle)
    x, y = (each.ravel() for each in np.meshgrid(leaks, sizes, indexing="ij"))
    paths = hole_paths(case, LEAK)[0], hole_paths(case, PORTS)[0]
    values = dict(zip(paths, (x, y), strict=True))
    _, high_at = bench.run(case, values, x.size)
    ambient = float(parameters(case).p_ambient)
    errors = np.maximum(-shown.altitude_error(ambient + high_at, ambient), 0.0)
    return leaks, sizes, errors.reshape(LEAKS, PORT_SIZES)


def _same_pulse(gauge: float, altitude: float) -> float:
    """Return by how much an altimeter shows too low at an altitude under a gauge pressure [m]."""
    ambient = standard_atmosphere(altitude)[0]
    return -float(shown.altitude_error(np.array([ambient + gauge]), ambient)[0])


def _warnings(first: Pulse, ports: float, bench: _Bench) -> list[str]:
    found = []
    if ports == 0.0:
        found.append(
            "this electronics bay has no opening to the outside, so an altimeter in it cannot "
            "work and the pulse can only leave by the leak; add its static ports to the case"
        )
    if first.electronics.max() > SENSOR_END:
        found.append(
            "the pressure in the electronics bay reaches "
            f"{show(first.electronics.max(), 'absolute pressure')}; most barometric sensors end "
            f"near {show(SENSOR_END, 'absolute pressure')} (from memory), and what they show "
            "beyond is not known; the altitude told here goes on by the standard atmosphere's law"
        )
    if not first.opened:
        found.append("this bay does not separate fully with nothing scattering")
    if bench.left_out:
        found.append(
            f"{bench.left_out} of {MEMBERS} simulated shots had no room for contents and grains "
            "and are left out"
        )
    return found
