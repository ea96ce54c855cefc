"""A failed shot explained: causes, curves of typical members, and the next test."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from baypulse.case.model import Case
from baypulse.case.quantities import digits, likely
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.observed.build_weights import WeighedBuilds
from baypulse.observed.sightings import Sighting
from baypulse.run.result import Result
from baypulse.run.simulation import simulate
from baypulse.studies.why.asked_shot import AskedShot
from baypulse.studies.why.cause_file import CauseList
from baypulse.studies.why.compute import MEMBERS, PAIR_MEMBERS, diagnose, prepare, refine
from baypulse.studies.why.next_tests import LEADING, NextTests, next_tests, not_yet
from baypulse.studies.why.result import Diagnosis, Finding

LEAST_ESS = 10.0
"""Effective members below which a share is a guess."""

MUCH = 0.03
"""Share from which a guess is worth a warning."""

LITTLE = 0.01
"""Share below which a cause is ruled out."""

UNFORESEEN = 0.2
"""Chance of causes with too few members from which the gains of tests are doubted."""

STRANGE = 0.3
"""Share of none of these from which the sightings are doubted."""


CONTRADICTED = (
    "The earlier shots are left out: too few simulated bays of this case agree with all of them, "
    "so the case does not describe this bay, or its spreads are too narrow."
)
"""Said where earlier shots teach nothing."""


@dataclass(frozen=True)
class Odds:
    """One cause before and after what was seen.

    Attributes
    ----------
    finding : Finding
        Of the cause alone, or none of these.
    involved : float
        Chance that it was at work, alone or with another.
    before : float
        The same before anything was seen.
    """

    finding: Finding
    involved: float
    before: float

    @property
    def name(self) -> str:
        """Of the cause."""
        return self.finding.name


@dataclass(frozen=True)
class Typical:
    """The member of a cause that comes nearest to what was seen.

    Attributes
    ----------
    finding : Finding
        Of the cause or pair.
    result : Result
        Its run.
    """

    finding: Finding
    result: Result


@dataclass(frozen=True)
class Explained:
    """Everything about one failed shot.

    Attributes
    ----------
    diagnosis : Diagnosis
        Causes with their chances.
    odds : tuple of Odds
        Of all causes and none of these, the most often involved first.
    leading : tuple of Finding
        Causes and pairs with the greatest shares.
    designed : Result
        The case as it was meant to be, nothing scattering.
    typical : tuple of Typical
        Of the leading causes, as far as a member could have been seen so; none at first.
    tests : NextTests
        What to do next; none of them at first.
    warnings : tuple of str
        What to know before trusting it, a sentence each.
    before : Learnt or None
        What earlier shots of the same build have taught.
    shot : AskedShot or None
        Which shot it is; None where the case itself was fired.
    """

    diagnosis: Diagnosis
    odds: tuple[Odds, ...]
    leading: tuple[Finding, ...]
    designed: Result
    typical: tuple[Typical, ...]
    tests: NextTests
    warnings: tuple[str, ...]
    before: WeighedBuilds | None
    shot: AskedShot | None = None

    @property
    def case(self) -> Case:
        """As it was meant to be."""
        return self.diagnosis.case

    @property
    def first(self) -> Odds:
        """What is most often involved, none of these among them."""
        return self.odds[0]


def answer(
    case: Case,
    seen: Sequence[Sighting],
    *,
    members: int = MEMBERS,
    seed: int = 1,
    workers: int = 1,
    listed: CauseList | None = None,
    learnt: WeighedBuilds | None = None,
    shot: AskedShot | None = None,
    progress: Progress | None = None,
) -> Answered[Explained]:
    """Say why a shot went as it did; what to do next comes after.

    Parameters
    ----------
    case, seen, members, seed, workers, listed, progress
        As for :func:`baypulse.studies.why.compute.why`; pairs of causes have an eighth of the
        members.
    learnt : Learnt, optional
        From earlier shots of the same build, without this one: what lasts from shot to shot is
        then as they leave it. Shots with which too few builds agree are left out, with a warning.
    shot : AskedShot, optional
        Which shot it is.

    Returns
    -------
    Answered
        The causes. The whole has the next tests beside them, and typical members.

    Raises
    ------
    CauseError
        As for :func:`baypulse.studies.why.compute.why`.
    """
    contradicted = learnt is not None and not learnt.enough
    if contradicted:
        learnt = None
    pair_members = max(members * PAIR_MEMBERS // MEMBERS, 1)
    prepared = prepare(
        case, members=members, pair_members=pair_members, seed=seed, workers=workers,
        listed=listed, progress=progress, points=None if learnt is None else learnt.points,
    )  # fmt: skip
    diagnosis = diagnose(refine(prepared, seen, None, workers, progress), seen)
    tests = not_yet(diagnosis)
    known = Explained(
        diagnosis=diagnosis,
        odds=odds(diagnosis),
        leading=tuple(diagnosis.ranked[:LEADING]),
        designed=simulate(case),
        typical=(),
        tests=tests,
        warnings=(CONTRADICTED,) * contradicted + tuple(_warnings(diagnosis, tests)),
        before=learnt,
        shot=shot,
    )

    def whole(progress: Progress | None) -> Explained:
        tests = next_tests(diagnosis, workers=workers, progress=progress)
        return replace(known, typical=tuple(_typical(diagnosis, known.leading)), tests=tests)

    return Answered(known, whole)


def _typical(diagnosis: Diagnosis, leading: Sequence[Finding]) -> Iterator[Typical]:
    for finding in leading:
        member = diagnosis.typical(finding.name)
        if member is not None:
            yield Typical(finding, simulate(member))


def odds(diagnosis: Diagnosis) -> tuple[Odds, ...]:
    """Return every cause and none of these before and after the sightings.

    Parameters
    ----------
    diagnosis : Diagnosis
        Whose causes.
    """
    before = {each.name: each.prior for each in diagnosis.causes}
    for pair in diagnosis.pairs:
        for name in pair.causes:
            # a cause without room for its charge has a pair perhaps, and no finding of its own
            if name in before:
                before[name] += pair.prior
    found = [Odds(each, each.involved, before[each.name]) for each in diagnosis.causes]
    none = diagnosis.none
    found.append(Odds(none, none.share, none.prior))
    return tuple(sorted(found, key=lambda each: -each.involved))


def _warnings(diagnosis: Diagnosis, tests: NextTests) -> list[str]:
    few = [
        each
        for each in (*diagnosis.causes, *diagnosis.pairs)
        if each.share >= MUCH and each.ess < LEAST_ESS
    ]
    found = [
        f'The share of "{each.name}" rests on {digits(each.ess, 2)} effective simulated shots of '
        "its simulated shots: read it as a guess."
        for each in few
    ]
    if tests.unforeseen >= UNFORESEEN:
        found.append(
            f"{likely(tests.unforeseen, whole=True)} of the chance lies with causes of too few "
            "effective simulated shots to foresee a test: the gains are too low."
        )
    if few or tests.unforeseen >= UNFORESEEN:
        found.append("More simulated shots (--simulated-shots 1024) make this firmer.")
    if diagnosis.none.share >= STRANGE:
        found.append(
            f"No cause of the list makes all of this likely together: {diagnosis.none.what}; or "
            "one of the sightings is wrong, or they do not belong to the same shot."
        )
    return found
