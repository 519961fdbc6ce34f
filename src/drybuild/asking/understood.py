"""What somebody meant by an answer: a name, its number, its beginning, or several of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from drybuild.build.errors import UnknownName, nearest
from drybuild.build.new import DONT_KNOW, FIRST_CHANGES, one_by_one


def nobody_knows(given: str) -> bool:
    """Whether an answer is no answer: nothing, a question mark, ``don't know``."""
    return given.strip().lower().replace("'", "").replace("’", "") in ("", "dont know", "?")


def understood(given: str, known: Iterable[str]) -> str:
    """The answer that was meant. Raises UnknownName with what may be answered."""
    said = given.strip().lower()
    if nobody_knows(said):
        return DONT_KNOW
    names = list(known)
    if said.isascii() and said.isdigit() and 1 <= int(said) <= len(names):
        return names[int(said) - 1]
    begun = [name for name in names if name.startswith(said)]
    if said in names or len(begun) == 1:
        return said if said in names else begun[0]
    close = nearest(said, tuple(names))
    raise UnknownName(
        f"{given.strip()!r}: expected one of {', '.join(names)} or {DONT_KNOW}. {close}".strip()
    )


def changes_named(given: str, known: Mapping[str, str] = FIRST_CHANGES) -> tuple[str, ...]:
    """The changes of a list, apart by commas, in the order in which they are named, each once.

    Raises UnknownName for one that is none of them.
    """
    return one_by_one(understood(part, known) for part in re.split(r"[,;\n]", given))
