"""After a reading: what else the checks want that ask for it and stop a use still."""

from __future__ import annotations

from collections.abc import Mapping

from drybuild.examine.naming import plain_name
from drybuild.examine.noting import each_place
from drybuild.examine.wanting import still_wanted
from drybuild.findings import AXLES, SIDES
from drybuild.web.frame import Frame
from drybuild.web.receipts import Receipt


def titles_wanting(frame: Frame, kept: Receipt) -> list[tuple[str, list[tuple[str, str]]]]:
    """Of each check that asks for it and stops a use still: what else it wants, each with its
    address; those that want the same together."""
    examined = frame.desk.in_time("finished")
    if examined is None:
        return []
    same: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for title, wants in still_wanted(examined, [one.address for one in kept.noted]).items():
        same.setdefault(_named_once(frame, wants), []).append(title)
    return [("; ".join(titled), list(wants)) for wants, titled in same.items()]


def _named_once(frame: Frame, wants: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Words and address of each; one for both sides and ends, by the address that names all."""
    found: dict[str, str] = {}
    for address, words in wants.items():
        table, *path = address.split(".")
        bare = ".".join((table, *(word for word in path if word not in (*AXLES, *SIDES))))
        whole = each_place(frame.opened, bare) if table != "part" else []
        every = whole and all(one in wants for one, _ in whole)
        found.setdefault(*((bare, plain_name(bare)) if every else (address, words)))
    return tuple((words, address) for address, words in found.items())
