"""Commands that write down work: did, undo."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drybuild.cli.examining import _opened as opened_build
from drybuild.cli.journaling import no_entry, part_names, titles
from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.build import Change
    from drybuild.examine import OpenBuild
    from drybuild.journal import Journal


def run_did(arguments: argparse.Namespace) -> int:
    """``drybuild did``."""
    from drybuild.build import Change, job_changes
    from drybuild.cli.hand_checks import early_lines, owed_lines, refuse_older, verifications
    from drybuild.cli.unnamed import unnamed_lines
    from drybuild.examine.written import change_text
    from drybuild.show.lines import wrapped

    opened = opened_build(arguments)
    changes: list[Change] = []
    if arguments.job:
        if arguments.job in opened.present.done:
            raise Refused(f"job {arguments.job!r} is recorded as done already")
        changes += job_changes(_job(opened, arguments.job))
    changes += [Change("open", c) for c in arguments.open]
    changes += [Change("disturb", c) for c in arguments.disturb]
    changes += [Change("remove", p) for p in arguments.remove]
    changes += [Change("fit", *_pair(text)) for text in arguments.fit]
    changes += [Change("set", *_pair(text)) for text in arguments.set]
    changes += [Change("close", c) for c in arguments.close]
    verified = verifications(opened, arguments)
    refuse_older(opened, verified, arguments)
    changes += verified
    if not changes:
        raise Refused(
            f"say what was done: a job, or --fit, --remove, --set, --verify …\n{_open_jobs(opened)}"
        )
    state = opened.present.state.after(changes)
    entry = opened.journal.did(changes, who=arguments.who, job=arguments.job or "", at=arguments.at)
    names = opened.build.part_names
    said = [
        _verified_text(opened, c) if c.kind == "verify" else change_text(c, names) for c in changes
    ]
    print("\n".join(wrapped(f"entry {entry.id}: {'; '.join(said)}", 2)))
    for line in early_lines(opened, verified):
        print(line)
    for line in unnamed_lines(opened, changes, arguments.dir):
        print(line)
    for line in owed_lines(opened, state, arguments.dir):
        print(line)
    print(f"next: drybuild check {arguments.dir} --state now")
    return 0


def _job(opened: OpenBuild, name: str) -> Any:
    """The job of that id. Raises Refused with those that are open."""
    from drybuild.build import UnknownName

    try:
        return opened.build.job(name)
    except UnknownName as error:
        raise Refused(f"{error}\n{_open_jobs(opened)}") from None


def _open_jobs(opened: OpenBuild) -> str:
    jobs = [job for job in opened.build.jobs if job.id not in opened.present.done]
    if not jobs:
        return "No job of build.toml is open."
    return "Jobs still open:\n" + "\n".join(f"  {job.id}: {job.title}" for job in jobs)


def _verified_text(opened: OpenBuild, change: Change) -> str:
    """A hand check with what was found, by its title."""
    evidence = ", ".join(str(v) for v in change.value.values())
    return f"{opened.registry.records[change.target].title}: {evidence}"


def _pair(text: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise Refused(f"found {text!r}, expected NAME=VALUE")
    return name.strip(), value.strip()


def run_undo(arguments: argparse.Namespace) -> int:
    """``drybuild undo``."""
    from drybuild.journal import Journal
    from drybuild.show.lines import wrapped
    from drybuild.show.record import entry_text

    if not (Path(arguments.dir) / "build.toml").is_file():
        raise Refused(f"{arguments.dir}: no build folder (it holds no build.toml)")
    journal = Journal(arguments.dir)
    if not arguments.entry:
        print("\n".join(_what_stands(journal, arguments.dir)))
        return 0
    if not arguments.who:
        raise Refused("say who takes it back: --who NAME")
    names = [one for one in arguments.entry if isinstance(one, str)]
    if names:
        return _out_of_files(names, arguments)
    known = {e.id: e for e in journal.entries()}
    numbers = list(dict.fromkeys(n for several in arguments.entry for n in several))
    for number in numbers:
        if number not in known:
            raise no_entry(number, arguments.dir)
    undone = journal.undo_each(numbers, who=arguments.who, why=arguments.why)
    parts, tasks = part_names(arguments.dir), titles(arguments.dir)
    for number, entry in zip(numbers, undone, strict=True):
        said = entry_text(known[number], tasks, parts, typed=True)
        print("\n".join(wrapped(f"entry {entry.id}: undoes entry {number}: {said}", 2)))
    print("\n".join(_next_lines(arguments.dir)))
    return 0


def _next_lines(folder: str) -> list[str]:
    """What comes after taking back: where the plan counts on it, to plan again."""
    from drybuild.build import BuildProblem
    from drybuild.examine import open_build
    from drybuild.journal import JournalProblem
    from drybuild.show.lines import wrapped
    from drybuild.show.since import back_text
    from drybuild.work.as_planned import former_holds, taken_back_now

    check = f"next: drybuild check {folder} --state now"
    try:
        opened = open_build(folder)
        back = back_text(opened, taken_back_now(opened))
        holds = bool(back) and former_holds(opened)
    except (BuildProblem, JournalProblem):
        return [check]
    if not back:
        return [check]
    lines = wrapped(f"The plan counts them as done: {back}.", 2)
    if holds:
        lines.append(f"the plan before holds again: drybuild plan {folder} --former")
    return [*lines, f"next: drybuild plan {folder}"]


def _what_stands(journal: Journal, folder: str) -> list[str]:
    """The journal, what else was written by command, and how each is taken back."""
    from drybuild.show.record import journal_text

    standing = {e.id for e in journal.standing()}
    parts, tasks = part_names(folder), titles(folder)
    lines = [journal_text(journal.entries(), standing, parts=parts, titles=tasks)]
    if standing:
        lines.append(f"take one back: drybuild undo {folder} NUMBER --who NAME")
    return [*lines, *_filed_lines(folder)]


def _filed_lines(folder: str) -> list[str]:
    from drybuild.build import BuildFaults
    from drybuild.examine import open_build
    from drybuild.examine.filed import filed
    from drybuild.show.lines import wrapped

    try:
        found = filed(open_build(folder))
    except BuildFaults:  # a build that cannot be read still has its journal
        return []
    if not found:
        return []
    lines = ["", "Beside the journal, written into files by note and fix"]
    for one in found:
        lines += wrapped(f"  {one.name}: {one.said}  ({one.file}:{one.line})", 4)
    return [*lines, f"take one back: drybuild undo {folder} {found[-1].name} --who NAME"]


def _out_of_files(names: list[str], arguments: argparse.Namespace) -> int:
    from drybuild.examine import open_build
    from drybuild.examine.filed import NotFiled, take_out

    if len(names) < len(arguments.entry):
        raise Refused("entries of the journal and what is in files: take them back one by one")
    for name in dict.fromkeys(names):
        try:
            print(f"{name}: {take_out(open_build(arguments.dir), name, who=arguments.who)}")
        except NotFiled as error:
            raise Refused(f"{error}. What there is: drybuild undo {arguments.dir}") from None
    print(f"next: drybuild check {arguments.dir}")
    return 0
