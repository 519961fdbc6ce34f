"""All that is said of a plan: how the car stands, what is shared and saved, the ways back."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.examine import OpenBuild
from drybuild.work.lessons import Lessons
from drybuild.work.model import Need, NoPlan, Plan, Problem, ToDo
from drybuild.work.openings import Comparison, Opening, compare, openings
from drybuild.work.risk import Outlook
from drybuild.work.standing import Standing, Stop, at_end, standing
from drybuild.work.wayback import WayBack, ways_back


@dataclass(frozen=True, slots=True)
class Needed:
    """A use that the owner needs, and how the car stands at the moment it is needed.

    chance: that the day is made, 0 to 1, from the plan carried out many times; None: not looked at.
    It covers nothing that is supposed. enough: share of draws in which all that is computed for the
    use is enough at once, as known today; None where nothing is.
    """

    need: Need
    standing: Standing
    chance: float | None = None
    enough: float | None = None

    @property
    def met(self) -> bool:
        """Whether nothing recorded stops the use; hand checks may still be owed."""
        return self.need.use not in self.standing.stopped

    @property
    def stopped_by(self) -> tuple[Stop, ...]:
        """What stops the use and would stop it whatever turned out of what is not known yet."""
        return tuple(s for s in self.standing.stopping(self.need.use) if not s.waits_for)

    @property
    def supposed(self) -> tuple[Stop, ...]:
        """What stops the use only by what nobody knows yet: the plan supposes that it turns out
        well. The car stays stopped until it is known."""
        return tuple(s for s in self.standing.stopping(self.need.use) if s.waits_for)


@dataclass(frozen=True)
class Answer:
    """A plan and what follows from it. ends: session id → the car when that session is over.

    greedy: the same work grouped by region of the car and nothing else, or why there is no such
    plan; against: how the two differ. left: the car as it stands, where nothing is left to plan.
    outlook: how sure the plan is, where it was looked at.
    """

    todo: ToDo
    plan: Plan
    needed: tuple[Needed, ...]
    ends: tuple[tuple[str, Standing], ...]
    openings: tuple[Opening, ...]
    greedy: Plan | NoPlan | None
    against: Comparison | None
    back: tuple[WayBack, ...]
    left: Standing | None = None
    outlook: Outlook | None = None


def answer(
    opened: OpenBuild,
    todo: ToDo,
    plan: Plan,
    *,
    greedy: Plan | NoPlan | None = None,
    outlook: Outlook | None = None,
    lessons: Lessons | None = None,
) -> Answer:
    """What is said of a plan. Examines the car at every need and at every session's end.

    greedy: another plan of the same problem, to compare it with. outlook: of this plan.
    lessons: what examined the plan, so that no state is examined twice.
    """
    problem = todo.problem
    if lessons is None:
        lessons = Lessons(opened.state("now"), opened.registry, problem.jobs)
    chances = {n.need: n.chance for n in outlook.needs} if outlook is not None else {}
    needed = tuple(
        _needed(problem, plan, n, lessons, chances.get(n)) for n in problem.needs
    )
    ends = tuple((s.id, at_end(problem, plan, s.id, lessons=lessons)) for s in problem.sessions)
    against = compare(problem, plan, greedy) if isinstance(greedy, Plan) else None
    return Answer(
        todo, plan, needed, ends, openings(problem, plan), greedy, against,
        ways_back(problem, plan, lessons),
        None if plan.steps else standing(problem, plan, 0, lessons=lessons), outlook,
    )  # fmt: skip


def _needed(
    problem: Problem, plan: Plan, need: Need, lessons: Lessons, chance: float | None
) -> Needed:
    car = standing(problem, plan, need.until, lessons=lessons)
    enough = lessons.examination(car.done).use(need.use).joint_chance
    return Needed(need, car, chance, enough)
