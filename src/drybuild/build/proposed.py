"""Parts that are in no file of the folder: candidates of a search, made in memory.

A state is always of one build. A proposed part is given to a state by a copy of its build that
knows the part as well; from there on a Change fits it like any other, and the folder, its hash and
its journal stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError

from drybuild.build.build import Build
from drybuild.build.errors import ChangeRefused
from drybuild.build.kinds import part_kinds
from drybuild.build.model import Part
from drybuild.build.state import State
from drybuild.build.worded import in_one_line
from drybuild.values import HowKnown


@dataclass(frozen=True)
class Proposed:
    """A part under an id of its own. origin: where it comes from, in words."""

    id: str
    part: Part
    known: HowKnown
    origin: str


def make_part(kind: str, facts: Mapping[str, Any], *, known: str = "catalogue") -> Part:
    """A part of that kind from its facts as a file would write them. Raises ChangeRefused."""
    try:
        return part_kinds()[kind].model_validate(
            {"kind": kind, **facts}, context={"how": known, "catalogue": {}}
        )
    except ValidationError as error:
        detail = error.errors(include_url=False)[0]
        raise ChangeRefused(f"{kind} {in_one_line(detail)}") from None


def with_proposed(state: State, parts: Iterable[Proposed]) -> State:
    """The same state, of a build that also knows these parts. Raises ChangeRefused: id taken."""
    build: Build = state.build
    given = tuple(parts)
    for one in given:
        if one.id in build.parts and build.parts[one.id] is not one.part:
            raise ChangeRefused(f"{one.origin}: the id {one.id!r} is taken by another part")
    return replace(
        state,
        build=replace(
            build,
            parts={**build.parts, **{p.id: p.part for p in given}},
            part_known={**build.part_known, **{p.id: p.known for p in given}},
            part_files={**build.part_files, **{p.id: p.origin for p in given}},
        ),
    )
