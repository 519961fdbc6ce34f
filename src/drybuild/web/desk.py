"""The build as the app holds it: read once, and again when a file or the journal changed.

Every page asks the desk; nothing else of the app reads the folder. Examinations are kept as long as
what they rest on stands, so that two browsers and ten pages cost one.
"""

from __future__ import annotations

import contextlib
import hashlib
import threading
from collections import OrderedDict
from pathlib import Path

from drybuild.build import BuildFaults, ChangeRefused, State, UnknownName
from drybuild.examine import Examination, Measurement, OpenBuild, open_build
from drybuild.examine.examination import DRAWS, SEED, examine_state
from drybuild.examine.partly import examine_corner
from drybuild.journal import JournalProblem
from drybuild.web.drafts import draft
from drybuild.web.workshop import Workshop

KEPT = 4
"""Examinations that are kept; each holds some eighty megabytes of columns."""

UNREADABLE = (BuildFaults, ChangeRefused, JournalProblem)
"""What a folder that was edited by hand may answer."""


class Desk:
    """One build folder, shared by all who look at it. Methods may be called from any thread."""

    def __init__(self, folder: Path | str) -> None:
        self.folder = Path(folder).resolve()
        self._lock = threading.RLock()
        self._opened: tuple[str, OpenBuild] | None = None
        self._kept: OrderedDict[tuple[str, str, int], Examination] = OrderedDict()
        self._next: OrderedDict[str, tuple[Measurement, ...]] = OrderedDict()
        self.workshop = Workshop()

    def ahead(self) -> None:
        """Read the build, and examine beside it what the first page asks for.

        Whoever asks meanwhile waits for that examination and does not begin another. What cannot
        be read is left to the page, which says so.
        """
        with contextlib.suppress(*UNREADABLE):
            self.opened()
            threading.Thread(target=self._first_page, name="ahead", daemon=True).start()

    def _first_page(self) -> None:
        with contextlib.suppress(*UNREADABLE):
            self.measure_next(self.examination("finished"))
            self.examination("now", unknowns=False)
            self.workshop.ahead(self.opened())

    def begun(self) -> bool:
        """Whether there is a build in the folder; before, there is only the first visit."""
        return (self.folder / "build.toml").is_file()

    def stamp(self) -> str:
        """A mark of what is on the disk now: it changes with every write to the folder."""
        digest = hashlib.sha256()
        if not self.folder.is_dir():
            return digest.hexdigest()[:16]
        for path in sorted(self.folder.rglob("*")):
            if path.suffix in (".toml", ".json") or path.name.startswith("journal.db"):
                try:
                    found = path.stat()
                except OSError:
                    continue
                digest.update(f"{path.name}\0{found.st_mtime_ns}\0{found.st_size}\0".encode())
        return digest.hexdigest()[:16]

    def opened(self) -> OpenBuild:
        """The build as it stands on the disk. Raises BuildFaults, ChangeRefused, JournalProblem."""
        with self._lock:
            mark = self.stamp()
            if self._opened is None or self._opened[0] != mark:
                self._opened = (mark, open_build(self.folder))
            return self._opened[1]

    def state(self, name: str) -> State:
        """now, finished, after:SESSION, as found or draft:NAME. Raises UnknownName, ChangeRefused.

        A draft is tried on the finished car.
        """
        opened = self.opened()
        kind, _, which = name.partition(":")
        if kind != "draft":
            return opened.state(name)
        tried = draft(self.folder, which)
        if tried is None:
            raise UnknownName(f"no draft {which!r}")
        return opened.draft(which, tried.changes)

    def examination(
        self, state: State | str = "finished", *, draws: int = DRAWS, unknowns: bool = True
    ) -> Examination:
        """The examination of a state, by name or as it is. Raises UnknownName."""
        opened = self.opened()
        chosen = self.state(state) if isinstance(state, str) else state
        key = (key_of(chosen), f"{draws}", int(unknowns))
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                found = examine_state(
                    chosen, opened.registry, draws=draws, seed=SEED, unknowns=unknowns
                )
                self._keep(key, found)
            self._kept.move_to_end(key)
            return found

    def corner(self, state: State, where: str) -> Examination:
        """The checks at one corner of a state, kept while a slider moves."""
        key = (key_of(state), where, 0)
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                found = examine_corner(state, self.opened().registry, where)
                self._keep(key, found)
            self._kept.move_to_end(key)
            return found

    def _keep(self, key: tuple[str, str, int], found: Examination) -> None:
        self._kept[key] = found
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)

    def measure_next(self, examination: Examination) -> tuple[Measurement, ...]:
        """What to measure next, kept like the examination."""
        key = key_of(examination.state)
        with self._lock:
            if key not in self._next:
                self._next[key] = self.opened().measure_next(examination)
                while len(self._next) > KEPT:
                    self._next.popitem(last=False)
            return self._next[key]


def key_of(state: State) -> str:
    """What tells a state from every other, for whatever is kept by it."""
    changes = "\0".join(f"{c}\0{c.value}" for c in state.changes)
    return f"{state.name}\0{state.inputs_hash}\0{hashlib.sha256(changes.encode()).hexdigest()}"
