"""The JSON of ``plan``, ``cards``, ``done``, ``while-apart`` and ``quote``: stable and versioned.

Times are local, as dates with minutes; working times are hours; money is in the build's currency.
Keys are only ever added within a version.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import Any

from drybuild.examine.uses import Owed
from drybuild.findings.words import uses
from drybuild.work.answer import Answer, Needed
from drybuild.work.half_done import half_done
from drybuild.work.model import (
    Aim,
    Clause,
    NoPlan,
    Notes,
    Plan,
    Problem,
    Relaxation,
    Session,
    Step,
    ToDo,
)
from drybuild.work.openings import Comparison, Opening, hours_of, title_of
from drybuild.work.standing import Standing, Stop
from drybuild.work.wayback import WayBack

FORMAT = 1


def head(kind: str, *, build: str, version: str) -> dict[str, Any]:
    """What every answer begins with. kind: which answer it is."""
    return {"format": FORMAT, "tool": f"drybuild {version}", "answer": kind, "build": build}


def plan_json(said: Answer, *, build: str, version: str) -> dict[str, Any]:
    """The whole answer of ``plan``."""
    problem, plan = said.todo.problem, said.plan
    ends = dict(said.ends)
    return {
        **head("plan", build=build, version=version),
        "seed": plan.seed,
        "percentile": problem.percentile,
        "first": list(problem.first),
        "aims": [aim_json(a) for a in plan.aims],
        "needed": [_needed(problem, n) for n in said.needed],
        "half_done": [plain(one) for one in half_done(problem, ends)],
        **supposed_json(plan),
        "sessions": [_session(said.todo, plan, s, ends[s.id]) for s in problem.sessions],
        "openings": [_opening(problem, o) for o in said.openings],
        "clauses": [clause_json(c) for c in plan.clauses],
        "against_regions": _against(said.against),
        "ways_back": [way_back_json(problem, w) for w in said.back],
    }


def supposed_json(plan: Plan | NoPlan) -> dict[str, Any]:
    """What a plan takes to turn out well though nobody knows yet, and what to measure for it."""
    if isinstance(plan, NoPlan):
        return {"supposed": [], "measure_first": [plain(one) for one in plan.measure]}
    return {
        "supposed": [plain(one) for one in plan.supposed],
        "measure_first": [plain(one) for one in plan.measure],
    }


def no_plan_json(said: NoPlan, *, build: str, version: str) -> dict[str, Any]:
    """The answer of ``plan`` when there is none."""
    return {
        **head("no plan", build=build, version=version),
        "why": list(said.why),
        "measure_first": [plain(one) for one in said.measure],
        "relax": [relax_json(r) for r in said.relax],
        "clauses": [clause_json(c) for c in said.clauses],
        "still_stopped": [clause_json(c) for c in said.still],
    }


def aim_json(aim: Aim) -> dict[str, Any]:
    """One objective with its bound."""
    return {
        "name": aim.name, "value": rounded(aim.value), "bound": rounded(aim.bound),
        "unit": aim.unit, "gap": rounded(aim.gap), "proven": aim.proven,
        "near": aim.near,
    }  # fmt: skip


def relax_json(one: Relaxation) -> dict[str, Any]:
    """What would make a plan possible."""
    return {
        "kind": one.kind, "what": one.what, "words": one.words, "at_least": one.at_least,
        "why": one.why,
    }  # fmt: skip


def _needed(problem: Problem, needed: Needed) -> dict[str, Any]:
    return {
        "use": needed.need.use,
        "after": needed.need.session,
        "at": at(problem, needed.need.until),
        "met": needed.met,
        "chance": rounded(needed.chance),
        "enough": rounded(needed.enough),
        "stopped_by": [stop_json(s) for s in needed.stopped_by],
        "supposed": [stop_json(s) for s in needed.supposed],
        "records_owed": [owed_json(o) for o in needed.standing.owed_for(needed.need.use)],
    }


def stop_json(stop: Stop) -> dict[str, Any]:
    """A reason why something may not be done. lift: the next physical action."""
    return {"uses": list(stop.uses), "kind": stop.kind, "why": stop.why, "lift": stop.lift}


def owed_json(owed: Owed) -> dict[str, Any]:
    """A hand check still to be made and written down."""
    return {
        "record": owed.record, "title": owed.title, "evidence": list(owed.evidence),
        "second_person": owed.second_person,
    }  # fmt: skip


def _session(todo: ToDo, plan: Plan, session: Session, standing: Standing) -> dict[str, Any]:
    problem = todo.problem
    return {
        "id": session.id,
        "title": session.title,
        "start": at(problem, session.start),
        "end": at(problem, session.end),
        "people": [
            {"name": p.name, "start": at(problem, p.start), "end": at(problem, p.end)}
            for p in session.people
        ],
        "steps": [step_json(problem, s, todo.notes) for s in plan.of(session.id)],
        "then": {
            "off": list(standing.off),
            "pending": list(standing.pending),
            "allowed": [u.name for u in uses() if u.name not in standing.stopped],
            "stops": [stop_json(s) for s in standing.stops],
        },
    }


def step_json(
    problem: Problem, step: Step, notes: Mapping[str, Notes] | None = None
) -> dict[str, Any]:
    """One step of a plan. person_hours: as planned; ways: chosen where there was a choice."""
    return {
        "key": step.key,
        "title": title_of(problem, step, notes),
        "start": at(problem, step.start),
        "end": at(problem, step.end),
        "who": list(step.who),
        "person_hours": hours_of(problem, step),
        "ways": [[str(c) for c in way] for way in step.ways],
    }


def _opening(problem: Problem, opening: Opening) -> dict[str, Any]:
    taken, refitted = opening.taken, opening.refitted
    return {
        "component": opening.component,
        "title": opening.title,
        "from": at(problem, taken.start) if taken is not None else None,
        "to": at(problem, refitted.end) if refitted is not None else None,
        "serves": list(opening.serves),
        "behind": list(opening.behind),
    }


def clause_json(clause: Clause) -> dict[str, Any]:
    """What an examination taught."""
    return {
        "use": clause.use, "done": sorted(clause.done), "not_done": sorted(clause.not_done),
        "why": clause.why, "check": clause.check, "subject": clause.subject,
        "waits_for": clause.waits_for,
    }  # fmt: skip


def _against(found: Comparison | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "hours": found.hours,
        "hours_by_region": found.other_hours,
        "saved_share": rounded(found.saved_share),
        "finish": found.finish,
        "days_by_region": found.other_days,
        "parts": [
            {
                "key": r.key, "title": r.title, "times": r.times, "times_by_region": r.other_times,
                "saved_hours": r.saved,
            }
            for r in found.rows
        ],
    }  # fmt: skip


def way_back_json(problem: Problem, way: WayBack) -> dict[str, Any]:
    """The way back from the fullest moment of a session."""
    return {
        "session": way.session,
        "at": at(problem, way.at),
        "to": way.to or "now",
        "steps": [step.key for step in way.steps],
        "undone": list(way.undone),
        "hours": way.hours,
        "why": way.why,
    }


def at(problem: Problem, quarter: int) -> str:
    """A quarter as a date with minutes."""
    return problem.at(quarter).isoformat(timespec="minutes")


def rounded(value: float | None, digits: int = 9) -> float | None:
    """Nine significant figures: what two machines agree on; None for what is not finite."""
    if value is None or value != value or value in (float("inf"), float("-inf")):
        return None
    return float(f"{value:.{digits}g}")


def plain(value: Any) -> Any:
    """Data classes, and what they hold, as JSON: numbers to nine figures, sets in order."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, frozenset | set):
        return sorted(plain(one) for one in value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    if isinstance(value, Iterable) and not isinstance(value, str):
        return [plain(one) for one in value]
    if isinstance(value, float):
        return rounded(value)
    return value
