"""Does a jerk of the cord part a joint that is still closed? Its motion under the load's curve.

The cord slows a section of mass m. The part m_b beyond the joint hangs on the joint alone, the
rest m - m_b hangs on the cord. With the travel x of one against the other, the cord's load F and
what the joint holds back J,

    m_b (m - m_b)/m x'' = F m_b/m - J(x).

J is the engine's own friction and pins (:mod:`baypulse.physics.fit`). The joint does not come back
once it has moved, since bent pins stay bent: after each stop it waits for a higher load. Left out,
because both hold the joint: the vacuum behind a shoulder that moves out, and the give of the tubes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from baypulse.case import params
from baypulse.case.model import Case
from baypulse.physics import fit

TOLERANCE = 1e-8
"""Relative tolerance of the motion; lengths count from 1e-9 m, speeds from 1e-8 m/s."""

AFTER = 2.0
"""How long a joint that still moves when the load is over is followed [s]."""

PRECISION = 5e-4
"""Relative width at which the search for a factor ends."""

MOST = 1e4
"""Highest factor on a load that is searched."""

LEAST_EXCESS = 1e-5
"""Share of what holds by which a load must exceed it before the joint moves."""

_JUMP = 1e-9
"""Shortest time that is told apart [s]: in it a jump of the load takes place."""


class ClosedJoint(NamedTuple):
    """A closed joint and the masses on both sides of it, within one section.

    Attributes
    ----------
    beyond, section : float
        Mass that hangs on the joint, and mass of the whole section [kg].
    friction, sliding_ratio, seal : float
        Static friction closed [N], sliding over static, steady drag [N].
    stroke : float
        Length of shoulder in the tube [m].
    strength, gap, rise, fail : ndarray, shape (pins,)
        Of each pin [N] and [m], as :func:`baypulse.physics.fit.pin_force` takes them.
    """

    beyond: float
    section: float
    friction: float
    sliding_ratio: float
    seal: float
    stroke: float
    strength: np.ndarray
    gap: np.ndarray
    rise: np.ndarray
    fail: np.ndarray

    @property
    def share(self) -> float:
        """Share of the cord's load that the joint feels."""
        return self.beyond / self.section

    @property
    def reduced_mass(self) -> float:
        """Mass of the relative motion [kg]."""
        return self.beyond * (self.section - self.beyond) / self.section

    @property
    def hold(self) -> float:
        """Force that parts it when put on slowly [N]: static friction, seal and pins together."""
        return self.friction + self.seal + float(self.strength.sum())


class LoadCurve(NamedTuple):
    """A cord's load over time, nothing before and after.

    Attributes
    ----------
    times : ndarray, shape (n,)
        Rising [s].
    forces : ndarray, shape (n,)
        [N].
    """

    times: np.ndarray
    forces: np.ndarray

    @property
    def peak(self) -> float:
        """Highest load [N]."""
        return float(self.forces.max())


@dataclass(frozen=True)
class Parting:
    """What a jerk did to a joint.

    Attributes
    ----------
    parted : bool
        Whether the shoulder came out of its tube.
    pins_failed : int
        Pins past their strength.
    held_by_pins : bool
        Whether a pin still holds a part of its strength; of a joint without pins, whether it did
        not part.
    greatest_travel : float
        [m]; the stroke where it parted.
    times, travels : ndarray, shape (n,)
        The motion [s], [m]; empty if it never moved.
    """

    parted: bool
    pins_failed: int
    held_by_pins: bool
    greatest_travel: float
    times: np.ndarray
    travels: np.ndarray


def closed_joint(later: Case, beyond: float, section: float) -> ClosedJoint:
    """Return the joint of a bay that has not fired yet, its pins as strong as in a slow pull.

    That they are stronger against a jerk is left out, on the safe side for a joint that must hold.

    Parameters
    ----------
    later : Case
        Its case.
    beyond, section : float
        Masses [kg], as of :class:`ClosedJoint`.
    """
    P = params.parameters(later)
    return ClosedJoint(
        beyond, section, P.friction, P.sliding_ratio, P.seal_drag, P.stroke,
        params.slow_pins(later), P.pin_gap, P.pin_rise, P.pin_fail,
    )  # fmt: skip


def load_of(times: np.ndarray, forces: np.ndarray) -> LoadCurve:
    """Return the stretch of a run in which the cord pulls, with times that rise throughout.

    Parameters
    ----------
    times, forces : ndarray, shape (n,)
        Of the run; both sides of a jump stand at the same time.
    """
    pulled = np.flatnonzero(forces > 0.0)
    if not pulled.size:
        return LoadCurve(np.zeros(2), np.zeros(2))
    part = slice(max(pulled[0] - 1, 0), pulled[-1] + 2)
    t, f = np.array(times[part], dtype=float), np.array(forces[part], dtype=float)
    for k in range(1, t.size):
        t[k] = max(t[k], t[k - 1] + _JUMP)
    return LoadCurve(t, f)


def part(joint: ClosedJoint, load: LoadCurve, factor: float = 1.0) -> Parting:
    """Follow a joint under a load.

    Parameters
    ----------
    joint : ClosedJoint
        At rest, closed.
    load : Load
        Of the cord.
    factor : float
        On the load.

    Returns
    -------
    Parting
        Integrated phase by phase: between rest, every corner of a pin's curve, the end of the load
        and the end of the stroke the right-hand side is smooth.
    """
    push = _push(joint, load, factor)
    corners = _corners(joint)
    begin, end = float(load.times[0]), float(load.times[-1])
    t, x, v = begin, 0.0, 0.0
    times, travels = [t], [0.0]
    while x < joint.stroke:
        if v <= 0.0:
            start = _moves(joint, load, push, x, t)
            if start is None:
                break
            t, v = start, 0.0
        corner = next(each for each in corners if each > x)
        over = t >= end
        done = solve_ivp(
            _motion(joint, push, x), (t, t + AFTER if over else end), (x, v), method="DOP853",
            rtol=TOLERANCE, atol=(1e-9, 1e-8), events=_events(corner, t),
            max_step=np.inf if over else (end - begin) / 20.0,
        )  # fmt: skip
        times += list(done.t[1:])
        travels += list(done.y[0][1:])
        t, x, v = max(float(done.t[-1]), t + _JUMP), float(done.y[0][-1]), float(done.y[1][-1])
        if done.status == 0:
            if over:  # still moving after a long time
                break
        elif done.t_events[0].size:
            x = corner
        else:
            v = 0.0
    moved = len(times) > 1
    failing = joint.gap + joint.rise
    return Parting(
        parted=x >= joint.stroke,
        pins_failed=int(np.count_nonzero(x > failing)),
        held_by_pins=bool((x < failing + joint.fail).any()) if failing.size else x < joint.stroke,
        greatest_travel=min(x, joint.stroke),
        times=np.array(times if moved else []),
        travels=np.array(travels if moved else []),
    )


def least_factor(
    joint: ClosedJoint, load: LoadCurve, happened: Callable[[Parting], bool]
) -> float | None:
    """Return the least factor on a load at which something happens to the joint.

    Parameters
    ----------
    joint : ClosedJoint
        The joint.
    load : Load
        Of the cord, above zero somewhere.
    happened : callable
        From a :class:`Parting` to whether it did; once it does it must at all higher factors.

    Returns
    -------
    float or None
        None where it does not happen up to the highest factor searched.
    """
    felt = joint.share * load.peak
    if felt <= 0.0:
        return None
    # below what starts it nothing happens
    low = 0.5 * (joint.friction + joint.seal) / felt
    high = max(joint.hold / felt, 1e-6)
    while not happened(part(joint, load, high)):
        low, high = high, 2.0 * high
        if high > MOST:
            return None
    while high / max(low, 1e-12) > 1.0 + PRECISION:
        middle = np.sqrt(low * high) if low > 0.0 else 0.5 * high
        if happened(part(joint, load, float(middle))):
            high = float(middle)
        else:
            low = float(middle)
        if high < 1e-9:
            break
    return high


def lets_go(parting: Parting) -> bool:
    """Say whether no pin holds any more, or a joint without pins is out."""
    return not parting.held_by_pins


def comes_out(parting: Parting) -> bool:
    """Say whether the shoulder is out of its tube."""
    return parting.parted


def resistance(joint: ClosedJoint, x: float) -> tuple[float, float, float]:
    """Return the force of the pins, static friction and sliding friction at a travel [N]."""
    return _resistance(joint, _pins(joint, x), x)


Pin = tuple[int, float, float, float, float]
"""Part of its curve that a pin is in, and its strength, gap, rise and fail."""


def _pins(joint: ClosedJoint, x: float) -> list[Pin]:
    """Return every pin at a travel, at a corner in the part of its curve that begins there."""
    curves = zip(
        joint.strength.tolist(), joint.gap.tolist(), joint.rise.tolist(), joint.fail.tolist(),
        strict=True,
    )  # fmt: skip
    return [
        (int(np.searchsorted((gap, gap + rise, gap + rise + fail), x, side="right")),
         strength, gap, rise, fail)
        for strength, gap, rise, fail in curves
    ]  # fmt: skip


def _resistance(joint: ClosedJoint, pins: list[Pin], x: float) -> tuple[float, float, float]:
    """Return what :func:`resistance` does, with the pins' states held."""
    fitted = joint.friction * fit.engaged_share(x, joint.stroke)
    return (
        sum(fit.pin_force(x, *pin) for pin in pins),
        fitted + joint.seal,
        joint.sliding_ratio * fitted + joint.seal,
    )


def _push(joint: ClosedJoint, load: LoadCurve, factor: float) -> Callable[[float], float]:
    """Return what pulls at the joint over time: a smooth curve that stays between its points."""
    curve = PchipInterpolator(load.times, factor * joint.share * load.forces)
    first, last = float(load.times[0]), float(load.times[-1])
    return lambda t: float(curve(t)) if first <= t <= last else 0.0


def _corners(joint: ClosedJoint) -> list[float]:
    """Return the travels at which the joint's force has a corner, and the stroke, rising."""
    found = {joint.stroke}
    for gap, rise, fail in zip(joint.gap, joint.rise, joint.fail, strict=True):
        found |= {float(gap), float(gap + rise), float(gap + rise + fail)}
    return sorted(corner for corner in found if 0.0 < corner <= joint.stroke)


def _moves(
    joint: ClosedJoint, load: LoadCurve, push: Callable[[float], float], x: float, t: float
) -> float | None:
    """Return when a joint at rest begins to move, None if it never does."""
    pins, static, _ = resistance(joint, x)
    # a little more than balance, so that rounding cannot stop it where it starts
    held = pins + static + LEAST_EXCESS * joint.hold
    if push(t) > held:
        return t
    ahead = load.times[load.times > t]
    before = t
    for now in ahead:
        if push(float(now)) > held:
            return float(brentq(lambda s: push(s) - held, before, float(now), xtol=1e-12))
        before = float(now)
    return None


def _motion(
    joint: ClosedJoint, push: Callable[[float], float], start: float
) -> Callable[[float, np.ndarray], tuple[float, float]]:
    """Return the right-hand side of one phase, with the pins' states as they are at its start."""
    mass, pins = joint.reduced_mass, _pins(joint, start)

    def rates(t: float, y: np.ndarray) -> tuple[float, float]:
        held, _, sliding = _resistance(joint, pins, float(y[0]))
        return float(y[1]), (push(t) - (held + sliding)) / mass

    return rates


def _events(end: float, start: float) -> list[Callable[[float, np.ndarray], float]]:
    """Return what ends a phase: a travel, and a stop."""

    def corner(t: float, y: np.ndarray) -> float:
        return float(y[0]) - end

    def stop(t: float, y: np.ndarray) -> float:
        # the rest from which it starts is no stop
        return float(y[1]) if t > start else 1.0

    corner.terminal, corner.direction = True, 1.0  # type: ignore[attr-defined]
    stop.terminal, stop.direction = True, -1.0  # type: ignore[attr-defined]
    return [corner, stop]
