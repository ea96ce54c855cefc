"""Why a shot went as it did, in words: sentences and rows of tables."""

from __future__ import annotations

from collections.abc import Sequence

from baypulse.case import quantities
from baypulse.case.quantities import capital, percent
from baypulse.run.result import Verdict
from baypulse.studies.why.cause_file import NONE_OF_THESE
from baypulse.studies.why.explanation import LITTLE, Explained, Odds
from baypulse.studies.why.next_test_list import IGNITER, INERT, LIVE, Reading
from baypulse.studies.why.next_tests import HALF, MOST_HARD, WORTH, Outlook, Prospect
from baypulse.studies.why.result import Finding

FOR, AGAINST = 1.5, 1.0 / 1.5
"""Factor to what is likely by chance from which a sighting speaks for a cause, or against it."""

SURE, LIKELY = 0.8, 0.4
"""Chance from which the first cause is called by far, or somewhat, the most probable."""

CLEAR_LEAD = 1.5
"""Factor to the second below which the first cause is not told from it."""

ROWS, OUTLOOKS = 10, 6
"""Causes in a table, and tests of which all is told."""

SAFETY = (
    "Never fire again at once. Wait as long as the code of your club or range says, disconnect and "
    "short the firing leads, let nobody stand in line with either end, and treat a charge that may "
    "not have burnt as live. Then inspect. Who may open it, and how, the code and the safety "
    "officer decide, not this calculation."
)
"""Printed in every diagnosis, before what to do next."""

LIMITS_OF_THE_DIAGNOSIS = (
    "The chances hold for this list of causes, their prior odds and the error rates of the "
    "sightings, nearly all of which are estimates: nobody has counted. Their intervals tell only "
    "what comes from the finite number of simulated shots. Causes are taken to come together by "
    "chance. The model has one pressure and two zones of gas and moves the sections along one "
    "line: it knows no shoulder that tilts and jams, no lines that tangle, no jet of flame. The "
    "gain of a test takes for granted that the fault is still there, as with a way of making up "
    "charges; a fault of that one shot is found only by looking at what is left of it. Two tests "
    "that tell the same count both: after each, say what it gave and look again."
)
"""Printed in every diagnosis."""

DANGERS = {INERT: "inert", IGNITER: "igniter alone", LIVE: "a shot"}
"""What a test is called by its danger."""


def quoted(name: str) -> str:
    """Return the name of a cause or a pair in quotation marks, none of these without."""
    if name == NONE_OF_THESE:
        return name
    return " and ".join(f'"{each}"' for each in name.split(" and "))


def chance_text(share: float) -> str:
    """Return a chance in whole percent, or that it is below or above the last."""
    if share < 0.01:
        return "below 1 %"
    return "above 99 %" if share > 0.99 else f"{100.0 * share:.0f} %"


def headline(found: Explained) -> str:
    """Return what most probably went wrong, and how sure that is."""
    first, second = found.odds[:2]
    if first.name == NONE_OF_THESE:
        return f"No cause of the list explains it ({chance_text(first.involved)} none of these)"
    chance = chance_text(first.involved)
    if not _changes(found, first.name) and first.involved >= LIKELY:
        return f"Most probably {first.name}: a shot within the scatter of this case ({chance})"
    if first.involved >= SURE:
        return f"Almost certainly: {first.name} ({chance})"
    if first.involved < CLEAR_LEAD * second.involved:
        other = "a cause not listed" if second.name == NONE_OF_THESE else second.name
        return (
            f"Not told apart: {first.name} ({chance}) or {other} ({chance_text(second.involved)})"
        )
    if first.involved >= LIKELY:
        return f"Most probably: {first.name} ({chance})"
    return f"Nothing stands out; first is {first.name} ({chance})"


def _changes(found: Explained, name: str) -> bool:
    """Say whether a cause changes anything, or is the case as it was meant to be."""
    weighted = found.diagnosis.ensembles[name]
    return any(cause.changes for cause in weighted.ensemble.causes)


def answer(found: Explained) -> list[str]:
    """Return the sentences behind the headline."""
    first = found.odds[0]
    sentences = [f"Seen: {'; '.join(each.text for each in found.diagnosis.sightings)}."]
    if first.name != NONE_OF_THESE:
        alone = first.finding
        sentences.append(
            f"{capital(quoted(first.name))}: {alone.what}. Chance {chance_text(first.involved)}: "
            f"alone {_interval(alone)}, with a second fault "
            f"{chance_text(max(first.involved - alone.share, 0.0))}; before the shot "
            f"{chance_text(first.before)}."
        )
        sentences += _argues(found, first)
        if not _changes(found, first.name) and found.designed.verdict is not Verdict.SEPARATES:
            sentences.append(
                f"The case as designed {found.designed.verdict} by itself: what has to change is "
                "the design, not the way the shot was made."
            )
    others = [each for each in found.odds[1:5] if each.involved >= 0.05]
    if others:
        listed = ", ".join(f"{quoted(o.name)} {chance_text(o.involved)}" for o in others)
        sentences.append(f"Next: {listed}. A chance here is that of being involved, alone or not.")
    best = max(found.diagnosis.pairs, key=lambda each: each.share, default=None)
    if best is not None and best.share > found.odds[0].finding.share:
        sentences.append(
            f"Two faults together explain it best: {quoted(best.name)}, {_interval(best)}."
        )
    sentences += _ruled_out(found)
    none = found.diagnosis.none
    sentences.append(f"None of these: {chance_text(none.share)}.")
    return sentences


def _interval(each: Finding) -> str:
    low, high = 100.0 * each.low, 100.0 * each.high
    return f"{chance_text(each.share)} ({low:.0f} to {high:.0f})"


def _argues(found: Explained, odds: Odds) -> list[str]:
    """Return what speaks for and against a cause."""
    seen = found.diagnosis.sightings
    for_it = [s.text for s, r in zip(seen, odds.finding.seen, strict=True) if r >= FOR]
    against = [s.text for s, r in zip(seen, odds.finding.seen, strict=True) if r <= AGAINST]
    sentences = []
    if for_it:
        sentences.append(f"For it: {'; '.join(for_it)}.")
    if against:
        sentences.append(f"Against it, by itself: {'; '.join(against)}.")
    if not for_it and not against:
        sentences.append("Nothing that was seen speaks clearly for or against it.")
    return sentences


def _ruled_out(found: Explained) -> list[str]:
    out = [
        quoted(each.name)
        for each in sorted(found.odds, key=lambda each: -each.before)
        if each.involved < LITTLE and each.before >= LITTLE
    ]
    return [f"Hardly involved (each below 1 %): {', '.join(out[:8])}."] if out else []


def next_steps(found: Explained) -> list[str]:
    """Return what to do next, in order: inert tests, then an igniter, then a shot."""
    tests = found.tests
    chosen = tests.recommended
    if chosen is None:
        none = f"No test of the list tells more than {WORTH:g} bit about the cause."
        if found.first.name == NONE_OF_THESE:
            return [
                f"{none} Hold the case against the bay, number by number, and ask everybody once "
                "more what was seen."
            ]
        return [
            f"{none} Put right what the first cause says, inspect the rest, and prove it by a new "
            "ground test."
        ]
    sentences = [
        f"Next test: {chosen.test.name} ({DANGERS[chosen.test.danger]}, about "
        f"{minutes(chosen.test.minutes)}, {chosen.gain.bits:.2f} bit). {chosen.test.how}. "
        f"{_apart(chosen)}"
    ]
    if not chosen.test.inert and found.tests.first:
        sentences[0] = sentences[0].replace("Next test", "Most telling", 1)
    rest = [each for each in tests.first if each is not chosen][:4]
    if rest:
        listed = "; ".join(f"{each.test.name} ({each.gain.bits:.2f} bit)" for each in rest)
        also = "Then, as inert" if chosen.test.inert else "But first, as inert"
        sentences.insert(len(sentences) if chosen.test.inert else 0, f"{also}: {listed}.")
    shots = [each for each in tests.tests if each.test.danger == LIVE and not each.risky]
    if shots and shots[0] is not chosen and shots[0].gain.bits >= WORTH:
        sentences.append(
            f"Only after these, a shot: {shots[0].test.name} ({shots[0].gain.bits:.2f} bit)."
        )
    for each in tests.tests:
        if each.risky:
            sentences.append(
                f"Not yet: {each.test.name}; {chance_text(each.hard)} of such shots would exceed a "
                "limit, as far as is known now."
            )
    return sentences


def _apart(tested: Prospect) -> str:
    """Return what a test would show under the leading causes."""
    parts = [
        f"{quoted(each.name)}: {outlook(tested, each)}"
        for each in tested.outlooks[:3]
        if each.known
    ]
    return f"Expected with {'; '.join(parts)}." if parts else ""


def outlook(tested: Prospect, each: Outlook) -> str:
    """Return what a test would show under one cause."""
    if not each.known:
        return "not known, too few simulated shots"
    if each.numbers is not None and tested.test.reading is not None:
        return reading_text(tested.test.reading, each.numbers)
    ranked = sorted(zip(each.chances, tested.outcomes, strict=True), reverse=True)
    told = [f"{words} {percent_whole(share)}" for share, words in ranked[:2] if share >= 0.15]
    return ", ".join(told or [f"{ranked[0][1]} {percent_whole(ranked[0][0])}"])


def reading_text(reading: Reading, numbers: tuple[float, float, float]) -> str:
    """Return a median with the ends of nine of ten readings, as far as the instrument goes."""
    low, middle, high = (one_unit(value, reading.dimension) for value in numbers)
    if numbers[0] >= reading.high:
        return f"{middle} or more"
    if numbers[2] <= reading.low:
        return f"{middle} or less"
    upper = f"{high} or more" if numbers[2] >= reading.high else high
    lower = f"{low} or less" if numbers[0] <= reading.low else low
    return f"{middle} ({lower} to {upper})"


def percent_whole(share: float) -> str:
    """Return a share in whole percent."""
    return f"{100.0 * share:.0f} %"


def one_unit(value: float, dimension: str) -> str:
    """Return a value in its first unit alone, a ratio in percent."""
    if dimension == "ratio":
        return f"{quantities.digits(100.0 * value)} %"
    return quantities.show(value, dimension).partition(" (")[0]


def minutes(value: float) -> str:
    """Return a time as people say it."""
    if value >= 1440.0:
        return f"{value / 1440.0:.0f} day"
    return f"{value:.0f} min" if value < 90.0 else f"{value / 60.0:.0f} h"


def rule(found: Explained) -> str:
    """Return how the next test is chosen."""
    return (
        f"Gain: how much less uncertain the cause is expected to be after the test (mutual "
        f"information); before any test it is {found.tests.entropy:.2f} bit. An inert test is "
        f"recommended if it tells at least {HALF:g} times as much as any shot, since nobody is "
        f"hurt by it; a shot that exceeds a limit in more than {100.0 * MOST_HARD:.0f} % is not. "
        f"Shots were simulated for causes that have {100.0 * found.tests.covered:.0f} % together; "
        "the rest is taken to tell nothing. The bias of few simulated shots is taken off."
    )


def odds_rows(found: Explained) -> list[tuple[str, ...]]:
    """Return causes with chances and what each sighting says, the first ones."""
    return [_row(each) for each in shown(found)]


def shown(found: Explained) -> list[Odds]:
    """Return the causes that a table or a figure shows, none of these always."""
    first = list(found.odds[:ROWS])
    none = [each for each in found.odds[ROWS:] if each.name == NONE_OF_THESE]
    return first + none


def _row(each: Odds) -> tuple[str, ...]:
    finding = each.finding
    none = each.name == NONE_OF_THESE
    return (
        each.name,
        f"{percent(each.before)} %" if each.before < 0.01 else percent_whole(each.before),
        f"{_interval(finding)}",
        "-" if none else chance_text(each.involved),
        "-" if none else f"{finding.ess:.0f}",
    )


def pair_rows(found: Explained) -> list[tuple[str, ...]]:
    """Return the pairs of causes with the greatest shares."""
    return [
        (each.name, f"{100.0 * each.prior:.2f} %", _interval(each), f"{each.ess:.0f}")
        for each in found.diagnosis.pairs[:5]
        if each.share >= LITTLE
    ]


def seen_rows(found: Explained) -> list[tuple[str, ...]]:
    """Return how likely each sighting is under the first causes: a row a cause."""
    return [
        (each.name, *(_seen(found, k, ratio) for k, ratio in enumerate(each.finding.seen)))
        for each in shown(found)
    ]


def _seen(found: Explained, k: int, ratio: float) -> str:
    sighting = found.diagnosis.sightings[k]
    if sighting.answer is not None:
        return percent_whole(ratio * sighting.kind.anything(None))
    return f"{quantities.digits(ratio, 2)} times" if ratio < 100.0 else "over 100 times"


def test_rows(found: Explained) -> list[tuple[str, ...]]:
    """Return all tests with what they tell."""
    chosen = found.tests.recommended
    return [
        (
            f"{each.test.name}{' (next)' * (each is chosen)}",
            DANGERS[each.test.danger] + (", exceeds a limit too often" if each.risky else ""),
            minutes(each.test.minutes),
            gain_text(each),
        )
        for each in found.tests.tests
    ]


def outlook_rows(found: Explained) -> list[tuple[str, ...]]:
    """Return what the most telling tests would show under each leading cause: a row each."""
    return [
        (each.test.name if k == 0 else "", one.name, outlook(each, one))
        for each in found.tests.tests[:OUTLOOKS]
        for k, one in enumerate(each.outlooks)
    ]


def gain_text(each: Prospect) -> str:
    """Return a gain with its standard error."""
    return f"{each.gain.bits:.2f} ± {each.gain.error:.2f}"


def effort(found: Explained) -> str:
    """Return how many runs are behind it."""
    held = found.diagnosis
    text = (
        f"{held.members} simulated shots of each cause, {held.pair_members} of each pair (more of "
        f"those that count), seed {held.seed}; {found.tests.shots} fired again for each live test"
    )
    if found.before is not None:
        number = len(found.before.log)
        text += (
            f". What lasts from shot to shot is as {number} shot{'s' * (number != 1)} in "
            f"{found.before.log.file} leave it; the shot asked about must not be one of them"
        )
    return text


def columns(rows: Sequence[Sequence[str]], indent: str = "    ") -> list[str]:
    """Return rows as lines with their cells below each other."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        indent + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
