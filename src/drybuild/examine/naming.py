"""Addresses in plain words: ``wheel.front.left.spoke_depth`` is a front left wheel spoke depth."""

from __future__ import annotations

from drybuild.findings import AXLES, SIDES, Finding

OF_THE_CAR = frozenset({"car", "identity", "registration", "goal", "build"})
"""Tables that need no word of their own: what they hold is the car's or the owner's."""

SAID_AS = {"length_least": "shortest setting", "length_most": "longest setting"}
"""Names of facts that are not words in that order."""


def plain_name(address: str, *, seen_from: str = "") -> str:
    """An address as one says it.

    seen_from: a subject (``front.left``, ``rear``, a blend's id) that was named already and is not
    said again. Alternatives (``a|b``) are joined by *or*, ``base:`` is said as *as found*.
    """
    if "|" in address:
        ways = address.split("|")
        names = [plain_name(ways[0], seen_from=seen_from)]
        owner = ways[0].rpartition(".")[0]
        for one in ways[1:]:
            at, _, fact = one.rpartition(".")
            same = at == owner and not one.startswith("base:")  # of the same thing: named once
            names.append(_word(fact) if same else plain_name(one, seen_from=seen_from))
        return " or ".join(dict.fromkeys(names))
    plain = address.removeprefix("base:")
    table, *rest = plain.split(".")
    where = []
    while rest and rest[0] in (*AXLES, *SIDES):
        where.append(rest.pop(0))
    if table == "blend" and rest:
        where, table = [rest.pop(0)], ""
    if where and seen_from.split(".")[: len(where)] == where:
        where = []
    words = [*where, "" if table in OF_THE_CAR else table, *rest]
    said = " ".join(_word(w) for w in words if w)
    return f"{said}, as found" if plain != address else said


def _word(name: str) -> str:
    return SAID_AS.get(name, name.replace("_", " "))


def lacking_text(finding: Finding) -> str:
    """Why nothing is calculated: ``nobody has measured …``, or ``cannot be worked out: …``."""
    if finding.beyond:
        return "; ".join(one.removeprefix("base:") for one in finding.beyond)
    return f"nobody has measured {plain_list(finding.missing, seen_from=finding.subject)}"


def plain_list(addresses: tuple[str, ...], *, seen_from: str = "", most: int = 3) -> str:
    """Addresses in words, the first few of them, each said once."""
    words = list(dict.fromkeys(plain_name(a, seen_from=seen_from) for a in addresses))
    more = len(words) - most
    return ", ".join(words[:most]) + (f" and {more} more" if more > 0 else "")
