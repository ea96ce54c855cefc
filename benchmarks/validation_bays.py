"""Parts of the validation page: cords, loading, go and no-go rows, least charge, cold gas."""

from __future__ import annotations

import least_charge
import validation_page as page

from baypulse.case import units
from cold_gas_pairs import LARGE, SMALL, Source, fitted_gas
from cord_jerks import JERKS, Jerk, least_length, rigid_load, spans
from ground_rows import LEAST_CHANCE, ROWS, row
from old_shots import BRADDOCK_CHAMBER, NEW_GAP, WORN, chambers, energies, free_space, worn_gap

PAIRS = ("separation-4in-pair", "separation-6in-pair")


def _range(ends: tuple[float, float], digits: str) -> str:
    return f"{ends[0]:{digits}} to {ends[1]:{digits}}"


# --- cords


def cords() -> list[str]:
    """Return what the cords must have been."""

    def line(jerk: Jerk) -> tuple[str, ...]:
        length, load = spans(jerk)
        within = load[0] < jerk.load[0] and jerk.load[1] < load[1]
        return (
            jerk.name, f"{_range(jerk.speed, '.3g')} m/s", f"{jerk.delay:.3g} s",
            f"{_range(length, '.1f')} m", f"{_range(jerk.load, '.0f')} N",
            f"{_range(load, '.0f')} N", "yes" if within else "NO",
        )  # fmt: skip

    head = ("Record", "Relative speed", "Pulls hardest at", "Cord it must have had, 90 %",
            "Jerk measured", "Jerk of such a nylon cord, 90 %", "Within")  # fmt: skip
    nose = (2.6 / 0.8, 3.2 / 0.8)
    least = tuple(least_length(speed, 1.09) for speed in nose)
    return [
        "<h2>Cords: delay and jerk</h2>",
        "<p>From the relative speed and the moment of the greatest pull, by the engine's cord law "
        "and the library's nylon cords (an estimate: what cord it was, nobody says); jerk "
        "measured is mass times greatest acceleration, by the readings there are. Two to six "
        "lengths of such a rocket is what people fly (common practice, no source).</p>",
        page.table(head, [line(jerk) for jerk in JERKS], "tight"),
        "<p>The 4-inch rocket's main charge, logged on its nose, does not fit so simply: nose and "
        f"rest part at {_range(nose, '.1f')} m/s, so 1.09 s make at least {_range(least, '.1f')} m "
        "of cord, but the cord takes 8.2 m/s, since the rest hangs from its drogue while the nose "
        "falls on; and its 14.3 g (about 126 N on 0.9 kg) are a quarter to a third of the "
        f"{rigid_load(0.72, 8.2, 6.3):.0f} N of a cord of 6.3 m that is pulled taut at that speed. "
        "The log shows 4 g for a tenth of a second before: a parachute that is drawn out, and no "
        "cord alone. The 4-inch pair shows no pull above 2.7 g in 3 s.</p>",
    ]


# --- loading


def loading() -> list[str]:
    """Return the old trials of free space, chamber, shape and windage beside the engine."""
    space, chamber = energies(free_space()), energies(chambers())
    (small, quick), (slow, large) = BRADDOCK_CHAMBER["fitting"], BRADDOCK_CHAMBER["large"]
    measured = (small / large) ** 2, (quick / slow) ** 2
    body = [
        ("Free space over whole grains (Montagu 1792)", "energy, filled over empty", "5 to 20",
         _range(space, ".1f"), "sign yes, size NO"),
        ("Large chamber (Braddock 1832, p. 35)", "energy, fitting over large",
         _range(measured, ".1f"), _range(chamber, ".2f"), "sign yes, size NO"),
    ]  # fmt: skip
    for which, (worn, sound) in WORN.items():
        gaps = tuple(1e3 * worn_gap(which, new) for new in NEW_GAP)
        body.append((
            f"Worn shell of {which} (Braddock 1832, p. 68)", "speed, worn over new",
            f"{worn / sound:.2f}",
            f"met by a gap of {_range(gaps, '.1f')} mm, when new "
            f"{_range((1e3 * NEW_GAP[0], 1e3 * NEW_GAP[1]), '.2g')} mm",
            "yes",
        ))  # fmt: skip
    body.append((
        "Flat charge against a deep one (Royal Society 1742)", "speed, deep over flat",
        "1.24 to 1.32", "not in the model", "never compared",
    ))  # fmt: skip
    return [
        "<h2>How the charge is loaded</h2>",
        "<p>Transcribed; chambers, gaps and travel were mostly not given, and run over what such "
        "mortars had (estimates). The engine knows how much powder lies in a bed, and neither how "
        "deep nor how flat it lies: its flame runs along the cube root of the volume.</p>",
        page.table(("Trial", "Compared", "Measured", "Computed", "Right"), body),
    ]


def loading_missed() -> list[str]:
    """Return in words what the engine makes too little of."""
    space, chamber = energies(free_space()), energies(chambers())
    return [
        "Free space over the powder costs the right way, but too little: 1.5 to "
        f"{space[1]:.1f} times the energy where whole grains lost 5 to 20 times, and "
        f"{chamber[0]:.1f} to {chamber[1]:.1f} in a large chamber where it was 2.7 to 4.8. Loose "
        "powder in much room is weaker than this program says.",
        "Whether a charge lies flat or deep is not in the model at all.",
    ]


# --- go and no-go


def rows() -> list[str]:
    """Return the chance of what was seen of every published bay."""
    body = []
    for name in ROWS:
        found = row(name)
        body.append((
            found.case.title, "opened" if found.opened else "did not open",
            f"{100.0 * found.seen.share:.0f} % ({100.0 * found.seen.low:.0f} to "
            f"{100.0 * found.seen.high:.0f} %)",
            "yes" if found.seen.share >= LEAST_CHANCE else "NO",
        ))  # fmt: skip
    return [
        "<h2>Bays that opened, and bays that did not</h2>",
        "<p>Published with tube, charge and outcome alone: all else is spread over what builders "
        "use (each case below tests/validation/records/ground). A model that is right gives each "
        "outcome at least one chance in twenty; it does not follow that it is right.</p>",
        page.table(("Shot", "Seen", "Chance of that, and 95 % interval", "At least 5 %"), body),
    ]


# --- least charge


def grams(value: float) -> str:
    return f"{units.convert(value, 'g'):.2f}"


def least_charges() -> list[str]:
    """Return the bands of the least charge before and after shots."""
    body = [
        (name, f"{grams(found.low)} to {grams(found.high)} g", f"{grams(found.middle)} g",
         f"{found.factor:.1f}")
        for name, found in least_charge.bands().items()
    ]  # fmt: skip
    return [
        "<h2>How little is known of a least charge</h2>",
        "<p>cases/main-98.toml, a bay of 98 mm, with every spread of case and library: the least "
        "charge of each member that opens it, 90 % of them, before any ground test and after "
        "invented ones that were logged as <code>baypulse shots</code> does. The spread is of what "
        "is not known of a build and of what differs from shot to shot, about as much of each; no "
        "test takes the second away. These are no charges to load: see the caution. Made by "
        "<code>python benchmarks/least_charge.py</code>.</p>",
        page.table(("What was logged", "Least charge, 90 %", "Middle", "Factor"), body),
    ]


# --- cold gas


def cold_gas() -> list[str]:
    """Return how compressed gas would meet the pairs."""
    body = []
    for name in PAIRS:
        for largest in (SMALL, LARGE):
            found = fitted_gas(name, largest)
            body.append((
                name, f"up to {1e6 * largest:.0f} cm^3", _bottle(found),
                " ".join(f"{value:.2f}" for value in found.ratios.values()),
                "yes" if found.met else "NO",
            ))  # fmt: skip
    head = ("Record", "Reservoir allowed", "Fitted", "Computed over measured, all figures", "Met")
    return [
        "<h2>Was it powder at all?</h2>",
        "<p>Some teams part with carbon dioxide, and nobody published what these rockets held. A "
        "reservoir fitted to the same figures (speed, push, rise, release, peak and clear), with "
        "room, pins and friction free as before, carbon dioxide taken for a perfect gas:</p>",
        page.table(head, body, "tight"),
    ]


def _bottle(found: Source) -> str:
    gas = found.case.cold_gas
    assert gas is not None
    return (
        f"{1e6 * gas.volume:.0f} cm^3 at {gas.pressure / 1e5:.0f} bar through "
        f"{1e3 * gas.orifice:.1f} mm"
    )


def cold_gas_missed() -> list[str]:
    """Return in words what the pairs do not prove."""
    alike = [name for name in PAIRS if fitted_gas(name, LARGE).met]
    if not alike:
        return []
    return [
        "What burnt in the pairs is not known, and compressed gas meets "
        + " and ".join(alike)
        + " as well as powder does: the logs alone do not prove the law of the bed."
    ]
