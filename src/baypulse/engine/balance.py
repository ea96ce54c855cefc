"""The energy balance, which is integrated with a run."""

from __future__ import annotations

from enum import IntEnum


class Balance(IntEnum):
    """Entries of the energy balance [J]."""

    PUSH = 0
    """Work of gauge pressure on the sections."""
    AIR = 1
    """Work against the surrounding air."""
    FRICTION = 2
    """Into joint friction and seal."""
    PINS = 3
    """Into the pins."""
    GROUND = 4
    """Into the friction of stand and ground."""
    OUTSIDE = 5
    """Work done by gravity and drag."""
    PACKING = 6
    """Into the friction of the contents in the tube."""
    CORD = 7
    """Into the cord, stored and lost."""
    IMPACT = 8
    """Lost when bodies join or stop against each other."""
    BRAKE = 9
    """Into the cord's brake."""
    AFTERBURNING = 10
    """Heat of products that burn in the bay's air."""
    PORES = 11
    """Heat taken by the cloth within the contents, that of the salts included."""
    FILTERED = 12
    """Salts that the cloth holds back [kg]."""
