"""Reads a list of rims or tyres, CSV or TOML, to parts; every fault with its row and column."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from drybuild.build.errors import BuildFaults, ChangeRefused, Fault
from drybuild.build.folder import parts_file
from drybuild.build.model import Part
from drybuild.build.proposed import Proposed, make_part
from drybuild.build.reading import MOST_BYTES, check_model, read_tables
from drybuild.examine.catalogue.columns import (
    UNKNOWN,
    CellFault,
    Column,
    ListKind,
    facts_of,
    missing_columns,
    read_head,
)
from drybuild.values import HowKnown, with_point

MOST_ROWS = 20_000
DELIMITERS = ",;\t|"


def read_list(path: Path | str, kind: ListKind) -> tuple[Proposed, ...]:
    """The parts of a list, in its order. Raises BuildFaults with every fault found."""
    path = Path(path)
    faults: list[Fault] = []
    read = _read_toml if path.suffix.lower() == ".toml" else _read_csv
    found = read(path, kind, faults)
    if not faults and not found:
        what = "rims" if kind == "wheel" else "tyres"
        faults.append(Fault(path.name, None, "", f"no {what}", f"a list of {what}"))
    if faults:
        raise BuildFaults(faults)
    return found


def _read_toml(path: Path, kind: ListKind, faults: list[Fault]) -> tuple[Proposed, ...]:
    """The parts of that kind of a file that is written like those in ``parts/``."""
    read = read_tables(path, path.name, faults)
    if read is None:
        return ()
    data, text = read
    known = str(data.get("known", "catalogue"))
    model: Any = check_model(
        parts_file(), data, file=path.name, text=text, at=(), known=known, faults=faults
    )
    if model is None:
        return ()
    how = HowKnown.named(known)
    parts: dict[str, Part] = model.part
    return tuple(
        Proposed(_id(path, name), part, how, f"{path.name}, part {name}")
        for name, part in parts.items()
        if getattr(part, "kind", "") == kind
    )


def _read_csv(path: Path, kind: ListKind, faults: list[Fault]) -> tuple[Proposed, ...]:
    text = _text(path, faults)
    if text is None:
        return ()
    found: list[Proposed] = []
    try:
        rows = _rows(text)
        first = next(rows, None)
        if first is None:
            return ()
        columns = _columns(first[1], kind, path.name, first[0], faults)
        if faults:
            return ()
        for number, cells in rows:
            part = _part(cells, columns, kind, path, number, faults)
            if part is not None:
                found.append(part)
            if len(found) > MOST_ROWS:
                faults.append(Fault(path.name, number, "", "more rows", f"at most {MOST_ROWS:,}"))
                break
    except csv.Error as error:
        faults.append(Fault(path.name, None, "", str(error), "comma or semicolon separated text"))
    return tuple(found)


def _text(path: Path, faults: list[Fault]) -> str | None:
    try:
        size = path.stat().st_size
        raw = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        faults.append(
            Fault(path.name, None, "", error.strerror or str(error), "a file that can be read")
        )
        return None
    if size > MOST_BYTES:
        expected = f"a list of at most {MOST_BYTES:,} bytes"
        faults.append(Fault(path.name, None, "", f"{size:,} bytes", expected))
        return None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{raw[error.start]:02x}, which is not UTF-8"
        faults.append(Fault(path.name, line, "", found, "text in UTF-8"))
        return None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        faults.append(Fault(path.name, line, "", "a zero byte", "text, not a spreadsheet's file"))
        return None
    return text


def delimiter_of(text: str) -> str:
    """What parts the cells, by the standard library's sniffer; a comma where it cannot tell."""
    head = next((line for line in text.splitlines() if line.strip() and line[0] != "#"), "")
    try:
        found = csv.Sniffer().sniff(text[:8192], delimiters=DELIMITERS).delimiter
    except csv.Error:
        found = ""
    if found and found in head:
        return found
    return max(DELIMITERS, key=head.count) if any(d in head for d in DELIMITERS) else ","


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """(line of the file, cells) of each row that is neither empty nor a remark."""
    delimiter = delimiter_of(text)
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True, strict=True
    )
    for row in reader:
        cells = [cell.strip() for cell in row]
        if not any(cells) or cells[0].startswith("#"):
            continue
        if delimiter != ",":
            cells = [with_point(cell) for cell in cells]
        yield reader.line_num, cells


def _columns(
    heads: list[str], kind: ListKind, file: str, line: int, faults: list[Fault]
) -> list[Column | None]:
    columns: list[Column | None] = []
    taken: dict[str, str] = {}
    for number, head in enumerate(heads, 1):
        if not head:
            columns.append(None)
            continue
        try:
            column = read_head(head, kind)
        except CellFault as fault:
            where = f"column {number}"
            faults.append(Fault(file, line, where, fault.found, fault.expected, fault.hint))
            continue
        if column.field in taken:
            found = f"{head!r} beside {taken[column.field]!r}"
            faults.append(Fault(file, line, f"column {number}", found, "each column once"))
        taken[column.field] = head
        columns.append(column)
    lacking = [] if faults else missing_columns([c for c in columns if c is not None], kind)
    for group in lacking:
        faults.append(Fault(file, line, "", "no such column", f"a column {group}"))
    return columns


def _part(
    cells: list[str],
    columns: list[Column | None],
    kind: ListKind,
    path: Path,
    line: int,
    faults: list[Fault],
) -> Proposed | None:
    if len(cells) != len(columns):
        expected = f"{len(columns)}, as the head has"
        faults.append(Fault(path.name, line, "", f"{len(cells)} cells", expected))
        return None
    stated: dict[str, tuple[Column, str]] = {}
    for cell, column in zip(cells, columns, strict=True):
        if column is not None and cell.lower() not in UNKNOWN:
            stated[column.field] = (column, cell)
    facts, wrong = facts_of(stated, kind)
    for field, fault in wrong:
        where = stated[field][0].head if field in stated else ""
        faults.append(Fault(path.name, line, where, fault.found, fault.expected, fault.hint))
    if wrong:
        return None
    try:
        part = make_part(kind, facts)
    except ChangeRefused as error:
        said = str(error)
        heads = [c.head for name, (c, _) in stated.items() if said.startswith(f"{kind} {name}")]
        faults.append(Fault(path.name, line, "".join(heads[:1]), said, f"a fact of a {kind}"))
        return None
    said = f"{path.name} row {line}"
    return Proposed(_id(path, str(line)), part, HowKnown.CATALOGUE, said)


def _id(path: Path, name: str) -> str:
    """An id that no file of the folder can have given: it holds a space."""
    stem = re.sub(r"\W+", "_", path.stem).strip("_") or "list"
    return f"{stem} {re.sub(r'[^A-Za-z0-9_-]+', '_', name)}"
