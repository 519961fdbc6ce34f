"""The checks of a corner that cannot be laid out over all candidates, run one state at a time."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.examine.catalogue.candidates import Field
from drybuild.examine.catalogue.screen import Scope, Screened, state_by_state
from drybuild.findings import Registry

MOST_SLOW = 40
"""Candidates that are run state by state, where a car has checks that cannot be laid out."""


class Slow:
    """The checks that the screen leaves out, run for the candidates that come into question."""

    def __init__(
        self, field: Field, registry: Registry, scope: Scope, screened: Screened, seed: int
    ) -> None:
        self.field, self.registry, self.scope, self.seed = field, registry, scope, seed
        self.screened = screened
        self.left = MOST_SLOW
        self._known: dict[int, tuple[float, float]] = {}
        first = self._margins(0)
        self.needed = bool(first)

    def _margins(self, index: int) -> dict[tuple[str, str], Any]:
        return state_by_state(
            self.field.state(self.field.candidates[index]), self.registry, self.scope,
            proposed=self.field.proposed, draws=self.screened.enough.shape[1], seed=self.seed,
        )  # fmt: skip

    def known(self, index: int) -> bool:
        """Whether joint chance and room of a candidate count all checks."""
        return not self.needed or index in self._known

    def look(self, index: int) -> bool:
        """Run them for one candidate; False when enough were run already."""
        if self.left <= 0:
            return False
        self.left -= 1
        enough = self.screened.enough[index].copy()
        room = float(self.screened.tightest[index])
        for margin in self._margins(index).values():
            enough &= margin >= 0
            half = 2.0 * float(np.std(margin)) or 1e-12
            room = min(room, float(np.mean(margin)) / half)
        self._known[index] = float(np.mean(enough)), room
        return True

    def joint(self, index: int) -> float:
        """Joint chance by few draws; too high where not all checks are run yet."""
        found = self._known.get(index)
        return float(self.screened.joint[index]) if found is None else found[0]

    def room(self, index: int) -> float:
        """Least room, likewise."""
        found = self._known.get(index)
        return float(self.screened.tightest[index]) if found is None else found[1]
