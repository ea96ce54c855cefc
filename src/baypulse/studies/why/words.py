"""The sentences of a diagnosis: what was at work, what speaks for it, what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from baypulse.case.quantities import asked, capital, digits, likely, share, short
from baypulse.observed.sightings import Sighting
from baypulse.run.result import Verdict
from baypulse.show.phrases import charge
from baypulse.studies.why.cause_file import NONE_OF_THESE
from baypulse.studies.why.explanation import LITTLE, Explained, Odds
from baypulse.studies.why.next_test_list import IGNITER, INERT, LIVE, Reading
from baypulse.studies.why.next_tests import HALF, MOST_HARD, WORTH, Outlook, Prospect

FOR = 1.5
"""Factor to what is likely by chance from which a sighting speaks for a cause."""

AGAINST = 1.0 / FOR
"""The same, below which it speaks against it."""

SURE = 0.8
"""Chance from which the first cause is almost certain."""

LIKELY = 0.4
"""Chance from which the first cause is called the most probable."""

CLEAR_LEAD = 1.5
"""Factor to the second below which the first cause is not told from it."""

OTHERS = 0.05
"""Chance from which a cause behind the first one is named."""

ANSWERED = 0.15
"""Chance from which the second answer of a test is named beside the first."""

MOST_OF = 0.8
"""Share of the greatest gain from which a test tells most: it is hardly told from the best one."""

MANY = 100.0
"""Times as likely as by chance from which no more is told of it."""

DAY = 1440.0
"""Minutes of a day."""

LONG = 90.0
"""Minutes from which a time is said in hours."""

SAFETY = (
    "Never fire again at once. Wait as long as the code of your club or range says, disconnect and "
    "short the firing leads, let nobody stand in line with either end, and treat a charge that may "
    "not have burnt as live. Then inspect. Who may open it, and how, the code and the safety "
    "officer decide, not this calculation."
)
"""Printed in every diagnosis, before what to do next."""

UNKNOWN = "not known, too few simulated shots"
"""Where a cause has too few members to foresee a test."""

DANGERS = {INERT: "inert", IGNITER: "igniter alone", LIVE: "a shot"}
"""What a test is called by its danger."""


def quoted(name: str) -> str:
    """Return the name of a cause or a pair in quotation marks, none of these without."""
    if name == NONE_OF_THESE:
        return name
    return " and ".join(f'"{each}"' for each in name.split(" and "))


def headline(found: Explained) -> str:
    """Return what most probably went wrong, and how sure that is."""
    first, second = found.odds[:2]
    if first.name == NONE_OF_THESE:
        return f"No cause of the list explains it ({_chance(first)} none of these)"
    chance = _chance(first)
    if not _changes(found, first.name) and first.involved >= LIKELY:
        return f"Most probably {first.name}: a shot within the scatter of this case ({chance})"
    if first.involved >= SURE:
        return f"Almost certainly: {first.name} ({chance})"
    if first.involved < CLEAR_LEAD * second.involved:
        other = "a cause not listed" if second.name == NONE_OF_THESE else second.name
        return f"Not told apart: {first.name} ({chance}) or {other} ({_chance(second)})"
    if first.involved >= LIKELY:
        return f"Most probably: {first.name} ({chance})"
    return f"Nothing stands out; first is {first.name} ({chance})"


def _chance(odds: Odds) -> str:
    """Return the chance that a cause is involved, alone or not."""
    return likely(odds.involved, whole=True)


def _changes(found: Explained, name: str) -> bool:
    """Say whether a cause changes anything, or is the case as it was meant to be."""
    weighted = found.diagnosis.ensembles[name]
    return any(cause.changes for cause in weighted.ensemble.causes)


def fired(found: Explained) -> str:
    """Return which shot it is, with its charge and its pins."""
    name = "" if found.shot is None else found.shot.name
    pins = 0 if found.case.pins is None else found.case.pins.count
    held = f"{pins or 'no'} pin{'s' * (pins != 1)}"
    return f"{capital(name)}{'. ' * bool(name)}Charge: {charge(found.case)}; {held}"


def answer(found: Explained) -> list[str]:
    """Return the sentences behind the headline."""
    first = found.odds[0]
    sentences = [f"Seen: {'; '.join(each.text for each in found.diagnosis.sightings)}."]
    if first.name != NONE_OF_THESE:
        alone = first.finding
        sentences.append(
            f"{capital(quoted(first.name))}: {alone.what}. Chance {_chance(first)}: "
            f"alone {share(alone.share, alone.low, alone.high)}, with a second fault "
            f"{likely(max(first.involved - alone.share, 0.0), whole=True)}; before the shot "
            f"{likely(first.before, whole=True)}."
        )
        sentences += _argues(found, first)
        if not _changes(found, first.name) and found.designed.verdict is not Verdict.SEPARATES:
            sentences.append(
                f"The case as designed {found.designed.verdict} by itself: what has to change is "
                "the design, not the way the shot was made."
            )
    others = [each for each in found.odds[1:5] if each.involved >= OTHERS]
    if others:
        listed = ", ".join(f"{quoted(o.name)} {_chance(o)}" for o in others)
        sentences.append(f"Next: {listed}. A chance here is that of being involved, alone or not.")
    best = max(found.diagnosis.pairs, key=lambda each: each.share, default=None)
    if best is not None and best.share > found.odds[0].finding.share:
        sentences.append(
            f"Two faults together explain it best: {quoted(best.name)}, "
            f"{share(best.share, best.low, best.high)}."
        )
    said = found.diagnosis.ruled_out
    sentences += [f'Ruled out by "{seen.text}": {quoted(name)}.' for name, seen in said.items()]
    return sentences


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


def ruled_out(found: Explained) -> list[str]:
    """Return which causes are hardly involved, the most expected ones; nothing without any."""
    out = [
        quoted(each.name)
        for each in sorted(found.odds, key=lambda each: -each.before)
        if each.involved < LITTLE and each.before >= LITTLE
    ]
    beyond = likely(LITTLE, whole=True)
    return [f"Hardly involved (each {beyond}): {', '.join(out[:8])}."] if out else []


def next_steps(found: Explained) -> list[str]:
    """Return what to do next, in order: inert tests, then an igniter, then a shot.

    Nothing before the tests are looked at.
    """
    tests = found.tests
    if not tests.tests:
        return []
    chosen = tests.recommended
    if chosen is None:
        none = "Every test of the list tells little about the cause."
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
        f"{minutes(chosen.test.minutes)}, {telling(found, chosen)}). {chosen.test.how}. "
        f"{_apart(chosen)}"
    ]
    if not chosen.test.inert and found.tests.first:
        sentences[0] = sentences[0].replace("Next test", "Most telling", 1)
    rest = [each for each in tests.first if each is not chosen][:4]
    if rest:
        listed = _by_telling(found, rest)
        also = "Then, as inert" if chosen.test.inert else "But first, as inert"
        sentences.insert(len(sentences) if chosen.test.inert else 0, f"{also}: {listed}.")
    shots = [each for each in tests.tests if each.test.danger == LIVE and not each.risky]
    if shots and shots[0] is not chosen and shots[0].gain.bits >= WORTH:
        sentences.append(f"Only after these, a shot: {_by_telling(found, shots[:1])}.")
    for each in tests.tests:
        if each.risky:
            sentences.append(
                f"Not yet: {each.test.name}; {likely(each.hard, whole=True)} of such shots would "
                "exceed a limit, as far as is known now."
            )
    return sentences


def telling(found: Explained, tested: Prospect) -> str:
    """Return how much a test is expected to tell, in words that :func:`rule` explains."""
    allowed = [each for each in found.tests.tests if not each.risky]
    if tested.gain.bits < WORTH:
        return "tells little"
    if tested.gain.bits >= MOST_OF * max(each.gain.bits for each in allowed):
        return "tells most"
    inert = [each.gain.bits for each in allowed if each.test.inert]
    if tested.test.inert and tested.gain.bits >= MOST_OF * max(inert):
        return "tells most of the inert ones"
    return "tells something"


def _by_telling(found: Explained, tested: Sequence[Prospect]) -> str:
    """Return tests with how much they tell, said once for those that tell as much."""
    groups = groupby(tested, key=lambda each: telling(found, each))
    parts = []
    for words, group in groups:
        names = [each.test.name for each in group]
        parts.append(f"{', '.join(names)} ({'each ' * (len(names) > 1)}{words})")
    return "; ".join(parts)


def _apart(tested: Prospect) -> str:
    """Return what a test would show under the leading causes."""
    parts = [
        f"{quoted(each.name)}: {outlook(tested, each)}"
        for each in tested.outlooks[:3]
        if each.known
    ]
    return f"Expected with {'; '.join(parts)}." if parts else ""


def reported(sighting: Sighting, ratio: float) -> str:
    """Return how likely a sighting is under a cause, of its chance under none of these."""
    if sighting.answer is not None:
        return likely(ratio * sighting.kind.anything(None), whole=True)
    return f"{digits(ratio, 2)} times" if ratio < MANY else f"over {MANY:g} times"


def outlook(tested: Prospect, each: Outlook) -> str:
    """Return what a test would show under one cause."""
    if not each.known:
        return UNKNOWN
    if each.numbers is not None and tested.test.reading is not None:
        return reading_text(tested.test.reading, each.numbers)
    ranked = sorted(zip(each.chances, tested.outcomes, strict=True), reverse=True)
    told = [(share, words) for share, words in ranked[:2] if share >= ANSWERED] or ranked[:1]
    return " or ".join(f"{words} {likely(share, whole=True)}" for share, words in told)


def reading_text(reading: Reading, numbers: tuple[float, float, float]) -> str:
    """Return a median with the ends of nine of ten readings, as far as the instrument goes."""
    low, middle, high = (short(value, reading.dimension) for value in numbers)
    if numbers[0] >= reading.high:
        return f"{middle} or more"
    if numbers[2] <= reading.low:
        return f"{middle} or less"
    upper = f"{high} or more" if numbers[2] >= reading.high else high
    lower = f"{low} or less" if numbers[0] <= reading.low else low
    return f"{middle} ({lower} to {upper})"


def minutes(value: float) -> str:
    """Return a time as people say it."""
    if value >= DAY:
        return f"{digits(value / DAY, 1)} day"
    return f"{digits(value, 1)} min" if value < LONG else f"{digits(value / 60.0, 1)} h"


def rule(found: Explained) -> str:
    """Return how the next test is chosen."""
    return (
        f"Gain: how much less uncertain the cause is expected to be after the test (mutual "
        f"information); before any test it is {digits(found.tests.entropy, 2)} bit. In words, a "
        f"test tells little below {WORTH:g} bit, most from {asked(MOST_OF)} of the greatest gain "
        f"(of the inert ones: of theirs) on, and something in between. An inert test "
        f"is recommended if it tells at least {HALF:g} times as much as any shot, since nobody is "
        f"hurt by it; a shot that exceeds a limit in more than {asked(MOST_HARD)} is not. "
        f"Shots were simulated for causes that have {likely(found.tests.covered, whole=True)} "
        "together; the rest is taken to tell nothing. The bias of few simulated shots is taken off."
    )


def effort(found: Explained) -> str:
    """Return how many runs are behind it."""
    held = found.diagnosis
    return (
        f"{held.members} simulated shots of each cause, {held.pair_members} of each pair (more of "
        f"those that count), seed {held.seed}; {found.tests.shots} for each live test."
    )


def warnings(found: Explained) -> list[str]:
    """Return what to know before trusting it: the earlier shots that were taken into account."""
    if found.before is None:
        return list(found.warnings)
    number = len(found.before.log)
    logged = found.shot is not None and found.shot.number
    return [
        *found.warnings,
        f"What lasts from shot to shot is as {number} {'earlier ' * bool(logged)}"
        f"shot{'s' * (number != 1)} in {found.before.log.file} leave{'s' * (number == 1)} it"
        f"{'' if logged else '; the shot asked about must not be one of them'}.",
    ]
