"""The scheduling core against every schedule there is, and what it says of faults."""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path
from random import Random
from types import ModuleType

import pytest

from drybuild.work.schedule import rcpsp
from drybuild.work.schedule.activities import Activities, ActivityFaults, faults_of, makespan
from drybuild.work.schedule.critical import critical
from drybuild.work.schedule.listing import Pool, justified, pack, place
from drybuild.work.schedule.parts import Part, parts_of
from drybuild.work.schedule.rcpsp import schedule

ROOT = Path(__file__).parents[2]


def small(seed: int) -> Activities:
    random = Random(seed)
    count, resources = random.randint(3, 6), random.randint(1, 2)
    capacities = tuple(random.randint(1, 3) for _ in range(resources))
    return Activities(
        durations=tuple(random.choice((0, 1, 1, 2, 3)) for _ in range(count)),
        demands=tuple(tuple(random.randint(0, c) for c in capacities) for _ in range(count)),
        capacities=capacities,
        successors=tuple(
            tuple(k for k in range(a + 1, count) if random.random() < 0.3) for a in range(count)
        ),
    )


def shortest(activities: Activities) -> int:
    """Every start of every activity up to one after the other."""
    order, before = activities.order(), activities.predecessors()
    durations, horizon = activities.durations, activities.horizon
    best = horizon
    starts = [0] * len(order)

    def fits(activity: int, at: int, placed: tuple[int, ...]) -> bool:
        for resource, capacity in enumerate(activities.capacities):
            for time in range(at, at + durations[activity]):
                held = sum(
                    activities.demands[a][resource]
                    for a in placed
                    if starts[a] <= time < starts[a] + durations[a]
                )
                if held + activities.demands[activity][resource] > capacity:
                    return False
        return True

    def go(k: int) -> None:
        nonlocal best
        if k == len(order):
            best = min(best, max(s + d for s, d in zip(starts, durations, strict=True)))
            return
        activity = order[k]
        first = max((starts[e] + durations[e] for e in before[activity]), default=0)
        for at in range(first, best - durations[activity]):
            if fits(activity, at, order[:k]):
                starts[activity] = at
                go(k + 1)

    go(0)
    return best


@pytest.mark.parametrize("seed", range(40))
def test_as_short_as_the_shortest_of_all(seed: int) -> None:
    activities = small(seed)
    found = schedule(activities, seconds=20, workers=1, seed=seed)
    assert faults_of(activities, found.starts) == ()
    assert found.proven
    assert found.makespan == found.bound == shortest(activities)


def middling(seed: int, count: int = 30) -> Activities:
    """Invented; harder than the critical path tells."""
    random = Random(seed)
    return Activities(
        durations=tuple(random.randint(1, 10) for _ in range(count)),
        demands=tuple(tuple(random.randint(0, 9) for _ in range(3)) for _ in range(count)),
        capacities=(13, 12, 14),
        successors=tuple(
            tuple(k for k in range(a + 1, min(count, a + 12)) if random.random() < 0.15)
            for a in range(count)
        ),
    )


def windows_of(activities: Activities, end: int) -> tuple[tuple[int, int], ...]:
    early = critical(activities)
    later = end - early.makespan
    return tuple((a, b + later) for a, b in zip(early.earliest, early.latest, strict=True))


def ends_by(activities: Activities, end: int) -> bool:
    """Asked part by part."""
    from ortools.sat.python import cp_model

    found = False
    for windows in parts_of(activities, windows_of(activities, end)):
        part, solver = Part(activities, windows), cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(part.model)
        assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        if status == cp_model.OPTIMAL:
            starts = tuple(solver.value(start) for start in part.starts)
            assert faults_of(activities, starts) == ()
            assert makespan(activities, starts) <= end
            found = True
    return found


@pytest.mark.parametrize("seed", range(20))
def test_asked_in_parts_it_ends_no_sooner_than_the_shortest_of_all(seed: int) -> None:
    activities = small(seed)
    best = shortest(activities)
    assert ends_by(activities, best)
    if best > critical(activities).makespan:
        assert not ends_by(activities, best - 1)


def test_parts_hold_every_start_once() -> None:
    windows = windows_of(middling(3), 60)
    parts = list(parts_of(middling(3), windows))
    assert len(parts) > 4
    halved = [a for a, window in enumerate(windows) if parts[0][a] != window]
    random = Random(0)
    for _ in range(200):
        starts = [random.randint(*windows[a]) for a in halved]
        inside = [
            all(p[a][0] <= s <= p[a][1] for a, s in zip(halved, starts, strict=True)) for p in parts
        ]
        assert sum(inside) == 1


def test_both_searches_ask_in_parts_and_prove(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing else may prove anything here."""
    monkeypatch.setattr(rcpsp, "PARTS_AFTER", 0.0)
    asked: list[int] = []
    ask = rcpsp._Parts._ask

    def heard(self: rcpsp._Parts, windows: object, end: int) -> str:
        asked.append(end)
        return ask(self, windows, end)  # type: ignore[arg-type]

    monkeypatch.setattr(rcpsp._Parts, "_ask", heard)
    monkeypatch.setattr(rcpsp._Prover, "_ask", lambda self, end, effort: "open")
    activities = middling(1, count=14)
    known = schedule(activities, seconds=20, workers=2)
    assert known.proven
    assert asked
    assert not faults_of(activities, known.starts)


def test_one_worker_says_the_same_twice() -> None:
    one, two = (schedule(middling(1), seconds=60, workers=1, seed=3) for _ in range(2))
    assert (one.starts, one.bound) == (two.starts, two.bound)


def test_when_time_runs_out_the_schedule_holds_and_the_bound_is_below() -> None:
    activities = middling(5, count=80)
    found = schedule(activities, seconds=0.3, workers=1)
    assert faults_of(activities, found.starts) == ()
    assert critical(activities).makespan <= found.bound <= found.makespan
    assert found.proven == (found.bound == found.makespan)


@pytest.mark.parametrize("seed", range(8))
def test_lists_give_schedules_that_hold(seed: int) -> None:
    activities = middling(seed) if seed % 2 else small(seed)
    packed = pack(activities)
    starts, end = place(packed, activities.order())
    assert faults_of(activities, tuple(starts)) == ()
    assert end == makespan(activities, tuple(starts))
    pushed, sooner = justified(packed, packed.turned(), activities.order())
    assert faults_of(activities, tuple(pushed)) == ()
    assert sooner == makespan(activities, tuple(pushed)) <= end
    pool = Pool(activities, seed=seed, size=20)
    pool.breed(lists=200, goal=0, stop=lambda: False)
    for end, found, _ in pool.members:
        assert faults_of(activities, found) == ()
        assert pool.best[0] <= end == makespan(activities, found)


def test_nothing_to_do_takes_no_time() -> None:
    found = schedule(Activities((), (), (2,), ()), seconds=1)
    assert (found.makespan, found.bound, found.starts, found.proven) == (0, 0, (), True)


def test_a_schedule_that_does_not_hold_is_told() -> None:
    activities = Activities((2, 2, 1), ((1,), (1,), (0,)), (1,), ((2,), (), ()))
    assert faults_of(activities, (0, 2, 2)) == ()
    assert faults_of(activities, (0, 1, 2)) == ("resource 0 at 1: 2 used of 1",)
    assert faults_of(activities, (0, 2, 1)) == ("activity 2 starts at 1, 0 ends at 2",)
    assert faults_of(activities, (-1, 2, 2)) == ("activity 0 starts at -1, before 0",)
    assert faults_of(activities, (0, 2)) == ("2 starts for 3 activities",)


def test_every_fault_of_the_activities_is_told() -> None:
    with pytest.raises(ActivityFaults) as told:
        Activities((1, -1), ((3,), (1,)), (2,), ((5,), ()))
    assert told.value.faults == (
        "activity 1: duration -1",
        "activity 0: 3 of resource 0, of 2",
        "activity 0: successor 5, expected 0 to 1",
    )
    with pytest.raises(ActivityFaults) as told:
        Activities((1,), ((1, 1), (1,)), (2,), ((), ()))
    assert len(told.value.faults) == 3


def test_a_loop_is_named() -> None:
    with pytest.raises(ActivityFaults, match="wait for each other: ") as told:
        Activities((1, 1, 1), ((),) * 3, (), ((1,), (2,), (1,)))
    assert {"1", "2"} <= set(told.value.faults[0].split(": ")[1].split(" → "))
    assert "0" not in told.value.faults[0].split(": ")[1].split(" → ")


# The benchmark.

SMALL = """\
****
projects                      :  1
****
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           4
   4        1          0
****
REQUESTS/DURATIONS:
jobnr. mode duration  R 1
--------------------------
  1      1     0       0
  2      1     3       2
  3      1     4       1
  4      1     0       0
****
RESOURCEAVAILABILITIES:
  R 1
    2
****
"""


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(ROOT / "benchmarks"))
    path = ROOT / "benchmarks" / "scheduling.py"
    spec = importlib.util.spec_from_file_location("benchmark_scheduling", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "benchmark_scheduling", module)
    spec.loader.exec_module(module)
    return module


def run(bench: ModuleType, monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["scheduling.py", *words])
    code = bench.main()
    assert isinstance(code, int)
    return code


def test_the_benchmark_prints_a_line_of_json_a_file(
    bench: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    one, two = tmp_path / "one.sm", tmp_path / "two.sm"
    one.write_text(SMALL)
    two.write_text(SMALL.replace("    2\n****", "    3\n****"))
    assert run(bench, monkeypatch, str(one), str(two), "--seconds", "5", "--json") == 0
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    told = [(row["file"], row["makespan"], row["bound"], row["proven"]) for row in found]
    assert told == [(str(one), 7, 7, True), (str(two), 4, 4, True)]


def test_the_benchmark_prints_a_table(
    bench: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    one, known = tmp_path / "one.sm", tmp_path / "known.csv"
    one.write_text(SMALL)
    known.write_text("file,lower_bound,best_known,closed\nx/one.sm,6,6,1\n")
    assert run(bench, monkeypatch, str(one), "--seconds", "5", "--known", str(known)) == 0
    head, row = capsys.readouterr().out.splitlines()
    assert head.split()[:3] == ["file", "ends", "bound"]
    assert row.split()[:4] == ["one.sm", "7", "7", "proven"]
    assert row.endswith("bound above best known")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("RESOURCEAVAIL", "RESOURCES", "no part 'RESOURCEAVAILABILITIES'"),
        ("  1           4\n   3", "  2           4\n   3", "expected  2"),
        ("2        1          1", "2        3          1", "3 modes"),
        ("  2      1     3       2", "  2      1     3       x", "2 1 3 x"),
        ("  2      1     3       2", "  2      1     3       9", "9 of resource 0, of 2"),
        ("  2      1     3       2", "  2      1     3       2  1", "2 demands"),
        ("   4        1          0", "   4        1          1           2", "wait for each other"),
        ("   4        1          0\n", "", "jobs [1, 2, 3] and requests of [1, 2, 3, 4]"),
        ("   3        1 ", "   2        1 ", "job 2 again"),
    ],
)  # fmt: skip
def test_a_broken_file_says_where_and_what(
    bench: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], old: str, new: str, told: str,
) -> None:  # fmt: skip
    good, broken = tmp_path / "good.sm", tmp_path / "broken.sm"
    good.write_text(SMALL)
    assert old in SMALL
    broken.write_text(SMALL.replace(old, new, 1))
    words = (str(broken), str(good), "--seconds", "5", "--json")
    assert run(bench, monkeypatch, *words) == 2
    caught = capsys.readouterr()
    assert told in caught.err
    assert str(broken) in caught.err
    assert [json.loads(line)["file"] for line in caught.out.splitlines()] == [str(good)]


def test_a_file_that_is_not_there_is_told(
    bench: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    assert run(bench, monkeypatch, str(tmp_path / "none.sm")) == 2
    assert "none.sm" in capsys.readouterr().err
