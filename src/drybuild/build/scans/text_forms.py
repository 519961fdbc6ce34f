"""Forms of one point a line: OBJ and XYZ."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .scan import FormFault, Raw


def numbers(rows: list[bytes], count: int, *, delimiter: str | None = None) -> NDArray[np.float64]:
    """The first numbers of each line, (N, count)."""
    if not rows:
        return np.empty((0, count))
    try:
        return np.loadtxt(
            rows, usecols=range(count), ndmin=2, dtype=float, comments=None, delimiter=delimiter,
            encoding="latin-1",
        )  # fmt: skip
    except (ValueError, IndexError) as error:
        raise FormFault(
            f"a line that cannot be read: {str(error)[:120]}", f"{count} numbers"
        ) from error


def read_obj(data: bytes) -> Raw:
    """Vertices and faces of an OBJ file; curves and materials are passed over."""
    vertices, faces = [], []
    for line in data.replace(b"\\\r\n", b" ").replace(b"\\\n", b" ").splitlines():
        head = line[:2]
        if head in (b"v ", b"v\t"):
            vertices.append(line[2:])
        elif head in (b"f ", b"f\t"):
            faces.append((len(vertices), line[2:]))
    if not vertices:
        raise FormFault("an OBJ without vertices", "lines 'v x y z'")
    points = numbers(vertices, 3)
    triangles, bad = [], 0
    for so_far, line in faces:
        try:
            corners = [int(word.split(b"/")[0]) for word in line.split(b"#")[0].split()]
        except ValueError:
            bad += 1
            continue
        if len(corners) < 3 or 0 in corners or any(abs(one) > 2**40 for one in corners):
            bad += 1
            continue
        # negative ones count back from the last vertex that was given before the face
        named = [one - 1 if one > 0 else so_far + one for one in corners]
        triangles += [(named[0], named[k], named[k + 1]) for k in range(1, len(named) - 1)]
    notes = (f"{bad} of {len(faces)} faces cannot be read: left out",) if bad else ()
    return Raw("OBJ", points, np.array(triangles) if triangles else None, notes)


def read_xyz(data: bytes) -> Raw:
    """Points as text: three numbers a line, then whatever else; one line of heading at most."""
    if b"\0" in data[:4096]:
        raise FormFault("a binary file", "points as text: three numbers a line")
    rows = [
        line for line in data.splitlines() if line.strip() and line.lstrip()[:1] not in (b"#", b"/")
    ]
    notes: tuple[str, ...] = ()
    if rows and not _three(rows[0]):
        # a heading, or a count of points as some scanners write it
        notes = (f"first line {rows[0][:40].decode('latin-1')!r} is no point: left out",)
        rows = rows[1:]
    if not rows or not _three(rows[0]):
        raise FormFault(
            f"a line {rows[0][:40].decode('latin-1')!r}" if rows else "no lines of points",
            "three numbers a line, with points for decimals",
        )
    delimiter = ";" if b";" in rows[0] else "," if b"," in rows[0] else None
    return Raw("XYZ", numbers(rows, 3, delimiter=delimiter), None, notes)


def _three(line: bytes) -> bool:
    words = line.replace(b";", b" ").replace(b",", b" ").split()
    try:
        return len([float(word) for word in words[:3]]) == 3
    except ValueError:
        return False
