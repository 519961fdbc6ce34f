"""The build: one car's project, read from its folder and frozen.

``read_build`` reports every fault of every file at once (BuildFaults). Nothing in the folder is
executed; scans and logs are only listed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from pydantic.fields import FieldInfo

from drybuild.build.declared import declaration, declared_addresses, reference_fault
from drybuild.build.errors import BuildFaults, ChangeRefused, Fault, UnknownName, nearest
from drybuild.build.folder import (
    Adjuster,
    BookHead,
    BuildHead,
    Instrument,
    Job,
    Lent,
    Person,
    ScrutineerHead,
    Session,
    Spend,
    WantedUse,
    WorkHead,
    build_file,
    car_file,
    parts_file,
)
from drybuild.build.kinds import part_kinds, place_of, places
from drybuild.build.kinds.identity import Photograph
from drybuild.build.lines import line_of
from drybuild.build.model import Model, Part
from drybuild.build.part_named import named
from drybuild.build.photographs import list_photographs
from drybuild.build.reading import check_model, read_tables
from drybuild.build.state import (
    Change,
    State,
    addresses_of,
    check_fits,
    instances_of,
    read_setting,
)
from drybuild.build.work_file import WorkFile
from drybuild.findings import AXLES, SIDES
from drybuild.values import HowKnown

M = TypeVar("M", bound=Model)

BEGIN = "To begin one: drybuild new FOLDER, or drybuild serve FOLDER, which asks on screen"
"""What to do where there is no build."""
WORK_FILE = "work.toml"
"""What the owner knows better than the work library; a folder need not have it."""

NOTHING_SAID = WorkHead()
NO_BOOK = BookHead()
NO_SCRUTINEER = ScrutineerHead()

MOST_FILES = 400
"""More part files than this in a folder is taken for a mistake."""


@dataclass(frozen=True)
class Stated:
    """A fact as a file states it: the value, and the table or part that its draws belong to."""

    value: Any
    owner: str
    known: HowKnown
    file: str
    item: str | None = None


@dataclass(frozen=True)
class Build:
    """A build folder as read.

    stated: address → fact of a section (car, axle, corner, engine, site, goal, blend …).
    parts: part id → part; part_known: part id → how its bare numbers are known.
    base_fitted: place instance → part id, or None where the file says "none".
    """

    root: Path
    head: BuildHead
    car_name: str
    outline: str
    stated: Mapping[str, Stated]
    parts: Mapping[str, Part]
    part_known: Mapping[str, HowKnown]
    part_files: Mapping[str, str]
    base_fitted: Mapping[str, str | None]
    blends: tuple[str, ...]
    sessions: tuple[Session, ...]
    jobs: tuple[Job, ...]
    adjusters: tuple[Adjuster, ...]
    files: Mapping[str, str]
    crew: tuple[Person, ...] = ()
    work: WorkHead = NOTHING_SAID
    needs: tuple[WantedUse, ...] = ()
    lent: tuple[Lent, ...] = ()
    budgets: tuple[Spend, ...] = ()
    work_file: WorkFile | None = None
    photographs: tuple[Photograph, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    book: BookHead = NO_BOOK
    scrutineer: ScrutineerHead = NO_SCRUTINEER

    @cached_property
    def base_state(self) -> State:
        """The car as driven in, before any Change."""
        return State(self, "as found", self.base_fitted, base_fitted=self.base_fitted)

    @cached_property
    def part_names(self) -> Mapping[str, str]:
        """Part id → what the part is called, by its figures; its id where nobody named it."""
        return {part_id: named(part_id, part).text for part_id, part in self.parts.items()}

    @cached_property
    def inputs_hash(self) -> str:
        """SHA-256 over the names and texts of all files read."""
        digest = hashlib.sha256()
        for name in sorted(self.files):
            digest.update(f"{name}\0{self.files[name]}\0".encode())
        return digest.hexdigest()

    def job(self, name: str) -> Job:
        """The job of that id. Raises UnknownName."""
        for job in self.jobs:
            if job.id == name:
                return job
        hint = nearest(name, tuple(j.id for j in self.jobs))
        raise UnknownName(f"no job {name!r} in build.toml. {hint}".strip())


def in_order(jobs: Iterable[Job], sessions: Iterable[Session]) -> list[Job]:
    """Jobs as they will be done: session by session, then those that are not planned yet."""
    place = {session.id: index for index, session in enumerate(sessions)}
    return sorted(jobs, key=lambda job: place.get(job.session, len(place)))


def job_changes(job: Job) -> tuple[Change, ...]:
    """The Changes a job makes, in the order opened, changed, closed."""
    changes = [Change("open", c, job=job.id) for c in job.opens]
    changes += [Change("disturb", a, job=job.id) for a in job.disturbs]
    changes += [Change("remove", p, job=job.id) for p in job.remove]
    changes += [Change("fit", p, part, job=job.id) for p, part in job.fit.items()]
    changes += [Change("set", a, raw, job=job.id) for a, raw in job.set.items()]
    changes += [Change("close", c, job=job.id) for c in reversed(job.opens)]
    return tuple(changes)


def read_build(root: Path | str) -> Build:
    """Read a build folder. Raises BuildFaults with every fault found in its files."""
    root = Path(root)
    faults: list[Fault] = []
    if not root.is_dir():
        begin = "" if root.exists() else BEGIN
        raise BuildFaults([Fault(str(root), None, "", "no such folder", "a build folder", begin)])
    files: dict[str, str] = {}
    if not any((root / name).exists() for name in ("build.toml", "car.toml")):
        found = "no such file as build.toml or car.toml"
        raise BuildFaults([Fault(str(root), None, "", found, "a build folder", BEGIN)])
    head_file = _read(root, "build.toml", build_file(), faults, files)
    car = _read(root, "car.toml", car_file(), faults, files)
    parts: dict[str, Part] = {}
    part_known: dict[str, HowKnown] = {}
    part_files: dict[str, str] = {}
    work_file = None
    if (root / WORK_FILE).exists():
        work_file = _read(root, WORK_FILE, WorkFile, faults, files)
    _read_parts(root, parts, part_known, part_files, faults, files)
    if head_file is None or car is None:
        raise BuildFaults(faults)
    stated: dict[str, Stated] = {}
    _state_tables(car, "car.toml", stated)
    _state_tables(head_file, "build.toml", stated)
    _list_scans(root, stated, files, faults)
    list_photographs(root, getattr(car, "photograph", ()), files, faults)
    head: Any = head_file
    car_any: Any = car
    if any(fault.file.startswith("parts/") for fault in faults):
        # A part that could not be read would be reported again at each place that names it.
        raise BuildFaults(faults)
    build = Build(
        root=root, head=head.build, car_name=car_any.name, outline=car_any.outline,
        stated=stated, parts=parts, part_known=part_known, part_files=part_files,
        base_fitted=_fitted(car_any.fitted, parts, faults, files.get("car.toml", "")),
        blends=tuple(getattr(head, "blend", {})), sessions=head.session, jobs=head.job,
        adjusters=head.adjuster, files=files, crew=head.crew, work=head.work, needs=head.need,
        lent=head.lent, budgets=head.budget, work_file=work_file,
        photographs=car_any.photograph, instruments=head.instrument, book=head.book,
        scrutineer=head.scrutineer,
    )  # fmt: skip
    _check_jobs(build, faults)
    _check_references(build, faults)
    _check_adjusters(build, faults)
    if faults:
        raise BuildFaults(faults)
    return build


def _read(
    root: Path, name: str, model: type[M], faults: list[Fault], files: dict[str, str]
) -> M | None:
    read = read_tables(root / name, name, faults)
    if read is None:
        return None
    data, text = read
    files[name] = text
    known = data.get("known", "catalogue")
    known = known if isinstance(known, str) else "catalogue"
    return check_model(model, data, file=name, text=text, at=(), known=known, faults=faults)


def _read_parts(
    root: Path,
    parts: dict[str, Part],
    part_known: dict[str, HowKnown],
    part_files: dict[str, str],
    faults: list[Fault],
    files: dict[str, str],
) -> None:
    folder = root / "parts"
    found = sorted(folder.glob("*.toml")) if folder.is_dir() else []
    if len(found) > MOST_FILES:
        faults.append(Fault("parts/", None, "", f"{len(found)} files", f"at most {MOST_FILES}"))
        return
    for path in found:
        name = f"parts/{path.name}"
        read = read_tables(path, name, faults)
        if read is None:
            continue
        data, text = read
        files[name] = text
        known = _known_kinds(data, text, name, faults)
        model = check_model(
            parts_file(), known, file=name, text=text, at=(),
            known=str(data.get("known", "catalogue")), faults=faults,
        )  # fmt: skip
        if model is None:
            continue
        found_parts: Mapping[str, Part] = getattr(model, "part")  # noqa: B009
        for part_id, part in found_parts.items():
            if part_id in parts:
                where = f"part.{part_id}"
                line = line_of(text, ("part", part_id))
                first = part_files[part_id]
                faults.append(
                    Fault(name, line, where, "an id that is used twice", f"another id ({first})")
                )
                continue
            parts[part_id] = part
            part_known[part_id] = HowKnown.named(getattr(model, "known"))  # noqa: B009
            part_files[part_id] = name


def _known_kinds(data: dict[str, Any], text: str, name: str, faults: list[Fault]) -> dict[str, Any]:
    """The tables without parts of unknown kind, for each of which a fault is added."""
    table = data.get("part")
    if not isinstance(table, dict):
        return data
    kept: dict[str, Any] = {}
    kinds = tuple(part_kinds())
    for part_id, part in table.items():
        kind = part.get("kind") if isinstance(part, dict) else None
        if isinstance(part, dict) and kind not in kinds:
            line = line_of(text, ("part", part_id, "kind")) or line_of(text, ("part", part_id))
            found = "no kind" if kind is None else repr(kind)[:80]
            hint = nearest(str(kind), kinds) if kind is not None else ""
            expected = f"one of: {', '.join(sorted(kinds))}"
            if hint:  # the whole list is long: the nearest will do
                expected = f"one of the {len(kinds)} kinds of part"
            faults.append(Fault(name, line, f"part.{part_id}.kind", found, expected, hint))
        else:
            kept[part_id] = part
    return {**data, "part": kept}


def _state_tables(model: Any, file: str, stated: dict[str, Stated]) -> None:
    known = HowKnown.named(model.known)
    for name in type(model).model_fields:
        section = getattr(model, name)
        if name == "axle" and section is not None:
            for axle in AXLES:
                _state(f"axle.{axle}", f"axle.{axle}", getattr(section, axle), known, file, stated)
        elif name == "corner" and section is not None:
            for axle in AXLES:
                pair = getattr(section, axle)
                for side in SIDES if pair is not None else ():
                    where = f"corner.{axle}.{side}"
                    _state(where, f"corner.{axle}", pair, known, file, stated, item=side)
                    _state(where, where, getattr(pair, side), known, file, stated)
        elif name == "blend":
            for blend, table in section.items():
                _state(f"blend.{blend}", f"blend.{blend}", table, known, file, stated)
        elif isinstance(section, Model) and not isinstance(section, BuildHead):
            _state(name, name, section, known, file, stated)


def _state(
    prefix: str,
    owner: str,
    model: Any,
    known: HowKnown,
    file: str,
    stated: dict[str, Stated],
    item: str | None = None,
) -> None:
    if model is None:
        return
    for name in type(model).model_fields:
        value = getattr(model, name)
        if value is None or (name in ("left", "right") and prefix.startswith("corner.")):
            continue
        address = f"{prefix}.{name}"
        stated[address] = Stated(value, owner, model.how_known(name, known), file, item)
        if isinstance(value, Model):
            _state(address, f"{owner}.{name}", value, known, file, stated, item)


def _list_scans(
    root: Path, stated: Mapping[str, Stated], files: dict[str, str], faults: list[Fault]
) -> None:
    """Scans that tables name must be there; in the hash their digest stands for their text."""
    for address, fact in stated.items():
        name = getattr(fact.value, "file", None) if address.endswith(".scan") else None
        if not isinstance(name, str) or f"scans/{name}" in files:
            continue
        path = root / "scans" / name
        if path.is_file():
            with path.open("rb") as scan:
                files[f"scans/{name}"] = hashlib.file_digest(scan, "sha256").hexdigest()
        else:
            keys = (*address.split("."), "file")
            line = line_of(files.get(fact.file, ""), keys)
            expected = f"the file scans/{name} in the build's folder"
            faults.append(Fault(fact.file, line, ".".join(keys), repr(name)[:80], expected))


def _fitted(
    table: Mapping[str, Any], parts: Mapping[str, Part], faults: list[Fault], text: str
) -> dict[str, str | None]:
    fitted: dict[str, str | None] = {}

    class _Parts:
        def __init__(self) -> None:
            self.parts = parts

    for target, part in sorted(_flat(table).items(), key=lambda kv: kv[0].count(".")):
        line = line_of(text, ("fitted", target)) or line_of(text, ("fitted",))
        where = f"fitted.{target}"
        if not isinstance(part, str):
            faults.append(Fault("car.toml", line, where, repr(part)[:80], 'a part id or "none"'))
            continue
        try:
            for instance in instances_of(target):
                if part != "none":
                    check_fits(_Parts(), instance, part)  # type: ignore[arg-type]
                fitted[instance] = None if part == "none" else part
        except ChangeRefused as error:
            faults.append(Fault("car.toml", line, where, repr(part)[:80], str(error)))
    return fitted


def _flat(table: Mapping[str, Any], prefix: str = "") -> dict[str, Any]:
    """``[fitted.wheel] front = …`` reads as ``"wheel.front" = …``."""
    flat: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            flat.update(_flat(value, f"{prefix}{key}."))
        else:
            flat[f"{prefix}{key}"] = value
    return flat


def _check_jobs(build: Build, faults: list[Fault]) -> None:
    text = build.files.get("build.toml", "")
    seen: set[str] = set()
    state = build.base_state
    lines = {}
    for index, job in enumerate(build.jobs):
        where = f"job.{index}"
        line = lines[id(job)] = line_of(text, ("job", str(index)))
        if job.id in seen:
            faults.append(Fault("build.toml", line, where, f"id {job.id!r} twice", "another id"))
        seen.add(job.id)
        if job.session and job.session not in {s.id for s in build.sessions}:
            known = tuple(s.id for s in build.sessions)
            expected = f"one of: {', '.join(known)}" if known else "a [[session]] of that id"
            fault = Fault(
                "build.toml", line, f"{where}.session", repr(job.session), expected,
                nearest(job.session, known),
            )  # fmt: skip
            faults.append(fault)
    for job in in_order(build.jobs, build.sessions):
        for change in job_changes(job):
            try:
                state = state.after([change])
            except ChangeRefused as error:
                where = f"job.{build.jobs.index(job)}"
                found = str(change)[:120]
                faults.append(Fault("build.toml", lines[id(job)], where, found, str(error)))


def _part_references(
    model: Model, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], FieldInfo, str]]:
    """(keys, field, address) of every ``same_as`` in a part."""
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if isinstance(value, Model):
            yield from _part_references(value, (*path, name))
        elif isinstance(getattr(value, "same_as", None), str):
            yield (*path, name), field, value.same_as


def _references(build: Build) -> Iterator[tuple[str, tuple[str, ...], str, FieldInfo]]:
    """(file, keys, address it names, field) of every ``same_as`` of the folder."""
    for address, fact in build.stated.items():
        other, declared = getattr(fact.value, "same_as", None), declaration(address)
        if isinstance(other, str) and declared is not None:
            yield fact.file, tuple(address.split(".")), other, declared.field
    for part_id, part in build.parts.items():
        for path, field, other in _part_references(part):
            yield build.part_files[part_id], ("part", part_id, *path), other, field


def _check_references(build: Build, faults: list[Fault]) -> None:
    """``same_as`` must lead to an address of the same kind, and not back to itself."""
    for file, path, other, field in _references(build):
        found, expected = f"same_as = {other!r}", reference_fault(field, other)
        hint = nearest(other, tuple(declared_addresses())) if expected is not None else ""
        seen = {".".join(path)}
        while expected is None and isinstance(other, str):
            if other in seen:
                found, expected = "same_as leads back to itself", "a value"
            seen.add(other)
            step = build.stated.get(other)
            other = getattr(step.value, "same_as", "") if step is not None else ""
            if not other:
                break
        if expected is not None:
            line = line_of(build.files[file], path)
            faults.append(Fault(file, line, ".".join(path), found, expected, hint))


def _check_adjusters(build: Build, faults: list[Fault]) -> None:
    """Each must name a place or an address, and offer what that takes."""
    text = build.files.get("build.toml", "")
    for index, adjuster in enumerate(build.adjusters):
        line = line_of(text, ("adjuster", str(index)))
        ends = (raw for raw in (adjuster.low, adjuster.high) if raw is not None)
        offered = (*ends, *adjuster.choices)
        for target in (adjuster.address, *adjuster.together):
            found: Any = target
            try:
                if _is_place(target):
                    for found in adjuster.choices:
                        for instance in instances_of(target):
                            check_fits(build, instance, str(found))
                else:
                    for address in addresses_of(build, target):
                        for found in offered:
                            read_setting(address, found)
            except ChangeRefused as error:
                where, shown = f"adjuster.{index}", repr(found)[:80]
                faults.append(Fault("build.toml", line, where, shown, str(error)))


def _is_place(target: str) -> bool:
    return target in places() or any(i == target or i.startswith(target + ".") for i in place_of())
