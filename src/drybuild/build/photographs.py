"""Photographs of the car that the folder names: whether they are there, and their digests."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from drybuild.build.errors import Fault
from drybuild.build.kinds.identity import Photograph
from drybuild.build.lines import line_of

FOLDER = "photos"
MOST_BYTES = 8_000_000
"""Larger photographs make no better proof, and a book that nobody can send."""


def list_photographs(
    root: Path, photographs: Iterable[Photograph], files: dict[str, str], faults: list[Fault]
) -> None:
    """Each must be there; in the hash of the files its digest stands for its text."""
    for index, one in enumerate(photographs):
        path = root / FOLDER / one.file
        name = f"{FOLDER}/{one.file}"
        if not path.is_file():
            found, expected = repr(one.file)[:80], f"the file {name} in the build's folder"
        elif not path.resolve().is_relative_to(root.resolve()):
            found = f"{one.file!r}"[:60] + ", a link out of the build's folder"
            expected = f"the picture itself as {name}"
        elif path.stat().st_size > MOST_BYTES:
            found = f"{path.stat().st_size:,} bytes"
            expected = f"a picture of at most {MOST_BYTES:,} bytes"
        else:
            with path.open("rb") as picture:
                files[name] = hashlib.file_digest(picture, "sha256").hexdigest()
            continue
        line = line_of(files.get("car.toml", ""), ("photograph", str(index), "file"))
        faults.append(Fault("car.toml", line, f"photograph.{index}.file", found, expected))
