"""How fast the journal keeps entries, and what it lives through, at full size.

    python benchmarks/journal.py                     all of it, a quarter of an hour and more
    python benchmarks/journal.py --kills 50 --each 500 --entries 200      a short look
    python benchmarks/journal.py --json              one JSON object

Rates are of entries acknowledged one by one, on the disk under --folder, beside plain inserts of
the same text into a table of SQLite with the same syncs, in turns, so that both meet the same disk:
once over a connection that stays open, once over one that is opened for each, as the journal does.

Then: writers killed at random moments; two writers at once; a recording of every write and sync
replayed as if the power had failed at every moment, with syncs and without.
"""

from __future__ import annotations

import argparse
import json
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tools"))

from drybuild.journal import Journal  # noqa: E402
from journal_shim import Op, Synchronous, Watch, losses, watched  # noqa: E402
from journal_trials import ADDRESS, kills, writers_at_once  # noqa: E402

ROUND = 25
BODY = json.dumps({"address": ADDRESS, "after": 0, "instrument": "", "raw": "writer-0 1234"})
TABLE = "CREATE TABLE plain (id INTEGER PRIMARY KEY, at TEXT, who TEXT, kind TEXT, body TEXT)"
INSERT = "INSERT INTO plain (at, who, kind, body) VALUES (?, ?, ?, ?)"
ROW = ("2026-12-05T09:00:00+00:00", "writer-0", "reading", BODY)
REPLAYED = 60


def _plain(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA synchronous = EXTRA")
    return db


def _insert(db: sqlite3.Connection) -> None:
    db.execute("BEGIN IMMEDIATE")
    db.execute(INSERT, ROW)
    db.execute("COMMIT")


def rates(folder: Path, entries: int) -> dict[str, float]:
    """Entries a second of each way, and the journal's as a share of theirs."""
    journal = Journal(folder)
    path = folder / "plain.db"
    with closing(_plain(path)) as db:
        db.execute(TABLE)

    def opened_each_time() -> None:
        with closing(_plain(path)) as db:
            _insert(db)

    with closing(_plain(path)) as kept_open:
        ways: dict[str, Callable[[], Any]] = {
            "journal": lambda: journal.note(ADDRESS, "writer-0 1234", who="writer-0"),
            "plain, connection kept open": lambda: _insert(kept_open),
            "plain, opened each time": opened_each_time,
        }
        seconds: dict[str, list[float]] = {name: [] for name in ways}
        for _ in range(max(entries // ROUND, 1)):
            for name, write in ways.items():
                begun = time.perf_counter()
                for _ in range(ROUND):
                    write()
                seconds[name].append(time.perf_counter() - begun)
    found = {name: ROUND / statistics.median(times) for name, times in seconds.items()}
    for name in list(found)[1:]:
        found[f"journal / {name}"] = found["journal"] / found[name]
    return {name: round(value, 3) for name, value in found.items()}


def replayed(folder: Path, synchronous: Synchronous) -> dict[str, Any]:
    """Losses found when the power fails at every moment of a long recording."""
    written, room = folder / "written", folder / "room"
    written.mkdir(parents=True)
    room.mkdir()
    watch = Watch()
    journal = watched(written, watch, synchronous)
    for number in range(REPLAYED):
        words = "long " * (number % 7) * 300
        journal.remark(f"{number} {words}", who="writer")
        watch.ops.append(Op("told", told=number + 1))
    found, tried = losses(room, {}, watch.ops, Journal(written).entries(), most=1)
    return {
        "writes and syncs": len(watch.ops),
        "images": tried,
        "lost": bool(found),
        "first": asdict(found[0]) if found else None,
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--entries", type=int, default=1_000, help="of each way, for the rates")
    parser.add_argument("--kills", type=int, default=1_000)
    parser.add_argument("--each", type=int, default=10_000, help="entries of each of two writers")
    parser.add_argument("--folder", type=Path, default=None, help="on the disk to try")
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder, prefix="journal-") as name:
        found = _all(Path(name), asked)
    if asked.json:
        print(json.dumps(found))
    lost = found["power cuts, with syncs"]["lost"]
    return 1 if lost or not found["power cuts, syncs off"]["lost"] else 0


def _all(folder: Path, asked: argparse.Namespace) -> dict[str, Any]:
    parts: dict[str, Callable[[Path], Any]] = {
        "entries a second": lambda f: rates(f, asked.entries),
        "power cuts, with syncs": lambda f: replayed(f, "EXTRA"),
        "power cuts, folder not synced": lambda f: replayed(f, "FULL"),
        "power cuts, syncs off": lambda f: replayed(f, "OFF"),
        "kills": lambda f: asdict(kills(f, asked.kills, seed=2026)),
        "two writers": lambda f: asdict(writers_at_once(f, asked.each)),
    }
    found = {}
    for number, (name, run) in enumerate(parts.items()):
        room = folder / str(number)
        room.mkdir()
        found[name] = run(room)
        if not asked.json:
            print(name)
            for key, value in found[name].items():
                print(f"    {key:36} {value}")
    return found


if __name__ == "__main__":
    raise SystemExit(main())
