"""The journal in lines: what each entry says, what stands, and whether all of it is as written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any

from drybuild.build import Change
from drybuild.examine.naming import plain_name
from drybuild.examine.written import change_text, written_text
from drybuild.journal import Chain, Entry
from drybuild.journal.together import with_deeds
from drybuild.show.cards_words import short_day
from drybuild.show.lines import numbers_text, wrapped
from drybuild.work.ticked import Ticked

HEAD_IS = (
    "The head is made of all of them: note it on paper, or read it on a printed book. Later\n"
    "drybuild journal DIR --printed HEAD says whether what was written up to then is the same."
)
_ADDRESS = re.compile(r"[a-z_]+(\.[a-z_]+)+")
_ABOUT_OTHERS = ("undo", "correction")


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry as it is shown. gone: why it no longer counts as it stands, or empty. deed: the
    entry written with it, of what the work made of the car, which is said with it."""

    entry: Entry
    text: str
    gone: str
    stands: bool
    deed: Entry | None = None

    @property
    def numbers(self) -> tuple[int, ...]:
        """Of all its entries."""
        return (self.entry.id, *([self.deed.id] if self.deed is not None else []))

    @property
    def number(self) -> str:
        """The same as one says it: ``28-29``."""
        return "-".join(map(str, self.numbers))


def entry_rows(
    entries: Iterable[Entry], standing: set[int], titles: Mapping[str, str] | None = None,
    parts: Mapping[str, str] | None = None, *, typed: bool = False,
) -> list[EntryRow]:
    """Every entry in words, oldest first. standing: entries that count.

    titles: of jobs by id, of tasks as on their cards; with them a task is said in words, and what
    was written together is said once. typed: and as one types it. parts: their names by id.
    """
    entries = tuple(entries)
    undone = {int(e.body["entry"]) for e in entries if e.kind == "undo"}
    corrected = {
        int(e.body["entry"]): e.id for e in entries if e.kind == "correction" and e.id not in undone
    }

    def gone(e: Entry) -> str:
        if e.kind not in _ABOUT_OTHERS and e.id not in standing:
            return "undone"
        return f"corrected by entry {corrected[e.id]}" if e.id in corrected else ""

    rows = []
    for e, mate in with_deeds(entries):
        split = mate is not None and (titles is None or gone(e) != gone(mate))
        deed = None if split else mate
        text = entry_text(e, titles, parts, deed=deed, typed=typed)
        rows.append(EntryRow(e, text, gone(e), e.id in standing, deed))
        if mate is not None and split:
            text = entry_text(mate, titles, parts, typed=typed)
            rows.append(EntryRow(mate, text, gone(mate), mate.id in standing))
    return rows


def journal_text(
    entries: Iterable[Entry], standing: set[int], kind: str = "",
    parts: Mapping[str, str] | None = None, titles: Mapping[str, str] | None = None,
) -> str:
    """The journal, oldest first. standing: entries that count. kind: only those of one kind.
    parts, titles: as ``entry_rows`` has them."""
    entries = tuple(entries)
    lines = []
    together = titles if not kind else None
    for row in entry_rows(entries, standing, together, parts, typed=True):
        e, gone = row.entry, f"  ({row.gone})" if row.gone else ""
        if kind in ("", e.kind):
            who = f"  {e.who}" if e.who else ""
            lines += wrapped(f"{row.number:>4}  {e.at[:10]}{who}  {row.text}{gone}", 6)
    nothing = f"No entry of the kind {kind}." if entries else "The journal is empty."
    return "\n".join(lines) or nothing


def chain_text(chain: Chain) -> str:
    """Whether every entry is as it was written, and what the head to compare with is for."""
    if chain.fault is not None:
        return "\n".join(
            wrapped(
                f"The record is not as it was written: {chain.fault}. What it says from there on "
                "wants comparing with paper, or with a text that was written out before.",
                0,
            )
        )
    if not chain.head.entries:
        return "The journal is empty."
    count = chain.head.entries
    said = "1 entry" if count == 1 else f"{count} entries, none altered since it was written"
    one = ", not altered since it was written" if count == 1 else ""
    return f"{said}{one}\nhead  {chain.head}\n{HEAD_IS}"


def entry_text(
    entry: Entry, titles: Mapping[str, str] | None = None, parts: Mapping[str, str] | None = None,
    *, deed: Entry | None = None, typed: bool = False,
) -> str:
    """One entry in words; with titles also its task, in those of its card. parts: their names by
    id. deed: written with it; typed: with the task as one types it beside its title."""
    body = entry.body
    if titles is not None:
        key = str(body.get("task") or "")
        if key:
            aside = f" [{key}]" if typed else ""
            body = {**body, "task": f"{task_words(key, titles)}{aside}"}
        if entry.kind == "deed" and all(one["kind"] != "verify" for one in body["changes"]):
            job = body.get("job")
            lead = f"on the car, {titles.get(job, job)}" if job else "on the car"
            lead = f"did job {job}" if job and typed else lead
            return f"{lead}: {_made_text(entry, titles, parts)}"
        if entry.kind == "work" and body["what"] in _HAPPENED:
            told = _HAPPENED[body["what"]](_Told(body.get("more", {}), titles))
            return f"happened: {told}{_words(body)}"
        if deed is not None and deed.body.get("job"):
            return f"{_TEXTS[entry.kind](body)}; on the car: {_made_text(deed, titles, parts)}"
    return _deed(body, parts) if entry.kind == "deed" else _TEXTS[entry.kind](body)


def _made_text(deed: Entry, titles: Mapping[str, str], parts: Mapping[str, str] | None) -> str:
    changes = [Change(c["kind"], c["target"], c.get("value")) for c in deed.body["changes"]]
    return "; ".join(done_text(one, titles, parts) for one in changes if one.kind != "verify")


def ticked_text(
    one: Ticked, titles: Mapping[str, str], card: int | None, evidence: Sequence[str],
    *, two: bool,
) -> str:
    """That the task of a hand check is written down as done, and what the check still wants.
    evidence, two: what it asks for, and whether a second person."""
    day = short_day(datetime.fromisoformat(one.work.at[:10]))
    where = f"by card {card}" if card is not None else f"as “{task_words(one.work.task, titles)}”"
    wants = [*evidence, *(["second person"] if two else [])]
    plural = "is" if len(wants) == 1 else "are"
    return (
        f"done {where} on {day}, entry {one.work.id}; {_and(wants)} {plural} still to be written"
    )


def back_text(entries: Sequence[int]) -> str:
    """The button that takes entries back which one typing wrote."""
    return f"Take {'it' if len(entries) == 1 else 'all of it'} back ({_entries(entries)})"


def gone_text(entries: Sequence[int]) -> str:
    """That entries are taken back; empty where none is."""
    said = _entries(entries)
    are = "is" if len(entries) == 1 else "are"
    return f"{said[0].upper()}{said[1:]} {are} taken back." if entries else ""


def _entries(entries: Sequence[int]) -> str:
    return f"{'entry' if len(entries) == 1 else 'entries'} {numbers_text(entries)}"


@dataclass(frozen=True, slots=True)
class _Told:
    """What happened, as the journal keeps it, and the titles of the jobs."""

    more: Mapping[str, Any]
    jobs: Mapping[str, str]

    def said(self, key: str) -> str:
        return str(self.more.get(key) or "").replace("_", " ")

    def job(self) -> str:
        return self.jobs.get(str(self.more.get("job")), self.said("job"))

    def task(self) -> str:
        return task_words(str(self.more.get("task") or ""), self.jobs)

    def hours(self) -> str:
        """``2 h, 1 to 4``; one figure where there is no doubt."""
        found = self.more.get("hours")
        three = list(found) if isinstance(found, list | tuple) else [found]
        plain = [f"{h:.3g}" for h in three if isinstance(h, int | float)]
        if len(plain) != 3 or plain[0] == plain[2]:
            return f"{plain[0]} h" if plain else "hours not said"
        return f"{plain[1]} h, {plain[0]} to {plain[2]}"

    def then(self, before: str, key: str) -> str:
        """Some words and what stands under a key, where it is said."""
        return f"{before} {self.said(key)}" if self.said(key) else ""


def _extra_told(one: _Told) -> str:
    found = f", found at {one.task()}" if one.more.get("task") else ""
    part = one.then("; its part comes on", "until")
    return f"more to do, {one.said('title') or one.said('id')}: {one.hours()}{found}{part}"


_HAPPENED: Mapping[str, Callable[[_Told], str]] = MappingProxyType(
    {
        "late": lambda one: f"{one.job()}, its part comes on {one.said('until')}",
        "away": lambda one: f"{one.said('person')} is not there in {one.said('session')}"
        f"{one.then(' until', 'until')}",
        "shortened": lambda one: f"{one.said('session')} "
        f"{one.then('ends at', 'end') or 'falls through'}",
        "worked": lambda one: f"all that was planned for {one.said('session')} is done",
        "extra": _extra_told,
        "longer": lambda one: f"{one.task()} takes {one.hours()}",
        "tool_gone": lambda one: f"{one.said('tool')} is not to be had{one.then(' in', 'session')}",
        "moved": lambda one: f"{one.job()} is booked for {one.said('session')}",
        "dropped": lambda one: f"{one.job()} is given up",
    }
)  # fmt: skip


def done_text(change: Change, jobs: Mapping[str, str], parts: Mapping[str, str] | None) -> str:
    """A change that was made, as one says what was done: rear raised, front wheels off."""
    turned = {"open": "take", "close": "refit"}.get(change.kind)
    if turned is not None:
        return task_words(f"{turned}:{change.target}", jobs)
    return change_text(change, parts)


def task_words(key: str, jobs: Mapping[str, str]) -> str:
    """A task as a journal keeps it, ``take:fuel_filter``, by its card's title where ``jobs`` have
    it, else in words: fuel filter off."""
    if key in jobs and ":" in key:
        return jobs[key]
    kind, colon, name = key.partition(":")
    name, _, aside = name.partition("~")
    plain = jobs.get(name, name.replace("_", " "))
    if not colon:
        return key
    if plain.startswith("raised"):
        where = plain.removeprefix("raised").strip()
        return f"{where} raised" if kind == "take" else f"{where} let down"
    return (
        f"{plain} {_AS_DONE[kind]}{' (moved aside)' * bool(aside)}" if kind in _AS_DONE else plain
    )


def _reading(body: Mapping[str, Any]) -> str:
    return f"read {plain_name(body['address'])}: {written_text(body['raw'])}"


def _deed(body: Mapping[str, Any], parts: Mapping[str, str] | None) -> str:
    changes = [Change(c["kind"], c["target"], c.get("value")) for c in body["changes"]]
    job = f"job {body['job']}: " if body.get("job") else ""
    seen = not job and all(change.kind == "verify" for change in changes)
    lead = "checked " if seen else f"did {job}"
    return f"{lead}{'; '.join(change_text(c, parts) for c in changes)}"


def _undo(body: Mapping[str, Any]) -> str:
    return f"undid entry {body['entry']}{_bracketed(body.get('why'))}"


def _correction(body: Mapping[str, Any]) -> str:
    said = [f"{_FIELD.get(k, k)} {written_text(v)}" for k, v in body["now"].items() if k != "after"]
    if body.get("dated"):
        said.append(f"date {body['dated']}")
    if body.get("by"):
        said.append(f"by {body['by']}")
    return f"corrected entry {body['entry']}: {', '.join(said)}{_bracketed(body.get('why'))}"


def _work(body: Mapping[str, Any]) -> str:
    if body["what"] not in ("started", "done", "stopped"):
        more = body.get("more", {})
        about = ", ".join(f"{key} {written_text(value)}" for key, value in more.items())
        return _told(f"happened: {body['what'].replace('_', ' ')}", about, body)
    said = []
    if body.get("hours") is not None:
        said.append(f"{body['hours']:.3g} h")
    if body.get("people"):
        said.append(f"by {_and(body['people'])}")
    if body.get("left") is not None:
        said.append(f"{body['left']:.3g} h left")
    return _told(f"{body['what']}: {body.get('task', '')}", ", ".join(said), body)


def joint_name(joint: str) -> str:
    """A joint as it was written down; an address (``hub.front.left``) in words."""
    return plain_name(joint) if _ADDRESS.fullmatch(joint) else joint


def _torque(body: Mapping[str, Any]) -> str:
    said = [f"tightened {joint_name(body['joint'])}: {body['figure']}", body["tool"]]
    if body.get("second"):
        said.append(f"seen by {body['second']}")
    maker = "; ".join(body[k] for k in ("document", "condition", "fastener") if body.get(k))
    return f"{', '.join(said)}{_bracketed(maker)}{_words(body)}"


def _fill(body: Mapping[str, Any]) -> str:
    return f"filled {body['where']}: {body['quantity']}, {body['product']}{_words(body)}"


def _bag(body: Mapping[str, Any]) -> str:
    return f"bagged {body['what']}: label {body['label']}, {body['place']}{_words(body)}"


def _tag(body: Mapping[str, Any]) -> str:
    did = "hung up a tag" if body.get("hung", True) else "took down a tag"
    where = f", {body['where']}" if body.get("where") else ""
    return f"{did}{where}: {body['words']}"


def _remark(body: Mapping[str, Any]) -> str:
    task = f" on {body['task']}" if body.get("task") else ""
    kept = body.get("photograph")
    lead = f"photograph{task}: {body['words']} (photos/{kept})" if kept else ""
    return lead or f"remark{task}: {body['words']}"


def _told(what: str, about: str, body: Mapping[str, Any]) -> str:
    said = ", ".join(part for part in (what.strip(), about) if part)
    return f"{said}{_words(body)}"


def _words(body: Mapping[str, Any]) -> str:
    return f": {body['words']}" if body.get("words") else ""


def _bracketed(words: Any) -> str:
    return f" ({words})" if words else ""


def _and(names: Iterable[str]) -> str:
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


_FIELD = {"raw": "reading"}
_AS_DONE = {"take": "off", "refit": "back on"}
_TEXTS: Mapping[str, Callable[[Mapping[str, Any]], str]] = MappingProxyType(
    {
        "reading": _reading, "undo": _undo, "correction": _correction,
        "work": _work, "torque": _torque, "fill": _fill, "bag": _bag, "tag": _tag,
        "remark": _remark,
    }
)  # fmt: skip
