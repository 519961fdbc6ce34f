"""Schedules held to the world: published projects and shops, and an independent library."""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from random import Random

import networkx as nx
import pytest

from drybuild.work.schedule.activities import Activities, faults_of
from drybuild.work.schedule.critical import critical
from drybuild.work.schedule.rcpsp import schedule

Against = Callable[..., None]
ROOT = Path(__file__).parents[2]
WHOLE = 0.5
"""Whole units of time: anything else is another figure."""

# Reliable Construction Co.: activity → (weeks, those just before it).
CONSTRUCTION = {
    "A": (2, ""), "B": (4, "A"), "C": (10, "B"), "D": (6, "C"), "E": (4, "C"), "F": (5, "E"),
    "G": (7, "D"), "H": (9, "EG"), "I": (7, "C"), "J": (8, "FI"), "K": (4, "J"), "L": (5, "J"),
    "M": (2, "H"), "N": (6, "KL"),
}  # fmt: skip
CONSTRUCTION_SLACK = {
    "A": 0, "B": 0, "C": 0, "D": 4, "E": 0, "F": 0, "G": 4, "H": 4, "I": 2, "J": 0, "K": 1,
    "L": 0, "M": 4, "N": 0,
}  # fmt: skip

# Six jobs on six machines: (machine, time) in order.
SHOP = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)


def _network(count: int, seed: int) -> Activities:
    random = Random(seed)
    after = [
        tuple(k for k in range(a + 1, count) if random.random() < 4 / count) for a in range(count)
    ]
    durations = tuple(random.randint(0, 12) for _ in range(count))
    return Activities(durations, ((),) * count, (), tuple(after))


@pytest.mark.textbook
def test_slack_of_a_construction_project(against: Against) -> None:
    names = sorted(CONSTRUCTION)
    after = tuple(
        tuple(k for k, later in enumerate(names) if name in CONSTRUCTION[later][1])
        for name in names
    )
    weeks = tuple(CONSTRUCTION[name][0] for name in names)
    found = critical(Activities(weeks, ((),) * len(names), (), after))
    source = (
        "F. S. Hillier, G. J. Lieberman, Introduction to Operations Research, 7th ed. 2001, "
        "ch. 10, Reliable Construction Co. (from memory): 44 weeks, A-B-C-E-F-J-L-N"
    )
    against(
        "drybuild.work.schedule.critical.critical",
        got=[found.makespan, *found.floats],
        expected=[44, *(CONSTRUCTION_SLACK[name] for name in names)],
        abs=WHOLE,
        source=source,
    )
    assert "".join(names[a] for a in found.path) == "ABCEFJLN"


@pytest.mark.cross_model
def test_critical_paths_against_a_graph_library(against: Against) -> None:
    got: list[int] = []
    expected: list[int] = []
    for seed in range(12):
        activities = _network(40, seed)
        found = critical(activities)
        graph = nx.DiGraph()
        graph.add_node("end")
        for a, after in enumerate(activities.successors):
            graph.add_edge("start", a, weight=0)
            graph.add_edge(a, "end", weight=activities.durations[a])
            graph.add_edges_from((a, later, {"weight": activities.durations[a]}) for later in after)
        down, up = _longest(graph, "start"), _longest(graph.reverse(), "end")
        total = nx.dag_longest_path_length(graph)
        got += [found.makespan, *found.earliest, *found.latest]
        expected += [total, *(down[a] for a in range(40)), *(total - up[a] for a in range(40))]
    against(
        "drybuild.work.schedule.critical.critical",
        got=got,
        expected=expected,
        abs=WHOLE,
        source=f"networkx {nx.__version__}, longest paths by shortest paths on negated lengths",
    )


def _longest(graph: nx.DiGraph, source: object) -> dict[object, int]:
    turned = nx.DiGraph()
    turned.add_weighted_edges_from((u, v, -w) for u, v, w in graph.edges(data="weight"))
    return {n: -d for n, d in nx.single_source_bellman_ford_path_length(turned, source).items()}


@pytest.mark.textbook
def test_a_shop_of_six_jobs_and_six_machines(against: Against) -> None:
    durations, demands = [], []
    after: list[tuple[int, ...]] = []
    for job in SHOP:
        for machine, time in job:
            durations.append(time)
            demands.append(tuple(int(machine == k) for k in range(6)))
        first = len(durations) - len(job)
        links = dict(pairwise(range(first, len(durations))))
        after += [(links[a],) if a in links else () for a in range(first, len(durations))]
    activities = Activities(tuple(durations), tuple(demands), (1,) * 6, tuple(after))
    found = schedule(activities, seconds=60, workers=1)
    assert not faults_of(activities, found.starts)
    against(
        "drybuild.work.schedule.rcpsp.schedule",
        got=[found.makespan, found.bound],
        expected=[55, 55],
        abs=WHOLE,
        source="H. Fisher, G. L. Thompson in J. F. Muth, G. L. Thompson, Industrial Scheduling, "
        "1963, six by six (data and optimum from memory)",
    )


@pytest.mark.textbook
def test_nine_tasks_on_three_processors(against: Against) -> None:
    after = ((8,), (), (), (4, 5, 6, 7), (), (), (), (), ())
    activities = Activities((3, 2, 2, 2, 4, 4, 4, 4, 9), ((1,),) * 9, (3,), after)
    found = schedule(activities, seconds=60, workers=1)
    assert not faults_of(activities, found.starts)
    against(
        "drybuild.work.schedule.rcpsp.schedule",
        got=[found.makespan, found.bound],
        expected=[12, 12],
        abs=WHOLE,
        source="R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM Journal on Applied "
        "Mathematics 17 (1969), the example of three processors (from memory)",
    )


def _published() -> dict[str, int]:
    folder = _folder()
    if folder is None:
        return {}
    with (folder / "bounds.csv").open(newline="", encoding="utf-8") as file:
        return {row["file"]: int(row["best_known"]) for row in csv.DictReader(file)}


def _folder() -> Path | None:
    for up in (ROOT, *ROOT.parents):
        for folder in (up / "shared" / "reference" / "scheduling", up / "reference" / "scheduling"):
            if (folder / "bounds.csv").is_file():
                return folder
    return None


QUICK = (
    "j30/j301_1.sm", "j30/j301_2.sm", "j30/j303_5.sm", "j30/j305_4.sm", "j30/j309_3.sm",
    "j30/j3017_2.sm", "j30/j3033_7.sm", "j30/j3037_4.sm", "j30/j3041_5.sm", "j30/j3048_10.sm",
    "j60/j601_1.sm", "j60/j6017_8.sm", "j60/j6034_9.sm", "j120/j1202_6.sm", "j120/j12020_7.sm",
)  # fmt: skip


@pytest.mark.authority
@pytest.mark.skipif(_folder() is None, reason="the published instances are not beside this clone")
def test_published_projects(against: Against, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "benchmarks"))
    monkeypatch.delitem(sys.modules, "psplib", raising=False)
    from psplib import read_sm

    folder, known = _folder(), _published()
    assert folder is not None
    got = []
    for name in QUICK:
        activities = read_sm(folder / name)
        found = schedule(activities, seconds=60, workers=1)
        assert not faults_of(activities, found.starts)
        got += [found.makespan, found.bound]
    against(
        "drybuild.work.schedule.rcpsp.schedule",
        got=got,
        expected=[known[name] for name in QUICK for _ in range(2)],
        abs=WHOLE,
        source="PSPLIB, R. Kolisch, A. Sprecher, European Journal of Operational Research 96 "
        "(1996); optima as published there",
    )
