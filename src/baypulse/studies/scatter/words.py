"""The sentences of a scatter: how often it separates, what would narrow that, what scatters."""

from __future__ import annotations

import math
from collections.abc import Sequence

from baypulse.case import library, quantities
from baypulse.case.casefile.consistency import LITTLE_CUT
from baypulse.case.casefile.spreads import shares_cut
from baypulse.case.model import Case, Provenance, Spread
from baypulse.case.quantities import SUPPORTED, capital, interval, likely, often, percent
from baypulse.members.chances import Chance, chance
from baypulse.members.factors import LIBRARY, Factor
from baypulse.run.result import Verdict
from baypulse.studies.scatter.influence import Influence
from baypulse.studies.scatter.result import Output, Scatter

CLEAR = (Verdict.SEPARATES, Verdict.SEPARATES_TOO_HARD)
"""Verdicts of a joint that comes clear."""

NOTHING_LARGE = 0.1
"""First-order index below which no input is worth measuring for itself."""

TOGETHER = 0.2
"""Share of the variance that firsts leave over, from which inputs are said to act together."""


def headline(scatter: Scatter) -> str:
    """Return how often the joint separates, and too hard; or a verdict that is more frequent."""
    opened = _sum(scatter, CLEAR)
    if 2 * opened.count >= scatter.members:
        hard = next(each for each in scatter.verdicts if each.name == Verdict.SEPARATES_TOO_HARD)
        return f"Separates {often(opened)}" + (
            f", hard in {likely(hard.share)}" if hard.count else ""
        )
    most = max(scatter.verdicts, key=lambda each: each.count)
    return f"{most.name.capitalize()} {often(most)}"


def meaning(scatter: Scatter) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    scatter : Scatter
        Findings.
    """
    count = {each.name: each for each in scatter.verdicts}
    found = []
    opened = _sum(scatter, CLEAR)
    too_hard = count[Verdict.SEPARATES_TOO_HARD]
    if too_hard.count and opened.count:
        hard = [each for each in scatter.limits if each.count]
        exceeded = "; ".join(f"{each.name} in {likely(each.share)}" for each in hard)
        found.append(
            f"The joint comes clear {_in(opened)}, and separates too hard {_in(too_hard)}"
            + (f". Exceeded: {exceeded}." if exceeded else ".")
        )
    elif opened.count:
        found.append(f"The joint comes clear {_in(opened)}. No simulated shot separated too hard.")
    else:
        found.append("The joint comes clear in no simulated shot.")
    failed = _sum(scatter, (Verdict.NO_SEPARATION, Verdict.PARTIAL_SEPARATION))
    if failed.count:
        parts = [f"{likely(count[name].share)} {verb}"
                 for name, verb in ((Verdict.NO_SEPARATION, "do not separate"),
                                    (Verdict.PARTIAL_SEPARATION, "separate only in part"))
                 if count[name].count]  # fmt: skip
        shares = " and ".join(parts)
        every = f", one shot in {_inverse(failed.share)}" if failed.share <= 0.5 else ""
        none = failed.count == failed.members
        start = "Of the shots " if none else f"It does not separate {_in(failed)}{every}: "
        found.append(f"{start}{shares}.")
    else:
        found.append("Every simulated shot separated.")
    if count[Verdict.UNDECIDED].count:
        found.append(f"Undecided are {quantities.chance(count[Verdict.UNDECIDED])}.")
    for each in scatter.contents:
        found.append(f"Of the bays that separate, the parachute comes out {_in(each)}.")
    if scatter.rare is not None:
        found.append(rare_sentence(scatter))
    return [*found, "In brackets: the interval that holds the chance with 95 % confidence."]


def _in(each: Chance) -> str:
    if each.count == each.members:
        return "in all of them"
    return f"in {quantities.chance(each)}"


def _sum(scatter: Scatter, names: Sequence[str]) -> Chance:
    """Return the chance of any of some verdicts."""
    count = sum(each.count for each in scatter.verdicts if each.name in names)
    return chance(" or ".join(names), count, scatter.members)


def _inverse(share: float) -> str:
    """Return how many shots there are to one, with two digits."""
    number = 1.0 / share
    step = 10.0 ** (math.floor(math.log10(number)) - 1)
    return f"{round(number / step) * step:,.0f}"


def rare_sentence(scatter: Scatter) -> str:
    """Return what the search for a rare outcome found."""
    rare = scatter.rare
    assert rare is not None
    subject = f"The share of simulated shots in which the bay {scatter.rare_name}"
    if not rare.resolved:
        return (
            f"{subject} was looked for by importance sampling and not resolved: "
            f"{rare.reason.rstrip('.')}. By its count it is {likely(rare.high)} at most."
        )
    if rare.share > 0.01 or rare.low <= 0.0:
        number = f"{percent(rare.share)} % ({interval(rare.share, rare.low, rare.high)})"
    else:
        number = (
            f"about 1 in {_inverse(rare.share)} (1 in {_inverse(rare.high)} to "
            f"1 in {_inverse(rare.low)})"
        )
    text = (
        f"{subject} is {number}, by importance sampling with {rare.evaluations:,} runs; it does "
        "not see what neither of its two searches met."
    )
    if rare.share >= 1.0 - SUPPORTED:
        return text
    return f"{text} Of a real bay no record supports to say more than {likely(rare.share)}."


def from_library(scatter: Scatter) -> str:
    """Return how many inputs scatter, and how many of them by an estimate."""
    paths = scattered_paths(scatter.factors)
    typed = scatter.case.spreads
    ours = [path for path in paths if path.startswith(LIBRARY) and path not in typed]
    guessed = sum("estimate" in source_of(scatter.case, path) for path in paths)
    return (
        f"Inputs that scatter: {len(paths)}, of which the library gives {len(ours)}; marked as "
        f"estimates: {guessed}."
    )


def subject(output: Output) -> str:
    """Return what an output is called within a sentence."""
    return "whether the bay separates" if output.name == "separates" else f"the {output.label}"


def advice(scatter: Scatter, output: Output) -> list[str]:
    """Return which measurement would narrow an output most, and whether inputs act together.

    Parameters
    ----------
    scatter : Scatter
        Findings.
    output : Output
        One of its outputs.
    """
    about = subject(output)
    known = [each for each in output.influences if math.isfinite(each.first + each.total)]
    if not known:
        return [f"{capital(about)}: {output.reason.rstrip('.') or 'no indices'}."]
    factors = {factor.name: factor for factor in scatter.factors}
    # what stands for several inputs is no measurement
    single = [each for each in known if each.factor in factors] or known
    ranked = sorted(single, key=lambda each: -each.first)
    best = ranked[0]
    if best.first < NOTHING_LARGE:
        found = [
            f"No single measurement would say much more about {about}: the strongest input "
            f"alone, {_label(factors, best)}, stands for {_share(best)} of the variance."
        ]
    else:
        found = [
            f"To narrow {about}, measure first: {_label(factors, best)}. If it were known "
            f"exactly, about {_share(best)} of the variance would go."
        ]
        if _own(factors, best):
            found.append(
                "That differs from pin to pin, so a measurement does not take it away; better "
                "pins do."
            )
            rest = [each for each in ranked if not _own(factors, each)]
            if rest and rest[0].first >= NOTHING_LARGE:
                found.append(f"Next: {_label(factors, rest[0])}, about {_share(rest[0])}.")
    alone = sum(max(each.first, 0.0) for each in known)
    if alone < 1.0 - TOGETHER:
        strongest = max(single, key=lambda each: each.total - each.first)
        found.append(
            f"Inputs act together: one at a time they explain {_whole(alone)} % of the variance. "
            f"{capital(_label(factors, strongest))} counts for "
            f"{_whole(strongest.first)} % alone and {_whole(strongest.total)} % with others."
        )
    return found


def _own(factors: dict[str, Factor], each: Influence) -> bool:
    factor = factors.get(each.factor)
    return factor is not None and len(factor.columns) > 1


def _label(factors: dict[str, Factor], each: Influence) -> str:
    return factors[each.factor].label if each.factor in factors else each.factor


def _share(each: Influence) -> str:
    ends = f"{_whole(each.first_low)} to {_whole(each.first_high)}"
    return f"{_whole(each.first)} % ({ends})"


def _whole(share: float) -> str:
    return f"{100.0 * min(max(share, 0.0), 1.0):.0f}"


def scattered_paths(factors: Sequence[Factor]) -> list[str]:
    """Return the values that scatter, each once."""
    return list(dict.fromkeys(path for factor in factors for path in factor.paths))


def source_of(case: Case, path: str) -> str:
    """Return where a value comes from."""
    if path.startswith(LIBRARY) and path not in case.provenance:
        return library.fact(path.removeprefix(LIBRARY)).source
    origin = case.provenance.get(path, Provenance(text="", origin="default"))
    where = f"case, line {origin.line}" if origin.line is not None else origin.origin
    return f"{where}; {origin.source}" if origin.source else where


def path_label(factors: Sequence[Factor], path: str) -> str:
    """Return the name of a value from the factors that move it."""
    alone = [factor.label for factor in factors if factor.paths == (path,)]
    return alone[0].removesuffix(" (batch)") if alone else path


def spread_words(spread: Spread, value: float, dimension: str) -> str:
    """Return how a value scatters.

    Parameters
    ----------
    spread : Spread
        Of the value.
    value : float
        SI.
    dimension : str
        Of the value.

    Returns
    -------
    str
        Such as ``"normal, 4.40 N (20 %), cut at 0 N"``.
    """
    words = [spread.distribution]
    if spread.sample:
        low, high = min(spread.sample), max(spread.sample)
        words = [f"{len(spread.sample)} measured values", quantities.span(low, high, dimension)]
    elif spread.deviation is not None:
        words.append(_deviation(spread.deviation, value, dimension))
    if spread.distribution in ("uniform", "triangular"):
        assert spread.low is not None and spread.high is not None
        words.append(quantities.span(spread.low, spread.high, dimension))
    ends = zip((spread.low, spread.high), shares_cut(value, spread), strict=True)
    cuts = [end for end, share in ends if end is not None and share > LITTLE_CUT]
    words += [f"cut at {quantities.several(cuts, dimension, ' and ')}"] * bool(cuts)
    if spread.group:
        words.append(f"together with {spread.group} by {100.0 * spread.correlation:.3g} %")
    return ", ".join(words)


def _deviation(deviation: float, value: float, dimension: str) -> str:
    if dimension == "temperature":
        return f"{quantities.digits(deviation)} K"
    # a difference of pressures is neither gauge nor absolute
    kind = "stress" if dimension.endswith("pressure") else dimension
    size = quantities.show(deviation, kind)
    share = f"{100.0 * deviation / abs(value):.3g} %" if value else ""
    if dimension == "ratio":
        return (
            f"{quantities.digits(deviation)} ({share})" if share else quantities.digits(deviation)
        )
    return f"{size}, {share}" if share else size
