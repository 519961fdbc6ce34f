"""Of several work sessions that were named to be longer, the single one that is enough."""

from __future__ import annotations

import saturdays as sat

from drybuild.work.longer import one_longer
from drybuild.work.model import Plan, Problem, Relaxation

THREE = tuple(sat.saturday(number) for number in (1, 2, 3))
ALL = Relaxation("time", "sat-1+sat-2+sat-3", "4 hours more on all of them")


def made(new: str = "bay") -> tuple[Problem, Plan]:
    """A stud found beside the turbocharger of the second Saturday, after that was planned."""
    jobs = [
        sat.job("wheels", sat.fixed(1.0), region="corners"), sat.job("turbo", sat.fixed(1.0)),
        sat.job("stud", sat.fixed(1.0), region=new),
    ]  # fmt: skip
    problem = sat.problem(jobs=jobs, sessions=THREE)
    rows = (("job:wheels", "sat-1", 0.0, "Ilse"), ("job:turbo", "sat-2", 0.0, "Ilse"))
    return problem, sat.plan(problem, *rows)


def hours(problem: Problem) -> dict[str, float]:
    """How much longer each session is than it was."""
    return {s.id: (s.end - t.end) / 4 for s, t in zip(problem.sessions, THREE, strict=True)}


class Looked:
    """Stands for the search: holds and lays out what a rule says, and remembers what was asked."""

    def __init__(self, enough) -> None:
        self.enough, self.asked = enough, []

    def laid(self, problem: Problem) -> bool | None:
        self.asked.append({k: h for k, h in hours(problem).items() if h})
        return True if self.enough(hours(problem)) else None


def tried(enough, near: bool = True, new: str = "bay") -> tuple[Relaxation, Looked]:
    problem, plan = made(new)
    looked = Looked(enough)
    found = one_longer(problem, ALL, plan if near else None, lambda more: True, looked.laid)
    return found, looked


def test_the_session_of_the_work_that_the_new_belongs_to_is_tried_first():
    found, looked = tried(lambda more: more["sat-2"] >= 2)
    assert looked.asked[0] == {"sat-2": 4.0}
    assert found.what == "sat-2"
    assert found.words == "2 hours more on Saturday 2 (until 19:00, Ilse and Marten)"


def test_where_half_is_not_shown_to_do_the_whole_is_said():
    found, _ = tried(lambda more: more["sat-2"] >= 3)
    assert found.words == "4 hours more on Saturday 2 (until 21:00, Ilse and Marten)"


def test_where_no_single_one_is_shown_to_do_what_was_said_stays():
    found, looked = tried(lambda more: sum(more.values()) > 6)
    assert found is ALL
    assert len(looked.asked) == 2  # each is a search: no more of them


def test_what_is_said_of_one_session_or_of_no_session_is_left_alone():
    problem, plan = made()
    for said in (Relaxation("time", "sat-1", "an hour"), Relaxation("need", "a+b", "do without")):
        assert one_longer(problem, said, plan, lambda more: True, lambda more: True) is said


def test_one_that_does_not_divide_the_work_is_not_searched():
    problem, plan = made()
    looked = Looked(lambda more: True)
    found = one_longer(
        problem, ALL, plan, lambda more: bool(hours(more)["sat-3"]), looked.laid
    )  # fmt: skip
    assert found.what == "sat-3"
    assert all(set(one) == {"sat-3"} for one in looked.asked)


def test_after_a_session_that_fell_through_the_next_is_tried_first():
    problem, _ = made()
    plan = sat.plan(problem, ("job:wheels", "sat-1", 0.0, "Ilse"), ("job:turbo", "sat-2", 0.0))
    left = sat.problem(jobs=problem.jobs.values(), sessions=(THREE[0], THREE[2]))
    said = Relaxation("time", "sat-1+sat-3", "both")
    asked = []

    def laid(more: Problem) -> bool:
        asked.append([s.end for s in more.sessions])
        return True

    near = Plan(tuple(s for s in plan.steps if s.what != "wheels"), plan.ends, ())
    assert one_longer(left, said, near, lambda more: True, laid).what == "sat-3"
    assert asked[0][0] == THREE[0].end
