"""Commands that write the journal: note, did, undo."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drybuild.cli.examining import _opened as opened_build
from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.examine import OpenBuild


def run_note(arguments: argparse.Namespace) -> int:
    """``drybuild note``."""
    from drybuild.build.state import addresses_of, read_setting
    from drybuild.examine.naming import plain_name

    opened = opened_build(arguments)
    texts = arguments.value
    raw: Any = texts[0] if len(texts) == 1 else texts
    if arguments.tool and not _is_word(opened, arguments.address):
        raw = {"is": raw, "by": arguments.tool}
        if arguments.instrument:
            raw["tool"] = arguments.instrument
    if arguments.address.startswith("part."):
        print(_note_part(opened, arguments.address, raw))
        return 0
    written = []
    addresses = addresses_of(opened.build, arguments.address)
    for address in addresses:
        _check_reading(opened, address, arguments.at)
        read_setting(address, raw)
    for address in addresses:
        entry = opened.journal.note(
            address, raw, who=arguments.who, instrument=arguments.instrument or arguments.tool,
            at=arguments.at,
        )  # fmt: skip
        written.append(f"entry {entry.id}: {plain_name(address)}, {', '.join(texts)}")
    print("\n".join(written))
    print(f"next: drybuild check {arguments.dir}")
    return 0


def _is_word(opened: OpenBuild, address: str) -> bool:
    """Whether what is noted is a word, which no tool gives a doubt."""
    from drybuild.build.declared import declaration, expand, is_word
    from drybuild.build.kinds import places

    if address.startswith("part."):
        _, part_id, *path = address.split(".")
        kind = getattr(opened.build.parts.get(part_id), "kind", "")
        place = next((p for p in places().values() if p.kind == kind), None)
        known = [] if place is None else [".".join((place.instances[0], *path))]
    else:
        known = list(expand(address))
    declared = declaration(known[0]) if known else None
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


def _note_part(opened: OpenBuild, address: str, raw: Any) -> str:
    """A reading of a part that is not on the car yet: written into the part's own file."""
    from drybuild.build import ChangeRefused
    from drybuild.build.editing import set_fact
    from drybuild.build.errors import nearest
    from drybuild.build.kinds import places
    from drybuild.build.state import read_setting

    _, part_id, *path = address.split(".")
    part = opened.build.parts.get(part_id)
    if part is not None and not any(path):
        known = ", ".join(type(part).model_fields)
        raise Refused(f"{address}: name the fact as well, one of: {known}")
    if part is None:
        hint = nearest(part_id, tuple(opened.build.parts))
        raise Refused(f"no part {part_id!r} in parts/. {hint}".strip())
    place = next(p for p in places().values() if p.kind == getattr(part, "kind", ""))
    try:
        read_setting(".".join((place.instances[0], *path)), raw)
    except ChangeRefused as error:
        hint = nearest(path[-1], tuple(type(part).model_fields))
        raise Refused(f"{address}: {error}. {hint}".strip()) from None
    file = set_fact(opened.build, opened.build.part_files[part_id], ("part", part_id, *path), raw)
    return f"{address} = {raw} in {file}"


def run_did(arguments: argparse.Namespace) -> int:
    """``drybuild did``."""
    from drybuild.build import Change, job_changes
    from drybuild.show.lines import wrapped
    from drybuild.show.sentences import change_text

    opened = opened_build(arguments)
    changes: list[Change] = []
    if arguments.job:
        if arguments.job in opened.present.done:
            raise Refused(f"job {arguments.job!r} is recorded as done already")
        changes += job_changes(opened.build.job(arguments.job))
    changes += [Change("open", c) for c in arguments.open]
    changes += [Change("disturb", c) for c in arguments.disturb]
    changes += [Change("remove", p) for p in arguments.remove]
    changes += [Change("fit", *_pair(text)) for text in arguments.fit]
    changes += [Change("set", *_pair(text)) for text in arguments.set]
    changes += [Change("close", c) for c in arguments.close]
    if arguments.verify:
        changes.append(_verification(opened, arguments))
    if not changes:
        raise Refused("say what was done: a job's id, or --fit, --set, --verify …")
    state = opened.present.state.after(changes)
    entry = opened.journal.did(changes, who=arguments.who, job=arguments.job or "", at=arguments.at)
    print("\n".join(wrapped(f"entry {entry.id}: {'; '.join(map(change_text, changes))}", 2)))
    owed = [r for r in opened.registry.records.values() if state.owed(r.changed, r.id)]
    if owed:
        print(f"Hand checks to make and write down (drybuild did {arguments.dir} --verify ID …):")
    for record in owed:
        second = ", second person" if record.second_person else ""
        asked = f"{', '.join(record.evidence)}{second}"
        print("\n".join(wrapped(f"  {record.title}: {asked}  [{record.id}]", 4)))
    print(f"next: drybuild check {arguments.dir} --state now")
    return 0


def _verification(opened: OpenBuild, arguments: argparse.Namespace) -> Any:
    """A hand check: a tick is not enough where the record asks for value, tool and name."""
    from drybuild.build import Change
    from drybuild.build.errors import nearest

    record = opened.registry.records.get(arguments.verify)
    if record is None:
        hint = nearest(arguments.verify, tuple(opened.registry.records))
        raise Refused(f"no record {arguments.verify!r}. {hint}".strip())
    given = {"value": arguments.value, "tool": arguments.tool, "name": arguments.who}
    lacking = [e for e in record.evidence if not given.get(e, "")]
    if lacking:
        asked = ", ".join("--who" if e == "name" else f"--{e}" for e in lacking)
        raise Refused(f"{record.id}: a tick does not lift this; give {asked}")
    if record.second_person and (not arguments.second or arguments.second == arguments.who):
        raise Refused(f"{record.id}: a second person must see it; give --second NAME")
    given["second"] = arguments.second
    return Change("verify", record.id, {k: v for k, v in given.items() if v})


def _pair(text: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise Refused(f"found {text!r}, expected NAME=VALUE")
    return name.strip(), value.strip()


def run_undo(arguments: argparse.Namespace) -> int:
    """``drybuild undo``."""
    from drybuild.journal import Journal
    from drybuild.show.answers import journal_text

    if not (Path(arguments.dir) / "build.toml").is_file():
        raise Refused(f"{arguments.dir}: no build folder (it holds no build.toml)")
    journal = Journal(arguments.dir)
    if arguments.entry is None:
        standing = {e.id for e in journal.standing()}
        print(journal_text(journal.entries(), standing))
        return 0
    entry = journal.undo(arguments.entry, who=arguments.who, why=arguments.why)
    print(f"entry {entry.id}: undoes entry {arguments.entry}")
    return 0
