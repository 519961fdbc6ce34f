"""The planner as the app runs it: one at a time, in a process of its own, seen and stopped by all.

It stands in the app, not in a page: a browser that loads again, or another one, sees the same.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import IO, Any, Literal

from fastapi import Request

from drybuild.web.desk import Desk
from drybuild.web.planning_words import ENOUGH, SUPPOSE, SUPPOSE_NOTHING

SECONDS = 40
"""How long the last search may take, as ``drybuild plan`` has it."""

Ended = Literal["", "kept", "no plan", "stopped", "failed"]
Near = Literal["near", "anew"]

DIED = "the planner ended without an answer (code {code}); the plan in the folder stays as it was"

_MAKING = threading.Lock()


@dataclass(frozen=True)
class Planning:
    """Where planning stands. stage: reading, looking, searching, or cards when the plan is kept.
    found: a plan was found, and a better one is looked for; fell: one that was found did not stand
    when the car was examined along it; enough: it was said that it will do.
    began, stage_began: moments of a clock that only goes on. why: in words, when it ended without
    a plan; open: nothing says that there is none; first: what to do before any plan, with what
    heads several of it: in words, where that is done, what that page is; cures: what makes room for
    one, with why as well; first_title, room: what heads them. moved: in words, what a
    new plan near the old one moved; None: there was none to keep to;
    turned: how far it turns that round, and what it costs. mark: of the plan that was kept, or that
    was there before a refusal, empty where there was none; None: neither came of it. most: seconds
    that the last search may take. when: it ended, by the clock; rests_on: the files and the journal
    that a refusal knows of, as ``plan_file.Fingerprint`` has them."""

    running: bool = False
    stage: str = "reading"
    round: int = 0
    learned: int = 0
    found: bool = False
    fell: bool = False
    enough: bool = False
    began: float = 0.0
    stage_began: float = 0.0
    ended: Ended = ""
    why: tuple[str, ...] = ()
    first: tuple[tuple[str, list[list[str]]], ...] = ()
    first_title: str = ""
    cures: tuple[tuple[str, str, list[str], str], ...] = ()
    room: str = ""
    open: bool = False
    moved: tuple[str, ...] | None = None
    turned: tuple[str, ...] = ()
    mark: str | None = None
    when: datetime | None = None
    rests_on: tuple[str, str] | None = None
    most: float = SECONDS

    @property
    def seconds(self) -> float:
        """Since it began."""
        return monotonic() - self.began

    @property
    def stage_seconds(self) -> float:
        """Since its stage began."""
        return monotonic() - self.stage_began


class Planner:
    """Starts, watches and stops the planning of one folder. Methods may be called by any thread.

    kept: what is to be done with a plan that was kept before it is shown.
    """

    def __init__(self, folder: Path, kept: Callable[[], None] = lambda: None) -> None:
        self._folder = folder
        self._kept = kept
        self._lock = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._now = Planning()
        self._stopped = False

    @property
    def now(self) -> Planning:
        """Where it stands."""
        return self._now

    def start(
        self, near: Near = "near", *, seconds: float = SECONDS, suppose: bool = True
    ) -> bool:
        """Start it, unless it runs already. Whether it was started.

        suppose: what nobody knows yet may be taken to turn out well, where no plan does without.
        """
        with self._lock:
            if self._now.running:
                return False
            self._stopped = False
            self._process = subprocess.Popen(
                [sys.executable, "-m", "drybuild.web.planning_process", str(self._folder), near,
                 f"{seconds:g}", SUPPOSE if suppose else SUPPOSE_NOTHING],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"},
            )  # fmt: skip
            now = monotonic()
            self._now = Planning(running=True, began=now, stage_began=now, most=seconds)
            threading.Thread(target=self._watch, args=(self._process,), daemon=True).start()
            return True

    def stop(self) -> bool:
        """Stop it. Whether there was something to stop."""
        with self._lock:
            process = self._process
            if process is None or not self._now.running:
                return False
            self._stopped = True
            process.terminate()
        try:
            process.wait(5)
        except subprocess.TimeoutExpired:
            process.kill()
        return True

    def enough(self) -> bool:
        """Search no further: keep the plan found so far, if the checks let it stand. Whether there
        was one."""
        with self._lock:
            process = self._process
            if process is None or process.stdin is None or not self._now.found:
                return False
            try:
                process.stdin.write(f"{ENOUGH}\n")
                process.stdin.flush()
            except (OSError, ValueError):  # it ended meanwhile
                return False
            self._now = replace(self._now, enough=True)
            return True

    def dismiss(self) -> None:
        """Forget how the last planning ended."""
        with self._lock:
            if not self._now.running:
                self._now = Planning()

    def _watch(self, process: subprocess.Popen[str]) -> None:
        said: IO[str] | None = process.stdout
        for line in said or ():
            try:
                what = json.loads(line)
            except ValueError:
                continue
            if isinstance(what, dict):  # a library that prints is not the planner's word
                self._heard(what)
        code = process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                pipe.close()
        if self._now.ended == "kept":
            self._now = replace(self._now, stage="cards", stage_began=monotonic())
            try:
                self._kept()
            finally:
                self._now = replace(self._now, running=False)
            return
        with self._lock:
            if self._now.ended:
                self._now = replace(self._now, running=False)
            elif self._stopped:
                self._now = replace(self._now, running=False, ended="stopped")
            else:
                why = (DIED.format(code=code),)
                self._now = replace(self._now, running=False, ended="failed", why=why)

    def _heard(self, what: dict[str, Any]) -> None:
        with self._lock:
            if "stage" in what:
                began = self._now.stage_began if what["found"] else monotonic()
                fell = not what["found"] and (self._now.found or self._now.fell)
                self._now = replace(
                    self._now, stage=what["stage"], round=what["round"], learned=what["learned"],
                    found=what["found"], fell=fell, enough=False, stage_began=began,
                )  # fmt: skip
            elif "ended" in what:
                self._now = replace(
                    self._now, ended=what["ended"], found=False, enough=False,
                    why=tuple(what.get("why", ())),
                    first=tuple((head, rows) for head, rows in what.get("first", ())),
                    first_title=what.get("first_title", ""),
                    cures=tuple((w, at, why, is_) for w, at, why, is_ in what.get("cures", ())),
                    room=what.get("room", ""), open=bool(what.get("open", False)),
                    moved=tuple(what["moved"]) if what.get("moved") is not None else None,
                    turned=tuple(what.get("turned", ())),
                    mark=what.get("mark"), when=datetime.now(),
                    rests_on=tuple(what["rests_on"]) if what.get("rests_on") else None,
                )  # fmt: skip


def planner(request: Request) -> Planner:
    """The planner of the app that a request came to."""
    state = request.app.state
    with _MAKING:
        if not hasattr(state, "planner"):
            desk: Desk = state.desk
            state.planner = Planner(desk.folder, lambda: desk.workshop.ahead(desk.opened()))
    kept: Planner = state.planner
    return kept
