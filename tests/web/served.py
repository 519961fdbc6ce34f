"""The app as a process on loopback, for tests that need the wire, the clock or a kill."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

EXAMPLE = Path(__file__).parents[2] / "examples" / "plover"
AWAY = "127.0.0.2"
"""An address of this machine that the app takes for another device's."""

SCRIPT = """
import sys
import drybuild.web.serve as serving
from drybuild.web import doors, guard
serving.own_address = lambda: "127.0.0.1"
doors.HEAD_WITHIN = float(sys.argv[5])
guard.FORM_WITHIN = float(sys.argv[5])
share, certificate = sys.argv[3] == "1", sys.argv[4] == "1"
serving.serve(sys.argv[1], port=int(sys.argv[2]), share=share, certificate=certificate)
"""


@dataclass(frozen=True)
class Served:
    """A running app. url: on this machine; sealed: of the encrypted door; said: what it printed."""

    process: subprocess.Popen[str]
    url: str
    sealed: str
    said: str

    @property
    def port(self) -> int:
        return int(self.url.rsplit(":", 1)[1])


@contextlib.contextmanager
def serving(
    folder: Path, *, port: int = 0, share: bool = False, certificate: bool = False,
    within: float = 20.0, keep: Path | None = None,
) -> Iterator[Served]:  # fmt: skip
    """Start the app, and end it however the block ends."""
    arguments = [str(folder), str(port), str(int(share)), str(int(certificate)), str(within)]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    if keep is not None:
        environment["DRYBUILD_KEEP"] = str(keep)
    process = subprocess.Popen(
        [sys.executable, "-c", SCRIPT, *arguments], stdout=subprocess.PIPE, text=True,
        env=environment,
    )  # fmt: skip
    try:
        yield _told(process, last="SHA-256" if certificate else "With" if share else "The car")
    finally:
        process.kill()
        process.wait(20)
        assert process.stdout is not None
        process.stdout.close()


def _told(process: subprocess.Popen[str], *, last: str) -> Served:
    assert process.stdout is not None
    said = ""
    while not said.rpartition("\n")[0].rpartition("\n")[2].startswith(last):
        line = process.stdout.readline()
        assert line, f"the app ended: {said}"
        said += line
    found = re.search(r"The car is at (http://\S+)/", said)
    sealed = re.search(r"(https://\S+)/", said)
    assert found is not None
    return Served(process, found[1], sealed[1] if sealed else "", said)
