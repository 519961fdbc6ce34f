"""Where a live journal may not lie: network drives, and folders kept in step with a remote copy.

Locks and syncs are promises of the disk, and such places do not keep them; a program that carries
files between machines carries half of a write, or the older of two. The record as text may go
anywhere. What is seen of such places is in docs/decisions/journal.md, with what is not seen.
"""

from __future__ import annotations

import ctypes
import os
import re
import stat
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

HERE = "DRYBUILD_JOURNAL_HERE"
"""Environment variable: folders in which the owner wants the journal all the same."""
SYNCED = "DRYBUILD_SYNCED"
"""Environment variable: folders that the owner knows to be kept in step with a remote copy."""

# fmt: off
# Names of file systems, as systems list them with what is mounted.
_REMOTE = frozenset(
    (
        "9p", "afpfs", "afs", "ceph", "cifs", "coda", "gfs2", "lustre", "ncpfs", "nfs", "nfs4",
        "ocfs2", "orangefs", "smb3", "smbfs", "vboxsf", "webdav",
    )
)
# fmt: on
# File systems that a program serves are remote as a rule; these two are disks of the machine.
_SERVED_AND_LOCAL = frozenset({"fuseblk", "fuse.fuse-overlayfs"})
# What programs that carry files between machines leave behind, beside or above them.
_TRACES = re.compile(r"\._?sync|\.synced$|.*[ (._-](conflicted[ _-]copy|sync-conflict)", re.I)
# Where macOS mounts such folders.
_KEPT_IN_STEP = (("Library", "CloudStorage"), ("Library", "Mobile Documents"))
# Windows: attributes and tag of files that are brought from elsewhere when they are read.
_RECALLED = 0x40000 | 0x400000
_CLOUD_TAG, _TAG_BITS = 0x9000001A, 0xFFFF0FFF


def why_not(
    folder: Path, *, environ: Mapping[str, str] | None = None, mounts: str | None = None
) -> str:
    """Why a live journal may not lie in this folder, with the way out; empty where it may.

    mounts: the system's list of what is mounted, as of Linux; else it is asked for.
    """
    environ = os.environ if environ is None else environ
    if folder in _listed(environ.get(HERE, "")):
        return ""
    found = _remote(folder, mounts) or _in_step(folder, environ)
    if not found:
        return ""
    return (
        f"{folder} {found}. A live journal is damaged there: locks and syncs are not kept, and of "
        "two copies one is lost. Move the build folder to a disk of this machine. To have the "
        "record elsewhere as well, write it out as text: drybuild journal DIR --export FILE. If "
        f"this is mistaken, set {HERE}={folder}"
    )


def _listed(text: str) -> list[Path]:
    return [Path(part).expanduser().resolve() for part in text.split(os.pathsep) if part.strip()]


def _remote(folder: Path, mounts: str | None) -> str:
    kind = ""
    if mounts is not None or sys.platform.startswith("linux"):
        kind = _kind_there(folder, _mounted(mounts))
    elif sys.platform == "darwin":
        kind = _kind_there(folder, _mounted_on_macos())
    elif os.name == "nt":
        kind = _kind_on_windows(folder)
    remote = kind in _REMOTE or (kind.startswith("fuse") and kind not in _SERVED_AND_LOCAL)
    return f"is on a network drive or a served one ({kind})" if remote else ""


def _kind_there(folder: Path, mounted: Iterator[tuple[str, str]]) -> str:
    """The kind of the file system that holds a folder: the deepest mount, of two the later."""
    best, kind = -1, ""
    for place, found in mounted:
        inside = Path(place) in (folder, *folder.parents)
        if inside and len(place) >= best:
            best, kind = len(place), found
    return kind


def _mounted(text: str | None) -> Iterator[tuple[str, str]]:
    """Linux: fields 5 and, after a lone dash, 1 of each line of mountinfo (proc(5))."""
    if text is None:
        try:
            text = Path("/proc/self/mountinfo").read_text(encoding="utf-8", errors="replace")
        except OSError:
            return
    for line in text.splitlines():
        left, _, right = line.partition(" - ")
        fields, kind = left.split(), right.split()
        if len(fields) > 4 and kind:
            place = re.sub(r"\\([0-7]{3})", lambda m: chr(int(m[1], 8)), fields[4])
            yield place, kind[0]


def _mounted_on_macos() -> Iterator[tuple[str, str]]:
    said = subprocess.run(["/sbin/mount"], capture_output=True, text=True, check=False).stdout
    for line in said.splitlines():
        found = re.search(r" on (/.*) \((\w+)", line)
        if found is not None:
            yield found[1], found[2]


def _kind_on_windows(folder: Path) -> str:
    system = getattr(ctypes, "windll", None)
    if folder.drive.startswith("\\\\"):
        return "smbfs"
    remote = 4
    if system is not None and system.kernel32.GetDriveTypeW(folder.anchor) == remote:
        return "smbfs"
    return ""


def _in_step(folder: Path, environ: Mapping[str, str]) -> str:
    """Whether a program keeps the folder in step with a copy elsewhere, as far as it shows."""
    around = (folder, *folder.parents)
    for place in _listed(environ.get(SYNCED, "")):
        if place in around:
            return f"lies in {place}, which {SYNCED} names as kept in step with a remote copy"
    for parts in _KEPT_IN_STEP:
        if any(place.parts[-2:] == parts for place in around):
            return f"lies in {parts[-1]}, which is kept in step with a remote copy"
    home = _home()
    for place in around:
        # Programs keep settings in the home folder itself; there a trace says nothing.
        if place == home or place.parent == place:
            break
        trace = _trace(place)
        if trace:
            return f"is kept in step with a remote copy, by what lies in {place}: {trace}"
    return ""


def _home() -> Path | None:
    try:
        return Path.home()
    except RuntimeError:
        return None


def _trace(place: Path) -> str:
    try:
        with os.scandir(place) as found:
            for entry in found:
                if _TRACES.match(entry.name):
                    return entry.name
        about = place.lstat()
    except OSError:
        return ""
    recalled = getattr(about, "st_file_attributes", 0) & _RECALLED
    tag = getattr(about, "st_reparse_tag", 0) & _TAG_BITS
    if recalled or tag == _CLOUD_TAG:
        return f"marked so by the system ({stat.filemode(about.st_mode)})"
    return ""
