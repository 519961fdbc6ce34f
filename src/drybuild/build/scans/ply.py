"""PLY, as text, little-endian or big-endian."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .scan import FormFault, Raw

TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4",
    "float": "f4", "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2",
    "int32": "i4", "uint32": "u4", "float32": "f4", "float64": "f8",
}  # fmt: skip
ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
MOST_HEADER = 65536
MOST_LISTS = 3_000_000


@dataclass(frozen=True)
class Element:
    name: str
    count: int
    # (name, type) or (name, type of count, type of entries) for a list
    properties: tuple[tuple[str, ...], ...]

    @property
    def lists(self) -> bool:
        return any(len(one) == 3 for one in self.properties)


def read_ply(data: bytes) -> Raw:
    """Vertices and faces of a PLY file."""
    order, elements, begin = _header(data)
    form = f"PLY, {'text' if not order else 'binary ' + ('little' if order == '<' else 'big')}"
    vertex = next((one for one in elements if one.name == "vertex"), None)
    if vertex is None:
        raise FormFault(f"{form} without vertices", "an element 'vertex' with x, y and z")
    names = [one[0] for one in vertex.properties]
    if not {"x", "y", "z"} <= set(names) or vertex.lists:
        raise FormFault(
            f"vertices with {', '.join(names) or 'nothing'}", "plain properties x, y and z"
        )
    read = _read_text if not order else _read_binary
    points, faces, notes = read(data, begin, order, elements)
    return Raw(form, points, faces, tuple(notes))


def _header(data: bytes) -> tuple[str, list[Element], int]:
    end = data.find(b"end_header", 0, MOST_HEADER)
    if end < 0:
        raise FormFault("PLY without end_header", "a header that ends in 'end_header'")
    line_end = data.find(b"\n", end)
    begin = len(data) if line_end < 0 else line_end + 1
    order: str | None = None
    elements: list[Element] = []
    for line in data[:end].decode("latin-1").splitlines()[1:]:
        words = line.split()
        if not words or words[0] in ("comment", "obj_info"):
            continue
        if words[0] == "format" and len(words) >= 2:
            if words[1] not in ORDERS:
                raise FormFault(f"PLY format {words[1]!r}", f"one of {', '.join(ORDERS)}")
            order = ORDERS[words[1]]
        elif words[0] == "element" and len(words) == 3 and words[2].isdigit():
            elements.append(Element(words[1], int(words[2]), ()))
        elif words[0] == "property" and elements and _known(words[1:]):
            last = elements[-1]
            kinds = words[2:-1] if words[1] == "list" else words[1:-1]
            one = (words[-1], *(TYPES[kind] for kind in kinds))
            elements[-1] = Element(last.name, last.count, (*last.properties, one))
        else:
            raise FormFault(
                f"PLY header line {line[:60]!r}", "format, element, property or comment"
            )
    if order is None:
        raise FormFault("PLY header without its format", "a line 'format ...'")
    if sum(one.count for one in elements) > len(data):
        raise FormFault(
            f"{sum(one.count for one in elements)} entries announced in {len(data)} bytes",
            "as many entries as the file holds", "the file was cut off or its header is wrong",
        )  # fmt: skip
    return order, elements, begin


def _known(words: list[str]) -> bool:
    if words[:1] == ["list"]:
        whole = TYPES.get(words[1], "f")[0] in "iu" if len(words) == 4 else False
        return whole and words[2] in TYPES
    return len(words) == 2 and words[0] in TYPES


def _cut_off(element: Element) -> FormFault:
    return FormFault(
        f"the file ends within its {element.count} entries of {element.name!r}",
        "all of them",
        "the file was cut off",
    )


Read = tuple[NDArray[np.float64], NDArray[np.int64] | None, list[str]]


def _read_binary(data: bytes, begin: int, order: str, elements: list[Element]) -> Read:
    points, faces, notes = np.empty((0, 3)), None, list[str]()
    at = begin
    for element in elements:
        if not element.lists:
            kind = np.dtype([(f"p{n}", order + p[1]) for n, p in enumerate(element.properties)])
            size = kind.itemsize * element.count
            if at + size > len(data):
                raise _cut_off(element)
            if element.name == "vertex":
                table = np.frombuffer(data, kind, element.count, at)
                where = {p[0]: f"p{n}" for n, p in enumerate(element.properties)}
                points = np.stack([table[where[axis]].astype(float) for axis in "xyz"], axis=1)
            at += size
            continue
        rows, at = _binary_lists(data, at, order, element)
        if element.name == "face":
            faces = _fans(rows)
    return points, faces, notes


def _binary_lists(
    data: bytes, at: int, order: str, element: Element
) -> tuple[list[NDArray[np.int64]], int]:
    """Entries of the first list property of each row; where the next element begins."""
    properties = element.properties
    first = next(n for n, one in enumerate(properties) if len(one) == 3)
    # most files have triangles only: read them as plain records if every count says so
    fields = []
    for n, one in enumerate(properties):
        fields.append((f"c{n}", order + one[1]))
        if len(one) == 3:
            fields.append((f"l{n}", order + one[2], (3,)))  # type: ignore[arg-type]
    kind = np.dtype(fields)
    if element.count and at + kind.itemsize * element.count <= len(data):
        table = np.frombuffer(data, kind, element.count, at)
        if all(np.all(table[f"c{n}"] == 3) for n, one in enumerate(properties) if len(one) == 3):
            return [table[f"l{first}"].astype(np.int64)], at + kind.itemsize * element.count
    if element.count > MOST_LISTS:
        raise FormFault(
            f"{element.count} polygons of unlike size", f"triangles, or at most {MOST_LISTS}",
            "export it again as triangles",
        )  # fmt: skip
    rows: list[NDArray[np.int64]] = []
    for _ in range(element.count):
        for n, one in enumerate(properties):
            count_kind = np.dtype(order + one[1])
            if at + count_kind.itemsize > len(data):
                raise _cut_off(element)
            if len(one) == 2:
                at += count_kind.itemsize
                continue
            count = int(np.frombuffer(data, count_kind, 1, at)[0])
            at += count_kind.itemsize
            entry = np.dtype(order + one[2])
            if count < 0 or at + entry.itemsize * count > len(data):
                raise _cut_off(element)
            if n == first:
                rows.append(np.frombuffer(data, entry, count, at).astype(np.int64)[None])
            at += entry.itemsize * count
    return rows, at


def _read_text(data: bytes, begin: int, order: str, elements: list[Element]) -> Read:
    points, faces, notes = np.empty((0, 3)), None, list[str]()
    lines = [line for line in data[begin:].split(b"\n") if line.strip()]
    at = 0
    for element in elements:
        rows = lines[at : at + element.count]
        at += element.count
        if len(rows) < element.count:
            raise _cut_off(element)
        if not rows:
            continue
        if element.name == "vertex":
            names = [one[0] for one in element.properties]
            try:
                points = np.loadtxt(
                    rows, usecols=[names.index(a) for a in "xyz"], ndmin=2, dtype=float,
                    comments=None, encoding="latin-1",
                )  # fmt: skip
            except (ValueError, IndexError) as error:
                raise FormFault(
                    f"a vertex that cannot be read: {error}", f"{len(names)} numbers a line"
                ) from error
        elif element.name == "face" and element.lists:
            faces = _text_faces(rows, element, notes)
    return points, faces, notes


def _text_faces(rows: list[bytes], element: Element, notes: list[str]) -> NDArray[np.int64] | None:
    before = next(n for n, one in enumerate(element.properties) if len(one) == 3)
    found, bad = [], 0
    for row in rows:
        words = row.split()
        try:
            count = int(words[before])
            corners = [int(float(word)) for word in words[before + 1 : before + 1 + count]]
        except (ValueError, IndexError, OverflowError):
            bad += 1
            continue
        if len(corners) == count:
            found.append(np.array(corners, dtype=np.int64)[None])
        else:
            bad += 1
    if bad:
        notes.append(f"{bad} of {len(rows)} faces cannot be read: left out")
    return _fans(found)


def _fans(rows: list[NDArray[np.int64]]) -> NDArray[np.int64] | None:
    """Polygons as triangles about their first corner."""
    fans = []
    for row in rows:
        for k in range(1, row.shape[1] - 1):
            fans.append(row[:, [0, k, k + 1]])
    return np.concatenate(fans) if fans else None
