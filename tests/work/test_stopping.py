"""Ctrl-C while the solver searches: said in one line, at once, and nothing is left behind."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from ortools.sat.python import cp_model

from drybuild.work.stopping import solved

DEMO = Path(__file__).parents[2] / "examples" / "plover_saturdays"

pytestmark = pytest.mark.skipif(os.name == "nt", reason="a signal to one process is POSIX")

HARD = """
import signal
from ortools.sat.python import cp_model
from drybuild.work.stopping import solved
model = cp_model.CpModel()
sits = [[model.new_bool_var(f"{i} {k}") for k in range(15)] for i in range(16)]
for row in sits:
    model.add_bool_or(row)
for k in range(15):
    for i in range(16):
        for j in range(i):
            model.add_bool_or(~sits[i][k], ~sits[j][k])
solver = cp_model.CpSolver()
solver.parameters.max_time_in_seconds = 60
solver.parameters.num_workers = 1
solver.parameters.symmetry_level = 0
solver.parameters.cp_model_presolve = False
print("searching", flush=True)
try:
    solved(solver, model)
    print("it ended by itself", flush=True)
except KeyboardInterrupt:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # one sent late finds a program that has ended
    print("stopped", flush=True)
"""
"""Sixteen in fifteen seats: no search ends this soon."""

PLAN = """
import sys
from ortools.sat.python import cp_model
from drybuild.cli import main
solve = cp_model.CpSolver.solve
def told(*given, **named):
    print("searching", flush=True)
    return solve(*given, **named)
cp_model.CpSolver.solve = told
sys.exit(main(["plan", sys.argv[1], "--anew"]))
"""


def interrupted(
    program: str, *words: str, after: float, times: int = 1
) -> tuple[int, str, str, float]:
    """A program that got Ctrl-C while it searched: code, what it said, how long it went on."""
    process = subprocess.Popen(
        [sys.executable, "-c", program, *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        while "searching" not in (line := process.stdout.readline()):
            assert line, process.communicate()[1]
        time.sleep(after)
        began = time.monotonic()
        for _ in range(times):
            process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=50)
        return process.returncode, out, err, time.monotonic() - began
    finally:
        process.kill()
        process.wait(20)


def test_a_search_is_stopped_at_once():
    code, out, err, went_on = interrupted(HARD, after=0.5)
    assert (code, out.split(), err) == (0, ["stopped"], "")
    assert went_on < 10


def test_a_search_that_is_stopped_in_haste_is_stopped_all_the_same():
    for times in (2, 3, 4):
        code, out, err, went_on = interrupted(HARD, after=0.3, times=times)
        assert (code, out.split(), err) == (0, ["stopped"], "")
        assert went_on < 10


def test_a_plan_that_is_stopped_keeps_nothing(tmp_path):
    folder = Path(shutil.copytree(DEMO, tmp_path / "car"))
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    code, _, err, went_on = interrupted(PLAN, str(folder), after=0.05)
    assert code == 130
    assert err.splitlines()[-1] == "planning was stopped; nothing was kept"
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before
    assert went_on < 10


def test_what_is_wrong_with_a_model_is_raised_where_it_was_asked():
    model = cp_model.CpModel()
    x = model.new_int_var(3, 9, "x")
    model.minimize(x)
    solver = cp_model.CpSolver()
    assert solved(solver, model) == cp_model.OPTIMAL
    assert solver.value(x) == 3

    class Broken:
        parameters = solver.parameters

        def solve(self, model: object, callback: object) -> None:
            raise ValueError("no such model")

    with pytest.raises(ValueError, match="no such model"):
        solved(Broken(), model)
