"""What all tests share: how wide the screen is, how hypothesis looks for examples, and a command as
it is typed on a copy of the demo build."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from drybuild.cli import main

DEMO = Path(__file__).parents[1] / "examples" / "plover"
NEVER = re.compile(
    r"\bsafe\b|\bpassed\b(?! on\b)|OK to drive|\bTraceback\b|\bnan\b|!", re.IGNORECASE
)
"""What no command ever prints; "passed on" is a field of the schema, what is handed on."""

# Whoever runs the tests, words are broken as on a screen that is wide enough.
os.environ["COLUMNS"] = "120"

# No deadline: two workers on two cores make times jump, and a slow example is not a wrong one.
settings.register_profile("drybuild", deadline=None, suppress_health_check=[HealthCheck.too_slow])
# In CI the same examples each time, so that a landing is not refused by luck.
settings.register_profile("ci", settings.get_profile("drybuild"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "drybuild")


class Said:
    """What a command printed, and its exit code."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def words(self) -> str:
        """What it printed, however its lines were broken."""
        return " ".join(self.out.split())


@pytest.fixture
def run(capsys, monkeypatch):
    """Run a command as typed; at 100 columns, with nobody to ask."""
    monkeypatch.setenv("COLUMNS", "100")

    def _run(*words: object) -> Said:
        capsys.readouterr()
        try:
            code = main([str(w) for w in words])
        except SystemExit as left:
            code = int(left.code or 0)
        out, err = capsys.readouterr()
        assert not NEVER.search(out + err)
        return Said(code, out, err)

    return _run


@pytest.fixture
def build(tmp_path: Path) -> Path:
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    (folder / "journal.sqlite").unlink(missing_ok=True)
    return folder
