"""One study at a time, behind the page: its progress, its end, and the report that it leaves."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities
from baypulse.errors import BaypulseError, cause
from baypulse.live.draft import system_of
from baypulse.live.studying import StudyQuestion, study
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.show.document import Document

KINDS = {".pdf": "application/pdf", ".csv": "text/csv", ".json": "application/json"}
"""What files beside a page are."""


class Stopped(Exception):
    """Nobody waits for the study any more."""


class Task:
    """A study in a thread of its own.

    Parameters
    ----------
    name : str
        Of the study.
    question : StudyQuestion
        What it is about.

    Attributes
    ----------
    state : str
        ``"working"``, ``"done"``, ``"failed"`` or ``"stopped"``.
    """

    def __init__(self, name: str, question: StudyQuestion) -> None:
        self.name, self.question = name, question
        self.state, self.said = "working", ""
        self._done, self._whole = 0, 0
        self._stop = threading.Event()
        self._document: Document | None = None
        self._page = ""
        self._files: Mapping[str, bytes] = {}
        # a thread that ends with the program, should it be told to end
        threading.Thread(target=self._work, daemon=True).start()

    def stop(self) -> None:
        """Let go of it: it ends at its next look."""
        self._stop.set()

    def told(self) -> dict[str, Any]:
        """Return how far it is, ready for JSON."""
        return {
            "study": self.name, "state": self.state, "said": self.said, "done": self._done,
            "whole": self._whole, "files": sorted(self._files),
        }  # fmt: skip

    def page(self) -> str:
        """Return the page of its report; empty while there is none."""
        return self._page

    def file(self, name: str) -> bytes | None:
        """Return a file of its report, such as the printable plan."""
        return self._files.get(name)

    def export(self, folder: Path) -> Path:
        """Write the report's folder, as the command of that name does; return it.

        Parameters
        ----------
        folder : pathlib.Path
            Working folder.

        Raises
        ------
        Refused
            With a sentence, where there is no report or something else stands there.
        """
        from baypulse.show.folder import write

        if self._document is None:
            raise Refused("there is no report yet")
        ending = "" if self.name == "run" else f"-{self.name}"
        target = folder / "reports" / f"{self._document.name.strip(' .') or 'case'}{ending}"
        draft = self.question.draft
        with quantities.written_in(system_of(draft, draft.case())):
            try:
                write(self._document, target)
            except OSError as error:
                raise Refused(f"the report cannot be written: {cause(error)}") from None
        return target

    def _progress(self, done: int, whole: int) -> None:
        if self._stop.is_set():
            raise Stopped
        self._done, self._whole = done, whole

    def _known(self, document: Document) -> None:
        self.said = document.headline

    def _work(self) -> None:
        """Compute, draw, and keep what the page will ask for."""
        from baypulse.show import as_html, figure_files

        draft = self.question.draft
        try:
            document = study(self.name, self.question, self._progress, self._known)
            with quantities.written_in(system_of(draft, draft.case())):
                _, inside = figure_files.drawn(document.figures)
                self._page = as_html.page(document, inside)
                self._files = {name: make() for name, make in document.attached.items()}
            self._document = document
            self.said, self.state = document.headline, "done"
        except Stopped:
            self.state = "stopped"
        except (BaypulseError, Refused) as error:
            self.said, self.state = str(error), "failed"
