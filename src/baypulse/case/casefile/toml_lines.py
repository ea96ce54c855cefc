"""Which line of a TOML text each key stands on.

The standard library's reader returns a plain dictionary. This scanner walks a text that the
reader has accepted and notes the line of every table and key, under the dotted path that
messages use, such as ``openings[0].diameter``.
"""

from __future__ import annotations

import contextlib

_BARE_END = frozenset(" \t\r\n#,]}=")


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
    with contextlib.suppress(IndexError):  # the text ended inside a value
        scanner.run()
    return scanner.lines


class _Scanner:
    """A cursor over the text; the caller knows that the text is valid TOML."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[str, int] = {}
        self.repeats: dict[str, int] = {}

    def run(self) -> None:
        """Walk the whole text."""
        prefix = ""
        while self._skip_blank():
            if self.text.startswith("[[", self.at):
                self._move(2)
                line, path = self.line, self._resolve(self._dotted(), last=False)
                self.repeats[path] = self.repeats.get(path, -1) + 1
                prefix = f"{path}[{self.repeats[path]}]"
                self._move(2)
                self.lines.setdefault(path, line)
                self.lines[prefix] = line
            elif self.text[self.at] == "[":
                self._move(1)
                line, prefix = self.line, self._resolve(self._dotted(), last=True)
                self._move(1)
                self.lines[prefix] = line
            else:
                self._pair(prefix)

    def _pair(self, prefix: str) -> None:
        """Read ``key = value``; every prefix of a dotted key is noted too."""
        line = self.line
        path = prefix
        for name in self._dotted():
            path = f"{path}.{name}" if path else name
            self.lines.setdefault(path, line)
        self._skip_blank()
        self._move(1)  # the equals sign
        self._value(path)

    def _value(self, path: str) -> None:
        """Step over a value, noting the keys inside it."""
        self._skip_blank()
        start = self.text[self.at]
        if start in "\"'":
            self._string()
        elif start == "{":
            self._move(1)
            while self._skip_blank(",") and self.text[self.at] != "}":
                self._pair(path)
            self._move(1)
        elif start == "[":
            self._move(1)
            index = 0
            while self._skip_blank(",") and self.text[self.at] != "]":
                self.lines[f"{path}[{index}]"] = self.line
                self._value(f"{path}[{index}]")
                index += 1
            self._move(1)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
                self._move(1)

    def _dotted(self) -> list[str]:
        """Read a key, dotted or quoted, up to its end."""
        names = []
        while True:
            self._skip_spaces()
            if self.text[self.at] in "\"'":
                names.append(self._string())
            else:
                start = self.at
                while self.text[self.at] not in _BARE_END and self.text[self.at] != ".":
                    self.at += 1
                names.append(self.text[start : self.at])
            self._skip_spaces()
            if self.text[self.at] != ".":
                return names
            self.at += 1

    def _string(self) -> str:
        """Step over a string of any of the four kinds and return what is between its quotes."""
        quote = self.text[self.at]
        fence = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self._move(len(fence))
        start = self.at
        while not self.text.startswith(fence, self.at):
            self._move(2 if quote == '"' and self.text[self.at] == "\\" else 1)
        end = self.at
        self._move(len(fence))
        while len(fence) == 3 and self.text.startswith(quote, self.at):
            self._move(1)  # up to two quotes may stand before the closing fence
        return self.text[start:end]

    def _resolve(self, names: list[str], *, last: bool) -> str:
        """Return the path of a header: a repeated table on the way means its latest one."""
        path = ""
        for number, name in enumerate(names, 1):
            path = f"{path}.{name}" if path else name
            if path in self.repeats and (last or number < len(names)):
                path = f"{path}[{self.repeats[path]}]"
        return path

    def _skip_spaces(self) -> None:
        while self.text[self.at] in " \t":
            self.at += 1

    def _skip_blank(self, also: str = "") -> bool:
        """Step over spaces, line ends and comments; return whether anything is left."""
        while self.at < len(self.text):
            here = self.text[self.at]
            if here == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif here in " \t\r\n" or here in also:
                self._move(1)
            else:
                return True
        return False

    def _move(self, count: int) -> None:
        """Step on, counting lines."""
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count
        if self.at > len(self.text):
            raise IndexError
