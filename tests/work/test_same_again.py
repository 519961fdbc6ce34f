"""The same problem and seed are the same search, whatever order the interpreter gives a set."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "examples" / "plover_saturdays"
PROGRAM = """
import hashlib
from dataclasses import replace
import drybuild
from drybuild.work.at_hand import at_hand
from drybuild.work.model import Clause
from drybuild.work.solve.laid import Laid
from drybuild.work.solve.strict import Strict
from drybuild.work.solve.tasks import tasks_of

problem = at_hand(drybuild.open_build("FOLDER")).todo.problem
jobs = sorted(problem.jobs)
taught = tuple(
    Clause("drive", frozenset(jobs[n : n + 3]), frozenset(jobs[:n]), "why", "check", "car")
    for n in range(1, len(jobs) - 3)
)
assert len(taught) > 2
problem = replace(problem, clauses=taught)
laid = Laid(problem, tasks_of(problem), Strict(problem), timed=True)
print(hashlib.sha256(str(laid.model.proto).encode()).hexdigest())
"""


def _model(seed: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM.replace("FOLDER", str(DEMO))], capture_output=True,
        text=True, timeout=120, env={**os.environ, "PYTHONHASHSEED": seed},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("seed", ["1", "2", "3"])
def test_the_model_is_the_same_whatever_the_order_of_a_set(seed: str) -> None:
    assert _model(seed) == _model("0")
