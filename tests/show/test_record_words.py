"""The journal for people: a task and what it made of the car, in words."""

from __future__ import annotations

import shutil
from pathlib import Path

import built_car
import pytest

from drybuild.build import Change, job_changes
from drybuild.examine import open_build
from drybuild.journal import Entry, Journal
from drybuild.show.record import entry_rows, entry_text, joint_name, journal_text, task_words
from drybuild.work.titles import task_titles

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


def test_a_task_is_called_as_its_card_has_it() -> None:
    titles = task_titles(open_build(DEMO).build)
    assert task_words("clear:brakes_open", titles) == "brakes bled"
    assert task_words("take:raised_front", titles) == "front up on axle stands"
    assert task_words("refit:raised_front", titles) == "front down on its wheels"


def test_work_and_what_it_made_of_the_car_are_one_line(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    job = open_build(DEMO).build.jobs[0]
    journal.worked("take:raised_front", who="Ilse", people=("Ann", "Ben"))
    journal.did([Change("open", "raised_front")], who="Ilse")
    journal.worked(f"job:{job.id}", who="Ilse")
    journal.did(job_changes(job), who="Ilse", job=job.id)
    journal.worked("clear:brakes_open", who="Ilse", hours=0.5)
    titles = {"take:raised_front": "front up on axle stands", f"job:{job.id}": "the first job",
              "clear:brakes_open": "brakes bled"}  # fmt: skip
    first, second, third = entry_rows(journal.entries(), {1, 2, 3, 4, 5}, titles)
    assert (first.number, first.numbers) == ("1-2", (1, 2))
    assert first.text == "done: front up on axle stands, by Ann and Ben"
    assert second.text.startswith("done: the first job, by Ilse; on the car: ")
    assert (third.number, third.text) == ("5", "done: brakes bled, 0.5 h, by Ilse")
    journal.undo(2, who="Ilse")
    rows = entry_rows(journal.entries(), {1, 3, 4, 5}, titles)
    assert [row.number for row in rows] == ["1", "2", "3-4", "5", "6"]
    assert [row.gone for row in rows[:2]] == ["", "undone"]
    said = journal_text(journal.entries(), {1, 3, 4, 5}, titles=titles)
    assert "   5  " in said
    assert "brakes bled [clear:brakes_open], 0.5 h, by Ilse" in said
    assert " 3-4  " in said


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


def test_a_hand_check_is_said_by_its_name_with_what_was_found_and_who_else_saw_it() -> None:
    found = {"value": "firm", "tool": "eye", "name": "Ilse", "second": "Marten"}
    change = {"kind": "verify", "target": "brakes.bled", "value": found}
    said = entry_text(Entry(8, "2026-11-29", "Ilse", "deed", {"changes": [change], "job": ""}))
    checked = "checked brakes bled, pedal firm, no leak under pressure"
    assert said == f"{checked}: firm, eye, seen by Marten"


def test_a_joint_is_said_in_words() -> None:
    assert joint_name("hub.front.left") == "front left hub"
    assert joint_name("arm bolts, M12") == "arm bolts, M12"


def test_two_measurements_that_disagree_are_said_in_words_and_which_of_them_counts(
    tmp_path: Path,
) -> None:
    opened = open_build(built_car.make(tmp_path / "car"))
    opened.journal.note(
        "corner.rear.left.tyre_pressure", {"is": "2.9 bar gauge", "by": "tyre gauge"}, who="Ilse"
    )
    again = open_build(tmp_path / "car")
    entry = again.journal.readings()[-1].id
    said = next(n for n in again.notes() if "2.90" in n)
    assert said.startswith("rear left tyre pressure: car.toml says ")
    assert said.endswith(f"Until then entry {entry} counts.")
    stands = again.present.state.readings["corner.rear.left.tyre_pressure"]
    assert stands.centre == pytest.approx(2.9e5)
    assert not any(sign in note for note in again.notes() for sign in "{}[]=")
