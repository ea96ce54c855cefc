"""Physical constants, each with its source."""

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s^2]; ISO 2533:1975, table 1 (exact)."""

STEFAN_BOLTZMANN = 5.670374419e-8
"""Stefan-Boltzmann constant [W/m^2/K^4]; CODATA 2018 (exact since 2019)."""

STANDARD_GAS_CONSTANT = 8.31432
"""Molar gas constant [J/mol/K] that defines the standard atmosphere; ISO 2533:1975."""

AIR_MOLAR_MASS = 28.9644e-3
"""Molar mass of dry air [kg/mol]; ISO 2533:1975 (US Standard Atmosphere 1976: 28.9644)."""

AIR_GAS_CONSTANT = STANDARD_GAS_CONSTANT / AIR_MOLAR_MASS
"""Specific gas constant of dry air [J/kg/K], 287.053; ISO 2533:1975."""

EARTH_RADIUS = 6_356_766.0
"""Nominal earth radius [m] of geopotential altitude; ISO 2533:1975."""
