"""The command that writes down a reading: ``note``."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from drybuild.cli.addresses import listing, meant
from drybuild.cli.examining import _opened as opened_build
from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.examine import OpenBuild


def run_note(arguments: argparse.Namespace) -> int:
    """``drybuild note``: without a reading it says what can be noted, and as what."""
    opened = opened_build(arguments)
    words = arguments.address or ""
    if not arguments.value:
        print(listing(opened, words, arguments.dir, system=opened.build.head.units))
        return 0
    if not arguments.who:
        said = " ".join((words, *arguments.value))
        raise Refused(
            f"say who took the reading {arguments.value[0]!r}: --who NAME. To look something up: "
            f"drybuild addresses {arguments.dir} {said}"
        )
    address = _address(opened, words, arguments.dir)
    print("\n".join(_noted(opened, address, arguments)))
    print(f"next: drybuild check {arguments.dir}")
    return 0


def _address(opened: OpenBuild, words: str, folder: str) -> str:
    """The address as typed, or the one that plain words mean."""
    from drybuild.build import ChangeRefused
    from drybuild.build.state import addresses_of

    if words.startswith("part."):
        return words
    try:
        addresses_of(opened.build, words)
    except ChangeRefused:
        return meant(opened, words, folder)
    return words


def _noted(opened: OpenBuild, address: str, arguments: argparse.Namespace) -> list[str]:
    """The reading written down, and what it moved, in lines."""
    from drybuild.build.state import addresses_of
    from drybuild.examine.naming import plain_name
    from drybuild.examine.noting import NoteRefused, Said, WhichPlace, note, planned_beside
    from drybuild.show.doubt_band import apart, apart_words, spread_at
    from drybuild.show.lines import wrapped

    texts = ", ".join(arguments.value)
    said = Said(arguments.value, arguments.who, arguments.tool, arguments.instrument, arguments.at)
    alike = arguments.alike and not address.startswith("part.")
    where = addresses_of(opened.build, address) if alike else ()
    try:
        noted = note(opened, address, said, where)
    except WhichPlace as error:
        raise Refused(
            f"{error} Write {error.named[0]}, or the like; --alike: it is the same at each"
        ) from None
    except NoteRefused as error:
        look = f"drybuild addresses {arguments.dir} {error.look}"
        raise Refused(f"{error} What it has: {look}" if error.look else str(error)) from None
    lines, now, amiss = [], opened_build(arguments), False
    for one in noted:
        named = plain_name(one.address.removeprefix("part."))
        if one.entry:
            lines.append(f"entry {one.entry}: {named}, {texts}")
        else:
            lines.append(f"{named}, {texts}: written into {one.file}")
        lines += wrapped(f"     was {one.before}; now {one.after}", 5)
        if not one.entry:
            back = f"drybuild undo {arguments.dir} {one.address} --who NAME"
            lines.append(f"     take it back: {back}")
        before = spread_at(opened, one.address)
        if apart(before, spread_at(now, one.address)):
            lines += wrapped(f"     {apart_words(before)}", 5)
            amiss = bool(one.entry) or amiss
    if amiss:
        numbers = " ".join(str(one.entry) for one in noted)
        lines += wrapped(f"Take it back: drybuild undo {arguments.dir} {numbers} --who NAME", 0)
    planned = planned_beside(now, noted)
    if planned:
        lines += wrapped(
            f"This is of what is on the car now. Of the part that is planned for there: {planned}",
            0,
        )
    return lines
