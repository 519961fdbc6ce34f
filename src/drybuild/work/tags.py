"""Hold tags: what hangs in the car after a work session, so that nobody does what it must not.

A tag belongs to one use and hangs where that use begins: at the ignition switch, at the wheel. It
stays until every reason on it is lifted; one that the next session leaves as it is stays hanging.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from drybuild.findings.words import uses
from drybuild.work.cards import notes_of
from drybuild.work.hung import hung
from drybuild.work.model import Plan, ToDo
from drybuild.work.standing import Standing, Stop

COMMANDS = {
    "move": ("DO NOT MOVE", "at the hand brake"),
    "turn over": ("DO NOT CRANK", "over the ignition switch"),
    "run": ("DO NOT START", "over the ignition switch"),
    "creep": ("DO NOT DRIVE", "on the steering wheel"),
    "drive": ("DO NOT DRIVE ON THE ROAD", "on the steering wheel"),
    "full load": ("NO FULL LOAD", "on the steering wheel"),
}
"""What a tag says and where it hangs. Nobody competes by mistake: that use has none."""

ELSEWHERE = "where the work is"


def place_of(command: str) -> str:
    """Where a tag with these words hangs."""
    known = {said: place for said, place in COMMANDS.values()}
    return known.get(command) or next(
        (place for said, place in known.items() if command.startswith(said)), ELSEWHERE
    )


@dataclass(frozen=True, slots=True)
class Tag:
    """One tag. use: empty for one that the library words itself. session: at whose end it is hung;
    until: the session at whose end it no longer hangs, or empty."""

    command: str
    place: str
    use: str
    stops: tuple[Stop, ...]
    words: tuple[str, ...]
    session: str
    until: str = ""

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why, in words: the library's own first, then what stops the use."""
        said = (*self.words, *(stop.why for stop in self.stops))
        return tuple(dict.fromkeys(said))


def tags(todo: ToDo, plan: Plan, ends: Mapping[str, Standing]) -> tuple[Tag, ...]:
    """The tags to hang, session by session. ends: session id → the car at its end.

    A tag that hangs already is not hung twice while all that is left are reasons that stand on it;
    with a new reason, one with all of them takes its place.
    """
    found: list[Tag] = []
    hanging: dict[str, int] = {}
    for session in plan_sessions(plan):
        now = {tag.command: tag for tag in _at(todo, plan, session, ends[session])}
        for command in list(hanging):
            tag, old = now.get(command), found[hanging[command]]
            if tag is None or not set(tag.reasons) <= set(old.reasons):
                found[hanging.pop(command)] = replace(old, until=session)
        for command, tag in now.items():
            if command not in hanging:
                hanging[command] = len(found)
                found.append(tag)
    return tuple(found)


def plan_sessions(plan: Plan) -> tuple[str, ...]:
    """Sessions in which the plan does anything, in order."""
    return tuple(dict.fromkeys(step.session for step in plan.steps))


def _at(todo: ToDo, plan: Plan, session: str, car: Standing) -> list[Tag]:
    worded = _worded(todo, plan, car)
    found = []
    for use in (u.name for u in uses()):
        if use not in COMMANDS:
            continue
        command, place = COMMANDS[use]
        stops = tuple(s for s in car.stops if use in s.roots)
        words = tuple(worded.pop(command, {}))
        if stops or words:
            found.append(Tag(command, place, use, stops, words, session))
    found += [Tag(c, ELSEWHERE, "", (), tuple(words), session) for c, words in worded.items()]
    return found


def _worded(todo: ToDo, plan: Plan, car: Standing) -> dict[str, dict[str, None]]:
    """The library's own tags that hang: command → reasons (``DO NOT CRANK: fuel system open``).

    An effect's are left out: what is pending stops its uses, and stands on the tags of those.
    """
    found: dict[str, dict[str, None]] = {}
    for tag in hung(todo, plan):
        over = tag.until is not None and tag.until.end <= car.at
        own = tag.by is not None and tag.line in notes_of(todo, tag.by).tags
        if own and not over and tag.by is not None and tag.by.start < car.at:
            command, _, why = tag.line.partition(":")
            kept = found.setdefault(command.strip(), {})
            if why.strip():
                kept[why.strip()] = None
    return found
