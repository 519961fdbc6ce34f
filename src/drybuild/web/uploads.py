"""Files that come in through a browser: judged by what they are, read apart, noted when confirmed.

A name is a label and never a path. What a file is, its first bytes say. It is read in a process of
its own with little time and memory; what it would write is shown, and written only when somebody
who may edit says so.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import subprocess
import sys
import tempfile
import threading
import time
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from drybuild.web.errors import WebProblem
from drybuild.web.worker import FAILED, MADE, NO_MEMORY, REFUSED

MOST_BYTES = 500_000
NAME_LONGEST = 80
ANSWER = 2_000_000
"""Letters that a worker may answer."""
AT_ONCE = 2
"""Workers that run beside each other; a further file waits, and is sent away after a while."""
WAITS = 10.0

KEPT = 20
KEPT_FOR = 1800.0
"""Files that wait to be confirmed, and how long, s."""

FOREIGN: tuple[tuple[bytes, str], ...] = (
    (b"PK", "a ZIP, or a document that is one inside"),
    (b"%PDF", "a PDF"),
    (b"\x1f\x8b", "compressed (gzip)"),
    (b"BZh", "compressed (bzip2)"),
    (b"\xfd7zXZ", "compressed (xz)"),
    (b"7z\xbc\xaf", "compressed (7z)"),
    (b"\xff\xd8\xff", "a photograph (JPEG)"),
    (b"\x89PNG", "a picture (PNG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
    (b"SQLite format 3\x00", "a database"),
    (b"\xd0\xcf\x11\xe0", "a document of an office program"),
    (b"{\\rtf", "a document of an office program"),
)


class UploadRefused(WebProblem):
    """A file that is not taken, and why; nothing was written."""


class Busy(WebProblem):
    """Other files are being read: send it again in a moment."""

    def __init__(self) -> None:
        super().__init__("other files are being read: send it once more in a moment")


@dataclass(frozen=True, slots=True)
class Limits:
    """What a worker gets: bytes of memory, seconds of work, seconds by the clock."""

    memory: int = 768_000_000
    work: int = 10
    clock: float = 30.0


@dataclass(frozen=True, slots=True)
class Came:
    """A file that came in and may be confirmed. by: token of the browser that sent it."""

    text: str
    name: str
    who: str
    at: str
    by: str
    found: Mapping[str, Any]
    since: float = field(default_factory=time.monotonic)

    @property
    def digest(self) -> str:
        return hashlib.sha256(self.text.encode()).hexdigest()[:16]


def plain_text(data: bytes, *, expected: str) -> str:
    """The text of a file, by its content. Raises UploadRefused."""
    if not data.strip():
        raise UploadRefused("The file is empty.")
    if len(data) > MOST_BYTES:
        raise UploadRefused(f"The file has {len(data):,} bytes; at most {MOST_BYTES:,} are taken.")
    for begins, what in FOREIGN:
        if data.startswith(begins):
            raise UploadRefused(f"The file is {what}; expected {expected}.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UploadRefused(
            f"Byte {error.start} of the file is no text in UTF-8; expected {expected}."
        ) from None
    odd = re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text)
    if odd is not None:
        line = text.count("\n", 0, odd.start()) + 1
        raise UploadRefused(f"Line {line} has a sign that no text has; expected {expected}.")
    if re.match(r"\s*<[!?a-zA-Z]", text):
        raise UploadRefused(f"The file is a page or XML; expected {expected}.")
    return text


def label(name: str) -> str:
    """A file's name as a label: its last part, in plain signs, and never a way to a file."""
    last = re.split(r"[/\\]", name)[-1]
    kept = re.sub(r"[^\w .()+-]", "_", last, flags=re.ASCII).strip(" .")
    return kept[:NAME_LONGEST] or "a file without a name"


def in_worker(
    job: str, data: bytes, about: Mapping[str, str], *, limits: Limits | None = None,
    paths: tuple[str, ...] = (),
) -> Any:  # fmt: skip
    """What a job says of the bytes. job: ``module:function``, of ours and never of a request's.

    paths: further places where the job's module is. Raises UploadRefused, Busy.
    """
    allowed = limits or Limits()
    if not _workers.acquire(timeout=WAITS):
        raise Busy()
    try:
        return _answer(_run(job, data, about, allowed, paths))
    finally:
        _workers.release()


_workers = threading.BoundedSemaphore(AT_ONCE)


def _run(
    job: str, data: bytes, about: Mapping[str, str], limits: Limits, paths: tuple[str, ...]
) -> tuple[int, bytes]:
    told = {"memory": limits.memory, "seconds": limits.work, "about": dict(about)}
    given = json.dumps(told).encode() + b"\n" + data
    overdue = threading.Event()
    with subprocess.Popen(
        [sys.executable, "-P", "-m", "drybuild.web.worker", job],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        cwd=tempfile.gettempdir(), env=_environment(paths),
    ) as worker:  # fmt: skip
        assert worker.stdin is not None
        assert worker.stdout is not None

        def end() -> None:
            overdue.set()
            worker.kill()

        clock = threading.Timer(limits.clock, end)
        clock.start()
        try:
            with contextlib.suppress(BrokenPipeError), worker.stdin:
                worker.stdin.write(given)
            out = worker.stdout.read(ANSWER + 1)
            if len(out) > ANSWER:
                worker.kill()
            code = worker.wait()
        finally:
            clock.cancel()
    if overdue.is_set():
        raise UploadRefused(
            f"Reading the file took longer than {limits.clock:g} s: it was given up."
        )
    return code, out


def _answer(ended: tuple[int, bytes]) -> Any:
    """What the worker said, or what became of it, in words."""
    code, out = ended
    if len(out) > ANSWER:
        raise UploadRefused("The file says more than fits on a page.")
    if code == NO_MEMORY:
        raise UploadRefused("Reading the file takes more memory than it may have.")
    if code == FAILED:
        raise UploadRefused("The file cannot be read.")
    if code != 0:
        raise UploadRefused(
            "Reading the file was broken off: it takes more time or memory than it may have."
        )
    answer = json.loads(out)
    if REFUSED in answer:
        raise UploadRefused(answer[REFUSED])
    return answer[MADE]


def _environment(paths: tuple[str, ...]) -> dict[str, str]:
    """Little of ours: where Python finds its modules, and no threads, which cost memory."""
    kept = ("PATH", "SYSTEMROOT", "TEMP", "TMP", "HOME", "USERPROFILE", "LANG")
    one = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    found = [*paths, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    return {
        **{k: v for k, v in os.environ.items() if k in kept or k.startswith("DRYBUILD_")}, **one,
        "PYTHONPATH": os.pathsep.join(os.path.abspath(one) for one in found),
        "PYTHONDONTWRITEBYTECODE": "1", "PYTHONUTF8": "1",
    }  # fmt: skip


class Waiting:
    """Files that were read and wait for somebody to confirm them; in memory alone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, Came] = OrderedDict()

    def keep(self, came: Came) -> str:
        """Its mark, by which it is confirmed."""
        mark = secrets.token_hex(16)
        with self._lock:
            self._kept[mark] = came
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return mark

    def take(self, mark: str, by: str) -> Came | None:
        """A file that this browser sent, once; None when it is gone or another's."""
        with self._lock:
            came = self._kept.get(mark)
            if came is None or came.by != by:
                return None
            del self._kept[mark]
        return came if time.monotonic() - came.since < KEPT_FOR else None
