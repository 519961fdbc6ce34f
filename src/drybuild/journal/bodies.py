"""What the body of each kind of entry holds, judged before it is written."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import fields
from types import MappingProxyType
from typing import Any

from drybuild.build import Change
from drybuild.journal.entries import (
    TASK_WORDS,
    Bag,
    Entry,
    Fill,
    Remark,
    Tag,
    Torque,
    WorkEntry,
    body_fault,
    change_rows,
    dated,
    earlier,
    hours_between,
)
from drybuild.journal.errors import EntryRefused
from drybuild.journal.history import as_corrected, deeds_of, undone
from drybuild.values import DrybuildError, parse_value

_NEEDED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "torque": ("joint", "figure", "tool"), "fill": ("where", "quantity", "product"),
        "bag": ("what", "label", "place"), "tag": ("words",), "remark": ("words",),
    }
)  # fmt: skip
_MADE: Mapping[str, Any] = {
    "work": WorkEntry, "torque": Torque, "fill": Fill, "bag": Bag, "tag": Tag, "remark": Remark,
}  # fmt: skip
_BARE = re.compile(r"[\d\s.,/+±−–-]+")
_NOT_OF_THE_BODY = {"id", "at", "who"}


def deed(changes: Iterable[Change], job: str) -> dict[str, Any]:
    """A deed's body. Raises EntryRefused for one without a Change."""
    kept = change_rows(changes)
    if not kept:
        raise EntryRefused("a deed without a Change")
    return {"job": job, "changes": kept}


def said(**words: str) -> dict[str, Any]:
    """What was said, without the rest."""
    return {key: word.strip() for key, word in words.items() if word.strip()}


def complete(kind: str, body: dict[str, Any]) -> dict[str, Any]:
    """The body, when nothing of what its kind needs is missing. Raises EntryRefused."""
    lacking = [key for key in _NEEDED.get(kind, ()) if not body.get(key)]
    if lacking:
        raise EntryRefused(f"{kind}: say {', '.join(lacking)}", field=lacking[0])
    return body


def torque(body: dict[str, Any], who: str) -> dict[str, Any]:
    """A tightening: its figure is a figure, and the second person is another one."""
    body = complete("torque", body)
    if not any(sign.isdigit() for sign in body["figure"]):
        raise EntryRefused(
            f"torque: found figure {body['figure']!r}, expected what was set, with its unit: a "
            "tick is no figure", field="figure",
        )  # fmt: skip
    if _BARE.fullmatch(body["figure"]):
        raise EntryRefused(
            f"torque: found figure {body['figure']!r}, a number without a unit; expected what was "
            "set, such as 85 N·m", field="figure",
        )  # fmt: skip
    if body.get("second") == who.strip():
        why = f"torque: the second person is another one than {who}"
        raise EntryRefused(why, field="second")
    return body


def fill(body: dict[str, Any]) -> dict[str, Any]:
    """A filling: a quantity with a figure in it has a unit of volume or mass."""
    body = complete("fill", body)
    quantity = body["quantity"]
    if any(sign.isdigit() for sign in quantity) and not _is_amount(quantity):
        raise EntryRefused(
            f"fill: found quantity {quantity!r}, expected a volume or a mass with its unit, such "
            "as 1.2 L or 450 g, or in words up to which mark"
        )
    return body


def _is_amount(quantity: str) -> bool:
    for kind in ("volume", "mass"):
        try:
            return parse_value(quantity, kind).median > 0
        except DrybuildError:
            continue
    return False


def worked(
    task: str,
    *,
    people: tuple[str, ...],
    started: str,
    ended: str,
    hours: float | None,
    what: str,
    left: float | None,
    words: str,
) -> dict[str, Any]:
    """Work on a task. Raises EntryRefused with what does not go together."""
    if not task.strip():
        raise EntryRefused("work: say which task")
    if what not in TASK_WORDS:
        raise EntryRefused(f"work: found {what!r}, expected one of {', '.join(TASK_WORDS)}")
    names = [name.strip() for name in people]
    if not all(names) or len(set(names)) < len(names):
        why = f"work: found people {', '.join(people)!r}, expected each once, by name"
        raise EntryRefused(why, field="people")
    first, last = (dated(t) if t else "" for t in (started, ended))
    if first and last and earlier(last, first):
        raise EntryRefused(f"work: it ended, {last}, before it started, {first}")
    if hours is None and what != "started":
        hours = hours_between(first, last)
    for name, figure in (("hours", hours), ("left", left)):
        if figure is not None and not (math.isfinite(figure) and figure >= 0):
            why = f"work: found {name} {figure}, expected a figure of 0 or more"
            raise EntryRefused(why, field=name)
    if what == "done" and left:
        why = f"work: {task} is done, and {left:g} h of it are left: which?"
        raise EntryRefused(why, field="left")
    body = said(task=task, started=first, ended=last, words=words)
    figures = {"hours": hours, "left": left}
    return {
        **body, "what": what, "people": names,
        **{key: figure for key, figure in figures.items() if figure is not None},
    }  # fmt: skip


def happened(what: str, body: Mapping[str, Any], *, words: str) -> dict[str, Any]:
    """Something that happened, with a table about it. Raises EntryRefused."""
    if not what.strip() or what in TASK_WORDS:
        raise EntryRefused(f"found {what!r}, expected a word for what happened")
    for key in body:
        if not isinstance(key, str):
            raise EntryRefused(f"{what}: found {key!r}, expected a word")
    task = body.get("task")
    named = said(task=task if isinstance(task, str) else "", words=words)
    return {**named, "what": what.strip(), **({"more": dict(body)} if body else {})}


def correction(
    entries: tuple[Entry, ...], number: int, body: Mapping[str, Any], *, why: str, at: str, by: str
) -> dict[str, Any]:
    """What an entry should have said. Raises EntryRefused when that cannot be so."""
    wrong = next((e for e in as_corrected(entries) if e.id == number), None)
    if wrong is None:
        raise EntryRefused(f"no entry {number} in the journal")
    if wrong.kind == "correction":
        first = wrong.body["entry"]
        raise EntryRefused(f"entry {number} corrects entry {first}: correct {first} again instead")
    if wrong.kind == "undo":
        raise EntryRefused(f"entry {number} is an undo: undo it, and undo the right one")
    if number in undone(entries):
        raise EntryRefused(f"entry {number} is undone: there is nothing to correct")
    known = _fields(wrong.kind)
    strange = sorted(set(body) - set(known))
    if strange:
        raise EntryRefused(
            f"entry {number} is a {wrong.kind}: found {', '.join(strange)}, expected of "
            f"{', '.join(known)}"
        )
    when = dated(at) if at else ""
    now = {key: _plain(value) for key, value in body.items()}
    if when and wrong.kind == "reading":
        deeds = deeds_of(entries, upto=when)
        now["after"] = deeds[-1].id if deeds else 0
    if not now and not when and not by.strip():
        raise EntryRefused(f"entry {number}: say what it should have been")
    whole = {**wrong.body, **now}
    fault = body_fault(wrong.kind, whole)
    if fault:
        raise EntryRefused(f"entry {number}: so corrected it {fault}")
    _judged(wrong.kind, whole, by or wrong.who)
    return {"entry": number, "now": now, **said(why=why, dated=when, by=by)}


def _fields(kind: str) -> tuple[str, ...]:
    if kind == "reading":
        return ("address", "raw", "instrument")
    if kind == "deed":
        return ("job", "changes")
    return tuple(f.name for f in fields(_MADE[kind]) if f.name not in _NOT_OF_THE_BODY)


def _plain(value: Any) -> Any:
    """Changes and people as they are kept; anything else as it is."""
    if isinstance(value, list | tuple):
        changes = [one for one in value if isinstance(one, Change)]
        return change_rows(changes) if changes else list(value)
    return value


def _judged(kind: str, body: dict[str, Any], who: str) -> None:
    """The same judgement that the entry would have met."""
    if kind == "deed" and not body["changes"]:
        raise EntryRefused("a deed without a Change; undo the entry instead")
    if kind == "torque":
        torque(body, who)
    elif kind == "fill":
        fill(body)
    elif kind == "work" and body["what"] in TASK_WORDS:
        worked(
            body.get("task", ""), people=tuple(body.get("people", (who,))),
            started=body.get("started", ""), ended=body.get("ended", ""), hours=body.get("hours"),
            what=body["what"], left=body.get("left"), words=body.get("words", ""),
        )  # fmt: skip
    elif kind in _NEEDED:
        complete(kind, body)
