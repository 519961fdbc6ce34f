"""One plan carried out in every draw, with what it does to the needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drybuild.work.model import QUARTERS_AN_HOUR
from drybuild.work.risk.execute import Lengths, Run, execute
from drybuild.work.risk.needs import Met, met
from drybuild.work.risk.network import Network


@dataclass(frozen=True)
class Trial:
    """How a plan went when people go home. met: one for each need of the problem."""

    plan: Network
    times: Lengths
    home: Run
    met: tuple[Met, ...]

    @property
    def all_met(self) -> npt.NDArray[np.bool_]:
        """In which draws every need is met at once."""
        every = np.ones(self.home.end.shape[1], dtype=bool)
        for one in self.met:
            every &= one.met
        return every

    @property
    def chances(self) -> tuple[float, ...]:
        """Share of the draws in which each need is met."""
        return tuple(float(one.met.mean()) for one in self.met)


def tried(plan: Network, times: Lengths, *, stay: float) -> Trial:
    """Carry a plan out. stay: hours that people stay on beyond the end of a session."""
    home = execute(plan, times, stay=stay * QUARTERS_AN_HOUR)
    return Trial(plan, times, home, tuple(met(plan, home, n) for n in plan.problem.needs))
