"""What the time was lost on, in the draws that go wrong."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from drybuild.work.model import QUARTERS_AN_HOUR
from drybuild.work.risk.execute import PARTS, Lengths, Run
from drybuild.work.risk.network import Network
from drybuild.work.risk.outlook import Cause, ranked

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Counts = npt.NDArray[np.int32]

MOST = 4


def chain(run: Run, last: Counts, wrong: Flags) -> Flags:
    """Tasks on the chain that led to task ``last``, each waiting for the one before.

    last: number of a task per draw, negative for none. wrong: the draws to look at. Shape of what
    comes out: (tasks, draws).
    """
    on = np.zeros(run.end.shape, dtype=bool)
    draws = np.flatnonzero(wrong & (last >= 0))
    on[last[draws], draws] = True
    for index in range(len(on) - 1, -1, -1):
        here = np.flatnonzero(on[index])
        before = run.bound[index, here]
        held = before >= 0
        on[before[held], here[held]] = True
    return on


def causes(
    plan: Network, run: Run, lengths: Lengths, last: Counts, wrong: Flags
) -> tuple[Cause, ...]:
    """The largest causes of the draws in ``wrong``, whose late task is ``last``."""
    every = _lost(plan, run, lengths, last, wrong)
    total = sum(cause.hours for cause in every)
    return ranked([replace(cause, share=cause.hours / total) for cause in every], MOST)


def regions(
    plan: Network, run: Run, lengths: Lengths, last: Counts, wrong: Flags
) -> tuple[tuple[str, float], ...]:
    """Regions of the car with their share of the time lost, the largest first."""
    lost: dict[str, float] = defaultdict(float)
    for cause in _lost(plan, run, lengths, last, wrong):
        if cause.kind == "step":
            lost[cause.region] += cause.hours
    total = sum(lost.values())
    largest = sorted(lost.items(), key=lambda pair: (-pair[1], pair[0]))[:MOST]
    return tuple((name, hours / total) for name, hours in largest if name)


def _lost(
    plan: Network, run: Run, lengths: Lengths, last: Counts, wrong: Flags
) -> list[Cause]:
    """Time over the plan on the chain, h per draw that goes wrong, task by task."""
    number = int(np.count_nonzero(wrong & (last >= 0)))
    if number == 0:
        return []
    on = chain(run, last, wrong)
    found = []
    for index, task in enumerate(plan.tasks):
        if not on[index].any():
            continue
        here = on[index]
        over = np.maximum(0.0, lengths.first[index] - task.planned)
        again = lengths.again[index]
        waited = np.zeros_like(over)
        if index in lengths.late:
            beyond = np.clip(run.start[index] - task.step.start, 0.0, lengths.late[index])
            waited = np.where(run.bound[index] == PARTS, beyond, 0.0)
        for kind, column in (("step", over), ("check", again), ("parts", waited)):
            hours = float(column[here].sum()) / number / QUARTERS_AN_HOUR
            if hours > 0.0:
                session = plan.problem.sessions[task.session].id
                found.append(
                    Cause(kind, task.key, task.title, task.region, session, 0.0, hours)
                )
    return found
