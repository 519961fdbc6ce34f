"""Tasks of the plan as somebody names them: by key, by the number of a card, by title or part."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from drybuild.cli.refused import Refused

if TYPE_CHECKING:
    from drybuild.work.model import Plan, Problem, Step, ToDo

_CARD = re.compile(r"card\s*(\d+)", re.IGNORECASE)
_NUMBER = re.compile(r"\d{1,4}")
MOST = 40


@dataclass(frozen=True)
class Named:
    """The plan as it is spoken of. problem: that its cards are cut by; left: its steps that
    are not written down; numbers: that cards keep; back: keys of tasks that it counts as done and
    that were taken back since; folder: as it was typed."""

    todo: ToDo
    problem: Problem
    plan: Plan
    left: tuple[Step, ...]
    numbers: Mapping[str, int] = field(default_factory=dict)
    back: frozenset[str] = frozenset()
    folder: str = ""

    def steps(self, words: Sequence[str]) -> list[Step]:
        """What the words name, each or all together; a title is one, whatever else its words name.
        Raises Refused."""
        if len(words) > 1 and (titled := self._exactly(" ".join(words))):
            return [self._only(" ".join(words), titled)]
        found: list[Step] = []
        unknown = []
        waiting = list(words)
        while waiting:
            word = waiting.pop(0)
            if word.lower() == "card" and waiting and _NUMBER.fullmatch(waiting[0]):
                word = f"card {waiting.pop(0)}"
            card = _CARD.fullmatch(word.strip()) or _NUMBER.fullmatch(word.strip())
            if card is not None:
                found += self._card(int(card[card.re.groups]))
                continue
            step = self._keyed(word)
            if step is not None:
                found.append(step)
            else:
                unknown.append(word)
        if not unknown:
            return found
        if len(words) > 1 and not found:
            whole = self._titled(" ".join(words))
            if whole:
                return [self._only(" ".join(words), whole)]
        return found + [self._one(word) for word in unknown]

    def card_of(self, step: Step) -> int:
        """The number of the card that a step is on; 0 where it is on none."""
        return next((n for n, steps in self._cut.items() if step in steps), 0)

    def title(self, step: Step) -> str:
        """What a step is, in words."""
        from drybuild.work.openings import title_of

        return title_of(self.problem, step, self.todo.notes)

    def lines(self, steps: Collection[Step]) -> list[str]:
        """Each with its card and what one types for it."""
        from drybuild.show.lines import wrapped

        places = {number: n for n, number in enumerate(self._cut)}
        on = sorted((places.get(self.card_of(s), -1), n, s) for n, s in enumerate(steps))
        said = [f"  card {self.card_of(s)}  {self.title(s)}  [{typed(s)}]" for *_, s in on]
        return [line for one in said[:MOST] for line in wrapped(one, 10)]

    @cached_property
    def _cut(self) -> dict[int, tuple[Step, ...]]:
        """The cards by their numbers, in order."""
        from drybuild.work.numbering import as_printed, numbered
        from drybuild.work.stretches import stretches

        cut = as_printed(stretches(self.problem, self.plan), self.numbers)
        return dict(zip(numbered(cut, self.numbers), cut, strict=True))

    def _card(self, number: int) -> list[Step]:
        cut = self._cut
        if number not in cut:
            raise Refused(self.no_card(number))
        found = [step for step in cut[number] if step in self.left]
        if not found:
            raise Refused(f"card {number} is written down already")
        return found

    def no_card(self, number: int) -> str:
        """That no card has a number, which have, and under which its work is now."""
        from drybuild.show.cards_words import moved_lines
        from drybuild.work.numbering import moved

        on = {name.partition(" ")[2] for name, n in self.numbers.items() if n == number}
        if self.back & on:
            return (
                f"card {number} was done when the plan was made, and is taken back since: no card "
                f"has its tasks. Plan again first: drybuild plan {self.folder}"
            )  # fmt: skip
        there = moved(number, self.numbers, self._cut)
        now = moved_lines(there, self.title, self.problem)
        return no_card(number, self._cut, self.numbers.values(), now)

    def _keyed(self, word: str) -> Step | None:
        """The next turn of the task with this key, or of the job with this id."""
        steps = (*self.left, *self.plan.steps)
        return next(
            (s for s in steps if word in (s.key, s.what if s.kind == "job" else "")), None
        )  # fmt: skip

    def _titled(self, text: str) -> list[Step]:
        """The next turn of each task whose title is this, or else has all of its words."""
        wanted = set(_plain(text))
        if not wanted:
            return []
        exact = self._exactly(text)
        return exact or [s for s in self._next if wanted <= set(_plain(self.title(s)))]

    def _exactly(self, text: str) -> list[Step]:
        return [s for s in self._next if _plain(self.title(s)) == _plain(text)]

    @cached_property
    def _next(self) -> tuple[Step, ...]:
        """The next turn of each task."""
        first: dict[str, Step] = {}
        for step in self.left:
            first.setdefault(step.key, step)
        return tuple(first.values())

    def _one(self, word: str) -> Step:
        found = self._titled(word)
        if not found:
            raise Refused("\n".join(self._unknown(word)))
        return self._only(word, found)

    def _only(self, text: str, found: list[Step]) -> Step:
        if len(found) > 1:
            raise Refused("\n".join([f"{text!r} may be any of these:", *self.lines(found)]))
        return found[0]

    def _unknown(self, word: str) -> list[str]:
        """That no task is named so, and what there is: all of the next session, and later jobs."""
        from drybuild.build.errors import nearest
        from drybuild.show.cards_words import short_day

        keys = tuple(dict.fromkeys(typed(step) for step in self.plan.steps))
        lines = [f"no task {word!r} in the plan. {nearest(word, keys)}".strip()]
        if not self.left:
            return lines
        session = self.left[0].session
        day = short_day(self.problem.at(self.left[0].start))
        here = [step for step in self.left if step.session == session]
        lines += [
            f"Next, {day}; say card 1, a title or part of it, or what stands in [ ]:",
            *self.lines(here),
        ]
        later = [s for s in self.left if s.session != session and s.kind == "job"]
        jobs = [f"  {name}: {self.problem.jobs[name].title}" for name in
                dict.fromkeys(s.what for s in later)]  # fmt: skip
        return [*lines, *(["Jobs after it:", *jobs] if jobs else [])]


def no_card(
    number: int, there: Iterable[int], known: Iterable[int] = (), now: Sequence[str] = ()
) -> str:
    """That no card has a number, and which have; known: numbers that cards had before; now: where
    the work of that one is."""
    from drybuild.show.lines import numbers_text

    have = sorted(there)
    if number in set(known) and now:
        return "\n".join([f"card {number} is not in the plan any more; of its work", *now,
                          f"there are {numbers_text(have)}"])  # fmt: skip
    if number in set(known):
        said = f"card {number} is not in the plan any more: its tasks are done, or moved"
    else:
        said = f"no card {number}"
    return f"{said}; there are {numbers_text(have)}" if have else said


def typed(step: Step) -> str:
    """A step as one types it."""
    return step.what if step.kind == "job" else step.key


def _plain(text: str) -> tuple[str, ...]:
    return tuple(re.findall(r"[^\W_]+", text.casefold()))
