"""Measured beside computed: the validation page and its figure.

    python benchmarks/validation.py                  # writes reports/validation/
    python benchmarks/validation.py --out FOLDER

Every recorded shot of ``tests/validation/records`` runs through the front door, once at its nominal
values and 512 times over all that scatters. The page says first where the engine misses.
What it says of separations and of bays is made in ``validation_separations`` and
``validation_bays``.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullLocator

from baypulse.case import quantities

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "validation")]

import validation_bays as bays  # noqa: E402
import validation_page as page  # noqa: E402
import validation_separations as separations  # noqa: E402
from test_closed_vessel_table import (  # noqa: E402
    TABLE,
    TON_PER_SQUARE_INCH,
    UNIT_DENSITY,
    peak_pressure,
)
from test_equilibrium import (  # noqa: E402
    EVACUATED,
    IN_AIR,
    IN_NITROGEN,
    engine_without_losses,
)

from baypulse import simulate  # noqa: E402
from baypulse.case import units  # noqa: E402
from baypulse.show import figure_files  # noqa: E402
from baypulse.show.figures.base import (  # noqa: E402
    FAINT,
    INK,
    LEFT,
    LETTER,
    SMALL,
    SOFT,
    WIDTH,
    axes_at,
    style,
    titled,
)
from recorded import FOLDER, KINDS, Measured, Record, band, computed, inside, records  # noqa: E402

UNITS = {"velocity": "m/s", "time": "ms", "gauge pressure": "kPa"}
MARKS = {"velocity": "o", "gauge pressure": "s", "time": "^"}
NAMES = {"velocity": "speeds (m/s)", "gauge pressure": "pressures (kPa)", "time": "times (ms)"}
TICKS = {"velocity": (1.0, 2.0, 5.0), "gauge pressure": (1.0,), "time": (1.0, 2.0, 5.0)}
WELL = 0.15
"""Miss of the nominal run that counts as a miss."""

NEVER_COMPARED = (
    ("a gauge's record inside a recovery bay", "none was found; the separations give m a / A"),
    ("charge and outcome of the same real shot, with all dimensions", "none was found"),
    ("mixing, heat to walls and cloth, settling of salts, each alone",
     "only their sum is in the records"),
    ("a flat charge against a deep one", "not in the model: it knows no shape of the charge"),
    ("what seeps into a packed parachute", "the two pairs alone, with unknown packs"),
    ("a holder against a loose charge", "no record"),
    ("thin and cold air", "no record above 1.1 km"),
    ("cold, damp or old powder", "no record"),
    ("cords: load in a shot", "two jerks, with nylon of the library for a cord not known"),
    ("pins at speed", "no measurement of nylon screws was found"),
)  # fmt: skip
"""What has never been compared with anything, and why."""

Row = tuple[Record, str, Measured, float, tuple[float, float] | None]


def rows() -> list[Row]:
    """Return every measured figure with the nominal run's and the band, if there is one."""
    found: list[Row] = []
    for record in records():
        answers, ends = computed(simulate(record.case)), band(record)
        for quantity, measured in record.measured.items():
            found.append((record, quantity, measured, answers[quantity], ends.get(quantity)))
    return found


def shown(value: float, quantity: str) -> str:
    """Return a value with three digits in the unit of the page."""
    return quantities.digits(units.convert(value, UNITS[KINDS[quantity]]))


def ratio(measured: Measured, value: float) -> float:
    return value / measured.middle


def table(found: list[Row]) -> str:
    """Return the table of all rows."""
    head = ("Record", "Figure", "Measured", "Computed", "90 % of the shots", "Ratio",
            "In it", "Mark")  # fmt: skip
    body = []
    for record, quantity, measured, value, ends in found:
        unit = UNITS[KINDS[quantity]]
        low, high = shown(measured.low, quantity), shown(measured.high, quantity)
        body.append((
            record.name, quantity.replace("_", " "), f"{low} to {high} {unit}",
            f"{shown(value, quantity)} {unit}",
            "-" if ends is None else f"{shown(ends[0], quantity)} to {shown(ends[1], quantity)}",
            f"{ratio(measured, value):.2f}",
            "-" if ends is None else "yes" if inside(measured, *ends) else "no",
            ", ".join(part.split()[-1][0].upper() for part in record.mark.split(", ")),
        ))  # fmt: skip
    return page.table(head, body, "tight")


def misses(found: list[Row]) -> list[str]:
    """Return in words where the engine misses, the worst first."""
    far = [row for row in found if abs(np.log(ratio(row[2], row[3]))) > np.log(1.0 + WELL)]
    far.sort(key=lambda row: -abs(np.log(ratio(row[2], row[3]))))
    outside = [row for row in found if row[4] is not None and not inside(row[2], *row[4])]
    said = [
        f"{len(far)} of {len(found)} figures are missed by more than {100 * WELL:.0f} % by the "
        f"nominal run, and {len(outside)} lie outside the band of 90 % of the shots."
    ]
    for record, quantity, measured, value, _ in far:
        said.append(
            f"{record.name}: {quantity.replace('_', ' ')} is {ratio(measured, value):.2f} times "
            "what was measured."
        )
    widest = max(ends[1] / max(ends[0], 1e-9) for *_, ends in found if ends and ends[0] > 0.0)
    said.append(
        f"Bands are wide, to a factor of {widest:.1f}: of old mortars nobody knows the grain, and "
        "of separations neither charge nor room. All rows but separation-4in-nose taught the "
        "numbers, so this page shows a fit; what each row is when the others alone teach them is "
        "in docs/recorded-shots.md."
    )
    return said


TALL = 2.1
"""Height of a panel of the figure [in]."""

BELOW = 0.56
"""Room below it [in]."""


def equality(found: list[Row]) -> object:
    """Draw computed over measured, with both intervals, on lines of equality."""
    kinds = ("velocity", "gauge pressure", "time")
    with style():
        edge = len(kinds) * (TALL + BELOW)
        title = "Recorded shots: computed over measured, with both intervals"
        figure = titled(title, edge)
        for kind in kinds:
            edge -= TALL + BELOW
            axes = axes_at(figure, LEFT, edge + BELOW, WIDTH - LEFT - 0.2, TALL)
            axes.set_axis_on()
            mine = [row for row in found if KINDS[row[1]] == kind]
            unit = UNITS[kind]
            x = np.array([units.convert(row[2].middle, unit) for row in mine])
            y = np.array([units.convert(row[3], unit) for row in mine])
            ends = np.array([0.5 * min(x.min(), y.min()), 2.0 * max(x.max(), y.max())])
            axes.plot(ends, ends, color=INK, lw=0.9)
            for factor in (1.0 / (1.0 + WELL), 1.0 + WELL):
                axes.plot(ends, factor * ends, color=SOFT, lw=0.6, ls=(0, (4, 3)))
            for row, at, value in zip(mine, x, y, strict=True):
                _, _, measured, _, span = row
                low, high = (units.convert(v, unit) for v in (measured.low, measured.high))
                axes.plot([low, high], [value, value], color=INK, lw=0.9)
                if span is not None:
                    bottom, top = (units.convert(v, unit) for v in span)
                    axes.plot([at, at], [max(bottom, ends[0]), top], color=FAINT, lw=2.2, zorder=0)
            axes.plot(x, y, MARKS[kind], color=INK, ms=3.2, mfc="white", mew=0.9)
            axes.set(xscale="log", yscale="log", xlim=ends, ylim=ends)
            axes.set_xlabel(f"measured {NAMES[kind]}", fontsize=LETTER)
            axes.set_ylabel("computed", fontsize=LETTER)
            for axis in (axes.xaxis, axes.yaxis):
                axis.set_major_locator(LogLocator(subs=TICKS[kind]))
                axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
                axis.set_minor_locator(NullLocator())
            axes.tick_params(labelsize=SMALL)
    return figure


def vessels() -> str:
    """Return the closed-vessel table of Noble and Abel beside the engine."""
    body = []
    for density, tons in TABLE:
        measured = tons * TON_PER_SQUARE_INCH
        got = peak_pressure(density * UNIT_DENSITY)
        body.append((f"{density:.2f}", f"{measured / 1e6:.1f} MPa", f"{got / 1e6:.1f} MPa",
                     f"{got / measured:.3f}"))  # fmt: skip
    return page.table(("Gravimetric density", "Measured", "Computed", "Over measured"), body)


def equilibrium() -> str:
    """Return the engine without losses beside powder in chemical equilibrium."""
    body = [
        (f"{density:g} kg/m^3", *(f"{value / 1e3:.0f}" for value in (
            EVACUATED[density], engine_without_losses(density, 1e9), IN_NITROGEN[density],
            engine_without_losses(density, 1e-3), IN_AIR[density])))
        for density in sorted(EVACUATED)
    ]  # fmt: skip
    head = ("Powder in the vessel", "Equilibrium, evacuated", "Engine, never mixed",
            "Equilibrium, in nitrogen", "Engine, mixed at once",
            "Equilibrium, burnt out in air")  # fmt: skip
    return page.table(head, body)


SHOWN = ("equality",)
"""Figures that the README shows; all stand in the page."""


def write(out: Path) -> None:
    """Write page and figures."""
    (out / "figures").mkdir(parents=True, exist_ok=True)

    def inline(name: str, drawn: object, caption: str) -> str:
        if name in SHOWN:
            (out / "figures" / f"{name}.png").write_bytes(figure_files.png(drawn))
        text = figure_files.svg(drawn)
        drawing = text[text.index("<svg") :]
        return f"<figure>{drawing}<figcaption>{caption}</figcaption></figure>"

    found = rows()
    missed = [
        *misses(found), *separations.missed(), *bays.cold_gas_missed(), *bays.loading_missed(),
    ]  # fmt: skip
    parts = [
        "<h1>Measured beside computed</h1>",
        page.caution(),
        "<h2>Where the engine misses</h2>",
        "<ul>" + "".join(f"<li>{each}</li>" for each in missed) + "</ul>",
        "<h2>All recorded shots</h2>",
        inline(
            "equality",
            equality(found),
            (
                "Solid: equality; dashed: 15 % to either side. Across: what may have been "
                "measured. Upright: 90 % of the computed shots over all that scatters; to the "
                "edge where a twentieth of them does not come out at all."
            ),
        ),
        table(found),
        "<p>Marks: S seen in the source, T seen in a public transcription of it, C computed from "
        "what was seen. Sources and dimensions stand in each case file and in measured.toml of "
        f"{FOLDER.relative_to(ROOT).as_posix()}.</p>",
        *separations.parts(inline),
        *bays.cold_gas(),
        *bays.cords(),
        *bays.loading(),
        *bays.rows(),
        *bays.least_charges(),
        "<h2>Closed vessels</h2>",
        "<p>Noble and Abel (Phil. Trans. 1875 to 1894), as printed in the Encyclopaedia "
        "Britannica, 11th ed., article Ballistics, Table 1; rigid vessel, no heat lost.</p>",
        vessels(),
        "<h2>Chemical equilibrium</h2>",
        "<p>Pressure rise times volume over powder (kJ/kg) in a closed vessel at 1 atm and 293 K, "
        "nothing lost: computed with Cantera and the polynomials of NASA TM-4513. A bay of air "
        "lies between the first and the last column; the engine's afterburning is off here.</p>",
        equilibrium(),
        "<h2>Held by tests</h2>",
        "<p>Closed forms (blowdown, piston, free fall, cord), reference libraries for compressible "
        "flow, gases, chemical equilibrium and the atmosphere, and tables of threads and "
        "materials: tests/physics, tests/engine, tests/validation, each check with its source.</p>",
        "<h2>Never compared</h2>",
        page.table(("What", "Why"), NEVER_COMPARED),
        page.caution(),
    ]
    (out / "index.html").write_text(
        page.skeleton("Measured beside computed", parts), encoding="utf-8", newline="\n"
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--out", type=Path, default=ROOT / "reports" / "validation")
    wanted = parser.parse_args()
    write(wanted.out)
    print(wanted.out / "index.html")
    return 0


if __name__ == "__main__":
    sys.exit(main())
