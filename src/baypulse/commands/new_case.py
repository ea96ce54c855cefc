"""The command that writes a case to begin with: ``new``."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities
from baypulse.case.first_values import FIRST_VALUES, FirstValue
from baypulse.caution import CAUTION
from baypulse.commands import new_case_file
from baypulse.errors import CaseError, Problem
from baypulse.physics import first_work
from baypulse.terminal import Refused, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.case.new_case import NewCase

_WIDTH = 88

_USUAL_BAYS = ["drogue", "main"]


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "new", help="write a short case to begin with", allow_abbrev=False,
        description="Write a short case that runs as it is, from what was measured. At a terminal "
        "it asks for what no option gives; Enter means not measured. Elsewhere what is not given "
        "is an example or a typical value, marked as one. An existing file is never overwritten.",
        epilog='Example: baypulse new my-bay.toml --bore "3 in" --tube-length "12 in" '
        '--extraction-force "3 lb"',
    )  # fmt: skip
    parser.add_argument("file", nargs="?", default="my-bay.toml", metavar="FILE",
                        help="file to write (default: my-bay.toml)")  # fmt: skip
    for each in FIRST_VALUES:
        words = " or a word" if each.word_key else ""
        parser.add_argument(each.option, dest=each.path, metavar="VALUE", action="append",
                            help=f"{each.what} ({each.how}){words}")  # fmt: skip
    parser.add_argument(
        "--rocket", action="store_true",
        help="write a rocket file with a case for each bay; an option given once is for all bays, "
        "else it is given once a bay in the order in which they fire",
    )  # fmt: skip
    parser.add_argument(
        "--bays", nargs="+", metavar="NAME",
        help="with --rocket: the bays as they fire (default: drogue main)",
    )  # fmt: skip
    parser.add_argument("--cold-gas", action="store_true", help="compressed gas in place of powder")
    parser.add_argument("--units", choices=(quantities.SI, quantities.US), default=None,
                        help="units of what is typical (default: those of the bore)")  # fmt: skip
    parser.set_defaults(work=_new)


def _new(chosen: argparse.Namespace) -> int:
    """Write a new case, or a rocket file with a case for each bay."""
    if chosen.bays and not chosen.rocket:
        raise Refused("--bays: names are for the bays of a rocket; add --rocket")
    names = (chosen.bays or _USUAL_BAYS) if chosen.rocket else [""]
    place = _free(chosen.file)
    if chosen.rocket:
        _check_names(names)
    files = [_free(str(place.with_stem(f"{place.stem}-{name}"))) for name in names if name]
    news = _with_options(chosen, len(names))
    first_work.begin()
    asks = sys.stdin is not None and sys.stdin.isatty()
    if asks:
        say(textwrap.fill(CAUTION, _WIDTH) + "\n")
        say("Enter takes what stands in brackets. Type a value with its unit, as you read it.")
    for new, name in zip(news, names, strict=True):
        if new is not news[0]:
            new.share(news[0])
        if asks:
            say(f"\nBay {name}, and what is ahead of its joint and behind it:" if name else "")
        _settle(new, asks)
    if not chosen.rocket:
        new_case_file.put(news[0].text(), place, "new")
        say(f'wrote {place}; change it, then: baypulse check "{place}", baypulse run "{place}"')
        return 0
    texts = _rocket_texts(news, names, place, files)
    while said := _rocket_problems(texts, place):
        if not asks:
            raise _refusal(said)
        say("\n".join([*said, "Weigh again:"]))
        for new, name in zip(news, names, strict=True):
            new.forget({"nose.mass", "airframe.mass", "contents.mass"})
            say(f"\nBay {name}:")
            _settle(new, asks)
        texts = _rocket_texts(news, names, place, files)
    for file, text in texts.items():
        new_case_file.put(text, file, "new")
    say(f"wrote {', '.join(map(str, texts))}; change them, then: baypulse check "
        f'"{place}", baypulse joints "{place}"')  # fmt: skip
    return 0


def _with_options(chosen: argparse.Namespace, count: int) -> list[NewCase]:
    """Return a new case for each bay with what the options give; all that is wrong at once."""
    from baypulse.case.new_case import USUAL_AHEAD, NewCase

    news, wrong = [], []
    for k in range(count):
        # the bay that fires last lies nearest the tip
        ahead = USUAL_AHEAD if count == 1 else (count - k) / (count + 1)
        news.append(NewCase(chosen.units, cold_gas=chosen.cold_gas, ahead=ahead))
    for each in FIRST_VALUES:
        given = getattr(chosen, each.path) or []
        if len(given) not in (0, 1, count):
            some = (
                f"once, or once for each of the {count} bays as they fire" if count > 1 else "once"
            )
            wrong.append(f"{each.option}: given {len(given)} times; give it {some}")
            continue
        for k, new in enumerate(news if given else []):
            said = new.take(each, given[k % len(given)].strip())
            wrong += [f"{each.option}: {said}"] if said else []
    if chosen.cold_gas and getattr(chosen, "powder.mass"):
        wrong.append("--charge: a reservoir takes the place of the powder; give one of the two")
    if wrong:
        raise _refusal(list(dict.fromkeys(wrong)))
    return news


def _settle(new: NewCase, asks: bool) -> None:
    """Ask for what is open, until everything can be together."""
    if asks:
        _ask(new)
    while problems := _problems(new):
        said = [f"{problem.key}: {problem.text}" for problem in problems]
        paths = {problem.key for problem in problems} & {each.path for each in FIRST_VALUES}
        if not asks or not paths:
            raise _refusal(said)
        say("\n".join(said))
        new.forget(paths)
        _ask(new)


def _check_names(names: list[str]) -> None:
    """Refuse names of bays that a rocket file cannot have."""
    from baypulse.case.casefile.rocket_reader import bay_findings
    from baypulse.case.rocket import NamedBay, RocketFile

    bays = tuple(NamedBay(name=name, case=f"{name}.toml") for name in names)
    wrong = [f"--bays: {said}" for _, said in bay_findings(RocketFile(title="", bays=bays))]
    if wrong:
        raise _refusal(wrong)


def _rocket_texts(
    news: list[NewCase], names: list[str], place: Path, files: list[Path]
) -> dict[Path, str]:
    """Return the text of every case and of the rocket file, which comes last."""
    from baypulse.case.new_case import new_case_text, new_rocket_text, shared_rows

    every = [new.rows() for new in news]
    shared = shared_rows(every)
    texts = {}
    for rows, name, file in zip(every, names, files, strict=True):
        own = {path: row for path, row in rows.items() if path not in shared}
        texts[file] = new_case_text(own, title=f"{name} bay", rocket=place.name)
    cases = {name: file.name for name, file in zip(names, files, strict=True)}
    return texts | {place: new_rocket_text(shared, cases)}


def _rocket_problems(texts: dict[Path, str], place: Path) -> list[str]:
    """Return what cannot be together in the rocket as its files will say it."""
    from baypulse.case.casefile.rocket_reader import read_rocket

    with tempfile.TemporaryDirectory() as folder:
        for file, text in texts.items():
            (Path(folder) / file.name).write_text(text, "utf-8")
        try:
            with one_line_warnings():
                read_rocket(Path(folder) / place.name)
        except CaseError as error:
            return [f"{each.key}: {each.text}" for each in error.problems]
    return []


def _refusal(said: list[str]) -> Refused:
    """Return everything that is wrong, a line each."""
    return Refused("\nbaypulse: ".join(said))


def _ask(new: NewCase) -> None:
    """Ask for everything that is open, until it is readable."""
    while remaining := new.open():
        first = remaining[0]
        say(_question(new, first), end="")
        sys.stdout.flush()
        line = sys.stdin.readline()
        if not line:
            raise Refused("stopped before the last answer; nothing is written")
        if line.strip():
            said = new.take(first, line.strip())
        elif first.needed:
            said = "nothing is typical here; measure it"
        else:
            said = ""
            new.leave(first)
        if said:
            say(f"  {said}")


def _question(new: NewCase, first: FirstValue) -> str:
    """Return one line: what, how to measure it, and what is typical for this size."""
    how, stand = first.how, new.typical(first)
    if first.word_key:
        forces = new.typical_forces(first)
        how += f"; {', '.join(f'{name} {force}' for name, force in forces.items())}"
    usual = "" if first.needed else f" [{stand.text if stand else 'not measured'}]"
    return f"{quantities.capital(first.what)} ({how}){usual}: "


def _problems(new: NewCase) -> list[Problem]:
    """Return what cannot be together in the case as it stands."""
    from baypulse.case.casefile import reads

    try:
        with one_line_warnings():
            reads(new.text(), "new", "new case")
    except CaseError as error:
        return list(error.problems)
    return []


def _free(given: str) -> Path:
    """Return where the case goes, or refuse a place that is taken or cannot hold it."""
    place = Path(given)
    if place.is_dir():
        raise Refused(f"{place} is a folder; give the name of a file to write")
    if os.path.lexists(place):
        raise Refused(f"{place} exists and is not overwritten; choose another name")
    if not place.parent.is_dir():
        raise Refused(f"there is no folder {place.parent} to write {place.name} in")
    return place
