"""A server started as somebody starts it, and the machine's own browser."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/")
UP_WITHIN = 60.0
"""Seconds in which a server must say where it is."""


def chromium() -> str | None:
    """Where the machine's Chromium is, if there is one."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


@dataclass
class Served:
    """A server of a folder, as somebody starts it from the command line."""

    folder: Path
    port: int = 0
    address: str = ""
    _process: subprocess.Popen[str] | None = field(default=None, repr=False)

    def start(self) -> None:
        """Start it, on the same port as before if it ran before."""
        words = ["-m", "drybuild.cli", "serve", str(self.folder), "--port", str(self.port)]
        self._process = subprocess.Popen(
            [sys.executable, *words], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        assert self._process.stdout is not None
        watch = threading.Timer(UP_WITHIN, self._process.kill)
        watch.start()
        said, found = "", None
        while found is None and (line := self._process.stdout.readline()):
            said += line
            found = ADDRESS.search(line)
        watch.cancel()
        if found is None:
            self.kill()
            raise RuntimeError(f"the server did not say where it is: {said!r}")
        self.port = int(found[1])
        self.address = found[0].rstrip("/")

    def kill(self) -> None:
        """End it as a power cut would."""
        assert self._process is not None
        self._process.kill()
        self._over()

    def stop(self) -> None:
        """End it as Ctrl-C does, if it still runs."""
        if self._process is not None and self._process.poll() is None:
            self._process.terminate()
            self._over()

    def _over(self) -> None:
        assert self._process is not None
        assert self._process.stdout is not None
        try:
            self._process.wait(20)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait(20)
        self._process.stdout.close()


@contextmanager
def served(folder: Path) -> Iterator[Served]:
    """A running server of a folder."""
    one = Served(folder)
    one.start()
    try:
        yield one
    finally:
        one.stop()


def until(holds: Callable[[], bool], seconds: float = 20.0) -> None:
    """Wait until something holds that no page shows. Fails after ``seconds``."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it never came about"
        time.sleep(0.05)
