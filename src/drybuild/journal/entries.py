"""The kinds of entries, what each holds, and reading one from the text that is kept."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, Literal, TypeVar, cast, get_args

from drybuild.build import Change
from drybuild.journal.errors import EntryRefused, JournalUnreadable

NAME = "journal.db"
Made = TypeVar("Made", "WorkEntry", "Torque", "Fill", "Bag", "Tag", "Remark")

EntryKind = Literal[
    "reading", "deed", "undo", "correction", "work", "torque", "fill", "bag", "tag", "remark"
]  # fmt: skip
KINDS: tuple[str, ...] = get_args(EntryKind)
TASK_WORDS = ("started", "done", "stopped")
"""What is said of a task; every other word of ``work`` is something that happened."""


@dataclass(frozen=True)
class Entry:
    """One line of the journal. corrected: the entries that replaced parts of it, if any."""

    id: int
    at: str
    who: str
    kind: EntryKind
    body: dict[str, Any]
    corrected: tuple[int, ...] = ()


@dataclass(frozen=True)
class Deed:
    """What was done, as Changes; ``job`` is the id of the job it finishes, if any."""

    id: int
    at: str
    who: str
    job: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Reading:
    """A dated reading. ``after``: id of the last deed before it, 0 for the car as found.

    undone: deeds that stood when it was taken and have been undone since.
    """

    id: int
    at: str
    who: str
    address: str
    raw: Any
    instrument: str
    after: int
    undone: tuple[Deed, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkEntry:
    """Work on a task, or something that happened to the work.

    what: started, done or stopped, of ``task``; else what happened, with ``more`` about it.
    people: who worked. started, ended: moments, as far as they are known. hours: of the clock, of
    work, without waiting; None when not known. left: hours still wanted, None when not said.
    """

    id: int
    at: str
    who: str
    what: str
    task: str = ""
    people: tuple[str, ...] = ()
    started: str = ""
    ended: str = ""
    hours: float | None = None
    left: float | None = None
    words: str = ""
    more: Mapping[str, Any] = field(default_factory=dict)

    @property
    def of_task(self) -> bool:
        """Whether it speaks of work on a task, rather than of something that happened."""
        return self.what in TASK_WORDS

    @property
    def person_hours(self) -> float | None:
        """Hours of all who worked together."""
        return None if self.hours is None else self.hours * max(len(self.people), 1)


@dataclass(frozen=True, slots=True)
class Torque:
    """A joint that was tightened. figure: what was set, in the maker's words, with unit and angle.

    document, condition, fastener: where the figure stands, thread dry or oiled, which fastener.
    second: who saw it, where two must.
    """

    id: int
    at: str
    who: str
    joint: str
    figure: str
    tool: str
    second: str = ""
    task: str = ""
    document: str = ""
    condition: str = ""
    fastener: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Fill:
    """A fluid that was filled in: where, how much, which product."""

    id: int
    at: str
    who: str
    where: str
    quantity: str
    product: str
    task: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Bag:
    """What was bagged, under which label, and where the bag lies."""

    id: int
    at: str
    who: str
    what: str
    label: str
    place: str
    task: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Tag:
    """A hold tag that was hung in the car, or taken down. words: what stands on it."""

    id: int
    at: str
    who: str
    words: str
    where: str = ""
    hung: bool = True
    task: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something worth remembering, in words.

    photograph: file in the build's folder ``photos/`` that the words are about; digest: SHA-256 of
    it when it was kept.
    """

    id: int
    at: str
    who: str
    words: str
    task: str = ""
    photograph: str = ""
    digest: str = ""


@dataclass(frozen=True, slots=True)
class Lift:
    """A hand check by which a hold was lifted: the record's id and its evidence, by name."""

    id: int
    at: str
    who: str
    record: str
    evidence: Mapping[str, Any]


_WORDS = (str,)
_HOURS = (int, float, type(None))
_WANTED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "reading": ("address", "raw"), "deed": ("changes",), "undo": ("entry",),
        "correction": ("entry", "now"), "work": ("what",), "torque": ("joint", "figure", "tool"),
        "fill": ("where", "quantity", "product"), "bag": ("what", "label", "place"),
        "tag": ("words",), "remark": ("words",),
    }
)  # fmt: skip
_TYPES: Mapping[str, tuple[type, ...]] = MappingProxyType(
    {
        "address": _WORDS, "joint": _WORDS, "figure": _WORDS, "tool": _WORDS, "where": _WORDS,
        "quantity": _WORDS, "product": _WORDS, "what": _WORDS, "label": _WORDS, "place": _WORDS,
        "words": _WORDS, "task": _WORDS, "document": _WORDS, "condition": _WORDS,
        "fastener": _WORDS, "second": _WORDS, "started": _WORDS, "ended": _WORDS, "dated": _WORDS,
        "by": _WORDS, "hours": _HOURS, "left": _HOURS, "hung": (bool,), "people": (list,),
        "changes": (list,), "now": (dict,), "more": (dict,), "photograph": _WORDS,
        "digest": _WORDS,
    }
)  # fmt: skip


def body_fault(kind: str, body: Any) -> str:
    """What is wrong with a body for its kind, in words; empty when nothing is."""
    if kind not in KINDS:
        return f"{kind!r} is no kind of entry"
    if not isinstance(body, dict):
        return "holds no table"
    for key in _WANTED[kind]:
        if key not in body:
            return f"lacks {key}"
    # A reading's own keys came before these rules, and its value may be of any shape.
    judged = {"address": body["address"]} if kind == "reading" else body
    for key, value in judged.items():
        if key in _TYPES and not isinstance(value, _TYPES[key]):
            return f"holds {key} {value!r:.40}"
    judge = _FAULTS.get(kind)
    return judge(body) if judge is not None else ""


def _whole(body: Mapping[str, Any]) -> str:
    for key in ("after", "entry"):
        number = body.get(key, 0)
        if isinstance(number, bool) or not isinstance(number, int) or number < 0:
            return f"holds {key} {number!r:.40}"
    return ""


def _changes_fault(body: Mapping[str, Any]) -> str:
    for change in body["changes"]:
        if not isinstance(change, dict) or not all(
            isinstance(change.get(key), str) for key in ("kind", "target")
        ):
            return f"holds a change {change!r:.40}"
    return ""


def _people_fault(body: Mapping[str, Any]) -> str:
    people = body.get("people", [])
    return "" if all(isinstance(p, str) for p in people) else f"holds people {people!r:.40}"


def _photograph_fault(body: Mapping[str, Any]) -> str:
    """A photograph has a name of ours, drawn from its digest, and so no way to another file."""
    name, digest = body.get("photograph", ""), body.get("digest", "")
    if not name and not digest:
        return ""
    fits = _DIGEST.fullmatch(digest) is not None and _PHOTOGRAPH.fullmatch(name) is not None
    if fits and name.endswith(f"-{digest[:12]}.jpg"):
        return ""
    return f"holds photograph {name!r:.60}"


_DIGEST = re.compile(r"[0-9a-f]{64}")
_PHOTOGRAPH = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9a-f]{12}\.jpg")
_FAULTS: Mapping[str, Callable[[Mapping[str, Any]], str]] = MappingProxyType(
    {
        "reading": _whole, "deed": _changes_fault, "undo": _whole, "correction": _whole,
        "work": _people_fault, "remark": _photograph_fault,
    }
)  # fmt: skip


def entry_from(number: Any, at: Any, who: Any, kind: Any, body: Any) -> Entry:
    """One row as an entry. The tool writes no other; a hand that edits the file might.

    Raises JournalUnreadable.
    """
    try:
        kept = json.loads(body)
        fault = body_fault(kind, kept)
        datetime.fromisoformat(at)
        f"{who}{body}".encode()
    except (ValueError, TypeError, RecursionError):
        fault = "is not as it was written"
    if fault:
        raise JournalUnreadable(f"{NAME}: entry {number} cannot be read: it {fault}")
    return Entry(int(number), at, str(who), kind, kept)


def entry_as(made: type[Made], entry: Entry) -> Made:
    """An entry as one of the dataclasses above; what the body does not say stays as it is there."""
    known = set(made.__dataclass_fields__)
    body = {key: value for key, value in entry.body.items() if key in known}
    if "people" in body:
        body["people"] = tuple(body["people"])
    return made(id=entry.id, at=entry.at, who=entry.who, **body)


def deed_from(entry: Entry) -> Deed:
    """A deed with its Changes, each of which knows its job, date and name."""
    job = str(entry.body.get("job", ""))
    changes = tuple(
        Change(c["kind"], c["target"], c.get("value"), job=job, when=entry.at, who=entry.who)
        for c in entry.body["changes"]
    )
    return Deed(entry.id, entry.at, entry.who, job, changes)


def change_rows(changes: Any) -> list[dict[str, Any]]:
    """Changes as they are kept."""
    return [{"kind": c.kind, "target": c.target, "value": c.value} for c in changes]


def dated(at: str) -> str:
    """The date as kept: yyyy-mm-dd, with a time where one was given. Raises EntryRefused."""
    try:
        return (date if len(at) <= 10 else datetime).fromisoformat(at).isoformat()
    except ValueError:
        raise EntryRefused(f"date {at!r}: expected yyyy-mm-dd or yyyy-mm-ddThh:mm") from None


def earlier(one: str, other: str) -> bool:
    """Whether a kept date lies before another; by the day where either has no time."""
    if len(one) <= 10 or len(other) <= 10:
        return one[:10] < other[:10]
    return datetime.fromisoformat(one).astimezone() < datetime.fromisoformat(other).astimezone()


def hours_between(started: str, ended: str) -> float | None:
    """Hours of the clock between two moments that both have a time of day, else None."""
    if len(started) <= 10 or len(ended) <= 10:
        return None
    first, last = (datetime.fromisoformat(t).astimezone() for t in (started, ended))
    return (last - first).total_seconds() / 3600


def kind_of(word: str) -> EntryKind:
    """A kind by its word. Raises EntryRefused."""
    if word not in KINDS:
        raise EntryRefused(f"{word!r} is no kind of entry; kinds: {', '.join(KINDS)}")
    return cast(EntryKind, word)
