"""The command as somebody starts it, and a browser to look at its page."""

from __future__ import annotations

import http.client
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

CASES = Path(__file__).parents[2] / "cases"

BENCH = str(CASES / "bench-76.toml")

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
"""Programs that can be driven, if one of them is installed."""

NO_BROWSER = (
    "no Chromium is installed, so no page was looked at; on Debian: apt-get install chromium"
)

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip

WAIT = 60.0
"""Seconds for what takes one: the machine may be busy, or compile the physics."""


def browser_program() -> str | None:
    return next((found for name in BROWSERS if (found := shutil.which(name))), None)


class Served:
    """A server that runs, and where."""

    def __init__(self, process: subprocess.Popen[str], address: str) -> None:
        self.process, self.address = process, address
        parts = urlsplit(address)
        self.port = int(parts.port or 0)
        self.root = parts.path
        self.own = {"Host": f"127.0.0.1:{self.port}", "Origin": f"http://127.0.0.1:{self.port}",
                    "Content-Type": "application/json"}  # fmt: skip

    def ask(self, method: str, path: str, body: bytes = b"", **heads: str) -> tuple[int, bytes]:
        """Ask by plain HTTP, with the headers of the page but for those given."""
        sent = {**self.own, **{name.replace("_", "-"): text for name, text in heads.items()}}
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=WAIT)
        try:
            line.request(method, path, body, {name: text for name, text in sent.items() if text})
            answer = line.getresponse()
            self.heads = {name.lower(): text for name, text in answer.getheaders()}
            return answer.status, answer.read()
        finally:
            line.close()

    def post(self, kind: str, **body: object) -> dict[str, object]:
        status, text = self.ask("POST", self.root + kind, json.dumps(body).encode())
        assert status == 200, text
        return json.loads(text)


@contextmanager
def served(folder: Path, *arguments: str) -> Iterator[Served]:
    """Start the command in a folder; it is ended if it does not end itself."""
    process = subprocess.Popen(
        [sys.executable, "-m", "baypulse", "live", "--no-browser", *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=folder,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line + (process.stderr.read() if process.stderr else "")
        yield Served(process, found.group(0))
    finally:
        if process.poll() is None:
            process.terminate()
        process.communicate(timeout=WAIT)
