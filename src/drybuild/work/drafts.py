"""The jobs of a build as the planner's: hours, what must be open, effects, parts, prices.

What a job takes follows from the places that it fits, unless the build or ``work.toml`` says it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import sqrt
from typing import TypeVar

from drybuild.build import Build, Change, Fault, job_changes
from drybuild.build.declared import declaration
from drybuild.build.errors import nearest
from drybuild.build.folder import Job as Written
from drybuild.build.kinds import place_of, places
from drybuild.build.lines import line_of
from drybuild.build.state import addresses_of, instances_of
from drybuild.build.work_file import JobKind, JobTable, PlaceTable, Told
from drybuild.work.library import Library
from drybuild.work.library.faults import (
    amount_faults,
    effect_faults,
    ways_faults,
)
from drybuild.work.library.made import Ways, refitted_after, requirements, told
from drybuild.work.library.reader import Where
from drybuild.work.model import After, Hours, Job, Notes, Renewable, Work
from drybuild.work.money import Purse, pieces_of
from drybuild.work.times import Times, read_arrival

T = TypeVar("T")
Figures = tuple[float, float, float]
UNSAID: Figures = (0.1, 0.25, 0.5)
"""Hours of a job that nothing is known of but that it sets or states something."""

ALIKE = 0.5
"""Correlation of how the shares of one job turn out."""


@dataclass(frozen=True)
class Draft:
    """A job before what it does not need is left out. parts: ids that it fits.

    map: uses that stop while it and a new map are not both in.
    """

    job: Job
    notes: Notes
    parts: tuple[str, ...]
    unpriced: tuple[str, ...]
    map: tuple[str, ...]
    fits_map: bool


@dataclass
class _Piece:
    """One share of a job's work: fitting to a place, a setting, or a table that says all of it."""

    hours: Figures
    people: int
    ways: Ways
    upsets: tuple[str, ...]
    tools: tuple[str, ...] = ()
    kind: JobKind = "fit"
    region: str = ""
    wait: float = 0.0
    told: Told = field(default_factory=Told)
    map: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()
    not_before: tuple[str, ...] = ()


def _all(names: Iterable[str]) -> tuple[str, ...]:
    """Each name once, in their order."""
    return tuple(dict.fromkeys(names))


class Drafting:
    """Turns the jobs of one build into drafts and keeps the faults that it finds."""

    def __init__(
        self, build: Build, library: Library, times: Times, purse: Purse, faults: list[Fault]
    ) -> None:
        self.build, self.library, self.times = build, library, times
        self.purse, self.faults = purse, faults
        self.text = build.files.get("build.toml", "")

    def drafts(self) -> dict[str, Draft]:
        """Every job of the build, by id, in the order of the file."""
        self._owners_jobs()
        return {job.id: self._draft(job, n) for n, job in enumerate(self.build.jobs)}

    def _owners_jobs(self) -> None:
        """A [job.x] of work.toml is a job of the build, or one that its jobs are ``like``."""
        known = {j.id for j in self.build.jobs} | {j.like for j in self.build.jobs}
        tables = self.build.work_file.job if self.build.work_file is not None else {}
        for name in tables:
            where = self.library.where("job", name)
            if name not in known and where.file == "work.toml":
                hint = nearest(name, tuple(known))
                self.faults.append(
                    where.fault(repr(name), "the id of a [[job]], or what one is like", hint)
                )

    def where(self, index: int, key: str = "") -> Where:
        """Where a job of build.toml, or a key of it, stands."""
        keys = ("job", str(index), key) if key else ("job", str(index))
        return Where("build.toml", line_of(self.text, keys), ".".join(keys))

    def _draft(self, written: Written, index: int) -> Draft:
        self._check(written, index)
        tables = self._tables(written, index)
        whole = written.hours is not None or any(t.hours is not None for t in tables)
        by_place = [*self._fitted(written, index, whole), *self._settings(written)]
        hours = _hours(written, tables, by_place)
        people = _people(written, tables, by_place)
        parts, price, unpriced = self._price(written, index, tables)
        ways = [p.ways for p in by_place] + [t.open for t in tables]
        ways.append(_ways(written.opens))
        ways.append(written.needs)
        kind = written.kind or _first(t.kind for t in tables if "kind" in t.model_fields_set)
        kind = kind or _kind(written, by_place)
        region = _first(t.region for t in tables if t.region) or _region(by_place)
        shares: list[_Piece | JobTable] = [*by_place, *tables]
        upsets = [u for t in shares for u in t.upsets] + list(written.upsets)
        clears = [e for t in tables for e in t.clears] + list(written.clears)
        records = [r for t in tables for r in t.records]
        fixed = (
            written.fixed if written.fixed is not None else _first_said([t.fixed for t in tables])
        )
        work = Work(
            hours, people, refitted_after(requirements(self.library, *ways)), _all(upsets),
            _all(t for p in shares for t in p.tools),
            max((p.wait for p in shares), default=0.0),
            next((t.engine for t in tables if t.engine), ""),
            _all(t for p in shares for t in p.first), _all(t for p in shares for t in p.apart),
            _all(t for p in shares for t in p.not_before),
        )  # fmt: skip
        changes = (*job_changes(written), *(Change("verify", r, job=written.id) for r in records))
        job = Job(
            written.id, written.title or written.id, kind, region, work,
            after=tuple(After(name, written.lag) for name in dict.fromkeys(written.after)),
            clears=tuple(dict.fromkeys(clears)), changes=changes,
            earliest=self._earliest(written, index, parts), sessions=written.booked,
            who=written.who, price=price, fixed=bool(fixed),
            fails=_first_said([t.fails for t in tables]),
        )  # fmt: skip
        notes = _notes(job.title, written, tables, by_place, self.purse)
        fits_map = any(place_of()[i].root == "map" for t in written.fit for i in instances_of(t))
        uses = tuple(dict.fromkeys(u for p in by_place for u in p.map))
        return Draft(job, notes, parts, unpriced, uses, fits_map)

    def _check(self, written: Written, index: int) -> None:
        add = self.faults.extend
        add(ways_faults(self.library, _ways(written.opens), self.where(index, "opens")))
        add(ways_faults(self.library, written.needs, self.where(index, "needs")))
        add(effect_faults(self.library, written.upsets, self.where(index, "upsets")))
        add(effect_faults(self.library, written.clears, self.where(index, "clears")))
        known = {job.id for job in self.build.jobs}
        sessions = {s.id for s in self.build.sessions}
        people = {p.name for p in self.build.crew} or {
            p.name for s in self.times.all for p in s.people
        }
        self._known(written.after, known - {written.id}, self.where(index, "after"),
                    "the id of another job")  # fmt: skip
        self._known(written.booked, sessions, self.where(index, "booked"),
                    "the id of a work session")  # fmt: skip
        self._known(written.who, people, self.where(index, "who"), "somebody of [[crew]]")

    def _known(self, names: Sequence[str], known: set[str], where: Where, expected: str) -> None:
        for name in names:
            if name not in known:
                hint = nearest(name, tuple(sorted(known)))
                self.faults.append(where.fault(repr(name), expected, hint))

    def _tables(self, written: Written, index: int) -> list[JobTable]:
        """What says how long the job is as a whole: its own table, then the one it is like."""
        names = [written.id] if written.id in self.library.jobs else []
        if written.like:
            if written.like in self.library.jobs:
                names.append(written.like)
            else:
                known = tuple(self.library.jobs)
                self.faults.append(
                    self.where(index, "like").fault(
                        repr(written.like), "a job of the work library, or a [job.…] in work.toml",
                        nearest(written.like, known),
                    )
                )  # fmt: skip
        return [self.library.jobs[name] for name in dict.fromkeys(names)]

    def _fitted(self, written: Written, index: int, whole: bool) -> Iterator[_Piece]:
        """Its places. whole: the hours of the job are known as a whole."""
        seen: set[tuple[str, str]] = set()
        rows: list[tuple[str, str, float, PlaceTable]] = []
        for (root, axle), sides in _touched((*written.fit, *written.remove)).items():
            table = self.library.place(root, axle)
            if whole and table is None:
                continue
            if table is None or (table.hours is None and not whole):
                self.faults.append(
                    self.where(index, "fit").fault(
                        f"nothing known of the work at {root}",
                        f"[place.{root}] in work.toml, or hours of the job",
                    )
                )
                continue
            share = sides / 2 if places()[root].per == "corner" else 1.0
            rows.append((root, axle, share, table))
        rows.sort(key=lambda r: -(r[3].hours or UNSAID)[1])
        for _root, axle, share, table in rows:
            beside = bool(table.group) and (table.group, axle) in seen
            figures = (table.also if beside else None) or table.hours or UNSAID
            if table.group:
                seen.add((table.group, axle))
            yield _Piece(
                _scaled(figures, share), table.people, table.open, table.upsets, table.tools,
                table.kind, table.region, table.wait, table, table.map, table.first, table.apart,
                table.not_before,
            )  # fmt: skip

    def _settings(self, written: Written) -> Iterator[_Piece]:
        fitted = {i for t in (*written.fit, *written.remove) for i in instances_of(t)}
        done: set[tuple[str, str]] = set()
        for target in written.set:
            for address in addresses_of(self.build, target):
                declared = declaration(address)
                owner = declared.owner if declared is not None else ""
                place = place_of().get(owner)
                if place is None or owner in fitted:
                    continue
                axle = _axle(owner, place.root)
                table = self.library.place(place.root, axle)
                if table is None or table.setting is None or (place.root, axle) in done:
                    continue
                done.add((place.root, axle))
                setting = table.setting
                yield _Piece(
                    setting.hours or UNSAID, setting.people, setting.open, setting.upsets,
                    kind="adjust", region=table.region, told=setting,
                )  # fmt: skip

    def _price(
        self, written: Written, index: int, tables: Sequence[JobTable]
    ) -> tuple[tuple[str, ...], float, tuple[str, ...]]:
        """Parts that it fits, what they and outside work cost, and those whose price is open."""
        counts: dict[str, int] = {}
        for target, part in written.fit.items():
            counts[part] = counts.get(part, 0) + len(instances_of(target))
        total, open_parts = 0.0, []
        for part, count in counts.items():
            text = self.build.parts[part].price
            amount = self._amount(text, self._part_where(part))
            if amount is None:
                open_parts.append(self.build.part_names[part])
            else:
                total += amount * pieces_of(text, count)
        for table in tables:
            total += self._amount(table.price, Where("work.toml", None, "job")) or 0.0
        said = self._amount(written.price, self.where(index, "price"))
        if said is not None:
            return tuple(counts), said, ()
        return tuple(counts), total, tuple(open_parts)

    def _part_where(self, part: str) -> Where:
        file = self.build.part_files[part]
        keys = ("part", part, "price")
        return Where(file, line_of(self.build.files.get(file, ""), keys), ".".join(keys))

    def _amount(self, text: str, where: Where) -> float | None:
        found = list(amount_faults(text, where))
        self.faults += found
        return None if found else self.purse.amount(text)

    def _earliest(self, written: Written, index: int, parts: Sequence[str]) -> int:
        path = ("job", str(index), "arrives")
        quarters = [read_arrival(self.build, written.arrives, path, self.times, self.faults)]
        for part in parts:
            text = self.build.parts[part].arrives
            if not text:
                continue
            where = self._part_where(part)
            path = ("part", part, "arrives")
            found: list[Fault] = []
            quarters.append(read_arrival(self.build, text, path, self.times, found))
            self.faults += [
                Fault(where.file, where.line, f.where, f.found, f.expected, f.hint) for f in found
            ]
        return max(quarters)


def _touched(targets: Sequence[str]) -> dict[tuple[str, str], int]:
    """(place, axle) → how many of its instances are worked on."""
    found: dict[tuple[str, str], int] = {}
    for instance in dict.fromkeys(i for t in targets for i in instances_of(t)):
        root = place_of()[instance].root
        key = root, _axle(instance, root)
        found[key] = found.get(key, 0) + 1
    return found


def _axle(instance: str, root: str) -> str:
    return instance.removeprefix(root).lstrip(".").partition(".")[0]


def _scaled(figures: Figures, share: float) -> Figures:
    low, likely, high = figures
    return low * share, likely * share, high * share


def _hours(written: Written, tables: Sequence[JobTable], pieces: Sequence[_Piece]) -> Hours:
    said = written.hours or _first_said([t.hours for t in tables])
    return Hours(*(said or together([p.hours for p in pieces])))


def together(shares: Sequence[Figures]) -> Figures:
    """Hours of several shares of one job: the likely ones add up, what is in doubt only in part.

    One car and one pair of hands make shares go well or badly together, but not wholly: their
    deviations are taken as half correlated (common practice, no source).
    """
    likely = sum(share[1] for share in shares)
    if sum(share[2] for share in shares) <= 0:
        return UNSAID
    down = _spread([share[1] - share[0] for share in shares])
    up = _spread([share[2] - share[1] for share in shares])
    return round(max(0.0, likely - down), 2), round(likely, 2), round(likely + up, 2)


def _spread(deviations: Sequence[float]) -> float:
    squares = sum(d * d for d in deviations)
    return sqrt(ALIKE * sum(deviations) ** 2 + (1 - ALIKE) * squares)


def _people(written: Written, tables: Sequence[JobTable], pieces: Sequence[_Piece]) -> int:
    if written.people is not None:
        return written.people
    said = [t.people for t in tables if "people" in t.model_fields_set]
    return said[0] if said else max((p.people for p in pieces), default=1)


def _kind(written: Written, pieces: Sequence[_Piece]) -> JobKind:
    kinds = [p.kind for p in pieces if p.kind != "adjust"]
    if written.fit or written.remove:
        return kinds[0] if len(set(kinds)) == 1 else "fit"
    return "adjust"


def _region(pieces: Sequence[_Piece]) -> str:
    """Where most of the hours are."""
    sums: dict[str, float] = {}
    for piece in pieces:
        if piece.region:
            sums[piece.region] = sums.get(piece.region, 0.0) + piece.hours[1]
    return max(sums, key=lambda region: sums[region], default="whole car")


def _ways(names: Sequence[str]) -> Ways:
    return tuple((name,) for name in names)


def _first(found: Iterator[T]) -> T | None:
    return next(found, None)


def _first_said(found: Sequence[T | None]) -> T | None:
    return next((f for f in found if f is not None), None)


def _notes(
    title: str,
    written: Written,
    tables: Sequence[JobTable],
    pieces: Sequence[_Piece],
    purse: Purse,
) -> Notes:
    """The words of all that the job does, each line once."""
    places = [(told(p.told, "", purse), p.region) for p in pieces]
    shares = [*(told(t, "", purse) for t in tables), *(share for share, _ in places)]

    def lines(key: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(line for share in shares for line in getattr(share, key)))

    renew: dict[tuple[str, str], Renewable] = {}
    for item in _renewed([*((told(t, "", purse), "") for t in tables), *places]):
        old = renew.get((item.name, item.unit))
        quantity = item.quantity + (old.quantity if old is not None else 0.0)
        renew[item.name, item.unit] = Renewable(item.name, quantity, item.unit, item.price)
    steps = lines("steps")
    if written.note:
        steps = (*steps, written.note)
    return Notes(
        title, lines("bench"), tuple(renew.values()), lines("cautions"), steps, lines("verify"),
        lines("photograph"), lines("bag"), lines("tags"), lines("joints"), lines("beforehand"),
    )  # fmt: skip


def _renewed(shares: Iterable[tuple[Notes, str]]) -> Iterator[Renewable]:
    """What the shares of one job renew. shares: each with its region of the car.

    Of a joint that two of them tighten at the same end (the top nut, by spring and damper) the
    fasteners are renewed once.
    """
    found: list[tuple[Notes, str]] = []
    for share, region in shares:
        alike = [one for one, there in found if there == region and {*one.joints} & {*share.joints}]
        said = {(r.name, r.unit) for one in alike for r in one.renew}
        yield from (r for r in share.renew if (r.name, r.unit) not in said)
        found.append((share, region))


def parts_by_job(drafts: Mapping[str, Draft]) -> dict[str, tuple[str, ...]]:
    """Job → part ids that it fits."""
    return {name: draft.parts for name, draft in drafts.items() if draft.parts}
