"""An open build: the folder, its journal, the car as it stands, and what one asks of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drybuild.build import Build, Change, State, UnknownName, read_build
from drybuild.build.errors import nearest
from drybuild.build.fixings import fixing_of
from drybuild.examine.aimed import AimApart, aims_apart
from drybuild.examine.catalogue import (
    MustFit,
    MustFitAnswer,
    Wanted,
    WhatFits,
    must_fit,
    what_fits,
)
from drybuild.examine.examination import DRAWS, SEED, Examination, examine_state
from drybuild.examine.fixes import Fix, find_fixes, nearest_fix
from drybuild.examine.measuring import Measurement, measure_next
from drybuild.examine.not_now import told_now
from drybuild.examine.workings import Step, workings
from drybuild.examine.written import clash_text, stale_text
from drybuild.findings import Finding, Registry
from drybuild.journal import (
    Journal,
    Present,
    after_session,
    finished,
    planned_by_hand,
    present,
)
from drybuild.systems import registry as all_systems
from drybuild.systems.law import rule_set_editions

NO_JOB_THERE = (
    "no state {!r}: no job in build.toml names the work session {!r} or one before it, so nothing "
    "says what is done by then; what the car may do after each day of a plan: drybuild plan"
)


@dataclass(frozen=True)
class OpenBuild:
    """A build folder and its journal, read together; nothing in it changes after reading."""

    build: Build
    journal: Journal
    present: Present
    registry: Registry

    def state(self, name: str = "finished") -> State:
        """now, finished, after:SESSION, or ``as found``. Raises UnknownName."""
        if name == "now":
            return self.present.state
        if name == "finished":
            return finished(self.build, self.present)
        if name == "as found":
            return self.build.base_state
        kind, _, which = name.partition(":")
        sessions = planned_by_hand(self.build)
        if kind == "after" and which in sessions:
            return after_session(self.build, self.present, which)
        if kind == "after" and which in {s.id for s in self.build.sessions}:
            raise UnknownName(NO_JOB_THERE.format(name, which))
        known = ("now", "finished", *(f"after:{s}" for s in sessions))
        raise UnknownName(f"no state {name!r}; known: {', '.join(known)}. {nearest(name, known)}")

    def draft(self, name: str, changes: Iterable[Change], start: str = "finished") -> State:
        """A what-if state: ``start`` and these Changes. Raises ChangeRefused."""
        return self.state(start).after(changes, f"draft:{name}")

    def examine(
        self, state: State | str = "finished", *, draws: int = DRAWS, seed: int = SEED
    ) -> Examination:
        """Run every check on a state."""
        chosen = self.state(state) if isinstance(state, str) else state
        return examine_state(chosen, self.registry, draws=draws, seed=seed)

    def uses_now(self) -> Examination:
        """The present car examined for its uses alone: no unknowns are worked out."""
        return examine_state(self.state("now"), self.registry, unknowns=False)

    def measure_next(self, examination: Examination) -> tuple[Measurement, ...]:
        """What to measure next, and what it is expected to settle."""
        return told_now(measure_next(examination), self.present.state)

    def fixes(self, examination: Examination, finding: Finding) -> tuple[Fix, ...]:
        """Changes that make the finding enough without making another worse."""
        return find_fixes(examination, finding)

    def nearest_fix(self, examination: Examination, finding: Finding) -> Fix | None:
        """The change that brings the finding nearest to enough, where none makes it so."""
        return nearest_fix(examination, finding)

    def what_fits(
        self,
        axle: str = "rear",
        *,
        state: State | str = "finished",
        draws: int = DRAWS,
        seed: int = SEED,
        **wanted: Any,
    ) -> WhatFits:
        """Rank wheels and tyres that fit an axle; ``wanted``: the fields of ``catalogue.Wanted``.

        Raises BuildFaults for a list that cannot be read, ChangeRefused for what cannot be.
        """
        chosen = self.state(state) if isinstance(state, str) else state
        asked = Wanted(axle=axle, **wanted)
        return what_fits(chosen, self.registry, asked, draws=draws, seed=seed)

    def must_fit(
        self,
        tyre: str,
        axle: str = "rear",
        *,
        state: State | str = "finished",
        draws: int = DRAWS,
        seed: int = SEED,
        **wheel: str | None,
    ) -> MustFitAnswer:
        """What must change so that a tyre fits; ``wheel``: wheel, rim_width, offset, if any."""
        chosen = self.state(state) if isinstance(state, str) else state
        asked = MustFit(axle, tyre, **wheel)
        return must_fit(chosen, self.registry, asked, draws=draws, seed=seed)

    def rule_sets(self) -> list[dict[str, str]]:
        """Id and edition of each rule set that the build names."""
        known = rule_set_editions()
        return [{"id": i, "edition": known[i]} for i in self.build.head.rule_sets if i in known]

    def aims_apart(self) -> list[AimApart]:
        """Aims of the alignment that are not what the finished car is worked out with; nothing
        where no job aligns or sets a camber, for then nobody has spoken of an aim."""
        aligned = any(
            job.like.startswith("alignment") or any("camber" in target for target in job.set)
            for job in self.build.jobs
        )
        return aims_apart(self.state(), self.registry) if aligned else []

    def notes(self, *, aims: bool = True) -> list[str]:
        """What must be said beside an answer: stale readings, clashes, known faults. aims: with
        ``aims_apart``, as a file would cure them."""
        head = self.build.head
        names = self.build.part_names
        found = [stale_text(one, names) for one in self.present.stale]
        found += [clash_text(one) for one in self.present.clashes]
        found += [one.line for one in self.aims_apart()] if aims else []
        found += [f"known fault: {f}" for f in head.known_faults]
        if head.driving is None:
            found.append(
                "nobody has said whether the car is standard and driving today ([build] driving)"
            )
        return found

    def workings(self, examination: Examination, finding: Finding) -> tuple[Step, ...]:
        """The chain of formulas and numbers behind a finding."""
        return workings(examination, finding, self.build.head.units)


def open_build(folder: Path | str, *, unchanged: Build | None = None) -> OpenBuild:
    """Open a build folder. Raises BuildFaults, ChangeRefused or JournalProblem.

    unchanged: its files as they were read before, where nobody has written to one since.
    """
    build = unchanged if unchanged is not None else read_build(folder)
    journal = Journal(build.root)
    return OpenBuild(build, journal, present(build, journal), all_systems(fixing_of(build.parts)))
