"""Compressible flow through a thin slot: an orifice, and friction and cooling behind it."""

from __future__ import annotations

import math

from baypulse.physics import flow, gas, powers
from baypulse.physics.choice import anywhere, where
from baypulse.physics.compiled import compiled, inlined

NUSSELT = 7.54
"""Of fully developed laminar flow between plates of one temperature, on twice the gap; Shah &
London, Laminar Flow Forced Convection in Ducts (1978), ch. VI (7.541; from memory)."""

LAMINAR_FRICTION = 96.0
"""Darcy's friction factor times the Reynolds number between plates, on twice the gap: 96 follows
from the closed form of plane Poiseuille flow."""

BLASIUS = 0.316
"""Darcy's friction factor in smooth ducts is 0.316 Re^(-1/4) up to Re 1e5; Blasius 1913 (White,
Viscous Fluid Flow; from memory)."""

CROSSING = (LAMINAR_FRICTION / BLASIUS) ** (4.0 / 3.0)
"""Reynolds number at which both friction factors are the same, 2040. The greater takes over with an
exponent of 8: 9 % above either there, about as sharp as Churchill's (Chem. Eng. 84 (1977) 91; from
memory); our choice."""

NEGLIGIBLE = 1e-12
"""Number of transfer units below which the gas is as hot behind the slot as before it."""

WHOLE = 40.0
"""Number of transfer units from which it is as cold as the wall, to rounding."""

SUTHERLAND_KAPPA = 0.0241 * (273.0 + 194.0) / 273.0**1.5
"""kappa of Sutherland's law for the conductivity of air [W/m/K^1.5], from its value at 273 K."""

NEARLY_LAMINAR = 1e-4
"""(Re/Re_c)^6 below which two terms of a series are what turbulence adds, to 1e-13."""


@compiled
def conductivity(T: float) -> float:
    """Return the conductivity of air at a temperature T [K], in W/m/K.

    Sutherland's law, kappa T^(3/2)/(T + 194 K), as of :func:`baypulse.physics.gas.viscosity`;
    within 3 % of CoolProp from 200 to 1000 K and 10 % below it at 1900 K.

    References
    ----------
    White, Viscous Fluid Flow, 3rd ed. (2006), table 1-3: 0.0241 W/m/K, 273 K, 194 K (from
    memory; a test compares with CoolProp).
    """
    return SUTHERLAND_KAPPA * T * math.sqrt(T) / (T + 194.0)


@compiled
def turbulent_excess(Re: float) -> float:
    """Return what turbulence adds to the friction of a slot, as a share of the laminar one.

    With Darcy's factor f = (f_l^8 + f_t^8)^(1/8), f_l = 96/Re and f_t of Blasius, a slot in which
    friction is all passes 1/y = (1 + (Re/Re_c)^6)^(-1/14) of its laminar flux, within 2 %: f is
    that at the flux there is, Re that at the laminar flux. y^2 - y makes the quadratic of
    :func:`slot_flux` give just that.

    Parameters
    ----------
    Re : float
        Reynolds number on twice the gap, at the flux without turbulence.
    """
    x = Re * Re * (1.0 / (CROSSING * CROSSING))
    e, a = x * x * x, 1.0 / 14.0
    small = a * e * (1.0 + 0.5 * (3.0 * a - 1.0) * e)
    if not anywhere(e >= NEARLY_LAMINAR):
        return small
    y = powers.power(1.0 + e, a)
    return where(e < NEARLY_LAMINAR, small, y * (y - 1.0))


@compiled
def slot_flux(
    p_up: float,
    rho_up: float,
    p_down: float,
    g: float,
    R: float,
    gap: float,
    length: float,
    T_wall: float,
    discharge: float,
) -> float:
    """Return the mass flow through a slot from the higher pressure to the lower, per area of gap.

    The drops of mouth, laminar friction and turbulence add up; in shares of what is available,

        G^2/(Cd Phi)^2 + (G + e G^2/G_0) (24 mu L/h^2)/(p_1 rho (1 - r^2)) = 1,

    with Phi the flux of an orifice (:func:`baypulse.physics.flow.mass_flux`, choked or not), r =
    p_2/p_1, and p_1 rho (1 - r^2) = (p_1^2 - p_2^2)/(R T): the isothermal flow of a compressible
    gas. This is a quadratic in G. The limits: no length, the orifice; small differences, plane
    Poiseuille flow, a straight line; thin or long, laminar isothermal flow h^2 (p_1^2 - p_2^2)/(24
    mu R T L); wide and long, turbulent isothermal flow. Friction put on (p_1^2 - p_2^2), and not
    on 1/Cd^2 of the orifice, keeps the last one right: an orifice of a lower Cd chokes at
    Phi^2 = 0.47 p_1 rho, where a long duct passes up to twice that.

    e is what turbulence adds to the laminar friction (:func:`turbulent_excess`), from the flux G_0
    without it, so that all is explicit. Long slots pass isothermal flow with friction within 1 %;
    against adiabatic flow with friction (Fanno) behind an entrance without loss the flux is 0 to
    8 % too high.

    The gas in the slot comes to the wall's temperature: T = T_w + (T_g - T_w)(1 - exp(-N))/N on
    the average, N = Nu k L/(G h^2 cp), with k and G at the mean of both temperatures, which is
    about that of the gas where N matters. Density, viscosity and conductivity are those at T: a
    thin slot passes cold gas, a wide one hot gas. The products are taken to be as viscous as air.

    The gap is taken as even. A shoulder that lies on one side passes up to 2.5 times the laminar
    flow of a centred one (1 + 1.5 e^2 with the eccentricity e; Piercy, Hooper & Winny, Phil. Mag.
    15 (1933) 647; White, Viscous Fluid Flow; from memory).

    In the 76 mm bench bay, 0.05 mm by 76 mm, the peak is 2 % higher than with an orifice of the
    same area, and 14 % with the joint held shut.

    Parameters
    ----------
    p_up, p_down : float
        Absolute pressures [Pa], p_up at or above p_down.
    rho_up : float
        Density upstream [kg/m^3].
    g, R : float
        Ratio of heat capacities and gas constant [J/kg/K] upstream; they give temperature and
        heat capacity.
    gap, length : float
        Of the slot, across and along the flow [m]; a length of 0 is an orifice.
    T_wall : float
        Temperature of the slot's walls [K].
    discharge : float
        Cd of the slot's mouth.

    Returns
    -------
    float
        Mass flow over gap times width [kg/m^2/s].
    """
    return evened_slot_flux(
        p_up, rho_up, p_down, g, R, gap, length, T_wall, discharge, flow.LAMINAR
    )


@inlined
def evened_slot_flux(
    p_up: float,
    rho_up: float,
    p_down: float,
    g: float,
    R: float,
    gap: float,
    length: float,
    T_wall: float,
    discharge: float,
    even: float,
) -> float:
    """Return the flux of :func:`slot_flux` through a slot whose mouth is straightened further.

    Parameters
    ----------
    p_up, rho_up, p_down, g, R, gap, length, T_wall, discharge : float
        As there.
    even : float
        Relative pressure difference up to which the mouth passes gas in proportion to it
        (:func:`baypulse.physics.flow.evenness`): the slot passes no more than its mouth.

    Returns
    -------
    float
        Mass flow over gap times width [kg/m^2/s].
    """
    r = p_down / p_up
    span = 1.0 - r * r
    if not (anywhere(span > 0.0) and anywhere(gap > 0.0)):
        return 0.0 * span
    x, e = flow.throat(r, g)
    if not anywhere(length > 0.0):
        # the limit of what follows, quicker: a joint that is clear has no gap left
        return discharge * flow.throat_flux(p_up, rho_up, x, e, g, even)
    T_gas = p_up / (rho_up * R)
    # times its denominators: mouth/4 G^2 + drive B G = drive^2, where drive and mouth go with the
    # density in the slot
    drive = p_up * rho_up * span
    square = max(flow.throat_square(x, e, g, even), 1e-300)
    mouth = 4.0 * drive * span / (discharge * discharge * square)
    along = length / (gap * gap)
    T = 0.5 * (T_gas + T_wall)
    B = 24.0 * along * gas.viscosity(T)
    denser = T_gas / T
    # N = Nu k L/(G h^2 cp) with G = 2 drive/smooth in the slot, and no quotient behind the root
    cp = R * (g / (g - 1.0))
    cooling = 0.5 * NUSSELT * conductivity(T) * along / (denser * drive * cp)
    N = max(cooling * (B + math.sqrt(B * B + mouth * denser)), NEGLIGIBLE)
    kept = -powers.expm1(-N) if anywhere(N < WHOLE) else 1.0 + 0.0 * N
    T = T_wall + (T_gas - T_wall) * kept / N
    mu = gas.viscosity(T)
    B = 24.0 * along * mu
    denser = T_gas / T
    mouth *= denser
    twice_drive = 2.0 * denser * drive
    smooth = B + math.sqrt(B * B + mouth)
    excess = turbulent_excess(2.0 * gap * twice_drive / (smooth * mu))
    flux = twice_drive / (B + math.sqrt(B * B + mouth + 2.0 * B * smooth * excess))
    short = length <= 0.0
    if anywhere(short):
        orifice = discharge * flow.throat_flux(p_up, rho_up, x, e, g, even)
        flux = where(short, orifice, flux)
    return where(span <= 0.0, 0.0, where(gap <= 0.0, 0.0, flux))
