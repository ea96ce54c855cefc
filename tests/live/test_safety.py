"""Who may ask, by plain HTTP: nobody but the page of this machine, and not more than it can do."""

import asyncio
import http.client
import signal
import socket
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from baypulse.live import questions, server, turns
from baypulse.live.guard import MOST_BYTES
from baypulse.live.turns import Busy, Turns
from live.served import BENCH, WAIT, served

TEXT = Path(BENCH).read_text("utf-8")


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with served(tmp_path_factory.mktemp("work"), BENCH) as found:
        yield found


def connection(page):
    return http.client.HTTPConnection("127.0.0.1", page.port, timeout=WAIT)


def test_it_listens_on_the_loopback_address_only(page):
    table = subprocess.run(["cat", "/proc/net/tcp"], capture_output=True, text=True).stdout
    rows = [line.split() for line in table.splitlines()[1:]]
    here = [row[1] for row in rows if row[3] == "0A" and row[1].endswith(f":{page.port:04X}")]
    if not table:
        pytest.skip("only Linux lists who listens in a file")
    # 127.0.0.1, its bytes in reverse
    assert here == [f"0100007F:{page.port:04X}"]


def test_the_page_is_there_and_loads_nothing_from_elsewhere(page):
    status, text = page.ask("GET", page.root)
    assert status == 200
    assert b"http://" not in text.replace(b"http://www.w3.org/", b"")
    assert b"https://" not in text
    policy = page.heads["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert page.heads["referrer-policy"] == "no-referrer"
    assert page.heads["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("status", "change"),
    [
        (421, {"Host": "evil.example"}), (421, {"Host": "127.0.0.1:1"}), (421, {"Host": ""}),
        (403, {"Origin": "http://evil.example"}), (403, {"Origin": ""}),
        (403, {"Origin": "null"}), (403, {"Sec_Fetch_Site": "cross-site"}),
        (415, {"Content_Type": "text/plain"}),
    ],
)  # fmt: skip
def test_others_are_refused(page, status, change):
    if change == {"Host": ""}:
        # the library would put in its own
        with closing(connection(page)) as line:
            line.putrequest("GET", page.root, skip_host=True)
            line.endheaders()
            assert line.getresponse().status in (400, 421)
        return
    assert page.ask("POST", page.root + "answer", b"{}", **change)[0] == status


def test_without_the_secret_there_is_nothing(page):
    for path in ("/", "/answer", "/wrong/", page.root[:-2] + "/", "/x" + page.root):
        assert page.ask("GET", path)[0] == 404
        assert page.ask("POST", path, b"{}")[0] == 404


def test_a_large_body_is_not_read(page):
    huge = b" " * (MOST_BYTES + 1)
    assert page.ask("POST", page.root + "answer", huge)[0] == 413
    # in parts, without a length beforehand
    parts = (b" " * 100_000 for _ in range(12))
    own = page.own | {"Transfer-Encoding": "chunked"}
    with closing(connection(page)) as line:
        line.request("POST", page.root + "answer", parts, own, encode_chunked=True)
        assert line.getresponse().status == 413


def test_what_is_no_question_is_refused_without_a_traceback(page):
    for body in (b"", b"{", b"[]", b'{"typed": 3}', b'{"number": "x"}', b"[" * 100_000):
        status, text = page.ask("POST", page.root + "answer", body)
        assert status == 400, body[:20]
        assert b"Traceback" not in text


@pytest.mark.parametrize(
    "name", ["../x.toml", "/etc/x.toml", "a/../../x.toml", "x.txt", "", "x.shots.toml", "a\\b.toml"]
)
def test_no_file_outside_of_the_folder_is_opened_or_written(page, name):
    assert "refused" in page.post("save", text=TEXT, typed={}, file=name)
    assert "refused" in page.post("open", file=name)


def test_a_link_out_of_the_folder_is_no_way_out(tmp_path):
    from baypulse.live.workplace import Workplace
    from baypulse.terminal import Refused

    home = tmp_path / "home"
    home.mkdir()
    (home / "out").symlink_to(tmp_path)
    with pytest.raises(Refused):
        Workplace(home).place("out/x.toml")


def test_parts_of_the_page_are_those_that_there_are(page):
    for path in ("page/../app.py", "page/%2e%2e/app.py", "charts/../../x", "page/nothing.js"):
        assert page.ask("GET", page.root + path)[0] == 404
    assert page.ask("GET", page.root + "page/main.js")[0] == 200
    assert page.ask("GET", page.root + "charts/bokeh.min.js")[0] == 200


def test_a_bad_value_gets_the_files_own_message(page):
    told = page.post("answer", text=TEXT, typed={"bay.bore": "76 mn"}, number=1)
    [problem] = told["problems"]
    line = next(k for k, row in enumerate(TEXT.splitlines(), 1) if row.startswith("bore"))
    assert (problem["key"], problem["line"]) == ("bay.bore", line)
    assert 'did you mean "mm"?' in problem["text"]


def test_a_file_that_was_not_opened_is_not_replaced(page):
    assert page.post("save", text=TEXT, typed={}, file="mine.toml")["file"] == "mine.toml"
    # it is the page's own now
    again = page.post("save", text=TEXT, typed={"pins.count": "2"}, file="mine.toml")
    assert "count = 2" in again["bays"][0]["text"]
    with served(page_folder(page), BENCH) as other:
        assert "is there already" in other.post("save", text=TEXT, typed={}, file="mine.toml")[
            "refused"
        ]  # fmt: skip


def page_folder(page):
    return Path(f"/proc/{page.process.pid}/cwd").resolve()


def test_no_more_than_a_few_at_once():
    most, done = [0], []

    def work():
        most.append(most[-1] + 1)
        time.sleep(0.1)
        most.append(most[-1] - 1)
        done.append(1)

    async def crowd():
        all_turns = Turns()
        crowd = turns.MOST + turns.WAITING
        tasks = [asyncio.create_task(all_turns.compute(work)) for _ in range(crowd)]
        await asyncio.sleep(0.02)
        with pytest.raises(Busy):
            await all_turns.compute(work)
        await asyncio.gather(*tasks)
        # and then there is a turn again
        assert await all_turns.compute(int, "3") == 3
        assert len(done) == crowd
        assert max(most) <= turns.MOST

    asyncio.run(crowd())


def test_a_newer_question_makes_an_older_one_stale():
    async def ask():
        all_turns = Turns()
        old = all_turns.asked("page", 1)
        assert not old()
        new = all_turns.asked("page", 2)
        late = all_turns.asked("page", 1)
        assert (old(), new(), late()) == (True, False, True)
        assert not all_turns.asked("another", 1)()

    asyncio.run(ask())


def test_it_ends_when_the_page_does(tmp_path):
    with served(tmp_path, BENCH) as found:
        with socket.create_connection(("127.0.0.1", found.port)) as line:
            line.sendall(
                f"GET {found.root}here HTTP/1.1\r\nHost: {found.own['Host']}\r\n\r\n".encode()
            )
            assert b"200" in line.recv(100)
            time.sleep(0.5)
            assert found.process.poll() is None
        assert found.process.wait(WAIT) == 0


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_it_ends_when_it_is_told_to(tmp_path, number, code):
    with served(tmp_path, BENCH) as found:
        with closing(connection(found)) as line:
            line.request("GET", f"{found.root}here", headers=found.own)
            with line.getresponse():
                found.process.send_signal(number)
                assert found.process.wait(WAIT) == code
        assert found.process.stderr.read() == "baypulse: stopped\n"


def test_a_taken_port_is_told(page, tmp_path):
    told = subprocess.run(
        [sys.executable, "-m", "baypulse", "live", "--no-browser", "--port", str(page.port)],
        capture_output=True, text=True, cwd=tmp_path, timeout=WAIT,
    )  # fmt: skip
    assert told.returncode == 2
    assert "leave it out for a free one" in told.stderr


def test_without_its_packages_one_sentence_names_them(monkeypatch, capsys):
    from baypulse import cli
    from baypulse.live import command

    monkeypatch.setattr(command, "NEEDED", ("starlette", "no_such_package"))
    assert cli.main(["live"]) == 2
    assert 'pip install "baypulse[live]"' in capsys.readouterr().err


def test_other_commands_load_nothing_of_it():
    code = (
        "import sys, baypulse.cli as c; c._parsers(); "
        "assert not {'starlette', 'uvicorn', 'bokeh', 'anyio'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0


def test_what_is_loaded_beforehand_gives_up_quietly_when_the_program_ends(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def no_more(*question: object) -> None:
        raise RuntimeError("cannot schedule new futures after interpreter shutdown")

    monkeypatch.setattr(questions, "answered", no_more)
    server._warm_up([], lambda: True)
    with pytest.raises(RuntimeError):
        server._warm_up([], lambda: False)
