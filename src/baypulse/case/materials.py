"""What the library knows of each kind of material: the numbers of one entry, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

# a float of one of :data:`baypulse.case.units.DIMENSIONS`, by which the data files are read
Length = Annotated[float, "length"]
Density = Annotated[float, "density"]
HeatCapacity = Annotated[float, "heat capacity"]
Temperature = Annotated[float, "temperature"]
Covolume = Annotated[float, "covolume"]
Ratio = Annotated[float, "ratio"]
Velocity = Annotated[float, "velocity"]
SpecificEnergy = Annotated[float, "specific energy"]
Time = Annotated[float, "time"]
Stress = Annotated[float, "stress"]
PerKelvin = Annotated[float, "per kelvin"]
AbsolutePressure = Annotated[float, "absolute pressure"]
HeatCapacitySlope = Annotated[float, "heat capacity slope"]
Conductivity = Annotated[float, "conductivity"]
HeatTransfer = Annotated[float, "heat transfer"]
Force = Annotated[float, "force"]


@dataclass(frozen=True)
class PowderData:
    """One granulation of black powder and the burning of the powder itself.

    Attributes
    ----------
    smallest_grain, largest_grain : float
        Sieve window [m].
    grain_density : float
        Density of a grain [kg/m^3].
    gas_constant : float
        Effective gas constant of all products, per kg of powder [J/kg/K].
    explosion_temperature : float
        Temperature of the products as they form [K].
    heat_capacity : float
        Mean heat capacity of all products at constant volume, per kg of powder [J/kg/K].
    covolume : float
        Noble-Abel covolume, residue included [m^3/kg].
    condensed_share, condensed_heat_share : float
        Share of the products that is condensed salts when hot, and of their heat.
    deposition_velocity : float
        At which salts settle on walls and cloth [m/s].
    afterburning_heat, afterburning_air : float
        Heat of a kilogram of products in air [J/kg], and the air that it takes [kg/kg].
    afterburning_efficiency, afterburning_temperature : float
        Share of it that burns in a bay, and from which temperature of the hot gas on [K].
    bulk_density : float
        Of loose grains [kg/m^3].
    bed_time, bed_pressure, bed_exponent : float
        Burning of a bed: the time [s] in which a grain of mean size burns at a pressure [Pa], and
        the exponent by which it shortens with pressure.
    rate : float
        Linear burning rate at ``rate_pressure`` [m/s].
    rate_pressure : float
        Reference pressure of the burning law [Pa].
    rate_exponent : float
        Pressure exponent of the burning law.
    burnable_fraction : float
        Share of a charge that burns.
    reference_moisture : float
        Moisture at which rate and heat are given.
    moisture_rate_slope : float
        Relative loss of rate per unit of mass fraction of water.
    reference_temperature : float
        Temperature of the powder [K] at which rate and explosion temperature are given.
    powder_heat_capacity : float
        Of the powder itself, before it burns [J/kg/K].
    rate_temperature_slope : float
        Relative change of rate per kelvin of the powder's temperature.
    thin_air_full, thin_air_none : float
        Ambient pressures [Pa] above which a loose charge burns to its ceiling, and below which
        it hardly burns.
    """

    smallest_grain: Length
    largest_grain: Length
    grain_density: Density
    gas_constant: HeatCapacity
    explosion_temperature: Temperature
    heat_capacity: HeatCapacity
    covolume: Covolume
    condensed_share: Ratio
    condensed_heat_share: Ratio
    deposition_velocity: Velocity
    afterburning_heat: SpecificEnergy
    afterburning_air: Ratio
    afterburning_efficiency: Ratio
    afterburning_temperature: Temperature
    bulk_density: Density
    bed_time: Time
    bed_pressure: Stress
    bed_exponent: Ratio
    rate: Velocity
    rate_pressure: Stress
    rate_exponent: Ratio
    burnable_fraction: Ratio
    reference_moisture: Ratio
    moisture_rate_slope: Ratio
    reference_temperature: Temperature
    powder_heat_capacity: HeatCapacity
    rate_temperature_slope: PerKelvin
    thin_air_full: AbsolutePressure
    thin_air_none: AbsolutePressure


@dataclass(frozen=True)
class PackingData:
    """How a charge is packed.

    Attributes
    ----------
    flame_speed : float
        At which the flame runs through it at the pressure of the powder's burning law [m/s].
    flame_exponent : float
        Its exponent of pressure.
    carried_share : float
        Grains that leave with the gas, over those that would if they were spread through it.
    """

    flame_speed: Velocity
    flame_exponent: Ratio
    carried_share: Ratio


@dataclass(frozen=True)
class GasData:
    """A gas: specific constant and u(T) = c0 T + c1 T^2/2 above 0 K.

    Attributes
    ----------
    gas_constant : float
        [J/kg/K].
    heat_capacity : float
        c0 [J/kg/K].
    heat_capacity_slope : float
        c1 [J/kg/K^2].
    """

    gas_constant: HeatCapacity
    heat_capacity: HeatCapacity
    heat_capacity_slope: HeatCapacitySlope


@dataclass(frozen=True)
class SurfaceData:
    """What takes heat from the gas.

    Attributes
    ----------
    conductivity : float
        [W/m/K].
    density : float
        [kg/m^3].
    heat_capacity : float
        [J/kg/K].
    emissivity : float
        Effective emissivity between dusty gas and this surface.
    convection : float
        Heat transfer coefficient of the stirred gas [W/m^2/K].
    """

    conductivity: Conductivity
    density: Density
    heat_capacity: HeatCapacity
    emissivity: Ratio
    convection: HeatTransfer


@dataclass(frozen=True)
class WallData(SurfaceData):
    """A tube material.

    Attributes
    ----------
    bearing_strength : float
        Stress at which a pin tears the hole out [Pa].
    tensile_strength : float
        Hoop strength [Pa].
    """

    bearing_strength: Stress
    tensile_strength: Stress


@dataclass(frozen=True)
class ClothData(SurfaceData):
    """Packed cloth or protector facing the charge; as a surface, of the packed stack.

    Attributes
    ----------
    exposure : float
        Share of the exposed area that the gas really reaches.
    fibre_density : float
        Of the solid fibre [kg/m^3]; what a pack is lighter than it is voids.
    particle_diameter : float
        Diameter of the spheres through whose bed gas would seep as through this cloth in folds:
        6 over its surface per volume of fibre [m].
    """

    exposure: Ratio
    fibre_density: Density
    particle_diameter: Length


@dataclass(frozen=True)
class ThreadData:
    """A screw thread.

    Attributes
    ----------
    major_diameter : float
        [m].
    pitch : float
        [m].
    root_diameter : float
        Minor diameter of the external thread at its root [m].
    """

    major_diameter: Length
    pitch: Length
    root_diameter: Length


@dataclass(frozen=True)
class PinMaterialData:
    """A pin material.

    Attributes
    ----------
    shear_strength : float
        At the reference temperature and moisture [Pa].
    reference_temperature : float
        [K].
    reference_moisture : float
        Mass fraction of water.
    temperature_slope : float
        Relative change of strength per kelvin (negative: weaker when warm).
    moisture_slope : float
        Relative change of strength per unit of water mass fraction.
    rate_strengthening : float
        Relative gain of strength per decade of loading rate, over that of a slow pull.
    """

    shear_strength: Stress
    reference_temperature: Temperature
    reference_moisture: Ratio
    temperature_slope: PerKelvin
    moisture_slope: Ratio
    rate_strengthening: Ratio


@dataclass(frozen=True)
class CordData:
    """A cord: load = break_load * (strain / break_elongation)^exponent.

    Attributes
    ----------
    break_load : float
        [N].
    break_elongation : float
        Strain at break.
    exponent : float
        Of the load-elongation curve; 1 is linear.
    damping_ratio : float
        Share of critical damping at the secant stiffness.
    permanent_set : float
        Strain kept after unloading, as a share of the greatest strain.
    """

    break_load: Force
    break_elongation: Ratio
    exponent: Ratio
    damping_ratio: Ratio
    permanent_set: Ratio


@dataclass(frozen=True)
class FibreData:
    """What cold does to the fibre of a cord.

    Attributes
    ----------
    strength_slope, stretch_slope : float
        Relative change of load and of elongation at break per kelvin.
    """

    strength_slope: PerKelvin
    stretch_slope: PerKelvin


@dataclass(frozen=True)
class KnotData:
    """A knot or end; ``efficiency`` is the strength it leaves."""

    efficiency: Ratio


@dataclass(frozen=True)
class FitData:
    """A class of friction fit; ``pressure`` times the shoulder's outside area gives the force.

    Attributes
    ----------
    shear : float
        Static friction force per contact area of the shoulder [Pa].
    """

    shear: Stress


@dataclass(frozen=True)
class PackData:
    """How tightly the packed contents sit in the tube.

    Attributes
    ----------
    shear : float
        Static friction force per area of wall that the pack touches, before anything squeezes it
        [Pa]; times pi D and the packed length, the force that pulls it out.
    gap : float
        Gap round the pack through which gas passes it, as if it were even all round [m].
    grip : float
        Friction coefficient on the wall, times pressure across the tube over pressure along it:
        how a pack that is pushed from behind holds itself.
    """

    shear: Stress
    gap: Length
    grip: Ratio
