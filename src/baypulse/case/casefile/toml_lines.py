"""Which line of a TOML text each key stands on.

The standard library's reader returns a plain dictionary. This scanner walks a text that the
reader has accepted and notes the line of every table and key, under the dotted path that
messages use, such as ``openings[0].diameter``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress

_TOKEN = re.compile(
    r'''
    (?P<blank> [ \t\r]+ | \#[^\n]* )
    | """ (?: \\. | [^\\] )*? "{3,5}        # up to two quotes may stand before the closing fence
    | \'{3} .*? \'{3,5}
    | " (?: \\. | [^"\\] )* " | \'[^\']*\'
    | [][{}=,.\n]
    | [^][{}=,.\s\#"\']+
    ''',
    re.VERBOSE | re.DOTALL,
)


def key_lines(text: str) -> dict[str, int]:
    r"""Return the line of every key and table.

    Parameters
    ----------
    text : str
        TOML that :mod:`tomllib` accepts; of any other text the lines may be incomplete.

    Returns
    -------
    dict
        Line counted from 1, by dotted path.

    Examples
    --------
    >>> key_lines('[bay]\nbore = "75 mm"')
    {'bay': 1, 'bay.bore': 2}
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    with suppress(IndexError):  # the text ended inside a value
        scanner.run()
    return scanner.lines


def _tokens(text: str) -> Iterator[tuple[str, int]]:
    """Yield strings, words, signs and line ends, each with the line that it begins on."""
    line = 1
    for match in _TOKEN.finditer(text):
        if not match["blank"]:
            yield match[0], line
        line += match[0].count("\n")


class _Scanner:
    """A cursor over the tokens; the caller knows that the text is valid TOML."""

    def __init__(self, text: str) -> None:
        self.tokens = list(_tokens(text))
        self.at = 0
        self.lines: dict[str, int] = {}
        self.repeats: dict[str, int] = {}

    def run(self) -> None:
        """Walk the whole text."""
        path = ""
        while self._more("\n"):
            line = self.tokens[self.at][1]
            if not self._is("["):
                self._pair(path)
                continue
            self.at += 1
            brackets = 2 if self._is("[") else 1
            self.at += brackets - 1
            path = self._resolve(self._dotted(), last=brackets == 1)
            self.at += brackets
            if brackets == 2:
                self.lines.setdefault(path, line)
                self.repeats[path] = self.repeats.get(path, -1) + 1
                path = f"{path}[{self.repeats[path]}]"
            self.lines[path] = line

    def _pair(self, path: str) -> None:
        """Read ``key = value``; every prefix of a dotted key is noted too."""
        line = self.tokens[self.at][1]
        for name in self._dotted():
            path = f"{path}.{name}" if path else name
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self._value(path)

    def _value(self, path: str) -> None:
        """Step over a value, noting the keys inside it."""
        if self._is("{"):
            self.at += 1
            while self._more(",\n") and not self._is("}"):
                self._pair(path)
        elif self._is("["):
            self.at += 1
            index = 0
            while self._more(",\n") and not self._is("]"):
                self.lines[f"{path}[{index}]"] = self.tokens[self.at][1]
                self._value(f"{path}[{index}]")
                index += 1
        else:
            # a number or a date may be several words
            while self.tokens[self.at + 1][0] not in ",]}\n":
                self.at += 1
        self.at += 1

    def _dotted(self) -> list[str]:
        """Read a key, dotted or quoted, up to its end."""
        names = [self._name()]
        while self._is("."):
            self.at += 1
            names.append(self._name())
        return names

    def _name(self) -> str:
        name = self.tokens[self.at][0]
        self.at += 1
        return name[1:-1] if name[0] in "\"'" else name

    def _resolve(self, names: list[str], *, last: bool) -> str:
        """Return the path of a header: a repeated table on the way means its latest one."""
        path = ""
        for number, name in enumerate(names, 1):
            path = f"{path}.{name}" if path else name
            if path in self.repeats and (last or number < len(names)):
                path = f"{path}[{self.repeats[path]}]"
        return path

    def _is(self, sign: str) -> bool:
        return self.tokens[self.at][0] == sign

    def _more(self, between: str) -> bool:
        """Step over the signs between two keys or values; return whether anything is left."""
        while self.at < len(self.tokens) and self.tokens[self.at][0] in between:
            self.at += 1
        return self.at < len(self.tokens)
