"""The command that writes down a reading: ``note``."""

from __future__ import annotations

import argparse
from datetime import date
from typing import TYPE_CHECKING, Any

from drybuild.cli.addresses import listing, meant
from drybuild.cli.examining import _opened as opened_build
from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.build.declared import Declared
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
    if address.startswith("part."):
        print("\n".join(_note_part(opened, address, arguments)))
    else:
        print("\n".join(_note_reading(opened, address, arguments)))
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


def _note_reading(opened: OpenBuild, address: str, arguments: argparse.Namespace) -> list[str]:
    """A reading of the car as it stands, into the journal."""
    from drybuild.build.declared import declaration
    from drybuild.build.state import addresses_of, read_setting
    from drybuild.examine.lookup import Present, beside
    from drybuild.examine.naming import plain_name
    from drybuild.show.lines import wrapped

    addresses = addresses_of(opened.build, address)
    raws = {}
    for one in addresses:
        _check_reading(opened, one, arguments.at)
        raw = _raw(declaration(one), arguments)
        # Of a word the journal keeps the word: what was read of the car is measured.
        raws[one] = raw["is"] if _is_word(one) else raw
        read_setting(one, raws[one])
    state, present = opened.present.state, Present(opened)
    before = {one: present.at(one, state) for one in addresses}
    lines = []
    entries = {}
    for one in addresses:
        entries[one] = opened.journal.note(
            one, raws[one], who=arguments.who,
            instrument=arguments.instrument or arguments.tool, at=arguments.at,
        )  # fmt: skip
    opened = opened_build(arguments)
    present = Present(opened)
    for one in addresses:
        lines.append(f"entry {entries[one].id}: {plain_name(one)}, {', '.join(arguments.value)}")
        now = present.at(one, opened.present.state)
        lines += wrapped(f"     was {before[one]}; now {now}", 5)
    planned = beside(opened, addresses)
    if planned:
        lines += wrapped(
            f"This is of what is on the car now. Of the part that is planned for there: {planned}",
            0,
        )
    return lines


def _raw(declared: Declared | None, arguments: argparse.Namespace) -> Any:
    """The reading as a file would state it: with its tool, where one was named."""
    texts = arguments.value
    raw: Any = texts[0] if len(texts) == 1 else texts
    if declared is not None and _is_word(declared.address):
        return {"is": int(raw) if str(raw).isdigit() else raw, "by": arguments.tool or "eye"}
    if not arguments.tool:
        return raw
    entry = {"is": raw, "by": arguments.tool}
    return {**entry, "tool": arguments.instrument} if arguments.instrument else entry


def _is_word(address: str) -> bool:
    from drybuild.build.declared import declaration, is_word

    declared = declaration(address)
    return declared is not None and is_word(declared)


def _check_reading(opened: OpenBuild, address: str, at: str) -> None:
    """Refuse a reading that could not hold: of an empty place, or as found when it is too late."""
    from drybuild.build.declared import declaration
    from drybuild.examine.naming import plain_name
    from drybuild.journal import not_as_found

    declared, fitted = declaration(address), opened.present.state.fitted
    if declared is not None and declared.owner in fitted and fitted[declared.owner] is None:
        word = ".".join(declared.path)
        raise Refused(
            f"nothing is fitted at {declared.owner}: note a part in hand as part.ID.{word}"
        )
    made = (change for deed in opened.journal.deeds(at) for change in deed.changes)
    change = not_as_found(made, address)
    if change is not None:
        now = f"{address}_now"
        instead = f", note {now}" if declaration(now) is not None else ""
        raise Refused(
            f"{plain_name(address)} is the figure as found, and it was changed since ({change}): "
            f"for a reading taken before that give --at DATE{instead}"
        )


def _note_part(opened: OpenBuild, address: str, arguments: argparse.Namespace) -> list[str]:
    """A reading of a part that is not on the car yet: written into the part's own file."""
    from drybuild.build import ChangeRefused
    from drybuild.build.declared import HEAD_FIELDS, declaration
    from drybuild.build.editing import set_fact
    from drybuild.build.errors import nearest
    from drybuild.build.kinds import places
    from drybuild.build.state import read_setting
    from drybuild.examine.lookup import Entry, Present
    from drybuild.examine.naming import plain_name
    from drybuild.show.lines import wrapped

    _, part_id, *path = address.split(".")
    part = opened.build.parts.get(part_id)
    if part is not None and not any(path):
        look = f"drybuild addresses {arguments.dir} {part_id}"
        known = ", ".join(sorted(set(type(part).model_fields) - HEAD_FIELDS))
        raise Refused(f"{address}: name the fact as well, one of: {known}. What they are: {look}")
    if part is None:
        hint = nearest(part_id, tuple(opened.build.parts))
        raise Refused(f"no part {part_id!r} in parts/. {hint}".strip())
    place = next(p for p in places().values() if p.kind == getattr(part, "kind", ""))
    where = ".".join((place.instances[0], *path))
    declared = declaration(where)
    if declared is None:
        hint = nearest(path[-1], tuple(type(part).model_fields))
        look = f"What it has: drybuild addresses {arguments.dir} {part_id}"
        raise Refused(f"{part_id} has no {'.'.join(path)!r}. {hint} {look}".replace("  ", " "))
    raw = _raw(declared, arguments)
    try:
        read_setting(where, raw)
    except ChangeRefused as error:
        raise Refused(str(error).replace(where, address, 1)) from None
    entry = Entry(address, declared, part=part_id)
    before = Present(opened).said(entry)
    file = opened.build.part_files[part_id]
    read_by = f"read by {arguments.who}, {arguments.at or date.today().isoformat()}"
    set_fact(opened.build, file, ("part", part_id, *path), raw, comment=read_by)
    now = Present(opened_build(arguments)).said(entry)
    named = plain_name(address.removeprefix("part."))
    said = f"{named}, {', '.join(arguments.value)}: written into {file}; take it back there"
    return [said, *wrapped(f"     was {before}; now {now}", 5)]
