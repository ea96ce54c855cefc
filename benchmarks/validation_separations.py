"""Both pairs of the validation page: logs and fitted runs on one time axis, and their figures."""

from __future__ import annotations

from typing import Any

import numpy as np
import validation_page as page

from baypulse import simulate
from baypulse.case import geometry, units
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    FAINT,
    INK,
    LEFT,
    LETTER,
    MAIN,
    SMALL,
    SOFT,
    WARM,
    WIDTH,
    axes_at,
    style,
    titled,
)
from recorded import KINDS, Record, records
from separations import (
    CHARGE,
    CLIPPED,
    FIT,
    FREE,
    Fitted,
    at_motion,
    curve_miss,
    first_motion,
    fitted,
    log,
    net_pressure,
    specific_force,
)

PAIRS = {"separation-4in-pair": "4-inch", "separation-6in-pair": "6-inch"}

POINTS = {"aft": "o", "forward": "^"}
"""Marks of the samples of each piece."""

LOOKS: dict[str, dict[str, Any]] = {
    "fitted": {"color": MAIN, "lw": 1.9}, "nominal": {"color": WARM, "lw": 1.3, "ls": (0, (5, 2))},
}  # fmt: skip
"""Lines of the runs."""

SHOWN = (-45.0, 50.0)
"""Time that is shown [ms]."""

MASS_SPREAD = 0.04
"""Standard deviation of a piece's mass, as a share."""

NEAR = 1.05
"""Factor to the end of what is allowed within which a fitted number is said to stand there."""

AREA = 0.05
"""By how much the bore's area, in place of the piece's, raises the pressure."""


def by_name(name: str) -> Record:
    """Return a record by its name."""
    return next(record for record in records() if record.name == name)


def masses(record: Record) -> tuple[float, float]:
    """Return the masses of the aft and of the forward piece, contents with the forward one [kg]."""
    case = record.case
    assert case.contents is not None
    return case.airframe.mass, case.nose.mass + case.contents.mass


def computed_curves(result: Result) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return time [ms] from first motion, specific force aft and forward, and pressure [Pa]."""
    time, aft, forward = specific_force(result)
    pressure = np.interp(time, result.time, net_pressure(result)[0])
    return 1e3 * (time - first_motion(time, aft)), aft, forward, pressure


def _force_panel(
    axes: Any, name: str, runs: dict[str, Result], pieces: tuple[str, ...] = tuple(POINTS)
) -> None:
    """Draw the specific force of pieces, in g."""
    g = 9.80665
    for piece in pieces:
        record = log(f"{name}-{piece}").from_motion()
        clipped = np.abs(record.force) > CLIPPED
        axes.plot(1e3 * record.time, record.force / g, color=SOFT, lw=0.7, marker=POINTS[piece],
                  ms=2.2, mfc="white", mew=0.6, label=f"measured, {piece} piece")  # fmt: skip
        if clipped.any():
            axes.plot(1e3 * record.time[clipped], record.force[clipped] / g, "x", color=INK, ms=5,
                      mew=1.1, label="end of the range, clipped")  # fmt: skip
    for label, run in runs.items():
        time, aft, forward, _ = computed_curves(run)
        own = {"aft": aft, "forward": forward}
        for k, piece in enumerate(pieces):
            axes.plot(time, own[piece] / g, **LOOKS[label],
                      label=f"{'_' * bool(k)}computed, {label}")  # fmt: skip
    axes.set_ylabel("specific force (g)", fontsize=LETTER)
    axes.set_ylim(-34, 34)
    axes.axhline(0.0, color=FAINT, lw=0.7, zorder=0)


def _pressure_panel(axes: Any, name: str, runs: dict[str, Result]) -> None:
    """Draw the overpressure that both logs give by m a / A, and the computed one."""
    record = by_name(name)
    area = geometry.bore_area(record.case)
    for piece, mass, sign in zip(POINTS, masses(record), (-1.0, 1.0), strict=True):
        found = log(f"{name}-{piece}").from_motion()
        pushed = (found.time > 0.0) & (found.time < 0.05)
        push = sign * mass * found.force[pushed] / area / 1e3
        at = 1e3 * found.time[pushed]
        axes.plot(at, push, color=SOFT, lw=0.7, marker=POINTS[piece], ms=2.2, mfc="white",
                  mew=0.6, label=f"m a / A, {piece} piece")  # fmt: skip
        if piece == "aft":
            low, high = (
                (1.0 - 1.645 * MASS_SPREAD) * push,
                (1.0 + 1.645 * MASS_SPREAD + AREA) * push,
            )
            axes.fill_between(at, low, high, color=FAINT, lw=0, zorder=0, label="its 90 % interval")
    for label, run in runs.items():
        time, _, _, pressure = computed_curves(run)
        axes.plot(time, pressure / 1e3, **LOOKS[label], label=f"computed, {label}")
    bay = log(f"{name}-aft").from_motion()
    before = (bay.time > SHOWN[0] / 1e3) & (bay.time < 0.030)
    top = by_name(name).measured["peak_pressure"].middle / 1e3
    scaled = top * bay.bay / bay.bay[before].max()
    axes.plot(1e3 * bay.time[before], scaled[before], color=INK, lw=1.0, ls=(0, (1, 1.5)),
              label="barometer, scaled")  # fmt: skip
    axes.set_ylabel("overpressure (kPa)", fontsize=LETTER)
    axes.set_ylim(-0.1 * top, 1.45 * top)
    axes.set_xlabel("time from first motion (ms)", fontsize=LETTER)
    axes.axhline(0.0, color=FAINT, lw=0.7, zorder=0)


TALL = 2.2
"""Height of a panel [in]."""

KEY = 0.72
"""Room for its key below [in]."""

TIME = 0.4
"""Room for the scale of the time [in]."""


def _panels(title: str) -> tuple[Any, Any, Any]:
    """Return a figure with two panels, each with room for its key below."""
    figure = titled(title, 2.0 * (TALL + KEY) + TIME)
    low = KEY + TIME
    found = [axes_at(figure, LEFT, at, WIDTH - LEFT - 0.1, TALL) for at in (low + TALL + KEY, low)]
    for axes in found:
        axes.set_axis_on()
    return figure, *found


def curves(name: str) -> Any:
    """Draw measured and computed curves of one pair on one time axis."""
    runs = {"fitted": fitted(name).result, "nominal": simulate(by_name(name).case)}
    with style():
        title = f"Separation of the {PAIRS[name]} rocket: measured and computed"
        figure, above, below = _panels(title)
        _force_panel(above, name, runs)
        _pressure_panel(below, name, runs)
        _dress(above, below)
    return figure


def singles() -> Any:
    """Draw the events that were logged on one piece alone."""
    with style():
        title = "Separations logged on one piece: measured and computed"
        figure, above, below = _panels(title)
        name = "separation-6in-aft"
        runs = {"fitted": fitted(name).result, "nominal": simulate(by_name(name).case)}
        _force_panel(above, name, runs, ("aft",))
        name = "separation-4in-nose"
        _force_panel(below, name, {"nominal": simulate(by_name(name).case)}, ("forward",))
        above.set_ylim(-34, 10)
        below.set_ylim(-22, 64)
        below.set_xlabel("time from first motion (ms)", fontsize=LETTER)
        for axes, title in ((above, "another 6-inch rocket"), (below, "4-inch rocket, main bay")):
            axes.text(0.01, 0.93, title, transform=axes.transAxes, fontsize=LETTER)
        _dress(above, below)
    return figure


def _dress(above: Any, below: Any) -> None:
    """Give both panels of a figure one time axis, and their legends."""
    for axes, down in ((above, 0.06), (below, 0.42)):
        axes.set_xlim(*SHOWN)
        axes.axvline(0.0, color=FAINT, lw=0.7, zorder=0)
        axes.tick_params(labelsize=SMALL)
        axes.legend(loc="upper left", bbox_to_anchor=(-0.16, -down / TALL), fontsize=SMALL,
                    frameon=False, handlelength=2.0, borderaxespad=0.0, ncols=2,
                    columnspacing=1.0)  # fmt: skip
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    above.set_xticklabels([])


def _asked(name: str, found: Fitted) -> str:
    charge = found.charge / found.usual
    at = " (near the least that is allowed)" if charge < NEAR * CHARGE[0] else ""
    low, high = FREE[name]
    pins, joint = found.case.pins, found.case.joint
    assert pins is not None and pins.strength is not None and joint.pull_off is not None
    tight = " (the most that is allowed)" if joint.pull_off > FIT[1] / NEAR else ""
    return (
        f"{found.charge * 1e3:.2f} g in {found.free * 1e3:.1f} L free ({1e3 * low:g} to "
        f"{1e3 * high:g} L allowed), {charge:.2f} times the empty-bay rule at 15 psi{at}, pins of "
        f"{pins.strength:.0f} N, fit of {joint.pull_off:.0f} N{tight}, "
        f"{burnt_when_clear(found):.0%} burnt when clear"
    )


def burnt_when_clear(found: Fitted) -> float:
    """Return the share of the charge that had burnt when the joint came clear."""
    clear = found.result.event("clear")
    assert clear is not None
    burnt = found.result.curves["burnt_fraction"].values
    return float(np.interp(clear.time, found.result.time, burnt))


def fit_table() -> str:
    """Return the figures of the fitted runs, and what was asked of them."""
    body = []
    for name in FREE:
        found = fitted(name)
        record = by_name(name)
        for quantity, ratio in found.ratios.items():
            unit = {"velocity": "m/s", "time": "ms", "gauge pressure": "kPa"}[KINDS[quantity]]
            measured = units.convert(record.measured[quantity].middle, unit)
            asked = "factor 1.5" if quantity == "rise_time" else "15 %"
            body.append((
                name, quantity.replace("_", " "), f"{measured:.3g} {unit}",
                f"{measured * ratio:.3g} {unit}", f"{ratio:.2f}", asked,
                "yes" if found.met(quantity) else "NO",
            ))  # fmt: skip
    head = ("Record", "Figure", "Measured", "Fitted run", "Over measured", "Asked", "Met")
    return page.table(head, body, "tight")


def missed() -> list[str]:
    """Return in words what the fitted runs miss."""
    found = [
        f"{name}: even with charge, room, pins and friction fitted, {quantity.replace('_', ' ')} "
        f"is {ratio:.2f} times what was measured."
        for name in FREE
        for quantity, ratio in fitted(name).ratios.items()
        if not fitted(name).met(quantity)
    ]
    wrong = " and ".join(f"{curve_miss(name, fitted(name).result):.0%}" for name in PAIRS)
    found.append(
        "The push of both pairs begins too suddenly: pins that fail let go in 3 ms, where the logs "
        f"grow over 6, so that the curve of the aft piece, fitted, misses its log by {wrong} of "
        "the peak (root mean square). Before it the play of the pins, 0.2 mm, shows as bumps that "
        "no log has."
    )
    shares = [at_motion(name, fitted(name).result) for name in PAIRS]
    found.append(
        "Before first motion the aft electronics bay's pressure climbs ever faster and the "
        "computed bay's ever slower: at motion the one stands at "
        + " and ".join(f"{seen:.0%}" for seen, _ in shares)
        + " of its peak, the other at "
        + " and ".join(f"{run:.0%}" for _, run in shares)
        + ". How much of that is the barometer's lag behind the bay is not known."
    )
    found.append(
        "The single 6-inch event, fitted to its three figures, is pushed hardest at once; its log "
        "is pushed hardest 20 ms after first motion."
    )
    for name in PAIRS:
        charge = fitted(name).charge / fitted(name).usual
        if charge < NEAR * CHARGE[0]:
            found.append(
                f"{name}: the fitted charge stands near the least that was allowed, half of the "
                "empty-bay rule's: less powder than people use."
            )
    return found


def parts(inline: Any) -> list[str]:
    """Return the page's part on separations; ``inline`` makes a figure's text of its name."""

    def drawn(name: str) -> str:
        caption = (
            "Time 0 in all curves: the piece is last at one g before the push. Computed: the bay's "
            "pressure, from release to clear less friction over the bore as m a / A has it, and "
            f"the slopes of both pieces' speeds. Fitted: {_asked(name, fitted(name))}. Grey band: "
            "4 % in mass (one standard deviation), and 5 % for the bore's area in place of the "
            "piece's. The forward log rings at about 90 Hz; the barometer's spike at -40 or -22 ms "
            "is the igniter's. Its scale is that of the peak, so it shows a course and no size."
        )
        return str(inline(f"pair-{PAIRS[name]}", curves(name), caption))

    return [
        "<h2>Separations on one time axis</h2>",
        *(drawn(name) for name in PAIRS),
        str(inline("singles", singles(), (
            "Above: the aft piece of another 6-inch rocket. Below: the nose of the 4-inch rocket "
            "when its main charge fired; its samples at 28 g are the end of the logger's "
            "range, and neither its mass nor anything of its bay is known, so that the nominal run "
            "is a guess and only its band is compared. It taught the engine nothing."
        ))),
        "<p>Fitted by least squares in charge, room, pins and friction alone, with the library's "
        "numbers as they are, within what such a rocket can hold:</p>",
        fit_table(),
        "<p>" + "; ".join(f"{name}: {_asked(name, fitted(name))}" for name in FREE)
        + ". The single 6-inch event has three figures for four unknowns: that it is met says only "
        "that it can be.</p>",
    ]  # fmt: skip
