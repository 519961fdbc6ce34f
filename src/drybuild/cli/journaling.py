"""The commands of the record: journal, jot, correct."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.journal import Entry, Journal


def run_journal(arguments: argparse.Namespace) -> int:
    """``drybuild journal``."""
    journal = _journal(arguments)
    if arguments.take_in:
        return _take_in(journal, arguments)
    if arguments.export:
        return _export(journal, arguments.export)
    if arguments.printed:
        return _printed(journal, arguments.printed)
    if arguments.verify:
        return _verified(journal)
    return _shown(journal, arguments)


def _journal(arguments: argparse.Namespace) -> Journal:
    from drybuild.journal import Journal

    if not (Path(arguments.dir) / "build.toml").is_file():
        raise Refused(f"{arguments.dir}: no build folder (it holds no build.toml)")
    return Journal(arguments.dir)


def part_names(folder: str) -> Mapping[str, str]:
    """What the parts are called, by their ids; of files with faults nothing, for the journal is
    read all the same."""
    from drybuild.build import BuildProblem, read_build

    try:
        return read_build(folder).part_names
    except BuildProblem:
        return {}


def titles(folder: str) -> Mapping[str, str]:
    """What tasks are called on their cards; of files with faults nothing."""
    from drybuild.build import BuildProblem, read_build
    from drybuild.journal import Journal
    from drybuild.work.titles import task_titles

    try:
        return task_titles(read_build(folder), Journal(folder).work())
    except BuildProblem:
        return {}


def no_entry(number: int, folder: str) -> Refused:
    """The refusal of a number that no entry has."""
    return Refused(f"no entry {number} in the journal. All of them: drybuild journal {folder}")


def _shown(journal: Journal, arguments: argparse.Namespace) -> int:
    from drybuild.journal.entries import kind_of
    from drybuild.show.record import chain_text, journal_text

    entries = journal.entries()
    standing = {e.id for e in journal.standing()}
    kind = kind_of(arguments.kind) if arguments.kind else ""
    parts, names = part_names(arguments.dir), titles(arguments.dir)
    print(journal_text(entries, standing, kind, parts, names))
    chain = journal.verify()
    if entries:
        print(f"\n{chain_text(chain)}")
    return 2 if chain.fault is not None else 0


def _verified(journal: Journal) -> int:
    from drybuild.show.record import chain_text

    chain = journal.verify()
    print(chain_text(chain))
    return 2 if chain.fault is not None else 0


def _printed(journal: Journal, head: str) -> int:
    """Whether a head on paper is of this record."""
    if journal.holds(head):
        print(f"The record up to there is the one that had the head {head}.")
        return 0
    raise Refused(
        f"The record is not the one that had the head {head}: it was changed since, or the paper "
        f"is of another car. What fits: drybuild journal {journal.path.parent} --verify"
    )


def _export(journal: Journal, file: str) -> int:
    from drybuild.journal.plain import is_text

    text = journal.export()
    chain = journal.verify()
    if file == "-":
        _write_exactly(text)
    else:
        path = Path(file)
        if path.exists() and not is_text(path.read_bytes()[:4096].decode(errors="replace")):
            raise Refused(f"{file} is there and is no record: give another name")
        part = path.with_name(f"{path.name}.part")
        part.write_text(text, encoding="utf-8", newline="\n")
        os.replace(part, path)
        count = chain.head.entries
        print(f"{count} entr{'y' if count == 1 else 'ies'} written into {file}, head {chain.head}")
    if chain.fault is not None:
        print(
            f"The record is not as it was written: {chain.fault}. This text will not be taken in.",
            file=sys.stderr,
        )
        return 2
    return 0


def _write_exactly(text: str) -> None:
    """To the screen or a pipe, in UTF-8 whatever it else would be."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode())
        sys.stdout.buffer.flush()
    else:
        print(text, end="")


def _take_in(journal: Journal, arguments: argparse.Namespace) -> int:
    from drybuild.journal import TextRefused

    file = arguments.take_in
    try:
        data = sys.stdin.read() if file == "-" else Path(file).read_text("utf-8")
    except UnicodeDecodeError:
        raise Refused(f"{file}: no text in UTF-8") from None
    try:
        new = journal.take_in(data)
    except TextRefused as error:
        faults = "\n".join(f"{file}: {fault}" for fault in error.faults)
        raise Refused(f"{faults}\nnothing was taken in") from None
    if new:
        print(f"{new} entr{'y' if new == 1 else 'ies'} taken in, head {journal.head()}")
        print(f"next: drybuild check {arguments.dir} --state now")
    else:
        print("Nothing new in it: all of its entries are here.")
    return 0


def run_jot(arguments: argparse.Namespace) -> int:
    """``drybuild jot``."""
    from drybuild.show.lines import wrapped
    from drybuild.show.record import entry_text

    journal = _journal(arguments)
    entry = _jotted(journal, arguments)
    said = entry_text(entry, titles(arguments.dir), part_names(arguments.dir), typed=True)
    print("\n".join(wrapped(f"entry {entry.id}: {said}", 6)))
    return 0


def _jotted(journal: Journal, arguments: argparse.Namespace) -> Entry:
    a = arguments
    words = " ".join(a.words)
    common: dict[str, Any] = {"who": a.who, "task": a.task, "at": a.at}
    if a.torque:
        return journal.tightened(
            a.torque, figure=a.figure, tool=a.tool, second=a.second, document=a.document,
            condition=a.condition, fastener=a.fastener, words=words, **common,
        )  # fmt: skip
    if a.fill:
        return journal.filled(a.fill, quantity=a.quantity, product=a.product, words=words, **common)
    if a.bag:
        return journal.bagged(a.bag, label=a.label, place=a.place, words=words, **common)
    if a.tag or a.untag:
        return journal.tagged(a.tag or a.untag, where=a.place, hung=bool(a.tag), **common)
    if not words:
        raise Refused("say what is worth remembering, or --torque, --fill, --bag, --tag")
    return journal.remark(words, **common)


def run_correct(arguments: argparse.Namespace) -> int:
    """``drybuild correct``."""
    from drybuild.show.lines import wrapped
    from drybuild.show.record import entry_text

    journal = _journal(arguments)
    wrong = next((e for e in journal.entries() if e.id == arguments.entry), None)
    if wrong is None:
        raise no_entry(arguments.entry, arguments.dir)
    entry = journal.correct(
        wrong.id, _corrected(wrong, arguments), who=arguments.who, why=arguments.why,
        dated=arguments.dated, by=arguments.by, at=arguments.at,
    )  # fmt: skip
    said = entry_text(entry, titles(arguments.dir), part_names(arguments.dir), typed=True)
    print("\n".join(wrapped(f"entry {entry.id}: {said}", 6)))
    print(f"next: drybuild check {arguments.dir} --state now")
    return 0


def _corrected(wrong: Entry, arguments: argparse.Namespace) -> dict[str, Any]:
    """The fields as typed, in the shape that they have in the journal."""
    if wrong.kind == "deed" and arguments.fields:
        raise Refused(
            f"entry {wrong.id} is a deed: drybuild undo {arguments.dir} {wrong.id}, and write down "
            "with did what was done. Its date and name can be corrected: --dated, --by"
        )
    fields: dict[str, Any] = {}
    for given in arguments.fields:
        name, sign, value = given.partition("=")
        if not sign or not name.strip():
            raise Refused(f"found {given!r}, expected FIELD=VALUE")
        name = {"reading": "raw"}.get(name.strip(), name.strip())
        fields[name] = _typed(name, value.strip())
    if wrong.kind == "reading" and fields:
        _check_reading({**wrong.body, **fields})
    return fields


def _typed(name: str, value: str) -> Any:
    if name in ("hours", "left"):
        from drybuild.values import ValueFault, typed_number

        try:
            found = typed_number(value)
        except ValueFault:
            found = 0.0
        if found > 0:
            return found
        raise Refused(f"{name}: found {value!r}, expected hours, such as 2.5")
    if name == "people":
        return [one.strip() for one in value.split(",")]
    if name == "hung":
        return value in ("yes", "true")
    return value


def _check_reading(body: dict[str, Any]) -> None:
    """Refuse a reading that its address does not take."""
    from drybuild.build import ChangeRefused
    from drybuild.build.state import read_setting

    try:
        read_setting(body["address"], body["raw"])
    except ChangeRefused as error:
        raise Refused(str(error)) from None
