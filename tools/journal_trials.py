"""What the journal is put through with real processes: kills, writers at once, a disk that fills.

    python tools/journal_trials.py write FOLDER NAME COUNT      a writer that says what was kept
    python tools/journal_trials.py kill FOLDER TIMES SEED       writers killed at random moments

A writer prints the number of an entry when the journal has acknowledged it, and not before. The
tests do this on a small scale, benchmarks/journal.py on a large one.
"""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from drybuild.journal import Entry, Journal, JournalProblem

WRITERS = 2
LONGEST_LIFE = 0.4
"""A writer is killed within this long of its first breath, s."""
ADDRESS = "car.wheelbase"


class TrialFailed(Exception):
    """The journal did not keep what it had acknowledged."""


@dataclass(frozen=True)
class Kept:
    """What a trial found. acknowledged: entries that a writer was told are kept."""

    acknowledged: int
    entries: int
    times: int = 1
    seconds: float = 0.0


def raw_of(writer: str, number: int) -> str:
    """What a writer writes: every entry can be told from every other."""
    return f"{writer} {number}"


def write(folder: Path, writer: str, count: int, told: Callable[[str], None]) -> None:
    """Write entries one by one, and tell of each as soon as it is acknowledged."""
    journal = Journal(folder)
    for number in range(count):
        entry = journal.note(ADDRESS, raw_of(writer, number), who=writer)
        told(f"{entry.id} {writer} {number}\n")


def check(folder: Path, acknowledged: Mapping[int, str]) -> int:
    """Hold the journal against what was acknowledged; returns how many entries it has.

    acknowledged: number of an entry → its raw value. Raises TrialFailed.
    """
    journal = Journal(folder)
    try:
        entries: dict[int, Entry] = {e.id: e for e in journal.entries()}
        chain = journal.verify()
    except JournalProblem as error:
        raise TrialFailed(f"the journal does not open: {error}") from None
    if chain.fault is not None:
        raise TrialFailed(f"the chain does not fit: {chain.fault}")
    for number, raw in acknowledged.items():
        found = entries.get(number)
        if found is None or found.body["raw"] != raw:
            raise TrialFailed(f"entry {number}, {raw!r}, was acknowledged and is {found}")
    return len(entries)


def acknowledged_in(lines: Iterable[str]) -> dict[int, str]:
    """What writers told; a last line that was cut short tells nothing."""
    told = {}
    for line in lines:
        if line.endswith("\n"):
            number, raw = line.rstrip("\n").split(" ", 1)
            told[int(number)] = raw
    return told


def writers_at_once(folder: Path, count: int, writers: int = WRITERS) -> Kept:
    """Several processes write at once; none of their entries may be lost. Raises TrialFailed."""
    begun = time.perf_counter()
    running = [
        subprocess.Popen(
            [sys.executable, __file__, "write", str(folder), f"writer-{n}", str(count)],
            stdout=subprocess.PIPE, text=True,
        )
        for n in range(writers)
    ]  # fmt: skip
    told = [process.communicate()[0].splitlines(keepends=True) for process in running]
    if any(process.returncode for process in running):
        raise TrialFailed("a writer gave up")
    acknowledged = acknowledged_in(line for lines in told for line in lines)
    if len(acknowledged) != writers * count:
        raise TrialFailed(f"{writers * count} were written, {len(acknowledged)} acknowledged")
    entries = check(folder, acknowledged)
    if entries != writers * count:
        raise TrialFailed(f"{writers * count} were written, {entries} are there")
    return Kept(len(acknowledged), entries, seconds=time.perf_counter() - begun)


def kills(folder: Path, times: int, seed: int) -> Kept:
    """Run ``kill`` in a process of its own, whose children are cheap. Raises TrialFailed."""
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, __file__, "kill", str(folder), str(times), str(seed)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        raise TrialFailed(done.stdout + done.stderr)
    said = json.loads(done.stdout)
    return Kept(said["acknowledged"], said["entries"], times, time.perf_counter() - begun)


def kill(folder: Path, times: int, seed: int) -> Kept:
    """Let two writers write, kill both at random moments, look at what is left; many times."""
    moments = random.Random(seed)
    acknowledged: dict[int, str] = {}
    entries = 0
    for turn in range(times):
        pipe, ear = os.pipe()
        children = [_child(folder, f"{turn}-{n}", pipe, ear) for n in range(WRITERS)]
        os.close(ear)
        for child in children:
            time.sleep(moments.uniform(0.0, LONGEST_LIFE / WRITERS))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
        with open(pipe, encoding="utf-8") as told:
            acknowledged |= acknowledged_in(told)
        entries = check(folder, acknowledged)
    return Kept(len(acknowledged), entries, times)


def _child(folder: Path, writer: str, pipe: int, ear: int) -> int:
    child = os.fork()
    if child:
        return child
    os.close(pipe)
    try:
        write(folder, writer, 1_000_000, lambda line: _tell(ear, line))
    finally:
        os._exit(1)


def _tell(ear: int, line: str) -> None:
    # Shorter than what a pipe takes at once, so that two writers never mix their lines.
    os.write(ear, line.encode())


def full(folder: Path, room: int, count: int) -> Kept:
    """Write where no file may grow beyond ``room`` bytes, until the disk takes no more.

    Raises TrialFailed when something acknowledged is not there, or when nothing was refused.
    """
    done = subprocess.run(
        [sys.executable, __file__, "full", str(folder), str(room), str(count)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode != 3:
        raise TrialFailed(f"no write was refused: {done.stdout[-200:]}{done.stderr}")
    acknowledged = acknowledged_in(done.stdout.splitlines(keepends=True))
    return Kept(len(acknowledged), check(folder, acknowledged))


def _full(folder: Path, room: int, count: int) -> int:
    import resource

    resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
    try:
        write(folder, "full", count, lambda line: _tell(1, line))
    except JournalProblem as error:
        print(error, file=sys.stderr)
        return 3
    return 0


def main(argv: list[str]) -> int:
    what, folder, *rest = argv
    if what == "write":
        write(Path(folder), rest[0], int(rest[1]), lambda line: print(line, end="", flush=True))
        return 0
    if what == "full":
        return _full(Path(folder), int(rest[0]), int(rest[1]))
    try:
        found = kill(Path(folder), int(rest[0]), int(rest[1]))
    except TrialFailed as error:
        print(error)
        return 1
    print(json.dumps({"acknowledged": found.acknowledged, "entries": found.entries}))
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
