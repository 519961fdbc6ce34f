"""How long the examination of the demo build takes.

    python benchmarks/examine.py            a short table
    python benchmarks/examine.py --json     one JSON object, times as medians

Warm means: the build is parsed, draw columns of unchanged inputs are there, no result is kept, and
one input has just been changed. Findings, uses and unknowns are all in the time.

The loop beside it runs the very same registered functions, one draw at a time on Python floats,
and must give the same slack for every check at every draw it tries; its time is taken on a few
draws and scaled up. It pays for NumPy's slow way with single numbers as well: a loop written anew
in plain math would be several times faster than it, and still far slower than columns.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from drybuild.build import Change, State
from drybuild.build.drawn import DrawnFacts
from drybuild.examine import Examination, OpenBuild, open_build
from drybuild.examine.examination import SEED, evaluate, run_checks
from drybuild.findings import Evaluation, Fact, Finding, Missing, RawFinding, Registry
from drybuild.values import DrawnCurve, Draws

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "plover"
CHANGED = "site.temperature"
# Curves run over one grid of engine speeds up to the rev limit, the same for all draws. A loop
# would lay a grid for each draw; where the two are compared the limit is exact, so that both
# compute the same.
GRID = Change("set", "engine.rev_limit", {"is": "6800 rpm", "exact": True})
DRAWS = 4096
# A scan is folded once, at the medians, and its doubt carried from there by sensitivities: draws
# are not folded one by one, so a loop over draws has nothing to be compared with.
FOLDED = ("corners.swept_gap",)
# A float and a column round differently in the last bits of long sums.
SAME = 1e-9


@dataclass(frozen=True)
class OneDraw:
    """The facts of a state at one draw, as Python floats."""

    whole: DrawnFacts
    index: int

    @property
    def blends(self) -> tuple[str, ...]:
        return self.whole.blends

    def fact(self, address: str) -> Fact | Missing:
        fact = self.whole.fact(address)
        if isinstance(fact, Missing):
            return fact
        return replace(fact, value=at(fact.value, self.index))


def at(value: Any, index: int) -> Any:
    """One draw of a value: a float of a column, a curve of floats of a drawn curve."""
    if isinstance(value, np.ndarray) and value.ndim == 1:
        return float(value[index])
    if isinstance(value, DrawnCurve) and value.y.ndim == 2:
        return replace(value, y=value.y[:, index])
    return value


def median_of(run: Callable[[int], object], times: int) -> float:
    """Median seconds of a call that is told which repetition it is."""
    took = []
    for number in range(times):
        start = time.perf_counter()
        run(number)
        took.append(time.perf_counter() - start)
    return statistics.median(took)


def changed(build: OpenBuild, number: int) -> State:
    """The finished car with one input changed, to a value not used before."""
    change = Change("set", CHANGED, f"{20 + 0.01 * number:.2f} ± 2 °C")
    return build.state("finished").after([change], f"draft:{number}")


def unfolded(registry: Registry) -> Registry:
    """The registry without the checks that are not worked draw by draw."""
    kept = [
        replace(room, checks=[c for c in room.checks if c.id not in FOLDED])
        for room in registry.rooms
    ]
    return Registry(kept)


def loop(
    state: State, registry: Registry, draws: int, indices: list[int]
) -> tuple[float, list[dict[tuple[str, str], float]]]:
    """Seconds per draw of a plain loop, and the slack of every check at each draw tried."""
    columns = Draws(draws, SEED)
    whole = DrawnFacts(state, columns)
    base = DrawnFacts(state.base, columns)
    # Facts are drawn before the clock starts: a loop would draw its random numbers all at once.
    warm = evaluate(state, registry, draws, SEED)
    run_checks(warm, registry)
    found = []
    start = time.perf_counter()
    for index in indices:
        base_at = Evaluation(registry, OneDraw(base, index), 1)
        at_draw = Evaluation(registry, OneDraw(whole, index), 1, base_at)
        found.append(slacks(run_checks(at_draw, registry), 0))
    return (time.perf_counter() - start) / len(indices), found


def slacks(raw: list[RawFinding], index: int) -> dict[tuple[str, str], float]:
    """(check, subject) → slack at a draw."""
    return {
        (item.spec.id, item.subject): float(item.slack[index])
        for item in raw
        if item.slack is not None
    }


def differing(
    columns: list[RawFinding], indices: list[int], singles: list[dict[tuple[str, str], float]]
) -> list[str]:
    """Checks whose slack in the loop is not the one of the columns."""
    wrong = []
    for index, single in zip(indices, singles, strict=True):
        whole = slacks(columns, index)
        for key in sorted(whole.keys() | single.keys()):
            one, other = whole.get(key), single.get(key)
            if (
                one is None
                or other is None
                or not np.isclose(one, other, rtol=SAME, atol=1e-12, equal_nan=True)
            ):
                wrong.append(f"{' '.join(key)} at draw {index}: {one} in columns, {other} in loop")
    return wrong


def child(arguments: list[str]) -> tuple[float, float]:
    """(seconds, peak megabytes) of a Python process of its own."""
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    peak = float("nan")
    if os.name == "nt":
        errors = process.communicate()[1]
        took = time.perf_counter() - start
    else:
        assert process.stderr is not None
        errors = process.stderr.read()
        _, status, used = os.wait4(process.pid, 0)
        took = time.perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
        # ru_maxrss is in kilobytes on Linux, in bytes on macOS
        peak = used.ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)
    if process.returncode != 0:
        sys.exit(f"{' '.join(arguments)} failed:\n{errors.decode()}")
    return took, peak


IMPORT = (
    "import time; t = time.perf_counter(); import drybuild; d = time.perf_counter() - t; "
    "import sys; sys.stderr.write(str(d))"
)


def import_seconds(times: int) -> float:
    """Median seconds that `import drybuild` takes in a new process."""
    took = []
    for _ in range(times):
        done = subprocess.run(
            [sys.executable, "-c", IMPORT], cwd=ROOT, capture_output=True, text=True, check=True
        )
        took.append(float(done.stderr))
    return statistics.median(took)


def _fix(build: OpenBuild, examination: Examination, finding: Finding, _: int) -> object:
    return build.fixes(examination, finding)


def measure(folder: Path, *, times: int, loop_draws: int) -> dict[str, Any]:
    """All numbers, as the JSON has them."""
    build = open_build(folder)
    build.examine("finished", draws=DRAWS)  # modules, columns
    full = median_of(lambda k: build.examine(changed(build, k), draws=DRAWS), times)
    build.examine("finished", draws=1024)
    quarter = median_of(lambda k: build.examine(changed(build, k), draws=1024), times)

    indices = [int(k) for k in np.linspace(0, DRAWS - 1, loop_draws)]
    state = changed(build, 0).after([GRID])
    plain = unfolded(build.registry)
    per_draw, singles = loop(state, plain, DRAWS, indices)
    columns = run_checks(evaluate(state, plain, DRAWS, SEED), plain)
    wrong = differing(columns, indices, singles)
    if wrong:
        sys.exit("the loop does not give what the columns give:\n" + "\n".join(wrong[:20]))

    examination = build.examine("finished", draws=DRAWS)
    nexts = median_of(lambda _: build.measure_next(examination), 3)
    undecided = [f for f in examination.findings if f.stopping and f.verdict == "short"]
    fixes = [median_of(partial(_fix, build, examination, finding), 1) for finding in undecided[:6]]

    runs = [child(["-m", "drybuild.cli", "check", str(folder)]) for _ in range(5)]
    return {
        "examine_4096_ms": round(full * 1e3, 1),
        "examine_1024_ms": round(quarter * 1e3, 1),
        "loop_ratio": round(per_draw * DRAWS / full, 1),
        "process_s": round(statistics.median(took for took, _ in runs), 3),
        "peak_mb": round(statistics.median(peak for _, peak in runs), 1),
        "import_s": round(import_seconds(5), 4),
        "measure_next_s": round(nexts, 3),
        "fix_s": round(max(fixes, default=0.0), 3),
        "loop_draws_tried": loop_draws,
        "findings": len(examination.findings),
        "python": sys.version.split()[0],
        "numpy": np.__version__,
    }


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Time the examination of the demo build.")
    parser.add_argument("folder", type=Path, nargs="?", default=DEMO)
    parser.add_argument("--json", action="store_true")
    parser.add_argument(
        "--times", type=int, default=15, help="repetitions of each warm examination"
    )
    parser.add_argument("--loop-draws", type=int, default=24, help="draws tried one at a time")
    asked = parser.parse_args(argv)
    found = measure(asked.folder, times=asked.times, loop_draws=asked.loop_draws)
    if asked.json:
        print(json.dumps(found, indent=2))
        return 0
    for name, value in found.items():
        print(f"{name:18} {value}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
