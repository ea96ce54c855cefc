"""What shots teach, against integrals and simulations that know nothing of how it is computed."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import norm

from baypulse.case import library
from baypulse.case.casefile import reads
from baypulse.case.casefile.shot_file import ShotRow
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members.charges import Charges, Tally, works
from baypulse.members.factors import factors, library_values
from baypulse.members.outcomes import run_members
from baypulse.members.parts import StudyError
from baypulse.observed.build_weights import learn
from baypulse.observed.contradiction import contradiction, misfit
from baypulse.observed.shot_log import ShotLog, problems, shot_of
from baypulse.observed.shot_to_shot import lasting_columns, new_in_each_shot
from baypulse.observed.sightings import kinds
from baypulse.run.simulation import simulate
from baypulse.show import contradiction_text, in_terminal
from baypulse.studies.plan.compute import plan
from baypulse.studies.shots import compute
from baypulse.studies.shots.compute import _chances, build_chances, lessons, opening
from baypulse.studies.shots.document import document
from baypulse.studies.window.compute import window
from baypulse.studies.window.words import answer, headline
from quick_bays import QUICK
from report_cases import BENCH
from studies.shots.documents import shots

CHARGE, PULL, WIDE = 0.32e-3, 300.0, 90.0


def known(text: str, *paths: str) -> Case:
    """Return a case in which nothing else scatters than what stands at these paths."""
    case = reads(text, "bench")
    return dataclasses.replace(
        case,
        materials={place: library.fact(place).value for place in library_values(case)},
        spreads={path: case.spreads[path] for path in paths},
    )


BAY = QUICK.replace('mass = "1.00 g"', 'mass = { value = "0.32 g", spread = "15 %" }').replace(
    'pull_off = { value = "22 N", spread = "20 %" }',
    f'pull_off = {{ value = "{PULL} N", spread = "{WIDE} N" }}',
)
ONE = known(BAY, "joint.pull_off")
"""A bay of which only the pull-off force is not known, and lasts."""

TWO = known(BAY, "joint.pull_off", "powder.mass")
"""The same with a charge that is weighed badly every time."""


def log_of(case: Case, *shots: tuple[float | None, Sequence[str]]) -> ShotLog:
    rows = [ShotRow(charge=charge, saw=tuple(saw)) for charge, saw in shots]
    assert not [sentence for row in rows for _, sentence in problems(case, row)]
    return ShotLog("bench.shots.toml", tuple(shot_of(case, row) for row in rows))


def speed(pull: float) -> float:
    """Return the velocity when clear of the bay with a pull-off force [m/s], 0 if it does not."""
    numbers = simulate(with_value(ONE, "joint.pull_off", pull)).numbers
    return 0.0 if numbers.clear_velocity is None else float(numbers.clear_velocity)


def test_what_is_new_in_each_shot_is_data_and_all_else_lasts() -> None:
    names = lasting_columns(factors(TWO))
    assert set(names) == {"joint.pull_off"}
    assert "powder.mass" in new_in_each_shot()
    usual = lasting_columns(factors(reads(BENCH)))
    assert "library.pin materials.nylon 6/6.shear_strength" in usual
    assert "library.pin materials.nylon 6/6.shear_strength, each pin" not in usual
    assert "bay.entrainment" in usual and "powder.ignition_delay" not in usual


def test_one_unknown_against_an_integral() -> None:
    # the outcome and a velocity, by the sightings' own error rates; scipy's quad over the normal
    # prior of the pull-off force, cut at nothing
    grid = np.linspace(1.0, PULL + 5.0 * WIDE, 60)
    speeds = np.array([speed(float(pull)) for pull in grid])
    opens = grid[speeds > 0.0]
    speeds = speeds[speeds > 0.0]
    last, step = float(opens[-1]), float(grid[1] - grid[0])
    edge = brentq(lambda pull: 1.0 if speed(pull) > 0.0 else -1.0, last, last + step, xtol=0.01)
    outcome, velocity = kinds()["outcome"], kinds()["velocity"]
    seen = 0.9 * float(speeds[15])

    def chance(pull: float) -> float:
        true = float(np.interp(pull, opens, speeds))
        answer = 3 if pull < edge else 0
        told = outcome.report(answer)[3]
        mistake = velocity.gross * velocity.anything(seen)
        if pull >= edge:
            return told * mistake
        wide = np.hypot(velocity.error, velocity.floor / max(true, velocity.floor))
        fit = norm.pdf(np.log(seen), np.log(max(true, velocity.floor)), wide) / seen
        return told * ((1.0 - velocity.gross) * fit + mistake)

    def mean(what: float) -> float:
        # speeds are joined by straight lines: from corner to corner the integrand is smooth
        parts = pairwise([*opens.tolist(), edge, PULL + 5.0 * WIDE])
        return sum(
            quad(lambda x: x**what * chance(x) * norm.pdf(x, PULL, WIDE), *ends,
                 limit=400, epsrel=1e-6)[0]
            for ends in parts
        )  # fmt: skip

    learnt = learn(ONE, log_of(ONE, (None, ["separated", f"velocity {seen} m/s"])), members=4096)
    pulls = norm.ppf(
        norm.cdf(-PULL / WIDE) + learnt.builds["joint.pull_off"] * norm.sf(-PULL / WIDE)
    )
    pulls = PULL + WIDE * pulls
    assert learnt.weight @ pulls == pytest.approx(mean(1) / mean(0), rel=0.01)
    spread = np.sqrt(mean(2) / mean(0) - (mean(1) / mean(0)) ** 2)
    assert np.sqrt(learnt.weight @ (pulls - learnt.weight @ pulls) ** 2) == pytest.approx(
        spread, rel=0.05
    )


def test_five_openings_of_five_against_plain_simulation() -> None:
    # by hand: builds and their charges from numpy's generator, kept as often as five such shots
    # are all reported to open, then fired once more
    rng = np.random.default_rng(11)
    builds, right = 1000, kinds()["outcome"].report(3)[3]
    pull = PULL + WIDE * rng.standard_normal(4 * builds)
    pull = np.repeat(pull[pull > 0.0][:builds], 6)
    mass = CHARGE * (1.0 + 0.15 * rng.standard_normal(pull.size))
    outcomes = run_members(TWO, {"joint.pull_off": pull, "powder.mass": mass}, pull.size)
    good = works(outcomes).reshape(builds, 6)
    # the chance of "separated" from a bay that did not; most of these do, the rest moved a little
    wrong = kinds()["outcome"].report(0)[3]
    weight = np.where(good[:, :5], right, wrong).prod(axis=1)
    share = weight / weight.sum()
    after = float(share @ good[:, 5])
    error = np.sqrt((share**2) @ (good[:, 5] - after) ** 2)
    learnt = learn(TWO, log_of(TWO, *[(None, ["separated"])] * 5))
    found = opening(TWO, learnt.drawn(256), 1, 1, learnt.effective)
    prior = opening(TWO, learnt.drawn(256, prior=True), 1, 1, learnt.members)
    assert found.share == pytest.approx(after, abs=4.0 * np.hypot(error, found.error))
    assert prior.share == pytest.approx(good.mean(), abs=0.05)
    assert found.share > prior.share + 0.05


def test_the_curve_is_what_members_do_with_every_charge() -> None:
    """Members that are fired only where a neighbour does not tell, against all of them fired."""
    charges = [CHARGE * factor for factor in (0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.3, 1.6, 2.0)]
    tally = Tally()
    bays = Charges(TWO, 128, 3, 1, tally)
    told = list(_chances(bays, charges))
    assert tally.runs <= 4 * 128
    fired = [works(bays.fire(charge)).sum() for charge in charges]
    assert [each.count for each in told] == fired
    assert {each.members for each in told} == {128}
    assert 0 < fired[2] < fired[5] < 128


def test_the_order_of_shots_does_not_matter() -> None:
    shots = [
        (None, ["separated"]),
        (0.25e-3, ["no separation", "pins whole"]),
        (0.4e-3, ["separated"]),
    ]
    one, two = (learn(TWO, log_of(TWO, *each), members=1024) for each in (shots, shots[::-1]))
    assert one.weight == pytest.approx(two.weight, rel=1e-12, abs=1e-18)
    for s in range(3):
        assert one.likelihood[s].tolist() == two.likelihood[2 - s].tolist()
    with_threads = learn(TWO, log_of(TWO, *shots), members=1024, workers=3)
    assert with_threads.weight.tolist() == one.weight.tolist()


def test_no_shots_teach_nothing() -> None:
    learnt = learn(TWO, log_of(TWO), members=1024)
    assert learnt.weight == pytest.approx(np.full(1024, 1.0 / 1024))
    assert [(each.narrowed, each.moved) for each in lessons(learnt)] == [
        (pytest.approx(0.0, abs=0.01), pytest.approx(0.0, abs=0.01))
    ]
    assert misfit(learnt).whole == 1.0


def test_shots_narrow_what_decides_them() -> None:
    shots = [(0.33e-3, ["separated"]), (0.29e-3, ["no separation"])] * 2
    (lesson,) = lessons(learn(ONE, log_of(ONE, *shots), members=1024))
    assert lesson.path == "joint.pull_off"
    assert lesson.narrowed > 0.3
    assert lesson.before[0] < lesson.after[0] <= lesson.after[2] < lesson.before[2]


def test_a_log_that_a_case_cannot_have_is_told_from_one_that_it_can() -> None:
    likely = [(None, ["separated"]), (0.6e-3, ["separated", "all pins sheared"])]
    strange = [(0.6e-3, ["no separation"])] * 4
    assert not misfit(learn(ONE, log_of(ONE, *likely), members=1024)).doubtful
    assert misfit(learn(ONE, log_of(ONE, *strange), members=1024)).doubtful


def test_too_few_builds_conclude_nothing() -> None:
    learnt = learn(ONE, log_of(ONE, (None, ["separated"])), members=1024, most=1024)
    weight = np.zeros(learnt.members)
    weight[:20] = 0.05
    few = dataclasses.replace(learnt, weight=weight)
    with pytest.raises(StudyError, match="only about 20 agree with all 1 shots"):
        few.refuse()
    with pytest.raises(StudyError, match="only about 20 agree"):
        window(ONE, learnt=few)


def test_a_case_in_which_nothing_lasts_is_refused() -> None:
    case = dataclasses.replace(TWO, spreads={"powder.mass": TWO.spreads["powder.mass"]})
    with pytest.raises(StudyError, match="can teach nothing"):
        learn(case, log_of(case, (None, ["separated"])))


def test_shots_with_other_pins_are_other_shots() -> None:
    case = reads(BAY, "bench")
    rows = [ShotRow(pins=count, saw=("separated",)) for count in (0, 2, 6)]
    log = ShotLog("x", tuple(shot_of(case, row) for row in rows))
    learnt = learn(case, log, members=1024, most=1024)
    shares = learnt.opens.mean(axis=1)
    assert shares[0] > shares[1] > shares[2]
    # and the next shot has the pins of the case again
    assert learnt.points(factors(case), 128, 1).shape == (128, len_of(case))


def len_of(case: Case) -> int:
    return 1 + max(column for each in factors(case) for column in each.columns)


def test_the_window_moves_with_the_shots() -> None:
    shots = [(0.34e-3, ["no separation"]), (0.5e-3, ["separated"])]
    learnt = learn(TWO, log_of(TWO, *shots), members=1024, most=1024)
    found = window(TWO, wanted=0.9, members=128, learnt=learnt)
    before = window(TWO, wanted=0.9, members=128)
    assert before.least is not None and found.least is not None and found.after is not None
    assert found.after.least == pytest.approx(before.least.charge, rel=1e-9)
    # bays that do not separate with 0.34 g are among the stiff ones
    assert found.least.charge > before.least.charge
    assert (found.after.shots, found.after.file) == (2, "bench.shots.toml")


def test_the_interval_holds_the_chance_of_builds_whose_truth_is_known() -> None:
    # builds from the prior fire two shots; nine of ten intervals should hold their own chance.
    # binomial: of 20, fewer than 14 come with a probability below 0.3 %
    held = [covered(seed) for seed in range(20)]
    assert sum(held) >= 14


def covered(seed: int) -> bool:
    rng = np.random.default_rng(seed)
    pull = -1.0
    while pull <= 1.0:
        pull = PULL + WIDE * rng.standard_normal()
    mass = CHARGE * (1.0 + 0.15 * rng.standard_normal(132))
    values = {"joint.pull_off": np.full(132, pull), "powder.mass": mass}
    good = works(run_members(TWO, values, 132))
    reports = [kinds()["outcome"].report(3 if each else 0) for each in good[:2]]
    told = [kinds()["outcome"].answers[int(rng.choice(5, p=each))] for each in reports]
    low, high = interval(tuple(sorted(told)))
    return bool(low - 1e-9 <= good[2:].mean() <= high + 1e-9)


@cache
def interval(told: tuple[str, ...]) -> tuple[float, float]:
    """Return the interval of nine of ten builds after shots of which this was told."""
    log = log_of(TWO, *[(None, [each]) for each in told])
    learnt = learn(TWO, log, members=1024, most=1024)
    share = build_chances(TWO, factors(TWO), learnt.drawn(64), 5, 1)
    low, high = np.quantile(share, (0.05, 0.95))
    return float(low), float(high)


STRANGE = [(1.5e-3, ["no separation", "pins whole"])] * 3
"""Nearly five times the charge that opens it, and its pins were not even broken."""

LIKELY = [(0.5e-3, ["separated", "all pins sheared"]), (0.2e-3, ["no separation"])]


def test_no_charge_is_recommended_where_the_shots_contradict_the_case() -> None:
    learnt = learn(ONE, log_of(ONE, *STRANGE), members=1024)
    odd = contradiction(learnt, misfit(learnt))
    assert odd is not None and len(odd.shots) == 3
    assert odd.shots[0].shot.opened is False and odd.shots[0].before > 0.9
    found = window(ONE, members=128, learnt=learnt, wanted=0.9)
    assert found.recommended is found.backup is found.both is found.after_failure is None
    assert headline(found) == contradiction_text.HEADLINE
    said = " ".join(answer(found))
    assert "baypulse why" in said and "no separation" in said and "holds more" in said
    assert "prove" not in said.lower()
    with pytest.raises(StudyError, match="contradict the case"):
        plan(ONE, members=128, learnt=learnt, wanted=0.9)


def test_a_charge_is_recommended_where_the_case_describes_the_shots() -> None:
    learnt = learn(ONE, log_of(ONE, *LIKELY), members=1024)
    assert contradiction(learnt, misfit(learnt)) is None
    found = window(ONE, members=128, learnt=learnt, wanted=0.9)
    assert found.after is not None and found.after.contradiction is None
    assert found.recommended is not None


def test_shots_that_contradict_the_case_say_no_chance(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("baypulse.studies.shots.compute.BUILDS", 32)
    monkeypatch.setattr("baypulse.studies.shots.compute.CURVE_MEMBERS", 64)
    known = compute.answer(ONE, log_of(ONE, *STRANGE), members=1024)
    said = document(known.whole(None))
    # the curve is of the report only
    assert not known.findings.curve
    assert in_terminal.told(document(known.findings)) == in_terminal.told(said)
    assert said.headline == "The shots contradict the case: no charge is recommended"
    assert "not said: the shots contradict the case" in in_terminal.told(said)
    assert said.findings["after"] is None
    agreeing = document(shots(ONE, log_of(ONE, *LIKELY), members=1024))
    assert agreeing.findings["after"] is not None
    assert "not said" not in in_terminal.told(agreeing)


def test_a_bay_that_opened_against_the_case_is_said_to_hold_less() -> None:
    weak = [(0.05e-3, ["separated", "all pins sheared"])] * 2
    learnt = learn(ONE, log_of(ONE, *weak), members=1024)
    odd = contradiction(learnt, misfit(learnt))
    assert odd is not None and odd.shots[0].shot.opened and odd.shots[0].before < 0.1
    assert "holds less" in " ".join(contradiction_text.sentences(odd, "bench", "mass"))
