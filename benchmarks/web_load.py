"""Many browsers at one build: every page answered, and no edit lost that was acknowledged.

    python benchmarks/web_load.py                       50 browsers for 60 s, one JSON object
    python benchmarks/web_load.py --clients 8 --seconds 10

A server of its own serves a copy of a build on loopback. Each browser looks at pages, writes
readings and remarks, changes facts of files and keeps drafts, all with a pause between, as people
do. Afterwards each edit that was acknowledged is looked for in the folder. Whatever was refused
must have said so in words that the browser was shown; anything else is an error.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import random
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Any

import httpx2 as httpx

import drybuild

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "plover"

READINGS = (
    "corner.rear.left.arch_point.gap", "corner.rear.right.arch_point.gap",
    "corner.front.left.arch_point.gap", "corner.front.right.arch_point.gap",
)  # fmt: skip
IN_HAND = "part.tolland_disc_310.outer_diameter"
FACTS = {
    "part.tolland_disc_310.ring_mass": (5.0, "kg"), "part.tolland_disc_310.mass": (7.0, "kg"),
    "part.tolland_disc_310.price": (300.0, "AUD"), "part.tolland_disc_310.thickness": (28.0, "mm"),
}  # fmt: skip
"""Facts of files that are changed: about which figure, in which unit."""
SERVE = (
    "import sys; from drybuild.web.serve import serve; serve(sys.argv[1], port=int(sys.argv[2]))"
)
PAGES = ("/", "/findings", "/measure", "/records", "/engine", "/corner/rear/left", "/parts")
TOKEN = re.compile(r'name="drybuild-token" content="([0-9a-f]{64})"')
SAID = re.compile(r'role="alert"|class="said"|"detail"|<p class="said')
PATIENCE = 120.0


@dataclass
class Trial:
    """What the browsers saw. kept: edits that were acknowledged, by kind: what to look for.

    open: facts that were sent and not answered yet; killed: no further answer is to be had.
    """

    kept: dict[str, list[tuple[str, ...]]] = field(default_factory=dict)
    refused: Counter[str] = field(default_factory=Counter)
    errors: list[str] = field(default_factory=list)
    times: dict[str, list[float]] = field(default_factory=dict)
    open: set[tuple[str, str, str]] = field(default_factory=set)
    killed: bool = False

    def acknowledged(self, kind: str, *what: str) -> None:
        self.kept.setdefault(kind, []).append(what)

    def took(self, kind: str, seconds: float) -> None:
        self.times.setdefault(kind, []).append(seconds)


@dataclass
class Browser:
    """One browser with its own session; says what it does by a number that nobody else has."""

    number: int
    client: httpx.AsyncClient
    trial: Trial
    dice: random.Random
    token: str = ""
    done: int = 0

    def name(self) -> str:
        self.done += 1
        return f"browser {self.number} edit {self.done}"

    async def get(self, path: str, **params: str) -> str:
        began = time.monotonic()
        answer = await self.client.get(path, params=params)
        self.trial.took("look", time.monotonic() - began)
        if answer.status_code != 200:
            self.trial.errors.append(f"GET {path}: {answer.status_code}")
            return ""
        found = TOKEN.search(answer.text)
        if found is not None:
            self.token = found[1]
        return answer.text

    async def post(self, path: str, **data: str) -> bool:
        """Whether it was acknowledged; a refusal that says nothing is an error."""
        began = time.monotonic()
        answer = await self.client.post(path, data={"token": self.token, **data})
        self.trial.took("edit", time.monotonic() - began)
        if answer.status_code == 303:
            return True
        if answer.status_code == 409 and SAID.search(answer.text):
            self.trial.refused[path.split("/")[1]] += 1
        else:
            self.trial.errors.append(f"POST {path}: {answer.status_code} {answer.text[:200]}")
        return False

    async def look(self) -> None:
        await self.get(self.dice.choice(PAGES))

    async def read(self) -> None:
        address = self.dice.choice(READINGS)
        await self.get(f"/measure/at/{address}")
        who, value = self.name(), f"{self.dice.uniform(20, 60):.1f} ± 1 mm"
        if await self.post(f"/measure/at/{address}", reading=value, who=who):
            self.trial.acknowledged("reading", address, value, who)

    async def read_in_hand(self) -> None:
        page = await self.get(f"/measure/at/{IN_HAND}")
        seen = re.search(r'name="seen" value="([^"]*)"', page)
        if seen is None:
            return
        who, value = self.name(), f"{309 + self.number / 100 + self.done / 1e5:.5f} ± 0.3 mm"
        edit = (IN_HAND, seen[1], value)
        self.trial.open.add(edit)
        if await self.post(f"/measure/at/{IN_HAND}", reading=value, who=who, seen=seen[1]):
            self.trial.acknowledged("in hand", *edit)
        self.trial.open.discard(edit)

    async def remark(self) -> None:
        who = self.name()
        if await self.post("/records/remark", words=f"seen by {who}", who=who):
            self.trial.acknowledged("remark", f"seen by {who}", who)

    async def change(self) -> None:
        address = self.dice.choice(list(FACTS))
        page = await self.get("/set", address=address)
        seen = re.search(r'name="seen" value="([^"]*)"', page)
        stood = re.search(r"in the file</dt><dd>[^<]*<code>[^<]*</code> = <code>(.*?)</code>", page)
        if seen is None or stood is None:
            return
        about, unit = FACTS[address]
        value = f"{about + self.number / 100 + (self.done + 1) / 1e5:.5f} {unit}"
        self.name()
        edit = (address, figure_of(unescape(stood[1])), value)
        self.trial.open.add(edit)
        if await self.post("/set", address=address, seen=seen[1], value=value):
            self.trial.acknowledged("fact", *edit)
        self.trial.open.discard(edit)

    async def draft(self) -> None:
        title = self.name()
        camber = f"{-1.5 - self.dice.random():.1f}"
        if await self.post("/corner/front/left/draft", title=title, camber=camber):
            self.trial.acknowledged("draft", title)


def figure_of(text: str) -> str:
    """The figure inside what a file says: the text of ``is`` where it is a table."""
    found = re.search(r'is\s*=\s*"([^"]*)"', text)
    return found[1] if found else text.strip('"')


Acts = tuple[tuple[str, float], ...]
ACTS: Acts = (
    ("look", 12), ("read", 4), ("change", 3), ("remark", 2), ("read_in_hand", 1), ("draft", 0.3),
)  # fmt: skip


@contextmanager
def server(folder: Path, port: int = 0) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The app of a folder as a process of its own: its address and itself."""
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(folder), str(port)],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        line = process.stdout.readline()
        found = re.search(r"http://\S+?(?=/ )", line)
        if found is None:
            raise RuntimeError(f"the app did not start: {line}")
        yield found[0], process
    finally:
        process.kill()
        process.wait(20)
        process.stdout.close()


async def browse(
    url: str, number: int, until: float, trial: Trial, *, pause: float, seed: int,
    acts: Acts = ACTS,
) -> None:  # fmt: skip
    """One browser until the time is up; its last act is finished, unless the app is killed."""
    dice = random.Random(seed * 1000 + number)
    limits = httpx.Limits(max_connections=6)
    async with httpx.AsyncClient(base_url=url, timeout=PATIENCE, limits=limits) as client:
        one = Browser(number, client, trial, dice)
        names, weights = zip(*acts, strict=True)
        try:
            await one.get("/findings")
            while time.monotonic() < until:
                act: Callable[[], Awaitable[None]] = getattr(one, dice.choices(names, weights)[0])
                await act()
                await asyncio.sleep(dice.uniform(0, 2 * pause))
        except httpx.HTTPError as error:
            if trial.killed:
                return
            trial.errors.append(f"browser {number}: {type(error).__name__} {error}")


async def crowd(url: str, *, clients: int, seconds: float, pause: float, seed: int) -> Trial:
    """So many browsers for so long."""
    trial = Trial()
    until = time.monotonic() + seconds
    await asyncio.gather(
        *(browse(url, n, until, trial, pause=pause, seed=seed) for n in range(clients))
    )
    return trial


def lost(folder: Path, trial: Trial) -> list[str]:
    """Acknowledged edits that are not in the folder as they must be."""
    opened = drybuild.open_build(folder)
    gone = [f"chain: {opened.journal.verify().fault}"] if opened.journal.verify().fault else []
    said = {
        (e.body["address"], _text(e.body["raw"]), e.who)
        for e in opened.journal.entries() if e.kind == "reading"
    }  # fmt: skip
    remarks = {(r.words, r.who) for r in opened.journal.remarks()}
    drafts = [
        tomllib.loads(p.read_text(encoding="utf-8"))["title"]
        for p in (folder / "drafts").glob("*.toml")
    ]
    gone += [f"reading {k}" for k in trial.kept.get("reading", ()) if k not in said]
    gone += [f"remark {k}" for k in trial.kept.get("remark", ()) if k not in remarks]
    gone += [f"draft {k}" for k in trial.kept.get("draft", ()) if drafts.count(k[0]) != 1]
    gone += _overwritten(folder, trial.kept.get("fact", []), trial.open)
    gone += _unseen(folder, trial.kept.get("in hand", []), trial.open)
    if not trial.killed:
        gone += [f"left behind: {p.name}" for p in folder.rglob("*.part")]
    return gone


def _text(raw: Any) -> str:
    return str(raw["is"]) if isinstance(raw, dict) else str(raw)


def _overwritten(
    folder: Path, facts: list[tuple[str, ...]], unanswered: set[tuple[str, str, str]]
) -> list[str]:
    """Facts are one chain each: every edit replaced what its browser saw, and the last one stands.

    Two edits of one sight would mean that one of them was written over unseen. One that was not
    answered any more may stand in place of the last.
    """
    gone = []
    for address in {key[0] for key in facts}:
        chain = [(old, new) for where, old, new in facts if where == address]
        if len({old for old, _ in chain}) != len(chain):
            gone.append(f"{address}: two edits of one sight")
        _, part, key = address.split(".")
        stands = _stated(folder, part, key)
        ends = {new for _, new in chain} - {old for old, _ in chain}
        after = {new for where, old, new in unanswered if where == address and old in ends}
        if len(ends) != 1 or stands not in ends | after:
            gone.append(f"{address}: it says {stands}, the last edits were {sorted(ends)}")
    return gone


def _unseen(
    folder: Path, readings: list[tuple[str, ...]], unanswered: set[tuple[str, str, str]]
) -> list[str]:
    """Readings of parts in hand stand in files: none was written over by one that saw it not."""
    gone = []
    for address in {key[0] for key in readings}:
        sights = [seen for where, seen, _ in readings if where == address]
        if len(set(sights)) != len(sights):
            gone.append(f"{address}: two readings of one sight")
        _, part, key = address.split(".")
        written = {what for where, _, what in (*readings, *unanswered) if where == address}
        if _stated(folder, part, key) not in written:
            gone.append(f"{address}: it says {_stated(folder, part, key)}, and nobody wrote that")
    return gone


def _stated(folder: Path, part: str, key: str) -> str:
    for path in (folder / "parts").glob("*.toml"):
        table = tomllib.loads(path.read_text(encoding="utf-8")).get("part", {}).get(part)
        if table is not None:
            return _text(table.get(key))
    return "nothing"


def measured(
    folder: Path, *, clients: int, seconds: float, pause: float, seed: int = 1
) -> dict[str, Any]:
    """Serve a copy of a folder, let the browsers loose, and say what became of it."""
    with server(folder) as (url, process):
        began = time.monotonic()
        trial = asyncio.run(crowd(url, clients=clients, seconds=seconds, pause=pause, seed=seed))
        took = time.monotonic() - began
        alive = process.poll() is None
    return {
        "clients": clients,
        "seconds": round(took, 1),
        "alive": alive,
        "acknowledged": {kind: len(kept) for kind, kept in sorted(trial.kept.items())},
        "refused": dict(trial.refused),
        "errors": trial.errors[:20],
        "error_count": len(trial.errors),
        "lost": lost(folder, trial),
        "times": {kind: _spread(found) for kind, found in trial.times.items()},
    }


def _spread(found: list[float]) -> dict[str, float]:
    parts = statistics.quantiles(found, n=20) if len(found) > 1 else [*found] * 19
    return {
        "count": len(found), "median": round(statistics.median(found), 3),
        "95": round(parts[18], 3), "longest": round(max(found), 3),
    }  # fmt: skip


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--clients", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--pause", type=float, default=3.0, help="mean pause of a browser, s")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(EXAMPLE, Path(place) / "plover"))
        found = measured(
            folder, clients=asked.clients, seconds=asked.seconds, pause=asked.pause, seed=asked.seed
        )
    print(json.dumps(found, indent=2, ensure_ascii=False))
    return 1 if found["lost"] or found["error_count"] or not found["alive"] else 0


if __name__ == "__main__":
    raise SystemExit(main())
