"""Made-up findings of studies, for the tests of their figures and reports; seeded."""

import dataclasses
import math
from functools import cache

import numpy as np

from baypulse.case.casefile import reads
from baypulse.members.chances import chance
from baypulse.members.factors import Factor, factors
from baypulse.members.quantities import Limit, QuantityCurve
from baypulse.run.result import VERDICTS
from baypulse.studies.scatter.influence import Influence, Swing
from baypulse.studies.scatter.result import Band, Distribution, Output, Scatter
from baypulse.studies.sweep.result import Axis, Sweep
from report_cases import BENCH

MEMBERS = 10_000
SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)


@cache
def case():
    return reads(BENCH, "bench")


def distribution(name, label, dimension, values, limits=()):
    good = values[np.isfinite(values)]
    counts, edges = np.histogram(good, 60)
    return Distribution(
        name, label, dimension, good.size, values.size, edges, counts, SHARES,
        tuple(np.quantile(good, SHARES)), good.mean(),
        good.std(ddof=1) if good.size > 1 else np.nan, limits,
    )  # fmt: skip


@cache
def scatter():
    """Return a bay that separates nearly always, with everything a study can hold."""
    rng = np.random.default_rng(7)
    pressure = 1.05e5 * np.exp(0.2 * rng.standard_normal(MEMBERS))
    speed = 0.04 * np.sqrt(pressure) + rng.standard_normal(MEMBERS)
    speed[:400] = np.nan
    load = 90.0 * np.nan_to_num(speed, nan=np.nan)
    distributions = (
        distribution("peak_pressure", "peak pressure", "gauge pressure", pressure,
                     (Limit("tube wall", 6.2e6), Limit("limit of the bay", 2.5e5))),
        distribution("greatest_velocity", "greatest separation velocity", "velocity", speed,
                     (Limit("limit", 20.0),)),
        distribution("cord_load", "peak load of the cord", "force", load,
                     (Limit("tubular nylon 1/2 in, figure-8", 3000.0),)),
        distribution("clear_time", "time until clear", "time", 0.03 + 0.2 / speed),
    )  # fmt: skip
    times = np.linspace(0.03, 0.09, 301)
    rise = np.clip((times - 0.035) / 0.01, 0.0, 8.0)
    shape = rise * np.exp(1.0 - rise)
    scale = np.quantile(pressure[:256], SHARES)[:, None]
    travel = 0.5 * np.clip(times - 0.045, 0.0, None) ** 2 * 250.0
    grow = np.array([0.6, 0.85, 1.0, 1.2, 1.6])[:, None]
    bands = (
        Band("gauge_pressure", "bay pressure, gauge", "gauge pressure", times, SHARES,
             scale * shape, 1.02e5 * shape, 256, distributions[0].limits),
        Band("travel", "travel", "length", times, SHARES, grow * travel, 0.97 * travel, 256,
             (Limit("shoulder out", 0.076),)),
        Band("separation_velocity", "separation velocity", "velocity", times, SHARES,
             grow * 12.0 * np.clip((times - 0.045) / 0.03, 0.0, 1.0),
             11.5 * np.clip((times - 0.045) / 0.03, 0.0, 1.0), 256, (Limit("limit", 20.0),)),
    )  # fmt: skip
    held = tuple(factors(case()))
    outputs = (
        output("separates", "separates", "ratio", 1.0, held, rng, together=True),
        output("greatest_velocity", "greatest separation velocity", "velocity", 12.4, held, rng),
    )
    counts = dict(zip(VERDICTS, (120, 280, 9_430, 170, 0), strict=True))
    return Scatter(
        case=case(),
        members=MEMBERS,
        seed=1,
        sampling="sobol",
        factors=held,
        verdicts=tuple(chance(name, count, MEMBERS) for name, count in counts.items()),
        contents=(chance("parachute comes out, of bays that separate", 9_540, 9_600),),
        limits=(chance("tube wall, hoop stress", 0, MEMBERS),
                chance("separation velocity", 170, MEMBERS)),
        distributions=distributions,
        bands=bands,
        outputs=outputs,
        influence_runs=16_384,
        rare=None,
        rare_name="",
        warnings=("powder.mass: 0.31 % of its spread is cut off below",),
    )  # fmt: skip


def output(name, label, dimension, nominal, held, rng, together=False):
    """Return made-up drivers: a few strong factors, many weak ones."""
    strong = rng.dirichlet(np.full(len(held), 0.15))
    first = strong * (0.4 if together else 0.93)
    order = np.argsort(-strong)
    influences = tuple(
        Influence(held[k].name, first[k], max(first[k] - 0.03, 0.0), first[k] + 0.03,
                  strong[k] + 0.01, strong[k] - 0.02, strong[k] + 0.05)
        for k in order
    )  # fmt: skip
    size = 0.0 if together else 5.0
    swings = tuple(
        Swing(held[k].name, nominal - size * strong[k] ** 0.5 * (-1) ** k,
              nominal + 1.2 * size * strong[k] ** 0.5 * (-1) ** k)
        for k in order
    )  # fmt: skip
    return Output(name, label, dimension, nominal, swings, influences, "")


@cache
def sweep_of_one(members=500):
    """Return a sweep over the charge."""
    mass = np.linspace(0.1e-3, 1.5e-3, 41)
    speed = np.where(mass > 0.3e-3, 14.0 * np.sqrt(mass / 0.5e-3), np.nan)
    opens = 1.0 / (1.0 + np.exp(-(mass - 0.35e-3) / 0.04e-3))
    hard = 1.0 / (1.0 + np.exp(-(mass - 1.1e-3) / 0.06e-3))
    codes = np.select([mass < 0.25e-3, mass < 0.33e-3, mass < 1.1e-3], [0, 1, 2], 3)
    return Sweep(
        case=case(),
        axes=(Axis("powder.mass", "mass of the powder", "mass", mass),),
        members=members,
        seed=1,
        verdict=codes,
        quantities=quantities(opens, hard, 2.1e8 * mass, speed, 90.0 * speed, members),
        warnings=(),
    )


@cache
def sweep_of_two(members=500):
    """Return a sweep over the charge and the number of pins."""
    mass = np.linspace(0.1e-3, 1.5e-3, 21)
    pins = np.arange(0.0, 7.0)
    x, y = np.meshgrid(mass, pins, indexing="ij")
    reach = x / 0.15e-3 - y
    speed = np.where(reach > 0.5, 12.0 * np.sqrt(x / 0.5e-3) + 0.6 * y, np.nan)
    opens = 1.0 / (1.0 + np.exp(-4.0 * (reach - 0.8)))
    hard = 1.0 / (1.0 + np.exp(-(np.nan_to_num(speed) - 20.0)))
    codes = np.select([reach < 0.2, reach < 0.8, hard < 0.5], [0, 1, 2], 3)
    return Sweep(
        case=case(),
        axes=(Axis("powder.mass", "mass of the powder", "mass", mass),
              Axis("pins.count", "count of the pins", "ratio", pins)),
        members=members,
        seed=1,
        verdict=codes,
        quantities=quantities(opens, hard, 2.1e8 * x + 5e3 * y, speed, 90.0 * speed, members),
        warnings=(),
    )  # fmt: skip


def quantities(opens, hard, pressure, speed, load, members):
    rows = (
        ("peak_pressure", "peak pressure", "gauge pressure", pressure,
         (Limit("tube wall", 6.2e6), Limit("limit of the bay", 2.5e5))),
        ("greatest_velocity", "greatest separation velocity", "velocity", speed,
         (Limit("limit", 20.0),)),
        ("cord_load", "peak load of the cord", "force", load,
         (Limit("tubular nylon 9/16 in, figure-8", 3000.0),)),
    )  # fmt: skip
    spread = members > 1
    found = [
        QuantityCurve(name, label, dimension, y, 0.8 * y if spread else None,
                 1.25 * y if spread else None, limits)
        for name, label, dimension, y, limits in rows
    ]  # fmt: skip
    if spread:
        # chances are counts of so many shots
        opens, hard = (np.round(members * y) / members for y in (opens, hard))
        found = [
            QuantityCurve(name, label, "ratio", y, np.clip(y - 0.03, 0.0, 1.0),
                     np.clip(y + 0.03, 0.0, 1.0), ())
            for name, label, y in (("separates", "chance that it separates", opens),
                                   ("separates_too_hard", "chance that it separates too "
                                                          "hard", hard))
        ] + found  # fmt: skip
    return tuple(found)


def changed(findings, **fields):
    """Return findings with other values in some fields."""
    return dataclasses.replace(findings, **fields)


def odd_scatter():
    """Return a study in which nothing is as usual."""
    whole = scatter()
    nan = math.nan
    held = tuple(
        Factor(f"library.cords.cord {k}.damping_ratio",
               f"damping ratio of the very long named cord of type number {k} with more words",
               ("joint.pull_off",), (k,))
        for k in range(20)
    )  # fmt: skip
    names = [factor.name for factor in held]
    first, second, third, last = whole.distributions
    nothing = np.zeros(60, dtype=int)
    alone = nothing.copy()
    alone[30] = MEMBERS
    return changed(
        whole,
        factors=held,
        verdicts=tuple(chance(name, MEMBERS * (name == "partial separation"), MEMBERS)
                       for name in VERDICTS),
        contents=(),
        limits=(chance("a limit with a name that goes on and on, longer than its row", 0, 10),),
        distributions=(
            changed(first, edges=np.linspace(1e5 - 1e-4, 1e5 + 1e-4, 61), counts=alone),
            changed(second, happened=0, counts=nothing, quantiles=(nan,) * 5),
            changed(third, counts=third.counts // 2),
            last,
        ),
        bands=tuple(changed(band, values=band.values * (nan if k == 0 else 0.0),
                                 nominal=band.nominal * (nan if k == 0 else 0.0))
                    for k, band in enumerate(whole.bands)),
        outputs=(
            Output("separates", "separates", "ratio", 0.0, tuple(Swing(n, 0.0, 0.0) for n in names),
                   (), "it does not vary"),
            Output("greatest_velocity", "greatest separation velocity", "velocity", nan,
                   tuple(Swing(n, nan, 3.0 + k) for k, n in enumerate(names)), (), "too few"),
            Output("peak_pressure", "peak pressure", "gauge pressure", 1e5,
                   tuple(Swing(n, 1e5 + 900.0 * k * (-1) ** k, nan if k == 5 else 1e5 + 2e3 * k)
                         for k, n in enumerate(names)),
                   tuple(Influence(n, 0.4 / (k + 1), -0.1, 0.5 / (k + 1),
                                   nan if k == 3 else 0.8 / (k + 1), 0.2, 1.4)
                         for k, n in enumerate(names)), ""),
        ),
    )  # fmt: skip


def odd_sweeps():
    one, two = sweep_of_one(), sweep_of_two()

    def held(sweep, change, **fields):
        return changed(sweep, quantities=tuple(map(change, sweep.quantities)), **fields)

    def nan(each):
        return changed(each, middle=each.middle * math.nan, low=None, high=None)

    def level(each):
        return changed(each, middle=each.middle * 0.0 + 0.5, low=None, high=None)

    def at(k):
        return lambda each: changed(each, middle=each.middle[k : k + 1], low=each.low[k : k + 1],
                                    high=each.high[k : k + 1])  # fmt: skip

    rng = np.random.default_rng(3)
    return {
        "nothing happens": held(one, nan, verdict=np.full(41, 4)),
        "level": held(one, level),
        "every verdict by turns": changed(one, verdict=np.arange(41) % 5),
        "one point": held(one, at(0), verdict=one.verdict[:1],
                          axes=(changed(one.axes[0], values=one.axes[0].values[:1]),)),
        "one column": held(
            two, at(10), verdict=two.verdict[10:11],
            axes=(changed(two.axes[0], values=two.axes[0].values[10:11]), two.axes[1]),
        ),
        "nothing on a map": held(two, nan, verdict=two.verdict * 0),
        "level map": held(two, level),
        "salad": changed(two, verdict=rng.integers(0, 5, two.verdict.shape)),
        "other inputs": changed(two, axes=(
            Axis("surroundings.temperature", "temperature of the surroundings", "temperature",
                 np.linspace(253.15, 313.15, 21)),
            Axis("cord.length", "length of the cord", "length", np.linspace(2.0, 9.0, 7)),
        )),
    }  # fmt: skip
