"""A build whose work is all done, or whose sessions are all over: every answer still comes."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.work.folder import PADS, PARTS, SESSIONS, opened

from drybuild.cli import main
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.web.app import make_app
from drybuild.work import plan_file
from drybuild.work.at_hand import at_hand
from drybuild.work.doing import Told, write_done
from drybuild.work.examined import without_sessions
from drybuild.work.model import NoPlan, Plan
from drybuild.work.solve import solve

BEFORE = datetime(2026, 12, 1)
AFTER = ("--as-of", "2027-01-10")
LAST = "sat-1"
ONE = SESSIONS[: SESSIONS.rindex("[[session]]")]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """One job planned, in the one session that there is."""
    source = opened(tmp_path, PADS, sessions=ONE)
    problem = at_hand(source, as_of=BEFORE).todo.problem
    plan = solve(problem, seconds=2)
    assert isinstance(plan, Plan)
    plan_file.keep(source, problem, plan)
    return tmp_path


def _run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, " ".join((out + err).split())


def test_the_last_session_done_says_so_and_leads_to_the_book(folder, capsys):
    code, said = _run(
        capsys, "done", folder, "--session", LAST, "--who", "Ann", "--as-of", "2026-12-05"
    )
    assert (code, "everything of the plan is done" in said) == (0, True)
    assert f"next: drybuild book {folder}" in said
    for when in ((), AFTER):
        for command in ("plan", "cards", "quote", "while-apart"):
            code, said = _run(capsys, command, folder, *when)
            assert code == 0
            assert "verything of the plan is done" in said, command
            assert f"drybuild book {folder}" in said
    assert "owed, " in _run(capsys, "plan", folder)[1]
    code, said = _run(capsys, "cards", folder, "--paper", folder / "cards.pdf")
    assert (code, "no card is left" in said) == (2, True)
    assert not (folder / "cards.pdf").exists()


def _page(folder: Path) -> TestClient:
    app = make_app(folder, hosts=frozenset({"127.0.0.1:8000"}))
    return TestClient(
        app, base_url="http://127.0.0.1:8000", client=("127.0.0.1", 50000),
        headers={"accept": "text/html"}, follow_redirects=False,
    )  # fmt: skip


def test_the_pages_say_so_and_lead_to_the_book(folder, capsys):
    _run(capsys, "done", folder, "--session", LAST, "--who", "Ann", "--as-of", "2026-12-05")
    here = _page(folder)
    work = here.get("/work")
    assert work.status_code == 200
    assert "Everything of the plan is done." in work.text
    assert '<a class="button" href="/book">' in work.text
    assert "Beside the plan" not in work.text
    cards = here.get("/work/cards")
    assert (cards.status_code, "no card is left" in cards.text) == (200, True)
    book = here.get("/book")
    assert (book.status_code, "no card is left" in book.text) == (200, True)
    for path in ("/work/cards/1", f"/work/session/{LAST}", "/book/cards.pdf"):
        one = here.get(path)
        assert (one.status_code, "no card is left" in one.text) == (404, True)
    for path in ("/work/quote", "/work/apart", "/work/happened"):
        assert here.get(path).status_code == 200


def test_sessions_that_are_over_with_work_left(folder, capsys):
    code, said = _run(capsys, "plan", folder, *AFTER)
    assert code == 2
    assert "no work session ahead: the last, sat-1 on 2026-12-05, is past" in said
    code, said = _run(capsys, "cards", folder, *AFTER)
    assert code == 0
    assert "CARD 1" in said
    assert "a work session of it is over, and not all of it is written down" in said


def test_what_was_done_is_written_down_when_every_session_is_over(folder, capsys):
    hand = at_hand(open_build(folder), as_of=BEFORE)
    kept = plan_file.read(hand.opened, hand.todo.problem)
    assert kept is not None
    first = kept.plan.steps[0].key
    code, said = _run(capsys, "done", folder, first, "--who", "Ann", *AFTER)
    assert code == 2
    assert "Written down: entries 1" in said
    assert "The rest is not planned again:" in said
    assert "no work session ahead" in said
    assert [w.task for w in open_build(folder).journal.work()] == [first]
    code, said = _run(capsys, "done", folder, "--session", LAST, "--who", "Ann", *AFTER)
    assert (code, "everything of the plan is done" in said) == (0, True)
    days = {e.at[:10] for e in open_build(folder).journal.entries()}
    assert days == {"2026-12-05"}


def _left(tmp_path: Path, *tasks: str) -> OpenBuild:
    source = opened(tmp_path, PADS)
    for task in tasks:
        source.journal.worked(task, who="Ann")
    return open_build(tmp_path)


def test_without_a_session_what_lies_open_is_named(tmp_path):
    source = _left(tmp_path, "take:raised_front", "take:wheels_front", "job:pads")
    found = without_sessions(at_hand(source, as_of=datetime(2027, 1, 10)).todo.problem)
    assert isinstance(found, NoPlan)
    assert re.search("no work session lies ahead, and it is left: .*wheels", found.why[0])


def test_a_card_that_fitted_what_nobody_has_named_asks_for_it(tmp_path, capsys):
    unnamed = PARTS.replace('kind = "pads"', 'kind = "pads"\nname = "front pads, to be chosen"')
    source = opened(tmp_path, PADS, sessions=ONE, parts=unnamed)
    problem = at_hand(source, as_of=BEFORE).todo.problem
    plan = solve(problem, seconds=2)
    plan_file.keep(source, problem, plan)
    here = _page(tmp_path)
    asked = "Fitted as “front pads, to be chosen”: of which maker is it, and what is it called?"

    def cards() -> str:
        count = len(re.findall("<li value=", here.get("/work/cards").text))
        return "".join(here.get(f"/work/cards/{n}").text for n in range(1, count + 1))

    assert asked not in cards()
    told = [Told(step.key, "", "2026-12-05", step.who) for step in plan.steps]
    write_done(source, problem, told, who="Ann")
    assert cards().count(asked) == 1
    assert 'href="/set?address=part.new_pads.name"' in cards()
    assert here.get("/set?address=part.new_pads.name").status_code == 200


def test_what_is_told_of_a_day_is_of_that_day_with_who_did_it(folder, capsys):
    words = ("done", folder, "--session", LAST, "--who", "Cle", "--as-of", "2026-12-05")
    _run(capsys, *words)
    entries = open_build(folder).journal.entries()
    assert {e.at[:10] for e in entries} == {"2026-12-05"}
    people = {tuple(w.people) for w in open_build(folder).journal.work() if w.of_task}
    assert people
    assert all("Cle" not in crew for crew in people)
    assert open_build(folder).journal.work()[0].ended[:10] == "2026-12-05"
