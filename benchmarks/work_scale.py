"""How good large work plans are: 300 components, 150 jobs, 20 sessions, 6 people.

    python benchmarks/work_scale.py --seeds 5 --seconds 120          a table
    python benchmarks/work_scale.py --seeds 5 --seconds 120 --json   one JSON line for each seed

first_s: seconds to the first complete plan, of which every session's own schedule stands; hours,
bound, gap: of person-hours, the gap as a share of the hours; finish, finish_bound: number of the
last session that is used, and of the first in which any plan may end; peak_mb: of the whole
process, a new one for each seed; faults: what the independent checker has against the plan. The
problems are invented (``work_cars.py``) and the same for a seed.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from drybuild.work.checker import faults
from drybuild.work.model import Plan
from drybuild.work.solve.large import solve_large
from work_cars import car

Row = dict[str, object]


def measure(
    seed: int, seconds: float, sizes: dict[str, int], search_seed: int, aim: str = "hours"
) -> Row:
    """Plan one problem and say how it went. aim: what comes first, hours or finish."""
    problem = car(seed, **sizes)
    problem = replace(problem, first=tuple(sorted(problem.first, key=lambda name: name != aim)))
    begun = time.perf_counter()
    first: list[float] = []

    def heard(plan: Plan) -> None:
        if not first:
            assert not faults(problem, plan)
            first.append(time.perf_counter() - begun)

    plan = solve_large(problem, seconds=seconds, seed=search_seed, heard=heard)
    taken = time.perf_counter() - begun
    row: Row = {"seed": seed, "seconds": round(taken, 1), "plan": isinstance(plan, Plan)}
    if isinstance(plan, Plan):
        hours, finish = plan.aim("hours"), plan.aim("finish")
        row |= {
            "first_s": round(first[0], 1) if first else None,
            "hours": hours.value,
            "bound": hours.bound,
            "gap": round(hours.gap, 4),
            "finish": int(finish.value),
            "finish_bound": int(finish.bound),
            "steps": len(plan.steps),
            "faults": list(faults(problem, plan)),
        }
    times = resource.getrusage(resource.RUSAGE_SELF)
    # ru_maxrss is in KiB here, in bytes on some systems
    unit = 2**20 if sys.platform == "darwin" else 2**10
    row |= {"cpu_s": round(times.ru_utime, 1), "peak_mb": round(times.ru_maxrss / unit)}
    return row


def _apart(arguments: argparse.Namespace, seed: int) -> Row:
    """One seed in a process of its own, so that its memory is its own."""
    command = [sys.executable, __file__, "--only", str(seed), "--seconds", str(arguments.seconds)]
    for name in ("components", "jobs", "sessions", "people", "search_seed", "aim"):
        command += [f"--{name.replace('_', '-')}", str(getattr(arguments, name))]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    row: Row = json.loads(done.stdout)
    return row


def _table_row(row: Row) -> str:
    if not row["plan"]:
        return f"{row['seed']:>4}  no plan in {row['seconds']} s"
    ok = "no faults" if not row["faults"] else f"{len(row['faults'])} faults"  # type: ignore[arg-type]
    return (
        f"{row['seed']:>4} {row['first_s']:>8} {row['hours']:>8} {row['bound']:>8} "
        f"{100 * float(str(row['gap'])):>6.1f} {row['finish']:>7} {row['finish_bound']:>6} "
        f"{row['peak_mb']:>6} {row['seconds']:>6}  {ok}"
    )


def main() -> int:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--seeds", type=int, default=5, help="how many problems, from seed 0 on")
    parser.add_argument("--seconds", type=float, default=120.0, help="for each")
    parser.add_argument("--json", action="store_true", help="one JSON line for each seed")
    parser.add_argument("--only", type=int, help="just this seed, in this process, as JSON")
    parser.add_argument("--aim", choices=("hours", "finish"), default="hours", help="comes first")
    parser.add_argument("--search-seed", type=int, default=0, help="seed of the search")
    for name, size in (("components", 300), ("jobs", 150), ("sessions", 20), ("people", 6)):
        parser.add_argument(f"--{name}", type=int, default=size)
    arguments = parser.parse_args()
    if arguments.only is not None:
        names = ("components", "jobs", "sessions", "people")
        sizes = {name: int(getattr(arguments, name)) for name in names}
        row = measure(
            arguments.only, arguments.seconds, sizes, arguments.search_seed, arguments.aim
        )
        print(json.dumps(row), flush=True)
        return 0
    if not arguments.json:
        print("seed  first s    hours    bound  gap %  finish  bound     MB      s")
    held = True
    for seed in range(arguments.seeds):
        row = _apart(arguments, seed)
        held = held and bool(row["plan"]) and not row.get("faults")
        print(json.dumps(row) if arguments.json else _table_row(row), flush=True)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
