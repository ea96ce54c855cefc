"""Wrong lines that the tests must catch: each is put into a copy of the source, and its tests run.

    python benchmarks/mutants.py [--list] [--only NAME ...]

A mutant is one small error in a closure: a wrong factor, a dropped term, a wrong sign. The tests
named beside it must fail on it; one that they let through survives, and the exit code is 1. The
tests run uncompiled, which is quick for closures and needs no compiling of every mutant anew.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
SOURCE = "src/baypulse/physics"
CLOSURES = "tests/physics"
SHOTS = "tests/engine"
VALIDATION = "tests/validation"

FILES = {
    "afterburning": f"{SOURCE}/afterburning.py",
    "atmosphere": f"{SOURCE}/atmosphere.py",
    "cord": f"{SOURCE}/cord.py",
    "entrainment": f"{SOURCE}/entrainment.py",
    "fit": f"{SOURCE}/fit.py",
    "flow": f"{SOURCE}/flow.py",
    "gas": f"{SOURCE}/gas.py",
    "heat": f"{SOURCE}/heat.py",
    "motion": f"{SOURCE}/motion.py",
    "pack": f"{SOURCE}/pack.py",
    "piston": f"{SOURCE}/piston.py",
    "powder": f"{SOURCE}/powder.py",
    "salts": f"{SOURCE}/salts.py",
    "slot": f"{SOURCE}/slot.py",
    "zones": f"{SOURCE}/zones.py",
}
"""Where the lines stand."""

TESTS = {
    "atmosphere": f"{VALIDATION}/test_flow_and_air.py::"
    "test_atmosphere_prints_the_table_of_iso_2533",
    "inverse": f"{VALIDATION}/test_atmosphere_inverse.py",
    "flow": f"{VALIDATION}/test_flow_and_air.py",
    "burning": f"{CLOSURES}/test_burning_laws.py",
    "column": f"{CLOSURES}/test_column.py",
    "cord": f"{CLOSURES}/test_cord_curve.py",
    "gases": f"{CLOSURES}/test_gas_closures.py",
    "heat": f"{CLOSURES}/test_heat_flux.py",
    "pack": f"{SHOTS}/test_pack.py",
    "pins": f"{CLOSURES}/test_pin_law.py",
    "push": f"{SHOTS}/test_push_decay.py",
    "skin": f"{SHOTS}/test_skin_and_powder.py",
    "slot": f"{SHOTS}/test_slot.py",
    "zones": f"{CLOSURES}/test_two_zones.py",
}
"""Which tests catch them."""


@dataclass(frozen=True)
class Mutant:
    """One wrong line.

    Attributes
    ----------
    name : str
        For the table and ``--only``.
    file : str
        Key of :data:`FILES`.
    before, after : str
        Text that stands in the file exactly once, and what stands there instead.
    tests : tuple of str
        Keys of :data:`TESTS`, each of which must fail by itself.
    select : str
        Which of their tests are run, as of pytest's ``-k``; all where it is empty.
    """

    name: str
    file: str
    before: str
    after: str
    tests: tuple[str, ...]
    select: str = ""


POWER_OF_PRESSURE = "return rate * power(max(p, 0.0) / p_reference, exponent)"

MUTANTS = (
    Mutant("afterburning gate linear", "afterburning", "return u * u * (3.0 - 2.0 * u)",
           "return u", ("burning",)),
    Mutant("scarcer of fuel and air, share of the fuel", "afterburning",
           "far = near * ratio * fourth", "far = near * fourth", ("gases",), "scarcer"),
    Mutant("lapse rate of the troposphere", "atmosphere", "(-2000.0, -6.5e-3)",
           "(-2000.0, -6.4e-3)", ("atmosphere",)),
    Mutant("altitude not geopotential", "atmosphere",
           "return EARTH_RADIUS * h / (EARTH_RADIUS - h)", "return h", ("inverse",)),
    Mutant("cord loading exponent dropped", "cord",
           "(max(strain, 0.0) / break_strain) ** exponent", "(max(strain, 0.0) / break_strain)",
           ("cord",)),
    Mutant("cord unloading exponent dropped", "cord",
           "(max(strain - kept, 0.0) / (peak_strain - kept)) ** exponent",
           "(max(strain - kept, 0.0) / (peak_strain - kept))", ("cord",)),
    Mutant("cord damping factor", "cord", "1.5 * math.pi", "math.pi", ("cord",)),
    Mutant("plume without its width", "entrainment", "math.sqrt(4.0 * area / math.pi) * lift",
           "math.sqrt(area / math.pi) * lift", ("gases",), "plume"),
    Mutant("speed of sound does not bound the source", "entrainment",
           "return v * math.sqrt(square / (square + v * v))", "return v", ("gases",), "sound"),
    Mutant("stirring dies by half", "entrainment", "return M * abs(M) / (m",
           "return 0.5 * M * abs(M) / (m", ("gases",), "stirring or jet"),
    Mutant("pin recovery", "fit", "RECOVERY = 0.5", "RECOVERY = 1.0", ("pins",)),
    Mutant("pin rises as a line", "fit", "u * (2.0 - u)", "u", ("pins",)),
    Mutant("friction of a pin that fails", "fit", "strength * (1.0 - w)",
           "strength * (1.0 - w * w)", ("pins",)),
    Mutant("critical ratio", "flow", "c = 2.0 / (g + 1.0)", "c = 2.0 / (g + 1.1)", ("flow",),
           "choked or critical"),
    Mutant("factor of the orifice's square", "flow", "square = 2.0 * (g", "square = 1.9 * (g",
           ("flow",), "flow"),
    Mutant("throat velocity at the density upstream", "flow", "return flux / (rho_up * e)",
           "return flux / rho_up", ("gases",), "throat"),
    Mutant("energy of a rising heat capacity", "gas", "0.5 * c1 * T", "c1 * T", ("flow",),
           "temperature or energy"),
    Mutant("Sutherland's temperature", "gas", "/ (T + SUTHERLAND_S)", "/ (T - SUTHERLAND_S)",
           ("pack",), "viscosity"),
    Mutant("radiation with the third power", "heat", "(gas * gas - skin * skin)",
           "(gas * gas - T_gas * T_skin * skin)", ("heat",)),
    Mutant("slope of radiation", "heat", "return 4.0 * emissivity", "return 3.0 * emissivity",
           ("heat",)),
    Mutant("skin warms without the root of pi", "heat", "2.0 * np.sqrt(t / np.pi)",
           "2.0 * np.sqrt(t)", ("skin",), "kernel"),
    Mutant("push decay linear", "motion", "return (1.0 - z) * (1.0 - z)", "return 1.0 - z",
           ("push",)),
    Mutant("swept length of a linear decay", "motion", "bore / 12.0", "bore / 8.0", ("push",)),
    Mutant("inertial loss of a pack", "pack", "INERTIAL_CONSTANT = 1.75",
           "INERTIAL_CONSTANT = 1.5", ("pack",), "ergun"),
    Mutant("viscous loss of a pack", "pack", "* solid * solid * length", "* solid * length",
           ("pack",), "ergun or kozeny"),
    Mutant("isothermal nozzle", "pack", "math.sqrt(-2.0 * log1p(-drop))",
           "math.sqrt(2.0 * drop)", ("pack",), "nozzle"),
    Mutant("Janssen's front not carried back", "pack", "+ front * math.exp(a)", "+ front",
           ("pack",), "janssen"),
    Mutant("growth of a short column", "piston", "1.0 + 0.5 * z", "1.0", ("column",)),
    Mutant("pack in the tube", "piston", "(out - u) / length", "1.0 - u / length", ("column",)),
    Mutant("mean over the sieve window", "powder", "(3.0 - 0.5 * (x + z))", "(3.0 + 0.5 * (x + z))",
           ("skin",), "burnt"),
    Mutant("Vieille's exponent dropped", "powder", f'"""\n    {POWER_OF_PRESSURE}',
           '"""\n    return rate * (max(p, 0.0) / p_reference)', ("burning",)),
    Mutant("flame exponent dropped", "powder", f"return rate\n    {POWER_OF_PRESSURE}",
           "return rate\n    return rate * (max(p, 0.0) / p_reference)", ("burning",)),
    Mutant("flame ramp linear", "powder", "return u * u * (3.0 - 2.0 * u)", "return u",
           ("burning",)),
    Mutant("thin-air share from nothing", "powder", "(p_ambient - p_none) / (p_full - p_none)",
           "p_ambient / p_full", ("burning",)),
    Mutant("salts settle by the volume", "salts", "velocity * area * m_c / volume",
           "velocity * area * m_c", ("heat",)),
    Mutant("thermophoresis without the particle's share", "salts", "/ (1.0 + 2.0 * k) *", "*",
           ("heat",)),
    Mutant("friction of a slot as of a pipe", "slot", "B = 24.0 * along * mu",
           "B = 16.0 * along * mu", ("slot",), "poiseuille"),
    Mutant("sign of the cooling in a slot", "slot", "T = T_wall + (T_gas - T_wall)",
           "T = T_wall - (T_gas - T_wall)", ("slot",), "cools"),
    Mutant("turbulence of a slot", "slot", "small, y * (y - 1.0))", "small, y * (y + 1.0))",
           ("slot",), "turbulence"),
    Mutant("one zone's share of the other's heat dropped", "zones", "+ share * B2)", ")",
           ("zones",)),
    Mutant("salts take room", "zones", "G1 = m_g * R_g", "G1 = m_b * R_g", ("zones",)),
    Mutant("work of compression in the cold zone", "zones", "(B2 + V2 * dp)", "(B2 - V2 * dp)",
           ("zones",)),
)  # fmt: skip
"""The wrong lines, by the closure they stand in."""


def wrong(mutant: Mutant) -> str:
    """Return the text of a file with its wrong line."""
    text = (ROOT / FILES[mutant.file]).read_text(encoding="utf-8")
    count = text.count(mutant.before)
    if count != 1:
        raise SystemExit(f"{mutant.name}: {mutant.before!r} stands {count} times, not once, in "
                         f"{FILES[mutant.file]}")  # fmt: skip
    return text.replace(mutant.before, mutant.after)


def copy_of_the_tree(folder: Path) -> None:
    """Copy what the tests need; a mutant never stands in the tree itself."""
    for name in ("src", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    for name in ("cases", "docs", "benchmarks"):
        (folder / name).symlink_to(ROOT / name)


def passes(tree: Path, test: str, select: str) -> bool:
    """Return whether a test file passes against a copy of the tree, uncompiled."""
    environment = {
        **os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(tree / "src"),
        "PYTHONDONTWRITEBYTECODE": "1",
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", "-p", "no:cacheprovider",
         *(["-k", select] if select else []), test],
        cwd=tree, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode not in (0, 1):  # neither passed nor failed: pytest could not run it
        raise SystemExit(f"{test}: pytest ended with {done.returncode}\n{done.stdout}{done.stderr}")
    return done.returncode == 0


def survivors(mutants: Sequence[Mutant]) -> list[str]:
    """Run each mutant's tests and print what became of it; return the names that no test caught."""
    alive = []
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder)
        copy_of_the_tree(tree)
        # a test that fails on the right line catches nothing
        for test, select in dict.fromkeys((TESTS[t], m.select) for m in mutants for t in m.tests):
            if not passes(tree, test, select):
                raise SystemExit(f"{test} fails without any mutant")
        for mutant in mutants:
            file = tree / FILES[mutant.file]
            right = file.read_text(encoding="utf-8")
            file.write_text(wrong(mutant), encoding="utf-8")
            missed = [t for t in mutant.tests if passes(tree, TESTS[t], mutant.select)]
            file.write_text(right, encoding="utf-8")
            if missed:
                alive.append(mutant.name)
            state = "SURVIVED" if missed else "killed"
            tests = ", ".join(TESTS[t].removeprefix("tests/") for t in mutant.tests)
            print(f"{state:9} {mutant.file:13} {mutant.name:45} {tests}", flush=True)
    return alive


def main() -> int:
    """Run the mutants; return 1 if one survives."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--list", action="store_true", help="print the mutants and run nothing")
    parser.add_argument("--only", nargs="+", metavar="NAME", help="run these mutants")
    arguments = parser.parse_args()
    if unknown := set(arguments.only or ()) - {m.name for m in MUTANTS}:
        parser.error(f"no mutant is called {', '.join(sorted(unknown))}; see --list")
    chosen = [m for m in MUTANTS if not arguments.only or m.name in arguments.only]
    for mutant in chosen:
        wrong(mutant)
    if arguments.list:
        for mutant in chosen:
            print(f"{mutant.file:13} {mutant.name:45} {mutant.before!r} -> {mutant.after!r}")
        return 0
    alive = survivors(chosen)
    print(f"{len(chosen) - len(alive)} of {len(chosen)} killed")
    return 1 if alive else 0


if __name__ == "__main__":
    raise SystemExit(main())
