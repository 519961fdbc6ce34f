"""Edits of a file whose arrays of tables stand apart from each other, without moving them.

tomlkit writes the tables of one array behind each other, wherever they stood, and takes them away
from the comments above them. So the file is edited with its tables sorted by their first name, and
then put back into the order in which they stood.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

HEADER = re.compile(r"^[ \t]*\[\[?[ \t]*([A-Za-z0-9_-]+)", re.MULTILINE)


def edited(text: str, edit: Callable[[Any], None]) -> tuple[str, Any]:
    """The text after an edit of its document, and what it is to hold."""
    document = tomlkit.parse(text)
    apart = _pieces(text) if tomlkit.dumps(document) != text else []
    order = sorted(range(len(apart)), key=lambda n: _first_of(apart, n))
    together = "".join(apart[n] for n in order)
    if apart and not _same(together, document):
        apart = []
    if apart:
        document = tomlkit.parse(together)
    edit(document)
    new = tomlkit.dumps(document)
    if apart:
        pieces = _pieces(new)
        if [_name(p) for p in pieces] == [_name(apart[n]) for n in order]:
            back = {n: piece for n, piece in zip(order, pieces, strict=True)}
            new = "".join(back[n] for n in range(len(apart)))
    return new, document.unwrap()


def _pieces(text: str) -> list[str]:
    """The text cut before each header of a table; what comes before the first is a piece too."""
    cuts = [0, *(found.start() for found in HEADER.finditer(text)), len(text)]
    return [text[a:b] for a, b in pairwise(cuts)]


def _name(piece: str) -> str:
    found = HEADER.match(piece)
    return found[1] if found is not None else ""


def _first_of(pieces: list[str], number: int) -> int:
    """Where the first piece of that name stands."""
    name = _name(pieces[number])
    return next(n for n, piece in enumerate(pieces) if _name(piece) == name)


def _same(text: str, document: Any) -> bool:
    """Whether a sorted text holds the same, and is written again as it is."""
    try:
        parsed = tomlkit.parse(text)
    except TOMLKitError:
        return False
    return bool(parsed.unwrap() == document.unwrap()) and tomlkit.dumps(parsed) == text
