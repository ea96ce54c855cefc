"""A leak put into a case file's text: comments stay, the gap goes, odd texts are refused."""

from __future__ import annotations

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.leak_entry import LeakEntry, with_entry
from baypulse.errors import ModelError
from report_cases import BENCH, without

ENTRY = LeakEntry(
    name="leak (measured)",
    diameter='{ value = "0.8 mm", spread = "7 %", distribution = "log-normal" }',
    discharge=0.65,
    remarks=("Leak-down test.", "Plugged: vent."),
)
PULL = 'pull_off = { value = "22 N", spread = "20 %" }\n'


def gap(line: str) -> str:
    return BENCH.replace(PULL, PULL + line + "\n")


@pytest.mark.parametrize(
    "line",
    [
        'clearance = "0.05 mm"',
        '  clearance="2 mil" # by feeler gauge',
        "clearance = '0.05 mm'",
        'clearance = { value = "0.05 mm", spread = "20 %" }',
    ],
)
def test_gap_becomes_a_comment_and_the_leak_comes_last(line: str) -> None:
    text, case = with_entry(gap(line), ENTRY, "new", "new.toml")
    assert text.startswith(BENCH[: BENCH.index(PULL)])
    assert line.strip() not in text
    was = line.partition("=")[2].strip()
    assert text.endswith(
        "# Leak-down test.\n# Plugged: vent.\n# It holds the joint's clearance, which was "
        f'{was}\n[[openings]]\nname = "leak (measured)"\n'
        'diameter = { value = "0.8 mm", spread = "7 %", distribution = "log-normal" }\n'
        "discharge = 0.65\n"
    )
    assert case.joint.clearance == 0.0
    assert "joint.clearance" not in case.spreads
    assert case.openings[-1].diameter == pytest.approx(8e-4)
    assert case.spreads["openings[1].diameter"].distribution == "log-normal"
    assert case == reads(text, "new", "new.toml")


def test_case_without_gap_or_openings_gets_the_leak_alone() -> None:
    text, case = with_entry(without(BENCH, "[openings]"), ENTRY, "new", "new.toml")
    assert len(case.openings) == 1
    assert text.startswith(without(BENCH, "[openings]").rstrip())


def test_line_ends_of_windows_stay() -> None:
    old = gap('clearance = "0.05 mm"').replace("\n", "\r\n")
    text, _ = with_entry(old, ENTRY, "new", "new.toml")
    assert text.count("\n") == text.count("\r\n")


def test_dotted_key_is_left_out_too() -> None:
    dotted = BENCH.replace(
        '[joint]\nshoulder_length = "76 mm"\n' + PULL,
        "",
    )
    head = 'joint.shoulder_length = "76 mm"\njoint.pull_off = "22 N"\njoint.clearance = "1 mil"\n'
    text, case = with_entry(head + dotted, ENTRY, "new", "new.toml")
    assert case.joint.clearance == 0.0
    assert 'joint.pull_off = "22 N"\n' in text
    assert "joint.clearance" not in text


def test_gap_of_an_inline_table_is_left_out_too() -> None:
    text = BENCH.replace('[joint]\nshoulder_length = "76 mm"\n' + PULL, "").replace(
        "\n[powder]",
        'joint = { shoulder_length = "76 mm", pull_off = "22 N", clearance = "1 mil" }\n\n[powder]',
    )
    assert reads(text).joint.clearance > 0.0
    _, case = with_entry(text, ENTRY, "new", "new.toml")
    assert case.joint.clearance == 0.0


def test_openings_in_one_line_are_refused() -> None:
    text = without(BENCH, "[openings]").replace(
        "\n[powder]", 'openings = [{ name = "vent", diameter = "3.2 mm" }]\n\n[powder]'
    )
    reads(text)
    with pytest.raises(ModelError, match=r"write its openings as \[\[openings\]\] tables"):
        with_entry(text, ENTRY, "new", "new.toml")
