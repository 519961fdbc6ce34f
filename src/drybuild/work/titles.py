"""What tasks are called on their cards, for whoever reads the record: brakes bled, front up."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.build import Build
from drybuild.journal import WorkEntry
from drybuild.work.errors import WorkFaults
from drybuild.work.library.made import made
from drybuild.work.reading import library_of, purse_of


def task_titles(build: Build, happened: Iterable[WorkEntry] = ()) -> dict[str, str]:
    """Titles by task, as ``Step.key``, and of jobs by their id as well. Of a library with faults
    the jobs alone: the record is read all the same. happened: with more to do that it found."""
    titles = {job.id: job.title or job.id for job in build.jobs}
    titles |= {
        str(e.more["id"]): str(e.more.get("title") or e.more["id"]) for e in happened
        if e.what == "extra" and e.more.get("id")
    }  # fmt: skip
    found = {**titles, **{f"job:{name}": title for name, title in titles.items()}}
    try:
        notes = made(library_of(build), purse_of(build)).notes
    except (WorkFaults, ValueError):
        return found
    return {**{key: note.title for key, note in notes.items() if note.title}, **found}
