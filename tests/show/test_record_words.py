"""The journal for people: a task and what it made of the car, in words."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from drybuild.build import Change, job_changes
from drybuild.examine import open_build
from drybuild.journal import Journal
from drybuild.show.record import entry_rows, task_words

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("take:fuel_filter", "fuel filter off"),
        ("refit:fuel_filter", "fuel filter back on"),
        ("take:exhaust_rear~aside", "exhaust rear off (moved aside)"),
        ("take:raised_front", "front raised"),
        ("refit:raised_front", "front let down"),
        ("job:lines", "feed and return line"),
        ("no key", "no key"),
    ],
)
def test_a_task_in_words(key: str, words: str) -> None:
    assert task_words(key, {"lines": "feed and return line"}) == words


def test_entries_name_the_job_by_its_title(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    opened = open_build(folder)
    job = opened.build.jobs[0]
    journal = Journal(folder)
    journal.did(job_changes(job), who="Ilse", job=job.id)
    journal.did([Change("open", "raised_front")], who="Ilse")
    entries = journal.entries()
    said = [row.text for row in entry_rows(entries, {1, 2}, {job.id: "the first job"})]
    assert said[0].startswith("on the car, the first job: ")
    assert said[1] == "on the car: front raised"
    typed = [row.text for row in entry_rows(entries, {1, 2})]
    assert typed[0].startswith(f"did job {job.id}: ")
    assert typed[1] == "did raised front opened"


@pytest.mark.parametrize(
    ("what", "body", "words"),
    [
        ("extra", {"id": "stud", "title": "stud drilled out", "hours": [1.0, 2.0, 4.0],
                   "task": "take:fuel_filter"},
         "more to do, stud drilled out: 2 h, 1 to 4, found at fuel filter off"),
        ("longer", {"task": "job:lines", "hours": [3.0, 3.0, 3.0]},
         "feed and return line takes 3 h"),
        ("late", {"job": "lines", "until": "2026-12-22"},
         "feed and return line, its part comes on 2026-12-22"),
        ("away", {"person": "Ilse", "session": "sat-1", "until": "13:00"},
         "Ilse is not there in sat-1 until 13:00"),
        ("worked", {"session": "sat-1"}, "all that was planned for sat-1 is done"),
        ("shortened", {"session": "sat-1"}, "sat-1 falls through"),
        ("shortened", {"session": "sat-1", "end": "12:00"}, "sat-1 ends at 12:00"),
        ("tool_gone", {"tool": "engine_hoist"}, "engine hoist is not to be had"),
        ("moved", {"job": "lines", "session": "shop"}, "feed and return line is booked for shop"),
        ("dropped", {"job": "lines"}, "feed and return line is given up"),
    ],
)  # fmt: skip
def test_what_happened_is_said_in_words(
    tmp_path: Path, what: str, body: dict[str, object], words: str
) -> None:
    journal = Journal(tmp_path)
    entry = journal.happened(what, body, who="Ilse", words="as seen")
    jobs = {"lines": "feed and return line"}
    (row,) = entry_rows([entry], {entry.id}, jobs)
    assert row.text == f"happened: {words}: as seen"
