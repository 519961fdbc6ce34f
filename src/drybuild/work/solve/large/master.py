"""The boolean master as a whole: its objectives, where to begin, and its answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drybuild.work.solve.large.choice import Choice, choice
from drybuild.work.solve.large.master_core import Cut, Literal, MasterCore, opposite
from drybuild.work.solve.large.shape import Shape

if TYPE_CHECKING:
    from drybuild.work.cp import cp_model

__all__ = ["Cut", "Master", "singles", "stretches"]


class Master(MasterCore):
    """A model under construction. ``model`` is the solver's; ask ``read`` for the answer."""

    # -- objectives and answer -------------------------------------------------------------------

    def load(self) -> Any:
        """Person-quarters of all tasks, as an expression of the model."""
        return sum(
            self.shape.tasks[key].load * literal
            for (key, _), literal in self.task.items()
            if self.shape.tasks[key].load and not (isinstance(literal, int) and not literal)
        )

    def finish(self) -> Any:
        """Blocks up to the last that has a task, as an expression of the model."""
        later: Literal = 0
        reached: list[Literal] = []
        for block in reversed(range(len(self.blocks))):
            used = self._used(block)
            if isinstance(used, int) and not used:
                reached.append(later)
                continue
            if not isinstance(used, int) or not isinstance(later, int):
                new = self.model.new_bool_var("")
                self.clause((new, opposite(used)))
                self.clause((new, opposite(later)))
                later = new
            else:
                later = max(used, later)
            reached.append(later)
        return sum(reached)

    def _used(self, block: int) -> Literal:
        mine = [self.task[key, block] for key in self.shape.tasks]
        if any(isinstance(lit, int) and lit for lit in mine):
            return 1
        open_ones = [lit for lit in mine if not isinstance(lit, int)]
        if not open_ones:
            return 0
        used = self.model.new_bool_var("")
        self.model.add_max_equality(used, open_ones)
        return used

    def hint(self, wanted: Choice) -> None:
        """Tell the solver where to begin."""
        for variable, what, block, of in self._variables:
            sessions = self.blocks[block]
            if what == "task":
                value = any(of in wanted.chosen[session] for session in sessions)
            elif what == "off":
                value = of in wanted.off[sessions[-1]]
            else:
                value = of in wanted.pending[sessions[-1]]
            self.model.add_hint(variable, value)

    def read(self, solver: cp_model.CpSolver) -> Choice:
        """The answer. What is new in a block of several sessions stands in its last."""
        chosen: list[set[str]] = [set() for _ in self.shape.sessions]
        if self._now is not None:
            chosen = [set(keys) for keys in self._now.chosen]
        for (key, block), literal in self.task.items():
            if (key, block) in self._held_as_is:
                continue
            sessions = self.blocks[block]
            if not (literal if isinstance(literal, int) else solver.boolean_value(literal)):
                for session in sessions:
                    chosen[session].discard(key)
            elif not any(key in chosen[s] for s in sessions):
                chosen[max((s for s in sessions if s < self._until), default=-1)].add(key)
        return choice(self.shape, chosen)


def singles(shape: Shape) -> tuple[tuple[int, ...], ...]:
    """Every session a block of its own."""
    return tuple((k,) for k in range(len(shape.sessions)))


def stretches(shape: Shape) -> tuple[tuple[int, ...], ...]:
    """Blocks that end where a use is needed."""
    found: list[tuple[int, ...]] = []
    begun: list[int] = []
    for k in range(len(shape.sessions)):
        begun.append(k)
        if k in shape.needed or k == len(shape.sessions) - 1:
            found.append(tuple(begun))
            begun = []
    return tuple(found)
