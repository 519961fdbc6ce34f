"""The front door: by content first, by the file's ending where content does not tell."""

from __future__ import annotations

from pathlib import Path

from .gltf import read_glb, read_gltf
from .ply import read_ply
from .scan import FormFault, Raw, Scan, ScanRefused, checked
from .stl import read_stl
from .text_forms import read_obj, read_xyz

MOST_BYTES = 400_000_000
FORMS = "a PLY, STL, OBJ, XYZ, glTF or GLB file"
XYZ_ENDINGS = (".xyz", ".txt", ".csv", ".asc", ".pts")


def read_scan(path: Path | str, *, most_bytes: int = MOST_BYTES) -> Scan:
    """Read a scan. Raises ScanRefused with file, what was found and what was expected.

    Nothing in the file is run, and no other file is opened but a glTF's own buffer beside it.
    """
    path = Path(path)
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise ScanRefused(path.name, "a folder or device", FORMS)
        if size > most_bytes:
            raise ScanRefused(
                path.name, f"{size / 1e6:.0f} MB", f"at most {most_bytes / 1e6:.0f} MB",
                "thin the scan in the scanner's program: 2 mm between points is plenty",
            )  # fmt: skip
        if size < 20:
            raise ScanRefused(path.name, f"{size} bytes", FORMS, "the file was cut off or is empty")
        data = path.read_bytes()
    except OSError as error:
        raise ScanRefused(path.name, f"cannot be read: {error.strerror}", FORMS) from error
    try:
        return checked(_raw(data, path), path.name)
    except FormFault as fault:
        raise ScanRefused(path.name, fault.found, fault.expected, fault.hint) from fault
    except MemoryError as error:
        raise ScanRefused(
            path.name, "more than this computer's memory holds", "a smaller scan"
        ) from error


def _raw(data: bytes, path: Path) -> Raw:
    ending = path.suffix.lower()
    if data[:4] in (b"ply\n", b"ply\r", b"ply "):
        return read_ply(data)
    if data[:4] == b"glTF":
        return read_glb(data)
    if ending == ".gltf":
        return read_gltf(data, path.parent)
    if ending == ".stl":
        return read_stl(data)
    if ending == ".obj":
        return read_obj(data)
    if ending in XYZ_ENDINGS:
        return read_xyz(data)
    raise FormFault(
        f"a file that ends in {ending!r} and begins with {data[:12]!r}",
        FORMS,
        "give the file the ending of its form",
    )
