"""What the model does not bend: the explanation of a missing plan has a laxer one in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drybuild.work.model import Clause, Need, Problem
from drybuild.work.solve.tasks import Task

if TYPE_CHECKING:
    from drybuild.work.solve.marks import Marks, Spot
    from drybuild.work.solve.states import States


def need_name(need: Need) -> str:
    """What a need is called among the constraints."""
    return f"{need.use}@{need.session}"


def clause_name(clause: Clause) -> str:
    """What a clause is called among the constraints."""
    return f"{clause.use}:{'+'.join(sorted(clause.done))}-{'+'.join(sorted(clause.not_done))}"


class Strict:
    """Every constraint of the problem holds."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem

    def bind(self, model: Any) -> None:
        """Called with the model before anything else is asked."""

    def truth(self, kind: str, what: str) -> Any:
        """Whether a constraint is given up: 0, or a truth value that the solver may choose."""
        return 0

    def earliest(self, task: Task) -> int:
        """Quarter before which a task cannot begin, whatever the session."""
        return task.job.earliest if task.job is not None else 0

    def fits(self, task: Task, k: int) -> bool:
        """Whether a task may be in a session, by itself."""
        return task.fits(self.problem.sessions[k])

    def has(self, missing: tuple[str, ...], k: int) -> bool:
        """Whether a session may do without these tools, or get them."""
        return not missing

    def placed(self, states: Marks, task: Task, k: int) -> None:
        """Called for every task that may be in a session, when it has its truth value."""

    def timed(self, states: States, spot: Spot, start: Any) -> None:
        """Called for every task that may be in a session, when it has its start."""

    def more(self, k: int) -> Any:
        """Person-quarters that a session has beyond those of the problem."""
        return 0
