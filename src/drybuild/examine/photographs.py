"""Photographs that were kept from a screen: a file in ``photos/``, and the remark that names it.

The remark holds what is to be seen and the file's SHA-256, so that a file that was exchanged since
is told from the one that was kept. Taking the entry back takes the photograph off card and book;
the file stays, as the entry does. One of a task is shown on its card, one of no task ties the book
to the car.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from drybuild.build.kinds.identity import Photograph
from drybuild.build.photographs import FOLDER, MOST_BYTES
from drybuild.examine.opened import OpenBuild
from drybuild.journal import Entry
from drybuild.values import DrybuildError

MOST_KEPT = 500
"""Photographs that are kept from screens; a folder that is sent to somebody has an end."""
LONGEST = 120
"""Letters of what is to be seen."""


class NotKept(DrybuildError):
    """A photograph that is not kept, or is not there as it was kept; and why."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One photograph that stands. task: the key of the task that it is of, or empty."""

    entry: int
    file: str
    digest: str
    shows: str
    taken: str
    by: str
    task: str


class OfTheCar(Photograph):
    """A photograph of the book that was kept from a screen. digest: of its file at that time."""

    digest: str


def kept(opened: OpenBuild) -> tuple[Kept, ...]:
    """Photographs that stand in the journal, oldest first."""
    return tuple(
        Kept(r.id, r.photograph, r.digest, r.words, r.at[:10], r.who, r.task)
        for r in opened.journal.remarks()
        if r.photograph
    )


def of_the_car(opened: OpenBuild) -> tuple[OfTheCar, ...]:
    """Those of no task, as the book names them."""
    return tuple(
        OfTheCar(file=k.file, shows=k.shows, taken=k.taken, by=k.by, digest=k.digest)
        for k in kept(opened)
        if not k.task
    )


def keep(opened: OpenBuild, data: bytes, *, shows: str, who: str, task: str = "") -> Entry:
    """Write a JPEG into ``photos/`` under a name of ours, and the remark that names it.

    Raises NotKept, EntryRefused, OSError; the folder is then as before.
    """
    words = " ".join(shows.split())
    if not words:
        raise NotKept("say what is to be seen on the photograph")
    if len(words) > LONGEST:
        raise NotKept(f"what is to be seen has {len(words)} letters; at most {LONGEST}")
    if not who.strip():
        raise NotKept("say who took the photograph")
    if len(data) > MOST_BYTES:
        raise NotKept(f"the photograph has {len(data):,} bytes; at most {MOST_BYTES:,}")
    if len(kept(opened)) >= MOST_KEPT:
        raise NotKept(f"{MOST_KEPT} photographs are kept already: take back those nobody needs")
    digest = hashlib.sha256(data).hexdigest()
    name = f"{datetime.now().date().isoformat()}-{digest[:12]}.jpg"
    new = _write(opened.build.root, name, data)
    try:
        return opened.journal.remark(words, who=who, task=task, photograph=name, digest=digest)
    except BaseException:
        if new:
            (opened.build.root / FOLDER / name).unlink(missing_ok=True)
        raise


def photograph_bytes(root: Path, named: Photograph | Kept) -> bytes:
    """The file of a photograph; of one that was kept from a screen, as it was kept.

    Raises NotKept, OSError.
    """
    path = root / FOLDER / named.file
    if not path.resolve().is_relative_to(root.resolve()):
        raise NotKept("it is a link out of the build's folder")
    if path.stat().st_size > MOST_BYTES:
        raise NotKept(f"it has more than {MOST_BYTES:,} bytes")
    data = path.read_bytes()
    digest = getattr(named, "digest", "")
    if digest and hashlib.sha256(data).hexdigest() != digest:
        raise NotKept("the file is another one than was kept")
    return data


def _write(root: Path, name: str, data: bytes) -> bool:
    """The file, whole or not at all; whether it is new. A link is never written through."""
    folder = root / FOLDER
    if folder.is_symlink():
        raise NotKept(f"{FOLDER}/ is a link: make it a folder of the build")
    folder.mkdir(exist_ok=True)
    path = folder / name
    new = not path.exists()
    partial = folder / f"{name}.{os.getpid()}.part"
    try:
        with partial.open("xb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.replace(partial, path)
    except FileExistsError:
        raise NotKept(f"the same photograph is being kept: {FOLDER}/{name}") from None
    except OSError:
        with contextlib.suppress(OSError):
            partial.unlink()
        raise
    return new
