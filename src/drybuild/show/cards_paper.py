"""Cards, tags, lists and wall sheets on paper: one PDF, made to be kept.

What is worked with at the car is A5, in large type, with room at the edges for a wet-proof pouch
and boxes for a marker; what hangs on the wall is A4. Every word reaches the typesetter as data.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from textwrap import shorten
from typing import Any, Literal

from drybuild.examine import Owed
from drybuild.findings.words import uses
from drybuild.show.cards_text import KINDS, item_text, task_more, total_text
from drybuild.show.cards_words import (
    BY_HAND,
    CAUTION,
    HANDS,
    TIGHTENING,
    at_their_hour_text,
    before_lines,
    before_text,
    cards_text_of,
    clock,
    day_text,
    fingerprint_text,
    free_text,
    hands_due,
    hands_text,
    holds_shown,
    lift_text,
    lifted_where,
    more_text,
    part_text,
    place_text,
    renewable_text,
    short_day,
    span_text,
    uses_text,
    why_text,
    work_text,
)
from drybuild.show.drawing import PAPER, plain
from drybuild.show.duties import BEFORE, by_when, duty_text
from drybuild.show.holds_joined import Cause, causes, split
from drybuild.show.opened_car import opened_svg
from drybuild.show.tag_words import down_lines, hang_lines, paper_tags
from drybuild.show.tightening import figure_of, source_of
from drybuild.show.to_set import aim_text, foot_text, parts_text, wheel_text
from drybuild.show.typeset import (
    NOT_TO_KEEP,
    PaperExtraMissing,
    PaperRefused,
    SignMissing,
    pages_in,
    plain_words,
    pngs,
    to_file,
)
from drybuild.show.work_sheet import sheet_svg
from drybuild.show.work_supposed import supposed_line
from drybuild.values import System
from drybuild.work.cards import Card
from drybuild.work.sheets import Sheets
from drybuild.work.standing import Stop

__all__ = [
    "KINDS_OF_PAGE",
    "NOT_TO_KEEP",
    "PaperExtraMissing",
    "PaperRefused",
    "SignMissing",
    "contents",
    "pages_in",
    "pictures",
    "write",
]

Kind = Literal["list", "day", "cards", "hands", "holds", "opened", "tags"]
KINDS_OF_PAGE: tuple[Kind, ...] = ("list", "day", "cards", "hands", "holds", "opened", "tags")

HEAD = 52
"""Letters of a card's and its session's titles that the head of a page has room for."""

OWED_SHOWN, REASONS_SHOWN, CAUSES_SHOWN = 3, 3, 2
TEMPLATE = "cards.typ"
NOTHING = "nothing to put on paper: the plan has no such session or card"


def write(
    path: Path,
    sheets: Sheets,
    *,
    only: Iterable[Kind] = KINDS_OF_PAGE,
    session: str = "",
    numbers: Iterable[int] = (),
    system: System = "metric",
) -> str:
    """Write the PDF; returns what must be said of it, or nothing.

    only: kinds of page; session: only what belongs to it; numbers: only these cards. Raises
    PaperExtraMissing without the typesetting library, PaperRefused when it refuses.
    """
    content = contents(sheets, only=only, session=session, numbers=numbers, system=system)
    if not content["pages"]:
        raise PaperRefused(NOTHING)
    return to_file(path, TEMPLATE, content, made=sheets.imprint.made)


def pictures(content: dict[str, Any], *, made: datetime, resolution: float = 110.0) -> list[bytes]:
    """Each page as a PNG of so many dots an inch, to be looked at."""
    if not content["pages"]:
        raise PaperRefused(NOTHING)
    return pngs(TEMPLATE, content, made=made, resolution=resolution)


def contents(
    sheets: Sheets,
    *,
    only: Iterable[Kind] = KINDS_OF_PAGE,
    session: str = "",
    numbers: Iterable[int] = (),
    system: System = "metric",
) -> dict[str, Any]:
    """What the template sets, as plain data, every text on one line."""
    wanted, chosen = frozenset(only), frozenset(numbers)
    pages: list[dict[str, Any]] = []
    if "list" in wanted and not session and not chosen and (sheets.shopping.items or sheets.duties):
        pages.append(_list(sheets))
    for name in sheets.ends:
        if session in ("", name):
            pages += _session(sheets, name, wanted, chosen, system)
    imprint = sheets.imprint
    found = {
        "title": f"{imprint.build}: the work",
        "imprint": {
            "build": shorten(plain(imprint.build), 66, placeholder=" …"),
            "state": imprint.state, "journal": imprint.journal,
            "printed": f"{day_text(imprint.made)} {clock(imprint.made)}",
            "files": fingerprint_text(imprint.files),
        },
        "caution": CAUTION, "tightening": TIGHTENING, "pages": pages,
    }  # fmt: skip
    return {key: plain_words(value) for key, value in found.items()}


def _session(
    sheets: Sheets, name: str, wanted: frozenset[Kind], chosen: frozenset[int], system: System
) -> list[dict[str, Any]]:
    pages: list[dict[str, Any]] = []
    title = sheets.todo.problem.session(name).title
    if "day" in wanted and not chosen:
        alt = f"{title}: who does what when, and how the car ends the day"
        drawn = sheet_svg(sheets, name, face=PAPER, system=system)
        pages.append({"kind": "day", "svg": drawn, "alt": alt})
    if "cards" in wanted:
        pages += [
            _card(card, sheets, system) for card in sheets.cards
            if card.session == name and (not chosen or card.number in chosen)
        ]  # fmt: skip
    if chosen:
        return pages
    hands = _hands(sheets, name)
    if "hands" in wanted and hands["groups"]:
        pages.append(hands)
    holds = _all_holds(sheets, name)
    if "holds" in wanted and holds["groups"]:
        pages.append(holds)
    if "opened" in wanted and sheets.ends[name].off:
        alt = f"{title}: what is off the car, in the order in which it came off"
        pages.append({"kind": "opened", "svg": opened_svg(sheets, name, face=PAPER), "alt": alt})
    hung = paper_tags(sheets, name, REASONS_SHOWN)
    if "tags" in wanted and hung:
        pages.append({"kind": "tags", "tags": hung})
    return pages


def _card(card: Card, sheets: Sheets, system: System) -> dict[str, Any]:
    stops, _ = holds_shown(card.standing, most=len(card.standing.stops))
    found, more = split(causes(stops, sheets.cards, brief=True, named=1), CAUSES_SHOWN)
    shown = [stop for one in found for stop in one.stops]
    owed = _owed(card, sheets)
    more_at = lifted_where(card.standing, shown, sheets.cards, card.session)
    return {
        "kind": "card", "number": card.number, "place": place_text(card), "title": card.title,
        "short": shorten(
            plain(card.title), max(HEAD - len(card.session_title), 12), placeholder=" …"
        ),
        "session": card.session_title, "when": span_text(card.start, card.end),
        "who": hands_text(card), "hours": work_text(card),
        "cautions": [*_supposed(card, sheets), *_since(sheets), *card.cautions],
        "before": before_lines(card, sheets.cards), "bench": list(card.bench),
        "parts": [part_text(part) for part in card.parts],
        "renew": [renewable_text(one) for one in card.renew],
        "photograph": list(card.photograph), "bag": list(card.bag),
        "tasks": [
            {"at": clock(t.start), "title": t.title, "more": task_more(t),
             "brief": task_more(t, timed=False), "steps": list(t.steps)}
            for t in card.tasks
        ],
        "joints": [
            {
                "title": joint.title, "figure": figure_of(joint, system),
                "source": source_of(joint) if figure_of(joint, system) else "",
                "threads": joint.thread or "",
                "notes": ", ".join(
                    [*(["one-time: new ones"] if joint.one_time else []),
                     *(["car on its wheels"] if joint.laden else [])]
                ),
            }
            for joint in card.joints
        ],
        "to-set": [
            {"what": wheel_text(one), "aim": aim_text(one, system), "parts": parts_text(one)}
            for one in card.to_set
        ],
        "to-set-foot": foot_text(card) if card.to_set else "",
        "verify": list(card.verify), "makes": _said_once(card),
        "owed": _some(owed), "owed-brief": _briefly(owed),
        "tags": hang_lines(card, sheets.cards, sheets.hung), "down": down_lines(card),
        "holds": _by_uses(found),
        "holds-more": more_text(more, more_at),
        "free": free_text(card.standing),
    }  # fmt: skip


def _said_once(card: Card) -> list[dict[str, Any]]:
    """The records that a card makes; a caution that stands on it already is not said again."""
    said = {sentence for words in card.cautions for sentence in _sentences(words)}
    rows = []
    for owed in card.makes:
        fresh = [one for one in _sentences(owed.safety) if one not in said]
        said.update(fresh)
        rows.append({**_record(owed), "care": " ".join(fresh)})
    return rows


def _sentences(words: str) -> list[str]:
    return re.split(r"(?<=[.!?]) +(?=[A-Z])", words) if words else []


def _since(sheets: Sheets) -> list[str]:
    """What the plan does not know of, on every card: one lies alone at the car."""
    return [f"{sheets.since}."] if sheets.since else []


def _supposed(card: Card, sheets: Sheets) -> list[str]:
    """What the plan supposes, on the first card of all; the day's sheet says it as well."""
    line = supposed_line(sheets.plan) if card == sheets.cards[0] else ""
    return [f"{line}."] if line else []


def _owed(card: Card, sheets: Sheets) -> list[tuple[str, str]]:
    """The hand checks that a card makes owed, each with where it is written down: on a card, or on
    the page of its day."""
    due = hands_due(sheets)
    days = list(due)[list(due).index(card.session) :]
    found = []
    for owed in card.records:
        later = [
            c.number for c in sheets.cards[sheets.cards.index(card) + 1 :]
            if owed.record in {o.record for o in c.makes}
        ]  # fmt: skip
        where = cards_text_of(later[:1]) or BY_HAND
        day = next((d for d in days if owed.record in {o.record for o in due[d]}), card.session)
        if not later and day != card.session:
            where += f", {sheets.todo.problem.session(day).title}"
        found.append((owed.title, where))
    return found


def _some(owed: list[tuple[str, str]]) -> list[str]:
    """The first, each with where it is written down, and how many more there are and where."""
    lines = [f"{title} ({where})" for title, where in owed]
    more = len(lines) - OWED_SHOWN
    if more <= 1:
        return lines
    return [*lines[:OWED_SHOWN], f"{more} more: {_where(owed[OWED_SHOWN:])}"]


def _briefly(owed: list[tuple[str, str]]) -> str:
    """One line, or how many there are and where they stand."""
    if len(owed) > 1:
        return f"{len(owed)} hand checks: {_where(owed)}"
    return "".join(f"{title} ({where})" for title, where in owed)


def _where(owed: list[tuple[str, str]]) -> str:
    """The places of several, each once, the cards together."""
    places = [where for _, where in owed]
    numbers = [int(where.split()[1]) for where in places if where.startswith("card ")]
    pages = dict.fromkeys(where for where in places if not where.startswith("card "))
    return "; ".join(one for one in (cards_text_of(numbers), *pages) if one)


def _all_holds(sheets: Sheets, session: str) -> dict[str, Any]:
    """Every reason at a session's end, under the first use that it stops."""
    stops, _ = holds_shown(sheets.ends[session], most=len(sheets.ends[session].stops))
    title = sheets.todo.problem.session(session).title
    return {
        "kind": "holds", "title": f"Why not yet: {title}",
        "groups": [{"title": g["uses"], "rows": g["rows"]} for g in _holds(stops, sheets)],
    }  # fmt: skip


def _by_uses(found: list[Cause]) -> list[dict[str, Any]]:
    """Causes under the uses that they stop."""
    groups: dict[str, list[dict[str, str]]] = {}
    for one in found:
        groups.setdefault(one.uses, []).append({"why": one.why, "lift": one.lift})
    return [{"uses": said, "rows": rows} for said, rows in groups.items()]


def _holds(shown: list[Stop], sheets: Sheets) -> list[dict[str, Any]]:
    """Reasons under the uses that they stop."""
    groups: dict[str, list[dict[str, str]]] = {}
    for stop in shown:
        row = {"why": why_text(stop), "lift": lift_text(stop, sheets.cards)}
        groups.setdefault(uses_text(stop), []).append(row)
    return [{"uses": said, "rows": rows} for said, rows in groups.items()]


def _list(sheets: Sheets) -> dict[str, Any]:
    before = [
        {"by": short_day(by_when(duty, sheets)), "what": duty_text(duty, sheets), "more": []}
        for duty in sheets.duties
    ]  # fmt: skip
    groups = [{"title": BEFORE, "items": before}] if before else []
    for kind, title in KINDS.items():
        items = []
        for item in sheets.shopping.of(kind):
            what, *more = item_text(item, sheets).split(" · ")
            items.append({"by": short_day(item.have), "what": what, "more": more})
        if items:
            groups.append({"title": title, "items": items})
    return {
        "kind": "list", "title": "To get, and by when", "groups": groups,
        "total": total_text(sheets),
    }  # fmt: skip


def _hands(sheets: Sheets, session: str) -> dict[str, Any]:
    """Records to make by hand before the uses that are wanted after this session.

    What no use wants yet waits for the session after which one does, at the latest for the last.
    """
    day = sheets.todo.problem.session(session)
    groups = []
    due = hands_due(sheets)[session]
    for use in (u.name for u in uses()):
        records = [_record(o) for o in due if o.stops and o.stops[0] == use]
        if records:
            groups.append({"title": before_text(use), "records": records})
    return {
        "kind": "hands", "title": f"By hand: {day.title}",
        "words": " ".join(filter(None, (HANDS, at_their_hour_text(sheets, session)))),
        "groups": groups,
    }  # fmt: skip


def _record(owed: Owed) -> dict[str, Any]:
    cells: list[Any] = [
        ["seen: what, how much", 1.5] if wanted == "value" else [wanted, 1.0]
        for wanted in owed.evidence
    ]
    if owed.second_person:
        cells.append(["second person", 1.1])
    return {"title": owed.title, "care": owed.safety, "cells": cells}
