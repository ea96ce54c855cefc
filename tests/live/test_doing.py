"""From looking to doing: reports, the log of shots, and what is asked of a failed one."""

import json
import shutil
import time

import pytest

import window_findings
from baypulse.case.casefile import read
from baypulse.live.draft import Malformed, draft_of
from baypulse.live.studying import STUDIES, StudyQuestion, add_shot, asked, sightings, study, told
from baypulse.live.task import Stopped
from baypulse.live.workplace import Workplace
from baypulse.members.answered import Answered
from baypulse.observed.shot_log import read_log
from baypulse.observed.sightings import sightings as understood
from baypulse.terminal import Refused
from live.served import CASES, WAIT, served

BENCH = CASES / "bench-76.toml"


@pytest.fixture
def question(tmp_path):
    """Return a question about a case with a file of its own."""
    shutil.copy(BENCH, tmp_path / "bay.toml")
    workplace = Workplace(tmp_path)
    [bay] = workplace.bays(tmp_path / "bay.toml")
    return StudyQuestion(
        draft_of({"text": bay["text"], "name": bay["name"]}), workplace, bay["file"]
    )


def test_the_report_of_a_shot_is_shown_and_exported(tmp_path):
    shutil.copy(BENCH, tmp_path / "bay.toml")
    with served(tmp_path, "bay.toml") as page:
        [bay] = json.loads(page.ask("GET", page.root + "start")[1])["bays"]
        assert page.ask("GET", page.root + "report/index.html")[0] == 404
        asked_for = {"text": bay["text"], "name": bay["name"], "typed": {"powder.mass": "1.20 g"}}
        assert page.post("study", study="run", file=bay["file"], **asked_for)["state"] == "working"
        state = finished(page)
        assert state["state"] == "done"
        status, text = page.ask("GET", page.root + "report/index.html")
        assert status == 200
        assert b"Energetic charges burn, blind and maim" in text
        assert "1.20 g" in text.decode()
        assert page.post("export")["said"] == "wrote reports/bay"
        numbers = json.loads((tmp_path / "reports" / "bay" / "numbers.json").read_text("utf-8"))
        assert (tmp_path / "reports" / "bay" / "curves.csv").exists()
    # the same numbers as the command's
    from baypulse.run.simulation import simulate
    from baypulse.show import as_json
    from baypulse.studies.run.document import document

    case = draft_of(asked_for).case()
    assert numbers["findings"] == json.loads(
        as_json.text(as_json.numbers(document(simulate(case))))
    )["findings"]  # fmt: skip


def finished(page):
    end = time.monotonic() + WAIT
    while time.monotonic() < end:
        state = json.loads(page.ask("GET", page.root + "task")[1])
        if state["state"] != "working":
            return state
        time.sleep(0.1)
    raise AssertionError(state)


def test_a_study_that_nobody_waits_for_ends(tmp_path):
    text = BENCH.read_text("utf-8")
    with served(tmp_path) as page:
        page.post("study", study="window", text=text, typed={})
        page.post("stop")
        assert finished(page)["state"] == "stopped"
        page.post("study", study="window", text=text, typed={})
        page.process.terminate()
        assert page.process.wait(WAIT) == 143
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["window", "plan"])
def test_progress_is_told_and_can_end_a_study(question, name):
    seen = []

    def progress(done, whole):
        seen.append((done, whole))
        if len(seen) > 2:
            raise Stopped

    with pytest.raises(Stopped):
        study(name, question, progress, lambda document: None)
    assert all(0 < done <= whole for done, whole in seen)


def test_the_answer_is_told_before_the_rest_of_a_report_is_found(question, monkeypatch):
    seen = []

    def whole(progress):
        seen.append("the rest")
        return window_findings.usual()

    known = Answered(window_findings.changed(window_findings.usual(), limits=()), whole)
    monkeypatch.setattr("baypulse.studies.window.compute.answer", lambda case, **how: known)
    found = study("window", question, lambda done, all_: None, lambda said: seen.append(said))
    assert [seen[0].headline, *seen[1:]] == [found.headline, "the rest"]


def test_a_shot_is_added_beside_its_case(question, tmp_path):
    shot = question._replace(
        saw=("no separation", "pop", "peak pressure 9 psi"), charge="0.60 g", pins="2", note="cold"
    )
    assert add_shot(shot) == "added to bay.shots.toml: shot 1"
    log = read_log(tmp_path / "bay.shots.toml", read(tmp_path / "bay.toml"))
    [found] = log.shots
    assert (found.charge, found.pins, found.row.note) == (pytest.approx(0.6e-3), 2, "cold")
    assert found.row.saw == shot.saw
    assert found.row.date is not None


def test_what_is_wrong_about_a_shot_comes_all_at_once(question, tmp_path):
    shot = question._replace(saw=("purple",), charge="0.6 quux")
    with pytest.raises(Refused) as error:
        add_shot(shot)
    assert "quux" in str(error.value)
    assert "purple" in str(error.value)
    for bad in ({"saw": ()}, {"saw": ("pop",), "pins": "many"}, {"saw": ("pop",), "file": "x.toml"},
                {"saw": ("pop",), "file": ""}):  # fmt: skip
        with pytest.raises(Refused):
            add_shot(question._replace(**bad))
    assert not (tmp_path / "bay.shots.toml").exists()


def test_a_shot_that_is_in_the_log_is_no_earlier_shot_of_itself(question):
    shot = question._replace(saw=("no separation", "pins whole"), charge="0.60 g")
    case = shot.draft.case()
    assert told(shot, case).earlier is None
    add_shot(shot)
    same = told(shot, case)
    assert (same.number, same.earlier) == (1, None)
    other = told(shot._replace(charge="0.70 g"), case)
    assert (other.number, len(other.earlier)) == (0, 1)


def test_every_box_is_understood_as_it_is_written():
    case = read(CASES / "many-152.toml")  # with a bay of electronics to find soot in
    for kind in sightings():
        for said in kind["answers"] or [f"{kind['word']} {kind['example']}"]:
            [found] = understood(case, [said])
            assert found.kind.name == kind["name"]


def test_without_a_log_the_page_says_what_to_do(question):
    with pytest.raises(Refused, match="save the case, then add one"):
        study("shots", question, lambda done, whole: None, lambda document: None)
    with pytest.raises(Refused, match="what was seen"):
        study("why", question, lambda done, whole: None, lambda document: None)


@pytest.mark.parametrize("body", [{"saw": "pop"}, {"saw": [3]}, {"saw": ["x"] * 99}, {"pins": 3}])
def test_no_page_asks_this(body, question):
    with pytest.raises(Malformed):
        asked(body, question.draft, question.workplace)


def test_each_study_is_a_command():
    from baypulse.cli import STUDIES as commands

    assert set(STUDIES) <= set(commands)
