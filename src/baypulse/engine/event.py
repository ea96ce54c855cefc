"""What can happen in a run, each with the place of its event function.

The functions themselves are in :mod:`baypulse.engine.events`, and what each event changes in
:mod:`baypulse.engine.phases`. Nothing is decided by the order of the codes, except which of several
events of the very same moment comes first: the one with the least code.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from baypulse.physics.compiled import compiled


class EventCode(IntEnum):
    """The events that every shot has; two a pin follow."""

    START = 0
    """The spark, or the valve."""
    BURST = 1
    """The holder bursts."""
    MERGE = 2
    """Holder or reservoir is down to the bay's pressure, and part of the bay from now on."""
    BURNOUT = 3
    """The charge has burnt."""
    PEAK = 4
    """The pressure of the bay stops rising."""
    RISE = 5
    """The pressure of the bay rises again."""
    SLIP = 6
    """The joint begins to move."""
    STOP = 7
    """The joint comes to rest."""
    SEAT = 8
    """The shoulder is back home."""
    CLEAR = 9
    """The shoulder has left the tube."""
    PARTED = 10
    """A quarter of a bore further, from where on the pressure pushes no more."""
    STAND_SLIP = 11
    """The airframe begins to move on its stand."""
    STAND_STOP = 12
    """The airframe comes to rest on its stand."""
    NOSE_SLIP = 13
    """The clear nose begins to move on the ground."""
    NOSE_STOP = 14
    """The clear nose comes to rest on the ground."""
    GAS_OVER = 15
    """The gas of the parted joint is over."""
    PICKUP = 16
    """The cord takes up the contents."""
    EMERGE = 17
    """Contents reach the lip of the tube, which holds less and less of them from there on."""
    CONTENTS_OUT = 18
    """The contents have left the tube."""
    CONTENTS_SLIP = 19
    """The contents begin to move in the tube."""
    CONTENTS_STOP = 20
    """The contents come to rest in the tube."""
    BACKSTOP = 21
    """The contents meet the bulkhead behind them."""
    CONTACT = 22
    """Contents and nose meet."""
    RELEASE = 23
    """The contents fall behind the nose."""
    AHEAD_OVER = 24
    """What is ahead of the contents is level with the outside."""
    BRAKE = 25
    """A stage of the cord's brake begins to tear, or ends."""
    TAUT = 26
    """The cord is taut."""
    CORD_PEAK = 27
    """The taut cord is at its longest."""
    CORD_SLACK = 28
    """The cord is slack again."""
    RETURN = 29
    """Sections no longer part, before the cord is taut or within a stage of its brake."""
    IDLE = 30
    """The joint is at rest, and nothing that is still to come can move it."""
    FLAME = 31
    """All grains are alight."""


COMMON_EVENTS = len(EventCode)
"""How many events every shot has; those of the pins follow, for each its next stage and its way
back to slack."""


OF_FORCES = np.zeros(COMMON_EVENTS, dtype=np.bool_)
"""Events that pressures or forces tell; all others are told by where bodies are, how they move, and
how far the charge has burnt, and so by a state alone."""
OF_FORCES[
    [
        EventCode.BURST, EventCode.MERGE, EventCode.PEAK, EventCode.RISE, EventCode.SLIP,
        EventCode.STAND_SLIP, EventCode.NOSE_SLIP, EventCode.GAS_OVER, EventCode.CONTENTS_SLIP,
        EventCode.RELEASE, EventCode.AHEAD_OVER, EventCode.IDLE,
    ]
] = True  # fmt: skip


@compiled
def pin_of(event: int) -> int:
    """Return the index of the pin that an event is about, or -1."""
    return (event - COMMON_EVENTS) // 2 if event >= COMMON_EVENTS else -1


@compiled
def onward_event(pin: int) -> int:
    """Return the event at which a pin goes to its next stage."""
    return COMMON_EVENTS + 2 * pin


@compiled
def slack_event(pin: int) -> int:
    """Return the event at which a pin that bears is free again."""
    return COMMON_EVENTS + 2 * pin + 1
