# ruff: noqa: E501
"""Every broken case file gives exactly these sentences, each with its line."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from baypulse.case.casefile import read, reads
from baypulse.case.casefile.reader import LARGEST_FILE
from baypulse.errors import CaseError

FOLDER = Path(__file__).parent / "broken"

EXPECTED: dict[str, tuple[str, ...]] = {
    "001-empty.toml": (
        ": the file is empty; a case needs at least a title, [bay], [nose], [airframe], [joint] and [powder] or [cold_gas]",
    ),
    "002-only-comment.toml": (
        ": the table [bay] is missing: the tube that holds the parachute, closed at the far end",
        ": the table [nose] is missing: the section that leaves: nose cone, payload tube, everything ahead of the joint",
        ": the table [airframe] is missing: everything behind the joint",
        ": the table [joint] is missing: the friction fit of the shoulder in the tube",
        ": nothing opens the bay: give [powder] or [cold_gas]",
        ': title: missing: one line that says what this is, such as "76 mm bench bay"',
    ),
    "003-binary.toml": (": the file holds binary data or UTF-16; save it as UTF-8 text",),
    "004-utf16.toml": (": the file holds binary data or UTF-16; save it as UTF-8 text",),
    "005-latin1.toml": (":1: byte 0xe4 is not UTF-8; save the file with UTF-8 encoding",),
    "006-bom-and-typo.toml": (':8: bay.bore: unknown unit "mn"; did you mean "mm"?',),
    "007-power-tower.toml": (
        ':8: bay.bore: "9**9**9**9 m" is not a number with a unit (no arithmetic is read); write a length, such as "75 mm"',
    ),
    "008-code-in-value.toml": (
        ':8: bay.bore: "__import__(\'os\').getcwd() mm" does not start with a number; write a length, such as "75 mm"',
    ),
    "009-long-value.toml": (
        ':8: bay.bore: the text has 203 characters, more than 80; write a length, such as "75 mm"',
    ),
    "010-unit-typo.toml": (':9: bay.tube_length: unknown unit "mn"; did you mean "mm"?',),
    "011-no-unit.toml": (
        ':9: bay.tube_length: "320" has no unit; write a length, such as "75 mm"',
    ),
    "012-bare-number.toml": (
        ':9: bay.tube_length: 320 has no unit; write a length, such as "75 mm", in quotes',
    ),
    "013-decimal-comma.toml": (
        ':11: bay.wall_thickness: "1,5 mm" has a comma in the number: write 1.5',
    ),
    "014-thousands-comma.toml": (
        ':21: airframe.mass: "1,900 g" has a comma in the number: write 1.900 or 1900',
    ),
    "015-fraction.toml": (
        ':11: bay.wall_thickness: "1/8 - 1/16 in" is not a number with a unit (no arithmetic is read); write a length, such as "75 mm"',
    ),
    "016-gr.toml": (':5: powder.mass: gr is ambiguous: write "grain" (64.8 mg) or "g"',),
    "017-grains-slip.toml": (':5: powder.mass: given "8000 grain", allowed 0.001 g to 200 g',),
    "018-kilograms-slip.toml": (':5: powder.mass: given "0.5 kg", allowed 0.001 g to 200 g',),
    "019-wrong-dimension.toml": (
        ':5: powder.mass: "3 mm" is a length; a mass is wanted, such as "1.2 g"',
    ),
    "020-scale-reading.toml": (
        ':25: joint.pull_off: "2.2 lbm" is a mass; a force is wanted, such as "90 N"; for the reading of a scale write "2.2 lbf"',
    ),
    "021-pressure-unstated.toml": (
        ':32: limits.bay_pressure: "60 psi" does not say gauge or absolute; write psig or psia: "60 psig" above the air outside, or "60 psia" above vacuum',
    ),
    "022-absolute-for-gauge.toml": (
        ':32: limits.bay_pressure: "60 psia" is an absolute pressure and a gauge pressure is wanted: subtract the pressure of the air outside (14.7 psi or 101.3 kPa at sea level) and write psig or "kPa gauge"',
    ),
    "023-gauge-for-absolute.toml": (
        ':32: surroundings.pressure: "98 kPa gauge" is a gauge pressure and an absolute pressure is wanted: add the pressure of the air outside (14.7 psi or 101.3 kPa at sea level) and write psia or "kPa abs"',
    ),
    "024-pressure-kpa-unstated.toml": (
        ':32: surroundings.pressure: "98 kPa" does not say gauge or absolute: "98 kPa gauge" above the air outside, or "98 kPa abs" above vacuum',
    ),
    "025-nan-text.toml": (
        ':5: powder.mass: "nan g" is not a finite number; write a mass, such as "1.2 g"',
    ),
    "026-inf-number.toml": (
        ':32: run.tolerance: inf is not a finite number; write a ratio, such as "12 %"',
    ),
    "027-nan-number.toml": (
        ':6: powder.moisture: nan is not a finite number; write a ratio, such as "12 %"',
    ),
    "028-true-for-ratio.toml": (':6: powder.moisture: true is not a ratio, such as "12 %"',),
    "029-celsius.toml": (':32: surroundings.temperature: unknown unit "C"; did you mean "degC"?',),
    "030-temperature-alone.toml": (
        ':32: surroundings.temperature: 15 has no unit; write a temperature, such as "15 degC", in quotes',
    ),
    "031-unquoted-value.toml": (':8: values with a unit and words need quotes: bore = "76 mm"',),
    "032-unquoted-word.toml": (':10: values with a unit and words need quotes: wall = "card"',),
    "033-duplicate-key.toml": (':9: the key "bore" is given twice in this table; keep one',),
    "034-duplicate-table.toml": (":31: the table [nose] is given twice; merge the two",),
    "035-unclosed-string.toml": (":8: a quote on this line is not closed",),
    "036-unclosed-table.toml": (
        ":7: not readable TOML: Expected ']' at the end of a table declaration",
    ),
    "037-unknown-key.toml": (
        ':7: bay.bore: missing: inside diameter of the tube, such as "75 mm"',
        ':8: bay.boar: unknown key "boar"; did you mean "bore"?',
    ),
    "038-unknown-table.toml": (
        ": the table [airframe] is missing: everything behind the joint",
        ':20: airfame: unknown key or table "airfame"; did you mean "airframe"?',
    ),
    "039-key-in-wrong-table.toml": (
        ':9: bay.shoulder_length: unknown key "shoulder_length" here; it belongs in [joint]',
    ),
    "040-key-without-table.toml": (
        ':3: bore: unknown key or table "bore" here; it belongs in [bay]',
    ),
    "041-opening-single.toml": (
        ":31: openings: write [[openings]], with two brackets, once for each",
    ),
    "042-opening-singular.toml": (
        ':31: opening: unknown key or table "opening"; did you mean "openings"?',
    ),
    "043-bay-doubled.toml": (
        ":7: bay: this is a table: write [bay], with one bracket, and only once",
    ),
    "044-table-as-value.toml": (":1: airframe: this is a table: write [airframe], then its keys",),
    "045-missing-keys.toml": (
        ':7: bay.bore: missing: inside diameter of the tube, such as "75 mm"',
        ':7: bay.wall_thickness: missing: tube wall thickness, such as "2 mm"',
    ),
    "046-missing-tables.toml": (
        ": the table [nose] is missing: the section that leaves: nose cone, payload tube, everything ahead of the joint",
        ": the table [airframe] is missing: everything behind the joint",
    ),
    "047-missing-title.toml": (
        ': title: missing: one line that says what this is, such as "76 mm bench bay"',
    ),
    "048-no-source.toml": (": nothing opens the bay: give [powder] or [cold_gas]",),
    "049-two-sources.toml": (":31: cold_gas: give either [powder] or [cold_gas], not both",),
    "050-holder-without-powder.toml": (":33: holder: a holder is for a charge: it needs [powder]",),
    "051-unknown-grade.toml": (
        ':4: powder.grade: "FFFg" is not known; did you mean "3F"? allowed: "1F", "2F", "3F", "4F"',
    ),
    "052-unknown-thread.toml": (
        ':29: pins.thread: "#2-65" is not known; did you mean "#2-56"? allowed: "#0-80", "#2-56", "#4-40", "#6-32", "#8-32", "M2", "M2.5", "M3", "M4", "1/16 in rod", "3/32 in rod", "1/8 in rod", "2 mm rod", "3 mm rod"',
    ),
    "053-unknown-shape.toml": (
        ':19: nose.shape: "ogive" is not known; did you mean "tangent ogive"? allowed: "closed", "cone", "tangent ogive", "ellipsoid"',
    ),
    "054-number-for-word.toml": (':10: bay.wall: given 3; text is wanted, such as "fibre glass"',),
    "055-count-as-text.toml": (
        ':28: pins.count: given "3"; a whole number is wanted, without quotes, such as 3',
    ),
    "056-count-fractional.toml": (
        ":28: pins.count: given 2.5; a whole number is wanted, without quotes, such as 3",
    ),
    "057-count-zero.toml": (":28: pins.count: given 0, allowed 1 to 24",),
    "058-count-huge.toml": (":28: pins.count: given a very large number, allowed 1 to 24",),
    "059-list-for-value.toml": (':8: bay.bore: one value is wanted, such as "75 mm", not a list',),
    "060-date-for-value.toml": (':8: bay.bore: a date is not a length, such as "75 mm"',),
    "061-zero-bore.toml": (':8: bay.bore: given "0 mm", allowed 10 mm to 1000 mm',),
    "062-metres-for-millimetres.toml": (':8: bay.bore: given "76 m", allowed 10 mm to 1000 mm',),
    "063-negative-mass.toml": (':18: nose.mass: given "-480 g", allowed 1 g to 500000 g',),
    "064-no-free-volume.toml": (
        ":9: bay.tube_length: the shoulder and coupler leave no free volume in the bay",
    ),
    "065-shoulder-longer-than-tube.toml": (
        ":9: bay.tube_length: shoulder and coupler take 76.0 mm (2.99 in) of a tube of 60.0 mm (2.36 in)",
    ),
    "066-coupler-too-long.toml": (
        ":9: bay.tube_length: shoulder and coupler take 356 mm (14.0 in) of a tube of 320 mm (12.6 in)",
    ),
    "067-contents-too-big.toml": (
        ":15: contents.volume: the contents fill 1.20 L (73.2 in³) of a 1.11 L (67.5 in³) bay",
    ),
    "068-contents-unknown-volume.toml": (
        ":13: contents: give volume (measured), packed_length (of tube that they fill) or "
        "packing_density, so that the free volume is known",
    ),
    "069-contents-twice.toml": (
        ":16: contents.packing_density: give either volume or packing_density, not both",
    ),
    "070-nose-closed-with-hollow.toml": (
        ":19: nose.hollow_length: the nose is closed, so it has no hollow; give its shape",
    ),
    "071-nose-open-without-size.toml": (
        ":19: nose.shape: an open nose needs hollow_length, above zero",
        ":19: nose.shape: an open nose needs hollow_diameter, above zero",
    ),
    "072-nose-wider-than-bore.toml": (
        ":21: nose.hollow_diameter: 90.0 mm (3.54 in) inside is not less than the bore of 76.0 mm (2.99 in)",
    ),
    "073-ogive-too-short.toml": (
        ":20: nose.hollow_length: a tangent ogive is at least half as long as it is wide; use an ellipsoid",
    ),
    "074-shoulder-bore-closed.toml": (
        ":26: joint.shoulder_bore: the nose is closed, so the shoulder is too; give the nose's shape, or book a recess as extra_volume",
    ),
    "075-fit-and-pull-off.toml": (
        ":26: joint.fit: give either fit or pull_off, not both; the measured pull_off is the better one",
    ),
    "076-no-fit.toml": (
        ':23: joint: say how the shoulder fits: pull_off (measured, "0 N" if it falls out) or fit',
    ),
    "077-nothing-holds.toml": (
        ":25: joint.pull_off: nothing holds the joint: no pins, no friction and no seal",
    ),
    "078-grains-crossed.toml": (
        ":6: powder.smallest_grain: the smallest grain, 1.20 mm (0.0472 in), is larger than the largest, 0.955 mm (0.0376 in); 3F has 0.432 mm (0.0170 in) to 0.955 mm (0.0376 in)",
    ),
    "079-opening-to-itself.toml": (':34: openings[0].to: this opening leads from "bay" to itself',),
    "080-no-electronics.toml": (
        ":37: openings[1].to: there is no [electronics] table with the volume of that bay",
    ),
    "081-holder-too-small.toml": (
        ":32: holder.volume: 2.00 g (30.9 grain) of powder takes 1.14 cm³ (0.0697 in³) without any gaps, more than the holder's 1.00 cm³ (0.0610 in³)",
    ),
    "082-holder-bigger-than-bay.toml": (
        ":32: holder.volume: a holder of 500 cm³ (30.5 in³) in a bay of 109 cm³ (6.64 in³)",
    ),
    "083-cord-too-short.toml": (
        ":33: cord.length: a cord of 100 mm (3.94 in) is taut before the shoulder of 150 mm (5.91 in) is out",
    ),
    "084-charge-absurd.toml": (
        ':5: powder.mass: 60.0 g (0.132 lb) in 687 cm³ (41.9 in³) gives 19130 kPa (2775 psi) by the static rule, and no bay is meant for that: check the unit of the mass (1 g is 15.4 grain) and the units of the bay\'s lengths and volumes. Only where all of them are right, and this is a published shot of a closed vessel or a mortar and no bay, say so: chamber = "vessel" in [run]',
    ),
    "085-run-too-short.toml": (
        ":32: run.end_time: the run ends at 4.00 ms, before the gas comes at 5.00 ms",
    ),
    "086-spread-unknown-word.toml": (
        ':25: joint.pull_off.spred: unknown key "spred"; did you mean "spread"?',
    ),
    "087-spread-negative.toml": (':25: joint.pull_off: a spread cannot be negative: "-20 %"',),
    "088-spread-wrong-unit.toml": (
        ':25: joint.pull_off: "2 mm" is a length; a force is wanted, such as "90 N"',
    ),
    "089-spread-without-value.toml": (':25: joint.pull_off: a normal spread needs "value"',),
    "090-distribution-unknown.toml": (
        ':25: joint.pull_off: "gaussian" is not a distribution; known: normal, log-normal, uniform, triangular, sample',
    ),
    "091-uniform-without-high.toml": (':25: joint.pull_off: a uniform spread needs "high"',),
    "092-uniform-crossed.toml": (':25: joint.pull_off: low = "28 N" is not below high = "18 N"',),
    "093-value-outside-bounds.toml": (':25: joint.pull_off: the value lies below low = "25 N"',),
    "094-sample-of-one.toml": (
        ':25: joint.pull_off: "sample" is a list of two or more values, such as ["88 N", "93 N"]',
    ),
    "095-temperature-spread-share.toml": (
        ':32: surroundings.temperature: a share of a temperature has no meaning: write "5 K", not "5 %"',
    ),
    "096-many-at-once.toml": (
        ':4: powder.grade: "5F" is not known; did you mean "1F"? allowed: "1F", "2F", "3F", "4F"',
        ':5: powder.mass: gr is ambiguous: write "grain" (64.8 mg) or "g"',
        ':8: bay.bore: 76 has no unit; write a length, such as "75 mm", in quotes',
        ':10: bay.wall: "cord" is not known; did you mean "card"? allowed: "fibre glass", "phenolic card", "card", "hardened card", "carbon fibre", "aluminium"',
        ':27: pins.thread: missing: thread, from the library, such as "#2-56"',
        ":28: pins.count: given -1, allowed 1 to 24",
        ':29: pins.tread: unknown key "tread"; did you mean "thread"?',
    ),
    "097-inline-tables.toml": (
        ':5: airframe.mass: "1.9" has no unit; write a mass, such as "1.2 g"',
    ),
    "098-long-key.toml": (":31: a key of more than 40 parts is not read",),
    "099-deep-list.toml": (": not readable TOML: nested too deeply",),
    "100-not-toml.toml": (":1: not readable TOML: Invalid statement",),
    "101-crlf.toml": (':18: nose.mass: unknown unit "gm"; did you mean "g"?',),
    "102-huge-hexadecimal.toml": (
        ':8: bay.bore: a very large number has no unit; write a length, such as "75 mm", in quotes',
        ":28: pins.count: given a very large number, allowed 1 to 24",
    ),
    "103-escape-sequence.toml": (
        ':10: bay.wall: "\\x1b[31mcard\\x07" is not known; did you mean "card"? allowed: "fibre glass", "phenolic card", "card", "hardened card", "carbon fibre", "aluminium"',
    ),
    "104-source-missing-value.toml": (
        ':25: joint.pull_off: "value" is missing: write { value = "25 N", ... }',
    ),
    "105-bounds-alone.toml": (
        ':25: joint.pull_off: "low" and "high" alone do not say how the value scatters: add distribution = "uniform" or "triangular"',
    ),
    "106-uniform-with-spread.toml": (':25: joint.pull_off: a uniform spread takes no "spread"',),
    "107-sample-out-of-range.toml": (
        ':25: joint.pull_off: "22 kN" in the sample is outside the allowed 0 N to 5000 N',
    ),
    "108-spread-of-zero.toml": (
        ':25: joint.pull_off: "20 %" of zero is zero; give the spread with a unit',
    ),
    "109-hole-wider-than-bay.toml": (
        ":33: openings[0].diameter: a hole of 80.0 mm (3.15 in) in a bay of 76.0 mm (2.99 in) bore",
    ),
    "110-duplicate-in-inline.toml": (":25: not readable TOML: Duplicate inline table key 'value'",),
    "111-packed-too-long.toml": (
        ":16: contents.packed_length: 350 mm (13.8 in) of contents in a tube of 320 mm (12.6 in)",
    ),
    "112-contents-and-holder-fill.toml": (
        ":32: holder.volume: contents and holder leave no free volume in the bay",
    ),
    "113-pins-too-wet.toml": (':29: pins.moisture: given "12 %", allowed 0 % to 9 %',),
    "114-opening-from-nowhere.toml": (
        ':33: openings[0].between: "outsid" is not known; did you mean "outside"? allowed: "bay", "electronics", "outside"',
    ),
    "115-stand-too-steep.toml": (
        ':33: setting.attitude: 60.0 deg is too steep for a stand with friction 0.4: the airframe would slide by itself; use kind = "clamped"',
    ),
    "116-too-many-openings.toml": (
        ":271: openings[60]: 61 openings given, at most 60; write holes of one size as one opening with a count",
    ),
    "117-correlation-alone.toml": (
        ':25: joint.pull_off: "correlation" says how closely a value goes with its group: add group = "a name"',
    ),
    "118-correlation-above-one.toml": (
        ':25: joint.pull_off: a correlation is above 0 and at most 1, not 120 %; for values that have nothing to do with each other leave out "group"',
    ),
    "119-correlation-of-zero.toml": (
        ':25: joint.pull_off: a correlation is above 0 and at most 1, not 0; for values that have nothing to do with each other leave out "group"',
    ),
    "120-nan-in-sample.toml": (
        ':25: joint.pull_off: "nan N" is not a finite number; write a force, such as "90 N"',
    ),
    "121-bare-nan-in-sample.toml": (
        ':25: joint.pull_off: nan is not a finite number; write a force, such as "90 N"',
    ),
    "122-group-without-spread.toml": (
        ':25: joint.pull_off: a group is for values that scatter: add spread = "10 %" or the like',
    ),
    "123-setting-scatters.toml": (
        ":32: run.end_time: this is a setting, which does not scatter; give the value alone",
    ),
    "124-nan-correlation.toml": (
        ':25: joint.pull_off: nan is not a finite number; write a ratio, such as "12 %"',
    ),
    "125-library-numbers.toml": (
        ':24: library.powders.3F.rates: unknown number of 3F in the library of powders: "rates"; did you mean "rate"?',
        ':25: library.powders.3F.rate_exponent: "1 m" is a length; a ratio is wanted, such as "12 %"',
        ":26: library.powders.3F.burnable_fraction: given 1.2, allowed 0 to 1",
        ':27: library.powders.3F.rate: given "12 m/s", allowed 0.12 mm/s to 1200 mm/s',
        ':28: library.powders.3F.rate_pressure: 101325 has no unit; write a stress, such as "69 MPa", in quotes',
        ':30: library.powders.FFg: unknown entry of the library of powders: "FFg"; did you mean "2F"?',
        ':33: library.powder: unknown table of the library: "powder"; did you mean "powders"?',
        ':36: library.threads.M2.5: a name with a dot needs quotes: [library.threads."M2.5"]',
        ':40: library.pin materials.shear_strength: "shear_strength" is a number of an entry: write it below [library."pin materials"."nylon 6/6"]',
        ':41: library.pin materials.acetal: this is an entry: write [library."pin materials".acetal], then its numbers',
        ':44: library.pin materials.nylon 6/6.temperature_slope: given "0.8 %/K", allowed -80 %/K to 0 %/K',
        ':45: library.pin materials.nylon 6/6.shear_strength: a normal spread needs "value"',
        ':46: library.pin materials.nylon 6/6.moisture_slope.spred: unknown key "spred"; did you mean "spread"?',
    ),
    "125-tightness-unknown.toml": (
        ':16: contents.tightness: "snugg" is not known; did you mean "snug"? allowed: "loose", '
        '"snug", "tight", "unknown"',
    ),
    "126-packed-length-fills-bay.toml": (
        ":15: contents.packed_length: the contents fill 1.36 L (83.0 in³) of a 1.11 L (67.5 in³) bay",
    ),
    "127-charge-side-unknown.toml": (
        ':16: contents.charge_side: "front" is not known; allowed: "behind", "ahead"',
    ),
    "125-slot-and-hole.toml": (
        ":34: openings[0].gap: this opening has a diameter and gap and length; give diameter alone for a hole, or gap, width and length for a slot",
    ),
    "126-slot-without-length.toml": (
        ":31: openings[0]: a slot needs gap, width and length; length is missing",
    ),
    "127-opening-without-size.toml": (
        ':31: openings[0]: say how large it is: diameter, such as "3.2 mm", for a hole, or gap, width and length, such as "0.1 mm", "240 mm" and "25 mm", for a slot',
    ),
    "128-slot-wider-than-long.toml": (
        ":33: openings[0].gap: a slot of 4.00 mm (0.157 in) across and 3.00 mm (0.118 in) along its mouth is none; swap gap and width, or give a hole by its diameter",
    ),
}


def sentences(error: CaseError) -> tuple[str, ...]:
    """Return the sentences without the name of the file."""
    return tuple(problem.sentence("") for problem in error.problems)


@pytest.mark.parametrize("name", EXPECTED)
def test_broken_case_says_what_is_wrong(name: str) -> None:
    begin = time.perf_counter()
    with pytest.raises(CaseError) as caught:
        read(FOLDER / name)
    assert sentences(caught.value) == EXPECTED[name]
    assert time.perf_counter() - begin < 2.0
    assert str(FOLDER / name) in str(caught.value)


def test_no_broken_file_is_forgotten() -> None:
    assert sorted(path.name for path in FOLDER.iterdir()) == sorted(EXPECTED)
    assert len(EXPECTED) >= 45


@pytest.mark.parametrize("name", EXPECTED)
def test_sentences_are_about_the_file_and_not_the_program(name: str) -> None:
    for sentence in EXPECTED[name]:
        for word in ("Traceback", "Error", "None", "KeyError", "tomllib", "NoneType", "object"):
            assert word not in sentence
        assert sentence.isprintable()


def test_missing_file() -> None:
    with pytest.raises(CaseError) as caught:
        read(FOLDER / "no-such-file.toml")
    assert sentences(caught.value) == (": there is no such file",)


def test_folder() -> None:
    with pytest.raises(CaseError) as caught:
        read(FOLDER)
    (sentence,) = sentences(caught.value)
    # Windows reports a folder as a file that may not be opened
    assert "this is a folder" in sentence or "cannot be read" in sentence


def test_name_with_a_null_byte() -> None:
    with pytest.raises(CaseError, match="cannot be read"):
        read("a\0b.toml")


def test_huge_file_is_not_parsed(tmp_path: Path) -> None:
    path = tmp_path / "huge.toml"
    path.write_bytes(b'title = "x"\n' + b"# padding\n" * 200_000)
    begin = time.perf_counter()
    with pytest.raises(CaseError) as caught:
        read(path)
    assert sentences(caught.value) == (": the file is larger than 1000 kB; a case needs a few kB",)
    assert time.perf_counter() - begin < 0.5


def test_huge_text_is_not_parsed() -> None:
    with pytest.raises(CaseError, match="longer than 1000 kB"):
        reads("#" * (LARGEST_FILE + 1))


@pytest.mark.parametrize(
    "text",
    [
        "[" * 999_000,
        '"' * 999_000,
        "a." * 499_000,
        "a = [\n" * 100_000,
        "a " * 499_000,
        "\n" * 999_000,
    ],
)
def test_large_nonsense_is_refused_quickly(text: str) -> None:
    begin = time.perf_counter()
    with pytest.raises(CaseError):
        reads(text)
    assert time.perf_counter() - begin < 3.0
