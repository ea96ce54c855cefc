"""The charge in the model of a case: powder, loose or in a holder, or a cold gas."""

from __future__ import annotations

from dataclasses import dataclass

from baypulse.case.spec import DefaultSpread, choice, number


@dataclass(frozen=True, kw_only=True)
class Powder:
    """A black-powder charge."""

    grade: str = choice("granulation, from the library", "3F", table="powders")
    mass: float = number("mass", "mass of the charge, weighed", 1e-6, 0.2, "1.2 g")
    moisture: float = number("ratio", "water in the powder, by mass", 0.0, 0.05, "0.5 %", 0.005)
    temperature: float | None = number(
        "temperature",
        "temperature of the powder when it is lit (default: the air's); type it for powder that is "
        "still warm inside the rocket when the air outside is cold",
        180.0, 340.0, "15 degC", None,
    )  # fmt: skip
    smallest_grain: float | None = number(
        "length", "lower sieve opening, if measured", 20e-6, 5e-3, "0.43 mm", None
    )
    largest_grain: float | None = number(
        "length", "upper sieve opening, if measured", 20e-6, 5e-3, "0.95 mm", None
    )
    ignition_delay: float = number(
        "time", "from the firing current to the first burning grain", 0.0, 5.0, "5 ms", 0.005,
        DefaultSpread("log-normal", 0.3),
    )  # fmt: skip
    packing: str = choice(
        "how the charge is packed, from the library", "loose", "loose", table="packings"
    )
    burning: str = choice(
        "law of burning: 'bed', set to recorded shots of loose powder, or 'strand', of pressed "
        "powder, which is far quicker at a bay's pressures",
        "bed", "bed", options=("bed", "strand"),
    )  # fmt: skip
    flame_spread: float | None = number(
        "time",
        "from the first burning grain to all grains burning, if measured (default: by the "
        "packing's speed of flame, the size of the charge and the pressure)",
        1e-5, 1.0, "2 ms", None,
    )  # fmt: skip
    rate_factor: float = number(
        "ratio", "multiplies the burning rate of the library's law", 0.01, 100.0, "1.0", 1.0
    )
    burnable_fraction: float | None = number(
        "ratio",
        "share of the charge that burns at all; the rest stays unburnt (default: library, "
        "lower for a loose charge in thin air)",
        0.0,
        1.0,
        "0.9",
        None,
    )


@dataclass(frozen=True, kw_only=True)
class Holder:
    """A closed charge holder that bursts; leave the table out for a loose charge."""

    volume: float = number("volume", "inside volume of the holder", 1e-8, 1e-3, "3 cm^3")
    burst: float = number(
        "gauge pressure", "pressure above the bay at which the holder opens", 1e3, 5e7, "60 psig"
    )
    opening: float = number(
        "length", "diameter of the hole it leaves when burst", 5e-4, 0.1, "12 mm"
    )
    discharge: float = number("ratio", "discharge coefficient of that hole", 0.1, 1.0, "0.7", 0.7)


@dataclass(frozen=True, kw_only=True)
class ColdGas:
    """A reservoir of compressed gas that opens through an orifice, in place of powder."""

    gas: str = choice("gas in the reservoir, from the library", "nitrogen", table="gases")
    volume: float = number("volume", "volume of the reservoir", 1e-7, 0.05, "60 cm^3")
    pressure: float = number("gauge pressure", "fill pressure", 1e3, 4e7, "300 psig")
    orifice: float = number("length", "diameter of the orifice it opens through", 5e-5, 0.1, "5 mm")
    discharge: float = number("ratio", "discharge coefficient of the orifice", 0.1, 1.0, "0.8", 0.8)
    opening_delay: float = number(
        "time", "from the command to the open valve", 0.0, 5.0, "5 ms", 0.005
    )
