"""The values that a new case asks for, and how each is measured."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FirstValue:
    """One of the values that a new case asks for.

    Attributes
    ----------
    path : str
        Key of the case.
    option : str
        Of the command line.
    what : str
        What it is, in a few words.
    how : str
        How to measure it.
    word_key : str
        Key that takes a word of the library where there is no force yet; empty for none.
    needed : bool
        Whether somebody at a terminal must answer.
    """

    path: str
    option: str
    what: str
    how: str
    word_key: str = ""
    needed: bool = False


FIRST_VALUES: tuple[FirstValue, ...] = (
    FirstValue("bay.bore", "--bore", "inside diameter of the tube", "calipers", needed=True),
    FirstValue("bay.tube_length", "--tube-length", "tube, open lip to closed end",
               "tape measure inside", needed=True),
    FirstValue("joint.shoulder_length", "--shoulder-length", "shoulder inside the tube", "ruler"),
    FirstValue("contents.packed_length", "--packed-length", "tube that the packed parachute fills",
               "pack it, then a stick from the lip"),
    FirstValue("joint.pull_off", "--pull-off", "force that starts the joint, no pins",
               "luggage scale", word_key="joint.fit"),
    FirstValue("contents.extraction_force", "--extraction-force", "force that pulls the pack out",
               "luggage scale", word_key="contents.tightness"),
    FirstValue("contents.mass", "--packed-mass", "parachute, protector and cord",
               "kitchen scale"),
    FirstValue("nose.mass", "--nose-mass", "all ahead of the joint", "scale"),
    FirstValue("airframe.mass", "--airframe-mass", "all behind the joint, pack not counted",
               "scale"),
    FirstValue("pins.count", "--pins", "number of shear pins", "0 for none"),
    FirstValue("pins.thread", "--thread", "thread of the pins", "a word"),
    FirstValue("bay.wall", "--wall", "tube material", "a word"),
    FirstValue("powder.mass", "--charge", "black powder", "scale, to 0.01 g"),
)  # fmt: skip
"""In the order in which they are asked for: what is typical follows from those before."""
