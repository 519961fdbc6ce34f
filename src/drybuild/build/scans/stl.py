"""STL, as text or binary."""

from __future__ import annotations

import numpy as np

from .scan import FormFault, Raw
from .text_forms import numbers

RECORD = np.dtype([("normal", "<f4", 3), ("corner", "<f4", (3, 3)), ("extra", "<u2")])
HEAD = 84


def read_stl(data: bytes) -> Raw:
    """Triangles of an STL file. The length decides: many binary files begin with 'solid'."""
    count = int.from_bytes(data[80:HEAD], "little") if len(data) >= HEAD else -1
    if count > 0 and len(data) == HEAD + RECORD.itemsize * count:
        return _binary(data, count)
    if data.lstrip()[:5].lower() == b"solid" and (b"vertex" in data or b"VERTEX" in data):
        return _text(data)
    if data.lstrip()[:5].lower() == b"solid" and b"endsolid" in data.lower():
        raise FormFault("an STL without triangles", "at least one facet")
    if count == 0:
        raise FormFault("a binary STL of 0 triangles", "at least one triangle")
    if count < 0:
        raise FormFault(f"{len(data)} bytes", f"an STL: text, or binary of {HEAD} bytes and more")
    there = (len(data) - HEAD) // RECORD.itemsize
    if there < count:
        raise FormFault(
            f"{there} triangles and a part", f"{count} as the file's head announces",
            "the file was cut off",
        )  # fmt: skip
    raw = _binary(data, count)
    extra = len(data) - HEAD - RECORD.itemsize * count
    return Raw(raw.form, raw.points, raw.triangles, (f"{extra} bytes after the last triangle",))


def _binary(data: bytes, count: int) -> Raw:
    corners = np.frombuffer(data, RECORD, count, HEAD)["corner"].astype(float)
    return Raw("STL, binary", corners.reshape(-1, 3), np.arange(3 * count).reshape(-1, 3))


def _text(data: bytes) -> Raw:
    rows = [line for line in data.splitlines() if line.lstrip()[:6].lower() == b"vertex"]
    points = numbers([row.split(None, 1)[1] if b" " in row.strip() else b"" for row in rows], 3)
    whole = len(points) // 3 * 3
    notes = () if whole == len(points) else ("the last triangle is not whole: left out",)
    return Raw("STL, text", points[:whole], np.arange(whole).reshape(-1, 3), notes)
