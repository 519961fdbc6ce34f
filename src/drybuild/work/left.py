"""What finished tasks leave owed on the car as it stands, for whoever asks what it may do now.

The work library knows what opening a joint leaves to be looked at; the present state of an open
build says it, so that every page gives the same answer.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from drybuild.build import Build
from drybuild.build.state import Left
from drybuild.examine import OpenBuild
from drybuild.examine import open_build as open_alone
from drybuild.work.errors import WorkFaults
from drybuild.work.reading import left_owed


def open_build(folder: Path | str, *, unchanged: Build | None = None) -> OpenBuild:
    """Open a build folder, with what its work leaves owed. Raises BuildFaults, ChangeRefused or
    JournalProblem.

    unchanged: its files as they were read before, where nobody has written to one since.
    """
    return with_left(open_alone(folder, unchanged=unchanged))


def with_left(opened: OpenBuild) -> OpenBuild:
    """The build, its present state with what finished tasks leave owed."""
    if not any(work.what == "done" for work in opened.journal.work()):
        return opened
    try:
        owed = left_owed(opened)
    except WorkFaults:  # the page of the work says what is amiss in the files
        return opened
    left = tuple(
        Left(name, effect.title, effect.stops, effect.clearing.title)
        for name, effect in sorted(owed.items())
        if effect.clearing is not None and effect.stops
    )
    now = replace(opened.present.state, left=left)
    return replace(opened, present=replace(opened.present, state=now))
