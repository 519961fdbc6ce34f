"""What happened to the plan, said on screen: entry, refusals, undo, and the plan after it."""

from __future__ import annotations

import re
import shutil
import time
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from forms import token_in
from small_demo import copy_with
from starlette.testclient import TestClient

from drybuild.cli import main
from drybuild.examine import OpenBuild, open_build
from drybuild.journal import Journal
from drybuild.web.pages import work_happened
from drybuild.web.planner import Planner
from drybuild.web.workshop import Workshop
from drybuild.work.as_planned import as_planned, so_far
from drybuild.work.at_hand import AtHand
from drybuild.work.happened import KINDS

JOBS = ("bar-links", "intake")
SESSIONS = ("sat-1", "sat-2", "sat-3")


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = copy_with(tmp_path_factory.mktemp("happened"), JOBS, SESSIONS)
    planner = Planner(folder)
    planner.start("anew", seconds=2)
    _over(planner)
    assert planner.now.ended == "kept"
    return folder


@pytest.fixture
def folder(planned: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(planned, tmp_path / "car"))


def _over(planner: Planner) -> None:
    ends = time.monotonic() + 90
    while planner.now.running:
        assert time.monotonic() < ends, "the planner took too long"
        time.sleep(0.05)


def post(client: TestClient, where: str, **fields: Any):  # type: ignore[no-untyped-def]
    found = token_in(client.get("/work/happened").text)
    return client.post(where, data={"token": found, **fields})


def told(folder: Path) -> list[tuple[str, dict[str, Any], str]]:
    """What stands in the journal as having happened."""
    work = open_build(folder).journal.work()
    return [(e.what, dict(e.more), e.who) for e in work if not e.of_task]


SAYINGS = (
    ("late", {"job": "intake", "until": "2026-12-18"}, {"job": "intake", "until": "2026-12-18"}),
    ("away", {"person": "Ilse", "session": "sat-1"}, {"person": "Ilse", "session": "sat-1"}),
    (
        "away", {"person": "Ilse", "session": "sat-1", "clock": "13:00"},
        {"person": "Ilse", "session": "sat-1", "until": "13:00"},
    ),
    ("shortened", {"session": "sat-2"}, {"session": "sat-2"}),
    ("shortened", {"session": "sat-2", "clock": "12:30"}, {"session": "sat-2", "end": "12:30"}),
    (
        "extra", {"title": "Stud drilled out", "hours": "1:30", "least": "1", "most": "3",
                  "task": "job:intake", "until": "2026-12-11"},
        {"id": "stud-drilled-out", "title": "Stud drilled out", "task": "job:intake",
         "until": "2026-12-11", "hours": [1.0, 1.5, 3.0]},
    ),
    (
        "longer", {"task": "job:bar-links", "hours": "2,5"},
        {"task": "job:bar-links", "hours": [2.5, 2.5, 2.5]},
    ),
    ("tool_gone", {"tool": "ramps", "session": ""}, {"tool": "ramps"}),
    ("moved", {"job": "intake", "session": "sat-2"}, {"job": "intake", "session": "sat-2"}),
    ("dropped", {"job": "intake"}, {"job": "intake"}),
)  # fmt: skip


def test_each_thing_that_can_happen_is_written_as_it_is_meant(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    assert {kind for kind, _, _ in SAYINGS} == set(KINDS) - {"worked"}  # the deeds say that
    for kind, typed, meant in SAYINGS:
        answer = post(here, f"/work/happened/{kind}", **typed, who="Ilse")
        assert answer.status_code == 303, answer.text
        assert told(folder)[-1] == (kind, meant, "Ilse")
        page = here.get(answer.headers["location"]).text
        assert "Written down, entry" in page
        entry = re.search(r"written=(\d+)", answer.headers["location"])
        assert entry is not None
        assert post(here, "/work/happened/undo", entry=entry[1], who="Ilse").status_code == 303
        assert told(folder) == []
    assert len(open_build(folder).journal.entries()) == 2 * len(SAYINGS)


def test_tasks_of_today_or_the_next_session_are_offered_first(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    days = [datetime(2026, 12, day, 9) for day in (5, 12, 19)]
    sessions = [SimpleNamespace(id=f"sat-{n}", start=n, end=n) for n in range(3)]
    problem = SimpleNamespace(at=lambda quarter: days[quarter])
    work: Any = SimpleNamespace(
        sessions=lambda: sessions, sheets=SimpleNamespace(todo=SimpleNamespace(problem=problem))
    )
    for day, first in ((1, "sat-0"), (5, "sat-0"), (6, "sat-1"), (12, "sat-1"), (31, "")):

        class Stopped(datetime):
            @classmethod
            def now(cls, tz: object = None, *, on: int = day) -> datetime:  # type: ignore[override]
                return datetime(2026, 12, on, 23)

        monkeypatch.setattr(work_happened, "datetime", Stopped)
        assert work_happened._today(work) == first


def test_it_is_the_entry_that_the_command_line_writes(  # type: ignore[no-untyped-def]
    browser, folder: Path, tmp_path: Path
) -> None:
    other = Path(shutil.copytree(folder, tmp_path / "by-hand"))
    assert main(["done", str(other), "--happened", "late", "--say", "job=intake", "--say",
                 "until=2026-12-18", "--words", "wrong part came", "--who", "Ilse",
                 "--seconds", "1"]) == 0  # fmt: skip
    post(
        browser(), "/work/happened/late", job="intake", until="2026-12-18",
        words="wrong part came", who="Ilse",
    )  # fmt: skip
    bodies = [[(e.kind, e.body) for e in open_build(f).journal.entries()] for f in (folder, other)]
    assert bodies[0] == bodies[1]


@pytest.mark.parametrize(
    ("kind", "typed", "why"),
    [
        ("late", {"job": "nobody", "until": "2026-12-18"}, "no job"),
        ("late", {"job": "intake"}, "until is not said"),
        ("late", {"job": "intake", "until": "2020-01-03"}, "is past"),
        ("extra", {"title": "Stud", "hours": "1", "until": "2020-01-03"}, "is past"),
        ("late", {"job": "intake", "until": "2026-99-01"}, "expected a date"),
        ("away", {"person": "Nobody", "session": "sat-1"}, "no person"),
        ("shortened", {"session": "sat-1", "clock": "25:00"}, "expected a time of day"),
        ("extra", {"title": "Stud", "hours": "two"}, "expected hours"),
        ("extra", {"title": "Stud"}, "how many hours"),
        ("extra", {"hours": "1"}, "what there is to do"),
        ("longer", {"task": "job:intake", "hours": "2", "least": "3"}, "must rise"),
        ("tool_gone", {"tool": "hoist"}, "no tool"),
    ],
)
def test_what_the_work_does_not_know_is_not_written(  # type: ignore[no-untyped-def]
    browser, folder: Path, kind: str, typed: dict[str, str], why: str
) -> None:
    answer = post(browser(), f"/work/happened/{kind}", **typed, who="Ilse")
    assert answer.status_code == 409
    assert "Not written down" in answer.text
    assert why in re.sub(r"&#\d+;", "'", answer.text)
    assert told(folder) == []
    for wrong in ({"until": "soon"}, {"clock": "noon"}):
        answer = post(browser(), f"/work/happened/{kind}", **wrong, who="Ilse")
        assert answer.status_code == 422
    assert post(browser(), "/work/happened/flood", who="Ilse").status_code == 422


def test_it_wants_a_name_and_said_twice_it_is_written_once(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    nameless = post(here, "/work/happened/dropped", job="intake")
    assert nameless.status_code == 409
    assert "who you are" in nameless.text
    for _ in range(2):
        assert post(here, "/work/happened/dropped", job="intake", who="Ilse").status_code == 303
    twice = [post(here, "/work/happened/extra", title="Stud", hours="1") for _ in range(2)]
    assert twice[0].headers["location"] == twice[1].headers["location"]
    assert [what for what, _, _ in told(folder)] == ["dropped", "extra"]
    assert told(folder)[1][2] == "Ilse", "the browser remembers the name"


def test_what_another_said_in_the_same_moment_is_seen_first(  # type: ignore[no-untyped-def]
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both would take the same id for more work, and then the work could not be read any more."""
    here, hand, asked = browser(), Workshop.hand, []

    def slow(workshop: Workshop, opened: OpenBuild) -> AtHand:
        found = hand(workshop, opened)
        asked.append("the page, then the form")
        if len(asked) == 2:
            more = {"id": "stud", "title": "Stud", "hours": [2.0, 2.0, 2.0]}
            Journal(folder).happened("extra", more, who="Odile")
        return found

    monkeypatch.setattr(Workshop, "hand", slow)
    answer = post(here, "/work/happened/extra", title="Stud", hours="1", who="Ilse")
    assert answer.status_code == 409
    assert "in the same moment" in answer.text
    assert [who for _, _, who in told(folder)] == ["Odile"]
    again = post(here, "/work/happened/extra", title="Stud", hours="1", who="Ilse")
    assert again.status_code == 303
    assert [body["id"] for _, body, _ in told(folder)] == ["stud", "stud-2"]


def test_an_entry_of_something_else_is_not_taken_back_here(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    Journal(folder).note("corner.rear.left.tyre_pressure", "29 psi gauge", who="Ilse")
    answer = post(browser(), "/work/happened/undo", entry=1, who="Ilse")
    assert answer.status_code == 409
    assert "does not stand" in answer.text
    assert post(browser(), "/work/happened/undo", entry=77, who="Ilse").status_code == 409


def test_more_work_found_at_a_task_counts_as_something_that_happened(folder: Path) -> None:
    body = {"id": "stud", "title": "stud", "hours": 1, "task": "job:intake"}
    Journal(folder).happened("extra", body, who="Ilse")
    opened = open_build(folder)
    kept = as_planned(opened)
    assert kept is not None
    assert so_far(kept, opened).changed == ("1 thing that happened since",)


def test_the_plan_after_it_says_what_moved_and_why(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    kept = as_planned(open_build(folder))
    assert kept is not None
    (session,) = {s.session for s in kept.plan.steps if s.key == "job:intake"}
    answer = post(here, "/work/happened/shortened", session=session, who="Ilse")
    page = here.get(answer.headers["location"]).text
    assert "Plan again, near to this plan" in page
    page = here.get("/work").text
    assert re.search(r"1 thing that happened since \([^)]+ [^)]+\)", page)  # by name
    assert re.search(r"\d+ tasks planned for \w+ \d+ \w+, which falls through", page)
    planner = Planner(folder)
    planner.start("near", seconds=2)
    _over(planner)
    assert planner.now.ended == "kept"
    assert planner.now.moved is not None
    (line,) = [words for words in planner.now.moved if words.startswith("air box and duct")]
    assert re.search(r"from (\w+ \d+ \w+) to \w+ \d+ \w+, because \1 falls through", line), line
    assert "Said before the plan was made" in here.get("/work/happened").text


def test_who_may_only_look_says_nothing_and_who_works_may(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    for role, status in (("look", 403), ("cards", 303)):
        away = guest(browser, role)
        page = away.get("/work/happened").text
        assert ("Write it down" in page) is (status == 303)
        assert "Plan again, near to this plan" not in page
        assert post(away, "/work/happened/dropped", job="intake", who="Odile").status_code == status
    assert told(folder) == [("dropped", {"job": "intake"}, "Odile")]
    for path in ("/work/happened", "/work"):  # what comes next, and who can
        page = " ".join(away.get(path).text.split())
        assert "Next it is planned again" in page
        assert "on a device let in to edit. This device cannot" in page
        assert "planned again</strong>" not in browser().get(path).text
    untold = browser().post("/work/happened/dropped", data={"job": "bar-links", "who": "Ilse"})
    assert untold.status_code == 403, "without the token of a page nothing is written"


def guest(browser, role: str) -> TestClient:  # type: ignore[no-untyped-def]
    """A device let in from this machine's page."""
    page = post(browser(), "/devices/code", role=role)
    code = re.search(r"Code (\d{4}) (\d{4})", page.text)
    assert code is not None
    away: TestClient = browser(away=True)
    joined = {"code": code[1] + code[2], "name": role}
    assert away.post("/pair", data=joined).status_code == 303
    return away
