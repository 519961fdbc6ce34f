"""The shortest project on limited resources: a schedule and a bound that no schedule goes below."""

from __future__ import annotations

import time
from typing import Any

from drybuild.work.schedule.activities import Activities, Schedule, faults_of, makespan
from drybuild.work.schedule.critical import critical

__all__ = ["Activities", "Schedule", "schedule"]


def schedule(
    activities: Activities, *, seconds: float, seed: int = 0, workers: int = 2
) -> Schedule:
    """The earliest end that can be found within ``seconds`` on ``workers`` cores.

    With one worker the same seed gives the same schedule unless the time runs out.
    """
    from ortools.sat.python import cp_model

    begun = time.perf_counter()
    early = critical(activities)
    model, starts = _model(activities, horizon=activities.horizon)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    solver.solve(model)
    found = tuple(solver.value(s) for s in starts)
    wrong = faults_of(activities, found)
    if wrong:
        raise AssertionError("\n".join(wrong))
    end = makespan(activities, found)
    bound = max(early.makespan, round(solver.best_objective_bound))
    return Schedule(end, bound, found, end == bound, time.perf_counter() - begun)


def _model(activities: Activities, *, horizon: int) -> tuple[Any, list[Any]]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    durations = activities.durations
    starts = [model.new_int_var(0, horizon - d, f"s{a}") for a, d in enumerate(durations)]
    spans = [model.new_fixed_size_interval_var(starts[a], d, "") for a, d in enumerate(durations)]
    end = model.new_int_var(0, horizon, "end")
    for activity, after in enumerate(activities.successors):
        model.add(end >= starts[activity] + durations[activity])
        for later in after:
            model.add(starts[later] >= starts[activity] + durations[activity])
    for resource, capacity in enumerate(activities.capacities):
        held = [(spans[a], row[resource]) for a, row in enumerate(activities.demands)]
        held = [(span, demand) for span, demand in held if demand]
        model.add_cumulative([s for s, _ in held], [d for _, d in held], capacity)
    model.minimize(end)
    return model, starts
