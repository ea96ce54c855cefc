"""The command line: reads cases, runs them, writes reports. The only place that prints."""

from __future__ import annotations

import argparse
import gc
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from baypulse import __version__
from baypulse.commands import check_case, key_reference, new_case
from baypulse.commands.case_files import Told
from baypulse.commands.each_case import GOOD, WRONG
from baypulse.commands.options import refuse_renamed
from baypulse.compile import BESIDE, Beside
from baypulse.errors import BaypulseError, cause
from baypulse.members import kept_rows
from baypulse.physics.first_work import at_first_work
from baypulse.spelling import near
from baypulse.terminal import STOPPED, Refused, functions_compiled, say, short_warnings

STUDIES = (
    "run",
    "scatter",
    "sweep",
    "window",
    "cord",
    "joints",
    "plan",
    "pins",
    "ascent",
    "vents",
    "aloft",
    "altimeter",
    "leakdown",
    "why",
    "shots",
    "fit",
)
"""The studies in the order of the help; each is a folder in ``studies`` with a ``command``."""

ENDED = 143
"""Exit code where the system stopped it."""

UNHEARD = 141
"""Exit code where nobody reads the output any more."""


class _Parser(argparse.ArgumentParser):
    """A parser that leaves the ending of the program to us."""

    def error(self, message: str) -> NoReturn:
        """Raise in place of ending the program."""
        raise Refused(f"{message[:1].lower()}{message[1:]}; see {self.prog} --help")


SELDOM = (100_000, 50, 50)
"""How seldom a process of ours looks for garbage, of which it makes little."""


def program() -> int:
    """Run the command line of a process that ends with it; return the exit code.

    What a short command has loaded is most of what it holds: to look through that for garbage, and
    once more at the end, takes a sixth of its time.
    """
    gc.set_threshold(*SELDOM)
    # the threads of numpy's linear algebra wait in circles between two small systems, on cores that
    # studies use; numpy is not loaded yet
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    kept_rows.keep()
    compiler = Beside()
    at_first_work(compiler.begin)
    code = main()
    if compiler.leave() and code == GOOD:
        say(BESIDE, sys.stderr)
    if code in (STOPPED, ENDED) and functions_compiled() is not None:
        # a thread that compiles would be waited for, up to half a minute; it has nothing to lose
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
        os._exit(code)
    gc.freeze()
    return code


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Without the program's name; those of the process when left out.

    Returns
    -------
    int
        Exit code: 0 done, 2 something wrong with the input or output, 3 the solver stopped
        early, 130 stopped by the user.
    """
    typed = list(sys.argv[1:] if arguments is None else arguments)
    with suppress(ValueError):  # only the main thread hears signals
        signal.signal(signal.SIGTERM, _end)
    with _open_streams(), short_warnings():
        return _guarded(typed)


def _guarded(typed: list[str]) -> int:
    """Run what was typed; whatever stops it becomes a sentence and an exit code."""
    try:
        code = _dispatch(typed)
        sys.stdout.flush()
        return code
    except Refused as refusal:
        return _complain(str(refusal))
    except Told:
        return WRONG
    except BaypulseError as error:
        return _complain(str(error))
    except BrokenPipeError:
        # nothing may be flushed into the closed pipe when the process ends
        with open(os.devnull, "w", encoding="utf-8") as nowhere:  # noqa: PTH123
            os.dup2(nowhere.fileno(), sys.stdout.fileno())
        return UNHEARD
    except OSError as error:
        return _complain(cause(error))
    except _Ended:
        return _complain("stopped", ENDED)
    except KeyboardInterrupt:
        return _complain("stopped", STOPPED)


class _Ended(KeyboardInterrupt):
    """The system asks the program to end: as if the user had, so that nothing is left behind."""


def _end(number: int, frame: object) -> NoReturn:
    raise _Ended


@contextmanager
def _open_streams() -> Iterator[None]:
    """Give a process that was started without output somewhere to write."""
    with open(os.devnull, "w", encoding="utf-8") as nowhere:  # noqa: PTH123
        closed = [name for name in ("stdout", "stderr") if getattr(sys, name) is None]
        for name in closed:
            setattr(sys, name, nowhere)
        try:
            yield
        finally:
            for name in closed:
                setattr(sys, name, None)


def _dispatch(typed: list[str]) -> int:
    parser, commands = _parsers()
    if not typed:
        say(parser.format_help())
        return WRONG
    word = next((text for text in typed if not text.startswith("-")), "")
    if word and word not in commands and word == typed[0]:
        raise Refused(_unknown(word, list(commands)))
    if word in commands:
        refuse_renamed(typed, commands[word]._option_string_actions)
    try:
        chosen = parser.parse_args(typed)
    except SystemExit as end:  # --help and --version
        return int(end.code or 0)
    if not hasattr(chosen, "work"):
        raise Refused(f"a command is missing: {', '.join(commands)}; see baypulse --help")
    return int(chosen.work(chosen))


def _unknown(word: str, commands: list[str]) -> str:
    """Return the sentence for a word that is no command."""
    if word.endswith(".toml") or Path(word).exists():
        return f'"{word}" is no command; to run a case: baypulse run "{word}"'
    close = near(word, commands)
    there_are = f'did you mean "{close}"? There are' if close else "there are"
    return f'"{word}" is no command; {there_are}: {", ".join(commands)}'


def _parsers() -> tuple[_Parser, dict[str, Any]]:
    parser = _Parser(
        prog="baypulse",
        description="Will this charge open this recovery bay, cleanly, every time, and without "
        "breaking anything?",
        epilog="Begin with: baypulse new my-bay.toml, then: baypulse run my-bay.toml",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"baypulse {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    new_case.add(commands)
    check_case.add(commands)
    key_reference.add(commands)
    for name in STUDIES:
        import_module(f"baypulse.studies.{name}.command").add(commands)
    import_module("baypulse.review.command").add(commands)
    import_module("baypulse.live.command").add(commands)
    return parser, dict(commands.choices)


def _complain(sentence: str, code: int = WRONG) -> int:
    say(f"baypulse: {sentence}", sys.stderr)
    return code
