"""Scan files: every form, and every bad file a result or a clear refusal."""

from __future__ import annotations

import base64
import json
import os
import shutil
import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.build import BuildFaults, read_build
from drybuild.build.scans import ScanRefused, guess_units, read_scan, surface_points
from drybuild.build.scans.scan import Scan

CUBE = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
FACES = np.array([[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]])
REFERENCE = Path(
    os.environ.get("DRYBUILD_REFERENCE", Path(__file__).parents[3] / "shared" / "reference")
)


def line(numbers: object, between: str = " ") -> str:
    return between.join(str(one) for one in np.asarray(numbers).tolist())


def reading(path: Path) -> Scan | ScanRefused:
    """A scan, or a refusal that says what was found and what was expected."""
    try:
        return read_scan(path)
    except ScanRefused as error:
        return error


def ply(order: str, points: np.ndarray = CUBE, faces: np.ndarray = FACES) -> bytes:
    word = {"": "ascii", "<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = (
        f"ply\nformat {word} 1.0\ncomment invented\nelement vertex {len(points)}\n"
        "property float x\nproperty float y\nproperty float z\nproperty uchar red\n"
        f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    ).encode()
    if not order:
        rows = [line(p) + " 7" for p in points]
        rows += ["3 " + line(f) for f in faces]
        return head + "\n".join(rows).encode() + b"\n"
    body = b"".join(struct.pack(order + "fffB", *p, 7) for p in points)
    return head + body + b"".join(struct.pack(order + "Biii", 3, *f) for f in faces)


def stl_binary(triangles: np.ndarray, head: bytes = b"solid of some maker") -> bytes:
    rows = b"".join(struct.pack("<12fH", 0, 0, 0, *t.ravel(), 0) for t in triangles)
    return head.ljust(80) + struct.pack("<I", len(triangles)) + rows


def stl_text(triangles: np.ndarray) -> bytes:
    rows = ["solid invented"]
    for t in triangles:
        rows += ["facet normal 0 0 0", "outer loop"]
        rows += ["vertex " + line(p) for p in t]
        rows += ["endloop", "endfacet"]
    return "\n".join([*rows, "endsolid"]).encode()


def gltf(*, scale: float = 1.0, uri: str | None = None, **top: object) -> dict[str, object]:
    data = CUBE.astype("<f4").tobytes() + FACES.astype("<u2").tobytes()
    inner = "data:application/octet-stream;base64," + base64.b64encode(data).decode()
    made: dict[str, object] = {
        "asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}],
        "nodes": [{"children": [1], "translation": [0, 0, 5]}, {"mesh": 0, "scale": [scale] * 3}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": 8, "type": "VEC3"},
            {"bufferView": 1, "componentType": 5123, "count": 18, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteLength": 96}, {"buffer": 0, "byteOffset": 96, "byteLength": 36}
        ],
        "buffers": [{"byteLength": len(data), "uri": inner if uri is None else uri}],
    }  # fmt: skip
    return made | top


def glb(made: dict[str, object]) -> bytes:
    data = CUBE.astype("<f4").tobytes() + FACES.astype("<u2").tobytes()
    made = made | {"buffers": [{"byteLength": len(data)}]}
    text = json.dumps(made).encode()
    text += b" " * (-len(text) % 4)
    body = struct.pack("<II", len(text), 0x4E4F534A) + text
    body += struct.pack("<II", len(data), 0x004E4942) + data
    return b"glTF" + struct.pack("<II", 2, 12 + len(body)) + body


OBJ = (
    "# invented\nmtllib none.mtl\n"
    + "".join(f"v {line(p)}\n" for p in CUBE)
    + "".join("f {}/1/1 {}//2 {}\n".format(*(f + 1)) for f in FACES)
).encode()
GOOD = {
    "little.ply": ply("<"), "big.ply": ply(">"), "text.ply": ply(""),
    "text.stl": stl_text(CUBE[FACES]), "binary.stl": stl_binary(CUBE[FACES]),
    "mesh.obj": OBJ, "points.xyz": "\n".join(line(p) + " 9" for p in CUBE).encode(),
    "comma.csv": b"x,y,z\n" + "\n".join(line(p, ",") for p in CUBE).encode(),
    "scene.gltf": json.dumps(gltf()).encode(), "scene.glb": glb(gltf()),
}  # fmt: skip


def put(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def refused(folder: Path, name: str, data: bytes) -> str:
    with pytest.raises(ScanRefused) as caught:
        read_scan(put(folder, name, data))
    fault = caught.value.fault
    assert fault.file == name
    assert fault.found
    assert fault.expected
    return str(fault)


@pytest.mark.parametrize("name", GOOD)
def test_every_form_gives_the_cube(tmp_path: Path, name: str) -> None:
    scan = read_scan(put(tmp_path, name, GOOD[name]))
    at = np.unique(scan.points - scan.points.min(axis=0), axis=0)
    assert np.array_equal(at, CUBE)
    if name.endswith(("xyz", "csv")):
        assert scan.triangles is None
    else:
        assert scan.triangles is not None
        assert len(scan.triangles) == len(FACES)
        corners = scan.points[scan.triangles] - scan.points.min(axis=0)
        assert np.array_equal(corners, CUBE[FACES])


def test_nodes_of_gltf_place_and_scale(tmp_path: Path) -> None:
    scan = read_scan(put(tmp_path, "a.gltf", json.dumps(gltf(scale=2.0)).encode()))
    assert scan.units == "m"
    assert np.array_equal(scan.points.min(axis=0), [0, 0, 5])
    assert np.array_equal(scan.points.max(axis=0), [2, 2, 7])


def test_points_that_are_no_numbers_are_left_out_and_said(tmp_path: Path) -> None:
    points = CUBE.copy()
    points[3] = np.nan
    for order in ("", "<"):
        scan = read_scan(put(tmp_path, "a.ply", ply(order, points)))
        assert len(scan.points) == 7
        assert "1 of 8 points" in scan.notes[0]
        assert scan.triangles is not None
        assert len(scan.triangles) == 4  # two faces stood on the lost corner
        assert np.all(np.isfinite(scan.points[scan.triangles]))
    text = refused(tmp_path, "b.ply", ply("", np.full((8, 3), np.nan)))
    assert "0 usable points" in text


def test_faces_that_point_nowhere(tmp_path: Path) -> None:
    faces = FACES.copy()
    faces[0, 0] = 99
    scan = read_scan(put(tmp_path, "a.ply", ply("<", faces=faces)))
    assert scan.triangles is not None
    assert len(scan.triangles) == 5
    assert "points that are not there" in scan.notes[0]


@pytest.mark.parametrize("name", GOOD)
def test_a_file_cut_off_anywhere(tmp_path: Path, name: str) -> None:
    whole = GOOD[name]
    for cut in (10, 30, len(whole) // 2, len(whole) - 5):
        found = reading(put(tmp_path, name, whole[:cut]))
        assert found.fault.expected if isinstance(found, ScanRefused) else len(found.points) >= 3


def test_what_is_refused_and_why(tmp_path: Path) -> None:
    assert "10 bytes" in refused(tmp_path, "a.ply", b"ply\nformat")
    assert "0 bytes" in refused(tmp_path, "a.stl", b"")
    assert "ends in '.docx'" in refused(tmp_path, "a.docx", b"PK" + bytes(100))
    assert "cut off" in refused(tmp_path, "a.stl", stl_binary(CUBE[FACES])[:-60])
    assert "0 triangles" in refused(tmp_path, "a.stl", bytes(84))
    assert "no point" not in refused(tmp_path, "a.xyz", b"one line\nand another line of words\n")
    huge = ply("<").replace(b"vertex 8", b"vertex 8000000000")
    assert "announced" in refused(tmp_path, "a.ply", huge)
    assert "one place" in refused(tmp_path, "a.xyz", b"1 2 3\n" * 9)
    with pytest.raises(ScanRefused, match="cannot be read"):
        read_scan(tmp_path / "none.ply")
    with pytest.raises(ScanRefused, match="folder"):
        read_scan(tmp_path)


def test_too_large_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "large.ply"
    with path.open("wb") as file:
        file.truncate(500_000_000)  # a hole on disk: nothing is written
    with pytest.raises(ScanRefused, match="500 MB") as caught:
        read_scan(path)
    assert "thin" in caught.value.fault.hint


def test_gltf_opens_nothing_but_a_buffer_beside_it(tmp_path: Path) -> None:
    inside = tmp_path / "inside"
    inside.mkdir()
    data = CUBE.astype("<f4").tobytes() + FACES.astype("<u2").tobytes()
    put(tmp_path, "secret.bin", data)
    put(inside, "good.bin", data)
    for uri in ("../secret.bin", "http://nowhere.invalid/x.bin", "/etc/passwd", "..", "no.bin"):
        refused(inside, "a.gltf", json.dumps(gltf(uri=uri)).encode())
    (inside / "link.bin").symlink_to(tmp_path / "secret.bin")
    refused(inside, "a.gltf", json.dumps(gltf(uri="link.bin")).encode())
    assert (
        len(read_scan(put(inside, "a.gltf", json.dumps(gltf(uri="good.bin")).encode())).points) == 8
    )


def test_gltf_that_stands_in_itself_or_is_compressed(tmp_path: Path) -> None:
    ring = gltf(nodes=[{"children": [1]}, {"children": [0], "mesh": 0}])
    assert "without end" in refused(tmp_path, "a.gltf", json.dumps(ring).encode())
    packed = gltf(extensionsRequired=["KHR_draco_mesh_compression"])
    assert "compression" in refused(tmp_path, "a.gltf", json.dumps(packed).encode())
    beyond = gltf(bufferViews=[{"buffer": 0, "byteOffset": 90}] * 2)
    assert "beyond" in refused(tmp_path, "a.gltf", json.dumps(beyond).encode())
    assert "JSON" in refused(tmp_path, "a.gltf", b"[" * 5000)


@given(st.sampled_from(sorted(GOOD)), st.data())
def test_damaged_files_are_read_or_refused_and_nothing_else(
    tmp_path_factory: pytest.TempPathFactory, name: str, data: st.DataObject
) -> None:
    whole = bytearray(GOOD[name])
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(whole) - 1))
        whole[at] = data.draw(st.integers(0, 255))
    folder = tmp_path_factory.mktemp("damaged")
    try:
        scan = read_scan(put(folder, name, bytes(whole)))
    except ScanRefused:
        return
    assert np.all(np.isfinite(scan.points))
    if scan.triangles is not None:
        assert scan.triangles.min() >= 0
        assert scan.triangles.max() < len(scan.points)


def scan_of(size: float, units: str | None = None) -> Scan:
    return Scan("scan.ply", "PLY", CUBE * size, None, units, ())


def test_units_are_told_from_the_size_or_asked_for() -> None:
    assert guess_units(scan_of(0.9)) == "m"
    assert guess_units(scan_of(850.0)) == "mm"
    assert guess_units(scan_of(40.0), "in") == "in"
    for size in (40.0, 1e-4, 1e6):
        with pytest.raises(ScanRefused, match="does not say"):
            guess_units(scan_of(size))
    with pytest.raises(ScanRefused, match="could be mm"):
        guess_units(scan_of(850.0), "m")
    with pytest.raises(ScanRefused, match="850 m long"):
        guess_units(scan_of(850.0, "m"))
    with pytest.raises(ScanRefused, match="furlong"):
        guess_units(scan_of(1.0), "furlong")


def test_large_triangles_are_filled_whichever_way_they_face() -> None:
    faces = np.array([[0, 2, 6], [0, 4, 6]])
    scan = Scan("a.ply", "PLY", CUBE, faces, None, ())
    flipped = Scan("a.ply", "PLY", CUBE, faces[:, ::-1], None, ())
    points = surface_points(scan, 0.05)
    rng = np.random.default_rng(0)
    on_it = np.stack([*rng.uniform(size=(2, 200)), np.zeros(200)], axis=1)
    off = np.min(np.linalg.norm(on_it[:, None] - points[None], axis=2), axis=1)
    assert off.max() < 0.05
    other = surface_points(flipped, 0.05)
    assert np.min(np.linalg.norm(on_it[:, None] - other[None], axis=2), axis=1).max() < 0.05
    with pytest.raises(ScanRefused, match="points"):
        surface_points(scan, 1e-5)


@pytest.mark.skipif(
    not (REFERENCE / "meshes").is_dir(), reason="the folder of reference meshes is not there"
)
def test_reference_meshes_give_a_result_or_a_clear_error() -> None:
    files = [
        path for path in sorted((REFERENCE / "meshes").rglob("*"))
        if path.suffix.lower() in (".ply", ".stl", ".obj", ".xyz")
    ]  # fmt: skip
    assert files
    read = 0
    for path in files:
        found = reading(path)
        if isinstance(found, ScanRefused):
            fault = found.fault
            assert fault.file == path.name
            assert fault.found
            assert fault.expected
        else:
            read += 1
            assert np.all(np.isfinite(found.points))
    assert read >= len(files) * 2 // 3


def test_a_build_names_its_scans_and_its_hash_holds_them(tmp_path: Path) -> None:
    demo = shutil.copytree(
        Path(__file__).parents[2] / "examples" / "plover_scanned", tmp_path / "car"
    )
    before = read_build(demo)
    assert "scans/rear_left.ply" in before.files
    scan = demo / "scans" / "rear_left.ply"
    data = bytearray(scan.read_bytes())
    data[-1] ^= 1
    scan.write_bytes(bytes(data))
    assert read_build(demo).inputs_hash != before.inputs_hash
    scan.unlink()
    with pytest.raises(BuildFaults) as caught:
        read_build(demo)
    (fault,) = caught.value.faults
    assert fault.where == "corner.rear.left.scan.file"
    line = (demo / "car.toml").read_text(encoding="utf-8").splitlines()[(fault.line or 0) - 1]
    assert "rear_left.ply" in line or "corner.rear.left.scan" in line
