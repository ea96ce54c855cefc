"""What people say of a shot, as they say it: read right, or refused with what was perhaps meant."""

from __future__ import annotations

import tomllib
from importlib import resources

import pytest

from baypulse.observed.said import plain
from baypulse.observed.sightings import SightingError, kinds, sight

# Ways of saying it as a bench knows them, from memory: nobody has counted how often each is said.
READ = {
    "contents stayed in": "separated but parachute stayed in",
    "The parachute stayed inside.": "separated but parachute stayed in",
    "Chute stayed inside the tube": "separated but parachute stayed in",
    "the chute didn't come out": "separated but parachute stayed in",
    "nose came off but the parachute stayed in": "separated but parachute stayed in",
    "nothing happened": "no separation",
    "It did not move": "no separation",
    "the nose cone stayed on": "no separation",
    "nose stuck halfway": "partial separation",
    "only moved a little": "partial separation",
    "it came apart": "separated",
    "the cord broke": "separated too hard",
    "heard a pop": "pop",
    "loud bang!": "pop",
    "bang": "pop",
    "fizzle": "whoosh",
    "it just fizzled": "whoosh",
    "heard a hiss": "whoosh",
    "no sound": "no sound",
    "we heard nothing": "no sound",
    "shear pins didn't break": "pins whole",
    "one pin left": "some pins sheared",
    "all the shear pins sheared": "all pins sheared",
    "smoke from the vent": "smoke at the vent",
    "smoke came out of the joint": "smoke at the joint",
    "saw no smoke": "no smoke",
    "unburned powder": "unburnt grains",
    "sooty": "dirty",
    "chute singed": "scorched",
    "no burn marks": "no scorch",
    "soot in the avionics bay": "soot in the electronics bay",
}
"""What is said, and the answer that it is."""


@pytest.mark.parametrize("text", READ)
def test_answers_are_read_as_people_say_them(text: str) -> None:
    found = sight(text)
    assert found.answer is not None
    assert found.kind.answers[found.answer] == READ[text]


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("nose went 2 m", "slide", 2.0),
        # 1 ft = 0.3048 m exactly (NIST SP 811)
        ("nose flew 6 ft", "slide", 6 * 0.3048),
        ("The nose cone landed about 3 metres away", "slide", 3.0),
        ("the nose flew 6 feet.", "slide", 6 * 0.3048),
        ("it moved 12 mm out", "travel", 0.012),
        ("the gauge showed 9 psi", "peak", 9 * 6894.757293168),
        ("Separation speed 20 ft/s", "velocity", 20 * 0.3048),
        ("opened after 2 seconds", "time", 2.0),
        # a capital letter tells units apart: mega is no milli
        ("peak pressure 0.06 MPa", "peak", 60e3),
    ],
)
def test_numbers_are_read_as_people_say_them(text: str, kind: str, value: float) -> None:
    found = sight(text)
    assert found.kind.name == kind
    assert found.value == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("heard a pup", '"pop"'),
        ("fizle", '"whoosh"'),
        ("parashute stayed in", '"separated but parachute stayed in"'),
        ("two pins sheared", '"all pins sheared"'),
        ("two pins sheared", '"some pins sheared"'),
        ("smoke", '"smoke at the joint"'),
        ("pop and smoke", '"pop"'),
        ("nose went off", 'write "nose went 3 m"'),
        ("nose wnet 2 m", '"nose went"'),
        ("nose went 12 mm", 'write "moved 12 mm"'),
        ("moved 2 m", 'write "slid 2 m"'),
        ("saw nothing", '"no sound"'),
        ("no pop", '"pop"'),
    ],
)
def test_near_misses_get_what_was_perhaps_meant(text: str, meant: str) -> None:
    with pytest.raises(SightingError) as caught:
        sight(text)
    # the list of all that can be said, behind it, holds every answer
    hint, _, _ = str(caught.value).partition("What can be said")
    assert meant in hint
    assert f'--saw "{text}"' in str(caught.value)


@pytest.mark.parametrize("text", ["", "2 m", "it was", "the !", "green", "went", "heard", "no"])
def test_what_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(SightingError):
        sight(text)


def test_no_phrase_stands_in_the_list_for_two_answers() -> None:
    place = resources.files("baypulse") / "observed" / "sightings.toml"
    listed = tomllib.loads(place.read_text(encoding="utf-8"))
    said: dict[str, str] = {}
    for entry in listed.values():
        for answer, phrases in entry.get("answers", {}).items():
            for phrase in phrases:
                assert said.setdefault(plain(phrase), answer) == answer
        for word in entry.get("words", ()):
            # it is looked for in plain words
            assert plain(word) == word
    assert len(said) > 150
    assert set(said.values()) == {a for kind in kinds().values() for a in kind.answers}
