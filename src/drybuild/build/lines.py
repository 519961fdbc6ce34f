"""Where in a TOML file each key stands: a scan of its lines, after the file was read as TOML.

The text is known to be right TOML by then, so the scan need not judge it. It only has to tell keys
from what stands inside strings and brackets. It runs once a text, in time that grows with its
length; the answer is a help to the reader of a fault and never decides anything.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache

_BARE = r"[A-Za-z0-9_-]+"
_QUOTED = r'"(?:[^"\\]|\\.)*"' + r"|'[^']*'"
_PART = re.compile(rf"\s*({_BARE}|{_QUOTED})\s*(\.)?")
_HEADER = re.compile(r"\s*(\[\[?)(.*)$")
# What can open or close something inside a value: strings of all four kinds, brackets, a comment.
_TOKEN = re.compile(r'"""|\'\'\'|' + _QUOTED + r"|[\[\]{}#]")


def line_of(text: str, path: Sequence[str]) -> int | None:
    """Line (from 1) of the key that ``path`` names, or of the nearest table or key above it."""
    known = key_lines(text)
    for length in range(len(path), 0, -1):
        found = known.get(".".join(path[:length]))
        if found is not None:
            return found
    return None


@lru_cache(maxsize=64)
def key_lines(text: str) -> Mapping[str, int]:
    """Dotted path → line of its first appearance; tables of an array carry their index."""
    lines: dict[str, int] = {}
    arrays: dict[str, int] = {}
    table: tuple[str, ...] = ()
    inside = _Inside()
    for number, line in enumerate(text.split("\n"), start=1):
        if inside.value:
            inside.read(line)
            continue
        header = _HEADER.match(line)
        if header is not None:
            table = _table(header[1], _keys(header[2])[0], arrays)
            _put(lines, table, number)
            continue
        keys, end = _keys(line)
        if keys and line[end:].lstrip().startswith("="):
            _put(lines, (*table, *keys), number)
            inside.read(line[end:].lstrip()[1:])
    return lines


def _put(lines: dict[str, int], path: tuple[str, ...], number: int) -> None:
    for length in range(1, len(path) + 1):
        lines.setdefault(".".join(path[:length]), number)


def _keys(text: str) -> tuple[tuple[str, ...], int]:
    """The dotted key that a text begins with, and where it ends."""
    keys: list[str] = []
    at = 0
    while True:
        found = _PART.match(text, at)
        if found is None:
            return tuple(keys), at
        key = found[1]
        keys.append(key[1:-1] if key[0] in "\"'" else key)
        at = found.end()
        if found[2] is None:
            return tuple(keys), at


def _table(opening: str, keys: tuple[str, ...], arrays: dict[str, int]) -> tuple[str, ...]:
    """The full path of a table's header: below an array of tables it carries the last index."""
    path: list[str] = []
    for depth, key in enumerate(keys):
        path.append(key)
        name = ".".join(path)
        if depth == len(keys) - 1 and opening == "[[":
            arrays[name] = arrays.get(name, -1) + 1
        if name in arrays:
            path.append(str(arrays[name]))
    return tuple(path)


class _Inside:
    """Whether the scan stands inside a value that runs over several lines."""

    def __init__(self) -> None:
        self.string = ""
        self.depth = 0

    @property
    def value(self) -> bool:
        return bool(self.string) or self.depth > 0

    def read(self, text: str) -> None:
        at = 0
        while at < len(text):
            if self.string:
                at = self._end_of_string(text, at)
                continue
            token = _TOKEN.search(text, at)
            if token is None or token[0] == "#":
                return
            at = token.end()
            if token[0] in ('"""', "'''"):
                self.string = token[0]
            elif token[0] in "[{":
                self.depth += 1
            elif token[0] in "]}":
                self.depth -= 1

    def _end_of_string(self, text: str, at: int) -> int:
        while True:
            end = text.find(self.string, at)
            if end < 0:
                return len(text)
            slashes = len(text[:end]) - len(text[:end].rstrip("\\"))
            if self.string == "'''" or slashes % 2 == 0:
                # up to two more quotes may belong to the string itself
                while text.startswith(self.string[0], end + 3):
                    end += 1
                self.string = ""
                return end + 3
            at = end + 1
