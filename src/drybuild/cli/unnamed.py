"""Parts that were written down as fitted while nobody has said which they are."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drybuild.build import Change
    from drybuild.examine import OpenBuild
    from drybuild.work.doing import Told


def unnamed_lines(opened: OpenBuild, changes: Iterable[Change], folder: str) -> list[str]:
    """Each with the commands that write its maker and its name."""
    from drybuild.examine.naming import unnamed_parts
    from drybuild.show.lines import wrapped

    lines = []
    for part, name in unnamed_parts(opened.build, changes):
        lines += wrapped(f"fitted as “{name}”: of which maker is it, and what is it called?", 2)
        lines += [
            f"  drybuild note {folder} part.{part}.{fact} {said} --who NAME"
            for fact, said in (("maker", "MAKER"), ("name", '"ITS NAME"'))
        ]
    return lines


def unnamed_of_jobs(opened: OpenBuild, told: Iterable[Told], folder: str) -> list[str]:
    """The same of the jobs among finished tasks."""
    from drybuild.work.doing import fitted_by

    return unnamed_lines(opened, fitted_by(opened.build, told), folder)
