"""The JSON of ``cards``: cards, hold tags and the shopping list."""

from __future__ import annotations

from typing import Any

from drybuild.examine.tightening import Joint
from drybuild.work.as_json import head, owed_json, plain, stop_json
from drybuild.work.cards import Card, Task
from drybuild.work.sheets import Sheets
from drybuild.work.shopping import Item, Shopping
from drybuild.work.tags import Tag
from drybuild.work.to_set import ToSet


def cards_json(sheets: Sheets, *, build: str, version: str) -> dict[str, Any]:
    """The whole answer of ``cards``."""
    return {
        **head("cards", build=build, version=version),
        "journal": sheets.imprint.journal,
        "files": sheets.imprint.files,
        "cards": [_card(card) for card in sheets.cards],
        "tags": [_tag(tag) for tag in sheets.tags],
        "beforehand": [
            {"words": duty.words, "session": duty.session, "tasks": [s.key for s in duty.steps]}
            for duty in sheets.duties
        ],
        "shopping": _shopping(sheets.shopping),
    }


def _card(card: Card) -> dict[str, Any]:
    return {
        "number": card.number,
        "title": card.title,
        "session": card.session,
        "start": plain(card.start),
        "end": plain(card.end),
        "who": list(card.who),
        "person_hours": plain(card.hours),
        "tasks": [_task(task) for task in card.tasks],
        "bench": list(card.bench),
        "parts": plain(card.parts),
        "renew": plain(card.renew),
        "cautions": list(card.cautions),
        "joints": [_joint(one) for one in card.joints],
        "to_set": [_to_set(one) for one in card.to_set],
        "photograph": list(card.photograph),
        "bag": list(card.bag),
        "verify": list(card.verify),
        "tags": list(card.tags),
        "records_made": [owed_json(one) for one in card.makes],
        "records_owed": [owed_json(one) for one in card.records],
        "holds": [stop_json(one) for one in card.standing.stops],
    }


def _task(task: Task) -> dict[str, Any]:
    return {
        "key": task.step.key,
        "title": task.title,
        "start": plain(task.start),
        "end": plain(task.end),
        "who": list(task.who),
        "steps": list(task.steps),
        "ways": list(task.ways),
        "wait_hours": plain(task.wait),
    }


def _joint(one: Joint) -> dict[str, Any]:
    """A figure is the maker's as the build states it; null: LOOK UP."""
    return {
        "title": one.title, "torque": plain(one.torque), "turn": plain(one.turn),
        "document": one.document, "condition": one.condition, "thread": one.thread,
        "one_time": one.one_time, "laden": one.laden,
    }  # fmt: skip


def _to_set(one: ToSet) -> dict[str, Any]:
    """Angles in rad. An aim is the owner's as a file states it; null: LOOK UP."""
    return {
        "corner": one.corner, "angle": one.angle, "unit": "rad", "aim": plain(one.aim),
        "within": plain(one.within), "parts_leave": plain(one.parts), "fixed": one.fixed,
        "set_on": plain(one.set_on), "aim_at": one.aim_at, "file": one.file,
    }  # fmt: skip


def _tag(tag: Tag) -> dict[str, Any]:
    return {
        "command": tag.command, "place": tag.place, "use": tag.use, "reasons": list(tag.reasons),
        "after": tag.session, "until": tag.until,
    }  # fmt: skip


def _shopping(found: Shopping) -> dict[str, Any]:
    return {
        "currency": found.currency,
        "known": plain(found.known),
        "unpriced": found.unpriced,
        "items": [_item(item) for item in found.items],
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        "kind": item.kind,
        "title": item.title,
        "quantity": plain(item.quantity),
        "unit": item.unit,
        "by": plain(item.by),
        "lots": plain(item.lots),
        "price": plain(item.price),
        "price_text": item.price_text,
        "arrives": plain(item.arrives),
        "late": item.late,
        "jobs": list(item.jobs),
    }
