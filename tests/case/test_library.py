"""The library: every number has value, spread and source, and agrees with what is published."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re

import cantera
import numpy as np
import pytest

from baypulse.case import library
from baypulse.case.casefile import reads
from baypulse.case.explanation import explain
from baypulse.errors import CaseError, ModelError
from case.whole_case import starter_text

ENTRIES = [(table, name) for table in library.TABLES for name in library.names(table)]


@pytest.mark.parametrize(("table", "name"), ENTRIES)
def test_every_number_has_value_spread_and_source(table: str, name: str) -> None:
    facts = library.facts(table, name)
    kind = library.TABLES[table]
    assert list(facts) == [field.name for field in dataclasses.fields(kind)]
    entry = library.entry(table, name)
    for key, fact in facts.items():
        assert math.isfinite(fact.value), key
        assert getattr(entry, key) == fact.value
        assert fact.text.strip() and fact.spread_text.strip(), key
        assert len(fact.source) >= len("estimate"), key
        assert fact.spread >= 0.0
        if fact.spread == 0.0 and fact.value != 0.0:
            words = ("definition", "ASME", "ISO", "no knot", "no thread", "monatomic", "next to no")
            assert any(word in fact.source for word in words), (key, fact.source)


def test_raw_files_hold_nothing_else() -> None:
    for table, name in ENTRIES:
        for key, row in library._read(table)[name].items():
            assert set(row) == {"value", "spread", "source"}, (table, name, key)
            assert all(isinstance(text, str) and text.strip() for text in row.values())


def test_a_row_without_source_or_with_a_wrong_unit_is_noticed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    good = {"value": "900 Pa", "spread": "10 %", "source": "estimate"}
    assert library._fact(good, "stress").value == 900.0
    with pytest.raises(KeyError):
        library._fact({"value": "900 Pa", "spread": "10 %"}, "stress")
    with pytest.raises(Exception, match="a stress is wanted"):
        library._fact({**good, "value": "900 N"}, "stress")
    monkeypatch.setattr(library, "_read", lambda table: {"odd": {"efficiency": good}})
    library._facts.cache_clear()
    with pytest.raises(ModelError, match="must hold exactly shear"):
        library.facts("fits", "odd")
    library._facts.cache_clear()


def test_shares_stay_between_nothing_and_everything() -> None:
    for table, name in ENTRIES:
        for key, fact in library.facts(table, name).items():
            if key in ("condensed_heat_share", "burnable_fraction", "emissivity", "exposure",
                       "efficiency", "permanent_set", "break_elongation"):  # fmt: skip
                assert 0.0 < fact.value <= 1.0, (table, name, key)


@pytest.mark.parametrize(
    ("thread", "root_mm", "load"),
    [("#2-56", 1.644, 146.4), ("#4-40", 2.089, 236.2), ("#6-32", 2.560, 354.9)],
)
def test_unified_threads(thread: str, root_mm: float, load: float) -> None:
    root = library.thread(thread).root_diameter
    assert root * 1e3 == pytest.approx(root_mm, abs=0.0006)
    assert 68.95e6 * math.pi * root**2 / 4.0 == pytest.approx(load, rel=1e-3)


@pytest.mark.parametrize(
    ("thread", "root_mm"), [("M2", 1.509), ("M2.5", 1.948), ("M3", 2.387), ("M4", 3.141)]
)
def test_metric_threads(thread: str, root_mm: float) -> None:
    assert library.thread(thread).root_diameter * 1e3 == pytest.approx(root_mm, abs=0.0006)


@pytest.mark.parametrize("name", library.names("threads"))
def test_threads_follow_their_formula(name: str) -> None:
    thread = library.thread(name)
    depth = 1.226869 if name.startswith("M") else 1.190777
    expected = thread.major_diameter - depth * thread.pitch
    assert thread.root_diameter == pytest.approx(expected, abs=1e-7)
    assert (thread.pitch == 0.0) == name.endswith("rod")


def test_powder_windows_join_and_get_finer() -> None:
    windows = [library.powder(name) for name in ("1F", "2F", "3F", "4F")]
    for coarse, fine in itertools.pairwise(windows):
        assert fine.largest_grain == pytest.approx(coarse.smallest_grain)
    assert all(row.smallest_grain < row.largest_grain for row in windows)


def test_powder_force_is_near_the_closed_vessel_table() -> None:
    # 0.10 and 0.20 g/cm^3 give 27.18 and 58.22 MPa in the table; p = f D / (1 - a D)
    powder = library.powder("3F")
    force = powder.gas_constant * powder.explosion_temperature
    for density, pressure in ((100.0, 27.18e6), (200.0, 58.22e6)):
        ours = force * density / (1.0 - powder.covolume * density)
        assert ours == pytest.approx(pressure, rel=0.05)


FLUIDS = {"nitrogen": "Nitrogen", "argon": "Argon", "helium": "Helium", "air": "Air",
          "carbon dioxide": "CarbonDioxide"}  # fmt: skip


@pytest.mark.parametrize("name", FLUIDS)
def test_gases_against_reference_equations(name: str) -> None:
    from CoolProp import CoolProp  # loads for two seconds, which only one worker spends

    gas = library.gas(name)
    state = CoolProp.AbstractState("HEOS", FLUIDS[name])
    state.specify_phase(CoolProp.iphase_gas)
    constant = state.gas_constant() / state.molar_mass()
    assert gas.gas_constant == pytest.approx(constant, rel=2e-4)
    # the straight line cannot follow carbon dioxide, whose data row says so
    limit = 0.045 if name == "carbon dioxide" else 0.015
    energies = []
    for temperature in np.linspace(200.0, 600.0, 41):
        state.update(CoolProp.DmassT_INPUTS, 1e-3, float(temperature))
        capacity = state.cp0mass() - constant
        ours = gas.heat_capacity + gas.heat_capacity_slope * temperature
        assert ours == pytest.approx(capacity, rel=limit)
        energies.append((capacity, ours))
    mean = np.mean(energies, axis=0)
    assert mean[1] == pytest.approx(mean[0], rel=2e-3)


@pytest.mark.parametrize(
    ("name", "species"), [("nitrogen", "N2"), ("argon", "Ar"), ("helium", "He")]
)
def test_gases_against_nasa_polynomials(name: str, species: str) -> None:
    found = [row for row in cantera.Species.list_from_file("nasa_gas.yaml") if row.name == species]
    phase = cantera.Solution(thermo="ideal-gas", species=found)
    gas = library.gas(name)
    for temperature in (250.0, 300.0, 400.0, 550.0):
        phase.TP = temperature, 101325.0
        ours = gas.heat_capacity + gas.heat_capacity_slope * temperature
        assert ours == pytest.approx(phase.cv_mass, rel=0.01)


@pytest.mark.parametrize(
    ("fit", "force"), [("loose", 5.0), ("snug", 20.0), ("firm", 50.0), ("tight", 120.0)]
)
def test_fits_on_a_98_mm_shoulder(fit: str, force: float) -> None:
    area = math.pi * 0.098 * 0.100
    assert library.fit(fit).shear * area == pytest.approx(force, rel=0.03)


def test_nylon_loses_what_is_published_when_wet_and_gains_when_cold() -> None:
    nylon = library.pin_material("nylon 6/6")
    wet = 1.0 + nylon.moisture_slope * (0.08 - nylon.reference_moisture)
    assert wet < 0.4
    cold = 1.0 + nylon.temperature_slope * (248.15 - nylon.reference_temperature)
    assert cold == pytest.approx(1.38, abs=0.01)


def test_an_unknown_name_is_refused_with_a_near_match() -> None:
    with pytest.raises(
        ModelError, match=r'"#2-65" is not in the library of threads; did you mean "#2-56"'
    ):
        library.thread("#2-65")
    with pytest.raises(ModelError, match='no table "thread"; did you mean "threads"'):
        library.entry("thread", "#2-56")
    with pytest.raises(ModelError):
        library.powder("common")


def test_a_case_replaces_numbers_of_the_library() -> None:
    changes = {"powders.3F.rate": 0.010, "threads.M2.5.pitch": 1e-3, "threads.M2.pitch": 2e-3}
    assert library.powder("3F", changes) == dataclasses.replace(library.powder("3F"), rate=0.010)
    assert library.powder("4F", changes) is library.powder("4F")
    assert library.thread("M2", changes).pitch == 2e-3
    assert library.thread("M2.5", changes).pitch == 1e-3
    assert library.thread("M2").pitch == pytest.approx(0.4e-3)


def test_a_pack_pulls_out_as_the_classes_say() -> None:
    # estimates for 250 mm in a bore of 98 mm
    wall = math.pi * 0.098 * 0.25
    for name, force in (("loose", 10.0), ("snug", 35.0), ("tight", 120.0)):
        assert library.pack(name).shear * wall == pytest.approx(force, rel=0.02)
    gaps = [library.pack(name).gap for name in ("loose", "snug", "tight")]
    assert gaps == sorted(gaps, reverse=True)


@pytest.mark.parametrize(("table", "name"), ENTRIES)
def test_every_number_has_an_address(table: str, name: str) -> None:
    for number, fact in library.facts(table, name).items():
        assert library.fact(library.address(table, name, number)) is fact


def test_facts_are_a_copy_and_entries_are_shared() -> None:
    library.facts("fits", "snug").clear()
    assert library.facts("fits", "snug")
    assert library.entry("fits", "snug") is library.fit("snug")


@pytest.mark.parametrize(
    ("function", "table"),
    [("powder", "powders"), ("gas", "gases"), ("wall", "walls"), ("cloth", "cloths"),
     ("thread", "threads"), ("pin_material", "pin materials"), ("cord", "cords"),
     ("knot", "knots"), ("fit", "fits"), ("pack", "packs")],
)  # fmt: skip
def test_short_functions(function: str, table: str) -> None:
    name = library.names(table)[0]
    assert getattr(library, function)(name) == library.entry(table, name)


@pytest.mark.parametrize("table", library.GENERIC)
def test_other_names_lead_to_entries_of_the_library(table: str) -> None:
    others = library.other_names(table)
    assert others and set(others.values()) <= set(library.names(table))
    assert not set(others) & set(library.names(table))
    for name, own in others.items():
        assert library.own_name(table, name.swapcase().replace(" ", "-")) == own


@pytest.mark.parametrize(
    ("table", "given", "own"),
    [
        # NEMA LI 1: G-10, and FR-4, its flame-retardant kin, are woven glass in epoxy (from memory)
        ("walls", "G-10", "fibre glass"),
        ("walls", "fr4", "fibre glass"),
        # ISO 1043-1: PA 66 is polyamide 66, POM polyoxymethylene, an acetal (from memory)
        ("pin materials", "PA66", "nylon 6/6"),
        ("pin materials", "PA6", "nylon 6"),
        ("pin materials", "POM", "acetal"),
        ("pin materials", "nylon", ""),
    ],
)
def test_generic_grades_are_known(table: str, given: str, own: str) -> None:
    assert library.own_name(table, given) == own


def test_a_case_may_name_a_material_by_its_grade() -> None:
    text = starter_text().replace('wall = "fibre glass"', 'wall = "G10"')
    case = reads(text)
    assert case.bay.wall == "fibre glass"
    assert re.search(r'  wall = fibre glass \(line \d+, typed as "G10"\)', explain(case))


def test_numbers_of_a_material_ask_for_the_librarys_own_name() -> None:
    with pytest.raises(CaseError, match=r'"G10"; did you mean "fibre glass"\?'):
        reads(starter_text() + '\n[library.walls.G10]\ndensity = "1900 kg/m^3"\n')
