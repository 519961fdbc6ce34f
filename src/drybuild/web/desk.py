"""The build as the app holds it: read once, and again when a file or the journal changed.

Every page asks the desk; nothing else of the app reads the folder. Examinations are kept as long as
what they rest on stands, so that two browsers and ten pages cost one.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import threading
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from drybuild.build import BuildFaults, ChangeRefused, State, UnknownName
from drybuild.examine import Examination, Measurement, OpenBuild, measure_next
from drybuild.examine.examination import DRAWS, SEED, examine_state
from drybuild.examine.partly import examine_corner
from drybuild.journal import JournalProblem
from drybuild.journal.entries import NAME as JOURNAL
from drybuild.values.memory import give_back
from drybuild.web.drafts import draft
from drybuild.work.left import open_build

if TYPE_CHECKING:
    from drybuild.web.workshop import Workshop

KEPT = 4
"""Examinations that are kept. Each holds its margins, a dozen megabytes; the one made last holds
the columns behind them as well, some seventy."""

MOST_WRITERS = 300
"""Browsers whose last edit is remembered."""

KEPT_CORNERS = 4
"""Corners that are kept while a slider moves, beside the examinations."""

PATIENCE = 1.0
"""Seconds that a page waits for the latest edit to be examined; then it shows the one before."""

FOR_ITS_OWN = 5.0
"""Seconds that a page waits where its browser would miss what it has just written itself."""

LONGER = 2.0
"""Seconds that a part of a page is waited for, that no older examination can stand in for."""

PLAN = "plan.json"
"""The file of the plan, by the name that the work gives it."""

UNREADABLE = (BuildFaults, ChangeRefused, JournalProblem)
"""What a folder that was edited by hand may answer."""

_Key = tuple[str, str, int]


@dataclass(frozen=True)
class Stand:
    """The build as it was read at one moment. read: on a clock that only goes on.

    mark: of the folder; files: of what is in it beside the journal. made, next: examinations of it
    and what to measure next, which whoever sees it holds on to while others are made.
    """

    mark: str
    files: str
    opened: OpenBuild
    read: float
    made: OrderedDict[_Key, Examination] = field(default_factory=OrderedDict)
    next: Mapping[str, tuple[Measurement, ...]] = field(default_factory=dict)


@dataclass
class _Shelf:
    """What a desk and the sights taken of it share."""

    opening: threading.RLock = field(default_factory=threading.RLock)
    examining: ThreadPoolExecutor = field(
        default_factory=lambda: ThreadPoolExecutor(1, "examining")
    )
    """One examination at a time, and all by one thread: two at once would both be slow, and what
    one thread frees the next examination takes again."""
    stand: Stand | None = None
    kept: OrderedDict[_Key, Examination] = field(default_factory=OrderedDict)
    corners: OrderedDict[tuple[str, str], Examination] = field(default_factory=OrderedDict)
    next: OrderedDict[str, tuple[Measurement, ...]] = field(default_factory=OrderedDict)


class Desk:
    """One build folder, shared by all who look at it. Methods may be called from any thread."""

    def __init__(self, folder: Path | str) -> None:
        self.folder = Path(folder).resolve()
        self._shelf = _Shelf()
        self.examiner = Examiner(self)
        self._eager = False
        self._wrote: OrderedDict[str, float] = OrderedDict()

    @cached_property
    def workshop(self) -> Workshop:
        """The work on this build."""
        from drybuild.web.workshop import Workshop

        return Workshop()

    def ahead(self) -> None:
        """Read the build, and examine beside it what the first page asks for.

        Whoever asks meanwhile waits for that examination and does not begin another. What cannot
        be read is left to the page, which says so.
        """
        self._eager = True
        self.examiner.begin()

    def after_the_first_page(self) -> None:
        """Make ready what the next ones ask for, where anything was to be made ahead."""
        if self._eager and self.planned():
            threading.Thread(target=self._cards, name="cards", daemon=True).start()

    def _cards(self) -> None:
        with contextlib.suppress(*UNREADABLE):
            self.workshop.ahead(self.opened())

    def planned(self) -> bool:
        """Whether a plan of the work is kept in the folder."""
        return (self.folder / PLAN).is_file()

    def writes(self, browser: str) -> None:
        """A browser sent a form: its next page has to be of after that."""
        self._wrote.pop(browser, None)
        self._wrote[browser] = inf
        while len(self._wrote) > MOST_WRITERS:
            self._wrote.popitem(last=False)

    def seen_from(self, browser: str) -> float:
        """The moment from which on a browser's own edits are in the build; minus infinity without
        any. While a form is being answered that is now, and for the next page later still."""
        moment = self._wrote.get(browser, -inf)
        return monotonic() if moment == inf else moment

    def wrote(self, browser: str) -> None:
        """The form of a browser is answered: what it wrote is in the build."""
        if browser in self._wrote:
            self._wrote[browser] = monotonic()

    def begun(self) -> bool:
        """Whether there is a build in the folder; before, there is only the first visit."""
        return (self.folder / "build.toml").is_file()

    def stamp(self) -> str:
        """A mark of what is on the disk now: it changes with every write to the folder."""
        return self._marks()[0]

    def written(self) -> dict[str, str]:
        """What can be written, in words, each with a mark that changes when it is."""
        found: dict[str, str] = {}
        for path, stands in self._there():
            words = _written_words(path.relative_to(self.folder))
            if words:
                found[words] = f"{found.get(words, '')} {stands.st_mtime_ns} {stands.st_size}"
        return found

    def _there(self) -> Iterator[tuple[Path, os.stat_result]]:
        """All that lies in the folder, in one order, as the disk has it."""
        for path in sorted(self.folder.rglob("*")) if self.folder.is_dir() else ():
            try:
                found = path.stat()
            except OSError:  # it went meanwhile
                continue
            yield path, found

    def _marks(self) -> tuple[str, str]:
        """A mark of files and journal, and one of all files beside the journal."""
        whole, files = hashlib.sha256(), hashlib.sha256()
        for path, found in self._there():
            journal = path.name.startswith(JOURNAL)
            mark = f"{path}\0{found.st_mtime_ns}\0{found.st_size}\0".encode()
            if journal or path.suffix in (".toml", ".json"):
                whole.update(mark)
            if not journal:
                files.update(mark)
        return whole.hexdigest()[:16], files.hexdigest()[:16]

    def stand(self) -> Stand:
        """The build as it stands on the disk, or stood after this was asked: while one reads,
        others write, and all who wait take the next reading together.

        Raises BuildFaults, ChangeRefused, JournalProblem.
        """
        asked = monotonic()
        with self._shelf.opening:
            kept = self._shelf.stand
            if kept is not None and kept.read >= asked:
                return kept
            read, (mark, files) = monotonic(), self._marks()
            if kept is not None and kept.mark == mark:
                made = replace(kept, read=read)
            else:
                build = kept.opened.build if kept is not None and kept.files == files else None
                made = Stand(mark, files, open_build(self.folder, unchanged=build), read)
            self._shelf.stand = made
            return made

    def opened(self) -> OpenBuild:
        """The build as it stands on the disk. Raises BuildFaults, ChangeRefused, JournalProblem."""
        return self.stand().opened

    def state(self, name: str) -> State:
        """now, finished, after:SESSION, as found or draft:NAME. Raises UnknownName, ChangeRefused.

        A draft is tried on the finished car.
        """
        return self._state(self.opened(), name)

    def _state(self, opened: OpenBuild, name: str) -> State:
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
        return self.examine(self.opened(), state, draws=draws, unknowns=unknowns)

    def examine(
        self, opened: OpenBuild, state: State | str, *, draws: int = DRAWS, unknowns: bool = True
    ) -> Examination:
        """The same of a build that was read before. Raises UnknownName."""
        chosen = self._state(opened, state) if isinstance(state, str) else state
        known = self._known(chosen, draws, unknowns)
        if known is not None:
            return known

        def examine() -> Examination:
            known = self._known(chosen, draws, unknowns)
            if known is not None:  # somebody else asked first
                return known
            found = examine_state(
                chosen, opened.registry, draws=draws, seed=SEED, unknowns=unknowns
            )
            self._keep((key_of(chosen), f"{draws}", int(unknowns)), found)
            give_back()
            return found

        return self._shelf.examining.submit(examine).result()

    def in_time(self, state: str = "finished", *, unknowns: bool = True) -> Examination | None:
        """``examination`` of finished or now where it is made soon; None rather than wait longer.

        Where many edit, what comes after is examined, and not each edit by itself.
        """
        chosen = self.state(state)
        known = self._known(chosen, DRAWS, unknowns)
        if known is None:
            self.examiner.settled(LONGER)
            known = self._known(chosen, DRAWS, unknowns)
        return known

    def _known(self, state: State, draws: int, unknowns: bool) -> Examination | None:
        """One that is kept; with more worked out than was asked will do."""
        return self._among(self._shelf.kept, state, draws, unknowns)

    def _among(
        self, kept: OrderedDict[_Key, Examination], state: State, draws: int, unknowns: bool
    ) -> Examination | None:
        name = key_of(state)
        for key in ((name, f"{draws}", 1), (name, f"{draws}", 0))[: 1 if unknowns else 2]:
            found = kept.get(key)
            if found is not None:
                with contextlib.suppress(KeyError):  # dropped by another thread a moment ago
                    kept.move_to_end(key)
                return found
        return None

    def _keep(self, key: _Key, found: Examination) -> None:
        kept = self._shelf.kept
        whole = key[1] == f"{DRAWS}"
        for other in list(kept.values()) if whole and key[2] else [found] if whole else ():
            other.evaluation.forget()
        kept[key] = found
        while len(kept) > KEPT:
            kept.popitem(last=False)

    def corner(self, state: State, where: str) -> Examination:
        """The checks at one corner of a state, kept while a slider moves."""
        key, kept = (key_of(state), where), self._shelf.corners
        found = kept.get(key)
        if found is None:
            found = kept[key] = examine_corner(state, self.opened().registry, where)
            while len(kept) > KEPT_CORNERS:
                kept.popitem(last=False)
        return found

    def measure_next(self, examination: Examination) -> tuple[Measurement, ...]:
        """What to measure next, kept like the examination."""
        key, kept = key_of(examination.state), self._shelf.next
        found = kept.get(key)
        if found is None:
            found = self._shelf.examining.submit(measure_next, examination).result()
            kept[key] = found
            while len(kept) > KEPT:
                kept.popitem(last=False)
        return found


class Examiner:
    """Examines the build as it stands, once for all who wait.

    Whatever was edited while it examined is in the next examination, however many edits it were.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._turn = threading.Condition()
        self._busy = False
        self._last: Stand | None = None
        self._wrong: tuple[float, Exception] | None = None

    def begin(self) -> None:
        """Begin, unless it is at it."""
        with self._turn:
            self._begin()

    def wait(self) -> None:
        """Until it is done with what it is at."""
        with self._turn:
            self._turn.wait_for(lambda: not self._busy)

    def settled(self, within: float = PATIENCE, since: float = -inf) -> tuple[Stand, bool]:
        """The build with its examinations made, and whether it was edited since.

        It is no older than this call, or the last one examined once ``within`` is over; before
        there is any, one waits. since: a moment that it must not be older than, for which one
        waits longer. Raises what reading the build or examining it raises.
        """
        asked, mark = monotonic(), self._desk.stamp()
        with self._turn:
            while True:
                last = self._last
                if last is not None and (last.read >= asked or last.mark == mark):
                    return last, False
                if self._wrong is not None and self._wrong[0] >= asked:
                    raise self._wrong[1]
                patience = within if last is None or last.read >= since else FOR_ITS_OWN
                left = asked + patience - monotonic()
                if last is not None and left <= 0:
                    return last, True
                self._begin()
                self._turn.wait(left if last is not None else None)

    def _begin(self) -> None:
        if not self._busy:
            self._busy = True
            threading.Thread(target=self._examine, name="examiner", daemon=True).start()

    def _examine(self) -> None:
        began, desk = monotonic(), self._desk
        try:
            stand = desk.stand()
            finished = desk.examine(stand.opened, "finished")
            ahead = {key_of(finished.state): desk.measure_next(finished)}
            now = desk.examine(stand.opened, "now", unknowns=False)
            made = OrderedDict({
                (key_of(finished.state), f"{DRAWS}", 1): finished,
                (key_of(now.state), f"{DRAWS}", 0): now,
            })  # fmt: skip
            self._last = replace(stand, read=began, made=made, next=ahead)
        except Exception as error:  # whoever asked raises it; before anybody asked it is the page's
            self._wrong = (began, error)
        finally:
            with self._turn:
                self._busy = False
                self._turn.notify_all()


class Sight(Desk):
    """What one page sees: the build of one moment, whatever is edited meanwhile.

    Which moment, is settled by what the page asks first. Who asks for the build sees the latest
    one, and an examination of it is made if need be. Who asks for an examination sees the last
    one that was examined if the latest is not in time: then ``behind`` says so. lacking: something
    on the page waits for an examination. since: what the page's browser wrote by then, it must see.
    """

    def __init__(self, desk: Desk, since: float = -inf) -> None:
        self.folder = desk.folder
        self._since = since
        self.examiner = desk.examiner
        self.behind = self.lacking = False
        self._desk = desk
        self._shelf = desk._shelf
        self._seen: Stand | None = None

    @cached_property
    def workshop(self) -> Workshop:
        """The work on this build."""
        return self._desk.workshop

    def stand(self) -> Stand:
        """The build of this page's moment. Raises BuildFaults, ChangeRefused, JournalProblem."""
        if self._seen is None:
            self._seen = self._desk.stand()
        return self._seen

    def stamp(self) -> str:
        """The mark of that moment."""
        return self.stand().mark

    def examination(
        self, state: State | str = "finished", *, draws: int = DRAWS, unknowns: bool = True
    ) -> Examination:
        """The examination of a state, by name or as it is. Raises UnknownName."""
        if self._seen is None:
            self._seen, self.behind = self.examiner.settled(since=self._since)
        return super().examination(state, draws=draws, unknowns=unknowns)

    def _known(self, state: State, draws: int, unknowns: bool) -> Examination | None:
        made = self._seen.made if self._seen is not None else OrderedDict()
        found = self._among(made, state, draws, unknowns)
        return found if found is not None else super()._known(state, draws, unknowns)

    def measure_next(self, examination: Examination) -> tuple[Measurement, ...]:
        """What to measure next, kept like the examination."""
        ahead = self._seen.next if self._seen is not None else {}
        found = ahead.get(key_of(examination.state))
        return found if found is not None else super().measure_next(examination)

    def in_time(self, state: str = "finished", *, unknowns: bool = True) -> Examination | None:
        """``examination`` where it is made soon; else None, and the page says that it waits."""
        found = super().in_time(state, unknowns=unknowns)
        self.lacking = self.lacking or found is None
        return found


def key_of(state: State) -> str:
    """What tells a state from every other, for whatever is kept by it."""
    changes = "\0".join(f"{c}\0{c.value}" for c in state.changes)
    return f"{state.name}\0{state.inputs_hash}\0{hashlib.sha256(changes.encode()).hexdigest()}"


def _written_words(path: Path) -> str:
    """A file of the folder as a page names it; empty for what no page shows."""
    if path.name.startswith(JOURNAL):
        return "the record"
    if path.name == PLAN:
        return "the plan"
    plain = "".join(sign if sign.isprintable() else "?" for sign in path.as_posix())
    return plain if path.suffix == ".toml" else ""
