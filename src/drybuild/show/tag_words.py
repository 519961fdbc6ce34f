"""Tags in words: those of one place and one command that hang at the same time are one tag."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from drybuild.show.cards_words import WHY_NOT, lift_text, more_text, why_text
from drybuild.work.cards import Card, number_of
from drybuild.work.hung import Hung, ended_by
from drybuild.work.sheets import Sheets
from drybuild.work.tags import Tag, place_of

ONCE = "once the engine is still, before anything is opened"
"""When a tag is hung that says that the engine must not run, by work that itself runs it."""

DRIVEN = "on the steering wheel"
"""Where a tag hangs that is for whoever has driven so far."""

Group = tuple[int, str, tuple[Hung, ...]]
"""Number of the card that hangs it, its command, and its reasons."""


def groups(cards: Iterable[Card], hung: Iterable[Hung]) -> list[Group]:
    """Tags that cards ask for: what one card hangs with the same first words is one."""
    known = tuple(cards)
    found: dict[tuple[int, str], list[Hung]] = {}
    for tag in hung:
        number = number_of(known, tag.by)
        if number is not None:
            found.setdefault((number, _parts(tag)[0]), []).append(tag)
    return [(number, command, tuple(tags)) for (number, command), tags in found.items()]


def hang_lines(card: Card, cards: Iterable[Card], hung: Iterable[Hung]) -> list[str]:
    """What a card hangs before it begins: ``DO NOT START: fuel system open, until card 8``."""
    known = tuple(cards)
    return [
        group_text(known, group, card)
        for group in groups(known, (tag for tag in hung if tag.by in card.steps))
    ]


def group_text(cards: tuple[Card, ...], group: Group, card: Card | None = None) -> str:
    """One tag in a line, each reason with the card that ends it. card: that it stands on."""
    _, command, tags = group
    reasons = [f"{_parts(tag)[1]}{_until(cards, tag, card)}" for tag in tags]
    said = f"{command}: {'; '.join(reasons)}" if _parts(tags[0])[1] else command + reasons[0]
    if tags[0].after:
        return f"{said} (hung {DRIVEN} when the work is done)"
    return f"{said} (hung {ONCE})" if _once(tags) else said


def when_hung(group: Group) -> str:
    """``before card 8``, ``when card 45 is done``."""
    number, _, tags = group
    if tags[0].after:
        return f"when card {number} is done"
    return f"on card {number}, {ONCE}," if _once(tags) else f"before card {number}"


def down_lines(card: Card) -> list[str]:
    """What comes down with a card, one line for each tag."""
    found: dict[str, list[str]] = {}
    for line in card.down:
        command, _, why = line.partition(":")
        found.setdefault(command, []).append(why.strip())
    return [f"{command}: {'; '.join(w for w in why if w)}".removesuffix(": ")
            for command, why in found.items()]  # fmt: skip


def paper_tags(sheets: Sheets, session: str, most: int) -> list[dict[str, Any]]:
    """The tags of a session as they are printed. most: reasons that one has room for.

    One that a card hangs and that hangs on after the session is that of the session's end.
    """
    here = groups(sheets.cards, (t for t in sheets.hung if t.by and t.by.session == session))
    ends = [tag for tag in sheets.tags if tag.session == session]
    joined: dict[str, list[Group]] = {}
    found = []
    for group in here:
        if group[1] in {tag.command for tag in ends} and hangs_on(group, session):
            joined.setdefault(group[1], []).append(group)
        else:
            found.append(_of_card(group, sheets))
    return found + [_of_end(t, sheets, joined.get(t.command, []), most) for t in ends]


def _of_card(group: Group, sheets: Sheets) -> dict[str, Any]:
    _, command, tags = group
    last = number_of(sheets.cards, ended_by(tags))
    return {
        "command": command, "place": DRIVEN if tags[0].after else place_of(command),
        "reasons": _reasons(group, sheets), "more": "", "until": f"card {last}" if last else "",
        "since": when_hung(group), "replaced": False,
    }  # fmt: skip


def _of_end(
    tag: Tag, sheets: Sheets, before: Sequence[Group], most: int
) -> dict[str, Any]:
    problem = sheets.todo.problem
    reasons = [{"why": words, "lift": ""} for words in tag.words]
    reasons += [
        {"why": why_text(stop), "lift": lift_text(stop, sheets.cards)} for stop in tag.stops
    ]
    lifted = {reason["lift"].partition(":")[0] for reason in reasons if reason["lift"]}
    reasons += [
        reason for group in before for reason in _reasons(group, sheets)
        if reason["lift"] not in lifted
    ]  # fmt: skip
    first = when_hung(before[0]) if before else ""
    return {
        "command": tag.command, "place": tag.place, "reasons": reasons[:most],
        "more": more_text(len(reasons) - most, WHY_NOT),
        "since": first or f"from {problem.session(tag.session).title}",
        "until": problem.session(tag.until).title if tag.until else "",
        "replaced": any(t.command == tag.command and t.session == tag.until for t in sheets.tags),
    }  # fmt: skip


def _reasons(group: Group, sheets: Sheets) -> list[dict[str, str]]:
    found = []
    for tag in group[2]:
        number = number_of(sheets.cards, tag.until)
        if why := _parts(tag)[1]:
            found.append({"why": why, "lift": f"card {number}" if number else ""})
    return found


def hangs_on(group: Group, session: str) -> bool:
    """Whether it hangs when the session ends."""
    return any(tag.until is None or tag.until.session != session for tag in group[2])


def _once(tags: Iterable[Hung]) -> bool:
    return any(tag.once for tag in tags)


def _parts(tag: Hung) -> tuple[str, str]:
    command, _, why = tag.line.partition(":")
    return command.strip(), why.strip()


def _until(cards: tuple[Card, ...], tag: Hung, card: Card | None) -> str:
    """With which card a reason ends; nothing where no card says so."""
    number = number_of(cards, tag.until)
    if number is None:
        return ""
    own = card is not None and number == card.number
    return ", until this card is done" if own else f", until card {number}"
