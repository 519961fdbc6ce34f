"""A draft that is kept: into the jobs that fit its places already, or as a job of its own."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from drybuild.build import Change
from drybuild.build.editing import add_job, change_job, one_at_a_time
from drybuild.build.taking_over import TakenOver, taken_over
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.findings import AXLES
from drybuild.journal.now import open_jobs
from drybuild.web.drafts import Draft


def _where(opened: OpenBuild, changes: Iterable[Change]) -> TakenOver:
    return taken_over(open_jobs(opened.build, opened.present), changes)


def write_into_build(folder: Path, opened: OpenBuild, draft: Draft) -> str:
    """Write a draft into build.toml; returns the id of the job that it is in, the first of them.

    Raises EditRefused, BuildFaults.
    """
    found = _where(opened, draft.changes)
    with one_at_a_time:
        build = opened.build
        for number, (job, fit) in enumerate(found.fit.items()):
            change_job(build, job, fit, () if number else found.with_it)
            build = open_build(folder).build
        if found.rest:
            add_job(build, draft.name, draft.title, found.rest)
    return next(iter(found.fit), draft.name)


def kept_words(opened: OpenBuild, changes: Iterable[Change]) -> str:
    """What becomes of a draft that is kept, in a sentence."""
    changes = tuple(changes)
    found = _where(opened, changes)
    pair = _of_a_pair(opened, changes)
    if not found.fit:
        return f"Kept, it becomes a job of the build.{pair}"
    titles = {job.id: job.title or job.id for job in opened.build.jobs}
    into = "; ".join(_into(opened, titles[job], found, job) for job in found.fit)
    rest = "; the rest becomes a job of its own" if found.rest else ""
    goes = "Kept, it goes" if len(found.fit) == 1 else "Kept:"
    return f"{goes} {into}{rest}.{pair}"


def _into(opened: OpenBuild, title: str, found: TakenOver, job: str) -> str:
    """Which parts go into a job, and in place of which."""
    had = {p for other in opened.build.jobs if other.id == job for p in other.fit.values()}
    new = [part for part in dict.fromkeys(found.fit[job].values()) if part not in had]
    which = f"{_named(opened, new)} " if len(found.fit) > 1 else ""
    instead = found.instead[job]
    there = f", in place of {_named(opened, instead)}" if instead else ""
    return f"{which}into the job \u201c{title}\u201d{there}"


def _of_a_pair(opened: OpenBuild, changes: Iterable[Change]) -> str:
    """Whose figure is set at one axle alone, where the same part is at the other one too."""
    fitted, found = opened.state("finished").fitted, dict[tuple[str, str], None]()
    for change in changes:
        table, _, axle = change.target.rpartition(".")[0].partition(".")
        if change.kind == "set" and table in ("wheel", "tyre") and axle in AXLES:
            found[table, axle] = None
    said = []
    for table, axle in found:
        other = next(one for one in AXLES if one != axle)
        parts = {fitted.get(f"{table}.{one}.left") for one in AXLES}
        if (table, other) not in found and len(parts) == 1:
            said.append(
                f" It is of the {axle} pair alone: the {other} {table}s, the same part, stay as "
                "they are."
            )
    return "".join(said)


def _named(opened: OpenBuild, parts: Iterable[str]) -> str:
    names = opened.build.part_names
    return ", ".join(names.get(part, part) for part in parts)
