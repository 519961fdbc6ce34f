"""The plan kept in the build's folder, so that cards refer to it and replanning keeps near to it.

``plan.json`` says in ISO times what ``Plan`` says in quarters, with the fingerprints of what it was
made from: the build's files, and the head of the journal.
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from drybuild.build import BuildProblem
from drybuild.build.worded import in_one_line
from drybuild.examine import OpenBuild
from drybuild.journal.chain import printed
from drybuild.work.model import Plan, Problem
from drybuild.work.numbering import Numbers

NAME = "plan.json"
FORMER = "plan.before.json"
"""The plan that the kept one took the place of: the way back to it is one step."""

QUIET = ("torque", "fill", "bag", "tag", "remark")
"""Entries of the journal that no plan turns on."""

FORMAT = 1
"""Version of the file; one of a later version is refused, not guessed at."""

_QUARTER = timedelta(minutes=15)
_PLAN = TypeAdapter(Plan)


class PlanProblem(BuildProblem):
    """There is no kept plan, or it cannot be read; the text says what would do."""


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """What a plan rests on. files: hash of the build's files; journal: its head."""

    files: str
    journal: str


@dataclass(frozen=True, slots=True)
class Kept:
    """A plan as kept. made: when; rests_on: the build that it was made from; numbers: of cards that
    may be on paper, see ``numbering``."""

    plan: Plan
    made: datetime
    rests_on: Fingerprint
    numbers: Numbers = field(default_factory=dict)


def fingerprint(opened: OpenBuild) -> Fingerprint:
    """What a plan that is made now rests on."""
    return Fingerprint(opened.build.inputs_hash, str(opened.journal.head()))


def stale(opened: OpenBuild, kept: Kept) -> tuple[str, ...]:
    """In words, what has changed since the plan was made; empty when nothing has."""
    now = fingerprint(opened)
    said = []
    if now.files != kept.rests_on.files:
        said.append("the build's files have changed since the plan was made")
    if now.journal != kept.rests_on.journal and not _nothing_turns(opened, kept.rests_on.journal):
        said.append("the journal has entries that the plan does not know of")
    return tuple(said)


def _nothing_turns(opened: OpenBuild, head: str) -> bool:
    """Whether all that was written since that head moves no task: hand checks, figures, remarks,
    and what was taken back again."""
    found = printed(head)
    upto = found[0] if found else 0
    if upto and not opened.journal.holds(head):
        return False
    since = [e for e in opened.journal.entries() if e.id > upto]
    if any(0 < int(e.body["entry"]) <= upto for e in since if "entry" in e.body):
        return False
    return all(
        e.kind in QUIET
        or (e.kind == "deed" and {c["kind"] for c in e.body["changes"]} == {"verify"})
        for e in opened.journal.standing() if e.id > upto
    )  # fmt: skip


def unknown(problem: Problem, plan: Plan) -> tuple[str, ...]:
    """Steps of a plan that the problem knows nothing of any more, by their keys."""
    sessions = {session.id for session in problem.sessions}
    known: dict[str, Collection[str]] = {
        "take": problem.components, "refit": problem.components, "job": problem.jobs,
        "clear": [name for name, e in problem.effects.items() if e.clearing is not None],
    }  # fmt: skip
    return tuple(
        step.key
        for step in plan.steps
        if step.session not in sessions or step.what not in known[step.kind]
    )


def plan_data(problem: Problem, plan: Plan) -> dict[str, Any]:
    """A plan as plain data, its times as dates: what ``plan_from`` reads."""
    data: dict[str, Any] = asdict(plan)
    for step in data["steps"]:
        for end in ("start", "end"):
            step[end] = problem.at(step[end]).isoformat(timespec="minutes")
    for row in (*data["ends"], *data["clauses"]):
        row.update({k: sorted(v) for k, v in row.items() if isinstance(v, frozenset)})
    return data


def plan_from(problem: Problem, data: Any) -> Plan:
    """The plan that plain data says, its times in the quarters of this problem.

    Raises PlanProblem with everything that is amiss.
    """
    try:
        rows = [{**step, "start": 0, "end": 0} for step in data["steps"]]
        plan = _PLAN.validate_python({**data, "steps": rows})
        times = [
            (_quarter(problem, s["start"]), _quarter(problem, s["end"])) for s in data["steps"]
        ]
    except ValidationError as error:
        raise PlanProblem("\n".join(map(in_one_line, error.errors()))) from None
    except (KeyError, TypeError, ValueError) as error:
        raise PlanProblem(f"its steps cannot be read: {error!r}"[:200]) from None
    steps = tuple(
        replace(step, start=start, end=end)
        for step, (start, end) in zip(plan.steps, times, strict=True)
    )
    return replace(plan, steps=steps)


def _quarter(problem: Problem, text: str) -> int:
    return round((datetime.fromisoformat(text) - problem.zero) / _QUARTER)


def keep(
    opened: OpenBuild,
    problem: Problem,
    plan: Plan,
    *,
    rests_on: Fingerprint | None = None,
    numbers: Numbers | None = None,
    now: datetime | None = None,
) -> Path:
    """Write a plan into the folder, whole or not at all. Returns the file.

    rests_on: taken before the planning began, for somebody may write while it goes on; unset: now.
    numbers: that its cards keep; unset: they are numbered from 1.
    """
    rests_on, steps = rests_on or fingerprint(opened), plan_data(problem, plan)
    data = {
        "format": FORMAT,
        "made": (now or datetime.now()).isoformat(timespec="seconds"),
        "files": rests_on.files,
        "journal": rests_on.journal,
        **({"cards": dict(numbers)} if numbers else {}),
        "plan": steps,
    }
    path = opened.build.root / NAME
    before = path.with_name(FORMER)
    if path.is_file() and (_turns(path, steps) or not before.is_file()):
        _write(before, path.read_text(encoding="utf-8"))
    _write(path, json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n")
    return path


def _write(path: Path, text: str) -> None:
    """All of it or nothing."""
    new = path.with_name(f"{path.name}.{os.getpid()}.new")
    new.unlink(missing_ok=True)
    try:
        with new.open("x", encoding="utf-8") as file:  # no link that came with the folder
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    finally:
        new.unlink(missing_ok=True)


def _turns(path: Path, data: Mapping[str, Any]) -> bool:
    """Whether a plan has anything that the one in the file has not; less is only what was done."""
    try:
        steps = json.loads(path.read_text(encoding="utf-8"))["plan"]["steps"]
    except (ValueError, RecursionError, KeyError, TypeError):
        return False  # nothing to go back to
    written = json.loads(json.dumps(data["steps"]))
    return not isinstance(steps, list) or any(step not in steps for step in written)


def former(opened: OpenBuild) -> datetime | None:
    """When the plan was made that the kept one took the place of; None where there is none to go
    back to, or where the kept one is the rest of it."""
    try:
        data = _data(opened, FORMER)
    except PlanProblem:
        return None
    if data is None or is_rest(opened):
        return None
    return datetime.fromisoformat(data["made"])


def is_rest(opened: OpenBuild) -> bool:
    """Whether the kept plan has nothing that the plan before has not: some of that was done."""
    try:
        data = _data(opened)
        path = opened.build.root / FORMER
        return data is not None and path.is_file() and not _turns(path, data["plan"])
    except (PlanProblem, KeyError, TypeError):
        return False


def take_former(opened: OpenBuild) -> Path:
    """The plan before in the place of the kept one, which is then the plan before unless it was
    the rest of it. Raises PlanProblem where there is none, or none that can be read."""
    path = opened.build.root / NAME
    if _data(opened, FORMER) is None:
        raise PlanProblem("there is no plan before this one to take again")
    before, rest = path.with_name(FORMER), is_rest(opened)
    now = path.read_text(encoding="utf-8") if path.is_file() else ""
    _write(path, before.read_text(encoding="utf-8"))
    if now and not rest:
        _write(before, now)
    return path


@dataclass(frozen=True, slots=True)
class Made:
    """What a kept plan says of itself before a problem is there to read it by.

    entries: how many the journal had; begins: its first step, None if it has none.
    """

    made: datetime
    entries: int
    begins: datetime | None


def made(opened: OpenBuild, name: str = NAME) -> Made | None:
    """When and from what the kept plan was made, or None where there is none.

    Raises PlanProblem.
    """
    data = _data(opened, name)
    if data is None:
        return None
    head = printed(_of(data, "journal", str))
    try:
        steps = [datetime.fromisoformat(step["start"]) for step in data["plan"]["steps"]]
    except (KeyError, TypeError, ValueError) as error:
        raise PlanProblem(f"{NAME} cannot be read: {error!r:.80}. {_AGAIN}") from None
    return Made(
        datetime.fromisoformat(data["made"]), head[0] if head else 0, min(steps, default=None)
    )


def read(opened: OpenBuild, problem: Problem, name: str = NAME) -> Kept | None:
    """The plan kept in the folder, or None where there is none. Raises PlanProblem."""
    data = _data(opened, name)
    if data is None:
        return None
    try:
        plan = plan_from(problem, data.get("plan"))
    except PlanProblem as error:
        raise PlanProblem(f"{NAME} cannot be read:\n{error}\n{_AGAIN}") from None
    rests_on = Fingerprint(_of(data, "files", str), _of(data, "journal", str))
    return Kept(plan, datetime.fromisoformat(data["made"]), rests_on, _numbers(data))


def numbers(opened: OpenBuild) -> Numbers:
    """The numbers that the kept plan's cards keep; none where there is no plan. Raises
    PlanProblem."""
    data = _data(opened)
    return _numbers(data) if data is not None else {}


def _numbers(data: Any) -> Numbers:
    found = data.get("cards", {})
    if not isinstance(found, dict) or not all(
        isinstance(n, int) and not isinstance(n, bool) and n > 0 for n in found.values()
    ):
        raise PlanProblem(f"{NAME}: cards: expected numbers from 1, by task. {_AGAIN}")
    return found


def _data(opened: OpenBuild, name: str = NAME) -> Any:
    """What the file holds, when it is one of ours; None where there is none."""
    path = opened.build.root / name
    if not path.is_file():
        return None
    again = f". {_AGAIN}" if name == NAME else ""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        datetime.fromisoformat(_of(data, "made", str))
    except (ValueError, RecursionError, PlanProblem) as error:
        raise PlanProblem(f"{name} cannot be read: {error}{again}") from None
    if _of(data, "format", int) != FORMAT:
        raise PlanProblem(
            f"{name} is of format {data['format']}; this tool reads {FORMAT}{again}"
        )
    return data


_AGAIN = "Make it anew: drybuild plan DIR"


def _of(data: Any, key: str, kind: type) -> Any:
    found = data.get(key) if isinstance(data, Mapping) else None
    if not isinstance(found, kind):
        raise PlanProblem(f"{NAME}: {key}: found {found!r}, expected a {kind.__name__}. {_AGAIN}")
    return found
