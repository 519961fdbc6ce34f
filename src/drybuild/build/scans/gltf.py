"""glTF 2.0 and its binary form GLB: points and triangles of all meshes, placed by their nodes."""

from __future__ import annotations

import base64
import binascii
import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .scan import FormFault, Raw

KINDS = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT4": 16}
DEEPEST = 64
MOST_NODES = 100_000
JSON_CHUNK, BIN_CHUNK = 0x4E4F534A, 0x004E4942


def read_glb(data: bytes) -> Raw:
    """The binary form: a head, a chunk of JSON, a chunk of numbers."""
    if len(data) < 20 or int.from_bytes(data[4:8], "little") != 2:
        raise FormFault("GLB of another version or cut off", "glTF 2.0")
    at, chunks = 12, dict[int, bytes]()
    while at + 8 <= len(data):
        size = int.from_bytes(data[at : at + 4], "little")
        kind = int.from_bytes(data[at + 4 : at + 8], "little")
        if at + 8 + size > len(data):
            raise FormFault(
                "a GLB that ends within a chunk", "whole chunks", "the file was cut off"
            )
        chunks.setdefault(kind, data[at + 8 : at + 8 + size])
        at += 8 + size
    if JSON_CHUNK not in chunks:
        raise FormFault("a GLB without its JSON chunk", "glTF 2.0")
    return _read(chunks[JSON_CHUNK], chunks.get(BIN_CHUNK), None, "GLB")


def read_gltf(data: bytes, folder: Path) -> Raw:
    """The text form, with its buffers inside or in a file beside it."""
    return _read(data, None, folder, "glTF")


def _read(text: bytes, inner: bytes | None, folder: Path | None, form: str) -> Raw:
    try:
        top = json.loads(text)
        if not isinstance(top, dict):
            raise FormFault(f"{form} whose JSON is no object", "glTF 2.0")
        return _meshes(top, inner, folder, form)
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise FormFault(f"{form} whose JSON cannot be read: {error}", "glTF 2.0") from error
    except (KeyError, IndexError, TypeError, AttributeError, ValueError, OverflowError) as error:
        if isinstance(error, FormFault):
            raise
        raise FormFault(
            f"{form} whose parts do not fit together ({type(error).__name__}: {str(error)[:80]})",
            "glTF 2.0",
        ) from error


def _meshes(top: dict[str, Any], inner: bytes | None, folder: Path | None, form: str) -> Raw:
    for name in top.get("extensionsRequired", ()):
        if name != "KHR_mesh_quantization":
            raise FormFault(
                f"{form} that needs {str(name)[:60]!r}", "plain, uncompressed glTF",
                "export it again without compression",
            )  # fmt: skip
    buffers = [_buffer(one, inner, folder) for one in top.get("buffers", ())]
    points: list[NDArray[np.float64]] = []
    faces: list[NDArray[np.int64]] = []
    notes: list[str] = []
    count = 0
    for mesh, place in _placed(top):
        for part in top["meshes"][mesh]["primitives"]:
            if "POSITION" not in part["attributes"]:
                continue
            own = _accessor(top, buffers, part["attributes"]["POSITION"]).astype(float)
            if own.ndim != 2 or own.shape[1] != 3:
                raise FormFault(f"{form} with positions of {own.shape}", "three numbers a point")
            points.append(own @ place[:3, :3].T + place[:3, 3])
            if part.get("mode", 4) == 4:
                index = (
                    _accessor(top, buffers, part["indices"]).ravel().astype(np.int64)
                    if "indices" in part
                    else np.arange(len(own))
                )
                faces.append(index[: len(index) // 3 * 3].reshape(-1, 3) + count)
            elif part["mode"] != 0:
                notes.append("strips, fans or lines: taken as points")
            count += len(own)
            if count > 200_000_000:
                raise FormFault(f"{form} that repeats its meshes without end", "one scan")
    if not points:
        raise FormFault(f"{form} without meshes", "at least one mesh with positions")
    named = np.concatenate(faces) if faces else None
    return Raw(form, np.concatenate(points), named, tuple(dict.fromkeys(notes)), "m")


def _buffer(one: dict[str, Any], inner: bytes | None, folder: Path | None) -> bytes:
    uri: str | None = one.get("uri")
    if uri is None:
        if inner is None:
            raise FormFault("glTF without the numbers it names", "a buffer in the file")
        return inner
    if uri.startswith("data:"):
        try:
            return base64.b64decode(uri.partition(",")[2], validate=True)
        except binascii.Error as error:
            raise FormFault("a buffer that is no base64", "glTF 2.0") from error
    beside = folder is not None and Path(uri).name == uri and uri not in ("", ".", "..")
    if not beside or folder is None:
        raise FormFault(
            f"a buffer at {uri[:80]!r}", "a buffer in the file or in a file beside it",
            "export it as GLB: one file",
        )  # fmt: skip
    file = folder / uri
    if not file.is_file() or file.is_symlink() or file.stat().st_size > 400_000_000:
        raise FormFault(f"no usable file {uri[:80]!r} beside it", "the buffer it names")
    return file.read_bytes()


def _accessor(top: dict[str, Any], buffers: list[bytes], number: int) -> NDArray[Any]:
    one = top["accessors"][_index(number)]
    if "sparse" in one or "bufferView" not in one:
        raise FormFault("glTF with sparse numbers", "plain accessors", "export it again as GLB")
    view = top["bufferViews"][_index(one["bufferView"])]
    kind, width = np.dtype(KINDS[one["componentType"]]), WIDTHS[one["type"]]
    count = _index(one["count"])
    data = buffers[_index(view["buffer"])]
    low = _index(view.get("byteOffset", 0)) + _index(one.get("byteOffset", 0))
    row = kind.itemsize * width
    stride = _index(view.get("byteStride", row)) or row
    if stride < row or (count and low + stride * (count - 1) + row > len(data)):
        raise FormFault("glTF whose numbers reach beyond its buffer", "whole buffers")
    table = np.ndarray((count, width), kind, data, low, (stride, kind.itemsize))
    if one.get("normalized") and kind.kind in "iu":
        return np.maximum(table / float(np.iinfo(kind).max), -1.0)
    return table


def _index(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise FormFault(f"glTF with {value!r} for a count or place", "a whole number from 0")
    return value


def _placed(top: dict[str, Any]) -> list[tuple[int, NDArray[np.float64]]]:
    """(mesh, place in the scene) of every node that has one; all meshes where there is no scene."""
    nodes = top.get("nodes", [])
    scenes = top.get("scenes", [])
    if not scenes or not nodes:
        return [(n, np.eye(4)) for n in range(len(top.get("meshes", [])))]
    found: list[tuple[int, NDArray[np.float64]]] = []
    roots = scenes[_index(top.get("scene", 0))].get("nodes", [])
    waiting = [(_index(n), np.eye(4), 0) for n in roots]
    seen = 0
    while waiting:
        number, above, depth = waiting.pop()
        seen += 1
        if depth > DEEPEST or seen > MOST_NODES:
            raise FormFault("glTF nodes that stand in each other without end", "a tree of nodes")
        node = nodes[number]
        place = above @ _own_place(node)
        if "mesh" in node:
            found.append((_index(node["mesh"]), place))
        waiting += [(_index(n), place, depth + 1) for n in node.get("children", [])]
    return found


def _own_place(node: dict[str, Any]) -> NDArray[np.float64]:
    if "matrix" in node:
        return np.array(node["matrix"], dtype=float).reshape(4, 4).T
    place = np.eye(4)
    x, y, z, w = np.array(node.get("rotation", [0, 0, 0, 1]), dtype=float)
    turn = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    place[:3, :3] = turn * np.array(node.get("scale", [1, 1, 1]), dtype=float)
    place[:3, 3] = np.array(node.get("translation", [0, 0, 0]), dtype=float)
    return place
