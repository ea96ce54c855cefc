"""The working folder: the only place where the page opens a case or writes one."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from baypulse.case.casefile import read
from baypulse.case.casefile.rocket_reader import is_rocket, read_rocket
from baypulse.case.casefile.shot_file import ENDING, shots_beside
from baypulse.case.casefile.whole_file import write_whole
from baypulse.case.model import Case
from baypulse.commands.new_case_file import check_free, put
from baypulse.terminal import Refused

MOST_LISTED = 200
"""Case files that are offered, at most."""


@dataclass
class Workplace:
    """The folder in which the program was started.

    Attributes
    ----------
    folder : pathlib.Path
        Of which nothing is left.
    opened : set of pathlib.Path
        Case files that were opened, or written, and so may be written again.
    """

    folder: Path
    opened: set[Path] = field(default_factory=set)

    def place(self, name: str) -> Path:
        """Return the file of a name that was typed on the page.

        Parameters
        ----------
        name : str
            Such as ``"my-bay.toml"`` or ``"cases/my-bay.toml"``.

        Raises
        ------
        Refused
            With a sentence, for what leads out of the folder or is no case file.
        """
        if not name.strip() or not name.isprintable() or len(name) > 200 or "\\" in name:
            raise Refused(f'"{name[:60]}" is no name of a case file, such as my-bay.toml')
        if not name.endswith(".toml") or name.endswith(ENDING):
            raise Refused(f'"{name[:60]}" is no case file; let its name end in .toml')
        home = self.folder.resolve()
        place = (home / name).resolve()
        if not place.is_relative_to(home):
            raise Refused(f'"{name[:60]}" leads out of the folder in which Baypulse was started')
        return place

    def listed(self) -> list[str]:
        """Return the case files of the folder and of the folders right below it."""
        found = [*self.folder.glob("*.toml"), *self.folder.glob("*/*.toml")]
        cases = [each for each in found if not each.name.endswith(ENDING)]
        names = sorted(each.relative_to(self.folder).as_posix() for each in cases)
        return [name for name in names if name != "pyproject.toml"][:MOST_LISTED]

    def bays(self, place: Path) -> list[dict[str, Any]]:
        """Return name, text and file of a case, or of every bay of a rocket.

        Parameters
        ----------
        place : pathlib.Path
            A case file or a rocket file; from the command line it may be anywhere.

        Raises
        ------
        CaseError
            With every problem of it.
        """
        if is_rocket(place):
            # a bay is more than its own file says, so it is written under a new name only
            return [
                {"name": bay.case.name, "text": bay.case.source_text, "file": ""}
                for bay in read_rocket(place).bays
            ]
        case = read(place)
        self.opened.add(place.resolve())
        return [{"name": case.name, "text": case.source_text, "file": self.name_of(place)}]

    def name_of(self, place: Path) -> str:
        """Return how a file is named on the page; empty for one outside of the folder."""
        home = self.folder.resolve()
        inside = place.resolve().is_relative_to(home)
        return place.resolve().relative_to(home).as_posix() if inside else ""

    def save(self, name: str, text: str) -> str:
        """Write a case file, whole or not at all; return its name.

        Parameters
        ----------
        name : str
            As typed.
        text : str
            That was read without a problem.

        Raises
        ------
        Refused
            With a sentence, also for a file that is there and was not opened here.
        """
        place = self.place(name)
        if os.path.lexists(place) and place in self.opened:
            write_whole(place, text.encode(), ".", ".writing")
        else:
            check_free(place, "save")
            put(text, place, "save")
            self.opened.add(place)
        return self.name_of(place)

    def shots(self, name: str, case: Case) -> Path:
        """Return the file of the shots of a case that has a file of its own.

        Parameters
        ----------
        name : str
            Of the case file.
        case : Case
            Read from it.

        Raises
        ------
        Refused
            With a sentence, for a case that was not saved.
        """
        place = self.place(name) if name else None
        if place is None or place not in self.opened:
            raise Refused("save the case first: its shots stand in a file beside it")
        return shots_beside(str(place), case)
