"""The validated model of a case: what a case file may say, in SI floats.

Each dataclass is a table of the case file and each field a key. The field's metadata
(:mod:`baypulse.case.spec`) is the only description of that key: the reader, the
JSON Schema, ``baypulse check`` and the reference of keys are all made from it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from baypulse.case.charge_model import ColdGas, Holder, Powder
from baypulse.case.origins import Provenance, Spread
from baypulse.case.spec import DefaultSpread, choice, count, number, text


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """Air around the rocket: by altitude (standard atmosphere) or as measured on site."""

    altitude: float = number(
        "length", "altitude above sea level of the shot", -500.0, 80e3, "300 m", 0.0
    )
    pressure: float | None = number(
        "absolute pressure",
        "measured site pressure (not reduced to sea level); replaces the standard atmosphere's",
        1.0,
        120e3,
        "98.2 kPa abs",
        None,
    )
    temperature: float | None = number(
        "temperature",
        "measured air temperature where the shot takes place; replaces the standard atmosphere's",
        180.0,
        340.0,
        "15 degC",
        None,
    )


@dataclass(frozen=True, kw_only=True)
class Bay:
    """The tube that holds the parachute, closed at the far end."""

    bore: float = number("length", "inside diameter of the tube", 0.01, 1.0, "75 mm")
    tube_length: float = number(
        "length", "from the tube's open lip to the closed face at its far end", 0.02, 5.0, "300 mm"
    )
    coupler_intrusion: float = number(
        "length",
        "length of that tube taken up by a coupler or bulkhead at the far end",
        0.0,
        5.0,
        "50 mm",
        0.0,
    )
    extra_volume: float = number(
        "volume", "any other space open to the bay", 0.0, 0.1, "100 cm^3", 0.0
    )
    wall: str = choice("tube material, from the library", "fibre glass", table="walls")
    wall_thickness: float = number("length", "tube wall thickness", 1e-4, 0.02, "2 mm")
    entrainment: float = number(
        "ratio",
        "air drawn into the burning gas by its own stirring: about 1 for a free jet that crosses "
        "the bay once (the widest unknown of the mixing)",
        1e-4, 100.0, "0.5", 0.5, DefaultSpread("log-normal", 0.8),
    )  # fmt: skip
    mixing_time: float | None = number(
        "time",
        "time in which the bay's air mixes into the burning gas, counted from the products; "
        "replaces the law of entrainment (10 to 100 ms)",
        1e-4, 100.0, "30 ms", None,
    )  # fmt: skip
    model_agreement: float = number(
        "ratio",
        "what the charge does in this bay over what this program computes of it; 1 if nothing were "
        "left out, which no shot has shown of any bay, so it scatters unless it is typed, and "
        "shots teach it",
        0.05, 20.0, "1.0", 1.0, DefaultSpread("log-normal", 0.2),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Contents:
    """The packed parachute, protector and cord."""

    mass: float = number("mass", "mass of everything packed in the bay", 0.0, 50.0, "350 g")
    volume: float | None = number(
        "volume", "volume that the packed contents fill", 0.0, 0.5, "500 cm^3", None
    )
    packing_density: float | None = number(
        "density", "packed mass by volume, when the volume was not measured", 50.0, 1500.0,
        "350 kg/m^3", None,
    )  # fmt: skip
    packed_length: float | None = number(
        "length", "length of tube that the packed contents fill; alone, it gives their volume as "
        "length times bore area (default: volume over bore area)",
        0.0, 5.0, "120 mm", None,
    )  # fmt: skip
    charge_side: str = choice(
        "side of the packed contents that the charge is on: 'behind' them, at the bulkhead, as is "
        "usual, or 'ahead', between them and the nose",
        "behind", "behind", options=("behind", "ahead"),
    )  # fmt: skip
    space_behind: float = number(
        "ratio",
        "share of the bay's free space that is behind the packed contents before the shot, the "
        "rest being ahead of them; hardly anybody measures it, so it scatters widely",
        0.0, 1.0, "0.5", 0.5, DefaultSpread("normal", 0.3),
    )  # fmt: skip
    cloth: str = choice("what faces the charge, from the library", "nylon", "nylon", table="cloths")
    exposed_area: float | None = number(
        "area", "area of cloth that the gas can reach (default: twice the bore)", 0.0, 2.0,
        "100 cm^2", None,
    )  # fmt: skip
    tightness: str | None = choice(
        "how tightly the packed contents sit in the tube, from the library (default: unknown, "
        "anything from loose to tight); the force that pulls them out follows from it unless "
        "extraction_force gives it",
        "snug", None, table="packs",
    )  # fmt: skip
    extraction_force: float | None = number(
        "force", "force that pulls the pack out of the tube, by luggage scale (default: "
        "by tightness and packed length)",
        0.0, 2e3, "35 N", None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Nose:
    """The section that leaves: nose cone, payload tube, everything ahead of the joint."""

    mass: float = number("mass", "mass of everything ahead of the joint", 1e-3, 500.0, "600 g")
    shape: str = choice(
        "'closed' if a bulkhead closes the shoulder, else the shape of the hollow inside",
        "closed", "closed", options=("closed", "cone", "tangent ogive", "ellipsoid"),
    )  # fmt: skip
    hollow_length: float | None = number(
        "length", "inside length of an open hollow nose", 0.0, 5.0, "250 mm", None
    )
    hollow_diameter: float | None = number(
        "length", "inside diameter at the base of an open hollow nose", 0.0, 1.0, "70 mm", None
    )
    drag: float = number(
        "force", "drag on this section at the moment of firing, in flight", 0.0, 1e4, "2 N", 0.0
    )


@dataclass(frozen=True, kw_only=True)
class Airframe:
    """Everything behind the joint."""

    mass: float = number(
        "mass",
        "mass of everything behind the joint, packed contents not counted",
        1e-3,
        500.0,
        "2.1 kg",
    )
    drag: float = number(
        "force", "drag on this section at the moment of firing, in flight", 0.0, 1e4, "2 N", 0.0
    )


@dataclass(frozen=True, kw_only=True)
class Joint:
    """The friction fit of the shoulder in the tube."""

    shoulder_length: float = number(
        "length", "length of shoulder inside the tube: the stroke to clear", 1e-3, 2.0, "75 mm"
    )
    shoulder_bore: float | None = number(
        "length", "inside diameter of an open hollow shoulder", 0.0, 1.0, "70 mm", None
    )
    fit: str | None = choice(
        "class of fit from the library, when no force was measured", "snug", None, table="fits"
    )
    pull_off: float | None = number(
        "force", "force that starts the joint without pins, by luggage scale", 0.0, 5e3, "25 N",
        None,
    )  # fmt: skip
    sliding_ratio: float = number(
        "ratio", "sliding friction over static friction", 0.05, 1.0, "0.8", 0.8
    )
    seal_drag: float = number(
        "force", "steady drag of an O-ring or tape until the joint clears", 0.0, 5e3, "5 N", 0.0
    )
    clearance: float = number(
        "length",
        "radial gap between shoulder and tube that leaks, taken as even: half of what the bore is "
        "wider (0.05 to 0.3 mm; estimate)",
        0.0, 5e-3, "0.05 mm", 0.0,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Pins:
    """Shear pins across the joint."""

    count: int = count("number of pins", 1, 24, "3")
    thread: str = choice("thread, from the library", "#2-56", table="threads")
    material: str = choice("pin material, from the library", "nylon 6/6", "nylon 6/6",
                           table="pin materials")  # fmt: skip
    strength: float | None = number(
        "force",
        "strength of ONE pin in this joint, measured in a slow pull; replaces thread and material, "
        "but for what a shot adds: it loads pins in milliseconds, which makes them stronger",
        0.1, 5e4, "140 N", None,
    )  # fmt: skip
    moisture: float = number("ratio", "water in the pin, by mass", 0.0, 0.09, "2.5 %", 0.025)
    clearance: float = number(
        "length", "travel before the pin touches its hole", 0.0, 5e-3, "0.2 mm", 0.0002
    )
    rise: float = number(
        "length", "further travel up to the pin's full strength", 1e-5, 1e-2, "0.5 mm", 0.0005
    )
    failure_travel: float = number(
        "length", "further travel over which a failed pin lets go", 1e-5, 1e-2, "0.5 mm", 0.0005
    )


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A hole, or slot, between two volumes or to the outside: vents, wire holes, an uncapped motor.

    A hole has a diameter; a slot has gap, width and length, and leaks by a law of its own.
    """

    name: str = text("what it is", "vent")
    between: str = choice(
        "volume on one side; with contents, an opening of the bay is on the side of the charge, "
        "where it lets out most, and one to the electronics is behind them",
        "bay",
        "bay",
        options=("bay", "electronics", "outside"),
    )
    to: str = choice(
        "volume on the other side", "outside", "outside",
        options=("bay", "electronics", "outside"),
    )  # fmt: skip
    diameter: float | None = number(
        "length", "diameter of one hole; left out for a slot", 0.0, 1.0, "3.2 mm", None
    )
    gap: float | None = number(
        "length",
        "of a slot: across it, by feeler gauge (a lid or coupler 0.05 to 0.3 mm; estimate); with "
        "width and length, in place of diameter",
        0.0, 5e-3, "0.1 mm", None,
    )  # fmt: skip
    width: float | None = number(
        "length", "of a slot: along its mouth; of one round a disc, the disc's circumference",
        1e-4, 5.0, "240 mm", None,
    )  # fmt: skip
    length: float | None = number(
        "length", "of a slot: the way through it (the rim of a lid 5 to 50 mm; estimate)",
        0.0, 1.0, "25 mm", None,
    )  # fmt: skip
    count: int = count("number of such holes, or slots", 1, 100, "1", 1)
    discharge: float = number(
        "ratio", "discharge coefficient, of a slot that of its mouth (sharp hole about 0.62)",
        0.1, 1.0, "0.65", 0.65,
    )  # fmt: skip

    @property
    def hole_diameter(self) -> float:
        """Of one hole [m]; 0 of a slot."""
        return 0.0 if self.diameter is None else self.diameter


@dataclass(frozen=True, kw_only=True)
class Electronics:
    """The electronics bay behind the bulkhead, a volume of its own."""

    volume: float = number("volume", "free volume of the electronics bay", 1e-6, 0.1, "600 cm^3")


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Where the shot takes place."""

    kind: str = choice(
        "'clamped' airframe or free to slide on its 'stand' (ground tests), or in 'flight'",
        "clamped", "clamped", options=("clamped", "stand", "flight"),
    )  # fmt: skip
    attitude: float = number("angle", "nose above the horizon", -1.5708, 1.5708, "0 deg", 0.0)
    stand_friction: float = number(
        "ratio", "friction coefficient of the airframe on its stand", 0.0, 5.0, "0.4", 0.4
    )
    ground_friction: float = number(
        "ratio",
        "friction coefficient of the nose where it slides along the ground or a bench once it is "
        "clear; leave it out for a nose in the air",
        0.0, 5.0, "0.4", 0.0,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Cord:
    """The shock cord and its anchors."""

    type: str = choice("cord, from the library", "tubular nylon 9/16 in", table="cords")
    length: float = number("length", "length between the two anchors", 0.1, 200.0, "5 m")
    nose_share: float = number(
        "ratio", "share of the cord between the nose and the packed contents", 0.0, 1.0, "0.3", 0.3
    )
    knot: str = choice("weakest knot or end, from the library", "sewn", "sewn", table="knots")
    break_load: float | None = number(
        "force", "measured load at break of the new cord, without knots; replaces the library's",
        1.0, 1e6, "1500 lbf", None,
    )  # fmt: skip
    break_elongation: float | None = number(
        "ratio", "measured elongation at break; replaces the library's", 0.002, 10.0, "28 %", None
    )
    wear: float = number("ratio", "strength left after use", 0.05, 1.0, "0.9", 1.0)
    anchor_strength: float | None = number(
        "force", "strength of the weaker anchor or link", 1.0, 1e6, "220 lbf", None
    )


@dataclass(frozen=True, kw_only=True)
class Brake:
    """A bundle of the cord, taped or stitched in folds, that tears open and takes energy."""

    name: str = text("what it is", "tape near the airframe")
    count: int = count("number of equal stages, torn one after another", 1, 20, "3", 1)
    force: float = number(
        "force", "force at which one stage tears or pays out, by luggage scale", 1.0, 1e5, "100 N",
        100.0, DefaultSpread("normal", 0.25),
    )  # fmt: skip
    stroke: float = number(
        "length", "length of pull over which that force acts, in each stage", 1e-3, 50.0, "80 mm"
    )
    length: float | None = number(
        "length", "cord that each stage holds and pays out, its stroke included (default: stroke)",
        1e-3, 50.0, "250 mm", None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class OtherJoint:
    """A joint of the rocket that is still closed when this bay separates, and must stay so."""

    name: str = text("what it is", "main")
    side: str = choice(
        "section of this bay that the joint belongs to", "nose", options=("nose", "airframe")
    )
    mass: float = number(
        "mass", "mass beyond that joint, away from this bay, which the joint must drag along",
        1e-3, 500.0, "300 g",
    )  # fmt: skip
    hold: float = number(
        "force", "force that parts that joint: its pins and its friction", 0.1, 1e6, "500 N"
    )
    sudden: float = number(
        "ratio",
        "factor by which a sudden jerk of the cord works harder than the same load put on slowly",
        1.0, 3.0, "2.0", 2.0,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Ascent:
    """The ascent, on which trapped air and drag work on the closed joint: thrust, then coast."""

    pad_altitude: float | None = number(
        "length",
        "altitude above sea level of the pad (default: that of a ground test, sea level for a "
        "shot in flight)",
        -500.0, 9000.0, "300 m", None,
    )  # fmt: skip
    burnout_height: float = number(
        "length", "height above the pad when the motor burns out", 1.0, 50e3, "400 m"
    )
    burnout_speed: float = number(
        "velocity", "speed at burnout, the highest of the flight", 1.0, 2500.0, "230 m/s"
    )
    drag_area: float = number(
        "area", "drag area Cd A of the whole rocket in coast", 1e-7, 10.0, "45 cm^2"
    )
    fore_drag_area: float | None = number(
        "area",
        "drag area Cd A of everything ahead of the joint, for the pull of drag in coast",
        1e-7, 10.0, "5 cm^2", None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What must not be exceeded, beside cord and pins."""

    bay_pressure: float | None = number(
        "gauge pressure", "highest pressure that tube and bulkheads stand", 1e3, 1e8, "60 psig",
        None,
    )  # fmt: skip
    separation_velocity: float | None = number(
        "velocity",
        "greatest separation velocity wanted, shortly after the joint is clear",
        0.1,
        300.0,
        "60 ft/s",
        None,
    )


@dataclass(frozen=True, kw_only=True)
class Run:
    """How long and how finely the run is computed, and whether it is of a bay at all."""

    end_time: float = number("time", "longest time simulated", 1e-3, 600.0, "120 s", 120.0)
    tolerance: float = number("ratio", "relative tolerance of a step", 1e-11, 1e-3, "1e-6", 1e-6)
    chamber: str = choice(
        "'vessel' only to compute a published shot of a closed vessel or a mortar, at pressures "
        "that no bay has: a slip in the charge's unit is then not looked for",
        "bay", "bay", options=("bay", "vessel"),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class RulePressure:
    """What the static rule is asked for."""

    target: float = number(
        "gauge pressure",
        "pressure that the static rule aims for (10 to 15 psi is common practice, no source)",
        1e3,
        5e5,
        "15 psig",
        103421.35939752542,
    )


@dataclass(frozen=True, kw_only=True)
class Case:
    """Everything about one shot, validated, in SI.

    ``provenance`` and ``spreads`` are keyed by dotted path, such as ``"pins.strength"`` or
    ``"openings[0].diameter"``. ``materials`` replaces numbers of the library in this case, keyed
    by table, entry and number, such as ``"powders.3F.rate"``; in a file they stand below
    ``[library.powders.3F]``, and their spreads and provenance under ``"library.powders.3F.rate"``.

    In an ensemble any number here may be an array of shape (members,). The strength of the pins,
    and the shear strength of their material, may differ from pin to pin: an array of shape
    (members, pins), or a tuple for a single shot.
    """

    name: str
    title: str = text("one line that says what this is", "76 mm bench bay")
    note: str = text("anything worth keeping with the case", "", "")
    surroundings: Surroundings = field(default_factory=Surroundings)
    powder: Powder | None = None
    holder: Holder | None = None
    cold_gas: ColdGas | None = None
    bay: Bay
    contents: Contents | None = None
    nose: Nose
    airframe: Airframe
    joint: Joint
    pins: Pins | None = None
    openings: tuple[Opening, ...] = ()
    electronics: Electronics | None = None
    setting: Setting = field(default_factory=Setting)
    cord: Cord | None = None
    brakes: tuple[Brake, ...] = ()
    other_joints: tuple[OtherJoint, ...] = ()
    ascent: Ascent | None = None
    limits: Limits = field(default_factory=Limits)
    rule: RulePressure = field(default_factory=RulePressure)
    run: Run = field(default_factory=Run)
    provenance: dict[str, Provenance] = field(default_factory=dict)
    spreads: dict[str, Spread] = field(default_factory=dict)
    materials: dict[str, Any] = field(default_factory=dict)
    source_text: str = ""
